"""The works grid, stage days, heat and killing days by plain loops over days: slow, and simple enough to be believed."""

from dataclasses import dataclass

import numpy as np

from frostkit.seasons.calendar import DAYS
from frostkit.seasons.growth import Plan, Stage
from frostkit.seasons.heat import Heat
from frostkit.seasons.soil import Warmth

CHU, MEAN, CLAMPED = Heat("chu"), Heat("mean", base=5), Heat("clamped", base=10, cap=30)
UNIT = CHU.per_unit
SOWING = np.arange(100, 200, 3)
CORN = Plan(
    (
        Stage("up", CHU, 180 * UNIT, kills_at=-2.0, kills_from=212),
        Stage("v5", CHU, 400 * UNIT),
        Stage("goal", CHU, 1900 * UNIT),
    ),
    2,
    Warmth(),
)
BEAN = Plan((Stage("up", MEAN, 9000, kills_at=-1.0), Stage("goal", MEAN, 80000)), 1, Warmth(5, 8.0, 95))
TENDER = Plan(
    (
        Stage("up", CLAMPED, 6000, kills_at=2.0),
        Stage("hard", CLAMPED, 20000, kills_at=-1.0),
        Stage("flower", CHU, 300 * UNIT, since=1, kills_at=0.5, kills_from=205),
        Stage("goal", MEAN, 30000, since=2),
    ),
    3,
    None,
    season_end=290,
)
SHORT_BEAN = Plan((Stage("up", MEAN, 9000, kills_at=-0.5), Stage("goal", MEAN, 35000)), 1, Warmth(5, 6.0, 95))


@dataclass(frozen=True)
class ByDay:
    """A clock that goes by the calendar, as day-length clocks do."""

    per_unit, unit = 1, "days"

    def rate(self, tmin10, tmax10):
        return np.where(np.arange(365) > 150, 3, 1).astype(np.int32) + np.zeros(tmin10.shape, np.int32)


PLANS = {
    "corn": CORN,
    "bean": BEAN,
    "tender when young": TENDER,
    "ready on either side of a frost": SHORT_BEAN,
    "nothing kills it": Plan((Stage("goal", MEAN, 60000),), 0),
    "a long season": Plan((Stage("up", MEAN, 9000, kills_at=-9.0), Stage("goal", MEAN, 130000)), 1, season_end=360),
    "two clocks": Plan(
        (Stage("up", Heat("sine", 6, 30), 5000, kills_at=-1.0), Stage("goal", CHU, 1500 * UNIT)), 1, Warmth(9, 7.0)
    ),
    "two killing temperatures": Plan(
        (
            Stage("up", CLAMPED, 6400, kills_at=-4.0),
            Stage("v5", CLAMPED, 22800, since=0, kills_at=-1.0),
            Stage("goal", CHU, 1700 * UNIT),
        ),
        2,
        Warmth(),
        season_end=280,
    ),
    "by the calendar": Plan(
        (
            Stage("up", MEAN, 9000, kills_at=-1.0),
            Stage("flower", ByDay(), 200, since=0),
            Stage("goal", MEAN, 30000, since=1),
        ),
        2,
        Warmth(),
    ),
    "goal before it is up": Plan((Stage("up", CHU, 500 * UNIT, kills_at=0.0), Stage("goal", CHU, 400 * UNIT)), 1),
    "a need for each day": Plan(
        (
            Stage("up", MEAN, tuple(9000 + 90 * (k % 3) for k in range(34)), kills_at=-1.0),
            Stage("flower", CHU, 300 * UNIT, since=0, kills_at=0.0),
            Stage("goal", MEAN, tuple(60000 + 9 * k * k for k in range(34))),
        ),
        2,
    ),
}


def weather(seed: int, seasons: int = 3, warmer: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """Made-up tmin, tmax in tenths [season, 365]: a northern summer with noise that lasts for days."""
    rng = np.random.default_rng(seed)
    day = np.arange(DAYS)
    usual = 4 + warmer - 19 * np.cos(2 * np.pi * (day - 18) / DAYS)
    noise = rng.normal(0, 2.5, (seasons, DAYS))
    for k in range(1, DAYS):
        noise[:, k] += 0.6 * noise[:, k - 1]
    swing = rng.uniform(2, 16, (seasons, DAYS))
    mean = usual + noise
    return np.rint(10 * (mean - swing / 2)).astype(np.int16), np.rint(10 * (mean + swing / 2)).astype(np.int16)


def heat_of(heat: Heat, tmin, tmax):
    """Heat of a day by the plain formula in floats, not rounded [degC day or CHU]; the sources stand at `Heat`."""
    tmin, tmax = np.asarray(tmin, float), np.asarray(tmax, float)
    if heat.method == "mean":
        return np.clip((tmin + tmax) / 2, heat.base, heat.cap) - heat.base
    if heat.method == "clamped":
        return (np.clip(tmin, heat.base, heat.cap) + np.clip(tmax, heat.base, heat.cap)) / 2 - heat.base
    if heat.method == "sine":
        return above(heat.base, tmin, tmax) - (0 if heat.cap is None else above(heat.cap, tmin, tmax))
    over = np.maximum(tmax - 10, 0)
    by_day = np.maximum(heat.day[0] * over - heat.day[1] * over**2, 0)
    return (by_day + np.maximum(1.8 * (tmin - heat.night_base), 0)) / 2


def above(level: float, tmin, tmax):
    """Degree days of a single sine above a level (Baskerville and Emin 1969)."""
    mean, swing = (tmin + tmax) / 2, np.abs(tmax - tmin) / 2
    with np.errstate(divide="ignore", invalid="ignore"):
        angle = np.arcsin(np.clip((level - mean) / swing, -1, 1))
    part = ((mean - level) * (np.pi / 2 - angle) + swing * np.cos(angle)) / np.pi
    return np.where(mean - swing >= level, mean - level, np.where(mean + swing <= level, 0.0, part))


def need(stage: Stage, place: int) -> int:
    """What a stage needs of the sowing at a place of the seeding days."""
    return stage.need if isinstance(stage.need, int) else stage.need[place]


def stages(rate_of: dict, plan: Plan, sown: int, place: int = 0) -> list[float]:
    """Day of each stage of one sowing in one season; inf where it does not come by the season's end."""
    days: list[float] = []
    for stage in plan.stages:
        start = sown if stage.since < 0 else days[stage.since]
        total, found = 0, float("inf")
        day = start + 1
        while day <= plan.season_end:
            total += int(rate_of[stage.clock][int(day)])
            if total >= need(stage, place):
                found = day
                break
            day += 1
        days.append(found)
    return days


def rates(tmin: np.ndarray, tmax: np.ndarray, plan: Plan) -> dict:
    """Heat of each day of one season by each of the plan's clocks."""
    return {stage.clock: stage.clock.rate(tmin, tmax) for stage in plan.stages}


def is_warm(tmin: np.ndarray, tmax: np.ndarray, rule: Warmth, sown: int) -> bool:
    """Whether a warm stretch has come by that day."""
    double = tmin.astype(int) + tmax
    start = max(rule.from_day, rule.days - 1)
    return any(
        double[day - rule.days + 1 : day + 1].sum() >= 20 * rule.days * rule.mean for day in range(start, sown + 1)
    )


def killed(tmin: np.ndarray, days: list[float], stages: tuple, season_end: int, shelter=None) -> float:
    """Day on which one sowing dies, whose stages come on `days`; shelter = (degrees, first, last)."""
    cold = [day for day in range(season_end + 1) if tmin[day] <= 50]  # nothing dies of more than 5 degC
    for day in cold:
        came = [stage for stage, first in zip(stages, days) if first <= day and stage.kills_at is not None]
        if not came or day < came[-1].kills_from:
            continue
        kills = came[-1].kills_at
        if shelter is not None and shelter[1] <= day <= shelter[2]:
            kills -= shelter[0]
        if tmin[day] <= np.floor(10 * kills + 0.5 + 1e-9):
            return day
    return float("inf")


def made_it(tmin: np.ndarray, tmax: np.ndarray, plan: Plan, sown: int, end=None, shelter=None, place: int = 0) -> bool:
    """Whether one sowing made it in one season: tmin, tmax in tenths [365]."""
    days = stages(rates(tmin, tmax, plan), plan, sown, place)
    goal = days[plan.goal]
    if goal > plan.season_end or (end is not None and goal > end):
        return False
    return killed(tmin, days, plan.stages[: plan.goal], plan.season_end, shelter) > goal
