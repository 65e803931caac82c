"""One place of a region, looked into: the answer that a single station gives."""

import xarray as xr

from frostkit.answers.answer import Answer
from frostkit.answers.seeding.window import window
from frostkit.crops.entry import Crop
from frostkit.errors import SettingError, nearest
from frostkit.region.answer import Question, own_crop
from frostkit.region.places import Fields, Place, Source


def crops_of(place: Place, question: Question) -> tuple[Crop | None, Crop | None]:
    """Corn and legume of a place: its own, or those asked for."""
    return own_crop(place.corn, question.corn), own_crop(place.legume, question.legume)


def window_at(place: Place, question: Question) -> Answer:
    """The window of a place, as `window` has it. Raises `SettingError` where the place has no record."""
    if place.site is None:
        raise SettingError(f"'{place.name}' has no answer: {place.fault}", "Look into another place.")
    corn, legume = crops_of(place, question)
    return window(
        place.site,
        corn,
        legume,
        odds=question.odds,
        after=question.after,
        not_after=question.not_after,
        store=place.store or question.store,
        apart=question.apart,
        late_planting=question.late_planting,
    )


def names_of(source: Source, found: xr.Dataset) -> list[str]:
    """Names of all places in the order of their source: fields stand there as their stations come."""
    names = [str(one) for one in found["name"].to_numpy()]
    return [names[number] for number in source.order] if isinstance(source, Fields) else names


def find(source: Source, question: Question, found: xr.Dataset, name: str) -> Place:
    """The place of this name among the answers. Raises `SettingError` for a name that no place has."""
    names = names_of(source, found)
    if name not in names:
        raise SettingError(f"There is no place '{name}'.{nearest(name, names)}", "Name one as the table has it.")
    at = names.index(name)
    block = source.read(at // source.block, question.climate, question.for_season)
    place: Place = block.places[at % source.block]
    return place
