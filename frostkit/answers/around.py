"""A field between several stations: their seeding odds taken together, wider where they disagree."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.seeding import Run, SeedingAnswer, longest_run
from frostkit.errors import SettingError
from frostkit.odds.estimate import Share
from frostkit.odds.pooling import Pooled, nearness, pool


@dataclass(frozen=True)
class Around:
    """Odds pooled over stations, of the first answer's subject; `weight` [station], by nearness or equal.

    window : the longest run of seeding days whose pooled odds reach those wanted
    """

    answers: tuple[SeedingAnswer, ...]
    weight: NDArray[np.float64]
    by_nearness: bool
    pooled: Pooled
    window: Run | None

    @property
    def days(self) -> NDArray[np.int64]:
        """The seeding days looked at."""
        return self.answers[0].days


def around(answers: Sequence[SeedingAnswer]) -> Around:
    """Pool the seeding odds of stations around a field.

    Stations weigh by distance and height to the field where all of them know these (`odds.pooling.nearness`), else the
    same. Raises `SettingError` for fewer than two answers, or answers on other days or subjects.
    """
    if len(answers) < 2:
        raise SettingError("There is only one station to take together.", "Give another record with --also.")
    first = answers[0]
    if any(a.subject != first.subject or not np.array_equal(a.days, first.days) for a in answers):
        raise SettingError("The stations were asked different things.", "Ask each for the same crops and days.")
    shares = [answer.odds[answer.subject] for answer in answers]
    stacked: dict[str, Any] = {name: np.stack([getattr(one, name) for one in shares])
                               for name in Share._fields if name != "level"}  # fmt: skip
    distance = np.array([answer.behind.distance for answer in answers])
    height = np.nan_to_num(np.array([answer.behind.height for answer in answers]))
    known = bool(np.isfinite(distance).all())
    weight = nearness(distance, height) if known else np.ones(len(answers))
    if not weight.sum() > 0:
        raise SettingError("Every station is too far from the field to say anything of it.", "Name nearer ones.")
    together = pool(Share(level=shares[0].level, **stacked), weight)
    reached = np.nan_to_num(together.share, nan=-1.0) >= first.odds_wanted - 1e-12
    if first.not_after is not None:
        reached &= first.days <= first.not_after
    return Around(tuple(answers), weight / weight.sum(), known, together, longest_run(reached, first.days))
