"""Frost dates in the terminal."""

from math import isfinite

import numpy as np

from frostkit.answers.frosts import FrostAnswer
from frostkit.odds.estimate import Odds
from frostkit.seasons.calendar import words
from frostkit.show.tables.terminal import behind_text, cautions_text, dates_words, filled

HOW = {
    "trend-shifted": ": for a season of today, from the newest 30 seasons moved along their drift; counts are of all "
    "seasons as they were (frostkit track-record tells which would have been right)"
}


def frost_text(answer: FrostAnswer, each: bool = False) -> str:
    """Frost dates at odds, and with `each` season by season."""
    at = f"{answer.threshold:g} °C"
    total = answer.behind.complete.size
    lines = [f"Frost at or below {at}"]
    for title, odds, verb in (
        ("Last spring frost", answer.spring_odds, "over by"),
        ("First fall frost", answer.fall_odds, "there by"),
    ):
        lines.append(f"  {title:26}{verb:16}{'90 % interval':18}counted over all seasons")
        for level, phrase in ((0.1, "1 season in 10"), (0.5, "half the seasons"), (0.9, "9 seasons in 10")):
            lines.append(f"    {phrase:24}{_by(odds, level)}")
    known = answer.between.known() & np.isfinite(answer.between.first)
    if known.any():
        free = np.sort(answer.between.first[known])
        lines.append(
            f"  Frost-free days between the two: {free[0]:.0f} to {free[-1]:.0f}, median {np.median(free):.0f} "
            f"({known.sum()} of {total} seasons known)."
        )
    lines += filled(f"Odds by {answer.fall_odds.estimator}{HOW.get(answer.fall_odds.estimator, '')}.", "  ", "    ")
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


def _by(odds: Odds, level: float) -> str:
    """The day by which the odds have reached a level, their interval there, and the plain count."""
    if not np.isfinite(odds.share).any():
        return "not known, too few complete seasons"
    reached = np.flatnonzero(odds.share >= level - 1e-12)
    if not reached.size:
        return "does not come to that: it came in fewer seasons"
    index = int(reached[0])
    total = int(odds.yes[index] + odds.no[index] + odds.not_known[index])
    unknown = f", {int(odds.not_known[index])} not known" if odds.not_known[index] else ""
    interval = f"{100 * odds.low[index]:.0f} to {100 * odds.high[index]:.0f} %"
    return f"{words(odds.day[index]):16}{interval:18}{int(odds.yes[index])} of {total}{unknown}"
