"""Which hybrid and which bean, in the terminal."""

from frostkit.answers.choosing import Choice, ChoosingAnswer
from frostkit.odds.estimate import Share
from frostkit.seasons.calendar import words
from frostkit.show import phrases
from frostkit.show.tables.terminal import SAY, behind_text, cautions_text, filled


def choosing_text(answer: ChoosingAnswer) -> str:
    """Hybrids and beans ranked for one seeding day."""
    lines = [f"{_headline(answer)}."]
    lines += [f"  {_under(answer)}.", ""] if answer.corns else [""]
    if answer.corns:
        lines.append(f"  {'corn':34}{'grown for':11}{'seasons that make it':>30}")
        lines += [_row(one, f"{one.crop.title[:33]:34}{one.crop.use:11}", one.odds) for one in answer.corns]
        lines.append("")
    if answer.beans:
        where = f"within {answer.within.name}" if answer.within else ""
        lines.append(f"  {'legume':34}{'grown for':11}{where:>30}{'in the open':>26}")
        lines += [_bean(one, answer) for one in answer.beans]
        if answer.within:
            lines.append("  a forage bean counts within the corn, to its chop; a grain bean in the open")
        lines.append("")
    lines += [f"  * reaches {answer.odds_wanted * 10:g} seasons in 10", ""]
    if answer.corns and not any(answer.highest.values()):
        lines.append("Another day may do better: frostkit window --corn NAME shows each one's days.")
    lines += cold_lines(answer)
    if answer.left_out:
        lines += filled(f"Left out, for they go by day length and the latitude is not known: "
                        f"{', '.join(answer.left_out)}. Say --field-at LAT LON.")  # fmt: skip
    lines += behind_text(answer.behind)
    lines += filled(SAY("window.unknown", what=f"{SAY('unknowns.low_spots')}; {SAY('unknowns.soil')}"))
    return "\n".join([*lines, "Cautions", *cautions_text(answer.cautions)])


def cold_lines(answer: ChoosingAnswer) -> list[str]:
    """How often the seed would have lain in cold soil after sowing, and in cold soil with rain."""
    of = answer.start
    lines = []
    for index, (who, day) in enumerate((("corn", answer.seeding_day), ("legume", answer.seeding_day + answer.after))):
        if (who == "corn" and not answer.corns) or (who == "legume" and not (answer.beans and answer.after)):
            continue
        rain = "rain is not in this record"
        if of.rain is not None:
            rain = f"with {of.millimetres:g} mm of rain or more in {phrases.count(SAY, of.rain, index)}"
        whose = "seed" if not answer.after else f"{who}'s seed"
        count, interval = phrases.count(SAY, of.soil, index), phrases.percent(SAY, of.soil, index)
        lines += filled(f"Cold start: in {count} seasons ({interval}) the seedbed falls under {of.limit:g} °C in the "
                        f"{of.days} days from {words(day)} on, when the {whose} takes up water; {rain}.")  # fmt: skip
    return lines


def _headline(answer: ChoosingAnswer) -> str:
    day, wanted = words(answer.seeding_day), f"{answer.odds_wanted * 10:g} seasons in 10"
    if not answer.corns:
        best = answer.beans[0]
        return f"Seeded on {day}: {best.crop.title} has the best odds, {_odds(best.odds)}"
    uses = sorted(answer.highest.items(), reverse=True)  # silage, then grain
    said = [f"{use} corn up to {crop.rating.value:,.0f} CHU" for use, crop in uses
            if crop is not None and crop.rating is not None]  # fmt: skip
    if said:
        verb = "make" if len(said) > 1 else "makes"
        return f"Seeded on {day}: {' and '.join(said)} {verb} it in {wanted}"
    return f"Seeded on {day}: no hybrid makes it in {wanted}"


def _under(answer: ChoosingAnswer) -> str:
    highest = [crop for crop in answer.highest.values() if crop is not None]
    rows = [one for one in answer.corns if one.crop in highest] or list(answer.corns[:1])
    return "; ".join(f"{one.crop.name} {_odds(one.odds)}" for one in rows)


def _odds(share: Share) -> str:
    row = phrases.row(share)
    return f"{phrases.count(SAY, row, 0)} seasons ({phrases.percent(SAY, row, 0)})"


def _short(share: Share) -> str:
    row = phrases.row(share)
    return f"{phrases.count(SAY, row, 0)} ({phrases.percent(SAY, row, 0)})"


def _row(one: Choice, head: str, share: Share) -> str:
    return f"{'*' if one.reaches else ' '} {head}{_short(share):>30}"


def _bean(one: Choice, answer: ChoosingAnswer) -> str:
    inside = "" if one.crop.use == "grain" or not answer.within else _short(one.odds)
    alone = "" if one.alone is None else _short(one.alone)
    return f"{'*' if one.reaches else ' '} {one.crop.title[:33]:34}{one.crop.use:11}{inside:>30}{alone:>26}".rstrip()
