"""`frostkit triage`: it froze; what did it do, and what now?"""

import click

from frostkit.show.commands.options import DAY, JSON, celsius, open_behind, record_options
from frostkit.show.printed import echo

TYPED = click.core.ParameterSource.COMMANDLINE


@click.command(short_help="It froze: what did it do, and what now?", epilog="""\b
Examples:
  frostkit triage --at -2 --hours 3 --stage dent --bean vegetative
  frostkit triage --at 28F --stage milk --moisture 76 --store bunker
  frostkit triage --at -3 --stage before_v6 --bean VC
  frostkit triage station.dly --stage dent --season 2014 --on 09-12""")  # fmt: skip
@record_options
@click.option("--at", metavar="T", help="Lowest temperature in the screen: -2, 28F. Left out: the record's frosts.")
@click.option("--hours", type=float, help="Hours at or below it, where a logger tells.")
@click.option("--stage", default="dent", show_default=True, help="The corn's stage, such as before_v6 or dent.")
@click.option(
    "--bean", default="vegetative", show_default=True, help="The bean's stage: crook, VC, V1, vegetative, R5 to R8."
)
@click.option("--low-spot", is_flag=True, help="Judge the field as a hollow.")
@click.option("--moisture", type=float, help="Whole-plant moisture that was measured, %.")
@click.option("--store", default="bunker", show_default=True, help="Where the silage goes.")
@click.option("--season", type=int, help="Season of the record to look for frosts in; the last where left out.")
@click.option("--on", type=DAY, help="The frost of this day of the record; the first of that fall where left out.")
@JSON
@click.pass_context
def command(context, record, input_units, seasons, field_at, at, hours, stage, bean, low_spot, moisture, store, season,
            on, as_json):  # fmt: skip
    """What a frost does to corn and bean at this stage: certain, possible, not expected, source by source."""
    from frostkit.answers.stores import wanted
    from frostkit.answers.triage import Frost, triage
    from frostkit.seasons.calendar import words

    behind = None
    if at is not None:
        for name, value in (("RECORD", record), ("--season", season), ("--on", on)):
            if value is not None and context.get_parameter_source(name.lower().strip("-")) is TYPED:
                raise click.UsageError(
                    f"{name} looks for a frost in a record, and --at types one in: give one of them."
                )
        frost = Frost(celsius(at), hours)
    else:
        behind = open_behind(record, input_units, seasons, field_at)
        found, frost = _in_record(behind, season, on)
        frost = frost._replace(hours=hours)
        if not as_json and len(found) > 1 and on is None:
            later = [words(one.day) for one in found[1:] if one.day is not None]
            more = f" and {len(later) - 3} more" if len(later) > 3 else ""
            echo(f"The first frost of that fall; later ones: {', '.join(later[:3])}{more} (choose with --on).\n")
    answer = triage(frost, stage, bean_stage=bean, low_spot=low_spot, moisture=moisture, upper_limit=wanted(store).high)
    if as_json:
        from frostkit.show.machine.parts import text

        echo(text(answer.to_dict()))
        return
    from frostkit.show.tables.triage import triage_text

    echo(triage_text(answer))
    if context.get_parameter_source("bean") is not TYPED:
        echo("\nThe bean's stage was not given: vegetative was taken (choose with --bean).")
    if behind is not None:
        from frostkit.show.tables.terminal import behind_text

        echo("\n".join(behind_text(behind)))


def _in_record(behind, season, on):
    """The frosts of a fall until the season's end, and the one asked for."""
    from frostkit.answers.triage import frosts_in
    from frostkit.errors import RecordError
    from frostkit.seasons.calendar import SEASON_END, column, words

    end = column(*SEASON_END)
    found = [one for one in frosts_in(behind, season) if one.day is not None and one.day <= end]
    where, typed = season or behind.span[1], "Type it in: frostkit triage --at -2 --hours 3"
    if not found:
        raise RecordError(f"The record has no fall frost in {where} until {words(end)}.", typed)
    chosen = found[0] if on is None else next((one for one in found if one.day == on), None)
    if chosen is None:
        days = ", ".join(words(one.day) for one in found[:4] if one.day is not None)
        raise RecordError(f"The record has no frost on {words(on)} {where}; its frosts: {days}.", typed)
    return found, chosen
