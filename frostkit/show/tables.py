"""Answers as people read them in a terminal: the answer, the count that carries it, the odds, what it can't say."""

from collections.abc import Iterable
from math import isfinite
from textwrap import wrap

import numpy as np

from frostkit.answers.cautions import Caution
from frostkit.answers.frosts import FrostAnswer
from frostkit.answers.holdings import Holdings
from frostkit.answers.seeding import COLD_SOIL, FALL_FROST, SPRING_FROST, Bound, Run, SeedingAnswer
from frostkit.answers.station import Behind
from frostkit.answers.warmth import HeatAnswer
from frostkit.crops.entry import Crop
from frostkit.crops.mixes import SOWING
from frostkit.odds.estimate import Share
from frostkit.seasons.calendar import words
from frostkit.seasons.interval import SeasonDates

WIDTH = 100
NAMES = {"corn": "corn", "legume": "the legume", "both": "corn and legume"}
UNIT_WORDS = {"degree days C": "degree days °C", "degree days F": "degree days °F"}
COLUMNS = {"corn": "corn", "legume": "legume", "both": "both"}


def percent(share: Share, index: int) -> str:
    """An interval as "66 to 90 %"."""
    return f"{100 * share.low[index]:.0f} to {100 * share.high[index]:.0f} %"


def count(share: Share, index: int) -> str:
    """ "27 of 30": seasons that worked out of complete ones; with too few complete, bounds out of all."""
    complete = int(np.broadcast_to(share.complete, np.shape(share.yes))[index])
    if isfinite(share.share[index]):
        return f"{int(share.complete_yes[index])} of {complete}"
    total = int(share.yes[index] + share.no[index] + share.not_known[index])
    return f"{int(share.yes[index])} to {int(share.yes[index] + share.not_known[index])} of {total}"


def span(run: Run) -> str:
    """ "9 May to 27 May", or "on 9 May" for a single day."""
    return f"on {words(run.first)}" if run.first == run.last else f"from {words(run.first)} to {words(run.last)}"


def bound_words(bound: Bound, answer: SeedingAnswer) -> str:
    """What stands on one side of a window, as a clause."""
    whose = NAMES[bound.whose] if bound.whose else ""
    many = bound.whose == "both"
    if bound.reason == COLD_SOIL:
        return "the soil is too cold" + ("" if answer.subject != "both" or many else f" for {whose}")
    if bound.reason == SPRING_FROST:
        return f"spring frost kills {whose}"
    goals = {"corn": "not ripe for its goal", "legume": "short of its goal", "both": "short of their goals"}
    goal = goals[bound.whose or "both"]
    if bound.whose == "corn" and answer.corn is not None and "silage" in answer.corn.name:
        goal = "not fit to chop"
    verb = "are" if many else "is"
    if bound.reason == FALL_FROST:
        return f"{whose} {verb} {goal} before a killing frost"
    return f"{whose} {verb} {goal} by {words(answer.season_end)}"


def crop_words(crop: Crop) -> str:
    """A crop, what its goal needs and what kills it, in a sentence."""
    goal = crop.stage[crop.goal]
    unit = UNIT_WORDS.get(goal.need.unit, goal.need.unit)
    since = "sowing" if goal.since == SOWING else crop.stage[goal.since].title
    words = f"{crop.title}; {goal.title}: {goal.need.value:,g} {unit} from {since}"
    kills = [(stage.title, stage.kills.value) for stage in crop.stage.values() if stage.kills is not None]
    if kills:
        words += "; killed at " + ", ".join(f"{value:g} °C from {title} on" for title, value in kills)
    return words + "."


def cautions_text(cautions: Iterable[Caution]) -> list[str]:
    """Cautions as indented lines, each with its source."""
    lines = []
    for caution in cautions:
        source = "" if caution.source.startswith("common practice") else f" [{caution.source}]"
        lines += wrap(
            f"{caution.title}: {caution.text}{source}", WIDTH, initial_indent="  ! ", subsequent_indent="    "
        )
    return lines


def behind_text(behind: Behind) -> list[str]:
    """The record's sentence and source, and that a place is invented where it is."""
    lines = [behind.words()]
    if behind.sources():
        lines.append(behind.sources())
    return lines


def window_text(answer: SeedingAnswer, one_day: int | None = None) -> str:
    """The seeding window in words, with the odds of every few seeding days."""
    crops = NAMES[answer.subject]
    together = " together" if answer.subject == "both" else ""
    share = answer.odds[answer.subject]
    first = int(answer.days[0])
    lines = []
    wanted = f"{answer.odds_wanted * 10:g} in 10"
    if answer.window is None:
        lines.append(f"No seeding day reaches {wanted} for {crops}{together} on this record.")
        if np.isfinite(share.share).any():
            best = int(np.nanargmax(share.share))
            lines.append(
                f"  The best is {words(answer.days[best])}: {count(share, best)} seasons ({percent(share, best)})."
            )
        else:
            lines.append(
                f"  It has {int(np.max(share.complete))} complete seasons; below 10 there are bounds, and no odds."
            )
    else:
        lines.append(f"Seed {crops}{together} {span(answer.window)}.")
        inside = np.arange(answer.window.first - first, answer.window.last - first + 1)
        low = inside[int(np.argmin(share.complete_yes[inside]))]
        plural = "" if answer.subject != "both" else "both "
        lines.append(
            f"  On every day of that window {plural}worked in at least {count(share, low)} seasons "
            f"({percent(share, low)})."
        )
        top = answer.best.first - first
        lines.append(
            f"  Best: {span(answer.best).removeprefix('from ').removeprefix('on ')}, {count(share, top)} "
            f"({percent(share, top)})."
        )
        ends = []
        if answer.before.reason:
            ends.append(f"before {words(answer.window.first)} {bound_words(answer.before, answer)}")
        if answer.window.last == answer.not_after:
            ends.append(f"{words(answer.window.last)} is your own last day")
        elif answer.after_window.reason:
            ends.append(f"after {words(answer.window.last)} {bound_words(answer.after_window, answer)}")
        if ends:
            lines.append("  What ends it: " + "; ".join(ends) + ".")
    if answer.subject == "both" and answer.after:
        when = (
            f"{abs(answer.after)} day{'s' if abs(answer.after) > 1 else ''} {'after' if answer.after > 0 else 'before'}"
        )
        lines.append(f"  The legume goes in {when} the corn; each row is listed by the corn's day.")
    if answer.blur is not None:
        said = [
            f"{'less' if i == 0 else 'more'}: {span(run) if run else 'no window'}" for i, run in enumerate(answer.blur)
        ]
        lines.append(f"  Should the corn need 100 heat units {said[0]}; 100 {said[1]}.")
    gaps = int(answer.gaps().sum())
    if gaps:
        lines.append(f"  In {gaps} of {answer.seasons.size} seasons days that did not work lie between days that did.")
    if one_day is not None:
        lines += ["", *_one_day(answer, one_day)]
    lines += ["", *_odds_table(answer), ""]
    lines += behind_text(answer.behind)
    if answer.corn:
        lines.append(f"Corn: {crop_words(answer.corn)}")
    if answer.legume:
        lines.append(f"Legume: {crop_words(answer.legume)}")
    lines.append(f"Heat and frost count to {words(answer.season_end)}. Intervals are 90 %.")
    lines += wrap("Does not know: " + "; ".join(answer.does_not_know()) + ".", WIDTH)
    lines += ["Cautions", *cautions_text(answer.cautions)]
    return "\n".join(lines)


def _one_day(answer: SeedingAnswer, day: int) -> list[str]:
    answer.at(day)
    index = int(day - answer.days[0])
    lines = [f"Seeding on {words(day)}:"]
    for name, share in answer.odds.items():
        lines.append(
            f"  {COLUMNS[name]:8}{count(share, index):>10} seasons ({percent(share, index)})"
            + (f", {int(share.not_known[index])} not known" if share.not_known[index] else "")
        )
    return lines


def _odds_table(answer: SeedingAnswer, every: int = 5) -> list[str]:
    """A row for every fifth seeding day, and for the ends of the window."""
    shown = {int(day) for day in answer.days[::every]} | {int(answer.days[-1])}
    if answer.window is not None:
        shown |= {answer.window.first, answer.window.last}
    names = list(answer.odds)
    head = (
        f"  {'seeding':10}" + "".join(f"{COLUMNS[name]:>13}" for name in names) + f"   {'90 % interval':>14}  not known"
    )
    lines = [head]
    subject = answer.odds[answer.subject]
    for day in sorted(shown):
        index = day - int(answer.days[0])
        inside = answer.window is not None and answer.window.first <= day <= answer.window.last
        row = f"{'* ' if inside else '  '}{words(day):10}"
        row += "".join(f"{count(answer.odds[name], index):>13}" for name in names)
        lines.append(f"{row}   {percent(subject, index):>14}  {int(subject.not_known[index]) or '':>9}".rstrip())
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
    for title, dates, odds, late in (
        ("Last spring frost", answer.spring, answer.spring_odds, True),
        ("First fall frost", answer.fall, answer.fall_odds, False),
    ):
        lines.append(f"  {title}:")
        for level, phrase in ((0.1, "1 season in 10"), (0.5, "half the seasons"), (0.9, "9 seasons in 10")):
            lines.append("    " + _by(odds, dates, level, phrase, late))
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


def _by(odds, dates: SeasonDates, level: float, phrase: str, late: bool) -> str:
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
    lines = [f"{behind.name()}" + (f" ({station.id})" if station.id and station.id != station.name else "")]
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
