"""`frostkit tonight`: will it freeze tonight, and which fields are in danger?"""

import click

from frostkit.show.commands.crop_options import AFTER, CORN, LEGUME
from frostkit.show.commands.options import DAY, open_site
from frostkit.show.commands.question import question
from frostkit.show.commands.season import BOOK, FORECAST, TODAY


def with_farm(typed):
    """The site, and the farm's settings file where one is named."""
    typed["farm"] = click.get_current_context().find_root().obj
    return open_site(typed)


command = question(
    "tonight",
    "The odds that tonight reaches what hurts corn and bean in their stage of today: in the open, at the canopy's top "
    "and within it; what to look at, and when.\n\nWith --farm every field of it is told, each with its low spot.",
    (
        click.option("--at", "tmin", metavar="T", help="The forecast minimum at the station: -1, 30F."),
        click.option("--scatter", type=float, help="Standard deviation of that forecast, °C; 2 where not said."),
        click.option(
            "--sky", type=click.Choice(["clear", "cloudy"]), default="clear", show_default=True, help="Tonight."
        ),
        FORECAST,
        CORN,
        LEGUME,
        AFTER,
        click.option("--seeding", type=DAY, help="The corn's seeding day."),
        TODAY,
        click.option(
            "--stage", help="The corn's stage, where you know it: before_v6 ... dent, half_milk, black_layer."
        ),
        click.option("--bean", help="The bean's stage: crook, VC, V1, vegetative, R5 to R8."),
        BOOK,
    ),
    (
        "frostkit tonight --at -1 --seeding 05-22 --today 2025-09-08",
        "frostkit tonight station.dly --at 30F --scatter 1.5 --stage dent --bean vegetative",
        "frostkit --farm farm.toml tonight --forecast coming_days.csv",
    ),
    opened=with_farm,
)
