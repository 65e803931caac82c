"""`frostkit track-record`: would these odds have been right in the past?"""

import click

from frostkit.show.commands.crop_options import AFTER, CORN, LEGUME, STORE, THRESHOLD
from frostkit.show.commands.question import question

EVENTS = ["first-fall-frost", "last-spring-frost", "seeding"]
command = question(
    "track-record",
    "Stands before each past season, counts over earlier ones alone, gives the odds, and looks what happened.",
    (
        click.option("--event", type=click.Choice(EVENTS), default=EVENTS[0], show_default=True, help="Odds of what."),
        THRESHOLD,
        CORN,
        LEGUME,
        AFTER,
        STORE,
        click.option("--apart", is_flag=True, help="Each crop to its own goal in the open, not chopped together."),
        click.option(
            "--late-planting", is_flag=True, help="The corn needs less the later it is seeded: see its entry."
        ),
    ),
    (
        "frostkit track-record",
        "frostkit track-record station.dly --event last-spring-frost --threshold -2.2",
        "frostkit track-record eccc_folder --event seeding --corn silage-2300 --picture record.png",
    ),
)
