"""What the notebooks on the record and on one's own field show: sentences, tables, pictures with controls."""

import tempfile
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import isfinite
from pathlib import Path

import ipywidgets
import numpy as np
import pandas as pd
from IPython.display import HTML

from frostkit.answers.field import in_field, over
from frostkit.answers.frosts import FrostAnswer, frosts
from frostkit.answers.logged import Logged, logged
from frostkit.answers.quality import STATES, Quality, quality
from frostkit.answers.seeding import SeedingAnswer, seeding
from frostkit.answers.station import Behind, behind
from frostkit.crops.entry import Crop, load
from frostkit.crops.own import copied
from frostkit.demo.place import LOGGER
from frostkit.odds.estimate import FEWEST, share
from frostkit.records import glance
from frostkit.records.field import NIGHTS, SEASONS, low_spot
from frostkit.records.logger import read_logger
from frostkit.records.record import Record
from frostkit.show import phrases
from frostkit.show.commands.options import open_record
from frostkit.show.look import svg
from frostkit.show.notebook import choice, followed, sentences, slider
from frostkit.show.pictures.field import field_and_station
from frostkit.show.pictures.frost import day_at
from frostkit.show.pictures.record import record_at_a_glance
from frostkit.show.pictures.seeding import seeding_window
from frostkit.show.tables.quality import NAMES
from frostkit.show.tables.terminal import dates_words
from frostkit.show.texts import texts

SAY = texts("en")
_SMALL = "font-family:monospace;font-size:.85em;white-space:pre-wrap"
NORMAL = 30  # seasons; WMO-No. 1203 (2017), from memory: a normal is formed over 30 years
SHOWN = {"Tmin and Tmax": ("tmin", "tmax"), "Tmin": ("tmin",), "Tmax": ("tmax",)}


# -- is this record good enough? ------------------------------------------------------------------------------------


def of_record(record: str | None = None, input_units: str | None = None, neighbours: Sequence[str] = ()) -> Quality:
    """A record checked, against neighbours where they are named."""
    return quality(
        open_record(record, input_units, check=False), [open_record(near, check=False) for near in neighbours]
    )


def verdict(answer: Quality) -> str:
    """Whether the record carries odds, and how near: in a sentence."""
    whole = answer.in_state("complete")
    if whole < FEWEST:
        return f"Not good enough for odds: {whole} complete seasons; below {FEWEST} there are bounds alone."
    eight = round(0.8 * whole)
    of = share(eight, whole - eight)
    known = f"{eight} of {whole} seasons then mean {100 * of.low:.0f} to {100 * of.high:.0f} %"
    if whole < NORMAL:
        return f"Good enough with care: {whole} complete seasons, {NORMAL} make a normal; {known}."
    return f"Good enough: {whole} complete seasons; {known}."


def quality_sentences(answer: Quality) -> HTML:
    """Is it good enough; seasons, checks, breaks, where it comes from."""
    title, under = phrases.quality_headline(SAY, answer)
    lines = [f"{title}.", f"{under}.", *(f"Repaired on the way in: {repair}." for repair in answer.repairs)]
    warnings = [one.words() for one in answer.breaks] or [SAY("quality.no_break")]
    alone = [] if answer.neighbours else [SAY("quality.alone")]
    near = [f"Neighbour: {one.name}, {one.days:,} days in common." for one in answer.neighbours]
    return sentences([verdict(answer), *lines, *warnings, *alone, *near, *answer.filled,
                      phrases.record_line(SAY, answer.behind), phrases.source_line(SAY, answer.behind)])  # fmt: skip


def glance_controls(answer: Quality) -> ipywidgets.VBox:
    """The record at a glance with its controls: which readings, which seasons, with or without the checks."""
    first, last = int(answer.glance.seasons[0]), int(answer.glance.seasons[-1])
    controls = {
        "of": choice("readings", SHOWN, "Tmin and Tmax"),
        "seasons": ipywidgets.IntRangeSlider(description="seasons", value=(first, last), min=first, max=last),
        "masked": ipywidgets.Checkbox(description="show masked readings", value=True),
    }

    def draw(of: str, seasons: tuple[int, int], masked: bool) -> str:
        view = glance.glance(answer.record, answer.findings if masked else (), elements=SHOWN[of])
        if of == "Tmin and Tmax" and masked:
            view = answer.glance
        part = (view.seasons >= seasons[0]) & (view.seasons <= seasons[1])
        view = replace(view, seasons=view.seasons[part], state=view.state[part])
        return svg(record_at_a_glance(replace(_between(answer, *seasons), glance=view)))

    return followed(controls, draw)


def _between(answer: Quality, first: int, last: int) -> Quality:
    """The quality of some of the seasons alone."""

    def inside(day: np.datetime64) -> bool:
        return first <= int(str(day)[:4]) <= last

    year = answer.record.time().astype("datetime64[Y]").astype(int) + 1970
    part = (year >= first) & (year <= last)
    findings = tuple(one for one in answer.findings if inside(one.day))
    left = sum(int(np.isfinite(values[part]).sum()) for values in (answer.record.tmin, answer.record.tmax))
    return replace(answer, findings=findings, readings=left + len(findings),
                   seasons=tuple(one for one in answer.seasons if first <= one.season <= last))  # fmt: skip


def states_table(answer: Quality) -> pd.DataFrame:
    """How many seasons are complete, bounded, not known, and what that means for an answer."""
    means = {
        "complete": "counts in every odds",
        "bounded": "a range: yes, no, or not known",
        "not known": "mostly not known",
    }
    rows = {state: {"seasons": answer.in_state(state), "in an answer": means[state]} for state in STATES}
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis("state")


def seasons_table(answer: Quality, threshold: float = 0.0, every: bool = False) -> pd.DataFrame:
    """Seasons that are not complete (or every one): missing days, what was masked, and their frost dates as ranges."""
    frost = frosts(answer.behind, threshold)
    place = {int(season): index for index, season in enumerate(answer.behind.cube.seasons)}
    rows = {}
    for of in answer.seasons:
        if of.season not in place or (of.state == "complete" and not every):
            continue
        index, masked = place[of.season], answer.masked.get(of.season, Counter())
        spring, fall = (
            dates_words(dates.first[index], dates.last[index], "none") for dates in (frost.spring, frost.fall)
        )
        rows[of.season] = {
            "state": of.state,
            "days without Tmin": of.tmin_missing,
            "without heat": of.heat_missing,
            "in a row": of.longest,
            "masked": sum(masked.values()),
            "last spring frost": spring,
            "first fall frost": fall,
        }
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis("season")


def findings_table(answer: Quality, most: int = 50) -> pd.DataFrame | HTML:
    """Readings that failed a check: day, reading, value, check, what was done; a sentence where none did."""
    if not answer.findings:
        return sentences(["No reading failed a check."])
    rows = [(str(of.day), NAMES[of.element], of.value, of.check, of.done) for of in answer.findings[:most]]
    return pd.DataFrame(rows, columns=["day", "reading", "°C", "check", "what was done"]).set_index("day")


# -- my hybrid, my low spot, my logger ------------------------------------------------------------------------------


@dataclass(frozen=True)
class Mine:
    """One's own hybrid and field beside the library's hybrid at the station.

    file : where the copied entry stands; text : its first lines and its goal, as they stand there
    ways : answers by what they are for; logged : the field's logger, None where there is none
    """

    file: Path
    crop: Crop
    text: str
    ways: dict[str, tuple[SeedingAnswer, FrostAnswer]]
    station: Record
    logged: Logged | None


def hybrid(copy: str, *, title: str, rating: float, rating_source: str, need: float, low: float, high: float,
           derived: str, need_source: str) -> tuple[Path, Crop]:  # fmt: skip
    """One's own hybrid: an entry copied into a file of its own, in a folder that lasts as long as the notebook."""
    file = Path(tempfile.mkdtemp(prefix="frostkit-")) / "my_hybrid.toml"
    return file, copied(copy, file, title=title, rating=rating, rating_source=rating_source, need=need, low=low,
                        high=high, derived=derived, need_source=need_source)  # fmt: skip


def mine(mine_of: tuple[Path, Crop], copy: str, legume: str, record: str | None = None, input_units: str | None = None,
         colder_by: float | None = None, all_nights: bool = False, logger: str | None = None, odds: float = 0.8,
         ) -> Mine:  # fmt: skip
    """The window with the library's hybrid at the station, with one's own, and with one's own in one's own field.

    logger : file; left out, the invented one where the place is the invented one, and none elsewhere
    """
    file, crop = mine_of
    station = open_record(record, input_units)
    bean = None if legume == "none" else load(legume)
    logger = str(LOGGER) if logger is None and station.invented else logger
    places: dict[str, tuple[Behind, Crop]] = {
        f"{copy}, at the station": (behind(station), load(copy)),
        "my hybrid, at the station": (behind(station), crop),
    }
    if colder_by is not None:
        places[f"my hybrid, {colder_by:g} °C colder"] = in_field(station, low_spot(colder_by, not all_nights)), crop
    held = None
    if logger is not None:
        held = logged(station, read_logger(logger))
        places["my hybrid, by my logger"] = in_field(station, held.offset), crop
    ways = {name: (over(at, seeding, of, bean, odds=odds), over(at, frosts, 0.0)) for name, (at, of) in places.items()}
    return Mine(file, crop, _entry(file, crop), ways, station, held)


def mine_sentences(answer: Mine) -> HTML:
    """What one's own hybrid and field change, in words."""
    said = {name: phrases.headline(SAY, window) for name, (window, _) in answer.ways.items()}
    lines = [(f"{phrases.capital(name)}: {title[0].lower()}{title[1:]}.", f"{under}.")
             for name, (title, under) in said.items()]  # fmt: skip
    of = next(reversed(answer.ways.values()))[0].behind
    return sentences([*lines[-1], *(" ".join(line) for line in lines[:-1]), phrases.record_line(SAY, of),
                      phrases.source_line(SAY, of)])  # fmt: skip


def mine_table(answer: Mine) -> pd.DataFrame:
    """The ways side by side: window, best days, frost in half the seasons."""
    rows = {}
    for name, (window, frost) in answer.ways.items():
        of = window.odds[window.subject]
        best = int(np.nanargmax(of.share)) if np.isfinite(of.share).any() else None
        spring, fall = frost.spring_odds, frost.fall_odds
        rows[name] = {
            "window": phrases.span(SAY, window.window),
            "best day": "" if best is None else SAY.day(window.days[best]),
            "seasons": "" if best is None else phrases.count(SAY, of, best),
            "90 % interval": "" if best is None else phrases.percent(SAY, of, best),
            "last spring frost, half by": SAY.day(day_at(spring.share, spring.day, 0.5)),
            "first fall frost, half by": SAY.day(day_at(fall.share, fall.day, 0.5)),
        }
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis("with")


def entry_text(answer: Mine) -> HTML:
    """The copied entry as it stands in its file, as far as it was changed."""
    return HTML(
        f"<p>It can be used: <code>--corn {answer.file.name}</code></p><pre style='{_SMALL}'>{answer.text}</pre>"
    )


def logger_table(answer: Mine) -> pd.DataFrame:
    """The logger against the station: offset of Tmin [°C] by season and kind of night, its error, nights; scatter."""
    if answer.logged is None:
        return pd.DataFrame({"logger": ["none given"]})
    of = answer.logged.offset
    columns: dict[tuple[str, str], list[str]] = {}
    for kind in (1, 0):
        cells = [f"{of.mean[row, kind]:+.1f} ± {of.error[row, kind]:.1f}" if of.nights[row, kind] else ""
                 for row in range(len(SEASONS))]  # fmt: skip
        columns[NIGHTS[kind], "°C"] = [*cells, f"± {of.scatter[kind]:.1f}" if isfinite(of.scatter[kind]) else ""]
        columns[NIGHTS[kind], "nights"] = [*(str(int(number)) for number in of.nights[:, kind]), ""]
    return pd.DataFrame(columns, index=pd.Index([*SEASONS, "a single night"], name="season"))


def logger_picture(answer: Mine) -> HTML:
    """Night by night, and the odds of frost at the station and in the field; a sentence where there is no logger."""
    if answer.logged is None:
        return sentences(["No logger was given: the field is known by the low spot you typed in."])
    return HTML(svg(field_and_station(answer.logged)))


def field_controls(answer: Mine, legume: str = "forage-late", colder_by: float | None = 2.0, all_nights: bool = False,
                   odds: float = 0.8) -> ipywidgets.VBox:  # fmt: skip
    """The window of one's own hybrid in one's own field, with the controls: need, low spot, nights, odds wanted."""
    need = round(answer.crop.goal_need().value)
    controls = {
        "need": slider("need, CHU", need, need - 300, need + 300, 25),
        "colder": slider("colder by, °C", colder_by or 0.0, 0.0, 5.0, 0.5),
        "nights": ipywidgets.Checkbox(description="on all nights", value=all_nights),
        "odds": slider("odds wanted", odds, 0.5, 0.95, 0.05),
    }
    bean = None if legume == "none" else load(legume)

    @lru_cache(maxsize=4)
    def there(colder: float, nights: bool) -> Behind:
        return in_field(answer.station, low_spot(round(colder, 1), not nights)) if colder else behind(answer.station)

    def draw(need: int, colder: float, nights: bool, odds: float) -> str:
        own = needing(answer.crop, need)
        field = there(colder, nights)
        return svg(seeding_window(seeding(field, own, bean, odds=round(odds, 2), with_blur=False)))

    return followed(controls, draw)


def needing(crop: Crop, need: float) -> Crop:
    """The crop with another need to its goal: to try out, with no source of its own."""
    goal = crop.stage[crop.goal]
    asked = goal.need.model_copy(update={"value": float(need), "low": None, "high": None, "source": "tried out here"})
    return crop.model_copy(update={"stage": {**crop.stage, crop.goal: goal.model_copy(update={"need": asked})}})


def _entry(file: Path, crop: Crop) -> str:
    """The lines of an entry that make it one's own: title, rating, the goal."""
    parts = file.read_text("utf-8").split("\n\n")
    own = [part for part in parts if part.startswith(("title", "[rating]", f"[stage.{crop.goal}]"))]
    return "\n\n".join(own).replace("&", "&amp;").replace("<", "&lt;")
