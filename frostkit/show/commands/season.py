"""`frostkit season`: where do we stand, and what comes next?"""

import click

from frostkit.show.commands.booked import BOOK, with_book
from frostkit.show.commands.crop_options import AFTER, CORN, LEGUME, ODDS, STORE
from frostkit.show.commands.options import DAY
from frostkit.show.commands.question import question

TODAY = click.option(
    "--today", metavar="YYYY-MM-DD", help="Stand on this day; the day after the record's last where left out."
)
FORECAST = click.option(
    "--forecast", type=click.Path(), help="CSV of the coming days: date, tmin_C, tmax_C, and spread."
)
SEEDING = click.option(
    "--seeding", type=DAY, help="The corn's seeding day; left out, or still to come: before seeding."
)
SEEN = (
    click.option("--emergence", type=DAY, help="The day on which half the corn was up."),
    click.option("--collars", type=float, help="Leaf collars of the corn seen today, such as 7."),
    click.option("--silking", type=DAY, help="The day on which half the plants showed silks."),
    click.option("--milk-line", type=float, help="How far the milk line has come down, 0 to 1: seen today."),
    click.option("--moisture", type=float, help="Whole-plant moisture measured today, %."),
    click.option("--legume-emergence", type=DAY, help="The day on which half the beans were up."),
)


def page(answer, path, out):
    """Write the answer as one page."""
    from frostkit.show.pages.page import typed, write
    from frostkit.show.pages.season import page as made

    of = answer.answer
    crops = [crop for key in ("corn", "legume") if (crop := of.settings.get(key)) is not None]
    write(made(of, answer._words(), crops, command=typed()), path)
    return [f"Page: {path}"]


PAGE = click.option("--page", type=click.Path(dir_okay=False), help="Write one page to print (.html, .pdf).")


command = question(
    "season",
    "Before seeding: is the soil fit, and seed today or wait. After it: stages to come as dates, the odds of a killing "
    "frost before each, and the next thing to do.\n\nThis season's days so far come from the record, then a forecast "
    "if there is one, then the rest of every possible season.",
    (
        CORN,
        LEGUME,
        AFTER,
        SEEDING,
        click.option(
            "--legume-seeding", type=DAY, help="The bean's own seeding day, where it is not --after the corn's."
        ),
        TODAY,
        *SEEN,
        FORECAST,
        STORE,
        click.option("--legume-share", default=0.0, help="Share of the wet weight that is legume, such as 0.1."),
        ODDS,
        click.option("--workdays", is_flag=True, help="Ready needs a day on which the field can be worked too."),
        BOOK,
        PAGE,
    ),
    (
        "frostkit season --today 2025-05-10",
        "frostkit season station.dly --seeding 05-22 --today 2026-07-10",
        "frostkit season station.dly --seeding 05-22 --emergence 06-03 --collars 7",
        "frostkit --farm farm.toml --field north season",
        "frostkit season CA005010480 --seeding 05-22 --forecast coming_days.csv --picture season.png",
    ),
    opened=with_book,
    files={"page": page},
)
