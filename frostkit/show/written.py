"""Files for people, written whole or not at all, and never over something that is not ours to replace."""

import os
import secrets
import stat
import sys
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

import click

from frostkit.errors import SettingError

MAKER = "frostkit"
"""What the files that frostkit writes name as their maker: by it they are known again, and may be replaced."""
MARKS = {
    "png": b"tEXtSoftware\x00frostkit",  # PNG specification (W3C 2003), 11.3.4.3: keyword, null, text
    "svg": b"<dc:title>frostkit</dc:title>",  # the agent of the picture's RDF metadata, as matplotlib writes it
    "pdf": b"%%EOF\n%frostkit\n",  # a comment (ISO 32000-1:2008, 7.2.3): other entries may lie in packed objects
    "toml": b"# Written by frostkit setup, which writes it anew.",
    "html": b'<meta name="generator" content="frostkit',  # HTML Living Standard, 4.2.5.1
}
ENDS = 65_536  # bytes at either end of a file in which its mark is looked for
_INPUTS = ("record", "also", "neighbour", "neighbours", "station", "logger", "forecast", "fields", "book")
_NOTED = ("frostkit.logger", "frostkit.cache")  # as `options` keeps them


def settings_file() -> Path:
    """Where `frostkit setup` keeps what it is told: FROSTKIT_SETTINGS, or the system's own folder of settings."""
    named = os.environ.get("FROSTKIT_SETTINGS")
    return Path(named) if named else Path(click.get_app_dir(MAKER)) / "settings.toml"


def written(path: str | Path, endings: Iterable[str], what: str, write: Callable[[Path, str], None]) -> Path:
    """Write a file beside its place, then move it there: what stood there before stays until the new one is whole.

    Parameters
    ----------
    path : where the file goes
    endings : allowed, without a dot
    what : what the file is called in errors, such as "picture"
    write : writes the file at a path, as the kind of the ending

    Raises
    ------
    SettingError
        For another ending, a folder that is not there, or a place that can't be written to; and where `may_replace`
        says no.
    """
    path, allowed = Path(path), list(endings)
    kind = path.suffix.lower().lstrip(".")
    if kind not in allowed:
        listed = ", ".join(f".{ending}" for ending in allowed)
        raise SettingError(f"'{path.name}' does not end in a kind of {what}.", f"End it in one of {listed}.")
    if not path.parent.is_dir():
        raise SettingError(f"There is no folder '{path.parent}' to put the {what} in.", "Make it, or name another one.")
    may_replace(path, what)
    place = Path(os.path.realpath(path))  # a link stays a link
    try:
        partial = _beside(place)
        try:
            write(partial, kind)
            if kind == "pdf":
                _mark_pdf(partial)
            partial.replace(place)
        finally:
            partial.unlink(missing_ok=True)
    except OSError as fault:
        raise SettingError(
            f"The {what} could not be written to '{path}': {fault.strerror or fault}.",
            "Choose a folder that can be written to.",
        ) from fault
    if (context := click.get_current_context(silent=True)) is not None:
        context.find_root().meta.setdefault("frostkit.written", set()).add(place)
    return path


def _beside(place: Path) -> Path:
    """A new, empty file of a name that nothing has, in the folder of the place."""
    while True:
        partial = place.with_name(f".frostkit-{secrets.token_hex(8)}.part")
        try:
            partial.touch(exist_ok=False)
        except FileExistsError:
            continue
        return partial


def _mark_pdf(path: Path) -> None:
    data = path.read_bytes().rstrip()
    path.write_bytes(data.removesuffix(b"%%EOF") + MARKS["pdf"])


def may_replace(path: Path, what: str) -> None:
    """Nothing where a file may be written: what stands there is frostkit's own, or the person says so.

    Raises `SettingError` for an input of the command that is running, a file in a folder that is one, a file that the
    same command has just written, a place that is no file, or a file that frostkit did not write (unless `--force`, or
    a yes on a terminal).
    """
    context = click.get_current_context(silent=True)
    place = Path(os.path.realpath(path))
    if context is not None:
        if place in context.find_root().meta.get("frostkit.written", ()):
            raise SettingError(
                f"'{path}' was written a moment ago, and the {what} would replace it.", "Give each its own file."
            )
        for given in _inputs(context):
            if place == given or (given.is_dir() and given in place.parents):
                where = "is what this command reads" if place == given else "lies in the folder that this command reads"
                raise SettingError(f"'{path}' {where}: the {what} is not put there.", "Name another file.")
    if not os.path.lexists(place) or (place.is_file() and is_ours(place)):
        return
    if not place.is_file():
        raise SettingError(f"'{path}' is there and is no file.", f"Name another place for the {what}.")
    if context is not None and context.find_root().meta.get("frostkit.force"):
        return
    if context is not None and sys.stdin.isatty() and sys.stderr.isatty():
        if click.confirm(f"'{path}' is there, and frostkit did not write it. Replace it?", err=True):
            return
    raise SettingError(
        f"'{path}' is there, and frostkit did not write it.", "Name another file, or say --force to replace it."
    )


def is_ours(path: Path) -> bool:
    """Whether a file says that frostkit made it, in the place where its kind of file says so."""
    mark = MARKS.get(path.suffix.lower().lstrip("."))
    if mark is None or not stat.S_ISREG(path.stat().st_mode):
        return False
    try:
        with path.open("rb") as file:
            head = file.read(ENDS)
            file.seek(max(file.seek(0, os.SEEK_END) - ENDS, 0))
            return mark in head or mark in file.read(ENDS)
    except OSError:
        return False


def _inputs(context: click.Context) -> Iterator[Path]:
    """Files and folders that the command reads; a crop entry ends in .toml, as only settings do of what is written."""
    given = [context.find_root().obj, *(context.params.get(name) for name in _INPUTS)]
    given += [context.meta.get(name) for name in _NOTED]
    for value in given:
        for text in value if isinstance(value, list | tuple) else (value,):
            if text and os.path.exists(text):
                yield Path(os.path.realpath(text))
