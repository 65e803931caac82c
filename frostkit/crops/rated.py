"""A corn entry from a rating alone: the needs that the library derives from a rating, for every rating that is sold.

Silking, dent and half milk are shares of the heat from sowing to maturity, which the rating is taken as; silage at 65 %
moisture comes 150 CHU before it. **A hybrid's rating counts the heat from sowing to maturity (MAPAQ, Le choix de ses
hybrides de mais-grain); the rating of an area counts it from a calendar date, whenever the crop is sown**: the same
word for two sums. Heat before sowing is in the area's figure and not in the hybrid's.
"""

import re
from typing import TYPE_CHECKING

from frostkit.errors import CropError

if TYPE_CHECKING:  # entries are read with the help of this module
    from frostkit.crops.entry import Crop

PATTERNS = {"silage": "silage-2300", "grain-corn": "grain-corn-2300"}
"""Name of a kind of entry, and the library's entry that all of its kind are like, but for their rating."""
STEP = 25  # CHU between the ratings that names may have: as tables of hybrids go (La Financiere agricole du Quebec)
LEAST, MOST = 1_700, 3_600  # CHU: ratings of hybrids that are sold lie within; common practice, no source

SHARES = {  # of the rating: value, low, high
    "silking": (0.525, 0.50, 0.55),  # 50 to 55 % of the heat from planting to maturity (Manitoba Agriculture)
    "dent": (0.84, 0.80, 0.88),  # 35 to 42 of 55 to 65 days after silking (Clemson, after Iowa State SR 48); judgement
    "half_milk": (0.91, 0.88, 0.94),  # 42 to 47 of 55 to 60 days after silking (Wisconsin L059); by heat judgement
}
BEFORE = {  # CHU before the rating: value, low, high of the need
    "fit_to_chop": (150, 200, 100),  # 65 % moisture 100 to 200 CHU before the rating: from memory of extension practice
    "black_layer": (0, 150, 0),  # the rating itself (MAPAQ); the range is judgement: each company rates its own
}
LATER = 6.8 / 2700  # share of the goal's need less for each day of later sowing (Nielsen et al. 2002, Agron. J. 94:549)

_NAME = re.compile(rf"({'|'.join(PATTERNS)})-(\d{{4}})")
_SECTION = re.compile(r"\[([a-z0-9_.]+)\]\s*")
_NEED = re.compile(r"need = \{ value = [\d.]+, low = [\d.]+, high = [\d.]+, ")


def rating_of(name: str) -> tuple[str, int] | None:
    """The library's entry to start from and the rating that a name asks for; None for a name of another kind.

    Raises `CropError` for a rating beyond those that are sold.

    >>> rating_of("silage-2750"), rating_of("silage-2310")
    (('silage-2300', 2750), None)
    """
    found = _NAME.fullmatch(name)
    if found is None or int(found[2]) % STEP:
        return None
    rating = int(found[2])
    if not LEAST <= rating <= MOST:
        raise CropError(
            f"crop='{name}': a rating of {rating:,} CHU is outside {LEAST:,} to {MOST:,}.",
            "Choose a rating that is sold, or write an entry of your own.",
        )
    return PATTERNS[found[1]], rating


def needs(rating: float) -> dict[str, tuple[float, float, float]]:
    """Need from sowing to each stage that follows from the rating: value, low and high [CHU].

    >>> needs(2300)["silking"], needs(2300)["fit_to_chop"]
    ((1208, 1150, 1265), (2150, 2100, 2200))
    """
    of: dict[str, tuple[float, float, float]] = {}
    for stage, (value, low, high) in SHARES.items():
        of[stage] = _whole(value * rating), _whole(low * rating), _whole(high * rating)
    for stage, (value, low, high) in BEFORE.items():
        of[stage] = rating - value, rating - low, rating - high
    return of


def _whole(heat: float) -> int:
    """Rounded to 1 CHU, halves up."""
    return int(heat + 0.5 + 1e-9)


def rated(text: str, rating: float) -> str:
    """The TOML of an entry of the library, with the needs that follow from another rating.

    text : the entry's; rating : CHU
    """
    of = needs(rating)
    goal, section, lines = "", "", []
    for line in text.splitlines():
        if match := _SECTION.fullmatch(line):
            section = match[1]
        stage = section.removeprefix("stage.")
        if not section and line.startswith("goal ="):
            goal = line.partition('"')[2].rstrip('"')
        if not section and line.startswith("title ="):
            line = f'{line.partition(" rated ")[0]} rated {rating:,.0f} CHU"'
        elif section == "rating" and line.startswith("value ="):
            line = f"value = {rating:g}"
        elif stage in of and (match := _NEED.match(line)):
            value, low, high = of[stage]
            line = f"need = {{ value = {value:g}, low = {low:g}, high = {high:g}, {line[match.end() :]}"
        elif section == "late_planting" and line.startswith(("value =", "high =")):
            less = LATER * of[goal][0] * (1.5 if line.startswith("high") else 1.0)  # the range is judgement
            line = f"{line.partition(' =')[0]} = {less:.1f}"
        lines.append(line)
    return "\n".join(lines) + "\n"


def at_rating(crop: "Crop", rating: float) -> "Crop":
    """An entry with the needs that follow from another rating, quickly: nothing else of it is changed or checked."""
    stages = dict(crop.stage)
    for name, need in needs(rating).items():
        if name in stages:
            stage, ends = stages[name], dict(zip(("value", "low", "high"), need, strict=True))
            stages[name] = stage.model_copy(update={"need": stage.need.model_copy(update=ends)})
    return crop.model_copy(update={"stage": stages})
