"""What a late legume is wanted for: a weight, protein, nitrogen or days vegetative; as dry matter per hectare."""

import re
from typing import NamedTuple

from frostkit.answers.feed import KG_HA_OF_LB_AC, nitrogen
from frostkit.answers.legume.growth import facts
from frostkit.answers.legume.worth import Range, fact
from frostkit.errors import SettingError

WEIGHT, PROTEIN, NITROGEN, VEGETATIVE = "kg/ha", "points of protein", "kg N/ha", "days vegetative"
_SAID = re.compile(r"([\d.,]+)\s*(.*)")
_TON_AC = 2000 * KG_HA_OF_LB_AC  # kg/ha in a short ton an acre
_UNITS = {
    "kg/ha": (WEIGHT, 1.0),
    "t/ha": (WEIGHT, 1000.0),
    "lb/ac": (WEIGHT, KG_HA_OF_LB_AC),
    "ton/ac": (WEIGHT, _TON_AC),
    "points of protein": (PROTEIN, 1.0),
    "point of protein": (PROTEIN, 1.0),
    "points": (PROTEIN, 1.0),
    "kg n": (NITROGEN, 1.0),
    "kg n/ha": (NITROGEN, 1.0),
    "lb n": (NITROGEN, KG_HA_OF_LB_AC),
    "lb n/ac": (NITROGEN, KG_HA_OF_LB_AC),
    "days": (VEGETATIVE, 1.0),
    "days vegetative": (VEGETATIVE, 1.0),
}


class Goal(NamedTuple):
    """What is wanted by the chop.

    amount, unit : in `WEIGHT` (dry matter standing), `PROTEIN` (of the blend), `NITROGEN` (in the tops), `VEGETATIVE`
    source : of a default; empty for what the user asked for
    """

    amount: float
    unit: str
    source: str = ""

    def standing(self, corn: float, kept: float) -> float:
        """Dry matter of the legume that must stand at the chop for it [kg/ha]; NaN for days.

        corn : corn alone [t/ha]; kept : share of it beside the legume

        >>> round(Goal(0.5, PROTEIN).standing(12, 0.95))
        671
        """
        if self.unit == WEIGHT:
            return self.amount
        rich = fact("protein", "beans").middle
        if self.unit == NITROGEN:
            return 100 * self.amount / nitrogen(rich)
        if self.unit == PROTEIN:
            poor, stays = fact("protein", "corn").middle, fact("left", "stubble").middle
            lift = rich - poor - self.amount
            return float("inf") if lift <= 0 else 1000 * self.amount * corn * kept / lift / (1 - stays)
        return float("nan")


def goal(said: str | None) -> Goal:
    """A goal as a person types it: "300 kg/ha", "0.5 points of protein", "30 kg N", "90 days"; None: the default.

    Raises `SettingError` for anything else.

    >>> goal("30 kg N"), goal("0.5 points of protein").unit
    (Goal(amount=30.0, unit='kg N/ha', source=''), 'points of protein')
    """
    if said is None:
        entry = facts()["goal"]["weight"]
        return Goal(float(entry["value"]), entry["unit"], entry["source"])
    found = _SAID.fullmatch(said.strip())
    unit = " ".join(found[2].lower().split()) if found else ""
    try:
        amount = float(found[1].replace(",", "")) if found else 0.0
    except ValueError:
        amount = 0.0
    if unit not in _UNITS or not 0 < amount < 100_000:
        raise SettingError(
            f"goal='{said}' is not known.",
            "Write '300 kg/ha', '270 lb/ac', '0.5 points of protein', '30 kg N' or '90 days' (vegetative).",
        )
    to, factor = _UNITS[unit]
    return Goal(round(amount * factor, 6), to)


def kept_source(together: bool, rows: str) -> str:
    """Where `corn_kept` comes from."""
    table = facts()["corn_kept"]
    names = ["together" if together else "into", *([rows] if rows != "ordinary" else [])]
    return "; ".join(table[name]["source"] for name in names)


def corn_kept(together: bool, rows: str) -> Range:
    """Corn beside the legume, of corn alone in ordinary rows: published range and judgement.

    >>> corn_kept(True, "ordinary")
    Range(low=0.5, middle=0.95, high=1.05)
    """
    table = facts()["corn_kept"]
    ends = [1.0, 1.0, 1.0]
    for name in ("together" if together else "into", *((rows,) if rows != "ordinary" else ())):
        entry = table[name]
        ends = [one * entry[key] for one, key in zip(ends, ("low", "value", "high"), strict=True)]
    return Range(*ends)
