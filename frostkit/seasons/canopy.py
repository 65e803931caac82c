"""A legume's growth on the light that corn leaves it: leaf area, light shared by extinction, dry matter by day.

Light alone sets the growth here: water, nitrogen and crowding are not in it, so under corn it is an upper bound.
Every number comes in as an argument; no number of a crop stands in this module.

A day with light I (PAR that reaches the legume, times what the day's warmth allows) adds dry matter W and leaf area
L: dW = use I (1 - exp(-k L)), dL = leaf share x specific leaf area x dW. With u = exp(k L) - 1 that is du = k a u I,
where a = use x leaf share x specific leaf area: so u grows by exp(k a) for each MJ, and L and W on any day follow from
the sum of I since emergence alone. The growth of every sowing day is then read off one running sum for each row.
"""

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.errors import SettingError
from frostkit.seasons.calendar import DAYS
from frostkit.seasons.growth import reached

Singles = NDArray[np.float32]
BLOCK = 1 << 16  # plants worked at once (rows x sowing days): they then stay in the cache
KG_HA = 10.0  # g/m2 -> kg/ha


class Bean(NamedTuple):
    """What a legume makes of light. Each is a number, or an array that broadcasts to [row, sowing day].

    extinction : of its leaves, for PAR
    use : radiation use efficiency, dry matter above ground [g per MJ of PAR it intercepts]
    leaf_share : share of the new dry matter that goes to leaves
    leaf_area : specific leaf area in the open [m2 per g of leaf]
    first_leaf : leaf area on the day of emergence [m2/m2]
    most_leaf : leaf area from which on no leaf is added [m2/m2]
    thinner : shade makes leaves thinner, by this power of the share of the light that they get; 0: it does not
    thinnest : largest specific leaf area [m2 per g of leaf]
    """

    extinction: Any
    use: Any
    leaf_share: Any
    leaf_area: Any
    first_leaf: Any
    most_leaf: Any
    thinner: Any = 0.0
    thinnest: Any = np.inf


class Corn(NamedTuple):
    """Corn over the legume, by its heat clock.

    heat : int array [row, 366], running sum in whole units of the clock that its leaves follow (see `heat.running`)
    sown : int array that broadcasts to [row, sowing day]; one sowing for all has a last axis of 1 [column]
    reaches : float32 array [1 or 365, unit]: share of the light that reaches the legume, by the corn's heat since
        sowing and, where rows and sun matter, by day
    """

    heat: NDArray[np.int32]
    sown: NDArray[Any]
    reaches: Singles


class Shares(NamedTuple):
    """Where the light of an even mixed canopy goes; the three sum to 1. [...]"""

    bean: NDArray[np.float64]
    corn: NDArray[np.float64]
    below: NDArray[np.float64]


def shared(bean: ArrayLike, corn: ArrayLike) -> Shares:
    """Light shared in an even mixed canopy, in the ratio of extinction x leaf area.

    bean, corn : arrays, extinction coefficient x leaf area of each

    Reference: Spitters 1989, in Russell et al., Plant Canopies, pp. 165-188 (from memory of it).

    >>> [round(float(part), 3) for part in shared(0.5, 1.0)]
    [0.259, 0.518, 0.223]
    """
    beans, corns = np.asarray(bean, float), np.asarray(corn, float)
    total = beans + corns
    below = np.exp(-total)
    each = np.where(total > 0, (1 - below) / np.where(total > 0, total, 1), 1.0)
    return Shares(beans * each, corns * each, below)


def warm_response(
    tmin10: NDArray[np.int16], tmax10: NDArray[np.int16], cardinals: tuple[float, float, float, float]
) -> Singles:
    """How much of its light use a day's mean temperature allows: 0 to 1, straight between four temperatures.

    cardinals : none at and below, full from, full to, none from there on [degC]. int16 arrays [..., day] -> [..., day]

    >>> warm_response(np.array([100], np.int16), np.array([200], np.int16), (10, 20, 30, 40)).tolist()
    [0.5]
    """
    if not cardinals[0] < cardinals[1] <= cardinals[2] < cardinals[3]:
        raise SettingError(
            f"Temperatures {cardinals} do not rise.", "Give: none at and below, full from, full to, none from there on."
        )
    low, full_from, full_to, high = (np.float32(20 * value) for value in cardinals)  # twice the mean, in tenths
    twice = (tmin10.astype(np.int32) + tmax10).astype(np.float32)
    rising = (twice - low) / (full_from - low)
    falling = (high - twice) / (high - full_to)
    return np.clip(np.minimum(rising, falling), 0, 1).astype(np.float32)


def by_heat(at: Sequence[float], values: Sequence[float]) -> Singles:
    """A table by whole units of heat since sowing, straight between the points given, level beyond the last.

    at : heat [whole units], rising; values : at those. -> float32 array [unit], from 0 to the last point

    >>> by_heat([1, 3], [0.0, 1.0]).tolist()
    [0.0, 0.0, 0.5, 1.0]
    """
    if len(at) < 2 or len(at) != len(values) or any(b <= a for a, b in zip(at, at[1:], strict=False)):
        raise SettingError(f"Heat {at} with {values} is no table.", "Give two or more points whose heat rises.")
    return np.interp(np.arange(int(np.ceil(at[-1])) + 1), at, values).astype(np.float32)


def reaching(depth: ArrayLike, above: float = 1.0) -> Singles:
    """Share of the light that reaches a legume in even corn, part of whose leaves stand above it, the rest beside it.

    depth : array, extinction x leaf area of all the corn; above : share of the leaves above the legume's top

    Above: exp(-k LAI) (Monsi and Saeki 1953). Beside: the mean light of the layer, as `shared` gives it to a legume
    that is thin beside the corn; where both are dense that is up to 12 % less than their share.

    >>> [round(float(share), 3) for share in reaching([0.0, 2.2], above=0.8)]
    [1.0, 0.139]
    """
    if not 0 <= above <= 1:
        raise SettingError(f"A share of {above:g} of the leaves can't be.", "Give a share from 0 to 1.")
    whole = np.asarray(depth, float)
    thin = 1e-6
    layer = shared(thin, (1 - above) * whole).bean / thin
    return (np.exp(-above * whole) * layer).astype(np.float32)


def received(light: Singles, corn: Corn | None, days: ArrayLike) -> Singles:
    """Running sum of the light that reaches the legume, up to the day before each of several days.

    Parameters
    ----------
    light : float32 array, shape (row, 365) [MJ m-2 d-1]
    corn : Corn, or None in the open
    days : array, shape (..., row, sowing day) [column]; +inf or any later day: the whole season

    Returns
    -------
    float32 array of the shape of `days` [MJ m-2]; with a corn sowing for each sowing day, counted from some day at or
    before the first that is asked for: only differences between days mean something
    """
    asked = np.clip(days, 0, DAYS).astype(np.int16)
    layers = asked.reshape(-1, *asked.shape[-2:])
    return _received(light, corn, layers).reshape(asked.shape)


def _received(light: Singles, corn: Corn | None, asked: NDArray[np.int16]) -> Singles:
    """`received`, days as whole numbers. asked : [layer, row, sowing day]"""
    if corn is None:
        return _read_off(light, asked)
    rows, sowings = asked.shape[1:]
    one_a_row = corn.sown.ndim == 0 or corn.sown.shape[-1] == 1
    begun = np.take_along_axis(corn.heat, np.broadcast_to(corn.sown, (rows, 1 if one_a_row else sowings)) + 1, axis=1)
    if one_a_row:
        units = np.clip(corn.heat[:, :DAYS] - begun, 0, corn.reaches.shape[1] - 1)
        share = corn.reaches[0][units] if len(corn.reaches) == 1 else corn.reaches[np.arange(DAYS), units]
        return _read_off(light * share, asked)
    later: Any = 0
    if len(corn.reaches) == 1:  # from full leaf on the share stays: the rest is a difference of the open's sums
        full = np.minimum(reached(corn.heat, corn.sown, corn.reaches.shape[1] - 1) + 1, DAYS).astype(np.int16)
        until = np.minimum(asked, full)
        later = corn.reaches[0, -1] * (_read_off(light, asked) - _read_off(light, until))
        asked = until
    out = np.empty(asked.shape, np.float32)
    step = max(1, BLOCK // sowings)
    for start in range(0, rows, step):
        part = slice(start, start + step)
        out[:, part] = _walk(light[part], corn._replace(heat=corn.heat[part]), begun[part], asked[:, part])
    return out + later


def _read_off(light: Singles, asked: NDArray[np.int16]) -> Singles:
    """Running sum of light [row, 365] before each of several days [layer, row, sowing day]."""
    total = np.zeros((len(light), DAYS + 1), np.float32)
    np.cumsum(light, axis=1, dtype=np.float32, out=total[:, 1:])
    return total.take(asked + (DAYS + 1) * np.arange(len(light))[:, None])


def _walk(light: Singles, corn: Corn, begun: NDArray[np.int32], asked: NDArray[np.int16]) -> Singles:
    """`received` of some rows with a corn sowing for each sowing day: through the days once, noting the sum when asked.

    Laid out [sowing day, row] inside, so that the light of a day lies in one piece.
    """
    heat, light = np.ascontiguousarray(corn.heat.T).astype(np.intp), np.ascontiguousarray(light.T)
    start = np.ascontiguousarray(begun.T).astype(np.intp)
    total, arrives, units = np.zeros(start.shape, np.float32), np.empty(start.shape, np.float32), np.empty_like(start)
    when = asked.transpose(0, 2, 1).ravel()
    first, last = int(when.min()), int(when.max())
    order = np.argsort(when, kind="stable")
    edges = np.searchsorted(when[order], np.arange(first, last + 2))
    noted, places = np.empty(when.size, np.float32), order % start.size
    # A sowing needs no sum before the first day on which it, or one further on, is asked for.
    begins = np.minimum.accumulate(asked.min(axis=(0, 1))[::-1])[::-1]
    ends = np.maximum.accumulate(asked.max(axis=(0, 1)))  # nor any after the last
    for day, a, b in zip(range(first, last + 1), edges, edges[1:], strict=False):
        noted[order[a:b]] = total.ravel()[places[a:b]]
        if day < last:
            now = slice(np.searchsorted(ends, day, side="right"), np.searchsorted(begins, day, side="right"))
            np.subtract(heat[day], start[now], out=units[now])
            np.take(corn.reaches[day % len(corn.reaches)], units[now], mode="clip", out=arrives[now])
            arrives[now] *= light[day]
            total[now] += arrives[now]
    return noted.reshape(len(asked), *start.shape).transpose(0, 2, 1)


def leaf_area(light: ArrayLike, bean: Bean) -> Singles:
    """Leaf area after a sum of light since emergence. light : array [MJ m-2] -> [...] [m2/m2]"""
    exponent, full = _exponent(light, bean)
    return _single(np.log1p(np.exp(np.minimum(exponent, full))) / bean.extinction)


def dry_matter(light: ArrayLike, bean: Bean) -> Singles:
    """Dry matter above ground after a sum of light since emergence. light : array [MJ m-2] -> [...] [kg/ha]

    >>> bean = Bean(extinction=0.5, use=1.5, leaf_share=0.6, leaf_area=0.03, first_leaf=0.05, most_leaf=4.0)
    >>> dry_matter([0, 200, 400], bean).round().tolist()
    [17.0, 344.0, 2086.0]
    """
    exponent, full = _exponent(light, bean)
    leaf = np.log1p(np.exp(np.minimum(exponent, full))) / _single(bean.extinction)
    thin = _single(bean.leaf_area)
    grown = bean.first_leaf / thin + (leaf - _single(bean.first_leaf)) / (_single(bean.leaf_share) * thin)
    speed = _single(bean.extinction * bean.use * bean.leaf_share) * thin
    after = np.maximum(exponent - full, 0) / speed  # light since the leaf area was full
    when_full = _single(bean.use * -np.expm1(-bean.extinction * bean.most_leaf))
    return _single(_single(KG_HA) * (grown + when_full * after))


def _exponent(light: ArrayLike, bean: Bean) -> tuple[Singles, Singles]:
    """ln(exp(k L) - 1) had there been no largest leaf area, and the same for the largest."""
    speed = _single(bean.extinction * bean.use * bean.leaf_share) * _single(bean.leaf_area)
    begun = _single(np.log(np.expm1(bean.extinction * bean.first_leaf)))
    return begun + speed * _single(light), _single(np.log(np.expm1(bean.extinction * bean.most_leaf)))


def _single(values: ArrayLike) -> Singles:
    """In single precision, which is twice as fast and tells a gram in ten tonnes."""
    return np.asarray(values, np.float32)


def shaded(bean: Bean, light: ArrayLike, in_the_open: ArrayLike) -> Bean:
    """The legume with the thinner leaves of the shade it stood in.

    light, in_the_open : arrays that broadcast to [row, sowing day] [MJ m-2]: what reached it, and what the open had

    >>> round(float(shaded(Bean(0.5, 1.5, 0.6, 0.03, 0.05, 4.0, thinner=0.5, thinnest=0.05), 25.0, 100.0).leaf_area), 3)
    0.05
    """
    whole = _single(in_the_open)
    share = np.clip(_single(light) / np.where(whole > 0, whole, np.float32(1)), np.float32(1e-3), np.float32(1))
    thin = bean.leaf_area * np.where(whole > 0, share, np.float32(1)) ** _single(-np.asarray(bean.thinner))
    return bean._replace(leaf_area=np.minimum(thin, bean.thinnest))


def growth(
    light: Singles,
    emerged: ArrayLike,
    ends: Sequence[ArrayLike],
    bean: Bean,
    corn: Corn | None = None,
    killed: ArrayLike | None = None,
) -> Singles:
    """Dry matter of a legume above ground at each of several ends, for every row and sowing day.

    It grows from the day after emergence to the day before the end, or before the killing frost.

    Parameters
    ----------
    light : float32 array, shape (row, 365) [MJ m-2 d-1]
        PAR above the corn x `warm_response` of the day.
    emerged : array, shape (..., row, sowing day) [column]; +inf for never
        Several legumes under the same corn are cheaper together than one by one.
    ends : arrays that broadcast to (..., row, sowing day) [column]
    bean : Bean
    corn : Corn, or None in the open
    killed : array that broadcasts to (..., row, sowing day) [column], +inf for never
        First day after emergence whose frost kills: growth stops, and the leaves, which fall, are counted out. An end
        on that same day still finds them.

    Returns
    -------
    float32 array, shape (end, ..., row, sowing day) [kg/ha]; 0 for what has not emerged
    """
    up = np.asarray(emerged, float)
    dead = np.broadcast_to(np.inf if killed is None else np.asarray(killed, float), up.shape)
    days = np.stack([up + 1, *(np.minimum(end, dead) for end in ends)])
    sums = _since_first(received(light, corn, days))
    open_sums = sums if corn is None else _since_first(received(light, None, days))
    out = np.empty((len(ends), *up.shape), np.float32)
    for number, (end, since, in_the_open) in enumerate(zip(ends, sums, open_sums, strict=True)):
        of = bean if corn is None else shaded(bean, since, in_the_open)
        stands = dry_matter(since, of)
        fallen = np.where(dead < end, leaf_area(since, of) / of.leaf_area * KG_HA, 0) if killed is not None else 0
        out[number] = np.where(up < end, stands - fallen, 0)
    return out


def _since_first(sums: Singles) -> Singles:
    """Sums from the first day asked for to each of the others. [day, ...]"""
    return np.maximum(sums[1:] - sums[0], 0)


def light_share(light: Singles, corn: Corn, first: ArrayLike, end: ArrayLike) -> NDArray[np.float64]:
    """Share of the light from day `first` to the day before `end` that reaches the legume.

    light : float32 array [row, 365] [MJ m-2 d-1]; first : array [..., row, sowing day]; end : broadcasts to it [column]

    Returns float array [..., row, sowing day]; 0 where there is no such day.
    """
    start = np.asarray(first, float)
    days = np.stack([np.maximum(end, start), start])
    below, above = (np.subtract(*received(light, of, days)) for of in (corn, None))
    return np.where(above > 0, below / np.where(above > 0, above, 1), 0.0)
