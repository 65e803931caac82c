"""`frostkit frost`: last spring and first fall frost at any threshold, season by season, with odds."""

import click

from frostkit.show.commands.options import (
    CSV,
    FORCE,
    JSON,
    answered,
    field_options,
    frost_at,
    open_behind,
    record_options,
)
from frostkit.show.printed import echo


@click.command(
    short_help="Last spring and first fall frost.",
    epilog="""\b
Examples:
  frostkit frost
  frostkit frost station.dly --threshold -2.2
  frostkit frost eccc_folder --threshold 28F --seasons 1991-2020
  frostkit frost station.dly --logger low_corner.csv
  frostkit frost station.dly --csv > frosts.csv""",
)
@record_options
@field_options
@click.option(
    "--threshold",
    default="0",
    show_default=True,
    metavar="T",
    help="A day is a frost at or below this: 0, -2.2, or 28F.",
)
@click.option("--picture", type=click.Path(dir_okay=False), help="Draw it into this file (.png, .svg, .pdf).")
@click.option("--each", is_flag=True, help="List every season too.")
@FORCE
@JSON
@CSV
def command(record, input_units, seasons, field_at, threshold, picture, each, as_json, as_csv):
    """Last spring frost, first fall frost and frost-free days of every season, and the odds of each by day.

    A day counts when its minimum is at or below the threshold. Spring ends with 31 July.
    """
    from frostkit.answers.frosts import frosts
    from frostkit.show.machine.rows import one_kind

    one_kind(as_json, as_csv)
    answer = answered(open_behind(record, input_units, seasons, field_at), frosts, frost_at(threshold))
    if picture:
        from frostkit.show.look import save
        from frostkit.show.pictures.frost import frost_dates

        save(frost_dates(answer), picture)
    if as_json:
        from frostkit.show.machine.frost import frost
        from frostkit.show.machine.parts import text

        echo(text(frost(answer)))
        return
    if as_csv:
        from frostkit.show.machine.frost import season_rows
        from frostkit.show.machine.rows import write

        write(season_rows(answer), answer.cautions)
        return
    from frostkit.show.tables.frost import frost_text

    echo(frost_text(answer, each))
    if picture:
        echo(f"Picture: {picture}")
