"""Ways to sow a legume into corn: with it, days before or after, at a leaf collar or stage of it, on a day."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.answer import Day, Named, Says, StageName
from frostkit.answers.collars import MOST, collar_need
from frostkit.answers.corn import CornDays
from frostkit.answers.legume import bean_light
from frostkit.answers.legume.growth import facts, leaves
from frostkit.crops.entry import Crop
from frostkit.errors import SettingError, nearest
from frostkit.seasons.calendar import code, from_code
from frostkit.seasons.growth import reached

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
WAYS = ("with corn", "-1", "1", "v3", "v5", "v7")
MOST_DAYS = 60  # from corn to legume for which both are moved together
_COLLAR = re.compile(r"v(\d{1,2})", re.IGNORECASE)


@dataclass(frozen=True)
class Way:
    """One way to sow; exactly one of the last four is set.

    named : for programs and for people
    after : days from the corn's seeding to the legume's; collar : of the corn; stage : of the corn; day : column
    """

    named: Named
    after: int | None = None
    collar: int | None = None
    stage: str = ""
    day: int | None = None

    @property
    def together(self) -> bool:
        """Whether the corn's seeding day goes with the legume's; else the corn stands."""
        return self.after is not None


def way(said: str | int, corn: Crop) -> Way:
    """A way as a person types it: "with corn", "-1", "1", "V5", a stage of the corn, "06-25".

    Raises `SettingError` for anything else.

    >>> from frostkit.crops.entry import load
    >>> [way(one, load("silage-2300")).named.name for one in ("0", "1", "v5", "06-25")]
    ['with corn', '1 day after corn', 'V5', '06-25']
    """
    text = str(said).strip().lower()
    if text in ("with corn", "with-corn"):
        text = "0"
    if text.lstrip("+-").isdigit():
        return _days(int(text))
    if found := _COLLAR.fullmatch(text):
        number = int(found[1])
        collar_need(leaves(corn), number)
        return Way(Named(f"V{number}", Says("way_collar", {"collar": f"V{number}"})), collar=number)
    if text in corn.stage:
        name = text
        return Way(Named(name, Says("way_stage", {"stage": StageName(name, corn.stage[name].title)})), stage=name)
    if text[:1].isdigit():
        day = from_code(text)
        return Way(Named(code(day) or "", Says("way_day", {"day": Day(day)})), day=day)
    known = ("with corn", *(f"v{number}" for number in range(1, MOST + 1)), *corn.stage)
    raise SettingError(
        f"way='{said}' is not known.{nearest(text, known)}",
        f"Give 'with corn', days after it (-1, 1), a collar such as V5, MM-DD, or a stage: {', '.join(corn.stage)}.",
    )


def _days(after: int) -> Way:
    if abs(after) > MOST_DAYS:
        raise SettingError(
            f"The legume {after} days after the corn is outside -{MOST_DAYS} to {MOST_DAYS}.",
            "Give days after the corn, such as 1, or a day as MM-DD.",
        )
    if not after:
        return Way(Named("with corn", Says("way_with")), after=0)
    side, days = ("before" if after < 0 else "after"), abs(after)
    name = f"{days} day{'s' if days > 1 else ''} {side} corn"
    key = f"way_{side}" if days == 1 else f"way_{side}_days"
    return Way(Named(name, Says(key, {"days": days})), after=after)


@dataclass(frozen=True)
class Seen:
    """A collar of the corn that was seen: its number, and the day."""

    collar: int
    day: int


def seen(said: str | None) -> Seen | None:
    """A collar as a person types it: "V4 06-18".

    >>> seen("V4 06-18")
    Seen(collar=4, day=168)
    """
    if said is None:
        return None
    collar, _, day = said.strip().partition(" ")
    found = _COLLAR.fullmatch(collar)
    if not found or not day.strip():
        raise SettingError(f"seen='{said}' is not a collar and a day.", "Write it as 'V4 06-18'.")
    number = int(found[1])
    if not 1 <= number <= MOST:
        raise SettingError(f"There is no leaf collar {number}.", f"Give a number from 1 to {MOST}.")
    return Seen(number, from_code(day.strip()))


def collar_ends() -> tuple[float, float, float]:
    """Heat to a collar at the early end of what is published, in the middle and at the late end; the entry's is 1.

    >>> [round(end, 3) for end in collar_ends()]
    [0.732, 0.866, 1.0]
    """
    low, high = facts()["collar"]["fifth"]["from_emergence"]
    return low / high, (low + high) / 2 / high, 1.0


def collar_days(corn: Crop, heat: NDArray[np.int32], seeding: int, number: int, of: Seen | None) -> Floats:
    """Day on which a collar comes: early, middle and late end of the published heat. -> float [end, row]

    corn : the entry whose collars the leaves follow; heat : its running sum [row, 366]
    of : a collar that was seen, from which the clock runs on

    Raises `SettingError` for a collar that the corn had before it was seen.
    """
    up, whole = bean_light.collar_heat(corn, [0, number])
    begins, already = seeding, up
    if of is not None:
        if number < of.collar:
            raise SettingError(
                f"V{number} is past: V{of.collar} was seen.", f"Ask for V{of.collar} or later, or for a day."
            )
        begins, already = of.day, bean_light.collar_heat(corn, of.collar)[0]
    found = []
    for end in collar_ends():
        need = round((whole - already) * end + (0 if of is not None else up))
        found.append(reached(heat, [begins], need)[:, 0] if need else np.full(len(heat), float(begins)))
    return np.stack(found)


def seen_heat(corn: Crop, heat: NDArray[np.int32], seeding: int, of: Seen | None) -> NDArray[np.int32]:
    """The running sum of heat, such that the corn stands at the collar that was seen on the day on which it was.

    Before that day heat is stretched, after it shifted. [row, 366]

    Raises `SettingError` for a collar seen on or before the seeding day.
    """
    if of is None:
        return heat
    if of.day <= seeding:
        raise SettingError(f"V{of.collar} can't be seen before the corn is seeded.", "Correct the day, or --seeding.")
    need = bean_light.collar_heat(corn, of.collar)[0]
    begun, then = heat[:, seeding + 1, None].astype(float), heat[:, of.day + 1, None].astype(float)
    stretched = begun + (heat - begun) * need / np.maximum(then - begun, 1)
    shifted = begun + need + (heat - then)
    day = np.arange(heat.shape[1])
    out = np.where(day <= of.day + 1, stretched, shifted)
    return np.where(day <= seeding + 1, heat, np.rint(out)).astype(np.int32)


def sown_on(of: Way, seeding: int, corn: Crop, heat: NDArray[np.int32], days: CornDays, seen_: Seen | None) -> Floats:
    """The legume's sowing day by row; three for a collar, one for all else. -> float [end, row]"""
    if of.collar is not None:
        return collar_days(corn, heat, seeding, of.collar, seen_)
    if of.stage:
        return days.stages[of.stage][:, :1].T
    day = seeding + of.after if of.after is not None else of.day
    assert day is not None  # one of the four is set
    return np.full((1, len(heat)), day, float)


def checked(ways: Sequence[str | int], corn: Crop) -> tuple[Way, ...]:
    """Ways as typed, each once. Raises `SettingError` for none."""
    found = {one.named.name: one for one in (way(said, corn) for said in ways)}
    if not found:
        raise SettingError("There is no way to sow.", "Name one or more, such as 'with corn' or V5.")
    return tuple(found.values())
