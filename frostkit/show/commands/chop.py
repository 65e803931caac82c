"""`frostkit chop`: when is it fit to chop, and what if it freezes first?"""

import click

from frostkit.show.commands.options import DATE, DAY, FORCE, JSON, open_behind, record_options
from frostkit.show.commands.paper import PAPER
from frostkit.show.printed import echo


@click.command(short_help="When is it fit to chop?", epilog="""\b
Examples:
  frostkit chop
  frostkit chop station.dly --seeding 05-22 --today 2026-08-20
  frostkit chop station.dly --silking 08-02 --moisture 71.5 --store bag
  frostkit chop eccc_folder --seeding 05-22 --forecast coming_days.csv --sheet field.html""")  # fmt: skip
@record_options
@click.option("--corn", default="silage-2300", show_default=True, help="Corn entry, or a TOML file.")
@click.option("--seeding", type=DAY, help="The corn's seeding day; 05-22 where nothing else was seen.")
@click.option("--today", type=DATE, help="Stand on this day; the day after the record's last where left out.")
@click.option("--silking", type=DAY, help="The day on which half the plants showed silks.")
@click.option("--milk-line", type=float, help="How far the milk line has come down, 0 to 1: seen today.")
@click.option("--moisture", type=float, help="Whole-plant moisture measured today, %.")
@click.option(
    "--forecast", type=click.Path(), help="CSV of the coming days: date, tmin_C, tmax_C, and spread if given."
)
@click.option("--store", default="bunker", show_default=True, help="bunker, pile, bag, upright or another of the list.")
@click.option("--target", type=(float, float), metavar="LOW HIGH", help="Your own moisture range, %.")
@click.option("--like", is_flag=True, help="Weigh past seasons by how near their heat so far was to this one's.")
@click.option("--legume-share", default=0.0, help="Share of the wet weight that is legume, such as 0.1.")
@click.option("--picture", type=click.Path(dir_okay=False), help="Draw it into this file (.png, .svg, .pdf).")
@click.option("--sheet", type=click.Path(dir_okay=False), help="Write a one-page field sheet (.html, .pdf).")
@FORCE
@PAPER
@JSON
def command(record, input_units, seasons, field_at, corn, seeding, today, silking, milk_line, moisture, forecast, store,
            target, like, legume_share, picture, sheet, language, fahrenheit, as_json):  # fmt: skip
    """Stage and moisture today, and for each day ahead the odds that it is fit, too wet, too dry, or frozen.

    This season's days so far come from the record, then a forecast if there is one, then every past season as one
    possible rest of this one.
    """
    from frostkit.answers.chopping import chopping
    from frostkit.crops.entry import load
    from frostkit.records.forecast import read_forecast
    from frostkit.seasons.calendar import column

    behind = open_behind(record, input_units, seasons, field_at)
    if record is None and today is None:  # the invented record ends with a year; stand in the season
        today = f"{behind.span[1]}-08-25"
    if seeding is None and silking is None and milk_line is None and moisture is None:
        seeding = column(5, 22)
    coming = None if forecast is None else read_forecast(forecast)
    answer = chopping(behind, load(corn), seeding, today=today, silking=silking, milk_line=milk_line, moisture=moisture,
                      forecast=coming, store=store, target=target, like=like, legume_share=legume_share)  # fmt: skip
    if picture:
        from frostkit.show.look import save
        from frostkit.show.pictures.chop import chopping_days

        save(chopping_days(answer, language), picture)
    if sheet:
        from frostkit.show.page import typed, write
        from frostkit.show.sheet import field_sheet

        named = click.get_current_context().find_root().params.get("field") or ""
        write(field_sheet(answer, language, name=named, fahrenheit=fahrenheit, command=typed()), sheet)
    if as_json:
        from frostkit.show.machine.parts import text

        echo(text(answer.to_dict()))
        return
    from frostkit.show.tables.chop import chop_text

    echo(chop_text(answer))
    for what, path in (("Picture", picture), ("Field sheet", sheet)):
        if path:
            echo(f"{what}: {path}")
