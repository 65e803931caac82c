"""The user's own hybrid from dried samples in the book: its need from sowing to a moisture, and how sure that is.

Each sampled field-season tells one need: heat gathered from sowing to the sample, and the heat that its drying curve
lays between the sample's moisture and the goal's. They are put together with the entry's own need, each by one over its
variance (normal errors), so that one sample moves the need by about two thirds of the way and several leave the entry
little to say.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np

from frostkit.answers.season.book import Book, Entry
from frostkit.answers.silage.ahead import heat_of, own_rows
from frostkit.answers.silage.drying import hybrid, numbers
from frostkit.crops.entry import Crop
from frostkit.crops.mixes import SOWING
from frostkit.ensemble.pin import pin
from frostkit.ensemble.site import Site
from frostkit.errors import FrostkitError
from frostkit.seasons.calendar import SEASON_END, column
from frostkit.seasons.silage import heat_at

YEAR_POINTS = 2.0  # of moisture by which one hybrid differs from season to season at the same heat: judgement
BAND = 1.2816  # standard deviations to either side that hold 8 in 10


@dataclass(frozen=True)
class Sampled:
    """One field-season that was sown and sampled. need : CHU, or what the hybrid counts in, from sowing to the goal"""

    field: str
    season: int
    day: int
    moisture: float
    gathered: float
    need: float


@dataclass(frozen=True)
class Calibrated:
    """A hybrid's need from sowing to the moisture of its goal, in its own unit.

    entry : as the entry says; need : with the samples; spread : standard deviation of what the next season may show
    samples : the field-seasons behind it; observed : their own standard deviation, NaN for fewer than two
    """

    crop: Crop
    unit: str
    entry: float
    need: float
    spread: float
    samples: tuple[Sampled, ...]
    observed: float

    @property
    def band(self) -> tuple[float, float]:
        """The need that 8 in 10 seasons keep within."""
        return self.need - BAND * self.spread, self.need + BAND * self.spread


def calibrate(
    site: Site, crop: Crop, book: Book, fields: Sequence[str], before: int | None = None
) -> Calibrated | None:
    """A hybrid's need by the samples of the book; None where none was taken of it.

    Parameters
    ----------
    site : where the fields lie; crop : a silage corn's entry
    fields : whose corn this is, where the book does not say what was sown
    before : only seasons before this one, for an answer that stands in it
    """
    of = hybrid(crop)
    slope = crop.moisture.points_per_100 / 100 if crop.moisture is not None else 0.026
    samples = []
    for field in book.fields():
        for season in book.seasons(field):
            entries = book.of(field, season)
            sown = next((one for one in entries if one.what == "sown"), None)
            if sown is None or not _is(sown, crop, field, fields) or (before is not None and season >= before):
                continue
            taken = [one for one in entries if one.what == "moisture" and one.value is not None]
            found = [one for entry in taken if (one := _sampled(site, crop, field, sown, entry)) is not None]
            if found:
                middle = float(np.mean([one.need for one in found]))
                last = found[-1]
                samples.append(Sampled(field, season, last.day, last.moisture, last.gathered, middle))
    if not samples:
        return None
    entry = crop.goal_need().value
    points = numbers()["spread"]
    own, single = points["by_heat"]["value"] / slope, sqrt(points["sample"]["value"] ** 2 + YEAR_POINTS**2) / slope
    weight = 1 / own**2 + len(samples) / single**2
    need = (entry / own**2 + sum(each.need for each in samples) / single**2) / weight
    spread = sqrt(1 / weight + (YEAR_POINTS / slope) ** 2)
    observed = float(np.std([each.need for each in samples], ddof=1)) if len(samples) > 1 else float("nan")
    return Calibrated(crop, of.clock.unit, entry, need, spread, tuple(samples), observed)


def _is(sown: Entry, crop: Crop, field: str, fields: Sequence[str]) -> bool:
    return sown.crop == crop.name if sown.crop else field in fields


def _sampled(site: Site, crop: Crop, field: str, sown: Entry, sample: Entry) -> Sampled | None:
    """What one sample tells; None where the record tells nothing of those days, or the corn was killed before."""
    of = hybrid(crop)
    assert sample.value is not None
    last = min(sample.column - 1, column(*SEASON_END))
    if last <= sown.column:
        return None
    try:
        rows = pin(site, sown.season, last + 1, shifts=0)
    except FrostkitError:  # no earlier season to fill holes from
        return None
    if rows.known[sown.column + 1 :].mean() < 0.8:
        return None
    heat = heat_of(rows, of, sown.column + 1, last)[own_rows(rows), -1].mean()
    at_goal = crop.moisture.at_goal if crop.moisture is not None else 65.0
    more = float(heat_at(at_goal, of.drying) - heat_at(sample.value, of.drying))
    unit = of.clock.per_unit
    return Sampled(field, sown.season, sample.column, sample.value, float(heat) / unit, (float(heat) + more) / unit)


def with_need(crop: Crop, need: float) -> Crop:
    """The entry with another need of its goal; every stage on the same clock from sowing moves by the same part."""
    goal = crop.stage[crop.goal]
    part = need / goal.need.value
    stages = {}
    for name, stage in crop.stage.items():
        if (stage.clock, stage.since) == (goal.clock, SOWING):
            ends = {
                key: value * part for key in ("value", "low", "high") if (value := getattr(stage.need, key)) is not None
            }
            stage = stage.model_copy(update={"need": stage.need.model_copy(update=ends)})
        stages[name] = stage
    return crop.model_copy(update={"stage": stages})
