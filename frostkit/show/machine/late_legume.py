"""`frostkit late-legume --json`."""

from typing import Any

from frostkit.answers.cautions import as_dicts
from frostkit.answers.late_legume import Bean, LateLegumeAnswer, Sown
from frostkit.answers.spread import only_day
from frostkit.odds.estimate import Share
from frostkit.seasons.calendar import code
from frostkit.seasons.interval import SeasonDates
from frostkit.show.machine.parts import number, one_share, pairs, share_dict


def late_legume(answer: LateLegumeAnswer) -> dict[str, Any]:
    """Every bean, every way to sow it, season by season."""
    return {
        "station": answer.behind.as_dict(),
        "corn": answer.corn.name,
        "seeding": code(answer.seeding_day),
        "odds_wanted": answer.odds_wanted,
        "seasons": [int(season) for season in answer.seasons],
        "corn_chop": pairs(only_day(answer.corn_days.chop)),
        "beans": [_bean(bean) for bean in answer.beans],
        "options": list(answer.options),
        "does_not_know": list(answer.does_not_know()),
        "cautions": as_dicts(answer.cautions),
    }


def _bean(bean: Bean) -> dict[str, Any]:
    odds = [{"sowing": code(day), **share_dict(bean.odds, index)} for index, day in enumerate(bean.days)]
    return {
        "bean": bean.crop.name,
        "growth": bean.growth.says(bean.crop),
        "last_day": None if bean.last_day is None else code(bean.last_day),
        "sown": [_sown(sown) for sown in bean.sown],
        "odds": odds,
    }


def _sown(sown: Sown) -> dict[str, Any]:
    def amounts(of: SeasonDates | None) -> list[list[float | None]] | None:
        if of is None:
            return None
        return [[number(least, 1), number(most, 1)] for least, most in zip(of.first, of.last, strict=True)]

    def odds(of: Share | None) -> dict[str, Any] | None:
        return None if of is None else one_share(of)

    both, only_with, only_this, neither = sown.instead
    return {
        "name": sown.name,
        "sown": pairs(sown.sown),
        "emergence": pairs(sown.emergence),
        "first_flower": None if sown.flower is None else pairs(sown.flower),
        "chop": pairs(sown.chop),
        "killed": pairs(sown.killed),
        "killed_in_the_open": pairs(sown.killed_open),
        "days_vegetative": amounts(sown.vegetative),
        "degree_days_at_chop": amounts(sown.heat_at_chop),
        "degree_days_at_frost": amounts(sown.heat_at_frost),
        "stage_at_chop": list(sown.stage_at_chop),
        "stage_at_frost": list(sown.stage_at_frost),
        "worked": odds(sown.odds),
        "worked_alone": odds(sown.alone),
        "vegetative_at_chop": odds(sown.vegetative_at_chop),
        "ripens": odds(sown.ripens),
        "against_with_the_corn": {
            "both": both,
            "only_with_the_corn": only_with,
            "only_this": only_this,
            "neither": neither,
        },
    }
