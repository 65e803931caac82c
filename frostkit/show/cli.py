"""The command `frostkit`: each command loads only what it needs, and bad input is two lines, never a traceback."""

import gc
import os
import sys
from contextlib import suppress
from importlib import import_module
from pathlib import Path
from textwrap import wrap
from typing import Any

import click

from frostkit.errors import FrostkitError, nearest
from frostkit.show.printed import LINE, plain
from frostkit.show.written import settings_file

COMMANDS = (
    "window",
    "frost",
    "heat",
    "season",
    "winter",
    "tonight",
    "workdays",
    "book",
    "late-legume",
    "worth",
    "rows",
    "chop",
    "fields",
    "triage",
    "track-record",
    "choose",
    "region",
    "crops",
    "report",
    "record",
    "serve",
    "setup",
)
"""What each answers: room `commands` of the texts. Its module is `frostkit.show.commands.<name with underscores>`."""
ASKED = ("window", "choose", "late-legume", "chop", "triage")
"""What people ask most: `frostkit` alone says these."""


class Lazy(click.Group):
    """A group that knows its commands by name and loads one when it is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        if name not in COMMANDS:
            return None
        return import_module(f"frostkit.show.commands.{name.replace('-', '_')}").command

    def resolve_command(self, ctx, args):
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            raise click.UsageError(f"There is no command '{args[0]}'.{nearest(args[0], COMMANDS)}", ctx)
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        say = told()
        with formatter.section(say("front.commands")):
            formatter.write_dl([(name, say(f"commands.{name}")) for name in COMMANDS])


@click.group(
    cls=Lazy,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110},
    epilog="Say 'frostkit COMMAND --help' for examples. Without a record every command answers for the "
    "invented place River Flat.",
)
@click.option(
    "--farm", envvar="FROSTKIT_FARM", metavar="FILE", help="Settings of a farm (TOML): places, fields, units."
)
@click.option("--field", metavar="NAME", help="The field of the farm to answer for; the first where none is named.")
@click.pass_context
@click.version_option(package_name="frostkit", message="%(prog)s %(version)s")
def command(context: click.Context, farm: str | None, field: str | None) -> None:
    """Frost risk and season length from a station's own temperature record, as odds over real seasons."""
    if farm is None and field is not None:
        raise click.UsageError("--field needs a settings file: add --farm FILE.", context)
    once = said_once(context)
    if farm is None:
        if once is not None:
            from frostkit.show.settings import defaults as said

            start_from(context, said(once))
        return
    from frostkit.show.farm import defaults, load

    under = None if once is None else once.units  # a farm's file names its own places
    started = defaults(load(farm), field, Path(farm).resolve().parent, under)
    context.obj = farm
    start_from(context, started)
    assert context.default_map is not None
    own = ("corn", "legume", "seeding", "store", "colder_by", "all_nights", "logger", "logger_units")
    context.default_map["fields"] = {name: value for name, value in started.items() if name not in own}  # each its own
    bean = {name: value for name, value in started.items() if (name, str(value).lower()) != ("legume", "none")}
    context.default_map.update({"late-legume": bean, "worth": bean})  # about a legume, where the field has none too
    among = {name: value for name, value in started.items() if name not in ("corn", "legume")}
    context.default_map["choose"] = among  # among all entries


def said_once(context: click.Context) -> Any:
    """The settings of `frostkit setup`; None where there are none, and for itself: it must run beside a faulty file."""
    if context.invoked_subcommand in (None, "setup"):
        return None
    if not settings_file().exists():
        return None  # the usual case loads nothing
    from frostkit.show import settings

    return settings.load()


def start_from(context: click.Context, started: dict[str, Any]) -> None:
    """Let the options of every command start from what was said."""
    parts = ("show", "check", "field", "near", "fetch", "list", "refresh", "drop")
    near = {name: value for name, value in started.items() if name not in ("latitude", "longitude")}  # these are asked
    groups = {"record": dict.fromkeys(parts, started) | {"near": near}, "book": {"show": started}}
    answers = [name for name in COMMANDS if name != "setup"]
    context.default_map = {**dict.fromkeys(answers, started), **groups}


def main(arguments: list[str] | None = None) -> int:
    """Run the command line; returns the exit code: 0 answered, 2 bad input, 1 something of ours broke."""
    gc.disable()  # a short run ends before collecting would pay; it costs a tenth of the start
    try:
        result = command.main(args=arguments, prog_name="frostkit", standalone_mode=False)
        return result if isinstance(result, int) else 0
    except click.exceptions.NoArgsIsHelpError as asked:
        click.echo(asked.format_message() if asked.ctx is None or asked.ctx.parent else most_asked())
        return 0
    except click.ClickException as fault:
        context = getattr(fault, "ctx", None)
        where = context.command_path if context else "frostkit"
        complain(fault.format_message(), f"Say '{where} --help' for what is allowed, with examples.")
        return 2
    except FrostkitError as fault:
        complain(fault.what, fault.do)
        return 2
    except click.exceptions.Abort:
        complain("Stopped.", "Nothing was left half-written.")
        return 130
    except BrokenPipeError:  # the reader of our output, `head` say, has seen enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except Exception as fault:  # ours, not the person's: say so, and keep the traceback for whoever mends it
        if os.environ.get("FROSTKIT_TRACEBACK"):
            raise
        complain(
            f"Something in frostkit itself broke: {type(fault).__name__}: {fault}",
            "Please report it with the command you typed; FROSTKIT_TRACEBACK=1 shows where.",
        )
        return 1
    finally:
        gc.enable()


def told() -> Any:
    """The texts of the language of `frostkit setup`; English beside a faulty file, which tells of itself elsewhere."""
    from frostkit.show.texts import texts

    if settings_file().exists():
        from frostkit.show.settings import how

        with suppress(FrostkitError):
            return texts(how()["language"])
    return texts()


def most_asked() -> str:
    """What `frostkit` alone says: what people ask most, and where the rest is."""
    say, wide = told(), max(map(len, ASKED))
    asked = [f"  frostkit {name.ljust(wide)}   {say(f'commands.{name}')}" for name in ASKED]
    rest = [part for key in ("record", "more") for part in wrap(say(f"front.{key}"), 85)]
    return "\n".join([say("front.asked"), "", *asked, "", *rest])


def complain(what: str, do: str) -> None:
    """The two lines of an error, on the error stream; in colour on a terminal, unless NO_COLOR is set to anything.

    What a message quotes from a file is filtered, and cut where it is endless.
    """
    line = plain(what, LINE)
    click.echo(line if os.environ.get("NO_COLOR") else click.style(line, fg="red", bold=True), err=True)
    if do:
        click.echo(plain(do, LINE), err=True)
