"""Whether a crop entry can be used: every plan that an answer makes of it, made once."""

from frostkit.answers.plans import FROST, late_planting, needs_latitude, plan, whole_plan
from frostkit.answers.silage.drying import hybrid
from frostkit.crops.entry import Crop
from frostkit.errors import FrostkitError
from frostkit.seasons.calendar import column

LATITUDE = 50.0  # degrees north: any will do, where an entry goes by day length
SOWN = (column(4, 15), column(6, 15), column(7, 15))  # early, late, later


def faults(crop: Crop) -> list[str]:
    """What stands against using an entry, a line each; nothing where `window`, `late-legume` and `chop` can plan it.

    >>> from frostkit.crops.entry import load
    >>> faults(load("silage-2300"))
    []
    """
    found = []
    try:
        for frost in FROST:
            plan(crop, LATITUDE, frost=frost)
            whole_plan(crop, LATITUDE, frost=frost)
        bare = [stage.name for stage in whole_plan(crop).stages] if not needs_latitude(crop) else crop.stages()
        if crop.closes and crop.closes not in bare:
            found.append(f"key 'closes': '{crop.closes}' goes by day length; a canopy closes by heat.")
        if crop.late_planting is not None:
            late_planting(plan(crop, LATITUDE), crop, SOWN)
        if crop.moisture is not None:
            hybrid(crop)
    except FrostkitError as fault:
        found.append(f"{fault.what} {fault.do}".strip())
    return found
