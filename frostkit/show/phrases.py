"""Phrases that tables, pictures and reports share: counts, intervals, crops, what ends a window, what a record is."""

from __future__ import annotations

import re
from datetime import date
from math import isfinite
from typing import TYPE_CHECKING

import numpy as np

from frostkit.answers.cautions import in_language
from frostkit.answers.seeding import COLD_SOIL, FALL_FROST, NEWEST, SPRING_FROST, Bound, Run, SeedingAnswer, longest_run
from frostkit.answers.station import Behind
from frostkit.crops.entry import Crop
from frostkit.crops.mixes import SOWING
from frostkit.odds.estimate import FEWEST, Share, reaches
from frostkit.odds.estimate import share as counted
from frostkit.seasons.calendar import from_code
from frostkit.show.printed import NAME, plain
from frostkit.show.texts import Texts

if TYPE_CHECKING:  # the window starts without them
    from frostkit.answers.ahead import DayOdds
    from frostkit.answers.cautions import Caution
    from frostkit.answers.late_legume import Bean, LateLegumeAnswer
    from frostkit.answers.quality import Quality
    from frostkit.answers.spread import Spread
    from frostkit.answers.stores import Store

LONG_AGO = 3  # years since a record's last season: common practice, no source
SOURCE = 300  # characters of one part of a source


def percent(say: Texts, share: Share, index: int) -> str:
    """An interval as "66 to 90 %"."""
    return say("say.percent", low=f"{100 * share.low[index]:.0f}", high=f"{100 * share.high[index]:.0f}")


def count(say: Texts, share: Share, index: int) -> str:
    """ "27 of 30": seasons that worked out of complete ones; with too few complete, bounds out of all."""
    return _counted(say, share, index, "of")


def seasons(say: Texts, share: Share, index: int) -> str:
    """The same with the word, for a sentence: "27 of 30 seasons"."""
    return _counted(say, share, index, "of_seasons")


def _counted(say: Texts, share: Share, index: int, how: str) -> str:
    if isfinite(share.share[index]):
        return say(f"say.{how}", yes=int(share.complete_yes[index]), total=int(share.complete[index]))
    yes, unknown = int(share.yes[index]), int(share.not_known[index])
    total = yes + int(share.no[index]) + unknown
    if not unknown:
        return say(f"say.{how}", yes=yes, total=total)
    return say(f"say.between_{how}", least=yes, most=yes + unknown, total=total)


def day_odds(say: Texts, of: DayOdds, index: int) -> str:
    """Odds of one day ahead, "45 %"; with too few complete seasons the count of seasons by weather alone."""
    if isfinite(of.odds[index]):
        return f"{100 * of.odds[index]:.0f} %"
    yes, no, unknown = (int(part[index]) for part in (of.share.yes, of.share.no, of.share.not_known))
    total = yes + no + unknown
    return (
        say("say.between_of", least=yes, most=yes + unknown, total=total)
        if unknown
        else say("say.of", yes=yes, total=total)
    )


def row(share: Share) -> Share:
    """Odds of one case as odds over one day, so that the same phrases serve both."""
    full, full_yes = np.reshape(share.complete, 1), np.reshape(share.complete_yes, 1)
    yes, no, not_known = (np.reshape(part, 1) for part in (share.yes, share.no, share.not_known))
    return counted(yes, no, not_known, complete=full, complete_yes=full_yes, level=share.level)


def sowing_run(bean: Bean, odds: float) -> Run | None:
    """The longest run of sowing days that reach the odds within the corn; None where no day does."""
    return longest_run(np.asarray(reaches(bean.odds.complete_yes, bean.odds.complete, odds)), bean.days)


def too_few(bean: Bean) -> bool:
    """Whether the record has too few complete seasons for any odds of sowing this bean."""
    return int(np.max(bean.odds.complete)) < FEWEST


def span(say: Texts, run: Run | None) -> str:
    """ "from 9 May to 27 May"; "no window" for none."""
    return say("window.no_window") if run is None else say.days(run.first, run.last)


def crops(say: Texts, answer: SeedingAnswer) -> str:
    """What the window is for: "corn and legume together"."""
    return say("crops.both_together" if answer.subject == "both" else f"crops.{answer.subject}")


def bound(say: Texts, of: Bound, answer: SeedingAnswer) -> str:
    """What stands on one side of a window, as a clause."""
    whose = of.whose or "both"
    crop = say(f"crops.{whose}")
    if of.reason == COLD_SOIL:
        return say(
            "bounds.cold_soil" if answer.subject != "both" or whose == "both" else "bounds.cold_soil_for", crop=crop
        )
    if of.reason == SPRING_FROST:
        return say("bounds.spring_frost", crop=crop)
    silage = whose == "corn" and answer.corn is not None and answer.corn.use == "silage"
    many = "many" if whose == "both" else "one"
    kind = "frost" if of.reason == FALL_FROST else "heat"
    short = say("bounds.short_silage" if silage else f"bounds.short_{whose}")
    return say(f"bounds.{kind}_{many}", crop=crop, short=short, day=say.day(answer.season_end))


def ends(say: Texts, answer: SeedingAnswer) -> str:
    """What ends the window on either side, as a sentence; the edge of the days looked at is no end, and said."""
    if answer.window is None:
        return ""
    said = []
    if answer.window.first == answer.days[0]:
        said.append(say("window.edge_first", day=say.day(answer.window.first)))
    elif answer.before.reason:
        said.append(say("window.before", day=say.day(answer.window.first), bound=bound(say, answer.before, answer)))
    if answer.window.last == answer.not_after:
        said.append(say("window.own_last", day=say.day(answer.window.last)))
    elif answer.window.last == answer.days[-1]:
        said.append(say("window.edge_last", day=say.day(answer.window.last)))
    elif answer.after_window.reason:
        said.append(say("window.after", day=say.day(answer.window.last), bound=bound(say, answer.after_window, answer)))
    return say("window.ends", ends="; ".join(said)) if said else ""


def least(answer: SeedingAnswer) -> int:
    """Index of the window's day with the fewest seasons."""
    assert answer.window is not None
    inside = np.arange(answer.window.first, answer.window.last + 1) - int(answer.days[0])
    return int(inside[int(np.argmin(answer.odds[answer.subject].complete_yes[inside]))])


def headline(say: Texts, answer: SeedingAnswer) -> tuple[str, str]:
    """The answer, and the count that carries it."""
    share = answer.odds[answer.subject]
    if answer.window is not None:
        low = least(answer)
        title = say("window.title", crops=crops(say, answer), span=span(say, answer.window))
        return title, say("window.under", count=seasons(say, share, low), interval=percent(say, share, low))
    if not np.isfinite(share.share).any():
        title = say("window.title_few", crops=crops(say, answer))
        return title, say("window.under_few", complete=int(share.complete.max()))
    wanted = say("say.tenths", tenths=say.plain(answer.odds_wanted * 10))
    title = say("window.title_none", wanted=wanted, crops=crops(say, answer))
    best = int(np.nanargmax(share.share))
    day = say.day(answer.days[best])
    return title, say("window.under_none", day=day, count=seasons(say, share, best), interval=percent(say, share, best))


def blur(say: Texts, answer: SeedingAnswer, step: int) -> str:
    """What a rating step more or less in the corn's need would change, as a sentence."""
    if answer.blur is None or not np.isfinite(answer.odds[answer.subject].share).any():
        return ""
    less, more = (span(say, run) for run in answer.blur)
    return say("window.blur", step=step, less=less, more=more)


def newest(say: Texts, answer: SeedingAnswer) -> str:
    """What the newest seasons alone would say, as a sentence; empty where the record has no more than those."""
    if int(answer.behind.complete.sum()) <= NEWEST:
        return ""
    return say("window.newest", seasons=NEWEST, span=span(say, answer.newest))


def late_planting(say: Texts, answer: SeedingAnswer) -> str:
    """That the corn's need falls with later seeding, by how much and where that was measured; empty where not asked."""
    if not answer.late_planting or answer.corn is None or answer.corn.late_planting is None:
        return ""
    of = answer.corn.late_planting
    return say("window.late_planting", value=say.plain(of.value), unit=say(f"units.{of.unit}"), source=of.source,
               first=say.day(from_code(of.from_day)), last=say.day(from_code(of.until_day)))  # fmt: skip


def crop_title(say: Texts, crop: Crop) -> str:
    """The crop's own title, or its translation where the language has one for its name."""
    return say(f"titles.{crop.name}") if say.has(f"titles.{crop.name}") else crop.title


def stage_title(say: Texts, crop: Crop, stage: str) -> str:
    """A stage's own title, or its translation."""
    title = crop.stage[stage].title
    return say(f"stages.{title}") if say.has(f"stages.{title}") else title


def since_title(say: Texts, crop: Crop, stage: str) -> str:
    """A stage as a point in time, after "from" or "since": some languages put an article before it."""
    title = crop.stage[stage].title
    return say(f"since.{title}") if say.has(f"since.{title}") else title


def store_title(say: Texts, store: Store) -> str:
    """A store for silage in this language, its own words where there is no translation."""
    return say(f"stores.{store.name}") if say.has(f"stores.{store.name}") else store.says


def degrees(say: Texts, celsius: float, fahrenheit: bool = False) -> str:
    """A temperature with its unit.

    >>> from frostkit.show.texts import texts
    >>> degrees(texts(), -2.2), degrees(texts(), -2.2, fahrenheit=True)
    ('-2.2 °C', '28 °F')
    """
    if fahrenheit:
        return f"{say.plain(round(celsius * 1.8 + 32, 1))} °F"
    return f"{say.plain(celsius)} °C"


def heat(say: Texts, amount: float, unit: str, fahrenheit: bool = False) -> str:
    """An amount of heat with its unit; degree days in °F where asked for.

    >>> from frostkit.show.texts import texts
    >>> heat(texts(), 350, "degree days C"), heat(texts(), 350, "degree days C", fahrenheit=True)
    ('350 degree days °C', '630 degree days °F')
    """
    if fahrenheit and unit == "degree days C":
        amount, unit = 1.8 * amount, "degree days F"
    return f"{say.number(amount)} {say(f'units.{unit}')}"


def crop_line(say: Texts, crop: Crop, fahrenheit: bool = False) -> str:
    """A crop, what its goal needs and what kills it, in a sentence."""
    goal = crop.stage[crop.goal]
    since = say("crops.sowing") if goal.since == SOWING else since_title(say, crop, goal.since)
    each = [
        say("crops.kill", degrees=degrees(say, stage.kills.value, fahrenheit), stage=since_title(say, crop, name))
        for name, stage in crop.stage.items()
        if stage.kills is not None
    ]
    return say(
        "crops.line",
        title=crop_title(say, crop),
        goal=stage_title(say, crop, crop.goal),
        need=heat(say, goal.need.value, goal.need.unit, fahrenheit),
        since=since,
        kills=say("crops.kills", each=", ".join(each)) if each else "",
    )


def station_name(say: Texts, behind: Behind) -> str:
    """The station as people say it, marked when it is invented."""
    name = plain(behind.station.name or behind.station.id, NAME) or say("say.nameless")
    return say("say.invented", name=name) if behind.invented else name


def record_line(say: Texts, behind: Behind, fahrenheit: bool = False) -> str:
    """The record in a sentence: station, span, complete seasons, distance and height to the field; then, where it is
    so, that it ended long ago, that readings were masked or not checked at all, and how the nights were moved to the
    field."""
    first, last = behind.span
    missing = int((~behind.complete).sum())
    distance = ""
    if isfinite(behind.distance):
        distance = say("record.distance", km=say.number(behind.distance, 1))
        if isfinite(behind.height):
            distance += say("record.higher" if behind.height >= 0 else "record.lower", m=say.number(abs(behind.height)))
    line = say(
        "record.line",
        name=station_name(say, behind),
        first=first,
        last=last,
        complete=int(behind.complete.sum()),
        missing=say("record.missing", count=missing) if missing else "",
        distance=distance,
    )
    more = ended_line(say, behind), checks_line(say, behind), field_line(say, behind, fahrenheit)
    return " ".join(part for part in (line, *more) if part)


def ended_line(say: Texts, behind: Behind) -> str:
    """That a record ended long ago; empty where it goes on, or nobody measured it."""
    if behind.invented or not behind.ends or date.today().year - behind.ends <= LONG_AGO:
        return ""
    return say("record.ended", year=behind.ends)


def checks_line(say: Texts, behind: Behind) -> str:
    """How many readings the quality checks masked, or that there were none; empty where nothing was masked."""
    masked = behind.source.get("checks", "0")
    if masked == "no":
        return say("checks.not_checked")
    return "" if masked == "0" else say("checks.masked", count=masked)


def colder(say: Texts, offset: float, fahrenheit: bool = False) -> str:
    """ "2.1 °C colder" for an offset of -2.1 degC; "3.8 °F colder" where °F is asked for."""
    return say(f"field.{'colder' if offset <= 0 else 'warmer'}", degrees=apart(say, abs(offset), fahrenheit))


def apart(say: Texts, celsius: float, fahrenheit: bool = False) -> str:
    """A difference of temperatures with its unit: 5 °C apart are 9 °F.

    >>> from frostkit.show.texts import texts
    >>> apart(texts(), 2.1), apart(texts(), 5, fahrenheit=True)
    ('2.1 °C', '9.0 °F')
    """
    return f"{say.number(1.8 * celsius, 1)} °F" if fahrenheit else f"{say.number(celsius, 1)} °C"


def quality_headline(say: Texts, answer: Quality) -> tuple[str, str]:
    """How many seasons of a record are whole, and how many readings the checks masked."""
    name, seasons = station_name(say, answer.behind), len(answer.seasons)
    bounded, unknown = answer.in_state("bounded"), answer.in_state("not known")
    title = say("quality.title", name=name, complete=answer.in_state("complete"), seasons=seasons)
    if bounded or unknown:
        title += say("quality.title_rest", bounded=bounded, unknown=unknown)
    readings = say.number(answer.readings)
    if not answer.findings:
        return title, say("quality.under_none", readings=readings)
    return title, say("quality.under", masked=say.number(len(answer.findings)), readings=readings)


def breaks_line(say: Texts, answer: Quality) -> str:
    """From when on the thermometer may read otherwise, in a sentence."""
    if not answer.breaks:
        return say("quality.no_break")
    each = ", ".join(
        say("quality.break_one", year=one.year, what=say(f"quality.of_{one.element}"),
            degrees=say.number(abs(one.shift), 1), way=say("quality.up" if one.shift > 0 else "quality.down"))
        for one in answer.breaks
    )  # fmt: skip
    return say("quality.breaks", each=each)


def field_line(say: Texts, behind: Behind, fahrenheit: bool = False) -> str:
    """How the station's nights were moved to the field; empty where they were not."""
    of = behind.moved
    if of is None:
        return ""
    clear, other = colder(say, of.clear, fahrenheit), colder(say, of.other, fahrenheit)
    if not of.nights:
        return say("field.typed_all" if of.clear == of.other else "field.typed", clear=clear)
    return say("field.logged", clear=clear, other=other, nights=say.number(of.nights),
               scatter=apart(say, of.scatter, fahrenheit), draws=of.draws)  # fmt: skip


def source_line(say: Texts, behind: Behind) -> str:
    """Where the days came from: format, provider, attribution and licence, as far as known; empty where nothing is."""
    keys = ("format", "provider", "attribution", "licence")
    parts = [plain(behind.source[key], SOURCE) for key in keys if behind.source.get(key)]
    return say("record.source", parts="; ".join(parts)) if parts else ""


def foot(say: Texts, answer: SeedingAnswer) -> list[str]:
    """What a seeding window rests on and does not know, for the foot of its picture."""
    lines = [record_line(say, answer.behind)]
    for kind, crop in (("corn", answer.corn), ("legume", answer.legume)):
        if crop is not None:
            lines.append(f"{say(f'crops.title_{kind}')}: {crop_line(say, crop)}")
    if answer.subject == "both":
        lines.append(say("window.together" if answer.chopped else "window.apart"))
    if answer.subject == "both" and answer.after:
        lines.append(say("window.shifted", days=f"{answer.after:+d}"))
    lines.append(late_planting(say, answer))
    lines.append(say("window.unknown", what="; ".join(say(f"unknowns.{key}") for key in answer.does_not_know())))
    if source := source_line(say, answer.behind):
        lines.append(source)
    return [line for line in lines if line]


def capital(text: str) -> str:
    """The first letter large.

    >>> capital("late forage soybean")
    'Late forage soybean'
    """
    return text[:1].upper() + text[1:]


def date_span(say: Texts, of: Spread) -> str:
    """The middle 8 in 10 of a date: "9 May to 21 May"; one day where they are the same."""
    return say.day(of.low) if of.low == of.high else say("say.to", first=say.day(of.low), last=say.day(of.high))


def amount_span(say: Texts, of: Spread) -> str:
    """The middle 8 in 10 of an amount: "412 to 655"; empty where there is none."""
    if not isfinite(of.low) or not isfinite(of.high):
        return ""
    low, high = say.number(of.low), say.number(of.high)
    return low if low == high else say("say.to", first=low, last=high)


def growth(say: Texts, bean: Bean, fahrenheit: bool = False) -> str:
    """The growth wanted of a bean, in words."""
    of = bean.growth
    if of.unit == "stage":
        need = bean.crop.stage[of.stage].need
        title = stage_title(say, bean.crop, of.stage)
        return f"{title} ({heat(say, need.value, need.unit, fahrenheit)})" if of.stage == "growth" else title
    if of.unit == "days":
        return say("late.days", amount=say.number(of.amount))
    return say("late.since_emergence", heat=heat(say, of.amount, "degree days C", fahrenheit))


def way(say: Texts, answer: LateLegumeAnswer, name: str) -> str:
    """A way to sow in this language: the answer names it in English."""
    if name == "with the corn":
        return say("late.way_with")
    if name.endswith(" the corn"):
        count, _, side, *_ = name.split()
        return say(f"late.way_{side}" if count == "1" else f"late.ways_{side}", count=count)
    for stage, entry in answer.corn.stage.items():
        if name == f"at {entry.title}":
            return say("late.way_stage", stage=stage_title(say, answer.corn, stage))
    return name


def source(say: Texts, text: str) -> str:
    """A source as it is, but for "common practice, no source", which is said in this language."""
    return text.replace("common practice, no source", say("say.practice"))


def caution(say: Texts, of: Caution, fahrenheit: bool = False) -> dict[str, str]:
    """A caution in this language: title, the one line of what to do, the rest, all of it, and the source."""
    told = in_language(of, say.language)
    parts = {**told._asdict(), "more": told.text.removeprefix(told.act).strip()}
    return {name: in_fahrenheit(say, part) if fahrenheit else part for name, part in parts.items()}


def in_fahrenheit(say: Texts, text: str) -> str:
    """A fixed sentence with every temperature in °F, whole degrees as sources in °F give them.

    >>> from frostkit.show.texts import texts
    >>> in_fahrenheit(texts(), "under 10 °C, or 7.2 °C"), in_fahrenheit(texts("fr"), "sous -2,2 °C")
    ('under 50 °F, or 45 °F', 'sous 28 °F')
    """

    def put(found: re.Match[str]) -> str:
        return f"{say.plain(round(float(found[1].replace(',', '.')) * 1.8 + 32))} °F"

    return re.sub(r"(-?\d+(?:[.,]\d+)?) °C", put, text)


def repair(say: Texts, text: str) -> str:
    """A repair of a record, as it comes ("days out of order: sorted: 3, first 2001-05-02"), in this language."""
    told = re.fullmatch(r"(?P<what>.+): (?P<count>\d+)(?:, first (?P<first>.+))?", text)
    if told is None:
        return text
    what = _repaired(say, told["what"])
    if told["first"] is None:
        return say("say.repair", what=what, count=told["count"])
    return say("say.repair_first", what=what, count=told["count"], first=_repaired(say, told["first"]))


def _repaired(say: Texts, text: str) -> str:
    """The translation whose English fits, with its {names} filled in; the text itself where none does."""
    for english, sentence in say.entries.get("repairs", {}).items():
        pattern = re.sub(r"\\{(\w+)\\}", r"(?P<\1>.+)", re.escape(english))
        if found := re.fullmatch(pattern, text):
            return str(sentence).format(**found.groupdict())
    return text
