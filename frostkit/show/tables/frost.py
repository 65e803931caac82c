"""Frost dates in the terminal."""

from math import isfinite

import numpy as np

from frostkit.answers.frosts import FrostAnswer
from frostkit.odds.estimate import Odds
from frostkit.seasons.calendar import words
from frostkit.show.tables.terminal import behind_text, cautions_text, dates_words


def frost_text(answer: FrostAnswer, each: bool = False) -> str:
    """Frost dates at odds, and with `each` season by season."""
    at = f"{answer.threshold:g} °C"
    total = answer.behind.complete.size
    lines = [f"Frost at or below {at}"]
    for title, odds, late in (
        ("Last spring frost", answer.spring_odds, True),
        ("First fall frost", answer.fall_odds, False),
    ):
        lines.append(f"  {title}:")
        for level, phrase in ((0.1, "1 season in 10"), (0.5, "half the seasons"), (0.9, "9 seasons in 10")):
            lines.append("    " + _by(odds, level, phrase, late))
    known = answer.between.known() & np.isfinite(answer.between.first)
    if known.any():
        free = np.sort(answer.between.first[known])
        lines.append(
            f"  Frost-free days between the two: {free[0]:.0f} to {free[-1]:.0f}, median {np.median(free):.0f} "
            f"({known.sum()} of {total} seasons known)."
        )
    lines.append(f"  Estimator: {answer.fall_odds.estimator}; intervals are 90 %.")
    if each:
        lines += ["", f"  {'season':8}{'last spring frost':36}{'first fall frost':36}frost-free days"]
        for index, season in enumerate(answer.behind.cube.seasons):
            spring, fall = (
                dates_words(dates.first[index], dates.last[index], absent)
                for dates, absent in ((answer.spring, "none"), (answer.fall, "none"))
            )
            least, most = answer.between.first[index], answer.between.last[index]
            days = (
                f"{least:.0f}"
                if least == most
                else f"{least:.0f} or more"
                if not isfinite(most)
                else f"{least:.0f} to {most:.0f}"
            )
            lines.append(f"  {season:<8}{spring:36}{fall:36}{days if isfinite(least) else 'no frost'}")
    lines += ["", *behind_text(answer.behind)]
    lines += cautions_text(answer.cautions)
    return "\n".join(lines)


def _by(odds: Odds, level: float, phrase: str, late: bool) -> str:
    """ "In 9 seasons in 10 it was over by 28 May (...)" from the odds by day."""
    reached = np.flatnonzero(odds.share >= level - 1e-12)
    if not np.isfinite(odds.share).any():
        return f"in {phrase}: not known, too few complete seasons"
    verb = "over by" if late else "there by"
    if not reached.size:
        return f"in {phrase}: does not come to that; it came in fewer seasons"
    index = int(reached[0])
    total = int(odds.yes[index] + odds.no[index] + odds.not_known[index])
    unknown = f", {int(odds.not_known[index])} not known" if odds.not_known[index] else ""
    return (
        f"in {phrase} it was {verb} {words(odds.day[index])} "
        f"({int(odds.yes[index])} of {total}{unknown}; {100 * odds.low[index]:.0f} to {100 * odds.high[index]:.0f} %)"
    )
