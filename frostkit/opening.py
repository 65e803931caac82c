"""The one way in for a file that a person names: regular, of bounded size, unpacked where it is gzip, said if not.

Records, loggers, forecasts and fields come through `contents`, farms and crop entries through `toml`.
"""

import contextlib
import os
import re
import stat
import tomllib
import zlib
from itertools import islice
from pathlib import Path
from typing import Any

from frostkit.errors import FrostkitError, RecordError, nearest

LARGEST = 50_000_000
"""Bytes of text, unpacked: 150 years of one station in the widest layout are under 20 million."""
LARGEST_TOML = 100_000
"""Bytes: the longest crop entry of the library has 6 thousand."""
_LONGEST_LINE = 2000  # characters of TOML: a name of ten thousand parts takes the parser minutes
_DEEPEST = 10
_STEP = 1 << 18  # bytes read at once
_PIECES = 1000  # of gzip in one file: millions of empty ones would take minutes
_ZEROS = re.compile(rb"\0*")
_KINDS = {
    stat.S_ISDIR: "a folder",
    stat.S_ISFIFO: "a named pipe",
    stat.S_ISCHR: "a device",
    stat.S_ISBLK: "a device",
    stat.S_ISSOCK: "a socket",
}


def there(path: str | Path) -> bool:
    """True where something stands under a path; a path that no system can have is not there.

    >>> there("x" * 5000), there(Path(__file__))
    (False, True)
    """
    try:
        os.stat(path)
    except (OSError, ValueError):  # not there, not to be seen, too long, or a zero byte in it
        return False
    return True


def contents(
    path: str | Path, wanted: str, error: type[FrostkitError] = RecordError, largest: int = LARGEST, only: int = 0
) -> bytes:
    """The bytes of a regular file, unpacked where they are gzip.

    Parameters
    ----------
    path : file
    wanted : what to give instead, for the error: "Give a CSV file with hours in it."
    error : the class of what is raised
    largest : bytes, unpacked; never more than this is read
    only : so many bytes from the start, as they stand in the file, whatever its size; 0: all of them

    Raises
    ------
    error
        Where there is no file, it is a folder, a pipe or a device, it can't be read, is too large, or is damaged gzip.
    """
    name = Path(path).name or str(path)
    try:
        _regular(os.stat(path).st_mode, path, wanted, error)  # before it is opened: to open a pipe is to wait
        flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_BINARY", 0)
        handle = os.open(path, flags)
        try:
            found = os.fstat(handle)
            _regular(found.st_mode, path, wanted, error)
            if only:
                return os.read(handle, only)
            if found.st_size > largest:
                raise error(f"{name} has {_mb(found.st_size)}; frostkit reads up to {_mb(largest)}.", wanted)
            data = _up_to(handle, largest + 1)
        finally:
            os.close(handle)
    except FileNotFoundError:
        raise error(f"{_short(path)} can't be read: it is not there.{_beside(Path(path))}", wanted) from None
    except (OSError, ValueError) as fault:
        if isinstance(fault, FrostkitError):
            raise
        why = fault.strerror if isinstance(fault, OSError) and fault.strerror else str(fault)
        raise error(f"{_short(path)} can't be read: {why}.", "Check the path and the file's rights.") from None
    if data.startswith(b"\x1f\x8b"):
        data = _unpacked(data, name, wanted, error, largest)
    if len(data) > largest:  # it grew while it was read
        raise error(f"{name} has more than {_mb(largest)}, which is the most that frostkit reads.", wanted)
    return data


def toml(path: str | Path, wanted: str, error: type[FrostkitError] = RecordError) -> dict[str, Any]:
    """The tables of a small TOML file. Raises `error` as `contents` does, and where it is no such text."""
    name = Path(path).name
    try:
        said = contents(path, wanted, error, LARGEST_TOML).decode("utf-8")
        for number, line in enumerate(said.split("\n"), 1):
            if len(line) > _LONGEST_LINE:
                raise error(f"{name}, line {number}: it has more than {_LONGEST_LINE} characters.", wanted)
        told = tomllib.loads(said)
    except UnicodeDecodeError as fault:
        raise error(f"{name} can't be read: it is no text in UTF-8 (byte {fault.start + 1}).",
                    "Save it as UTF-8 text.") from None  # fmt: skip
    except FrostkitError:
        raise
    except (ValueError, RecursionError) as fault:  # also a number of thousands of figures, brackets in brackets
        raise error(f"{name} can't be read: {fault}.", wanted) from None
    if _deeper(told, _DEEPEST):
        raise error(f"{name} can't be read: tables in tables, more than {_DEEPEST} deep.", wanted)
    return told


def _deeper(told: Any, than: int) -> bool:
    """True where tables and lists stand in each other more than so deep."""
    level = [told]
    for _ in range(than):
        level = [one for each in level if isinstance(each, dict | list)
                 for one in (each.values() if isinstance(each, dict) else each)]  # fmt: skip
    return any(isinstance(one, dict | list) for one in level)


def _regular(mode: int, path: str | Path, wanted: str, error: type[FrostkitError]) -> None:
    if not stat.S_ISREG(mode):
        kind = next((kind for is_one, kind in _KINDS.items() if is_one(mode)), "no file")
        raise error(f"{_short(path)} is {kind}, where a file is wanted.", wanted)


def _up_to(handle: int, most: int) -> bytes:
    """What can be read, up to `most` bytes."""
    parts = []
    left = most
    while left > 0 and (part := os.read(handle, min(left, _STEP))):
        parts.append(part)
        left -= len(part)
    return b"".join(parts)


def _unpacked(packed: bytes, name: str, wanted: str, error: type[FrostkitError], largest: int) -> bytes:
    """What is in gzip, of one piece or of several; it stops at the limit, so a small file can't fill the memory."""
    parts = []
    left = largest + 1
    piece, at, pieces = zlib.decompressobj(31), 0, 1
    begun = False
    try:
        while at < len(packed):
            step = packed[at : at + _STEP]
            part = piece.decompress(step, left)
            at += len(step) - len(piece.unconsumed_tail) - len(piece.unused_data)
            parts.append(part)
            left -= len(part)
            if left <= 0:
                raise error(f"{name} unpacks to more than {_mb(largest)}, the most that frostkit reads.", wanted)
            begun = not piece.eof
            if piece.eof:
                at = _ZEROS.match(packed, at).end()  # type: ignore[union-attr]  # some writers fill up with zeros
                piece, pieces = zlib.decompressobj(31), pieces + 1
            if pieces > _PIECES:
                raise error(f"{name} is glued together of more than {_PIECES} gzip files.", wanted)
    except zlib.error as fault:
        raise error(f"{name} is a damaged gzip file: {fault}.", "Fetch it again.") from None
    if begun:
        raise error(f"{name} is cut short: the gzip file ends in the middle.", "Fetch it again.")
    return b"".join(parts)


def _mb(size: int) -> str:
    """A size as it is said.

    >>> _mb(50_000_000), _mb(1_200_000)
    ('50 MB', '1.2 MB')
    """
    return f"{size / 1_000_000:,.1f} MB".replace(".0 MB", " MB")


def _short(path: str | Path) -> str:
    """A path as it is said: a very long one by its end."""
    said = str(path)
    return said if len(said) <= 200 else f"...{said[-197:]}"


def _beside(path: Path) -> str:
    """A guess at the name, among what stands in the folder."""
    with contextlib.suppress(OSError, ValueError):
        return nearest(path.name, islice((one.name for one in os.scandir(path.parent)), 2000))
    return ""
