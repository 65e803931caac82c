"""Options that several questions share: crops, odds, store and days."""

import click

from frostkit.answers.units import celsius
from frostkit.show.commands.options import AFTER as WITHIN_AFTER, ODDS as WITHIN_ODDS


class Temperature(click.ParamType):
    """A temperature as 0, -2.2 or 28F, given back in degC."""

    name = "T"

    def convert(self, value, param, ctx):
        return celsius(str(value))


THRESHOLD = click.option(
    "--threshold",
    type=Temperature(),
    default="0",
    show_default=True,
    help="A night is a frost at or below this: 0, -2.2, or 28F.",
)
EACH = click.option("--each", is_flag=True, help="List every season too.")
CORN = click.option("--corn", default="silage-2300", show_default=True, help="Corn entry, a TOML file, or 'none'.")
LEGUME = click.option(
    "--legume", default="forage-late", show_default=True, help="Legume entry, a TOML file, or 'none'."
)
AFTER = click.option(
    "--after",
    type=WITHIN_AFTER,
    default=0,
    show_default=True,
    help="Days from the corn's seeding to the legume's: -1, 0, 1, 2 ...",
)
ODDS = click.option(
    "--odds", type=WITHIN_ODDS, default=0.8, show_default=True, help="Odds wanted: 0.8 is 8 seasons in 10."
)
STORE = click.option(
    "--store", default="bunker", show_default=True, help="Where the silage goes: it decides what fit is."
)
TRACK_RECORD = click.option(
    "--track-record/--no-track-record", default=True, help="End with how far such odds were off in the past."
)
