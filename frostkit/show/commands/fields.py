"""`frostkit fields`: several fields, one chopper: in what order?"""

from pathlib import Path

import click

from frostkit.show.commands.options import JSON, open_record, record_options


@click.command(short_help="Several fields, one chopper: in what order?", epilog="""\b
Examples:
  frostkit fields
  frostkit fields station.dly --fields my_fields.csv --rate 2.5 --hours 10
  frostkit --farm farm.toml fields --machines 2""")  # fmt: skip
@record_options
@click.option(
    "--fields", "fields_file", type=click.Path(), help="CSV: name,area_ha,seeded,corn,legume,place,haul_km,yield_t_ha."
)
@click.option("--store", default="bunker", show_default=True, help="Where the silage goes.")
@click.option("--target", type=(float, float), metavar="LOW HIGH", help="Your own moisture range, %.")
@click.option("--today", metavar="YYYY-MM-DD", help="Stand on this day of a season; else from past seasons alone.")
@click.option("--rate", type=float, help="Chopping rate, ha an hour.")
@click.option("--hours", type=float, help="Hours a day.")
@click.option("--machines", type=int, help="Choppers.")
@click.option("--trucks", type=int, help="Trucks; 0 where hauling holds nothing up.")
@JSON
@click.pass_context
def command(context, record, input_units, seasons, field_at, fields_file, store, target, today, rate, hours, machines,
            trucks, as_json):  # fmt: skip
    """The order and calendar that keep the most tonnes in the right moisture over the past seasons.

    Fields come from a CSV, else from the farm's settings file, else from an invented farm.
    """
    from frostkit.answers.farm import read_fields
    from frostkit.answers.fields import Chopper, order_of_fields, rain_days
    from frostkit.answers.station import behind

    if fields_file is not None:
        found = read_fields(fields_file)
    else:
        from frostkit.demo.place import FARM
        from frostkit.show.farm import fields, load

        path = Path(context.find_root().obj or FARM)
        found = fields(load(path), path.resolve().parent)
    said = {"rate": rate, "hours": hours, "machines": machines, "trucks": trucks}
    chopper = Chopper(**{name: value for name, value in said.items() if value is not None})
    kept = open_record(record, input_units)
    at = behind(kept, seasons=seasons)
    answer = order_of_fields(at, rain_days(kept, at.cube), found, chopper, store=store, target=target, today=today)
    if as_json:
        from frostkit.show.machine.parts import text

        click.echo(text(answer.to_dict()))
        return
    from frostkit.show.tables.chop import fields_text

    if fields_file is None and context.find_root().obj is None:
        click.echo("An invented farm at River Flat: give your own fields with --fields or --farm.\n")
    click.echo(fields_text(answer))
