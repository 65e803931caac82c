"""`frostkit triage`: it froze; what did it do, and what now?"""

import click

from frostkit.show.commands.options import JSON, celsius, open_behind, record_options


@click.command(short_help="It froze: what did it do, and what now?", epilog="""\b
Examples:
  frostkit triage --at -2 --hours 3 --stage dent --bean vegetative
  frostkit triage --at 28F --stage milk --moisture 76 --store bunker
  frostkit triage station.dly --stage dent --season 2014""")  # fmt: skip
@record_options
@click.option("--at", metavar="T", help="Lowest temperature in the screen: -2, 28F. Left out: the record's frosts.")
@click.option("--hours", type=float, help="Hours at or below it, where a logger tells.")
@click.option("--stage", default="dent", show_default=True, help="The corn's stage.")
@click.option("--bean", help="The bean's stage: vegetative, R5, R6, R7 or R8.")
@click.option("--low-spot", is_flag=True, help="Judge the field as a hollow.")
@click.option("--moisture", type=float, help="Whole-plant moisture that was measured, %.")
@click.option("--store", default="bunker", show_default=True, help="Where the silage goes.")
@click.option("--season", type=int, help="Season of the record to look for frosts in; the last where left out.")
@JSON
def command(record, input_units, seasons, field_at, at, hours, stage, bean, low_spot, moisture, store, season, as_json):
    """What a frost does to corn and bean at this stage: certain, possible, not expected, source by source."""
    from frostkit.answers.stores import wanted
    from frostkit.answers.triage import Frost, frosts_in, triage
    from frostkit.errors import RecordError
    from frostkit.seasons.calendar import words

    if at is not None:
        frost = Frost(celsius(at), hours)
    else:
        behind = open_behind(record, input_units, seasons, field_at)
        found = frosts_in(behind, season)
        if not found:
            where = season or behind.span[1]
            raise RecordError(
                f"The record has no fall frost in {where}.", "Type it in: frostkit triage --at -2 --hours 3"
            )
        frost = found[0]
        if not as_json and len(found) > 1:
            later = ", ".join(words(one.day) for one in found[1:4] if one.day is not None)
            click.echo(f"The first of {len(found)} frosts of that fall; later ones: {later} ...\n")
    answer = triage(frost, stage, bean_stage=bean, low_spot=low_spot, moisture=moisture, upper_limit=wanted(store).high)
    if as_json:
        from frostkit.show.machine.parts import text

        click.echo(text(answer.to_dict()))
        return
    from frostkit.show.tables.chop import triage_text

    click.echo(triage_text(answer))
