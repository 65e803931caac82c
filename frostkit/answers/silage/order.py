"""One chopper, several fields: the order that keeps the most tonnes in range over all seasons at once.

Time is the hours worked: rain days add none, so a field is a stretch of hours and its fit time lies between two
readings of the same clock. A field is never begun before it is fit in that season (it is sampled); what is chopped
after its last fit day is lost to the range. A field that is never fit in a season is left standing, at no time.
"""

from dataclasses import dataclass, replace
from functools import cached_property
from itertools import permutations
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linear_sum_assignment

Floats = NDArray[np.float64]
Orders = NDArray[np.int64]
ALL = 7  # fields up to which every order is tried outright
WIDEST = 30_000  # beginnings of orders kept side by side in the search that proves an order best
BLOCK = 20_000  # orders x cases worked on at a time: their arrays stay in cache
SHAKES = 12  # times fields are taken out of the best order and put back
OUT = 6  # fields taken out each time
ROUGH, FINE = 30, 90  # cases used while climbing with many fields, and while climbing from the best of those
STARTS = 2  # starting orders climbed from, with many fields: the best
WORTH = 1e-4  # share of all tonnes that a step must be worth, with many fields
TOWER = 20  # moves done on top of each other before all are tried anew
FEW = 12  # fields up to which a search over beginnings of orders proves the order best


@dataclass(frozen=True)
class Work:
    """What the chopper has before it. A case is a season with one of the chopping rates.

    hours : float [case, field], to chop a field
    fit, late : float [case, field], hours on the clock at which it becomes fit and stops being fit; fit +inf: never
    end : float [case], hours on the clock at the end of the season
    tonnes : float [field]; weight : float [case], sums to 1
    move : float [field, field], hours to move from one field to another
    machines : how many choppers take the fields in turn
    """

    hours: Floats
    fit: Floats
    late: Floats
    end: Floats
    tonnes: Floats
    weight: Floats
    move: Floats
    machines: int = 1

    @cached_property
    def _by_field(self) -> tuple[Floats, Floats, Floats, Floats]:
        """Fit, last fit hour within the season, hours, and tonnes an hour; by field first. [field, case]"""
        late = np.minimum(self.late, self.end[:, None])
        parts = self.fit, late, self.hours, self.tonnes / self.hours
        fit, late, hours, rate = (np.ascontiguousarray(part.T) for part in parts)
        return fit, late, hours, rate

    @cached_property
    def moves(self) -> bool:
        """Whether moving takes any time."""
        return bool(self.move.any())

    def of(self, field: Orders) -> tuple[Floats, Floats, Floats, Floats]:
        """The same of some fields. field : int [order] -> four float arrays [order, case]"""
        fit, late, hours, rate = self._by_field
        return fit[field], late[field], hours[field], rate[field]


class Run(NamedTuple):
    """An order carried out in every case: [case, field] in the fields' own order.

    start, finish : hours on the clock, +inf where the field is left standing
    kept : tonnes in range
    """

    start: Floats
    finish: Floats
    kept: Floats


class Best(NamedTuple):
    """The best order found, its tonnes kept (mean over cases), and whether no order is better."""

    order: Orders
    kept: float
    proved: bool


def _step(work: Work, field: Orders, free: Floats, last: Orders) -> tuple[Floats, Floats, Floats]:
    """Take one field in every order and case: (start, finish, kept) [order, case]; `free`, `last` change in place.

    field : int [order]; free : float [machine, order, case], hours at which each machine is free; last : int, same
    shape, the field it stands in, -1 at the beginning. The machine that is free first takes the field.
    """
    fit, late, hours, tonnes = work.of(field)
    ready, came, turn = free[0], last[0], None
    if work.machines > 1:
        turn = free.argmin(0)
        ready = free.min(0)
        came = np.take_along_axis(last, turn[None], 0)[0] if work.moves else came
    if work.moves:
        ready = ready + np.where(came >= 0, work.move[came, field[:, None]], 0.0)
    start = np.maximum(ready, fit)
    finish = start + hours
    kept = np.minimum(finish, late)
    kept -= start
    np.maximum(kept, 0.0, out=kept)
    kept *= tonnes
    taken = fit < np.inf
    if not taken.all():
        kept[~taken] = 0.0
    for machine in range(work.machines):
        mine = taken if turn is None else taken & (turn == machine)
        np.copyto(free[machine], finish, where=mine)
        if work.moves:
            np.copyto(last[machine], field[:, None], where=mine)
    return start, finish, kept


def _beginning(work: Work, orders: int) -> tuple[Floats, Orders]:
    shape = work.machines, orders, work.weight.size
    return np.zeros(shape), np.full(shape, -1, np.int64)


def tonnes_kept(work: Work, orders: Orders) -> Floats:
    """Tonnes in range of each order, mean over cases. orders : int [order, field] -> float [order]"""
    out = np.empty(len(orders))
    size = max(1, BLOCK // work.weight.size)
    for begin in range(0, len(orders), size):  # blocks of orders: the arrays stay in cache
        block = orders[begin : begin + size]
        free, last = _beginning(work, len(block))
        total = np.zeros((len(block), work.weight.size))
        for place in range(block.shape[1]):
            total += _step(work, block[:, place], free, last)[2]
        out[begin : begin + size] = total @ work.weight
    return out


def carry_out(work: Work, order: Orders) -> Run:
    """What an order comes to in every case."""
    found = [np.empty((work.weight.size, order.size)) for _ in range(3)]
    free, last = _beginning(work, 1)
    for field in order:
        for out, values in zip(found, _step(work, np.array([field]), free, last), strict=True):
            out[:, field] = values[0]
    never = ~np.isfinite(work.fit)
    return Run(np.where(never, np.inf, found[0]), np.where(never, np.inf, found[1]), found[2])


def earliest_first(work: Work) -> Orders:
    """The simple rule: the field that is fit first, at the middle of the cases, comes first."""
    return np.argsort(np.median(work.fit, axis=0), kind="stable")


def nearest_first(haul: Floats) -> Orders:
    """The simple rule: the shortest haul comes first. haul : float [field]"""
    return np.argsort(haul, kind="stable")


def best_order(work: Work, starts: list[Orders], shakes: int = SHAKES, seed: int = 0) -> Best:
    """The order that keeps the most tonnes, never below the best of `starts`.

    Up to 7 fields every order is tried. Beyond, the starts and an assignment of fields to places (scipy) are improved
    by moving and swapping fields until nothing helps; fields are taken out and put back, `shakes` times (0: the given
    starts alone are improved). Up to 12 fields a search over beginnings of orders, cut where even the best that could
    follow falls short, then proves the order best or finds a better one, unless there are too many. The same input
    gives the same order.
    """
    fields = work.tonnes.size
    if fields <= ALL:
        orders = np.array(list(permutations(range(fields))), np.int64).reshape(-1, fields)
        kept = tonnes_kept(work, orders)
        top = int(kept.argmax())
        return Best(orders[top], float(kept[top]), True)
    if shakes:
        starts = [*starts, earliest_first(work), _by_deadline(work), _by_assignment(work)]
    order, value = _improved(work, starts, shakes, seed)
    if fields <= FEW:
        return _proved(work, order, value)
    return Best(order, value, False)


def _by_deadline(work: Work) -> Orders:
    late = np.where(np.isfinite(work.fit), work.late, work.end[:, None])
    return np.argsort(late.mean(axis=0), kind="stable")


def _by_assignment(work: Work) -> Orders:
    """Fields to places in line, each place beginning when the mean field before it would be done."""
    fields = work.tonnes.size
    begin = np.median(work.fit, axis=0)
    begin = np.min(begin[np.isfinite(begin)], initial=0.0) + np.arange(fields) * work.hours.mean() / work.machines
    start = np.maximum(begin[:, None, None], work.fit)  # [place, case, field]
    late = np.minimum(work.late, work.end[:, None])
    part = np.clip(np.minimum(start + work.hours, late) - start, 0, None) / work.hours
    part = np.where(np.isfinite(work.fit), part, 0.0)
    kept = np.einsum("pcf,c,f->pf", part, work.weight, work.tonnes)
    place, field = linear_sum_assignment(kept, maximize=True)
    return field[np.argsort(place)].astype(np.int64)


def _moves(size: int) -> tuple[Orders, NDArray[np.bool_]]:
    """Every move of one field (from place, to place), then every swap of two that are not neighbours."""
    here, there = (part.ravel() for part in np.mgrid[:size, :size])
    far = there - here
    both = np.stack([here, there], 1)
    pairs = np.concatenate([both[far != 0], both[far > 1]])
    return pairs, np.arange(len(pairs)) >= (far != 0).sum()


def _moved(order: Orders, pairs: Orders, swap: NDArray[np.bool_]) -> Orders:
    """The order after each of the moves. [move, field]"""
    here, there = pairs[:, :1], pairs[:, 1:]
    place = np.arange(order.size)
    between = (place >= np.minimum(here, there)) & (place <= np.maximum(here, there))
    slid = np.where(between, place + np.sign(there - here), place)
    slid = np.where(place == there, here, slid)
    swapped = np.where(place == here, there, np.where(place == there, here, place))
    return order[np.where(swap[:, None], swapped, slid)]


def _climb(work: Work, order: Orders, kept: float) -> tuple[Orders, float]:
    """Try every move at once; do the best, and as many of the next best on top of it as still help; until none does."""
    pairs, swap = _moves(order.size)
    least = 1e-9 if order.size <= FEW else WORTH * float(work.tonnes.sum())
    while True:
        values = tonnes_kept(work, _moved(order, pairs, swap))
        better = np.flatnonzero(values > kept + least)
        if not better.size:
            return order, kept
        better = better[np.argsort(-values[better], kind="stable")]
        firsts = np.sort(np.unique(pairs[better, 0], return_index=True)[1])  # the best move of each place
        tower, now = [], order
        for move in better[firsts][:TOWER]:
            one, other = order[pairs[move]]
            now = _moved(now, np.array([[_place(now, one), _place(now, other)]]), swap[[move]])[0]
            tower.append(now)
        heights = tonnes_kept(work, np.array(tower))
        top = int(heights.argmax())
        order, kept = tower[top], float(heights[top])


def _place(order: Orders, field: int) -> int:
    return int(np.flatnonzero(order == field)[0])


def _thinned(work: Work, cases: int) -> Work:
    """The same work over fewer cases, evenly picked: to climb roughly before climbing exactly."""
    if work.weight.size <= cases:
        return work
    pick = np.linspace(0, work.weight.size - 1, cases).round().astype(int)
    weight = work.weight[pick] / work.weight[pick].sum()
    return replace(
        work, hours=work.hours[pick], fit=work.fit[pick], late=work.late[pick], end=work.end[pick], weight=weight
    )


def _improved(work: Work, starts: list[Orders], shakes: int, seed: int) -> tuple[Orders, float]:
    """The starts improved until nothing helps; then fields taken out and put back where they do best, and again."""
    generator = np.random.default_rng(seed)
    whole = np.unique(np.array(starts), axis=0)
    values = tonnes_kept(work, whole)
    best, kept = whole[int(values.argmax())], float(values.max())
    fields = work.tonnes.size
    if fields > FEW:
        whole = whole[np.argsort(-values, kind="stable")[:STARTS]]
    rough = _thinned(work, ROUGH) if fields > FEW else work
    for attempt in range(len(whole) + shakes):
        start = whole[attempt] if attempt < len(whole) else _put_back(rough, best, generator)
        order, _ = _climb(rough, start, float(tonnes_kept(rough, start[None])[0]))
        value = float(tonnes_kept(work, order[None])[0])
        if value > kept + 1e-9:
            best, kept = order, value
    if fields <= FEW:
        return _climb(work, best, kept)
    fine = _thinned(work, FINE)
    order, _ = _climb(fine, best, float(tonnes_kept(fine, best[None])[0]))
    value = float(tonnes_kept(work, order[None])[0])
    return (order, value) if value > kept else (best, kept)


def _put_back(work: Work, order: Orders, generator: np.random.Generator) -> Orders:
    """Some fields taken out at random and put back one by one where they do best."""
    out = generator.permutation(order)[: min(OUT, order.size - 1)]
    kept = order[~np.isin(order, out)]
    for field in out:
        tried = np.array([np.insert(kept, place, field) for place in range(kept.size + 1)])
        kept = tried[int(tonnes_kept(work, tried).argmax())]
    return kept


def _proved(work: Work, order: Orders, kept: float) -> Best:
    """Look at all beginnings of orders, field by field, and drop those that can't come above the best known order."""
    fields = work.tonnes.size
    sofar = np.zeros((1, 0), np.int64)
    free, last = _beginning(work, 1)
    total = np.zeros((1, work.weight.size))
    for _ in range(fields):
        left = np.ones((len(sofar), fields), bool)
        np.put_along_axis(left, sofar, False, axis=1)
        parent, field = np.nonzero(left)
        if not parent.size:
            return Best(order, kept, True)
        if parent.size > WIDEST:
            return Best(order, kept, False)
        sofar = np.concatenate([sofar[parent], field[:, None]], axis=1)
        free, last = free[:, parent].copy(), last[:, parent].copy()
        total = total[parent] + _step(work, field, free, last)[2]
        # no field that is left can keep more than if it were begun at once, without a move
        could, first = total.copy(), free.min(0)
        for other in range(fields):
            fit, late, hours, rate = work.of(np.array([other]))
            start = np.maximum(first, fit)
            part = np.where(np.isfinite(fit), np.clip(np.minimum(start + hours, late) - start, 0, None), 0.0)
            could += (sofar != other).all(axis=1)[:, None] * part * rate
        keep = could @ work.weight > kept + 1e-9
        sofar, free, last, total = sofar[keep], free[:, keep], last[:, keep], total[keep]
    if len(sofar):
        values = total @ work.weight
        top = int(values.argmax())
        if values[top] > kept:
            order, kept = sofar[top], float(values[top])
    return Best(order, kept, True)
