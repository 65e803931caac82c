"""When is it fit to chop: where this season stands, and every past season as one possible rest of it."""

from dataclasses import dataclass
from datetime import date
from math import isfinite
from typing import Any

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.ahead import (
    TENTHS,
    Dates,
    DayOdds,
    ahead,
    band,
    best_days,
    dates_at,
    mix,
    moment,
    odds_by_day,
    predicted,  # fmt: skip
)
from frostkit.answers.cautions import Caution, as_dicts, cautions_of
from frostkit.answers.drying import Hybrid, Seen, Standing, hybrid, observations, spread_on, standing
from frostkit.answers.plans import whole_plan
from frostkit.answers.rests import LEAST, MIDDLE, MOST, NEWEST, Rests, like_this_one, rests, season_of
from frostkit.answers.station import Behind
from frostkit.answers.stores import Store, wanted
from frostkit.crops.entry import Crop
from frostkit.errors import RecordError, SettingError
from frostkit.odds.estimate import FEWEST
from frostkit.records.forecast import Forecast
from frostkit.seasons.calendar import DAYS, MISSING, SEASON_END, Cube, code, column, month_day, words
from frostkit.seasons.growth import stage_days
from frostkit.seasons.heat import has_heat
from frostkit.seasons.interval import SeasonDates
from frostkit.seasons.silage import days_at

Today = np.datetime64 | date | str
EXPLAINED = 0.6, 1.6  # shares of the need to silking between which silking is believed: common practice, no source
RATING_STEP = 100  # CHU more or less, to show what a rating's own blur would change


@dataclass(frozen=True)
class ChoppingAnswer:
    """Where a field stands and when it is fit. Days are columns of the season.

    today, seeding_day : columns; days : int [day], today to the end of the season
    stage : title of the last stage reached; next_stages : (title, day at odds of 5 in 10) of those to come
    gathered : heat since seeding as the record has it (least, most), from what was seen where that day is not known
    usual : the same of past seasons at odds of 1, 5 and 9 in 10
    warmer_seasons : past seasons that had more heat by now; of : seasons compared
    moisture_now : middle and standard deviation [percent]
    moisture, moisture_band : middle of the rests by day, and the ends of its 80 % band, hybrid and weather [2, day]
    odds : DayOdds by "in_range", "too_wet", "too_dry", "killed"
    fit_from, fit_to : first and last day in the store's range
    weights : by season, or None where all count the same
    blur : the day it is fit (5 in 10) with the needs 100 CHU lower and higher; None where corn does not count in CHU
    season_dates : first day in range, per past season as rest, by weather alone
    """

    behind: Behind
    hybrid: Hybrid
    store: Store
    season: int
    today: int
    seeding_day: int | None
    standing: Standing
    rests: Rests
    days: NDArray[np.int64]
    stage: str
    next_stages: tuple[tuple[str, float], ...]
    gathered: tuple[float, float]
    usual: tuple[float, float, float] | None
    warmer_seasons: int
    of_seasons: int
    moisture_now: tuple[float, float]
    moisture: NDArray[np.float64]
    moisture_band: NDArray[np.float64]
    odds: dict[str, DayOdds]
    fit_from: Dates
    fit_to: Dates
    season_dates: SeasonDates
    weights: dict[int, float] | None
    blur: tuple[float, float] | None
    killed: bool
    forecast_days: int
    legume_share: float
    best: tuple[int, int] | None
    cautions: tuple[Caution, ...]

    def title(self) -> str:
        """The answer in one sentence."""
        store, (first, middle, last) = self.store.says, self.fit_from.all
        if middle != middle:
            return f"Too few complete past seasons to say when it is fit for the {store}: go by samples."
        if not isfinite(middle):
            return f"No day is likely to be fit for the {store} this season."
        if self.days.size and middle <= self.today:
            dry = self.fit_to.all[1]
            if dry < self.today:
                return f"It is likely too dry for the {store} already: sample today."
            return f"Fit for the {store} now, likely until {words(dry)}: sample today."
        spread = f" ({words(first)} to {words(last)})" if isfinite(last) else f" ({words(first)} or later)"
        return f"Fit for the {store} from about {words(middle)}{spread}, until about {words(self.fit_to.all[1])}."

    def says(self) -> tuple[str, ...]:
        """Every line of the answer, the cautions apart."""
        lines = [self.title()]
        if self.best is not None:
            day = self.best[0]
            at = self.odds["in_range"]
            index = int(day - self.days[0])
            counted, whole = (
                int(at.share.complete_yes[index]),
                int(np.broadcast_to(at.share.complete, at.odds.shape)[index]),
            )
            span = words(day) if self.best[0] == self.best[1] else f"{words(day)} to {words(self.best[1])}"
            lines.append(
                f"Best days: {span}, odds {100 * at.odds[index]:.0f} % of {self.store.low:g} to {self.store.high:g} %; "
                f"by weather alone {counted} of {whole} seasons "
                f"({100 * at.share.low[index]:.0f} to {100 * at.share.high[index]:.0f} %)."
            )
        middle, spread = self.moisture_now
        lines.append(
            f"Today, {words(self.today)}: {self.stage}, about {middle:.0f} % moisture, give or take {spread:.0f}."
        )
        if self.usual is not None:
            unit = self.hybrid.clock.per_unit
            lines.append(
                f"Heat gathered: {np.mean(self.gathered) / unit:.0f} {self.hybrid.clock.unit}; usual by now "
                f"{self.usual[1] / unit:.0f} ({self.usual[0] / unit:.0f} to {self.usual[2] / unit:.0f}); "
                f"{self.warmer_seasons} of {self.of_seasons} seasons had more."
            )
        for one, moved, left in self.standing.moved:
            shift = "" if one.kind == "silking" else f" moves the forecast by {moved:+.1f} points and"
            lines.append(f"Seen: {one.says()};{shift} leaves {left:.1f} points to either side.")
        if self.killed:
            lines.append("A killing frost has come: it dries about half a point a day from there, no faster.")
        if self.blur is not None and all(map(isfinite, self.blur)):
            lines.append(f"Were the hybrid {RATING_STEP} CHU earlier or later: fit about {words(self.blur[0])} or "
                         f"{words(self.blur[1])}.")  # fmt: skip
        return tuple(lines)

    def does_not_know(self) -> tuple[str, ...]:
        """What the odds leave out, in words."""
        return ("moisture by heat is a calibration through published points: a dried sample beats it",
                "rain, wet ground, drought and disease of this field",
                "low spots: the field may freeze before the station")  # fmt: skip

    def check(self) -> tuple[str, ...]:
        """What to look at in the field, and when."""
        at_milk, (first, _, _) = self.store.start_testing_at_milk, self.fit_from.all
        lines = [f"Start testing when the milk line is {100 - at_milk:g} % down (kernel {at_milk:g} % milk): it is a "
                 "reason to sample, not a moisture.",
                 "Chop and dry a sample of whole plants from several places of the field."]  # fmt: skip
        if isfinite(first):
            lines.append(f"First sample by {words(first - 3)}." if first - 3 > self.today else "Sample today.")
        return tuple(lines)

    def to_dict(self) -> dict[str, Any]:
        """For programs and the field sheet."""

        def number(value: float, digits: int = 3) -> float | None:
            return round(float(value), digits) if isfinite(value) else None

        def listed(values: NDArray[Any], digits: int = 3) -> list[float | None]:
            return [number(v, digits) for v in values]

        def dates(of: Dates) -> dict[str, list[str | None]]:
            return {"by_weather": [code(d) for d in of.by_weather], "all": [code(d) for d in of.all]}

        def day_odds(of: DayOdds) -> dict[str, list[Any]]:
            shape = of.odds.shape
            counts = {key: np.broadcast_to(getattr(of.share, key), shape).tolist()
                      for key in ("yes", "no", "not_known", "complete", "complete_yes")}  # fmt: skip
            return counts | {"odds": listed(of.odds), "low": listed(of.low), "high": listed(of.high)}

        unit = self.hybrid.clock.per_unit
        return {
            "title": self.title(),
            "says": list(self.says()),
            "season": self.season,
            "today": code(self.today),
            "seeding_day": None if self.seeding_day is None else code(self.seeding_day),
            "corn": {"name": self.hybrid.crop.name, "title": self.hybrid.crop.title},
            "store": self.store._asdict(),
            "stage": self.stage,
            "next_stages": [{"title": title, "day": code(day)} for title, day in self.next_stages],
            "heat": {
                "unit": self.hybrid.clock.unit,
                "gathered": [number(g / unit, 1) for g in self.gathered],
                "usual": None if self.usual is None else [number(g / unit, 1) for g in self.usual],
                "warmer_seasons": self.warmer_seasons,
                "of_seasons": self.of_seasons,
            },
            "moisture_now": {"percent": number(self.moisture_now[0], 1), "spread": number(self.moisture_now[1], 1)},
            "seen": [{"what": one.says(), "moved": number(moved, 2), "spread": number(left, 2)}
                     for one, moved, left in self.standing.moved],
            "days": [code(day) for day in self.days],
            "moisture": listed(self.moisture, 1),
            "moisture_band": {"low": listed(self.moisture_band[0], 1), "high": listed(self.moisture_band[1], 1)},
            "odds": {name: day_odds(of) for name, of in self.odds.items()},
            "fit_from": dates(self.fit_from),
            "fit_to": dates(self.fit_to),
            "best": None if self.best is None else [code(day) for day in self.best],
            "blur": None if self.blur is None else {f"{RATING_STEP} {self.hybrid.clock.unit} less": code(self.blur[0]),
                                                    f"{RATING_STEP} {self.hybrid.clock.unit} more": code(self.blur[1])},
            "weights": None if self.weights is None else {str(s): number(w, 4) for s, w in self.weights.items()},
            "killed": self.killed,
            "forecast_days": self.forecast_days,
            "legume_share": self.legume_share,
            "check": list(self.check()),
            "does_not_know": list(self.does_not_know()),
            "record": self.behind.as_dict(),
            "cautions": as_dicts(self.cautions),
        }  # fmt: skip


def chopping(behind: Behind, corn: Crop, seeding_day: int | None = None, *, today: Today | None = None,
             silking: int | None = None, milk_line: float | tuple[float, int] | None = None,
             moisture: float | tuple[float, int] | None = None, forecast: Forecast | None = None,
             store: str = "bunker", target: tuple[float, float] | None = None, like: bool = False,
             legume_share: float = 0.0, newest: int | None = NEWEST, frost: str = "usual",
             last: int = column(*SEASON_END)) -> ChoppingAnswer:  # fmt: skip
    """Stage, heat and moisture today; for each day ahead the odds of the store's range, too wet, too dry, and frost.

    Parameters
    ----------
    behind : Behind
    corn : Crop
        A silage corn entry: it says its moisture at the goal.
    seeding_day, silking : int, columns
        At least one of seeding day, silking, milk line and moisture is needed.
    today : date
        Default: the day after the record's last reading. Nothing of the record from today on is looked at, nor any
        later season.
    milk_line : share of the kernel that it has come down, 0 to 1; or (share, column)
    moisture : percent of wet weight, whole plant; or (percent, column)
    forecast : Forecast, optional
        Comes between the record and the past seasons.
    store : str
        A key of `stores()`.
    target : (low, high), optional [percent]
        Your own range instead of the store's.
    like : bool
        Weigh past seasons by how near their heat so far was to this season's; the weights are in the answer.
    legume_share : float
        Share of the wet weight that is legume, which is wetter than the corn.
    newest : int or None
        Complete past seasons used, the newest ones; None: all of them.
    frost : "usual", "tender" or "hardy"
        Which end of the range of killing temperatures counts as a killing frost.
    last : int, column
        The last day looked at.

    Raises
    ------
    SettingError
        For days in the wrong order, a moisture of 0 or 100, a milk line outside 0 to 1, nothing to start from.
    RecordError
        For a record without days of this season since seeding, or without an earlier season.
    CropError
        For an entry without moisture or silking.
    """
    of, limits = hybrid(corn, frost), wanted(store, target)
    season, now, start_of_forecast = today_of(behind, today)
    coming = None if forecast is None else forecast.since(start_of_forecast)
    _check_days(seeding_day, now, last, legume_share)
    seen = observations(now, silking, milk_line, moisture, seeding_day)
    if seeding_day is None and not seen:
        raise SettingError("There is nothing to start from.",
                           "Give the seeding day, or a silking day, milk line or moisture that was seen.")  # fmt: skip
    if seeding_day is not None:
        since = seeding_day + 1
    else:
        since = seen[0].day - (seen[0].kind != "silking")
    joined = rests(behind, of.clock, of.kills_at, season, now, coming, newest)
    _check_own(behind, joined, since, season)

    gathered = np.cumsum(joined.own[MIDDLE, since:now]).astype(float)
    if seeding_day is not None:
        _check_seen(of, gathered, seen, seeding_day)
    at = standing(of, gathered, since, seen, joined.killed_before, by_heat=seeding_day is not None)
    paths = ahead(joined, of, at, since, last)
    paths = mix(paths, legume_share)
    days = np.arange(now, last + 1)
    weight = like_this_one(joined, since) if like else None
    use = np.where(joined.complete, 1.0 if weight is None else weight, 0.0)
    odds = odds_by_day(paths, joined, limits, spread_on(days, at), use, days)
    enough = int(joined.complete.sum()) >= FEWEST

    fit = days_at(paths.wet, paths.dry, limits.high, paths.first)
    fit_from = dates_at(paths, limits.high, spread_on(days, at), use, days, enough)
    fit_to = dates_at(paths, limits.low, spread_on(days, at), use, days, enough, shift=-1)
    best = best_days(odds["in_range"].odds, days)
    moved = 0.0 if seeding_day is not None else at.offset  # what is printed is what `_usual` holds against the past
    least, most = (float(joined.own[end, since:now].sum()) + moved for end in (LEAST, MOST))
    now_spread = float(spread_on(days[:1] - 1, at)[0])
    usual, warmer, compared = _usual(behind, joined, seeding_day)
    stage, following = _stages(joined, of, at, since, last, use, enough)
    if not stage:
        stage = _early_stage(behind, corn, season, seeding_day, now)
    blur = None
    if of.clock.unit == "CHU" and at.since is None and enough and fit_from.all[1] > now:
        step = RATING_STEP * of.clock.per_unit
        ends = [ahead(joined, of, at, since, last, more).middle for more in (step, -step)]
        less, greater = (predicted(moment(end, limits.high, paths.first), use, 0.5) for end in ends)
        blur = less, greater
    now_middle = float(np.average(paths.middle[:, 0]))
    return ChoppingAnswer(
        behind, of, limits, season, now, seeding_day, at, joined, days, stage, following,
        (least, most), usual, warmer, compared, (now_middle, now_spread),
        np.average(paths.middle[:, 1:], axis=0, weights=use) if enough else np.full(days.size, np.nan),
        band(paths, spread_on(days, at), use) if enough else np.full((2, days.size), np.nan), odds, fit_from, fit_to,
        fit, None if weight is None else dict(zip(joined.seasons.tolist(), weight.tolist(), strict=True)), blur,
        bool(joined.killed_before.last < now), 0 if coming is None else coming.tmin.size, legume_share, best,
        cautions_of("frosted" if joined.killed_before.first < now else "chopping"))  # fmt: skip


def today_of(behind: Behind, today: Today | None) -> tuple[int, int, np.datetime64]:
    cube = behind.cube
    if today is None:
        read = (cube.tmin[-1] != MISSING) | (cube.tmax[-1] != MISSING)
        at = int(np.flatnonzero(read)[-1]) + 1
        season = int(cube.seasons[-1])
        if at >= DAYS:
            raise SettingError(f"The record runs to the end of season {season}: there is no day to stand on.",
                               "Say today's date, such as 2020-09-01.")  # fmt: skip
        month, of_month = month_day(at, cube.season_starts)
        year = season if (month, of_month) >= cube.season_starts else season + 1
        return season, at, np.datetime64(f"{year:04d}-{month:02d}-{of_month:02d}")
    try:
        day = np.datetime64(str(today)).astype("datetime64[D]")
    except ValueError:
        raise SettingError(f"'{today}' is not a date.", "Write it as YYYY-MM-DD, such as 2020-09-01.") from None
    season, at = season_of(day, cube.season_starts)
    return season, at, day


def _check_days(seeding_day: int | None, today: int, last: int, legume_share: float) -> None:
    if seeding_day is not None and seeding_day >= today:
        raise SettingError(f"Seeding on {words(seeding_day)} is not before today, {words(today)}.",
                           "Give a seeding day that has passed, or look ahead with: frostkit window.")  # fmt: skip
    if today > last:
        raise SettingError(f"Today, {words(today)}, is after the end of the season, {words(last)}.",
                           "Give an earlier day; there is nothing left to chop.")  # fmt: skip
    if not 0 <= legume_share < 1:
        raise SettingError(
            f"A legume share of {legume_share:g} is outside 0 to 1.", "Give a share of the wet weight, such as 0.1."
        )


def _check_seen(of: Hybrid, gathered: NDArray[np.float64], seen: list[Seen], seeding_day: int) -> None:
    """Silking and milk that the heat since seeding can't explain: a wrong day, or a wrong hybrid.

    gathered : whole units by the end of each day from the day after seeding
    """
    if of.silking is None:
        return
    for one in seen:
        had, need = float(gathered[min(one.day - seeding_day - 1, gathered.size - 1)]), float(of.silking)
        late = one.kind == "silking" and had > EXPLAINED[1] * need
        if one.kind != "moisture" and (had < EXPLAINED[0] * need or late):
            unit = of.clock.per_unit
            raise SettingError(
                f"{one.says()} does not go with seeding on {words(seeding_day)}: {had / unit:,.0f} {of.clock.unit} had "
                f"come since then, and {of.crop.name} silks at about {need / unit:,.0f}.",
                "Check the two days, or choose the corn that stands there with --corn.",
            )


def _check_own(behind: Behind, joined: Rests, since: int, season: int) -> None:
    row = int(season - behind.cube.seasons[0])
    days = np.s_[max(since, 0) : joined.today]
    known = 0
    if 0 <= row < behind.cube.seasons.size:
        known = int(has_heat(behind.cube.tmin[row, days], behind.cube.tmax[row, days]).sum())
    if joined.today > since and not known:
        raise RecordError(f"The record has no day of season {season} from {words(since)} to {words(joined.today - 1)}.",
                          "Bring the record up to date, or say another day for today.")  # fmt: skip


def _usual(
    behind: Behind, joined: Rests, seeding_day: int | None
) -> tuple[tuple[float, float, float] | None, int, int]:
    if seeding_day is None:
        return None, 0, 0
    part = np.s_[seeding_day + 1 : joined.today]
    before = behind.complete[np.isin(behind.cube.seasons, joined.seasons)]
    theirs = joined.past[MIDDLE, :, part].sum(1)[before].astype(float)
    if theirs.size < FEWEST:
        return None, 0, int(theirs.size)
    mine = float(joined.own[MIDDLE, part].sum())
    low, middle, high = (float(v) for v in np.quantile(theirs, TENTHS, method="weibull"))
    return (low, middle, high), int((theirs > mine).sum()), int(theirs.size)


def _stages(joined: Rests, of: Hybrid, at: Standing, since: int, last: int, use: NDArray[np.float64],
            enough: bool) -> tuple[str, tuple[tuple[str, float], ...]]:  # fmt: skip
    """The last stage reached ("" before the first of them), and the days at odds of 5 in 10 of those to come."""
    now = float(joined.own[MIDDLE, since : joined.today].sum()) + at.offset
    reached = [title for _, title, need in of.stages if need <= now]
    stage = reached[-1] if reached else ""
    following = []
    total = now + np.cumsum(joined.heat[MIDDLE, :, joined.today : last + 1], axis=1)
    for _, title, need in of.stages:
        if need > now:
            met = total >= need
            day = np.where(met.any(1), met.argmax(1) + joined.today, np.inf)
            day = np.where(day > joined.killed.last, np.inf, day)  # a plant that was killed reaches no stage
            following.append((title, predicted(day[use > 0], use[use > 0], 0.5) if enough else float("nan")))
    return stage, tuple(following)


def _early_stage(behind: Behind, corn: Crop, season: int, seeding_day: int | None, today: int) -> str:
    """The last stage that certainly came before today, of those that go by leaves and not by the goal's clock."""
    cube = behind.cube
    row = int(season - cube.seasons[0])
    if seeding_day is None or not 0 <= row < cube.seasons.size:
        return "before silking"
    tmin, tmax = cube.tmin[[row]].copy(), cube.tmax[[row]].copy()
    tmin[:, today:] = tmax[:, today:] = MISSING
    sign = None if cube.sign is None else cube.sign[[row]]
    own = Cube(tmin, tmax, cube.seasons[[row]], cube.lows, sign, cube.season_starts)
    plan = whole_plan(corn, behind.latitude)
    came = stage_days(own, plan, [seeding_day]).last[0, 0] < today
    names = [stage.name for stage, there in zip(plan.stages, came, strict=True) if there]
    return corn.stage[names[-1]].title if names else "sown, not yet emerged"
