"""`frostkit chop`: when is it fit to chop, and what if it freezes first?"""

import click

from frostkit.show.commands.booked import BOOK, with_book
from frostkit.show.commands.crop_options import CORN, STORE
from frostkit.show.commands.options import DAY
from frostkit.show.commands.question import question


def _sheet(answer, path, out):
    from frostkit.show.pages.page import typed, write
    from frostkit.show.pages.sheet import field_sheet

    named = click.get_current_context().find_root().params.get("field") or ""
    write(field_sheet(answer.answer, answer._words(), name=named, command=typed()), path)
    return [f"Field sheet: {path}"]


TARGET = click.option("--target", type=(float, float), metavar="LOW HIGH", help="Your own moisture range, %.")
TODAY = click.option(
    "--today", metavar="YYYY-MM-DD", help="Stand on this day; the day after the record's last where left out."
)

command = question(
    "chop",
    "Stage and moisture today, and for each day ahead the odds that it is fit, too wet, too dry, or frozen.\n\n"
    "This season's days so far come from the record, then a forecast if there is one, then the rest of every possible "
    "season.",
    (
        CORN,
        click.option("--seeding", type=DAY, help="The corn's seeding day; 05-22 where nothing else was seen."),
        TODAY,
        click.option("--silking", type=DAY, help="The day on which half the plants showed silks."),
        click.option("--milk-line", type=float, help="How far the milk line has come down, 0 to 1: seen today."),
        click.option("--moisture", type=float, help="Whole-plant moisture measured today, %."),
        click.option("--forecast", type=click.Path(), help="CSV of the coming days: date, tmin_C, tmax_C, and spread."),
        BOOK,
        STORE,
        TARGET,
        click.option("--legume-share", default=0.0, help="Share of the wet weight that is legume, such as 0.1."),
        click.option("--sheet", type=click.Path(dir_okay=False), help="Write a one-page field sheet (.html, .pdf)."),
    ),
    (
        "frostkit chop",
        "frostkit chop station.dly --seeding 05-22 --today 2026-08-20",
        "frostkit chop station.dly --silking 08-02 --moisture 71.5 --store bag",
        "frostkit --farm farm.toml --field north chop --today 2026-08-25",
        "frostkit chop eccc_folder --seeding 05-22 --forecast coming_days.csv --sheet field.html",
    ),
    opened=with_book,
    files={"sheet": _sheet},
)
