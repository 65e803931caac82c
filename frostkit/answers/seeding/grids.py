"""What happened on every seeding day of every possible season: the soil was ready, the crop and the plan made it."""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.answer import runs
from frostkit.answers.corn import CornDays, chopped_together, corn_days, fit_plan
from frostkit.answers.legume.growth import worth_having
from frostkit.answers.plans import late_planting as needing_less, plan
from frostkit.answers.silage.stores import Store, wanted
from frostkit.answers.working import workable
from frostkit.crops.entry import Crop
from frostkit.ensemble.site import Ensemble, Site
from frostkit.errors import SettingError
from frostkit.seasons.calendar import column, words
from frostkit.seasons.growth import Plan
from frostkit.seasons.soil import ready
from frostkit.seasons.windows import earliest, made_it, waited

Mask = NDArray[np.bool_]
Ints = NDArray[np.int64]
FIRST, LAST = column(4, 15), column(7, 15)  # the seeding days an answer looks at: a setting, common practice, no source
SOON = 0.1  # share of seasons in which the soil is fit, from which on it pays to stand ready (DESIGN)
LATE = 0.9  # share of seasons by which a "late" first fit day has come
NEEDS = ("tmin", "tmax")


@dataclass(frozen=True)
class Asked:
    """What was asked: crops, days, and how corn and legume go together.

    corn, legume : entries, or None; after : days from corn to legume; days : seeding days of the first crop, columns
    store : of the silage; together : chopped in one pass, the legume under the corn
    late : the corn needs less the later it is sown; frost : end of the killing temperatures' range
    workdays : ready needs a day on which the field can be worked too; asked only of rows with rain
    """

    corn: Crop | None
    legume: Crop | None
    after: int
    days: Ints
    store: Store
    together: bool
    late: bool
    latitude: float
    frost: str = "usual"
    workdays: bool = False

    @property
    def subject(self) -> str:
        """What the window is for: "both", "corn" or "legume"."""
        return "both" if self.corn and self.legume else "corn" if self.corn else "legume"

    @property
    def key(self) -> tuple[Any, ...]:
        """All of it but the place, for `Site.once`."""
        crops = (None if crop is None else crop.model_dump_json() for crop in (self.corn, self.legume))
        days = int(self.days[0]), int(self.days[-1]), self.days.size
        store = self.store.name, self.store.low, self.store.high
        return (*crops, self.after, days, store, self.together, self.late, self.frost, self.workdays)

    def sown(self, name: str) -> Ints:
        """Sowing days of a crop."""
        return self.days + self.after if name == "legume" else self.days


def asking(
    site: Site,
    corn: Crop | None,
    legume: Crop | None,
    *,
    after: int = 0,
    store: str = "bunker",
    first: int = FIRST,
    last: int = LAST,
    apart: bool = False,
    late: bool = False,
) -> Asked:
    """The question, checked. Raises `SettingError` for days or crops that are not allowed."""
    if first > last:
        raise SettingError(f"The first seeding day, {words(first)}, is after the last, {words(last)}.", "Swap them.")
    if abs(after) > 60:  # beyond that the legume is a late legume, with its own answer
        raise SettingError(
            f"The legume {after} days after the corn is outside -60 to 60.",
            "For a legume sown into standing corn use: frostkit late-legume.",
        )
    if corn is None and legume is None:
        raise SettingError("There is no crop to seed.", "Name a corn, a legume or both.")
    if late and corn is None:
        raise SettingError("Late planting changes the corn's need, and there is no corn.", "Name a corn.")
    together = chopped_together(corn, legume) and not apart
    return Asked(corn, legume, after, np.arange(first, last + 1), wanted(store), together, late, site.latitude)


@dataclass(frozen=True)
class Grids:
    """What happened by row and seeding day; bool [row, seeding day].

    made : by "corn", "legume", "both": it made it, whatever the soil; the legume by itself is in the open
    fit : by the same: the soil was ready; plan : sown on the first fit day from then on it made it
    under : the legume under the corn with which it is chopped made it; None where they are not chopped together
    """

    made: dict[str, Mask]
    fit: dict[str, Mask]
    plan: dict[str, Mask]
    under: Mask | None = None


def corn_plan(asked: Asked, more: float = 0.0) -> Plan:
    """The corn's plan to the store's range, or to the goal of its entry. more : added to its need, in its unit"""
    assert asked.corn is not None
    of = fit_plan(asked.corn, asked.store, asked.latitude, more=more, frost=asked.frost)
    return needing_less(of, asked.corn, asked.days) if asked.late else of


def grids(rows: Ensemble, asked: Asked) -> Grids:
    """Ready, made it and plan for every row and seeding day."""
    made: dict[str, Mask] = {}
    fit: dict[str, Mask] = {}
    under = None
    if asked.corn is not None:
        of = corn_plan(asked)
        made["corn"] = made_it(rows.tmin, rows.tmax, of, asked.days)
        fit["corn"] = ready(rows.tmin, rows.tmax, of.warm, asked.days, rows.prcp)
    if asked.legume is not None:
        of = plan(asked.legume, asked.latitude, frost=asked.frost)
        sown = asked.sown("legume")
        made["legume"] = made_it(rows.tmin, rows.tmax, of, sown)
        fit["legume"] = ready(rows.tmin, rows.tmax, of.warm, sown, rows.prcp)
    if asked.workdays and (work := workable(rows, asked.latitude)) is not None:
        fit = {name: good & work[:, asked.sown(name)] for name, good in fit.items()}
    if asked.subject == "both":
        under = under_corn(rows, asked) if asked.together else None
        made["both"] = made["corn"] & (made["legume"] if under is None else under)
        fit["both"] = fit["corn"] & fit["legume"]
    return Grids(made, fit, {name: waited(made[name], fit[name]) for name in made}, under)


def days_of_corn(rows: Ensemble, asked: Asked) -> CornDays:
    """The corn's days, sown on each of the seeding days."""
    assert asked.corn is not None
    tmin, tmax = rows.tmin, rows.tmax
    return corn_days(
        tmin, tmax, asked.corn, asked.days, asked.store, asked.latitude, frost=asked.frost, late=asked.late, every=False
    )


def under_corn(rows: Ensemble, asked: Asked, of: CornDays | None = None) -> Mask:
    """The legume under the corn makes a growth worth having by the chop, on the light that the corn leaves it.

    of : the corn's days, sown on each of the seeding days
    """
    assert asked.corn is not None and asked.legume is not None
    of = days_of_corn(rows, asked) if of is None else of
    sown = asked.sown("legume")
    return worth_having(
        rows.tmin, rows.tmax, asked.corn, asked.legume, sown, asked.days, of, asked.latitude, asked.frost
    )


def with_need(rows: Ensemble, asked: Asked, found: Grids, more: float) -> Mask:
    """Whether what is asked for made it, should the corn need so much more. bool [row, seeding day]

    The chop would move with the need by a few days, which the legume's own range covers: it stays where it is.
    """
    made = made_it(rows.tmin, rows.tmax, corn_plan(asked, more), asked.days)
    if asked.subject == "both":
        made &= found.made["legume"] if found.under is None else found.under
    return made


def with_cold(rows: Ensemble, asked: Asked, found: Grids, frost: str) -> Mask:
    """Whether what is asked for made it, should other sources be right on the cold that kills. bool [row, seeding day]

    frost : "tender" or "hardy"; a legume under the corn stays as it is, for the corn shelters it and is tenderer
    """
    other = replace(asked, frost=frost)
    if asked.corn is None:
        assert asked.legume is not None
        of = plan(asked.legume, asked.latitude, frost=frost)
        return made_it(rows.tmin, rows.tmax, of, asked.sown("legume"))
    made = made_it(rows.tmin, rows.tmax, corn_plan(other), asked.days)
    if asked.subject == "both":
        made &= found.made["legume"] if found.under is None else found.under
    return made


@dataclass(frozen=True)
class Window:
    """From the first day it pays to stand ready to the last sowing day that reaches the odds; places among the days."""

    first: int
    last: int


def totals(rows: Ensemble, yes: Mask) -> Ints:
    """Possible seasons that said yes, over all draws. bool [row, ...] -> int [...]"""
    return np.asarray(yes[rows.index].sum(axis=(0, 1), dtype=np.int64))


def reached(total: Ints, of: int, odds: float) -> Mask:
    """Whether so many of `of` possible seasons are the odds; never by rounding."""
    return np.asarray(total >= odds * of - 1e-9)


def window_of(made: Mask, soon: Mask, planned: Mask, allowed: Mask) -> Window | None:
    """The window, from what each seeding day reaches; all bool [seeding day].

    `from` is the first day on which the soil was ready in at least 1 counted season in 10 and whose plan reaches the
    odds; `to` the last day of the run from there on which *made it* reaches the odds.

    made, planned : they reach the odds; soon : the soil was ready in 1 season in 10; allowed : by the user's last day

    >>> yes = np.ones(4, bool)
    >>> window_of(np.array([True, True, True, False]), np.array([False, True, True, True]), yes, yes)
    Window(first=1, last=2)
    """
    starts = np.flatnonzero(soon & planned & allowed)
    if not starts.size:
        return None
    first = int(starts[0])
    run = next(((a, b) for a, b in runs(made & allowed) if b >= first), None)
    return None if run is None else Window(first, run[1])


def first_fit_days(rows: Ensemble, fit: Mask, days: Ints, since: int) -> NDArray[np.float64]:
    """First fit day from place `since` on, of every possible season; +inf where none. [draw, season]"""
    return earliest(fit[:, since:], days[since:])[rows.index]


def ready_days(rows: Ensemble, fit: Mask, days: Ints, since: int) -> tuple[float, float]:
    """Usual (half the possible seasons by) and late (9 in 10 by) first fit day from place `since` on; +inf: not by
    the last day looked at."""
    came = np.sort(first_fit_days(rows, fit, days, since).ravel())
    usual, late = (float(came[max(int(np.ceil(odds * came.size - 1e-9)) - 1, 0)]) for odds in (0.5, LATE))
    return usual, late
