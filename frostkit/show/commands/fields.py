"""`frostkit fields`: several fields, one chopper: in what order?"""

from pathlib import Path

import click

from frostkit.show.commands.options import DATE, FORCE, JSON, open_both, record_options
from frostkit.show.commands.paper import PAPER
from frostkit.show.printed import echo


@click.command(short_help="Several fields, one chopper: in what order?", epilog="""\b
Examples:
  frostkit fields
  frostkit fields station.dly --fields my_fields.csv --rate 2.5 --hours 10
  frostkit fields --picture calendar.png
  frostkit --farm farm.toml fields --machines 2 --today 2026-08-25 --sheets sheets""")  # fmt: skip
@record_options
@click.option(
    "--fields", "fields_file", type=click.Path(), help="CSV: name,area_ha,seeded,corn,legume,place,haul_km,yield_t_ha."
)
@click.option("--store", default="bunker", show_default=True, help="Where the silage goes.")
@click.option("--target", type=(float, float), metavar="LOW HIGH", help="Your own moisture range, %.")
@click.option("--today", type=DATE, help="Stand on this day of a season; else from past seasons alone.")
@click.option("--rate", type=float, help="Chopping rate, ha an hour.")
@click.option("--hours", type=float, help="Hours a day.")
@click.option("--machines", type=int, help="Choppers.")
@click.option("--trucks", type=int, help="Trucks; 0 where hauling holds nothing up.")
@click.option("--picture", type=click.Path(dir_okay=False), help="Draw the calendar into this file (.png, .svg, .pdf).")
@click.option(
    "--sheets",
    type=click.Path(file_okay=False),
    metavar="FOLDER",
    help="Write a one-page sheet for each field into this folder; needs --today.",
)
@click.option(
    "--sheet-kind",
    type=click.Choice(["html", "pdf"]),
    default="html",
    show_default=True,
    help="What kind of file the sheets are.",
)
@FORCE
@PAPER
@JSON
@click.pass_context
def command(context, record, input_units, seasons, field_at, fields_file, store, target, today, rate, hours, machines,
            trucks, picture, sheets, sheet_kind, language, fahrenheit, as_json):  # fmt: skip
    """The order and calendar that keep the most tonnes in the right moisture over the past seasons.

    Fields come from a CSV, else from the farm's settings file, else from an invented farm.
    """
    from frostkit.answers.farm import read_fields
    from frostkit.answers.fields import Chopper, order_of_fields, rain_days

    if sheets and today is None:
        raise click.UsageError("Field sheets stand on a day: add --today, such as --today 2026-08-25.")
    if fields_file is not None:
        found = read_fields(fields_file)
    else:
        from frostkit.demo.place import FARM
        from frostkit.show.farm import fields, load

        path = Path(context.find_root().obj or FARM)
        found = fields(load(path), path.resolve().parent)
    said = {"rate": rate, "hours": hours, "machines": machines, "trucks": trucks}
    chopper = Chopper(**{name: value for name, value in said.items() if value is not None})
    kept, at = open_both(record, input_units, seasons, field_at)
    answer = order_of_fields(at, rain_days(kept, at.cube), found, chopper, store=store, target=target, today=today)
    if picture:
        from frostkit.show.look import save
        from frostkit.show.pictures.fields import fields_calendar

        save(fields_calendar(answer, language), picture)
    made = _sheets(answer, Path(sheets), sheet_kind, store, target, today, language, fahrenheit) if sheets else []
    if as_json:
        from frostkit.show.machine.parts import text

        echo(text(answer.to_dict()))
        return
    from frostkit.show.tables.chop import fields_text

    if fields_file is None and context.find_root().obj is None:
        echo("An invented farm at River Flat: give your own fields with --fields or --farm.\n")
    echo(fields_text(answer))
    for what, path in (("Picture", picture), *(("Field sheet", path) for path in made)):
        if path:
            echo(f"{what}: {path}")


def _sheets(answer, folder: Path, kind: str, store, target, today, language: str, fahrenheit: bool) -> list[Path]:
    """A sheet for each field, with its place in the order; the folder is made where it is not there."""
    from frostkit.answers.chopping import chopping
    from frostkit.crops.entry import load
    from frostkit.errors import SettingError
    from frostkit.show.page import file_name, typed, write
    from frostkit.show.pictures.fields import place_line
    from frostkit.show.sheet import field_sheet
    from frostkit.show.texts import texts
    from frostkit.show.written import may_replace

    taken: set[str] = set()
    paths = [folder / f"{file_name(plan.field.name, taken)}.{kind}" for plan in answer.plan]
    for path in paths:  # all of them are looked at before one is written
        may_replace(path, "field sheet")
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise SettingError(f"The folder '{folder}' can't be made: {fault.strerror}.", "Choose another one.") from None
    made: list[Path] = []
    for index, plan in enumerate(answer.plan):
        one = plan.field
        of = chopping(answer.behind, load(one.corn), one.seeded, today=today, store=store, target=target,
                      legume_share=one.legume_share)  # fmt: skip
        place = place_line(texts(language), answer, index)
        page = field_sheet(of, language, name=one.name, lines=[place], fahrenheit=fahrenheit, command=typed())
        made.append(write(page, paths[index]))
    return made
