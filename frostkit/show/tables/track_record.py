"""How far the odds were off in the past, in the terminal."""

import numpy as np

from frostkit.answers.track_record import TrackRecord
from frostkit.show.tables.terminal import behind_text, filled


def track_record_text(answer: TrackRecord) -> str:
    """The one line, the odds given against what happened, and every estimator beside the one used."""
    lines = filled(answer.summary())
    lines += filled(answer.against_fixed(), "  ", "    ")
    lines += filled(answer.moves(), "  ", "    ")
    lines += ["", f"  {'odds given':>12}{'happened':>12}{'perfect odds, 90 %':>22}{'forecasts':>12}{'seasons':>10}"]
    table = answer.table
    for given, happened, low, high, number, years in zip(*table[:6], strict=True):
        if number:
            band = f"{100 * low:.0f} to {100 * high:.0f} %"
            mark = "" if low <= happened <= high else "  outside"
            lines.append(f"  {_percent(given):>12}{_percent(happened):>12}{band:>22}{number:>12}{years:>10}{mark}")
    lines += ["", f"  {'estimator':44}{'Brier':>8}{'skill':>8}{'mean gap':>10}{'8 in 10 held':>14}"]
    ranked = sorted(answer.verdicts, key=lambda one: one.brier.value)
    for one in ranked:
        used = "*" if one is answer.verdict else " "
        row = f"{used} {one.way.words():44}{one.brier.value:>8.4f}{one.skill:>8.3f}"
        lines.append(f"{row}{100 * one.gap:>8.1f} %{100 * one.spread80:>12.0f} %")
    lines += ["  * the one used. Brier score: 0 is best. Skill: against a normal of the first seasons, 0 is no better."]
    held = "8 in 10 held: how often the event fell between the days given for 1 in 10 and 9 in 10; 80 % is right."
    lines += filled(f"{held} A few dozen seasons can't tell estimators apart that differ by a point.", "  ")
    return "\n".join([*lines, "", *behind_text(answer.behind)])


def _percent(share: float) -> str:
    return "-" if np.isnan(share) else f"{100 * share:.0f} %"
