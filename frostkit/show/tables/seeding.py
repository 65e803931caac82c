"""The seeding window in the terminal."""

from collections.abc import Sequence

import numpy as np

from frostkit.answers.around import Around
from frostkit.answers.pays import YEARS, PaysAnswer
from frostkit.answers.seeding import RATING_STEP, SeedingAnswer
from frostkit.seasons.calendar import words
from frostkit.show import phrases
from frostkit.show.tables.terminal import SAY, behind_text, cautions_text, filled


def window_text(answer: SeedingAnswer, one_day: int | None = None, more: Sequence[str] = ()) -> str:
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
    if late := phrases.late_planting(SAY, answer):
        lines += filled(late, "  ", "    ")
    if newest := phrases.newest(SAY, answer):
        lines.append(f"  {newest}")
    if gaps := int(answer.gaps().sum()):
        lines.append("  " + SAY("window.gaps", count=gaps, total=answer.seasons.size))
    for line in more:
        lines += filled(line, "  ", "    ")
    if one_day is not None:
        lines += ["", *_one_day(answer, one_day)]
    lines += ["", *_odds_table(answer), ""]
    lines += behind_text(answer.behind)
    for kind, crop in (("Corn", answer.corn), ("Legume", answer.legume)):
        if crop is not None:
            lines += filled(f"{kind}: {phrases.crop_line(SAY, crop)}")
    if answer.subject == "both":
        lines += filled(SAY("window.together" if answer.chopped else "window.apart"))
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


def pays_lines(answer: PaysAnswer) -> list[str]:
    """The day that pays best over the years, as sentences."""
    first, last = answer.between
    span = (
        f"on {words(answer.best)}" if first == last else f"about {words(answer.best)} ({words(first)} to {words(last)})"
    )
    risk, low, high = (f"{100 * part:.0f}" for part in answer.fails)
    ends = f"{answer.low:,.0f} to {answer.high:,.0f}"
    works = f"{answer.worth:,.0f} where it works on {words(answer.days[0])}, {answer.per_day:g} less each day later"
    return [
        f"Seeding pays best {span}: {answer.mean:,.0f} a season over the years ({ends}), with {works} and "
        f"{answer.loss:,.0f} lost where it fails.",
        f"On that day it fails at least once in {YEARS} seasons with odds of {risk} % ({low} to {high} %).",
    ]


def around_lines(answer: Around) -> list[str]:
    """The seeding odds of stations around a field taken together, as sentences."""
    names = ", ".join(f"{phrases.station_name(SAY, one.behind)} ({100 * part:.0f} %)"
                      for one, part in zip(answer.answers, answer.weight, strict=True))  # fmt: skip
    how = (
        "by distance and height to the field"
        if answer.by_nearness
        else "the same for each: their distances are not known"
    )
    found = "no day reaches the odds wanted" if answer.window is None else f"seed {phrases.span(SAY, answer.window)}"
    lines = [f"{len(answer.answers)} stations together: {found}. They count {names}, {how}."]
    if answer.window is not None:
        inside = np.arange(answer.window.first, answer.window.last + 1) - int(answer.days[0])
        low = inside[int(np.argmin(answer.pooled.share[inside]))]
        ends = f"{100 * answer.pooled.low[low]:.0f} to {100 * answer.pooled.high[low]:.0f} %"
        lines.append(
            f"Odds there at least {100 * answer.pooled.share[low]:.0f} % ({ends}, wider where stations disagree)."
        )
    return lines
