"""A field between several stations: their seeding odds taken together, wider where they disagree."""

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.answers.answer import Answer, Column, Day, Odds, Says, Table, counted
from frostkit.answers.seeding.grids import NEEDS, SOON, Asked, Grids, grids, window_of
from frostkit.ensemble.site import Site
from frostkit.errors import SettingError
from frostkit.odds.share import Share, jeffreys

Floats = NDArray[np.float64]
FAR, HIGH = 50.0, 100.0  # km and m at which a station counts 0.37 of one on the spot: judgement, no source


class Pooled(NamedTuple):
    """Odds of several stations taken together; arrays [...], without the stations' axis.

    share, low, high : weighted odds and their interval
    apart : standard deviation between the stations' odds, weighted
    """

    share: Floats
    low: Floats
    high: Floats
    apart: Floats


def nearness(distance: ArrayLike, height: ArrayLike = 0.0) -> Floats:
    """What a station counts by its distance [km] and difference in height [m] from the field; 1 on the spot.

    >>> nearness([0, 50], [0, 100]).round(3).tolist()
    [1.0, 0.135]
    """
    return np.exp(-((np.asarray(distance, float) / FAR) ** 2) - (np.asarray(height, float) / HIGH) ** 2)


def pool(stations: Sequence[Share], weight: ArrayLike) -> Pooled:
    """Odds of several stations taken together.

    Stations share their summers: together they are worth no more seasons than one of them, the weighted mean. To that
    comes the spread between them, all of it taken as real, for the field may be like any one of them. The interval is
    never narrower than the stations' own, weighted: these know how unsure the climate's move is.

    Parameters
    ----------
    stations : shares of one shape [...]
    weight : float [station], 0 or more, not all 0, in any scale

    Examples
    --------
    >>> from frostkit.odds.share import share
    >>> def of(yes):
    ...     return share(np.arange(30)[None] < yes, np.ones(30, bool))
    >>> [[round(float(end), 2) for end in pool(both, [1, 1])] for both in ([of(24), of(24)], [of(18), of(30)])]
    [[0.8, 0.66, 0.9, 0.0], [0.8, 0.24, 0.98, 0.28]]
    """
    by = np.asarray(weight, float)
    if by.shape != (len(stations),) or not (by >= 0).all() or not by.sum() > 0:
        raise SettingError(
            f"The weights {by.tolist()} don't fit {len(stations)} stations.",
            "Give one weight for each, none below 0, not all 0.",
        )
    by = by / by.sum()

    def mixed(values: Sequence[ArrayLike]) -> Floats:
        return np.asarray(np.tensordot(by, np.stack([np.asarray(one, float) for one in values]), axes=1))

    middle = mixed([one.share for one in stations])
    spread = mixed([(one.share - middle) ** 2 for one in stations]) / max(1 - float((by**2).sum()), 1e-12)
    spread = spread if np.count_nonzero(by) > 1 else np.zeros_like(middle)
    seasons = float(by @ [one.seasons for one in stations])
    own = np.maximum(middle * (1 - middle), 0.25 / seasons)  # at 0 and 1 too a count is not sure
    worth = seasons * own / (own + seasons * spread)
    ends = jeffreys(middle * worth, worth)
    low = np.minimum(ends.low, mixed([one.low for one in stations]))
    high = np.maximum(ends.high, mixed([one.high for one in stations]))
    return Pooled(middle, low, high, np.sqrt(spread))


def pooled(
    answer: Answer, asked: Asked, found: Grids, also: Sequence[Site], odds: float, not_after: int | None
) -> Answer:
    """The answer with the odds of other stations around the field taken together with its own.

    Stations weigh by distance and height to the field where all of them know these, else the same.

    Parameters
    ----------
    answer : of `window.window`; asked, found : what it was counted from
    also : the same field at other stations

    Raises
    ------
    SettingError
        Where every station is too far from the field to say anything of it.
    """
    assert answer.site is not None and answer.ensemble is not None
    sites, name = [answer.site, *also], asked.subject
    counts = [[counted(answer.ensemble, part[name]) for part in (found.made, found.fit, found.plan)]]
    for site in also:
        rows = site.ensemble(NEEDS)
        its = grids(rows, replace(asked, latitude=site.latitude))
        counts.append([counted(rows, part[name]) for part in (its.made, its.fit, its.plan)])
    distance = np.array([site.distance for site in sites])
    by_nearness = bool(np.isfinite(distance).all())
    weight = np.ones(len(sites))
    if by_nearness:
        weight = nearness(distance, np.nan_to_num([site.height for site in sites]))
    if not weight.sum() > 0:
        raise SettingError("Every station is too far from the field to say anything of it.", "Name nearer ones.")
    weight = weight / weight.sum()
    made, fit, planned = (pool(part, weight) for part in zip(*counts, strict=True))
    allowed = np.ones(asked.days.size, bool) if not_after is None else asked.days <= not_after
    enough, soon, planned_ = (
        np.asarray(one.share >= least - 1e-12) for one, least in ((made, odds), (fit, SOON), (planned, odds))
    )
    of = window_of(enough, soon, planned_, allowed)
    span = None if of is None else (Day(asked.days[of.first]), Day(asked.days[of.last]))
    names = [site.station.name or site.station.id for site in sites]
    values = {
        "stations": [{"name": one, "weight": round(float(part), 4)} for one, part in zip(names, weight, strict=True)],
        "by_nearness": by_nearness,
        "window": None if span is None else dict(zip(("from", "to"), span, strict=True)),
    }
    about = {"count": len(sites), "odds": Odds(odds)}
    if span is None:
        said = Says("pooled_none", about)
    else:
        assert of is not None
        apart = round(100 * float(made.apart[of.last]))
        said = Says("pooled", {**about, "first": span[0], "last": span[1], "apart": apart})
    table = Table(
        "pooled_odds",
        Column("seeding", "day", asked.days.astype(float)),
        tuple(
            Column(f"{key}.{part}", "part", getattr(of_key, part))
            for key, of_key in (("made_it", made), ("ready", fit), ("plan", planned))
            for part in Pooled._fields
        ),
        brief=np.empty(0, np.int64),
    )
    how = Says("pooled_by_nearness" if by_nearness else "pooled_equal", {})
    return answer.with_more([said, how], {"pooled": values}, [table])
