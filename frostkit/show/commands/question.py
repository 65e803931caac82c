"""What every command of a question does: the record and field as typed, the public function, and the answer out.

A command is its options and examples; the function of the same name in `frostkit.public` answers.
"""

import os
import sys
import tempfile
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import click

from frostkit.show.commands.options import FORCE, open_site, site_options, with_options
from frostkit.show.printed import echo
from frostkit.show.texts import LANGUAGES, UNITS

OUT = (
    click.option("--json", "as_json", is_flag=True, help="The answer for programs."),
    click.option("--csv", "as_csv", is_flag=True, help="A table for programs; cautions go to the error stream."),
    click.option("--table", metavar="NAME", help="Which table --csv prints: 'decisions' or one named in --json."),
    click.option("--all", "whole", is_flag=True, help="All of the answer: every count, table and source."),
    click.option("--cautions", is_flag=True, help="The cautions in full."),
    click.option("--language", type=click.Choice(LANGUAGES), default="en", show_default=True, help="Language."),
    click.option("--units", type=click.Choice(UNITS), default="metric", show_default=True, help="Units."),
    FORCE,
)
PICTURE = click.option(
    "--picture", type=click.Path(dir_okay=False), help="Draw the answer into this file (.png, .svg, .pdf)."
)
OPEN = click.option("--open", "opens", is_flag=True, help="Show the picture, or the page that is written.")
ALSO = ("as_json", "as_csv", "table", "whole", "cautions", "language", "units", "picture", "opens")


def question(
    name: str,
    about: str,
    options: Sequence[Callable],
    examples: Sequence[str],
    *,
    short: str = "",
    picture: bool = True,
    field: bool = True,
    opened: Callable[[dict[str, Any]], Any] = open_site,
    files: Mapping[str, Callable[[Any, Any, dict[str, Any]], Sequence[str]]] | None = None,
) -> click.Command:
    """The command of a question.

    Parameters
    ----------
    name : of the command, and of the function in `frostkit.public` (with underscores)
    about : what it answers, in a few lines, for --help; short : in a line, for the list of a group's commands
    options : click options whose names are those of the function
    examples : commands as typed
    picture : whether the answer has a picture; field : whether a low spot or logger may be named
    opened : makes the site from what was typed, and takes out the options that it used up
    files : for options that write files besides: what writes them, from the answer, the option's value and what else
        was typed for the output; it gives back lines to print. Options named `key_*` belong to the file of that key
    """
    files = files or {}

    def run(**typed: Any) -> None:
        own = [key for key in typed if key in files or any(key.startswith(f"{file}_") for file in files)]
        out = {key: typed.pop(key, None) for key in (*ALSO, *own)}
        _check(out["as_json"], out["as_csv"], out["table"])
        site = opened(typed)
        out["whole"] = out["whole"] or bool(typed.get("each"))  # every season is a table
        answer = _public(name)(site, **typed, language=out["language"], units=out["units"])
        said = [line for key, written in files.items() if out[key] for line in written(answer, out[key], out)]
        pages = [out[key] for key in files if out[key] and os.path.isfile(out[key])]
        if out["opens"] and pages:
            show_file(pages[0])
            out["opens"] = False
        write(answer, **out)
        if said and not (out["as_json"] or out["as_csv"]):
            echo("\n".join(said))

    run.__doc__ = about
    shows = (*((PICTURE,) if picture else ()), *((OPEN,) if picture or files else ()))
    command = site_options(with_options(*options, *shows, *OUT)(run), field)
    lines = "\n".join(f"  {line}" for line in examples)
    return click.command(name, short_help=short or None, epilog=f"\b\nExamples:\n{lines}")(command)


def _public(name: str) -> Callable:
    """The public function of a command."""
    from frostkit import public

    return getattr(public, name.replace("-", "_"))


def _check(as_json: bool | None, as_csv: bool | None, table: str | None) -> None:
    """What can't go together is refused before anything is read or written."""
    if as_json and as_csv:
        raise click.UsageError("--json and --csv say the same answer twice: give one of them.")
    if table is not None and not as_csv:
        raise click.UsageError("--table names the table that --csv prints: add --csv.")


def write(
    answer: Any,
    as_json: bool | None,
    as_csv: bool | None,
    table: str | None,
    picture: str | None,
    whole: bool | None = False,
    cautions: bool | None = False,
    opens: bool | None = False,
    **_: Any,
) -> None:
    """The answer to the terminal, and its picture into a file."""
    from frostkit.show.render.text import caution_lines

    if opens and not picture:
        picture = os.path.join(tempfile.mkdtemp(prefix="frostkit-"), f"{answer.answer.question}.svg")
    if picture:
        from frostkit.show.look import save

        save(answer.plot(), picture)
        if opens:
            show_file(picture)
    if as_json:
        click.echo(answer.to_json())
        return
    in_full = "\n".join(caution_lines(answer.answer.cautions, answer._words()))
    if as_csv:
        click.echo(answer.to_csv(table))
        echo(in_full, err=True)
        return
    echo(answer.text() if whole else answer.brief(draws_blocks()))
    if cautions and not whole:
        echo(in_full)
    if picture:
        echo(f"Picture: {picture}")


def show_file(path: Any) -> None:
    """Open a file in the browser; where there is none its place, which is printed, must do."""
    import webbrowser
    from pathlib import Path

    if not webbrowser.open(Path(path).resolve().as_uri()):
        echo("No browser was found to show it.", err=True)


def draws_blocks() -> bool:
    """Whether the output can say the characters that odds are drawn with."""
    from frostkit.show.render.brief import BLOCKS

    try:
        BLOCKS.encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True
