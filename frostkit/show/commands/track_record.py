"""`frostkit track-record`: would these odds have been right in the past?"""

import click

from frostkit.show.commands.options import FORCE, JSON, frost_at, open_behind, record_options
from frostkit.show.printed import echo

EVENTS = ["first-fall-frost", "last-spring-frost", "seeding-deadline"]


@click.command(short_help="Would these odds have been right?", epilog="""\b
Examples:
  frostkit track-record
  frostkit track-record station.dly --event last-spring-frost --threshold -2.2
  frostkit track-record eccc_folder --event seeding-deadline --crop silage-2300 --picture record.png""")  # fmt: skip
@record_options
@click.option("--event", type=click.Choice(EVENTS), default=EVENTS[0], show_default=True, help="What the odds are of.")
@click.option("--threshold", default="0", show_default=True, metavar="T", help="Of the frost: 0, -2.2, or 28F.")
@click.option("--crop", help="Crop entry for seeding-deadline; silage-2300 where none is named.")
@click.option("--picture", type=click.Path(dir_okay=False), help="Draw it into this file (.png, .svg, .pdf).")
@FORCE
@JSON
def command(record, input_units, seasons, field_at, event, threshold, crop, picture, as_json):
    """Stands at each past season, uses only the seasons before it, gives the odds, and looks what happened."""
    from frostkit.answers.track_record import track_record
    from frostkit.crops.entry import load

    deadline = event == "seeding-deadline"
    entry = load(crop or "silage-2300") if deadline else None
    if crop and not deadline:
        raise click.UsageError("--crop goes with --event seeding-deadline.")
    behind = open_behind(record, input_units, seasons, field_at)
    answer = track_record(behind, event, frost_at(threshold), entry)
    if picture:
        from frostkit.show.look import save
        from frostkit.show.pictures.track_record import reliability_picture

        save(reliability_picture(answer), picture)
    if as_json:
        from frostkit.show.machine.parts import text

        echo(text(answer.as_dict()))
        return
    from frostkit.show.tables.track_record import track_record_text

    echo(track_record_text(answer))
    if picture:
        echo(f"Picture: {picture}")
