"""What notebooks show: an answer as sentences, pictures as SVG, tables, cautions; and controls that pictures follow."""

from collections.abc import Callable, Iterable, Mapping
from functools import lru_cache
from html import escape
from math import isfinite

import ipywidgets
import pandas as pd
from IPython.display import HTML
from matplotlib.figure import Figure

from frostkit.answers.cautions import Caution
from frostkit.answers.chopping import ChoppingAnswer, chopping
from frostkit.answers.late_legume import LateLegumeAnswer, late_legume
from frostkit.answers.seeding import SeedingAnswer, seeding
from frostkit.answers.spread import commonest, spread
from frostkit.answers.station import Behind
from frostkit.answers.stores import stores, wanted
from frostkit.answers.track_record import TrackRecord, track_record
from frostkit.answers.triage import Frost, TriageAnswer, stages, triage
from frostkit.crops.entry import listed, load
from frostkit.odds.hindcast import Way
from frostkit.seasons.calendar import code, from_code
from frostkit.show import phrases
from frostkit.show.commands.options import open_behind
from frostkit.show.look import svg
from frostkit.show.pictures.chop import chopping_days, until
from frostkit.show.pictures.late_legume import headline as late_headline
from frostkit.show.pictures.late_legume import season_strips
from frostkit.show.pictures.seeding import seeding_window
from frostkit.show.pictures.track_record import reliability_picture
from frostkit.show.tables.late_legume import amount
from frostkit.show.texts import texts

SAY = texts("en")
WHOLE_LABEL = {"description_width": "initial"}  # a label is shown whole


def place(record: str | None = None, input_units: str | None = None) -> Behind:
    """A record folded into seasons: a file, a folder or a kept station; the invented place where none is named."""
    return open_behind(record, input_units)


def picture(figure: Figure, alt: str = "") -> HTML:
    """A picture for the end of a cell."""
    return HTML(svg(figure, alt))


def sentences(lines: Iterable[str]) -> HTML:
    """The answer: the first line large, the rest below it."""
    first, *rest = lines
    below = "".join(f"<p style='margin:.2em 0'>{escape(line)}</p>" for line in rest if line)
    return HTML(f"<p style='font-size:1.35em;font-weight:600;margin:.2em 0'>{escape(first)}</p>{below}")


def window_sentences(answer: SeedingAnswer) -> HTML:
    """The seeding window in words."""
    title, under = phrases.headline(SAY, answer)
    return sentences([f"{title}.", f"{under}.", phrases.ends(SAY, answer), phrases.record_line(SAY, answer.behind)])


def window_table(answer: SeedingAnswer, every: int = 5) -> pd.DataFrame:
    """Odds by seeding day: seasons that worked out of complete ones, with the interval of the answer's subject."""
    subject = answer.odds[answer.subject]
    rows = range(0, answer.days.size, every)
    columns: dict[str, list] = {
        name: [phrases.count(SAY, share, row) for row in rows] for name, share in answer.odds.items()
    }
    columns["90 % interval"] = [phrases.percent(SAY, subject, row) for row in rows]
    columns["not known"] = [int(subject.not_known[row]) for row in rows]
    return pd.DataFrame(columns, index=pd.Index([SAY.day(answer.days[row]) for row in rows], name="seeding"))


def caution_list(cautions: Iterable[Caution]) -> HTML:
    """Cautions, each with its source."""
    rows = "".join(
        f"<li><b>{escape(caution.title)}.</b> {escape(caution.text)} <small>[{escape(caution.source)}]</small></li>"
        for caution in cautions
    )
    return HTML(f"<div style='border-left:4px solid #9c2f1f;padding:.2em 1em'><b>Cautions</b><ul>{rows}</ul></div>")


def followed(controls: Mapping[str, ipywidgets.Widget], draw: Callable[..., str]) -> ipywidgets.VBox:
    """Controls in a row, and below them what `draw` makes of their values: HTML that follows every change.

    controls : by the name of the argument of `draw` that each sets; what was drawn once is kept
    """
    shown = ipywidgets.HTML()
    kept = lru_cache(maxsize=64)(draw)

    def follow(_change: object = None) -> None:
        try:
            shown.value = kept(**{name: control.value for name, control in controls.items()})
        except ValueError as fault:  # two lines, as the commands say it
            shown.value = f"<pre style='color:#9c2f1f'>{escape(str(fault))}</pre>"

    for control in controls.values():
        control.observe(follow, names="value")
    follow()
    row = ipywidgets.HBox(list(controls.values()), layout=ipywidgets.Layout(flex_flow="row wrap"))
    return ipywidgets.VBox([row, shown])


def choice(label: str, options: Iterable[str], value: str) -> ipywidgets.Dropdown:
    """A drop-down list; a value that is not in it (a file of your own) is added."""
    names = list(options)
    return ipywidgets.Dropdown(description=label, options=names if value in names else [value, *names], value=value)


def slider(label: str, value: float, low: float, high: float, step: float) -> ipywidgets.Widget:
    """A slider for whole numbers or fractions, that follows while it is dragged."""
    kind = ipywidgets.IntSlider if isinstance(step, int) else ipywidgets.FloatSlider
    return kind(description=label, value=value, min=low, max=high, step=step, style=WHOLE_LABEL)


def days(label: str, value: str | None, first: str = "04-15", last: str = "07-15") -> ipywidgets.SelectionSlider:
    """A slider over days; "any" stands first where no day is set."""
    run = [code(day) for day in range(from_code(first), from_code(last) + 1)]
    options = [(SAY.short(from_code(day)), day) for day in run if day]
    options = [("any", ""), *options]
    return ipywidgets.SelectionSlider(description=label, options=options, value=value or "", style=WHOLE_LABEL)


def window_controls(at: Behind, corn: str = "silage-2300", legume: str = "forage-late", odds: float = 0.8,
                    after: int = 0, not_after: str | None = None) -> ipywidgets.VBox:  # fmt: skip
    """The seeding window with its controls: crops, days after the corn, odds wanted, your own last day."""
    names = listed()
    controls = {
        "corn": choice("corn", ["none", *(name for name in names if load(name).kind == "corn")], corn),
        "legume": choice("legume", ["none", *(name for name in names if load(name).kind == "legume")], legume),
        "after": slider("days after", after, -1, 14, 1),
        "odds": slider("odds wanted", odds, 0.5, 0.95, 0.05),
        "not_after": days("your last day", not_after),
    }

    def draw(corn: str, legume: str, after: int, odds: float, not_after: str) -> str:
        crops = [None if name == "none" else load(name) for name in (corn, legume)]
        last = from_code(not_after) if not_after else None
        answer = seeding(at, *crops, odds=round(odds, 2), after=after, not_after=last, with_blur=False)
        return svg(seeding_window(answer))

    return followed(controls, draw)


def crops_of(kind: str) -> list[str]:
    """Entries of the library of one kind, "corn" or "legume"."""
    return [name for name in listed() if load(name).kind == kind]


def late_sentences(answer: LateLegumeAnswer) -> HTML:
    """How late the legume can still go in, and what every way to sow it makes, in words."""
    title, _ = late_headline(answer, SAY)
    lines = [f"{title}."]
    for sown in answer.beans[0].sown:
        within, alone = phrases.row(sown.odds), phrases.row(sown.alone)
        count, interval = phrases.count(SAY, within, 0), phrases.percent(SAY, within, 0)
        line = f"Sown {sown.name}: enough by the chop in {count} seasons ({interval})"
        lines.append(f"{line}; in the open in {phrases.count(SAY, alone, 0)}.")
    growth = phrases.growth(SAY, answer.beans[0])
    return sentences([*lines, f"Enough is: {growth}.", phrases.record_line(SAY, answer.behind)])


def late_table(answer: LateLegumeAnswer) -> pd.DataFrame:
    """Every way to sow the first bean: sowing day, odds, what it makes by the chop; dates and amounts are 8 in 10."""
    whole, rows = answer.behind.complete, {}
    for sown in answer.beans[0].sown:
        within, alone = phrases.row(sown.odds), phrases.row(sown.alone)
        stage, count, total = commonest(sown.stage_at_chop, whole)
        rows[sown.name] = {
            "sowing day": phrases.date_span(SAY, spread(sown.sown, whole)),
            "up": phrases.date_span(SAY, spread(sown.emergence, whole)),
            "worked, within the corn": f"{phrases.count(SAY, within, 0)} ({phrases.percent(SAY, within, 0)})",
            "worked, in the open": f"{phrases.count(SAY, alone, 0)} ({phrases.percent(SAY, alone, 0)})",
            "days vegetative": "" if sown.vegetative is None else amount(spread(sown.vegetative, whole)),
            "degree days at the chop": amount(spread(sown.heat_at_chop, whole)),
            "stage at the chop": f"{stage} ({count} of {total})",
            "lost, won": f"{sown.instead[1]}, {sown.instead[2]}",
        }
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis("sown")


def late_controls(at: Behind, corn: str = "silage-2300", bean: str = "forage-late", seeding_day: str = "05-20",
                  growth: str | None = None, odds: float = 0.8) -> ipywidgets.VBox:  # fmt: skip
    """The legume with the corn, at its fifth leaf and on your own day, with the controls that it hangs on."""
    amounts = ["300 degree days", "500 degree days", "700 degree days", "60 days", "80 days", "100 days"]
    controls = {
        "corn": choice("corn", crops_of("corn"), corn),
        "bean": choice("legume", crops_of("legume"), bean),
        "seeded": days("corn seeded", seeding_day, "04-25", "06-20"),
        "own": days("sow it on", None, "05-01", "08-10"),
        "growth": choice("growth", ["its own goal", *amounts], growth or "its own goal"),
        "odds": slider("odds wanted", odds, 0.5, 0.95, 0.05),
    }

    def draw(corn: str, bean: str, seeded: str, own: str, growth: str, odds: float) -> str:
        ways: list[str | int] = [0, "v5", *([own] if own else [])]
        goal = None if growth == "its own goal" else growth
        answer = late_legume(at, load(corn), load(bean), from_code(seeded or "05-20"), when=ways, growth=goal,
                             odds=round(odds, 2))  # fmt: skip
        return svg(season_strips(answer))

    return followed(controls, draw)


def stand(at: Behind, today: str | None = None, day: str = "08-25") -> str:
    """The date to stand on: as given, else a day of the last complete season (of the last, where none is)."""
    if today is not None:
        return today
    whole = at.cube.seasons[at.complete]
    return f"{int(whole[-1] if whole.size else at.span[1])}-{day}"


def chop_sentences(answer: ChoppingAnswer) -> HTML:
    """When it is fit to chop, in words."""
    return sentences([*answer.says(), phrases.record_line(SAY, answer.behind)])


def chop_table(answer: ChoppingAnswer, every: int = 5) -> pd.DataFrame:
    """Odds of the days ahead and the moisture of 8 in 10, a row for every so many days."""
    rows = range(0, until(answer) - answer.today + 1, every)
    low, high = answer.moisture_band
    heads = {"too_wet": "too wet", "in_range": "in range", "too_dry": "too dry", "killed": "killed by frost"}
    columns: dict[str, list] = {
        "moisture": [SAY("say.percent", low=f"{low[row]:.0f}", high=f"{high[row]:.0f}") if isfinite(low[row]) else ""
                     for row in rows]
    }  # fmt: skip
    for name, head in heads.items():
        columns[head] = [phrases.day_odds(SAY, answer.odds[name], row) for row in rows]
    return pd.DataFrame(columns, index=pd.Index([SAY.day(answer.days[row]) for row in rows], name="day"))


def chop_controls(at: Behind, corn: str = "silage-2300", seeding_day: str = "05-22", today: str | None = None,
                  store: str = "bunker", moisture: float | None = None,
                  milk_line: float | None = None) -> ipywidgets.VBox:  # fmt: skip
    """Odds of the days ahead with the controls: the day you stand on, what was seen in the field, the store."""
    season, stands = stand(at, today).split("-", 1)
    silage = [name for name in crops_of("corn") if load(name).moisture is not None]
    taken, seen = moisture or 0.0, -1.0 if milk_line is None else milk_line
    percents = sorted({float(percent) for percent in range(50, 86)} | {taken} - {0.0}, reverse=True)
    shares = sorted({0, 0.2, 0.4, 0.5, 0.6, 0.8, 1} | {seen} - {-1.0})
    samples = [("none", 0.0), *((f"{percent:g} %", percent) for percent in percents)]
    lines = [("not seen", -1.0), *((f"{100 * share:.0f} %", float(share)) for share in shares)]
    controls = {
        "corn": choice("corn", silage, corn),
        "seeded": days("seeded", seeding_day, "04-25", "06-25"),
        "now": days("today", stands, "07-01", "10-30"),
        "store": choice("store", stores(), store),
        "sample": ipywidgets.SelectionSlider(description="moisture", options=samples, value=taken),
        "line": ipywidgets.SelectionSlider(description="milk line", options=lines, value=seen),
    }

    def draw(corn: str, seeded: str, now: str, store: str, sample: float, line: float) -> str:
        answer = chopping(at, load(corn), from_code(seeded or "05-22"), today=f"{season}-{now or stands}", store=store,
                          moisture=sample or None, milk_line=None if line < 0 else line)  # fmt: skip
        return svg(chopping_days(answer))

    return followed(controls, draw)


def triage_block(answer: TriageAnswer) -> str:
    """What a frost did, as HTML: the sentence, then line by line."""
    rows = "".join(f"<p style='margin:.2em 0'>{escape(line)}</p>" for line in answer.says()[1:])
    return f"<p style='font-size:1.35em;font-weight:600;margin:.2em 0'>{escape(answer.title())}</p>{rows}"


def triage_controls(
    stage: str = "dent", bean: str = "vegetative", at: float = -2.0, store: str = "bunker"
) -> ipywidgets.VBox:
    """What a frost does at this stage, with the controls: temperature, hours, stages, a hollow."""
    hours = [("not known", 0.0), *((f"{h} h", float(h)) for h in range(1, 13))]
    controls = {
        "at": slider("lowest, °C", at, -8.0, 1.0, 0.5),
        "hours": ipywidgets.SelectionSlider(description="hours", options=hours, value=0.0),
        "stage": choice("corn", stages(), stage),
        "bean": choice("legume", ["none", "vegetative", "R5", "R6", "R7", "R8"], bean),
        "hollow": ipywidgets.Checkbox(description="in a hollow", value=False),
    }

    def draw(at: float, hours: float, stage: str, bean: str, hollow: bool) -> str:
        frost = Frost(round(at, 1), hours or None)
        of = None if bean == "none" else bean
        limit = wanted(store).high
        return triage_block(triage(frost, stage, bean_stage=of, low_spot=hollow, upper_limit=limit))

    return followed(controls, draw)


def track_sentences(answer: TrackRecord) -> HTML:
    """How far the odds were off in the past, in words."""
    return sentences(
        [answer.summary(), answer.against_fixed(), answer.moves(), phrases.record_line(SAY, answer.behind)]
    )


def track_table(answer: TrackRecord) -> pd.DataFrame:
    """Every estimator and window, best first. Brier score: 0 is best; skill: against a normal that is never renewed."""
    ranked = sorted(answer.verdicts, key=lambda one: one.brier.value)
    return pd.DataFrame(
        {
            "Brier score": [f"{one.brier.value:.4f}" for one in ranked],
            "90 % interval": [f"{one.brier.low:.4f} to {one.brier.high:.4f}" for one in ranked],
            "skill": [f"{one.skill:.3f}" for one in ranked],
            "mean gap": [f"{100 * one.gap:.1f} %" for one in ranked],
            "8 in 10 held": [f"{100 * one.spread80:.0f} %" for one in ranked],
        },
        index=pd.Index([one.way.words() for one in ranked], name="estimator"),
    )


def track_controls(at: Behind, answer: TrackRecord) -> ipywidgets.VBox:
    """Odds given against what happened, with the controls: the event, the threshold, the estimator and its window."""
    ways = {one.way.words(): one.way for one in answer.verdicts}
    thresholds = sorted({0.0, -1.0, -2.2, -4.0, answer.threshold}, reverse=True)
    controls = {
        "event": choice("event", ["first-fall-frost", "last-spring-frost"], answer.event),
        "threshold": ipywidgets.Dropdown(description="at or below", value=answer.threshold,
                                         options=[(f"{degrees:g} °C", degrees) for degrees in thresholds]),
        "way": choice("estimator", ways, answer.verdict.way.words()),
    }  # fmt: skip
    known = {(answer.event, answer.threshold): answer}  # a hindcast takes a second; another estimator of it does not

    def draw(event: str, threshold: float, way: str) -> str:
        if (event, threshold) not in known:
            crop = answer.crop if event == "seeding-deadline" else None
            known[event, threshold] = track_record(at, event, threshold, crop)
        return svg(reliability_picture(known[event, threshold].judged(Way(*ways[way]))))

    return followed(controls, draw)
