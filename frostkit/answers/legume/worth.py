"""What the legume is worth, line by line: kilogrammes to protein, nitrogen, grazing, cover and, with prices, money.

Each line carries its spread and its source, so that it can be questioned. The ends of a line are its least and most
over all ends of what goes into it: the widest it can be. All is metric here.
"""

import tomllib
from collections.abc import Callable, Mapping
from functools import cache
from importlib.resources import files
from itertools import product
from math import exp
from typing import Any, NamedTuple

from frostkit.answers.feed import KG_HA_OF_LB_AC, Load, blend, kg_ha, nitrogen, soil_nitrogen_lb_ac
from frostkit.errors import SettingError, choose

FOOT = 0.3048  # m
INCH = 2.54  # cm
KG_T_OF_LB_TON = 0.5  # of a short ton of 2,000 lb
PRICES = ("seed_kg", "inoculant_dose_ha", "pass_ha", "silage_t", "protein_kg", "nitrogen_kg", "grazing_day")
"""What a price can be given for, in any money: per kg, dose and hectare, hectare, tonne of dry matter, kg, kg, day."""


class Range(NamedTuple):
    """A number with what lies around it."""

    low: float
    middle: float
    high: float


class Line(NamedTuple):
    """One step of the chain."""

    name: str
    low: float
    middle: float
    high: float
    unit: str
    source: str


@cache
def facts() -> dict[str, Any]:
    """`worth.toml`: sections of numbers, each with unit and source.

    >>> facts()["protein"]["together"]["value"]
    9.24
    """
    return tomllib.loads((files("frostkit.answers.legume") / "worth.toml").read_text("utf-8"))


def fact(section: str, name: str) -> Range:
    """A number of `worth.toml` with its ends; an end that is not there is the value.

    >>> fact("nitrogen", "fixed_share")
    Range(low=50.0, middle=58.0, high=80.0)
    """
    entry = facts()[section][name]
    middle = float(entry["value"])
    return Range(float(entry.get("low", middle)), middle, float(entry.get("high", middle)))


def source(*places: str) -> str:
    """Sources of "section.name" places, one after the other."""
    return "; ".join(
        dict.fromkeys(facts()[section][name]["source"] for section, name in (p.split(".") for p in places))
    )


def spread(of: Callable[..., float], *inputs: Range) -> Range:
    """A result with its least and most over all ends of its inputs.

    >>> spread(lambda a, b: a - b, Range(1, 2, 3), Range(0, 1, 1))
    Range(low=0, middle=1, high=3)
    """
    ends = [of(*corner) for corner in product(*map(dict.fromkeys, inputs))]  # each number of an input once
    return Range(min(ends), of(*(one.middle for one in inputs)), max(ends))


# --- feed ----------------------------------------------------------------------------------------------------------


def blend_protein(corn: float, corn_protein: float, bean: float, bean_protein: float) -> float:
    """Crude protein of the blend [% of dry matter]; corn, bean in dry matter of one unit, protein in %.

    >>> round(blend_protein(12, 7.5, 1.2, 18), 4)
    8.4545
    """
    parts = [Load(dry, 0, protein) for dry, protein in ((corn, corn_protein), (bean, bean_protein)) if dry > 0]
    return blend(parts).protein


def protein_yield(dry: float, protein: float) -> float:
    """Crude protein [kg/ha] of dry matter [t/ha] at a protein [%].

    >>> protein_yield(12, 7.5)
    900.0
    """
    return 10 * dry * protein


def protein_to_break_even(protein: float, kept: float) -> float:
    """Protein [%] that a smaller crop needs for the same protein per hectare; kept: its share of the dry matter.

    >>> round(protein_to_break_even(7.5, 0.63), 1)
    11.9
    """
    return protein / kept


def loss_to_break_even(corn_protein: float, bean: float, bean_protein: float) -> float:
    """Corn [t/ha of dry matter] that may be lost before protein per hectare falls; bean [t/ha], proteins [%].

    >>> loss_to_break_even(7.5, 1.2, 18)
    2.88
    """
    return bean * bean_protein / corn_protein


def land_equivalent(corn: float, corn_alone: float, bean: float, bean_alone: float) -> float:
    """Land that the two would need apart for what they gave together (LER).

    >>> round(land_equivalent(11.4, 12, 1.2, 4), 2)
    1.25
    """
    return corn / corn_alone + bean / bean_alone


# --- nitrogen ------------------------------------------------------------------------------------------------------


def bean_nitrogen(dry: float, protein: float) -> float:
    """Nitrogen [kg/ha] in dry matter [kg/ha] of a protein [%].

    >>> round(bean_nitrogen(1200, 18), 2)
    34.56
    """
    return dry * nitrogen(protein) / 100


def balance(in_tops: float, fixed: float, taken: float = 1.0) -> float:
    """Nitrogen that the field wins or loses [kg/ha]: fixed less taken off, stubble and roots left out.

    in_tops : nitrogen in the legume [kg/ha]; fixed : share of it from the air; taken : share of the tops chopped

    >>> round(balance(34.56, 0.58), 1)
    -14.5
    """
    return fixed * in_tops - taken * in_tops


def release(percent: float) -> Range:
    """Nitrogen that residue gives up in its first season [kg per t of dry matter], by its nitrogen [%].

    Middle: the published line, held from its cap on; ends: that and the publisher's later figures.

    >>> release(2.88)
    Range(low=11.5, middle=12.075, high=12.075)
    """
    entry = facts()["nitrogen"]["release"]
    line = entry["slope"] * max(0.0, min(percent, entry["cap"]) - entry["none_at"])
    points = entry["later"]
    later = 0.0 if percent <= points[0][0] else points[-1][1]
    for (at, gives), (to, then) in zip(points, points[1:], strict=False):
        if at < percent <= to:
            later = gives + (then - gives) * (percent - at) / (to - at)
    both = [round(KG_T_OF_LB_TON * gives, 9) for gives in (line, later)]
    return Range(min(both), both[0], max(both))


def to_leave(wanted: float, percent: float) -> float:
    """Dry matter [t/ha] that holds a wanted nitrogen [kg/ha] at a nitrogen [%].

    >>> round(to_leave(56, 2.88), 3)
    1.944
    """
    return wanted / percent / 10


def soil_nitrogen(ppm: float, depth: float) -> float:
    """Nitrogen [kg/ha] of a soil sample [ppm] of a depth [cm]: the trade's ppm x 2 = lb/ac for each six inches.

    >>> round(soil_nitrogen(12.5, 30.48), 2)
    56.04
    """
    return kg_ha(soil_nitrogen_lb_ac(ppm, depth / INCH))


def soil_ppm(nitrogen_kg_ha: float, depth: float) -> float:
    """The way back from `soil_nitrogen`: nitrogen [kg/ha], depth [cm] -> [ppm].

    >>> round(soil_ppm(56.04, 30.48), 2)
    12.5
    """
    return nitrogen_kg_ha / soil_nitrogen(1.0, depth)


# --- grazing and cover ---------------------------------------------------------------------------------------------


def grazing_days(dry: float, used: float, a_day: float) -> float:
    """Days of feed for one animal: dry matter, share used, dry matter a day; one unit of weight, one of area.

    >>> round(grazing_days(3000, 0.5, 11.8), 1)
    127.1
    """
    return dry * used / a_day


def intake(weight: float, percent: float | None = None) -> float:
    """Dry matter a day of an animal of a weight, in the weight's unit: a percentage of it, or the animal unit's 26 lb a
    thousand pounds.

    >>> round(intake(1400), 1), intake(1400, 2.5)
    (36.4, 35.0)
    """
    return weight * (fact("grazing", "unit").middle / 10 if percent is None else percent) / 100


def ground_cover(dry: float, for_each: float) -> float:
    """Ground covered by residue [%]: 1 - exp(-A M) (Gregory 1982).

    dry : M, lying flat; for_each : A, area covered by a unit of it, in the same units

    >>> round(ground_cover(1500, 0.00175))
    93
    """
    return 100 * (1 - exp(-for_each * dry))


def soil_loss(covered: float, power: float) -> float:
    """Soil lost by water, as a share of bare ground's: exp(-b cover). covered : [%]; power : b

    >>> round(soil_loss(20, 0.035), 4)
    0.4966
    """
    return exp(-power * covered)


# --- seed ----------------------------------------------------------------------------------------------------------


def seed_rate(plants: float, weight: float, survival: float) -> float:
    """Seed [kg/ha] for plants/m2, weight of 1,000 seeds [g], seeds that become plants [%]: exact by units.

    >>> seed_rate(75, 150, 80)
    140.625
    """
    return plants * weight / survival


def row_length(area: float, spacing: float) -> float:
    """Row that holds an area: square metres and metres, or square feet and feet.

    >>> round(row_length(43.56, 2.5), 3)
    17.424
    """
    return area / spacing


# --- the chain -----------------------------------------------------------------------------------------------------


class Given(NamedTuple):
    """What the chain starts from.

    corn : silage corn alone [t/ha of dry matter]
    bean : what stands of the legume at the chop [kg/ha of dry matter]; bean_source : where it comes from, in words
    corn_protein, bean_protein : [% of dry matter]
    corn_kept : corn beside the legume, of corn alone; kept_source : where it comes from, in words
    stubble : share of the legume that stays below the cut or falls; all of it where it is not chopped
    chopped : whether the legume goes with the corn, or is left for grazing
    new_land : whether the field never had the legume: double inoculation
    plants, seed_weight, survival : see `seed_rate`
    animal : weight of one grazing animal [kg]
    """

    corn: Range
    bean: Range
    bean_source: str = "given"
    corn_protein: Range = fact("protein", "corn")
    bean_protein: Range = fact("protein", "beans")
    corn_kept: Range = fact("yield", "corn_kept")
    stubble: Range = fact("left", "stubble")
    chopped: bool = True
    new_land: bool = True
    plants: Range = fact("seed", "plants")
    seed_weight: Range = fact("seed", "weight")
    survival: Range = fact("seed", "survival")
    animal: float = 635.0
    kept_source: str = source("yield.corn_kept")

    def left(self) -> Range:
        """Share of the legume that is left on the field."""
        return self.stubble if self.chopped else Range(1.0, 1.0, 1.0)


def chain(given: Given, prices: Mapping[str, float] | None = None) -> list[Line]:
    """Every step from kilogrammes to worth, in metric units; money only for what has a price (see `PRICES`).

    Raises `SettingError` for amounts below 0, ends that are upside down, or a price for something else.

    >>> lines = {line.name: line for line in chain(Given(Range(12, 12, 12), Range(1200, 1200, 1200)))}
    >>> round(lines["protein_gain"].middle, 2)
    0.86
    """
    _check(given, prices or {})
    lines = [*_feed(given), *_nitrogen(given), *_left(given), *_costs(given)]
    return [*lines, *_money({line.name: line for line in lines}, given, prices)] if prices else lines


def _check(given: Given, prices: Mapping[str, float]) -> None:
    for name, value in given._asdict().items():
        if isinstance(value, Range) and not 0 <= value.low <= value.middle <= value.high:
            raise SettingError(
                f"{name} of {value.low:g}, {value.middle:g}, {value.high:g} can't be.",
                "Give three numbers of 0 or more, the least first.",
            )
    if given.stubble.high > 1:
        raise SettingError(f"A stubble of {given.stubble.high:g} of the legume can't be.", "Give a share from 0 to 1.")
    if not given.corn.low > 0 or not given.corn_protein.low > 0 or not given.survival.low > 0 or not given.animal > 0:
        raise SettingError(
            "Corn, its protein, survival and the animal's weight are more than 0.", "Give what there is."
        )
    for name, price in prices.items():
        choose("price", name, PRICES)
        if not 0 <= price < float("inf"):
            raise SettingError(f"A price of {price:g} for '{name}' can't be.", "Give a price of 0 or more.")


def _line(name: str, of: Range, unit: str, said: str) -> Line:
    return Line(name, float(of.low), float(of.middle), float(of.high), unit, said)


def _feed(given: Given) -> list[Line]:
    """Dry matter and protein."""
    corn, bean, kept, left = given.corn, given.bean, given.corn_kept, given.left()
    poor, rich = given.corn_protein, given.bean_protein
    in_blend = spread(lambda b, stays: b / 1000 * (1 - stays), bean, left)  # t/ha

    def blended(c, k, p, b, r):
        return blend_protein(c * k, p, b, r)

    def per_hectare(c, k, p, b, r):
        return protein_yield(c * k, p) + protein_yield(b, r)

    base = (corn, kept, poor, in_blend, rich)
    share = spread(lambda c, k, b: 100 * b / (b + c * k), corn, kept, in_blend)
    change = spread(lambda *x: per_hectare(*x) - protein_yield(x[0], x[2]), *base)
    even = spread(loss_to_break_even, poor, in_blend, rich)
    even_share = spread(lambda c, p, b, r: 100 * loss_to_break_even(p, b, r) / c, corn, poor, in_blend, rich)
    proteins, lost, cut = source("protein.corn", "protein.beans"), given.kept_source, source("left.stubble")
    return [
        _line("corn_alone", corn, "t/ha", "given"),
        _line("bean", bean, "kg/ha", given.bean_source),
        _line("bean_chopped", Range(*(1000 * end for end in in_blend)), "kg/ha", cut),
        _line("corn_lost", spread(lambda c, k: c * (1 - k), corn, kept), "t/ha", lost),
        _line("dry_matter", spread(lambda c, k, b: c * k + b, corn, kept, in_blend), "t/ha", lost),
        _line("bean_share", share, "% of dry matter", "arithmetic"),
        _line("protein_blend", spread(blended, *base), "% of dry matter", proteins),
        _line("protein_gain", spread(lambda *x: blended(*x) - x[2], *base), "points", proteins),
        _line("protein_alone", spread(protein_yield, corn, poor), "kg/ha", source("protein.corn")),
        _line("protein_together", spread(per_hectare, *base), "kg/ha", f"{proteins}; {lost}"),
        _line("protein_change", change, "kg/ha", f"{proteins}; {lost}"),
        _line("break_even_loss", even, "t/ha", "corn that may be lost before protein per hectare falls: arithmetic"),
        _line("break_even_share", even_share, "% of the corn", "arithmetic"),
    ]


def _nitrogen(given: Given) -> list[Line]:
    """Nitrogen fixed, taken off, left, and given up in the first season."""
    left, fixed = given.left(), fact("nitrogen", "fixed_share")
    roots, in_roots = fact("left", "roots"), fact("left", "roots_nitrogen")
    in_bean = spread(bean_nitrogen, given.bean, given.bean_protein)
    taken = spread(lambda n, stays: n * (1 - stays), in_bean, left)
    kept = spread(lambda n, f, stays: balance(n, f / 100, 1 - stays), in_bean, fixed, left)
    below = spread(lambda b, r, n: b * r * n / 100, given.bean, roots, in_roots)
    gives = [_given_up(*corner) for corner in product(given.bean, given.bean_protein, left)]
    middle = _given_up(given.bean.middle, given.bean_protein.middle, left.middle).middle
    gives_all = Range(min(end.low for end in gives), middle, max(end.high for end in gives))
    air, cut, test = source("nitrogen.fixed_share"), source("left.stubble"), "never a credit before a spring soil test"
    return [
        _line("nitrogen_in_bean", in_bean, "kg/ha", f"protein / 6.25; {source('protein.beans')}"),
        _line("nitrogen_fixed", spread(lambda n, f: n * f / 100, in_bean, fixed), "kg/ha", air),
        _line("nitrogen_taken", taken, "kg/ha", cut),
        _line("nitrogen_balance", kept, "kg/ha", f"fixed less taken, roots left out; {air}; {cut}"),
        _line("nitrogen_in_stubble", spread(lambda n, stays: n * stays, in_bean, left), "kg/ha", cut),
        _line("nitrogen_in_roots", below, "kg/ha", source("left.roots", "left.roots_nitrogen")),
        _line("nitrogen_first_season", gives_all, "kg/ha", f"{source('nitrogen.release', 'left.stubble')}; {test}"),
    ]


def _given_up(bean: float, protein: float, left: float) -> Range:
    """First season's nitrogen [kg/ha] of the share left of a legume [kg/ha]."""
    return Range(*(bean / 1000 * left * one for one in release(nitrogen(protein))))


def _left(given: Given) -> list[Line]:
    """What is left to graze, and the ground it covers."""
    corn_stubble, used, eats = fact("left", "corn_stubble"), fact("grazing", "use"), fact("grazing", "share_of_weight")
    left = spread(lambda b, stays: b * stays, given.bean, given.left())

    def days(beans, share, percent):
        return grazing_days(beans, share, intake(given.animal, percent))

    coarse = fact("cover", "beans").middle / KG_HA_OF_LB_AC
    fine, of_corn = fact("cover", "fine").middle, fact("cover", "corn").middle / KG_HA_OF_LB_AC
    # Two kinds of residue at once: what each leaves bare, multiplied (Gregory 1982)
    covered = spread(
        lambda b, c, a: ground_cover(1, a * b + of_corn * 1000 * c), left, corn_stubble, Range(coarse, coarse, fine)
    )
    eroded = spread(lambda c, power: 100 * soil_loss(c, power), covered, fact("cover", "loss_power"))
    return [
        _line("bean_left", left, "kg/ha", source("left.stubble")),
        _line(
            "grazing_days",
            spread(days, left, used, eats),
            f"days/ha of one animal of {given.animal:g} kg",
            source("grazing.use", "grazing.share_of_weight"),
        ),
        _line(
            "ground_covered",
            covered,
            "% of the ground",
            source("cover.beans", "cover.corn", "cover.fine", "left.corn_stubble"),
        ),
        _line("soil_loss", eroded, "% of bare ground's", source("cover.loss_power")),
    ]


def _costs(given: Given) -> list[Line]:
    """Seed and inoculant."""
    seed = spread(seed_rate, given.plants, given.seed_weight, given.survival)
    doses = fact("inoculation", "doses_new_land").middle if given.new_land else 1.0
    return [
        _line("seed", seed, "kg/ha", source("seed.plants", "seed.weight", "seed.survival")),
        _line("inoculant", Range(doses, doses, doses), "doses", source("inoculation.doses_new_land")),
    ]


def _money(lines: Mapping[str, Line], given: Given, prices: Mapping[str, float]) -> list[Line]:
    """Lines of money for what has a price, their sum, and the corn that may be lost before the sum is nothing."""

    def of(name: str) -> Range:
        return Range(lines[name].low, lines[name].middle, lines[name].high)

    once = Range(1.0, 1.0, 1.0)
    of_bean = spread(
        lambda kilos, percent: protein_yield(kilos / 1000, percent), of("bean_chopped"), given.bean_protein
    )
    amounts = {
        "seed_kg": ("money_seed", of("seed"), -1.0),
        "inoculant_dose_ha": ("money_inoculant", of("inoculant"), -1.0),
        "pass_ha": ("money_pass", once, -1.0),
        "silage_t": ("money_corn_lost", of("corn_lost"), -1.0),
        "protein_kg": ("money_bean_protein", of_bean, 1.0),
        "nitrogen_kg": ("money_nitrogen", of("nitrogen_first_season"), 1.0),
        "grazing_day": ("money_grazing", of("grazing_days"), 1.0),
    }
    out, total = [], Range(0.0, 0.0, 0.0)
    for price, (name, amount, sign) in amounts.items():
        if price in prices:
            worth = spread(lambda a, p=sign * prices[price]: a * p, amount)
            total = Range(*(a + b for a, b in zip(total, worth, strict=True)))
            out.append(_line(name, worth, "money/ha", f"price given: {prices[price]:g}"))
    out.append(
        _line("money_total", total, "money/ha", "sum of the lines of money above; what has no price is left out")
    )
    if prices.get("silage_t", 0) > 0:
        lost = next(line for line in out if line.name == "money_corn_lost")
        rest = Range(*(a - b for a, b in zip(total, lost[1:4], strict=True)))
        can_lose = Range(*(max(0.0, end) / prices["silage_t"] for end in rest))
        out.append(_line("money_break_even_loss", can_lose, "t/ha", "corn that may be lost before the sum is nothing"))
    return out
