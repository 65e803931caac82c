"""When it is fit to chop, and the order of fields, in the terminal."""

from math import isfinite

from frostkit.answers.chopping import ChoppingAnswer
from frostkit.answers.fields import FieldsAnswer
from frostkit.odds.estimate import FEWEST
from frostkit.seasons.calendar import words
from frostkit.show import phrases
from frostkit.show.tables.terminal import SAY, behind_text, cautions_text, filled

EVERY = 5  # a row for every so many days ahead


def chop_text(answer: ChoppingAnswer) -> str:
    """Where the field stands, when it is fit, and the odds of the coming days."""
    lines = _said(answer.says())
    store = answer.store
    lines += ["", f"  {'day':14}{'moisture':>10}{'too wet':>10}{'in range':>10}{'too dry':>10}{'killed by frost':>17}"]
    last = answer.fit_to.all[2]
    until = min(len(answer.days), int(last - answer.days[0]) + 2 * EVERY if last < 365 else len(answer.days))
    for index in range(0, until, EVERY):
        odds = (
            phrases.day_odds(SAY, answer.odds[name], index) for name in ("too_wet", "in_range", "too_dry", "killed")
        )
        wet, fit, dry, killed = odds
        moisture = f"{answer.moisture[index]:.0f} %" if isfinite(answer.moisture[index]) else "-"
        lines.append(f"  {words(answer.days[index]):14}{moisture:>10}{wet:>10}{fit:>10}{dry:>10}{killed:>17}")
    if not isfinite(answer.moisture[0]):
        lines += filled(SAY("sheet.few", fewest=FEWEST), "  ")
    lines += filled(f"In range: {store.low:g} to {store.high:g} % for the {store.says} [{store.source}].", "  ")
    lines += ["", "Check in the field", *(part for line in answer.check() for part in filled(line, "  - ", "    "))]
    if answer.next_stages:
        stages = "; ".join(f"{title} {words(day)}" for title, day in answer.next_stages)
        lines += filled(f"Stages to come, half the seasons by: {stages}.", "  ", "    ")
    if answer.weights:
        heaviest = sorted(answer.weights.items(), key=lambda item: -item[1])[:5]
        lines += filled("Seasons most like this one: " + ", ".join(f"{s} ({100 * w:.0f} %)" for s, w in heaviest) + ".")
    return _ended(lines, answer, answer.does_not_know())


def fields_text(answer: FieldsAnswer) -> str:
    """The order of fields, its calendar, and what other ways would keep."""
    lines = _said(answer.says())
    lines += ["", f"  {'field':16}{'ha':>7}{'t dry':>8}{'fit, half by':>16}{'start, half by':>16}{'in range':>10}"]
    for plan in answer.plan:
        row = f"  {plan.field.name[:15]:16}{plan.field.area:>7.1f}{plan.field.tonnes:>8.0f}"
        lines.append(f"{row}{words(plan.fit_from[1]):>16}{words(plan.start[1]):>16}{100 * plan.in_range:>8.0f} %")
    proof = "No order keeps more." if answer.proved else "Better than every order tried; not every order was tried."
    return _ended([*lines, f"  {proof}"], answer, answer.does_not_know())


def _said(sentences) -> list[str]:
    first, *rest = sentences
    return [*filled(first), *(part for line in rest for part in filled(line, "  ", "    "))]


def _ended(lines: list[str], answer: ChoppingAnswer | FieldsAnswer, unknown: tuple[str, ...]) -> str:
    lines += ["", "Cautions", *cautions_text(answer.cautions), "", *behind_text(answer.behind)]
    lines += filled("Does not know: " + "; ".join(unknown) + ".")
    return "\n".join(lines)
