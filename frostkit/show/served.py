"""The notebooks in one's language: as web pages of this machine alone, run by voila, or as files for JupyterLab."""

import json
import re
import socket
import tempfile
import tomllib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import cache
from importlib import import_module
from importlib.resources import files
from pathlib import Path
from typing import Any
from urllib.parse import quote

from frostkit.errors import SettingError, nearest
from frostkit.show.printed import plain

HERE = "127.0.0.1"
"""The only address that pages are given out at: nobody else can reach them."""
CLOSED = "default-src 'self' 'unsafe-inline' 'unsafe-eval' data: blob: ws:"
"""What a page may load (Content Security Policy Level 3, W3C): nothing from outside this machine."""
SETTINGS = "parameters"  # tag of the cell that a reader changes
IDLE = 900  # seconds after which the kernel of a page that was closed ends


def folder() -> Path:
    """Where the notebooks lie: beside the package in a clone, inside it where it was installed.

    Raises `SettingError` where they are in neither place.
    """
    package = Path(__file__).resolve().parents[1]
    for place in (package.parent / "notebooks", package / "notebooks"):
        if next(place.glob("*.ipynb"), None) is not None:
            return place
    raise SettingError("The notebooks are not beside frostkit.", "Run it from a clone, or install frostkit again.")


def notebooks() -> dict[str, Path]:
    """Notebooks by name, in their order: "01_seeding_window"."""
    return {path.stem: path for path in sorted(folder().glob("*.ipynb"))}


def named(name: str) -> str:
    """The whole name of a notebook, from it, its number or its words: "1", "seeding-window".

    Raises `SettingError` for one that is not there.
    """
    every = list(notebooks())
    typed = name.removesuffix(".ipynb").replace("-", "_")
    for one in every:
        number, words = one.split("_", 1)
        if typed in (one, words) or (typed.isdigit() and int(typed) == int(number)):
            return one
    short = [one.split("_", 1)[1].replace("_", "-") for one in every]
    raise SettingError(
        f"There is no notebook '{name}'.{nearest(name, [*short, *every])}", f"Choose from {', '.join(short)}."
    )


@cache
def _prose(language: str) -> dict[str, Any]:
    """What notebooks say in a language: see `notebooks_fr.toml`; of one without such a file, English."""
    place = files("frostkit.show.texts") / f"notebooks_{language}.toml"
    return tomllib.loads(place.read_text("utf-8")) if place.is_file() else _prose("en")


def read(name: str, language: str, by_hand: bool) -> dict[str, Any]:
    """A notebook in a language: its prose, and the comments of its settings.

    by_hand : for a notebook program, in which one asks for it to be run; not as a page
    """
    book: dict[str, Any] = json.loads(notebooks()[name].read_text("utf-8"))
    english, say = _prose("en"), _prose(language)
    own = say.get(name, {})
    texts = iter(own.get("texts", ()))
    for cell in book["cells"]:
        source = "".join(cell["source"])
        if cell["cell_type"] == "markdown":
            asked = next((key for key in ("by_hand_then", "by_hand") if source.endswith(english[key])), None)
            said = next(texts) if own else source.removesuffix(english[asked]) if asked else source
            if asked and by_hand:
                said = f"{said.strip()} {say[asked]}"
            elif asked == "by_hand_then":
                said = f"{said.strip()} {say['by_itself']}"
            cell["source"] = said.strip()
        elif own and SETTINGS in cell["metadata"].get("tags", ()):
            comments = {**say["settings"], **own.get("settings", {})}
            cell["source"] = "\n".join(_commented(line, comments) for line in source.splitlines())
    return book


def _commented(line: str, comments: Mapping[str, str]) -> str:
    """A setting with its comment in another language."""
    name = line.partition(" ")[0]
    setting, mark, _ = line.partition("  # ")
    return f"{setting}{mark}{comments[name]}" if mark and name in comments else line


def titled(name: str, language: str) -> str:
    """A notebook's number and question, as its file and its page in the list are called: "01 When can I seed corn"."""
    return _titled(name, read(name, language, by_hand=False))


def _titled(name: str, book: Mapping[str, Any]) -> str:
    """The same, of a notebook that was read."""
    heading = book["cells"][0]["source"].splitlines()[0]
    question = re.sub(r"\s*:", " -", heading.strip("# ?"))  # a colon can't stand in the name of every system's files
    return f"{name.split('_')[0]} {question.strip()}"


@contextmanager
def copies(told: Mapping[str, Any], language: str) -> Iterator[Path]:
    """A folder with a copy of every notebook, its first cell's settings changed to those told."""
    with tempfile.TemporaryDirectory(prefix="frostkit-") as made:
        for name in notebooks():
            book = read(name, language, by_hand=False)
            at = next(n for n, cell in enumerate(book["cells"]) if SETTINGS in cell["metadata"].get("tags", ()))
            own = "\n".join(f"{key} = {value!r}" for key, value in told.items())
            if "record" in told:
                own += "\ntoday = None"  # the day that the invented place stands on may lie outside one's own record
            if own:
                cell: dict[str, Any] = {"cell_type": "code", "id": "told", "metadata": {}, "execution_count": None}
                book["cells"].insert(at + 1, {**cell, "outputs": [], "source": own})
            (Path(made) / f"{_titled(name, book)}.ipynb").write_text(json.dumps(book), "utf-8")
        yield Path(made)


def put(place: Path, language: str) -> list[Path]:
    """Every notebook, to be opened in a notebook program; all of them or none.

    Raises `SettingError` for a folder that is there already, or can't be made.
    """
    if place.exists():
        raise SettingError(f"{plain(str(place))} is there already.", "Name a folder that is not: none is written into.")
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=place.parent, prefix=".frostkit-") as made:
            whole = Path(made) / "notebooks"
            whole.mkdir()
            for name in notebooks():
                (whole / f"{name}.ipynb").write_text(json.dumps(read(name, language, by_hand=True), indent=1), "utf-8")
            whole.rename(place)
    except OSError as fault:
        raise SettingError(
            f"{plain(str(place))} can't be made: {fault.strerror or fault}.", "Name another folder."
        ) from None
    return sorted(place.glob("*.ipynb"))


def port_for(port: int) -> int:
    """A port that can be listened at; any free one for 0. Raises `SettingError` where it is taken."""
    with socket.socket() as ear:
        ear.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            ear.bind((HERE, port))
        except OSError as fault:
            why = fault.strerror or fault
            raise SettingError(
                f"Nothing can be served at port {port}: {why}.", "Name another one, or 0 for any."
            ) from None
        return int(ear.getsockname()[1])


def address(port: int, name: str | None, language: str) -> str:
    """Where the pages are: the list of them, or one."""
    return f"http://{HERE}:{port}/" + (f"voila/render/{quote(titled(name, language))}.ipynb" if name else "")


def voila() -> Any:
    """The library that runs notebooks as pages. Raises `SettingError` where it is not installed."""
    try:
        return import_module("voila.app").Voila
    except ModuleNotFoundError as fault:
        raise SettingError(
            f"Serving notebooks as pages needs the extra 'serve': {fault.name} is not installed.",
            "Install it with pip install 'frostkit[serve]'.",
        ) from None


def serve(place: Path, port: int) -> None:
    """Give out the notebooks of a folder until it is stopped (Ctrl-C)."""
    how = import_module("traitlets.config").Config()
    how.Voila.ip, how.Voila.port, how.Voila.port_retries = HERE, port, 0
    how.Voila.open_browser = False
    how.Voila.log_level = "ERROR"
    how.Voila.tornado_settings = {"headers": {"Content-Security-Policy": CLOSED}}
    how.VoilaConfiguration.strip_sources = True
    how.VoilaConfiguration.show_tracebacks = False
    how.MappingKernelManager.cull_idle_timeout = IDLE
    voila().launch_instance(argv=[str(place)], config=how)
