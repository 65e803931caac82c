"""What the legume is worth: every FED, NIT, GRZ, COV and SEE row of shared/checks/values_2.csv, and worked lines.

Each row names its source. READ rows are published; COMPUTED rows show that our arithmetic is theirs; rows that are plain
facts stand in frostkit/answers/legume/worth.toml, and the test is that we carry the published number.
"""

import csv
from itertools import pairwise

import pytest

from frostkit.answers import feed
from frostkit.answers.legume import worth
from frostkit.answers.legume.worth import Given, Range, facts
from frostkit.errors import SettingError
from frostkit.show.render.words import words
from tests.conftest import SHARED

LB_TON = 2  # lb a short ton for each kg a tonne
LB_HA = 1 / feed.KG_HA_OF_LB_AC
CORN, BEAN = Range(12, 12, 12), Range(1200, 1200, 1200)
SURE = Given(
    CORN,
    BEAN,
    corn_protein=Range(7.5, 7.5, 7.5),
    bean_protein=Range(18, 18, 18),
    corn_kept=Range(1, 1, 1),
    stubble=Range(0, 0, 0),
)


def carried(section, name, end="value"):
    return lambda: float(facts()[section][name][end])


# Row of values_2.csv: how frostkit works it out, or the number that it carries.
WORKED = {
    "FED-11": carried("protein", "together"),
    "FED-12": carried("protein", "together_corn_alone"),
    "FED-13": carried("yield", "land_equivalent", "low"),
    "FED-14": lambda: feed.share_of_beans(7.41, 18, 9.24),
    "FED-15": carried("yield", "climbing_share"),
    "FED-16": carried("yield", "climbing_total"),
    "FED-17": carried("protein", "climbing"),
    "FED-18": carried("protein", "climbing_rise"),
    "FED-19": carried("yield", "lupin"),
    "FED-20": carried("yield", "soybean_total"),
    "FED-21": carried("protein", "beans_dakotas", "low"),
    "FED-22": carried("protein", "beans_r1_r5", "low"),
    "FED-23": carried("protein", "beans_young", "low"),
    "FED-24": carried("protein", "beans_silage"),
    "FED-25": carried("protein", "beans_silage_fat"),
    "FED-26": carried("yield", "sole_beans", "low"),
    "FED-27": lambda: worth.protein_to_break_even(7.5, 7.56 / 12),
    "FED-28": lambda: worth.blend_protein(12, 7.5, 1.2, 18),
    "FED-29": lambda: worth.blend_protein(12, 7.5, 0.07, 18),
    "FED-30": lambda: worth.land_equivalent(11.4, 12, 1.2, 4),
    "NIT-01": lambda: worth.release(3.5).middle * LB_TON,
    "NIT-02": lambda: facts()["nitrogen"]["release"]["none_at"],
    "NIT-03": lambda: worth.release(3.0).low * LB_TON,
    "NIT-04": lambda: worth.release(4.0).high * LB_TON,
    # three quarters of ripe corn stubble, a quarter of bean stubble, one ton of it on an acre
    "NIT-05": lambda: worth.release(0.75 * 1.38 + 0.25 * 2.65).middle * LB_TON,
    "NIT-06": lambda: worth.release(2.5).middle,
    "NIT-07": lambda: worth.release(feed.nitrogen(18)).middle,
    "NIT-08": carried("nitrogen", "fixed_share"),
    "NIT-09": carried("nitrogen", "pays_for_seed_share"),
    "NIT-10": lambda: worth.bean_nitrogen(1200, 18),
    "NIT-11": lambda: worth.balance(worth.bean_nitrogen(1200, 18), 0.58),
    "NIT-12": lambda: worth.to_leave(56, 2.88),
    "NIT-13": carried("inoculation", "new_land"),
    "NIT-14": carried("inoculation", "double_better"),
    "NIT-15": carried("nitrogen", "soil_avoid", "low"),
    "NIT-16": carried("nitrogen", "beans_emergence"),
    "NIT-17": carried("nitrogen", "beans_half_way"),
    "NIT-18": carried("nitrogen", "corn_half_way"),
    "NIT-19": carried("nitrogen", "clover_half_way"),
    "GRZ-01": carried("grazing", "unit"),
    "GRZ-02": carried("grazing", "month"),
    "GRZ-03": lambda: worth.intake(1200),
    "GRZ-04": lambda: worth.intake(1400, facts()["grazing"]["share_of_weight"]["low"]),
    "GRZ-05": carried("grazing", "leaf_and_husk"),
    "GRZ-06": lambda: worth.grazing_days(150 * 16, 0.5, 680),
    "GRZ-07": lambda: worth.grazing_days(150 * 16, 0.5, 680 * 1.2) * 30,
    "GRZ-08": lambda: worth.grazing_days(170 * 16, 0.5, worth.intake(1400, 2.5)),
    "GRZ-09": lambda: worth.grazing_days(200 * 16, 0.5, 680 * 1.2) * 30,
    "GRZ-10": lambda: worth.grazing_days(1300, 0.5, facts()["grazing"]["pair"]["value"]) / 30.4,
    "GRZ-11": carried("grazing", "pair"),
    "GRZ-12": lambda: worth.grazing_days(3000, 0.5, 11.8),
    "GRZ-13": carried("grazing", "days_at_a_time", "low"),
    "COV-01": carried("cover", "conservation"),
    "COV-02": carried("cover", "halves_erosion"),
    "COV-03": lambda: worth.soil_loss(20, 0.035),
    "COV-04": lambda: worth.soil_loss(30, 0.035),
    "COV-05": lambda: worth.ground_cover(1500, facts()["cover"]["fine"]["value"]),
    "COV-06": lambda: worth.ground_cover(950, facts()["cover"]["corn"]["value"]),
    "COV-07": lambda: worth.ground_cover(2450, facts()["cover"]["corn"]["value"]),
    "COV-08": lambda: worth.ground_cover(6100, facts()["cover"]["corn"]["value"]),
    "COV-09": lambda: worth.ground_cover(600, facts()["cover"]["beans"]["value"]),
    "COV-10": lambda: worth.ground_cover(1500, facts()["cover"]["beans"]["value"]),
    "COV-11": lambda: worth.ground_cover(3800, facts()["cover"]["beans"]["value"]),
    "COV-12": carried("cover", "standing"),
    "SEE-01": lambda: worth.row_length(43.56, 2.5),
    "SEE-02": lambda: worth.row_length(10, 0.75),
    "SEE-03": lambda: 200_000 / worth.row_length(43_560, 15 / 12),
    "SEE-04": lambda: 5 * worth.row_length(43_560, 15 / 12),
    "SEE-05": lambda: 130_000 / worth.row_length(43_560, 2.5),
    "SEE-06": lambda: 222_672 / 43_560,
    "SEE-07": lambda: 10 / EXACT_FACTOR * pounds(45, 5, 88 * 0.60),
    "SEE-08": lambda: 10 / EXACT_FACTOR * pounds(30, 38, 94),
    "SEE-09": lambda: worth.seed_rate(75, 150, 80),
    "SEE-10": carried("seed", "plants_low"),
    "SEE-11": carried("seed", "survival"),
    "SEE-12": carried("seed", "corn_plants"),
    "SEE-13": lambda: worth.seed_rate(35, 150, 0.9 * 0.8 * 100),
}
EXACT_FACTOR = 9.603  # note of SEE-08: the printed rule with its factor of 10 is 4.1 % high


def pounds(plants_ft2, weight, survival):
    """Seed in lb/ac by the exact rule, from plants a square foot."""
    return worth.seed_rate(plants_ft2 / worth.FOOT**2, weight, survival) * LB_HA


def rows():
    with open(SHARED / "checks" / "values_2.csv", encoding="utf-8", newline="") as file:
        return {row["id"]: row for row in csv.DictReader(file) if row["id"][:3] in ("FED", "NIT", "GRZ", "COV", "SEE")}


@pytest.mark.real
def test_every_row_of_the_checks_is_covered():
    assert rows().keys() == WORKED.keys()


@pytest.mark.real
@pytest.mark.parametrize("name", WORKED)
def test_row_of_the_checks_comes_out(name):
    row = rows()[name]
    got, expected, tolerance = WORKED[name](), float(row["expected"]), float(row["tolerance"])
    assert got == pytest.approx(expected, abs=max(tolerance, 1e-9)), row["source"]


@pytest.mark.real
@pytest.mark.parametrize(
    ("name", "ends"),
    [
        # the other end of a range stands in the row's note, or beside its source
        ("FED-11", (("protein", "together", "high"), 10.76)),
        ("FED-13", (("yield", "land_equivalent", "high"), 1.23)),
        ("FED-19", (("yield", "lupin", "high"), 9980)),
        ("FED-21", (("protein", "beans_dakotas", "high"), 21)),
        ("FED-22", (("protein", "beans_r1_r5", "high"), 20)),
        ("FED-23", (("protein", "beans_young", "high"), 30)),
        ("FED-26", (("yield", "sole_beans", "high"), 4641)),
        ("NIT-15", (("nitrogen", "soil_avoid", "high"), 75)),
        ("NIT-18", (("nitrogen", "corn_half_way", "low"), 1.38)),
        ("GRZ-13", (("grazing", "days_at_a_time", "high"), 4)),
        ("SEE-10", (("seed", "plants_low", "high"), 160_000)),
        ("SEE-11", (("seed", "survival", "high"), 82)),
        ("SEE-12", (("seed", "corn_plants", "high"), 30_000)),
    ],
)
def test_the_other_end_of_a_published_range_is_carried(name, ends):
    (section, key, end), expected = ends
    printed = rows()[name]["note"] + rows()[name]["source"]
    assert f"{expected:,}" in printed or f"{expected:g}" in printed
    assert facts()[section][key][end] == expected


def test_every_number_names_its_source():
    for section, entries in facts().items():
        for name, entry in entries.items():
            assert entry["source"].strip() and entry["unit"].strip(), f"{section}.{name}"


def test_twelve_tonnes_at_7_5_with_1_2_at_18_give_8_455():
    """Worked line of HANDBOOK_2 section 3 and FED-28."""
    lines = {line.name: line for line in worth.chain(SURE)}
    assert lines["protein_blend"].middle == pytest.approx(8.4545, abs=1e-4)
    assert lines["protein_blend"].low == lines["protein_blend"].high
    assert lines["protein_together"].middle == pytest.approx(900 + 216)


def test_9_5_percent_needs_19_05_percent_beans():
    """FED-02 of values.csv; the chain says the same share for the beans that bring it."""
    share = feed.share_of_beans(7.5, 18, 9.5)
    assert 100 * share == pytest.approx(19.05, abs=0.005)
    beans = 12_000 * share / (1 - share)
    lines = {line.name: line for line in worth.chain(SURE._replace(bean=Range(beans, beans, beans)))}
    assert lines["bean_share"].middle == pytest.approx(19.05, abs=0.005)
    assert lines["protein_blend"].middle == pytest.approx(9.5)


def test_protein_a_hectare_falls_while_protein_per_cent_rises():
    """HANDBOOK_2 section 3: Saskatchewan lost 37 % of the dry matter. Both are told."""
    lost = SURE._replace(corn_kept=Range(0.63, 0.63, 0.63))
    lines = {line.name: line for line in worth.chain(lost)}
    assert lines["protein_gain"].middle > 0 > lines["protein_change"].middle


def test_at_the_break_even_loss_protein_a_hectare_stays():
    lines = {line.name: line for line in worth.chain(SURE)}
    kept = 1 - lines["break_even_loss"].middle / 12
    even = {line.name: line for line in worth.chain(SURE._replace(corn_kept=Range(kept, kept, kept)))}
    assert even["protein_change"].middle == pytest.approx(0, abs=1e-9)
    assert lines["break_even_share"].middle == pytest.approx(24.0)  # 2.88 of 12 t/ha


def test_a_chopped_bean_takes_nearly_all_its_nitrogen_away():
    """HANDBOOK_2 section 4: about -0.42 x the nitrogen in the tops; stubble stays, roots are left out."""
    lines = {line.name: line for line in worth.chain(SURE)}
    assert lines["nitrogen_balance"].middle == pytest.approx(-0.42 * 34.56)
    tenth = {line.name: line for line in worth.chain(SURE._replace(stubble=Range(0.1, 0.1, 0.1)))}
    assert tenth["nitrogen_balance"].middle == pytest.approx((0.58 - 0.9) * 34.56)
    assert tenth["bean_chopped"].middle == pytest.approx(1080)
    left = {line.name: line for line in worth.chain(SURE._replace(chopped=False))}
    assert left["nitrogen_taken"].high == 0 and left["nitrogen_balance"].middle == pytest.approx(0.58 * 34.56)
    assert left["bean_share"].high == 0 and left["bean_left"].middle == 1200
    assert left["nitrogen_first_season"].middle == pytest.approx(1.2 * 12.075)  # NIT-07


def test_release_is_nothing_below_its_line_and_held_at_its_cap():
    assert worth.release(1.4) == (0, 0, 0)
    assert worth.release(5.24).middle == worth.release(3.5).middle == pytest.approx(17.5)
    assert worth.release(3.0).middle * LB_TON == pytest.approx(26.25)  # note of NIT-03: the 2012 line
    middles = [worth.release(percent / 10).middle for percent in range(10, 60)]
    assert all(a <= b for a, b in pairwise(middles))


def test_ends_hold_their_middle_and_widen_with_what_goes_in():
    wide = worth.chain(Given(Range(9, 12, 14), Range(70, 200, 1100)))
    for line in wide:
        assert line.low <= line.middle <= line.high, line.name
        assert line.source and line.unit
    narrow = {line.name: line for line in worth.chain(SURE)}
    for line in wide:
        if line.name in ("bean", "protein_gain", "nitrogen_fixed", "ground_covered"):
            assert line.high - line.low > narrow[line.name].high - narrow[line.name].low, line.name


def test_money_stands_only_where_prices_are_given():
    assert not [line for line in worth.chain(SURE) if line.name.startswith("money")]
    lines = {line.name: line for line in worth.chain(SURE, {"seed_kg": 2.0, "pass_ha": 25.0})}
    assert [name for name in lines if name.startswith("money")] == ["money_seed", "money_pass", "money_total"]
    assert lines["money_seed"].middle == pytest.approx(-2 * 65.625)
    assert lines["money_total"].middle == pytest.approx(-2 * 65.625 - 25)


def test_money_breaks_even_where_the_sum_is_nothing():
    prices = {"pass_ha": 25.0, "silage_t": 150.0, "protein_kg": 2.0}
    lines = {line.name: line for line in worth.chain(SURE, prices)}
    assert lines["money_break_even_loss"].middle == pytest.approx((216 * 2 - 25) / 150)
    kept = 1 - lines["money_break_even_loss"].middle / 12
    even = {line.name: line for line in worth.chain(SURE._replace(corn_kept=Range(kept, kept, kept)), prices)}
    assert even["money_total"].middle == pytest.approx(0, abs=1e-9)


def test_soil_nitrogen_goes_from_ppm_to_pounds_and_kilogrammes_and_back():
    """ppm x 2 = lb/ac for six inches: FED-08 to FED-10 of values.csv, a county water programme's converter."""
    for depth, pounds_an_acre in ((15.24, 25), (30.48, 50), (60.96, 100)):
        kilogrammes = worth.soil_nitrogen(12.5, depth)
        assert kilogrammes * LB_HA == pytest.approx(pounds_an_acre)
        assert worth.soil_ppm(kilogrammes, depth) == pytest.approx(12.5)


def test_us_units_say_the_same_amounts():
    """1 lb/ac = 1.1209 kg/ha (CHECKS section 8); a short ton is 2,000 lb."""
    us = words("en", "us")
    assert us.amount(112.085, "kg/ha") == "100 lb/ac"
    assert us.amount(10, "t/ha", 2) == f"{10 * 1000 / 1.12085 / 2000:.2f} ton/ac"
    assert us.amount(127.1, "days/ha", 1) == "51.4 days/ac"  # note of GRZ-12
    assert us.amount(454, "kg") == "1,001 lb"
    assert us.amount(2, "% of dry matter") == "2 % of dry matter"


@pytest.mark.parametrize(
    ("given", "prices", "match"),
    [
        (SURE._replace(bean=Range(3, 2, 1)), {}, "bean of 3, 2, 1"),
        (SURE._replace(corn=Range(0, 0, 0)), {}, "more than 0"),
        (SURE._replace(stubble=Range(0, 0, 2)), {}, "stubble of 2"),
        (SURE, {"seed": 1.0}, "price='seed' is not known"),
        (SURE, {"seed_kg": -1.0}, "price of -1"),
    ],
)
def test_amounts_and_prices_that_cannot_be_are_refused(given, prices, match):
    with pytest.raises(SettingError, match=match):
        worth.chain(given, prices)
