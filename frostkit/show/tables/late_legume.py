"""The late legume in the terminal: every way to sow it, what it makes by the chop, and what stands against it."""

from frostkit.answers.late_legume import Bean, LateLegumeAnswer, Sown
from frostkit.answers.spread import Spread, commonest, only_day, spread
from frostkit.odds.estimate import Share
from frostkit.seasons.calendar import words
from frostkit.show import phrases
from frostkit.show.tables.terminal import SAY, behind_text, cautions_text, filled


def late_legume_text(answer: LateLegumeAnswer) -> str:
    """What is still worth sowing, bean by bean."""
    lines = []
    for bean in answer.beans:
        lines += [*_bean(bean, answer), ""]
    if len(answer.beans) > 1:
        lines += [*_side_by_side(answer), ""]
    chop = spread(only_day(answer.corn_days.chop), answer.behind.complete)
    lines += filled(f"Corn: {phrases.crop_line(SAY, answer.corn)} Seeded {words(answer.seeding_day)}, chopped "
                    f"{phrases.date_span(SAY, chop)} (half by {words(chop.middle)}).")  # fmt: skip
    lines += behind_text(answer.behind)
    lines += filled("Options: " + "; ".join(answer.options) + ". Intervals are 90 %.")
    lines += filled("Does not know: " + "; ".join(answer.does_not_know()) + ".")
    return "\n".join([*lines, "Cautions", *cautions_text(answer.cautions)])


def amount(of: Spread) -> str:
    """The middle 8 in 10 of an amount: "412 to 655"; "-" where there is none."""
    return phrases.amount_span(SAY, of) or "-"


def _odds(share: Share) -> str:
    row = phrases.row(share)
    return f"{phrases.count(SAY, row, 0)} ({phrases.percent(SAY, row, 0)})"


def _bean(bean: Bean, answer: LateLegumeAnswer) -> list[str]:
    whole = answer.behind.complete
    title = phrases.capital(bean.crop.title)
    wanted = f"{answer.odds_wanted * 10:g} in 10"
    run = phrases.sowing_run(bean, answer.odds_wanted)
    head = f"no sowing day reaches {wanted}" if run is None else f"sow it {phrases.span(SAY, run)} for {wanted}"
    lines = [
        f"{title}: too few complete seasons to say when to sow it."
        if phrases.too_few(bean)
        else f"{title}: {head} within the corn.",
        f"  It works when it makes {phrases.growth(SAY, bean)} by the chop.",
    ]
    if run is not None and run.last == bean.days[-1]:
        lines.append("  " + phrases.capital(SAY("window.edge_last", day=words(run.last))) + ".")
    lines.append("")
    lines.append(
        f"  {'sown':26}{'sowing day':>20}{'up, half':>12}  {'worked, within corn':26}{'in the open':26}lost, won"
    )
    for sown in bean.sown:
        up = words(spread(sown.emergence, whole).middle)
        against = "" if sown.name == "with the corn" else f"{sown.instead[1]}, {sown.instead[2]}"
        when = phrases.date_span(SAY, spread(sown.sown, whole))
        row = f"  {sown.name[:25]:26}{when:>20}{up:>12}  {_odds(sown.odds):26}{_odds(sown.alone):26}{against}"
        lines.append(row.rstrip())
    lines.append("  lost, won: seasons that sowing with the corn would have gained, and that this way gains over it")
    lines += ["", f"  {'at the chop':32}{'days vegetative':>18}{'degree days':>16}  stage in most seasons"]
    for sown in bean.sown:
        lines.append(_at_chop(sown, answer))
    return lines


def _at_chop(sown: Sown, answer: LateLegumeAnswer) -> str:
    whole = answer.behind.complete
    vegetative = "-" if sown.vegetative is None else amount(spread(sown.vegetative, whole))
    stage, count, total = commonest(sown.stage_at_chop, whole)
    return (f"  {sown.name[:31]:32}{vegetative:>18}{amount(spread(sown.heat_at_chop, whole)):>16}  "
            f"{stage} ({count} of {total})")  # fmt: skip


def _side_by_side(answer: LateLegumeAnswer) -> list[str]:
    """Beans of several maturities, sown the first way: which is still vegetative at the chop, which ripens."""
    lines = [f"Side by side, sown {answer.beans[0].sown[0].name}:",
             f"  {'bean':34}{'first flower':>24}  {'vegetative at the chop':24}ripens in the open"]  # fmt: skip
    for bean in answer.beans:
        sown = bean.sown[0]
        flower = "not told"
        if sown.flower is not None:
            flower = phrases.date_span(SAY, spread(sown.flower, answer.behind.complete))
        still = "not told" if sown.vegetative_at_chop is None else _odds(sown.vegetative_at_chop)
        ripe = "not told" if sown.ripens is None else _odds(sown.ripens)
        lines.append(f"  {bean.crop.title[:33]:34}{flower:>24}  {still:24}{ripe}".rstrip())
    return lines
