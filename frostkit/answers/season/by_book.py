"""What the field's book tells other answers: when the field was sown, what was seen, and its hybrid's own need."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from frostkit.answers.answer import Amount, Answer, CropName, Says, Term
from frostkit.answers.corn import is_silage
from frostkit.answers.season.book import Book, Told, told
from frostkit.answers.season.calibrate import Calibrated, calibrate, with_need
from frostkit.answers.silage.chop import Today, today_of
from frostkit.answers.silage.farm import Field
from frostkit.crops.entry import Crop
from frostkit.ensemble.site import Site
from frostkit.errors import SettingError

SEEN = ("silking", "milk_line", "moisture")


def one_of(book: Book, field: str) -> str:
    """The field that is asked about; the only one where none is named. Raises `SettingError` where several could be."""
    if not field and len(book.fields()) > 1:
        raise SettingError(
            f"{book.path.name} tells of {len(book.fields())} fields.",
            f"Name one: field='{book.fields()[0]}'; or, typed, --farm FILE --field NAME.",
        )
    return field or next(iter(book.fields()), "")


def standing(
    site: Site, corn: Crop, book: Book, field: str, today: Today | None, given: dict[str, Any]
) -> tuple[Crop, dict[str, Any], Callable[[Answer], Answer]]:
    """What chopping stands on: the corn by its samples, what is given with the book's where that was left out, and what
    makes an answer say so."""
    field = one_of(book, field)
    year, now, _ = today_of(site, today)
    given, taken = seen_of(told(book.of(field, year), now), given)
    own, need = own_hybrid(site, corn, book, (field,), before=year)
    assert own is not None

    def says(answer: Answer) -> Answer:
        answer = with_told(answer, field, taken)
        return answer if need is None else with_calibration(answer, need)

    return own, given, says


def told_today(site: Site, book: Book, field: str, today: Today | None) -> Told:
    """What the book tells of a field's season until today, that day included."""
    year, now, _ = today_of(site, today)
    return told(book.of(one_of(book, field), year), now)


def own_hybrid(
    site: Site, corn: Crop | None, book: Book, fields: Sequence[str], before: int | None = None
) -> tuple[Crop | None, Calibrated | None]:
    """The corn with its need as dried samples of earlier seasons have it; as it is where none was taken of it."""
    if corn is None or not is_silage(corn):
        return corn, None
    need = calibrate(site, corn, book, fields, before)
    return (corn, None) if need is None else (with_need(corn, need.need), need)


def own_hybrids(site: Site, corns: Sequence[Crop], book: Book) -> tuple[list[Crop], Callable[[Answer], Answer]]:
    """Corns, each with its need as the book's dried samples have it; and what makes an answer say so.

    A sample tells of the corn that the book says was sown.
    """
    each = [own_hybrid(site, corn, book, ()) for corn in corns]
    moved = [need for _, need in each if need is not None]

    def says(answer: Answer) -> Answer:
        if not moved:
            return answer
        crops = tuple(CropName(need.crop.name, need.crop.title) for need in moved)
        values = [{"crop": need.crop.name, **_values(need)} for need in moved]
        return answer.with_more([Says("calibrated", {"crops": crops})], {"calibrated": values})

    return [corn for corn, _ in each if corn is not None], says


def with_calibration(answer: Answer, need: Calibrated) -> Answer:
    """The answer that says by which samples of earlier seasons the corn's need was moved."""
    return answer.with_more([Says("calibrated", _said(need))], {"calibrated": _values(need)})


def _said(need: Calibrated) -> dict[str, Any]:
    """A need by samples, as a sentence has it."""
    low, high = need.band
    amounts = {"need": need.need, "entry": need.entry, "low": low, "high": high}
    return {**{name: Amount(of, need.unit) for name, of in amounts.items()}, "samples": len(need.samples)}


def _values(need: Calibrated) -> dict[str, Any]:
    """A need by samples, for programs."""
    low, high = (round(end, 1) for end in need.band)
    return {"need": round(need.need, 1), "entry": need.entry, "low": low, "high": high, "samples": len(need.samples)}


def with_told(answer: Answer, field: str, what: Sequence[str]) -> Answer:
    """The answer that says what it took from the book."""
    if not what:
        return answer
    says = Says("by_book", {"field": field, "what": tuple(Term(f"book_{one}") for one in what)})
    return answer.with_more([says], {"by_book": {"field": field, "what": list(what)}})


def seen_of(known: Told, given: dict[str, Any]) -> tuple[dict[str, Any], list[str]]:
    """What chopping stands on, with the book's where it was left out; and what the book told of it."""
    theirs = {"seeding": known.seeding} | {name: getattr(known.seen, name) for name in SEEN}
    taken = [name for name, value in theirs.items() if given.get(name) is None and value is not None]
    both = given | {name: theirs[name] for name in taken}
    return both, ["sown" if name == "seeding" else name for name in taken]


def fields_told(site: Site, fields: Sequence[Field], book: Book, today: Today) -> tuple[list[Field], list[str]]:
    """Fields as they stand today by the book, and the names of those that are chopped already."""
    year, now, _ = today_of(site, today)
    standing, gone = [], []
    for field in fields:
        known = told(book.of(field.name, year), now)
        if known.chopped is not None:
            gone.append(field.name)
            continue
        seen = {name: value for name in SEEN if (value := getattr(known.seen, name)) is not None}
        sown = field.seeded if known.seeding is None else known.seeding
        standing.append(replace(field, seeded=sown, **seen))
    return standing, gone
