"""Answers as people read them in a terminal: the answer, the count that carries it, the odds, what it can't say."""

from collections.abc import Iterable
from math import isfinite
from textwrap import wrap

import numpy as np

from frostkit.answers.cautions import Caution
from frostkit.answers.frosts import FrostAnswer
from frostkit.answers.holdings import Holdings
from frostkit.answers.seeding import RATING_STEP, SeedingAnswer
from frostkit.answers.station import Behind
from frostkit.answers.warmth import HeatAnswer
from frostkit.odds.estimate import Odds
from frostkit.seasons.calendar import words
from frostkit.show import phrases
from frostkit.show.texts import texts

WIDTH = 100
SAY = texts("en")  # the terminal speaks English


def filled(text: str, first: str = "", then: str = "  ") -> list[str]:
    """A sentence as lines of the terminal's width."""
    return wrap(text, WIDTH, initial_indent=first, subsequent_indent=then)


def cautions_text(cautions: Iterable[Caution]) -> list[str]:
    """Cautions as indented lines, each with its source."""
    lines = []
    for caution in cautions:
        source = "" if caution.source.startswith("common practice") else f" [{caution.source}]"
        lines += filled(f"{caution.title}: {caution.text}{source}", "  ! ", "    ")
    return lines


def behind_text(behind: Behind) -> list[str]:
    """The record's sentence and source, and that a place is invented where it is."""
    lines = (phrases.record_line(SAY, behind), phrases.source_line(SAY, behind))
    return [part for line in lines if line for part in filled(line)]


def window_text(answer: SeedingAnswer, one_day: int | None = None) -> str:
    """The seeding window in words, with the odds of every few seeding days."""
    title, under = phrases.headline(SAY, answer)
    lines = [f"{title}.", f"  {under}."]
    share = answer.odds[answer.subject]
    if answer.best is not None:
        top = answer.best.first - int(answer.days[0])
        count, interval = phrases.count(SAY, share, top), phrases.percent(SAY, share, top)
        lines.append("  " + SAY("window.best", span=phrases.span(SAY, answer.best), count=count, interval=interval))
    if ends := phrases.ends(SAY, answer):
        lines += filled(ends, "  ", "    ")
    if answer.subject == "both" and answer.after:
        lines.append("  " + SAY("window.shifted", days=f"{answer.after:+d}"))
    if blur := phrases.blur(SAY, answer, RATING_STEP):
        lines += filled(blur, "  ", "    ")
    if gaps := int(answer.gaps().sum()):
        lines.append("  " + SAY("window.gaps", count=gaps, total=answer.seasons.size))
    if one_day is not None:
        lines += ["", *_one_day(answer, one_day)]
    lines += ["", *_odds_table(answer), ""]
    lines += behind_text(answer.behind)
    for kind, crop in (("Corn", answer.corn), ("Legume", answer.legume)):
        if crop is not None:
            lines += filled(f"{kind}: {phrases.crop_line(SAY, crop)}")
    lines.append(f"Heat and frost count to {words(answer.season_end)}. Intervals are 90 %.")
    lines += filled(SAY("window.unknown", what="; ".join(SAY(f"unknowns.{key}") for key in answer.does_not_know())))
    lines += ["Cautions", *cautions_text(answer.cautions)]
    return "\n".join(lines)


def _one_day(answer: SeedingAnswer, day: int) -> list[str]:
    answer.at(day)
    index = int(day - answer.days[0])
    lines = [f"Seeding on {words(day)}:"]
    for name, share in answer.odds.items():
        unknown = f", {int(share.not_known[index])} not known" if share.not_known[index] else ""
        lines.append(
            f"  {name:8}{phrases.count(SAY, share, index):>10} seasons ({phrases.percent(SAY, share, index)}){unknown}"
        )
    return lines


def _odds_table(answer: SeedingAnswer, every: int = 5) -> list[str]:
    """A row for every fifth seeding day, and for the ends of the window."""
    days = {int(day) for day in answer.days[::every]} | {int(answer.days[-1])}
    if answer.window is not None:
        days |= set(answer.window)
    names = list(answer.odds)
    lines = [f"  {'seeding':10}" + "".join(f"{name:>13}" for name in names) + f"   {'90 % interval':>14}  not known"]
    subject = answer.odds[answer.subject]
    for day in sorted(days):
        index = day - int(answer.days[0])
        inside = answer.window is not None and answer.window.first <= day <= answer.window.last
        row = f"{'* ' if inside else '  '}{words(day):10}"
        row += "".join(f"{phrases.count(SAY, answer.odds[name], index):>13}" for name in names)
        unknown = str(int(subject.not_known[index]) or "")
        lines.append(f"{row}   {phrases.percent(SAY, subject, index):>14}  {unknown:>9}".rstrip())
    if answer.window is not None:
        lines.append("  * in the window")
    return lines


def dates_words(first: float, last: float, absent: str) -> str:
    """One season's date: a day, "between ... and ...", open where it may not have come, or what absence means."""
    if first == last:
        return words(first) if isfinite(first) else absent
    if not isfinite(last):
        return f"{words(first)} or later, perhaps never"
    if not isfinite(first):
        return f"{words(last)} or earlier, perhaps none"
    return f"{words(first)} to {words(last)}"


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


def heat_text(answer: HeatAnswer) -> str:
    """Heat gathered, season by season, with the spread."""
    known = answer.least == answer.most
    lines = [f"Heat from {words(answer.first)} to {words(answer.last)}, {answer.clock.unit}"]
    if known.any():
        low, middle, high = np.quantile(answer.least[known], [0.1, 0.5, 0.9], method="median_unbiased")
        lines.append(
            f"  Half of {known.sum()} seasons without a missing day have {middle:,.0f} or more; "
            f"8 in 10 lie between {low:,.0f} and {high:,.0f}."
        )
    lines.append("")
    for season, least, most, missing in zip(
        answer.behind.cube.seasons, answer.least, answer.most, answer.missing, strict=True
    ):
        total = f"{least:,.1f}" if least == most else f"{least:,.1f} to {most:,.1f}"
        lines.append(f"  {season}  {total:>22}" + (f"   {missing} missing days" if missing else ""))
    lines += ["", *behind_text(answer.behind)]
    return "\n".join(lines)


def holdings_text(answer: Holdings, each: bool = False) -> str:
    """What a record holds, in words."""
    behind = answer.behind
    station = behind.station
    lines = [
        f"{phrases.station_name(SAY, behind)}"
        + (f" ({station.id})" if station.id and station.id != station.name else "")
    ]
    if isfinite(station.latitude):
        lines.append(
            f"  {station.latitude:.3f} °N, {station.longitude:.3f} °E"
            + (f", {station.elevation:.0f} m" if isfinite(station.elevation) else "")
        )
    first, last = behind.span
    lines.append(
        f"  {first}-{last}: {int(behind.complete.sum())} of {behind.complete.size} seasons complete from "
        f"{words(answer.first)} to {words(answer.last)}."
    )
    days = (answer.last - answer.first + 1) * behind.complete.size
    lines.append(
        f"  Missing in that time of year: minimum {100 * answer.missing_tmin.sum() / days:.1f} %, maximum "
        f"{100 * answer.missing_tmax.sum() / days:.1f} % of days."
    )
    lines.append("  Complete: no run of more than 3 days without heat, and no missing day that could have been 0 °C.")
    lines += [f"  Repaired on the way in: {repair}" for repair in behind.repairs]
    if each or not behind.complete.all():
        lines += ["", f"  {'season':8}{'no minimum':>12}{'no maximum':>12}{'longest run':>13}  complete"]
        for index, season in enumerate(behind.cube.seasons):
            if each or not behind.complete[index]:
                lines.append(
                    f"  {season:<8}{answer.missing_tmin[index]:>12}{answer.missing_tmax[index]:>12}"
                    f"{answer.longest[index]:>13}  {'yes' if behind.complete[index] else 'no'}"
                )
    return "\n".join([*lines, "", *behind_text(behind)])
