"""Answers for programs: plain dicts with fixed keys; days are "MM-DD", a date per season is a pair [first, last]."""

import json
from dataclasses import asdict
from math import isfinite

import numpy as np

from frostkit.answers.cautions import as_dicts
from frostkit.answers.frosts import FrostAnswer
from frostkit.answers.holdings import Holdings
from frostkit.answers.seeding import Run, SeedingAnswer
from frostkit.answers.warmth import HeatAnswer
from frostkit.odds.estimate import Odds, Share
from frostkit.seasons.calendar import code
from frostkit.seasons.interval import SeasonDates


def text(answer: dict) -> str:
    """JSON on several lines, without NaN or infinity."""
    return json.dumps(answer, indent=1, ensure_ascii=False, allow_nan=False)


def number(value: float, digits: int = 4) -> float | None:
    """A rounded number, None for one that is not there.

    >>> number(0.123456), number(float("nan"))
    (0.1235, None)
    """
    return round(float(value), digits) if isfinite(value) else None


def whole(value: float) -> int | None:
    """A whole number, None for one without an end.

    >>> whole(119.0), whole(float("inf"))
    (119, None)
    """
    return int(value) if isfinite(value) else None


def pairs(dates: SeasonDates) -> list[list[str | None]]:
    """[first, last] a season; None for an end that perhaps never came.

    >>> pairs(SeasonDates(np.array([137.0]), np.array([np.inf])))
    [['05-18', None]]
    """
    return [[code(first), code(last)] for first, last in zip(dates.first, dates.last, strict=True)]


def share_dict(share: Share | Odds, index: int, estimator: str = "counted") -> dict:
    """One day's odds."""
    return {
        "share": number(share.share[index]),
        "low": number(share.low[index]),
        "high": number(share.high[index]),
        "level": share.level,
        "yes": int(share.yes[index]),
        "no": int(share.no[index]),
        "not_known": int(share.not_known[index]),
        "complete": int(np.broadcast_to(np.asarray(share.complete), share.yes.shape)[index]),
        "estimator": estimator,
    }


def odds_list(odds: Odds) -> list[dict]:
    """Odds by day: of the event on or before that day."""
    return [{"day": code(day), **share_dict(odds, index, odds.estimator)} for index, day in enumerate(odds.day)]


def frost(answer: FrostAnswer) -> dict:
    """`frostkit frost --json`."""
    seasons = [
        {
            "season": int(season),
            "last_spring": spring,
            "first_fall": fall,
            "frost_free_days": [whole(least), whole(most)],
        }
        for season, spring, fall, least, most in zip(
            answer.behind.cube.seasons, pairs(answer.spring), pairs(answer.fall), *answer.between, strict=True
        )
    ]
    return {
        "station": answer.behind.as_dict(),
        "threshold_c": answer.threshold,
        "seasons": seasons,
        "odds": {"first_fall": odds_list(answer.fall_odds), "last_spring": odds_list(answer.spring_odds)},
        "cautions": as_dicts(answer.cautions),
    }


def heat(answer: HeatAnswer) -> dict:
    """`frostkit heat --json`."""
    return {
        "station": answer.behind.as_dict(),
        "unit": answer.clock.unit,
        "method": {**asdict(answer.clock), "from": code(answer.first), "to": code(answer.last)},
        "seasons": [
            {"season": int(season), "total": [number(low, 2), number(high, 2)], "missing_days": int(days)}
            for season, low, high, days in zip(
                answer.behind.cube.seasons, answer.least, answer.most, answer.missing, strict=True
            )
        ],
    }


def one_day(answer: SeedingAnswer, day: int) -> dict:
    """The odds of one seeding day, for `--seeding`."""
    answer.at(day)
    index = int(day - answer.days[0])
    return {"seeding": {"seeding": code(day), **{name: share_dict(of, index) for name, of in answer.odds.items()}}}


def window(answer: SeedingAnswer) -> dict:
    """`frostkit window --json`. In a season that perhaps never worked the first end of `earliest` and the last end of
    `latest` are None; the other end is then the last, or first, day that may have worked.
    """
    seasons = []
    certain, possible = (end.astype(int) for end in answer.worked)
    for index, season in enumerate(answer.seasons):
        first, last = answer.earliest, answer.latest
        early: list[str | None]
        late: list[str | None]
        if possible[index] == 0:
            early, late = [None, None], [None, None]
        elif certain[index] == 0:
            early, late = [None, code(last.last[index])], [code(first.first[index]), None]
        else:
            early = [code(first.first[index]), code(first.last[index])]
            late = [code(last.first[index]), code(last.last[index])]
        seasons.append(
            {
                "season": int(season),
                "earliest": early,
                "latest": late,
                "days_worked": [int(certain[index]), int(possible[index])],
                "complete": bool(answer.behind.complete[index]),
                "began": answer.began[index]._asdict(),
                "ended": answer.ended[index]._asdict(),
            }
        )

    def run(of: Run) -> dict:
        return {"from": code(of.first), "to": code(of.last)}

    odds = [
        {"seeding": code(day), **{name: share_dict(of, index) for name, of in answer.odds.items()}}
        for index, day in enumerate(answer.days)
    ]
    return {
        "station": answer.behind.as_dict(),
        "corn": answer.corn.name if answer.corn else None,
        "legume": answer.legume.name if answer.legume else None,
        "after": answer.after,
        "subject": answer.subject,
        "not_after": None if answer.not_after is None else code(answer.not_after),
        "season_end": code(answer.season_end),
        "window": None if answer.window is None else {"odds_wanted": answer.odds_wanted, **run(answer.window)},
        "odds_wanted": answer.odds_wanted,
        "best": None if answer.best is None else run(answer.best),
        "before": answer.before._asdict(),
        "after_window": answer.after_window._asdict(),
        "seasons": seasons,
        "odds": odds,
        "does_not_know": list(answer.does_not_know()),
        "cautions": as_dicts(answer.cautions),
    }


def holdings(answer: Holdings) -> dict:
    """`frostkit record show --json`."""
    rows = zip(
        answer.behind.cube.seasons,
        answer.missing_tmin,
        answer.missing_tmax,
        answer.longest,
        answer.behind.complete,
        strict=True,
    )
    return {
        "station": answer.behind.as_dict(),
        "judged": [code(answer.first), code(answer.last)],
        "seasons": [
            {
                "season": int(season),
                "missing_tmin": int(tmin),
                "missing_tmax": int(tmax),
                "longest_run": int(run),
                "complete": bool(whole),
            }
            for season, tmin, tmax, run, whole in rows
        ],
    }
