"""The station's record moved to the field, and answers over the draws of a record that moves with scatter."""

from collections.abc import Callable, Sequence
from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar

import numpy as np

from frostkit.answers.late_legume import Bean, LateLegumeAnswer, Sown
from frostkit.answers.seeding import Run, SeedingAnswer, seeding
from frostkit.answers.station import Behind, Moved, behind
from frostkit.odds.drawn import over_odds, over_shares
from frostkit.odds.estimate import Odds, Share, reaches
from frostkit.records.field import DRAWS, Offset, corrected
from frostkit.records.record import Record
from frostkit.seasons.windows import Works

SEED = 20  # of the draws: the same record, logger and crops give the same odds
_T = TypeVar("_T")


def in_field(record: Record, offset: Offset, draws: int = DRAWS, **folding: Any) -> Behind:
    """A station's record moved to the field and folded: once where the offset has no scatter, else several times.

    Parameters
    ----------
    record : Record
        The station's, checked.
    offset : Offset
        From `records.field.compare`, or `low_spot` for one typed in.
    draws : how many records are drawn
    folding : as in `answers.station.behind`
    """
    records = corrected(record, offset, np.random.default_rng(SEED), draws)
    nights = int(offset.nights.sum())
    weight = np.maximum(offset.nights, 1e-9) if nights else np.ones(offset.mean.shape)
    other, clear = (float(value) for value in np.average(offset.mean, axis=0, weights=weight))
    moved = Moved(clear, other, float(offset.scatter[1]), nights, len(records), offset.said)
    folded = tuple(replace(behind(one, **folding), moved=moved) for one in records)
    return replace(folded[0], draws=folded) if len(folded) > 1 else folded[0]


def over(at: Behind, answer: Callable[..., _T], *asked: Any, **settings: Any) -> _T:
    """An answer; where the field's record was drawn several times, with its odds counted over all draws.

    Parameters
    ----------
    at : Behind
    answer : `seeding`, `late_legume` or `frosts`
    asked, settings : what it takes after `at`

    What is no odds (a season's own dates, the bars of a picture) is the first draw's: one way it can have been.
    """
    if not at.draws:
        return answer(at, *asked, **settings)
    parts = [answer(one, *asked, **settings) for one in at.draws]
    whole: Any = _joined(parts)
    if isinstance(whole, SeedingAnswer):
        blur = _blur([part.blur for part in parts if isinstance(part, SeedingAnswer)])
        whole = replace(seeding(at.draws[0], *asked, **{**settings, "drawn": whole.odds}), blur=blur)
    elif isinstance(whole, LateLegumeAnswer):
        beans = tuple(_last_day(bean, whole.odds_wanted) for bean in whole.beans)
        whole = replace(whole, beans=beans, draws=tuple(part for part in parts if isinstance(part, LateLegumeAnswer)))
    return replace(whole, behind=at)


def _joined(parts: Sequence[Any]) -> Any:
    """What several answers say together: odds over all, anything else as the first says it."""
    first = parts[0]
    if isinstance(first, Share):
        return over_shares(parts)
    if isinstance(first, Odds):
        return over_odds(parts)
    if isinstance(first, dict):
        return {key: _joined([part[key] for part in parts]) for key in first}
    if type(first) is tuple:
        return tuple(_joined(each) for each in zip(*parts, strict=True))
    if is_dataclass(first) and not isinstance(first, type | Behind | Works):
        names = [field.name for field in fields(first)]
        joined = {name: _joined([getattr(part, name) for part in parts]) for name in names}
        if isinstance(first, Sown):
            each = zip(*(part.instead for part in parts), strict=True)
            joined["instead"] = tuple(round(sum(counts) / len(parts)) for counts in each)
        return replace(first, **joined)
    return first


def _last_day(bean: Bean, odds: float) -> Bean:
    good = np.flatnonzero(reaches(bean.odds.complete_yes, bean.odds.complete, odds))
    return replace(bean, last_day=int(bean.days[good[-1]]) if good.size else None)


def _blur(parts: Sequence[tuple[Run | None, Run | None] | None]) -> tuple[Run | None, Run | None] | None:
    """The middle of the draws' own windows with a need less and more; none where most draws have none."""
    told = [part for part in parts if part is not None]
    if not told:
        return None

    def middle(runs: Sequence[Run | None]) -> Run | None:
        there = [run for run in runs if run is not None]
        if 2 * len(there) < len(runs):
            return None
        return Run(*(int(np.median(ends)) for ends in zip(*there, strict=True)))

    less, more = (middle(runs) for runs in zip(*told, strict=True))
    return less, more
