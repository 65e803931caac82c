"""`frostkit record`: look at a station's record, check it, find, fetch and keep one; the field's own logger."""

from typing import Any

import click

from frostkit.ensemble.site import Site
from frostkit.errors import nearest
from frostkit.show.commands.crop_options import EACH, THRESHOLD
from frostkit.show.commands.options import open_site
from frostkit.show.commands.question import question
from frostkit.show.commands.stations import drop, fetch, kept, near, refresh


class Records(click.Group):
    """`frostkit record FILE` is short for `frostkit record show FILE`."""

    def resolve_command(self, ctx, args):
        if args and args[0] not in self.commands:
            close = nearest(args[0], self.commands)
            if close and not any(mark in args[0] for mark in "./\\"):
                raise click.UsageError(f"There is no 'record {args[0]}'.{close}", ctx)
            args = ["show", *args]
        return super().resolve_command(ctx, args)

    def parse_args(self, ctx, args):
        if not args or (args[0].startswith("-") and args[0] not in ("-h", "--help")):
            args = ["show", *args]
        return super().parse_args(ctx, args)


@click.group(
    cls=Records,
    epilog="""\b
Examples:
  frostkit record station.dly
  frostkit record check station.dly --neighbour next_town.dly
  frostkit record near 49.9 -99.9
  frostkit record fetch "49.9 N, 99.9 W"
  frostkit record field station.dly low_corner.csv""",
)
def command() -> None:
    """A station's record: what it holds, what is wrong with it, how the field differs; and where to get one."""


def _unchecked(typed: dict[str, Any]) -> Site:
    """The site with its records as they were read: the checks are what is asked for."""
    click.get_current_context().meta["frostkit.check"] = False
    return open_site(typed)


def _station(typed: dict[str, Any]) -> Site:
    """The station that a logger is held against; "-" is the invented place."""
    typed["record"] = None if typed.get("record") == "-" else typed.get("record")
    return open_site(typed)


show = question(
    "record",
    "What a record holds: seasons that count, seasons without a hole, days missing, what was repaired on the way in.",
    (EACH,),
    ("frostkit record show station.dly", "frostkit record show eccc_folder --each --picture record.png"),
    field=False,
    short="Seasons that count, days that were not read, repairs.",
)
check = question(
    "record-check",
    "Quality checks of every reading, what each season has and lacks, and whether the thermometer was moved.\n\n"
    "Values are masked, never altered. The checks are those of Durre et al. 2010 for Tmin and Tmax, and two more. "
    "A --neighbour is held against it.",
    (EACH,),
    (
        "frostkit record check station.dly",
        "frostkit record check station.dly --neighbour next_town.dly --picture record.png",
    ),
    field=False,
    opened=_unchecked,
    short="What is wrong with it: readings, missing days, a moved thermometer.",
)
field = question(
    "record-field",
    "The field's own logger against the station: offset of Tmin by season, on clear nights and on others.\n\n"
    "The logger's file has hours (time, temp_C) or days (date, tmin_C, tmax_C), weeks or years of them. Say '-' for "
    "RECORD to hold it against the invented place.",
    (
        click.argument("logger", metavar="LOGGER.csv", type=click.Path(exists=True, dir_okay=False)),
        click.option(
            "--logger-units", type=click.Choice(["C", "F"]), help="Units of a logger's file that doesn't say."
        ),
        THRESHOLD,
    ),
    (
        "frostkit record field station.dly low_corner.csv",
        "frostkit record field eccc_folder logger.csv --logger-units F --picture nights.png",
        "frostkit window station.dly --logger low_corner.csv",
    ),
    field=False,
    opened=_station,
    short="How much colder is the field than the station?",
)

for name, one in (("show", show), ("check", check), ("field", field)):
    command.add_command(one, name)
for one in (near, fetch, kept, refresh, drop):
    command.add_command(one)
