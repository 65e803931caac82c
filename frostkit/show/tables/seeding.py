"""The seeding window in the terminal."""

from collections.abc import Sequence

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
