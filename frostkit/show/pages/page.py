"""Pages that stand alone: templates filled in, dates in words, and files written whole as HTML or PDF."""

import re
import shlex
import sys
from datetime import date
from functools import cache
from importlib import import_module
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path
from typing import Any

import click
import jinja2

from frostkit.errors import SettingError
from frostkit.show.printed import lines
from frostkit.show.texts import Texts
from frostkit.show.written import written


@cache
def _environment() -> jinja2.Environment:
    loader = jinja2.FunctionLoader(lambda name: (files("frostkit.show.pages") / "templates" / name).read_text("utf-8"))
    return jinja2.Environment(
        loader=loader,
        autoescape=True,
        finalize=_printed,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _printed(value: Any) -> Any:
    """A value of a page without characters that are not seen, no % at a line's start; HTML made here stays as it is."""
    return lines(value).replace(" %", "\u00a0%") if type(value) is str else value  # a number keeps its sign


def rendered(template: str, say: Texts, page: dict[str, Any]) -> str:
    """A template of `templates/` filled in; a value that is missing is an error, and every text is escaped."""
    return _environment().get_template(template).render(page=page, say=say)


def made_line(say: Texts, day: date | None = None) -> str:
    """When a page was made and by which version; today where no day is given."""
    return say("report.made", date=date_words(day or date.today(), say), version=version("frostkit"))


def date_words(day: date, say: Texts) -> str:
    """A date in words, with its year."""
    return say.marks["date"].format(
        day=day.day if day.day > 1 else say.marks["first"], month=say.marks["months"][day.month - 1], year=day.year
    )


def typed() -> str:
    """The command line that is running, as it was typed, for a page that says how to make it again."""
    context = click.get_current_context(silent=True)
    fallback = "frostkit" if context is None else context.command_path
    return shlex.join(["frostkit", *sys.argv[1:]]) if len(sys.argv) > 1 else fallback


def file_name(name: str, taken: set[str]) -> str:
    """A name as a file's, without an ending: letters, digits and dashes; numbered where it is taken.

    >>> file_name("Slough, west/2", set()), file_name("é", {"é"})
    ('slough-west-2', 'é-2')
    """
    plain = re.sub(r"\W+", "-", name.lower()).strip("-_") or "field"
    found, number = plain, 1
    while found in taken:
        number += 1
        found = f"{plain}-{number}"
    taken.add(found)
    return found


def write(html: str, path: str | Path) -> Path:
    """Write a page, whole or not at all: `.html`, or `.pdf` through weasyprint.

    Raises `SettingError` as `written` does, or for a PDF where weasyprint is not installed.
    """

    def put(place: Path, kind: str) -> None:
        if kind == "pdf":
            _weasyprint().HTML(string=html).write_pdf(str(place), pdf_tags=True)  # for those who have it read aloud
        else:
            place.write_text(html, encoding="utf-8")

    return written(path, ("html", "pdf"), "page", put)


def _weasyprint() -> Any:
    try:
        return import_module("weasyprint")
    except (ImportError, OSError) as fault:  # OSError: the system's pango is missing
        raise SettingError(
            f"A PDF needs weasyprint, which can't be loaded: {str(fault).splitlines()[0]}",
            "Install it with pip install 'frostkit[pdf]', or write .html and print it from a browser.",
        ) from None
