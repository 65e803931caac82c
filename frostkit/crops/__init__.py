"""Crop entries: what a crop needs, what kills it, and where every number comes from."""

from frostkit.callable_room import callable_room

callable_room(__name__)
