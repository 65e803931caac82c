"""`frostkit fields`: several fields, one chopper: in what order?"""

import click

from frostkit.show.commands.booked import BOOK
from frostkit.show.commands.chop import TARGET
from frostkit.show.commands.crop_options import STORE
from frostkit.show.commands.options import open_site
from frostkit.show.commands.question import question


def _site(typed):
    """The site; fields are the farm's where none are typed."""
    if click.get_current_context().params.get("sheets") and typed["today"] is None:
        raise click.UsageError("Field sheets stand on a day: add --today, such as --today 2026-08-25.")
    if typed["fields"] is None:
        typed["fields"] = click.get_current_context().find_root().obj
        if typed["book"] is None and typed["fields"] is not None:
            from frostkit.answers.season.book import beside

            typed["book"] = beside(typed["fields"])
    return open_site(typed)


def _sheets(answer, folder, out):
    from frostkit.public import each_field
    from frostkit.show.pages.sheet import field_sheets

    each = {name: one.answer for name, one in each_field(answer).items()}
    made = field_sheets(answer.answer, each, answer._words(), folder, out["sheets_kind"])
    return [f"Field sheet: {path}" for path in made]


command = question(
    "fields",
    "The order and calendar that keep the most tonnes in the right moisture over the possible seasons.\n\nFields come "
    "from a CSV, else from the farm's settings file, else from an invented farm.",
    (
        click.option("--fields", type=click.Path(), metavar="FILE", help="CSV: name,area_ha,seeded,corn,place ..."),
        BOOK,
        STORE,
        TARGET,
        click.option("--today", metavar="YYYY-MM-DD", help="Stand on this day; else plan from possible seasons alone."),
        click.option("--rate", type=float, help="Chopping rate, ha an hour."),
        click.option("--hours", type=float, help="Hours a day."),
        click.option("--machines", type=int, help="Choppers."),
        click.option("--trucks", type=int, help="Trucks; 0 where hauling holds nothing up."),
        click.option(
            "--sheets", type=click.Path(file_okay=False), metavar="FOLDER", help="Write a page a field; needs --today."
        ),
        click.option(
            "--sheet-kind", "sheets_kind", type=click.Choice(["html", "pdf"]), default="html", show_default=True
        ),
    ),
    (
        "frostkit fields",
        "frostkit fields station.dly --fields my_fields.csv --rate 2.5 --hours 10",
        "frostkit fields --picture calendar.png",
        "frostkit --farm farm.toml fields --machines 2 --today 2026-08-25 --sheets sheets",
    ),
    opened=_site,
    files={"sheets": _sheets},
)
