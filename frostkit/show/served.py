"""The notebooks as web pages of this machine alone, run by voila: for those without a notebook program."""

import json
import re
import socket
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from typing import Any
from urllib.parse import quote

from frostkit.errors import SettingError, nearest

HERE = "127.0.0.1"
"""The only address that pages are given out at: nobody else can reach them."""
CLOSED = "default-src 'self' 'unsafe-inline' 'unsafe-eval' data: blob: ws:"
"""What a page may load (Content Security Policy Level 3, W3C): nothing from outside this machine."""
BY_HAND = re.compile(r" Choose \*\*Run > Run All Cells\*\* first(?:\.|; then (?P<then>[^.]*\.))")
"""What a notebook asks of its reader that a page does by itself, and what is left to do then."""
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
    plain = name.removesuffix(".ipynb").replace("-", "_")
    for one in every:
        number, words = one.split("_", 1)
        if plain in (one, words) or (plain.isdigit() and int(plain) == int(number)):
            return one
    short = [one.split("_", 1)[1].replace("_", "-") for one in every]
    raise SettingError(
        f"There is no notebook '{name}'.{nearest(name, [*short, *every])}", f"Choose from {', '.join(short)}."
    )


def titled(name: str) -> str:
    """A notebook's number and question, as its page is called in the list: "1 When can I seed corn"."""
    first = json.loads(notebooks()[name].read_text("utf-8"))["cells"][0]["source"]
    question = "".join(first).splitlines()[0].lstrip("# ").rstrip("?")
    return f"{int(name.split('_')[0])} {question}"


@contextmanager
def copies(told: Mapping[str, Any]) -> Iterator[Path]:
    """A folder with a copy of every notebook, its first cell's settings changed to those told."""
    with tempfile.TemporaryDirectory(prefix="frostkit-") as made:
        for name, path in notebooks().items():
            book = json.loads(path.read_text("utf-8"))
            for cell in book["cells"]:
                if cell["cell_type"] == "markdown":
                    cell["source"] = BY_HAND.sub(_by_itself, "".join(cell["source"]))
            at = next(n for n, cell in enumerate(book["cells"]) if "parameters" in cell["metadata"].get("tags", ()))
            own = "\n".join(f"{key} = {value!r}" for key, value in told.items())
            if "record" in told:
                own += "\ntoday = None"  # the day that the invented place stands on may lie outside one's own record
            if own:
                cell = {"cell_type": "code", "id": "told", "metadata": {}, "execution_count": None, "outputs": []}
                book["cells"].insert(at + 1, {**cell, "source": own})
            (Path(made) / f"{titled(name)}.ipynb").write_text(json.dumps(book), "utf-8")
        yield Path(made)


def _by_itself(asked: re.Match[str]) -> str:
    return f" {asked['then'].capitalize()}" if asked["then"] else ""


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


def address(port: int, name: str | None) -> str:
    """Where the pages are: the list of them, or one."""
    return f"http://{HERE}:{port}/" + (f"voila/render/{quote(titled(name))}.ipynb" if name else "")


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
