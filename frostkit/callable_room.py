"""Rooms that have the name of a public function: `frostkit.demo` is both, whichever of the two was asked for first.

Python sets a package as an attribute of the one above it once it is imported, over whatever stood there.
"""

import sys
from importlib import import_module
from types import ModuleType
from typing import Any


class Room(ModuleType):
    """A package that can be called as the public function of its name."""

    def __call__(self, *asked: Any, **options: Any) -> Any:
        """As `frostkit.public` has it."""
        return getattr(import_module("frostkit.public"), self.__name__.rpartition(".")[2])(*asked, **options)


def callable_room(name: str) -> None:
    """Let the package of this name be called."""
    sys.modules[name].__class__ = Room
