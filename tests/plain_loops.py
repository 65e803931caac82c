"""The works grid, stage days and sums by plain loops over days: slow, and simple enough to be believed."""

import numpy as np

from frostkit.seasons.calendar import DAYS
from frostkit.seasons.growth import Plan, Stage
from frostkit.seasons.heat import Heat
from frostkit.seasons.soil import Warmth

CHU, MEAN, CLAMPED = Heat("chu"), Heat("mean", base=5), Heat("clamped", base=10, cap=30)
UNIT = CHU.per_unit
SOWING = np.arange(100, 200, 3)
CORN = Plan(
    (Stage("up", CHU, 180 * UNIT, kills_at=-2.0, kills_from=212), Stage("v5", CHU, 400 * UNIT), Stage("goal", CHU, 1900 * UNIT)),
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
PLANS = {"corn": CORN, "bean": BEAN, "tender": TENDER}


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


def stages(rate_of: dict, plan: Plan, sown: int) -> list[float]:
    """Day of each stage of one sowing in one season; inf where it does not come by the season's end."""
    days: list[float] = []
    for stage in plan.stages:
        start = sown if stage.since < 0 else days[stage.since]
        total, found = 0, float("inf")
        day = start + 1
        while day <= plan.season_end:
            total += int(rate_of[stage.clock][int(day)])
            if total >= stage.need:
                found = day
                break
            day += 1
        days.append(found)
    return days


def worked(tmin: np.ndarray, tmax: np.ndarray, plan: Plan, sown: int, end=None, shelter=None) -> bool:
    """Whether one sowing worked in one season: tmin, tmax in tenths [365]; shelter = (degrees, first, last)."""
    rate_of = {stage.clock: stage.clock.rate(tmin, tmax) for stage in plan.stages}
    if plan.warm is not None:
        double = tmin.astype(int) + tmax
        start = max(plan.warm.from_day, plan.warm.days - 1)
        is_warm = [
            day
            for day in range(start, DAYS)
            if double[day - plan.warm.days + 1 : day + 1].sum() >= 20 * plan.warm.days * plan.warm.mean
        ]
        if not is_warm or sown < is_warm[0]:
            return False
    days = stages(rate_of, plan, sown)
    goal = days[plan.goal]
    if goal > plan.season_end or (end is not None and goal > end):
        return False
    for day in range(sown + 1, int(goal) + 1):
        came = [number for number in range(plan.goal) if days[number] <= day]
        if not came:
            continue
        said = [plan.stages[number] for number in came if plan.stages[number].kills_at is not None]
        if not said or day < said[-1].kills_from:
            continue
        kills = said[-1].kills_at
        if shelter is not None and shelter[1] <= day <= shelter[2]:
            kills -= shelter[0]
        if tmin[day] <= np.floor(10 * kills + 0.5 + 1e-9):
            return False
    return True
