"""Growth that is wanted of a legume, with its unit: heat gathered, days vegetative, or a stage; the user's to set."""

from dataclasses import replace
from typing import NamedTuple

from frostkit.answers.plans import plan
from frostkit.crops.entry import Crop
from frostkit.errors import SettingError, nearest
from frostkit.seasons.growth import Plan, Stage
from frostkit.seasons.heat import Heat

HEAT = Heat("mean", base=10.0)
"""The clock that all beans' growth is reported in, so that they compare; base 10 degC: extension (from memory)."""
UNITS = ("degree days", "days")


class Growth(NamedTuple):
    """How much growth is wanted.

    amount : degree days above 10 degC since emergence, or days vegetative since emergence; 0 for a stage
    unit : "degree days", "days" or "stage"; stage : its name in the crop's entry
    """

    amount: float
    unit: str
    stage: str = ""

    def says(self, crop: Crop) -> str:
        """In words.

        >>> from frostkit.crops.entry import load
        >>> Growth(90, "days").says(load("forage-late"))
        '90 days vegetative'
        """
        if self.unit == "stage":
            stage = crop.stage[self.stage]
            need = f" ({stage.need.value:g} {stage.need.unit})" if self.stage == "growth" else ""
            return f"{stage.title}{need}"
        return (
            f"{self.amount:g} days vegetative"
            if self.unit == "days"
            else f"{self.amount:g} degree days since emergence"
        )


def wanted(text: str | None, crop: Crop) -> Growth:
    """Growth as a person types it: "500 degree days", "90 days", a stage's name; None is the entry's own goal.

    Raises `SettingError` for anything else.

    >>> from frostkit.crops.entry import load
    >>> wanted("500 degree days", load("forage-late")), wanted(None, load("soybean-00")).stage
    (Growth(amount=500.0, unit='degree days', stage=''), 'ripe')
    """
    if text is None:
        return Growth(0.0, "stage", crop.goal)
    said = text.strip()
    if said in crop.stage:
        return Growth(0.0, "stage", said)
    number, _, unit = said.partition(" ")
    try:
        amount = float(number)
    except ValueError:
        amount = 0.0
    if unit.strip() not in UNITS or not 0 < amount < 10_000:
        allowed = ", ".join(crop.stage)
        raise SettingError(
            f"growth='{text}' is not known for {crop.name}.{nearest(said, crop.stage)}",
            f"Write '500 degree days', '90 days', or a stage of the entry: {allowed}.",
        )
    return Growth(amount, unit.strip())


def growth_plan(crop: Crop, growth: Growth, latitude: float | None = None, frost: str = "usual",
                cool_nights: bool | None = None) -> Plan:  # fmt: skip
    """The plan whose goal is this growth. Days vegetative have no plan: they are told from dates.

    Raises `SettingError` for days, or for an entry without an emergence to count from.
    """
    if growth.unit == "stage":
        return plan(crop, latitude, growth.stage, frost=frost, cool_nights=cool_nights)
    if growth.unit != "degree days" or "emergence" not in crop.stage:
        raise SettingError(f"{crop.name} can't count {growth.unit} from emergence.",
                           "Give the entry a stage 'emergence', or want degree days or a stage.")  # fmt: skip
    of = plan(crop, latitude, "emergence", frost=frost)
    goal = Stage("growth", HEAT, round(growth.amount * HEAT.per_unit), since=of.goal)
    return replace(of, stages=(*of.stages, goal), goal=len(of.stages))
