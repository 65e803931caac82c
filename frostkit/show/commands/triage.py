"""`frostkit triage`: it froze; what did it do, and what now?"""

import click

from frostkit.show.commands.crop_options import STORE
from frostkit.show.commands.options import DAY, RECORD_ONLY, open_site
from frostkit.show.commands.question import question

TYPED = click.core.ParameterSource.COMMANDLINE


def _site(typed):
    """The record to look for a frost in; none where the frost itself is typed."""
    if typed["at"] is None:
        return open_site(typed)
    context = click.get_current_context()
    for name, key in (("RECORD", "record"), ("--season", "season"), ("--on", "on")):
        if context.get_parameter_source(key) is TYPED and typed[key] is not None:
            raise click.UsageError(f"{name} looks for a frost in a record, and --at types one in: give one of them.")
    for name in RECORD_ONLY:
        typed.pop(name, None)
    typed["season"] = typed["on"] = None
    return None


command = question(
    "triage",
    "What a frost does to corn and bean at this stage: certain, possible, not expected, source by source.",
    (
        click.option("--at", metavar="T", help="Lowest temperature in the screen: -2, 28F; else the record's."),
        click.option("--hours", type=float, help="Hours at or below it, where a logger tells."),
        click.option("--stage", default="dent", show_default=True, help="The corn's stage, such as before_v6 or dent."),
        click.option("--bean", help="The bean's stage: crook, VC, V1, vegetative, R5 to R8, or 'none'."),
        click.option("--low-spot", is_flag=True, help="Judge the field as a hollow."),
        click.option("--moisture", type=float, help="Whole-plant moisture that was measured, %."),
        STORE,
        click.option("--season", type=int, help="Season of the record to look for frosts in; the last where left out."),
        click.option("--on", type=DAY, help="The frost of this day of the record; the first of that fall if left out."),
    ),
    (
        "frostkit triage --at -2 --hours 3 --stage dent --bean vegetative",
        "frostkit triage --at 28F --stage milk --moisture 76 --store bunker",
        "frostkit triage --at -3 --stage before_v6 --bean VC",
        "frostkit triage station.dly --stage dent --season 2014 --on 09-12",
    ),
    opened=_site,
)
