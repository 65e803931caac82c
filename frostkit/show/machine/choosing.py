"""`frostkit choose --json`."""

from typing import Any

from frostkit.answers.cautions import as_dicts
from frostkit.answers.choosing import Choice, ChoosingAnswer
from frostkit.seasons.calendar import code
from frostkit.show.machine.parts import one_share, share_dict


def choosing(answer: ChoosingAnswer) -> dict[str, Any]:
    """Hybrids and beans, best odds first."""
    start = answer.start
    return {
        "station": answer.behind.as_dict(),
        "seeding": code(answer.seeding_day),
        "after": answer.after,
        "odds_wanted": answer.odds_wanted,
        "highest": {use: None if crop is None else crop.name for use, crop in answer.highest.items()},
        "within": None if answer.within is None else answer.within.name,
        "corn": [_choice(one) for one in answer.corns],
        "beans": [_choice(one) for one in answer.beans],
        "left_out": list(answer.left_out),
        "cold_start": {
            "soil_under_c": start.limit,
            "days": start.days,
            "rain_mm": start.millimetres,
            **{
                who: {
                    "cold": share_dict(start.soil, index),
                    "cold_and_wet": None if start.rain is None else share_dict(start.rain, index),
                }
                for index, who in enumerate(("corn", "legume"))
            },
        },
        "cautions": as_dicts(answer.cautions),
    }


def _choice(one: Choice) -> dict[str, Any]:
    return {
        "name": one.crop.name,
        "title": one.crop.title,
        "use": one.crop.use,
        "rating": None if one.crop.rating is None else one.crop.rating.value,
        "reaches": one.reaches,
        "odds": one_share(one.odds),
        "in_the_open": None if one.alone is None else one_share(one.alone),
    }
