"""How far the odds were off in the past at one station: asked before each past season, held against what happened."""

from dataclasses import dataclass, replace

import numpy as np

from frostkit.answers.plans import plan
from frostkit.answers.station import Behind
from frostkit.crops.entry import Crop
from frostkit.errors import RecordError, SettingError, choose
from frostkit.odds.estimate import DEFAULT, WINDOW
from frostkit.odds.hindcast import FIRST, WINDOWS, Cases, Reliability, Verdict, Way, hindcast, reliability, verdict
from frostkit.odds.scores import Parts
from frostkit.odds.trend import Drift, drift
from frostkit.seasons.calendar import code
from frostkit.seasons.frost import first_fall, last_spring
from frostkit.seasons.interval import SeasonDates
from frostkit.seasons.windows import latest, works

EVENTS = {
    "last-spring-frost": "the last spring frost at or below {threshold:g} °C",
    "first-fall-frost": "the first fall frost at or below {threshold:g} °C",
    "seeding-deadline": "the last seeding day that worked for {crop}",
}
"""What odds can be held against, in words."""
OPEN_END = {"last-spring-frost": "earlier", "first-fall-frost": "later", "seeding-deadline": "later"}
SHORTER = 20  # seasons before the first forecast where a record is too short for the usual 30: those of WINDOWS[0]
ENOUGH = 10  # complete seasons to judge by before the usual 30 first seasons are asked for: a setting
SOWING = np.arange(90, 261)  # seeding days looked at for a deadline: 1 April to 18 September, wider than any answer
SEED = 20  # of the drawing of years: the same record gives the same answer


@dataclass(frozen=True)
class TrackRecord:
    """What the odds would have been before each past season, and what happened.

    event : a key of `EVENTS`; threshold [degC], crop : what it is of
    dates, cases : season dates, every forecast and outcome
    verdicts : one for each estimator and window, in the order of `cases.ways`
    chosen : which of them the answer is about
    table : its odds against what happened, in tenths, with the band of perfect odds
    drift : does the date itself move over the seasons
    first : seasons that had gone before the first forecast
    """

    behind: Behind
    event: str
    threshold: float
    crop: Crop | None
    dates: SeasonDates
    cases: Cases
    verdicts: tuple[Verdict, ...]
    chosen: int
    table: Reliability
    drift: Drift
    first: int

    @property
    def verdict(self) -> Verdict:
        """Of the estimator and window asked for."""
        return self.verdicts[self.chosen]

    def judged(self, way: Way) -> "TrackRecord":
        """The same past seasons, held against another estimator or window. Raises `SettingError` for one not tried."""
        if way not in self.cases.ways:
            raise SettingError(f"There is no track record of {way.words()}.", "Choose one of the table.")
        chosen = self.cases.ways.index(way)
        return replace(
            self, chosen=chosen, table=reliability(self.cases, chosen, np.random.default_rng(SEED), times=500)
        )

    def about(self) -> str:
        """The event in words."""
        return EVENTS[self.event].format(threshold=self.threshold, crop=self.crop.title if self.crop else "")

    def years(self) -> tuple[int, int]:
        """First and last season judged."""
        return int(self.cases.year.min()), int(self.cases.year.max())

    def summary(self) -> str:
        """How far the odds were off in the past, in one line."""
        own = self.verdict
        begin, end = self.years()
        off = f"{100 * own.gap:.0f} points" if round(100 * own.gap) != 1 else "1 point"
        return (
            f"Asked before each of {own.number} past seasons ({begin} to {end}), the odds of {self.about()} were off "
            f"by {off} on average; perfect odds would have been off by {100 * own.luck:.0f} by luck alone."
        )

    def against_fixed(self) -> str:
        """Better or worse than the normal of the first seasons, never renewed, in one line."""
        own = self.verdict
        less = own.less_fixed
        how = (
            "better than"
            if less.high < 0
            else "worse than"
            if less.low > 0
            else "neither clearly better nor worse than"
        )
        return (
            f"{own.way.words().capitalize()}: {how} a normal of the first {self.first} seasons that is never renewed "
            f"(Brier score {own.brier.value:.3f} against {own.brier.value - less.value:.3f}; 0 is best)."
        )

    def moves(self) -> str:
        """Whether the date moves over the seasons, in one line."""
        slope, test = self.drift.slope, self.drift.test
        if not np.isfinite([slope.slope, slope.low, slope.high, test.p]).all():
            return "Whether the date moves over the seasons can't be told: in too few of them it is known to have come."
        decade = 10 * float(slope.slope)
        odds = f"p = {float(test.p):.2f}" if test.p >= 0.005 else "p < 0.01"
        sure = "a drift" if test.p < 0.1 else "no sure drift"
        return (
            f"The date shows {sure}: {abs(decade):.1f} days {'later' if decade >= 0 else 'earlier'} in ten seasons "
            f"({10 * float(slope.low):+.1f} to {10 * float(slope.high):+.1f}; {odds}, Mann-Kendall "
            f"with Yue and Wang's correction; neighbouring seasons correlate by {float(test.lag_one):+.2f})."
        )

    def as_dict(self) -> dict:
        """For programs: plain numbers, None where there is none."""
        return {
            "station": self.behind.as_dict(),
            "event": self.event,
            "threshold_c": self.threshold if self.event != "seeding-deadline" else None,
            "crop": self.crop.title if self.crop else None,
            "summary": self.summary(),
            "first_seasons": self.first,
            "years": list(self.years()),
            "days": [code(day, self.behind.cube.season_starts) for day in self.cases.days[0]],
            "chosen": _verdict(self.verdict),
            "ways": [_verdict(one) for one in self.verdicts],
            "reliability": [
                dict(
                    zip(
                        ("given", "happened", "band_low", "band_high", "forecasts", "years"),
                        map(_plain, row),
                        strict=True,
                    )
                )
                for row in zip(*self.table[:6], strict=True)
            ],
            "drift": {
                "days_per_season": _plain(self.drift.slope.slope),
                "low": _plain(self.drift.slope.low),
                "high": _plain(self.drift.slope.high),
                "p": _plain(self.drift.test.p),
                "lag_one": _plain(self.drift.test.lag_one),
                "test": "Mann-Kendall, variance corrected after Yue and Wang 2004",
            },
        }


def track_record(behind: Behind, event: str = "first-fall-frost", threshold: float = 0.0, crop: Crop | None = None,
                 estimator: str = DEFAULT, window: int | None = WINDOW,
                 first: int | None = None) -> TrackRecord:  # fmt: skip
    """How far the odds of an event were off in the past at this station.

    Parameters
    ----------
    behind : Behind
    event : str
        "last-spring-frost", "first-fall-frost" or "seeding-deadline".
    threshold : float [degC]
        Of the frost.
    crop : Crop
        The entry whose last seeding day is asked about; for "seeding-deadline" only.
    estimator, window
        The way the answer is about; all others are tried beside it.
    first : int, optional
        Seasons that have gone before the first forecast: 30 where that leaves enough to judge by, else 20.

    Raises
    ------
    RecordError
        Where no complete season is left to judge by.
    SettingError
        For an event, estimator or window that is not known, or a crop that is missing.
    """
    choose("event", event, EVENTS)
    if (event == "seeding-deadline") != (crop is not None):
        raise SettingError(f"event='{event}' and crop={'none' if crop is None else crop.title!r} don't go together.",
                           "Give a crop with 'seeding-deadline', and only with it.")  # fmt: skip
    dates = _dates(behind, event, threshold, crop)
    gone = _first(behind) if first is None else first
    try:
        cases = hindcast(dates, behind.cube.seasons, behind.complete, first=gone, open_end=OPEN_END[event])
    except SettingError as problem:
        raise RecordError(f"{behind.station.name or 'This record'}: {problem.what}", problem.do) from None
    wanted = Way(estimator, window)
    if wanted not in cases.ways:
        listed = ", ".join(str(w) for w in WINDOWS if w)
        raise SettingError(f"There is no track record of {wanted.words()}.",
                           f"Choose an estimator of the table and {listed} or all seasons.")  # fmt: skip
    if not cases.year.size:
        name = behind.station.name or "This record"
        raise RecordError(
            f"{name} has no complete season after its first {gone} to judge the odds by.",
            "Give a longer or fuller record, or ask for fewer first seasons.",
        )
    chosen = cases.ways.index(wanted)
    verdicts = tuple(verdict(cases, way, np.random.default_rng(SEED), times=500) for way in range(len(cases.ways)))
    table = reliability(cases, chosen, np.random.default_rng(SEED), times=500)
    return TrackRecord(behind, event, threshold, crop, dates, cases, verdicts, chosen, table,
                       drift(dates, behind.cube.seasons), gone)  # fmt: skip


def _dates(behind: Behind, event: str, threshold: float, crop: Crop | None) -> SeasonDates:
    if crop is not None:
        return latest(works(behind.cube, plan(crop, behind.latitude), SOWING))
    return (last_spring if event == "last-spring-frost" else first_fall)(behind.cube, threshold)


def _first(behind: Behind) -> int:
    return FIRST if behind.complete[FIRST:].sum() >= ENOUGH else SHORTER


def _plain(value) -> float | int | None:
    number = float(value)
    if not np.isfinite(number):
        return None
    return int(number) if number.is_integer() and abs(number) > 1 else round(number, 5)


def _verdict(one: Verdict) -> dict:
    def parts(of: Parts) -> dict:
        return {name: _plain(value) for name, value in of._asdict().items()}

    return {
        "estimator": one.way.estimator,
        "window": one.way.window,
        "forecasts": one.number,
        "brier": dict(zip(("value", "low", "high"), map(_plain, one.brier), strict=True)),
        "less_fixed_normal": dict(zip(("value", "low", "high"), map(_plain, one.less_fixed), strict=True)),
        "skill": _plain(one.skill),
        "murphy": parts(one.apart),
        "murphy_tenths": parts(one.apart_classes),
        "mean_gap": _plain(one.gap),
        "largest_gap": _plain(one.largest),
        "gap_of_perfect_odds": _plain(one.luck),
        "tenths_outside": one.outside,
        "in_the_80_percent": _plain(one.spread80),
    }
