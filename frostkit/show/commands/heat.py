"""`frostkit heat`: heat gathered between two days, season by season."""

import click

from frostkit.show.commands.crop_options import EACH
from frostkit.show.commands.options import DAY
from frostkit.show.commands.question import question

METHODS = (
    "mean: (max + min)/2, held to base and cap, less base; clamped: each held between base and cap first; sine: "
    "Baskerville and Emin 1969; chu: corn heat units, Brown and Bootsma 1993."
)
command = question(
    "heat",
    "Heat gathered from one day to another, both counted, in every season: as read and as it would come today.",
    (
        click.option("--method", default="mean", show_default=True, metavar="mean|clamped|sine|chu", help=METHODS),
        click.option("--base", type=float, help="Base temperature, °C (10 where not said)."),
        click.option("--cap", type=float, help="Temperature above which more does not count, °C."),
        click.option("--from", "first", type=DAY, default="05-01", show_default=True, help="First day that counts."),
        click.option("--to", "last", type=DAY, default="10-31", show_default=True, help="Last day that counts."),
        EACH,
    ),
    (
        "frostkit heat --method chu --from 05-15 --to 09-15",
        "frostkit heat station.dly --method mean --base 10",
        "frostkit heat eccc_folder --method clamped --base 10 --cap 30 --json",
        "frostkit heat station.dly --method chu --csv > heat.csv",
    ),
)
