"""One place of a region, looked into: the answer that a single station gives."""

from frostkit.answers.answer import Answer
from frostkit.answers.seeding.window import window
from frostkit.crops.entry import Crop, load
from frostkit.errors import SettingError, nearest
from frostkit.region.answer import Question
from frostkit.region.places import Place, Source, blocks


def crops_of(place: Place, question: Question) -> tuple[Crop | None, Crop | None]:
    """Corn and legume of a place: its own, or those asked for."""
    return _crop(place.corn, question.corn), _crop(place.legume, question.legume)


def _crop(own: str | None, asked: Crop | None) -> Crop | None:
    return asked if own is None else None if own == "none" else load(own)


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


def find(source: Source, question: Question, name: str, names: list[str]) -> Place:
    """The place of this name. names : of all places, in the order of the source

    Raises `SettingError` for a name that no place has.
    """
    if name not in names:
        raise SettingError(f"There is no place '{name}'.{nearest(name, names)}", "Name one as the table has it.")
    at = names.index(name)
    assert at // source.block < blocks(source)
    block = source.read(at // source.block, question.climate, question.for_season)
    place: Place = block.places[at % source.block]
    return place
