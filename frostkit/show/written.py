"""Files for people, written whole or not at all."""

from collections.abc import Callable, Iterable
from pathlib import Path

from frostkit.errors import SettingError


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
        For another ending, a folder that is not there, or a place that can't be written to.
    """
    path, allowed = Path(path), list(endings)
    kind = path.suffix.lower().lstrip(".")
    if kind not in allowed:
        listed = ", ".join(f".{ending}" for ending in allowed)
        raise SettingError(f"'{path.name}' does not end in a kind of {what}.", f"End it in one of {listed}.")
    if not path.parent.is_dir():
        raise SettingError(f"There is no folder '{path.parent}' to put the {what} in.", "Make it, or name another one.")
    partial = path.with_name(f".{path.name}.partial")
    try:
        write(partial, kind)
        partial.replace(path)
    except OSError as fault:
        raise SettingError(
            f"The {what} could not be written to '{path}': {fault.strerror or fault}.",
            "Choose a folder that can be written to.",
        ) from fault
    finally:
        partial.unlink(missing_ok=True)
    return path
