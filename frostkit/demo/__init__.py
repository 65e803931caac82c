"""River Flat, an invented place with made-up weather."""

from frostkit.callable_room import callable_room

callable_room(__name__)
