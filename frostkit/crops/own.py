"""An entry of one's own: a copy of the library's with one's own rating, need and sources, written as a TOML file."""

import re
import tomllib
from pathlib import Path

from frostkit.crops.entry import Crop, load, read, text_of
from frostkit.crops.rated import rated
from frostkit.errors import CropError

_SECTION = re.compile(r"\[([a-z0-9_.]+)\]\s*")


def as_it_is(name: str, path: str | Path) -> Crop:
    """Copy an entry of the library to a file, to be changed by hand. Raises `CropError` as `copied` does.

    name : of an entry of the library; path : of the new file, ending in .toml
    """
    load(name)
    return _put(_new(path), text_of(name))


def copied(name: str, path: str | Path, *, title: str, rating: float, rating_source: str, need: float, low: float,
           high: float, derived: str, need_source: str) -> Crop:  # fmt: skip
    """Copy a corn of the library to a file, with the rating and the need of one's own hybrid; the copy is checked.

    Stages that the library derives from the rating follow it (`crops.rated`); everything else stays as it is.

    Parameters
    ----------
    name : of an entry of the library that has a rating
    path : of the new file, ending in .toml; what stands there is not written over
    title : what it is called
    rating, need, low, high : CHU; the need from sowing to the goal, and its range
    derived : how the need was got from the rating, or from one's own fields
    rating_source, need_source : where they come from

    Raises
    ------
    CropError
        Where the entry has no rating in CHU, the file is there already, or the copy has faults.
    """
    crop, to = load(name), _new(path)
    if crop.rating is None or crop.goal_need().unit != "CHU":
        raise CropError(f"'{name}' has no rating and need in CHU to put your own in place of.",
                        "Copy a corn, such as silage-2300; for a bean copy the file by hand.")  # fmt: skip
    goal = (f'need = {{ value = {need:g}, low = {low:g}, high = {high:g}, unit = "CHU", '
            f'derived = "{_plain(derived)}", source = "{_plain(need_source)}" }}')  # fmt: skip
    section, lines = "", []
    for line in rated(text_of(name), rating).splitlines():
        if match := _SECTION.fullmatch(line):
            section = match[1]
        elif not section and line.startswith("title ="):
            line = f'title = "{_plain(title)}"'
        elif not section and line.startswith("about ="):
            line = f'about = "A copy of {name} with its own rating and need."'
        elif section == "rating" and line.startswith("source ="):
            line = f'source = "{_plain(rating_source)}"'
        elif section == f"stage.{crop.goal}" and line.startswith("need ="):
            line = goal
        lines.append(line)
    return _put(to, "\n".join(lines) + "\n")


def _put(to: Path, text: str) -> Crop:
    """Write an entry to a file that is not there yet; one with faults is told, and not written."""
    crop = read(tomllib.loads(text), to.stem, to.name)
    try:
        with to.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except OSError as fault:
        raise CropError(f"'{to}' can't be written: {fault.strerror}.", "Give the path of a new .toml file.") from None
    return crop


def _new(path: str | Path) -> Path:
    """The path of a file that is not there yet, in a folder that is."""
    to = Path(path)
    if to.suffix != ".toml" or to.exists() or not to.parent.is_dir():
        why = "does not end in .toml" if to.suffix != ".toml" else "is there already"
        why = why if to.parent.is_dir() else "has no folder to stand in"
        raise CropError(f"'{to}' {why}.", "Give the path of a new .toml file, in a folder that is there.")
    return to


def _plain(text: str) -> str:
    """A text as it may stand in quotes."""
    return text.replace("\\", "/").replace('"', "'").replace("\n", " ")
