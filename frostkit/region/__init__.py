"""The same answers for many places: by blocks, on dask."""

from frostkit.callable_room import callable_room

callable_room(__name__)
