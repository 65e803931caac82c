"""What the user tells of a field this season: when it was sown, and what was seen in it since."""

from dataclasses import dataclass

from frostkit.answers.silage.drying import Seen, observations
from frostkit.errors import SettingError
from frostkit.seasons.calendar import words

Valued = float | tuple[float, int] | None


@dataclass(frozen=True)
class Observed:
    """One field, this season; days are columns, and a value without a day was seen today.

    emergence, silking, legume_emergence : columns; collars : leaf collars of the corn, (number, column)
    milk_line : (share that it has come down, column); moisture : (percent of the whole plant, column)
    """

    emergence: int | None = None
    collars: tuple[int, int] | None = None
    silking: int | None = None
    milk_line: tuple[float, int] | None = None
    moisture: tuple[float, int] | None = None
    legume_emergence: int | None = None

    @property
    def anything(self) -> bool:
        """Whether anything was seen."""
        return self != Observed()

    def or_else(self, other: "Observed") -> "Observed":
        """The same, with another's where this one has none."""
        names = ("emergence", "collars", "silking", "milk_line", "moisture", "legume_emergence")
        both = {name: getattr(self if getattr(self, name) is not None else other, name) for name in names}
        return Observed(**both)

    def stages(self) -> dict[str, int]:
        """Stages of the corn that were seen, with their columns."""
        found = {"emergence": self.emergence, "silking": self.silking}
        return {name: on for name, on in found.items() if on is not None}

    def drying(self, today: int, seeding: int | None) -> list[Seen]:
        """What bears on the moisture, in order of day; checked."""
        return observations(today, self.silking, self.milk_line, self.moisture, seeding)


def observed(
    today: int,
    emergence: int | None = None,
    collars: Valued = None,
    silking: int | None = None,
    milk_line: Valued = None,
    moisture: Valued = None,
    legume_emergence: int | None = None,
) -> Observed:
    """What was seen, checked: nothing comes after today. Raises `SettingError` for a day that does."""
    found = Observed(
        emergence,
        _whole(_dated(collars, today)),
        silking,
        _dated(milk_line, today),
        _dated(moisture, today),
        legume_emergence,
    )
    days = {
        "Emergence": emergence,
        "The bean's emergence": legume_emergence,
        "Silking": silking,
        "The collar": None if found.collars is None else found.collars[1],
        "The milk line": None if found.milk_line is None else found.milk_line[1],
        "The sample": None if found.moisture is None else found.moisture[1],
    }
    for what, on in days.items():
        if on is not None and on > today:
            raise SettingError(
                f"{what}, seen on {words(on)}, comes after today, {words(today)}.", "Give a day that has passed."
            )
    return found


def _dated(value: Valued, today: int) -> tuple[float, int] | None:
    if value is None:
        return None
    return (float(value[0]), int(value[1])) if isinstance(value, tuple) else (float(value), today)


def _whole(of: tuple[float, int] | None) -> tuple[int, int] | None:
    if of is None:
        return None
    if of[0] != int(of[0]):
        raise SettingError(f"There is no leaf collar {of[0]:g}.", "Count the collars that are whole, such as 7.")
    return int(of[0]), of[1]
