"""`frostkit window`: when can corn and legume be seeded, and how sure is that?"""

import click

from frostkit.show.commands.booked import BOOK, with_book
from frostkit.show.commands.crop_options import AFTER, CORN, LEGUME, ODDS, STORE, TRACK_RECORD
from frostkit.show.commands.options import DAY, MONEY
from frostkit.show.commands.question import question

command = question(
    "window",
    "When corn and legume can be seeded together, as odds over possible seasons.\n\n"
    "RECORD is a file or a folder of yearly files of one station, or a station that is kept; without one the answer is "
    "for the invented place River Flat.",
    (
        CORN,
        LEGUME,
        AFTER,
        ODDS,
        STORE,
        click.option("--apart", is_flag=True, help="Each crop to its own goal in the open, not chopped together."),
        click.option("--workdays", is_flag=True, help="Ready needs a day on which the field can be worked too."),
        click.option("--late-planting", is_flag=True, help="The corn needs less when seeded later: see its entry."),
        click.option("--seeding", type=DAY, help="Odds of this one seeding day."),
        click.option("--not-after", type=DAY, help="Your own last seeding day, an insurer's deadline say."),
        click.option("--worth", type=MONEY, help="What a seeding that makes it brings, sown on 15 April: any unit."),
        click.option("--per-day", type=MONEY, default=0.0, help="How much less each day later brings, in that unit."),
        click.option("--loss", type=MONEY, default=0.0, help="What a seeding that fails costs, in that unit."),
        click.option(
            "--also", multiple=True, metavar="RECORD", help="Another station around the field; may be given again."
        ),
        TRACK_RECORD,
        BOOK,
    ),
    (
        "frostkit window",
        "frostkit window river_flat.csv --corn silage-2300 --legume forage-late",
        "frostkit window eccc_folder --after 1 --not-after 06-05",
        "frostkit window station.dly --seeding 05-28 --picture window.png",
        "frostkit window station.dly --store bag --colder-by 2",
        "frostkit window station.dly --worth 900 --per-day 6 --loss 400",
        "frostkit window near.dly --also far.dly --field-at 49.9 -99.9",
        "frostkit --farm farm.toml --field north window",
        "frostkit window station.dly --csv > odds.csv",
    ),
    opened=with_book,
)
