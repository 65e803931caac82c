"""`frostkit heat`: heat gathered between two days, season by season."""

import click

from frostkit.show.commands.options import BASE, CAP, CSV, DAY, JSON, open_behind, record_options
from frostkit.show.printed import echo


@click.command(
    short_help="Heat gathered between two days.",
    epilog="""\b
Examples:
  frostkit heat --method chu --from 05-15 --to 09-15
  frostkit heat station.dly --method mean --base 10
  frostkit heat eccc_folder --method clamped --base 10 --cap 30 --json
  frostkit heat station.dly --method chu --csv > heat.csv""",
)
@record_options
@click.option(
    "--method",
    default="mean",
    show_default=True,
    metavar="mean|clamped|sine|chu",
    help="mean: (max + min)/2, held to base and cap, - base; clamped: each held between base and cap first; sine: "
    "Baskerville and Emin 1969; chu: corn heat units, Brown and Bootsma 1993.",
)
@click.option("--base", type=BASE, help="Base temperature, °C (10 where not said).")
@click.option("--cap", type=CAP, help="Temperature above which more does not count, °C.")
@click.option("--from", "first", type=DAY, default="05-01", show_default=True, help="First day that counts.")
@click.option("--to", "last", type=DAY, default="10-31", show_default=True, help="Last day that counts.")
@JSON
@CSV
def command(record, input_units, seasons, field_at, method, base, cap, first, last, as_json, as_csv):
    """Heat gathered from one day to another, both counted, in every season; a range where days are missing."""
    from frostkit.answers.warmth import gathered
    from frostkit.show.machine.rows import one_kind

    one_kind(as_json, as_csv)
    answer = gathered(open_behind(record, input_units, seasons, field_at), method, base, cap, first, last)
    if as_json:
        from frostkit.show.machine.heat import heat
        from frostkit.show.machine.parts import text

        echo(text(heat(answer)))
        return
    if as_csv:
        from frostkit.show.machine.heat import season_rows
        from frostkit.show.machine.rows import write

        write(season_rows(answer))
        return
    from frostkit.show.tables.heat import heat_text

    echo(heat_text(answer))
