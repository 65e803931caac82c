"""What the legume is worth in the silage and the soil: protein by dry matter, nitrogen left, nitrate on one basis."""

import tomllib
from collections.abc import Sequence
from importlib.resources import files
from typing import Any, NamedTuple

from frostkit.errors import SettingError

NITROGEN_IN_PROTEIN = 6.25  # Kjeldahl factor, feed analysis
NITRATE_OF_NITROGEN = 62.005 / 14.007  # molar masses of NO3 and N
INCHES_PER_DOUBLING = 6.0  # ppm x 2 = lb/ac for a six-inch sample: a county water programme's converter
KG_HA_OF_LB_AC = 1.12085  # 0.45359237 kg a lb over 0.40468564 ha an acre


class Load(NamedTuple):
    """One feed going into the silage.

    weight : fresh weight, any unit, the same for all
    moisture : percent of fresh weight
    protein : crude protein, percent of dry matter
    """

    weight: float
    moisture: float
    protein: float


class Blend(NamedTuple):
    """A mix: fresh weight, moisture [% of fresh weight], crude protein [% of dry matter]."""

    weight: float
    moisture: float
    protein: float


def blend(loads: Sequence[Load]) -> Blend:
    """Moisture and protein of a mix of feeds, weighed by dry matter; weighing wet overstates the protein of the wetter.

    Raises `SettingError` where there is nothing to mix, a weight is not above 0, or a percentage is outside 0 to 100.

    >>> mixed = blend([Load(800, 65, 7.5), Load(200, 75, 18)])
    >>> round(mixed.moisture, 1), round(mixed.protein, 2)
    (67.0, 9.09)
    """
    if not loads:
        raise SettingError("There is no feed to mix.", "Give at least one load.")
    for load in loads:
        if not load.weight > 0 or not 0 <= load.moisture < 100 or not 0 <= load.protein <= 100:
            raise SettingError(
                f"A load of weight {load.weight:g}, {load.moisture:g} % moisture, {load.protein:g} % protein can't be.",
                "Weight is above 0, moisture from 0 to below 100 %, protein from 0 to 100 % of dry matter.",
            )
    weight = sum(load.weight for load in loads)
    dry = [load.weight * (1 - load.moisture / 100) for load in loads]
    protein = sum(part * load.protein for part, load in zip(dry, loads, strict=True)) / sum(dry)
    return Blend(weight, 100 * (1 - sum(dry) / weight), protein)


def share_of_beans(corn: float, beans: float, wanted: float) -> float:
    """Share of the dry matter that must be beans to lift protein from `corn` to `wanted`; all in % of dry matter.

    Raises `SettingError` where no share does.

    >>> round(share_of_beans(7.5, 18, 9.5), 3)
    0.19
    """
    if not (min(corn, beans) <= wanted <= max(corn, beans)) or corn == beans:
        raise SettingError(
            f"No mix of {corn:g} % and {beans:g} % protein gives {wanted:g} %.", "Want a figure between the two."
        )
    return (wanted - corn) / (beans - corn)


def nitrogen(protein: float) -> float:
    """Nitrogen [% of dry matter] in crude protein [% of dry matter].

    >>> nitrogen(18)
    2.88
    """
    return protein / NITROGEN_IN_PROTEIN


def nitrate(nitrate_nitrogen: float) -> float:
    """Nitrate [ppm] of nitrate-nitrogen [ppm]: name which one a lab prints before comparing.

    >>> round(nitrate(1000))
    4427
    """
    return nitrate_nitrogen * NITRATE_OF_NITROGEN


def soil_nitrogen_lb_ac(ppm: float, inches: float = 6.0) -> float:
    """Nitrogen [lb/ac] in a soil sample of a depth [inches]: ppm x 2 for each six inches (about 2 million lb an acre).

    Raises `SettingError` for a depth or a reading below 0.

    >>> soil_nitrogen_lb_ac(12.5, inches=12)
    50.0
    """
    if ppm < 0 or inches <= 0:
        raise SettingError(f"{ppm:g} ppm in {inches:g} inches can't be.", "Give ppm of 0 or more and a depth above 0.")
    return ppm * 2 * inches / INCHES_PER_DOUBLING


def kg_ha(lb_ac: float) -> float:
    """kg/ha of lb/ac.

    >>> round(kg_ha(50), 2)
    56.04
    """
    return lb_ac * KG_HA_OF_LB_AC


def facts() -> dict[str, dict[str, Any]]:
    """What a legume in silage corn is said to bring, by name, each with value or low and high, unit and source.

    >>> facts()["nitrogen_left"]["unit"]
    'lb/ac'
    """
    return tomllib.loads((files("frostkit.answers") / "feed.toml").read_text("utf-8"))
