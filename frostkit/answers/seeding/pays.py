"""Which day to stand ready from pays best over the years, what a run of years risks, and when sowing stops to pay."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.answers.answer import Answer, Column, Day, Says, Table
from frostkit.answers.seeding.grids import SOON, Asked, Grids, Ints, first_fit_days, reached, totals
from frostkit.ensemble.site import Ensemble
from frostkit.errors import SettingError
from frostkit.odds.share import LEVEL, Share

Floats = NDArray[np.float64]
SEED, TIMES = 20, 2000  # of the drawing of seasons again: the same record gives the same answer
YEARS = 5  # of the risk that is told: a rotation's length, common practice, no source


class Pays(NamedTuple):
    """What each day to stand ready from pays a season, and the one that pays best.

    mean, low, high : mean over seasons and its interval when seasons are drawn again [day]
    best : place of the day that pays most; between : where it lies when seasons are drawn again
    """

    mean: Floats
    low: Floats
    high: Floats
    best: int
    between: tuple[int, int]


def pays_best(paid: Floats, among: NDArray[np.bool_], rng: np.random.Generator, times: int = TIMES) -> Pays:
    """The day that pays best over the years, with its spread by drawing seasons again (Efron 1979, Ann. Stat. 7:1).

    Parameters
    ----------
    paid : float [season, day], what each season paid
    among : bool [day], days that may be the best
    rng : random generator, with which seasons are drawn again

    Examples
    --------
    The early day pays 120 but costs 100 in 4 seasons of 10; the late one pays 90 and never fails:

    >>> paid = np.array([[120.0, 90.0]] * 6 + [[-100.0, 90.0]] * 4)
    >>> p = pays_best(paid, np.ones(2, bool), np.random.default_rng(1))
    >>> p.mean.tolist(), p.best
    ([32.0, 90.0], 1)
    """
    mean = paid.mean(0)
    weight = rng.multinomial(len(paid), np.full(len(paid), 1 / len(paid)), size=times) / len(paid)
    drawn = weight @ paid
    tails = [(1 - LEVEL) / 2, (1 + LEVEL) / 2]
    best = int(_middle_of_best(mean[None], among)[0])
    first, last = np.quantile(_middle_of_best(drawn, among), tails, method="nearest")
    low, high = np.quantile(drawn, tails, axis=0)
    return Pays(mean, low, high, best, (int(first), int(last)))


def _middle_of_best(pay: Floats, among: NDArray[np.bool_]) -> Ints:
    """The day that pays most in each row; of several that pay the same, the one nearest their middle."""
    pay = np.where(among, pay, -np.inf)
    top = np.isclose(pay, pay.max(-1, keepdims=True), rtol=1e-9, atol=1e-9)
    day = np.arange(pay.shape[-1])
    middle = (top * day).sum(-1) / top.sum(-1)
    return np.where(top, np.abs(day - middle[..., None]), np.inf).argmin(-1)


def over_years(p: ArrayLike, years: ArrayLike) -> Floats:
    """Odds that something with odds `p` a season happens at least once in so many seasons: 1 - (1 - p)^n.

    It takes seasons as independent; a run of bad years is more likely than that where they resemble each other.

    References
    ----------
    Snyder, de Melo-Abreu 2005, Frost Protection, FAO, volume 2, chapter 1 (after Haan 1979).

    >>> over_years([0.1, 0.1, 0.05, 0.2], [20, 5, 10, 3]).round(4).tolist()
    [0.8784, 0.4095, 0.4013, 0.488]
    """
    return 1 - (1 - np.asarray(p, float)) ** np.asarray(years, float)


def paid_by_season(rows: Ensemble, asked: Asked, found: Grids, worth: float, per_day: float, loss: float) -> Floats:
    """What standing ready from each day on paid each season, mean over its draws. [season, seeding day]

    Sown on the first fit day; a season in which none comes by the last day looked at is not sown, and pays nothing.
    """
    days, name = asked.days, asked.subject
    out = np.zeros((rows.seasons.size, days.size))
    made = found.plan[name][rows.index]
    for since in range(days.size):
        sown = first_fit_days(rows, found.fit[name], days, since)  # [draw, season]
        brings = worth - per_day * (sown - days[0])
        paid = np.where(made[..., since], brings, -loss)
        out[:, since] = np.where(np.isfinite(sown), paid, 0.0).mean(0)
    return out


def pays(
    answer: Answer, rows: Ensemble, asked: Asked, found: Grids, plan: Share, worth: float, per_day: float, loss: float
) -> Answer:
    """The answer with the day that pays best to stand ready from, over the same possible seasons.

    Earliness is weighed here alone, and only as far as `per_day` says what it is worth.

    Parameters
    ----------
    answer : of `window.window`; rows, asked, found : what it was counted from; plan : its share by seeding day
    worth : what a seeding that makes it brings, sown on the first day looked at: money or any unit, an acre say
    per_day : how much less each day later brings (a negative number: more)
    loss : what a seeding that does not make it costs

    Raises
    ------
    SettingError
        For a worth or a loss that can't be weighed.
    """
    if not (worth > 0 and loss >= 0 and np.isfinite([worth, per_day, loss]).all()):
        raise SettingError(
            f"A worth of {worth:g} with a loss of {loss:g} can't be weighed.",
            "Give a worth above 0 and a loss of 0 or more, in the same unit.",
        )
    days, name, every = asked.days, asked.subject, rows.index.size
    among = reached(totals(rows, found.fit[name]), every, SOON)
    of = pays_best(
        paid_by_season(rows, asked, found, worth, per_day, loss),
        among if among.any() else np.ones(days.size, bool),
        np.random.default_rng(SEED),
    )
    made = totals(rows, found.made[name]) / every
    still = np.flatnonzero(made * (worth - per_day * (days - days[0])) > (1 - made) * loss)
    until = Day(days[still[-1]]) if still.size else None
    risk = dict(
        zip(("share", "low", "high"), over_years(1 - np.stack([plan.share, plan.high, plan.low]), YEARS), strict=True)
    )
    fails = {key: float(value[of.best]) for key, value in risk.items()}
    best, between = Day(days[of.best]), [Day(days[place]) for place in of.between]
    mean, low, high = (round(float(part[of.best]), 2) for part in (of.mean, of.low, of.high))
    amounts = {"worth": worth, "per_day": per_day, "loss": loss}
    values = {
        "best": best,
        "between": between,
        "until": until,
        "mean": mean,
        "low": low,
        "high": high,
        **amounts,
        "fails_once": {"seasons": YEARS, **fails},
    }
    about = {"best": best, "from": between[0], "to": between[1], "mean": mean, "low": low, "high": high, **amounts,
             "first": Day(days[0])}  # fmt: skip
    said = [Says("pays" if between[0] != between[1] else "pays_surely", about)]
    percent = {key: round(100 * value) for key, value in fails.items()}
    said.append(Says("pays_risk", {"years": YEARS, **percent}))
    if until is not None:
        said.append(Says("pays_until", {"until": until}))
    table = Table(
        "pays_by_day",
        Column("ready_from", "day", days.astype(float)),
        tuple(
            Column(key, "number", np.round(part, 2))
            for key, part in (("mean", of.mean), ("low", of.low), ("high", of.high))
        ),
        brief=np.empty(0, np.int64),
    )
    return answer.with_more(said, {"pays": values}, [table])
