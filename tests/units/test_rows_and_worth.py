"""Rows of corn by light, and what the legume is worth, as answers."""

import numpy as np
import pytest

from frostkit.answers.legume import bean_light
from frostkit.answers.legume.growth import low_middle_high, with_model
from frostkit.answers.legume.late import late_legume
from frostkit.answers.legume.lines import worth
from frostkit.answers.legume.rows import HOURS, rows
from frostkit.crops.entry import load
from frostkit.ensemble.site import AS_READ, Site
from frostkit.errors import SettingError
from frostkit.seasons.calendar import column
from frostkit.seasons.rowlight import beam_to_floor, declination, sun
from frostkit.show.render.machine import as_dict
from frostkit.show.render.text import as_text
from frostkit.show.render.words import words
from tests import made_up, plain_legume, plain_loops

CORN, LEGUME = load("silage-2150"), load("forage-late")
SITE = Site(made_up.record(*plain_loops.weather(5, 6, warmer=1.5)), climate=AS_READ)


@pytest.fixture(scope="module")
def of_rows():
    return as_dict(rows(SITE, CORN, bearing=30.0))


def test_hours_are_the_suns_beam_between_the_hedges_of_that_day(of_rows):
    day = column(6, 21)
    tmin, tmax = plain_loops.weather(5, 6, warmer=1.5)
    heat = bean_light.corn_heat(CORN, tmin, tmax)
    since = np.sort((heat[:, day + 1] - heat[:, column(5, 20) + 1]).astype(float))[2]  # the third of six: half by then
    hedges = bean_light.rows_at(CORN, since, "ordinary")
    for hour in of_rows["hours"]:
        at = sun(50.0, declination(day + 1), hour["hour"])
        assert hour["sun"]["elevation"] == pytest.approx(float(at.elevation), abs=0.06)
        for name, bearing in (("north_south", 0), ("east_west", 90), ("own", 30)):
            truth = float(beam_to_floor(hedges, at.elevation, at.azimuth - bearing))
            assert hour["ordinary"][name] == pytest.approx(truth, abs=1e-3)
    assert {hour["hour"] for hour in of_rows["hours"]} <= set(HOURS)


def test_east_west_lets_in_more_in_june_and_north_south_under_tall_corn(of_rows):
    days = {row["day"]: row["wide"] for row in of_rows["days"]}
    assert days["06-25"]["east_west"] > days["06-25"]["north_south"]
    cross = of_rows["crossing"]["wide"]
    assert "07-10" < cross < "08-20"
    assert days[cross]["north_south"] > days[cross]["east_west"]
    assert all(row["wide"]["north_south"] >= row["wide"]["east_west"] for row in of_rows["days"] if row["day"] >= cross)
    assert of_rows["crossing"]["ordinary"] is None  # leaves close over the row: direction is all one
    assert of_rows["crossing_of_opaque_hedges"]["ordinary"] is not None


def test_spacing_matters_more_than_direction_and_no_trial_is_claimed(of_rows):
    usual, wide = of_rows["season"]
    across = max(abs(one["north_south"] - one["east_west"]) for one in (usual, wide))
    assert wide["east_west"] - usual["east_west"] > 5 * across
    assert of_rows["trials_at_45_to_55_n"] == 0
    assert {"practice", "no_trial"} <= {says["key"] for says in of_rows["sentences"]}


def test_a_later_day_is_darker_and_the_pictures_day_can_be_chosen(of_rows):
    later = as_dict(rows(SITE, CORN, day=column(7, 15)))
    noon = [next(hour for hour in told["hours"] if hour["hour"] == 12)["ordinary"] for told in (of_rows, later)]
    assert noon[1]["east_west"] < noon[0]["east_west"]
    assert "own" not in noon[1] and later["bearing"] is None


@pytest.mark.parametrize(
    ("how", "says"),
    [({"bearing": 400.0}, "A bearing of 400"), ({"day": column(5, 1)}, "outside the corn's time"),
     ({"seeding": column(12, 1)}, "no crop here")],
)  # fmt: skip
def test_rows_that_can_not_be_are_refused(how, says):
    with pytest.raises(SettingError, match=says):
        rows(SITE, CORN, **how)


def lines(**how):
    return {line["name"]: line for line in as_dict(worth(SITE, CORN, LEGUME, **how))["lines"]}


def test_twelve_tonnes_with_a_tonne_and_a_fifth_of_beans_make_8455():
    """FED-28: 12 t at 7.5 % with 1.2 t at 18 % gives 8.4545 %; NIT-10: 34.56 kg N in it."""
    found = lines(growth=1200, corn_yield=12, corn_protein=7.5, bean_protein=18, kept=1, stubble=0)
    assert found["protein_blend"]["middle"] == pytest.approx(8.4545, abs=1e-4)
    assert found["nitrogen_in_bean"]["middle"] == pytest.approx(34.56)
    assert found["protein_blend"]["low"] == found["protein_blend"]["high"]


def test_every_line_has_its_spread_its_unit_and_its_source():
    for line in lines(prices={"silage_t": 160.0, "seed_kg": 2.5}).values():
        assert set(line) == {"name", "low", "middle", "high", "unit", "source"}
        assert line["low"] <= line["middle"] <= line["high"]
        assert line["source"] and line["unit"]


def test_without_a_growth_the_legume_is_the_one_that_light_lets_grow():
    found = lines(way="with corn")["bean"]
    told = as_dict(late_legume(SITE, CORN, LEGUME, ways=("with corn",)))["ways"][0]["growth_kg_ha"]
    assert [found[end] for end in ("low", "middle", "high")] == [told[end] for end in ("low", "middle", "high")]


def test_money_stands_only_where_prices_are_given():
    assert not any(name.startswith("money") for name in lines(growth=900))
    found = lines(growth=900, prices={"seed_kg": 2.0})
    assert found["money_seed"]["middle"] == pytest.approx(-2 * found["seed"]["middle"])
    assert found["money_total"]["middle"] == found["money_seed"]["middle"]


def test_what_is_left_to_graze_is_said_in_days_and_its_caution_comes_along():
    answer = worth(SITE, CORN, LEGUME, growth=(300, 900, 2000), grazed=True, animal=600.0)
    assert answer.headline.key == "grazed"
    assert "grazing" in [caution.topic for caution in answer.cautions]
    found = lines(growth=(300, 900, 2000), grazed=True, animal=600.0)
    assert found["bean_left"]["middle"] == 900
    assert found["grazing_days"]["middle"] == pytest.approx(900 * 0.5 / (0.0225 * 600))


def test_a_soil_test_becomes_kilogrammes_by_its_depth():
    """FED-09 of values.csv: 12.5 ppm to 12 inches is 50 lb/ac."""
    found = lines(growth=900, soil_ppm=12.5, depth=30.48)["soil_nitrogen"]["middle"]
    assert found / 1.12085 == pytest.approx(50)
    with pytest.raises(SettingError, match="-1 ppm"):
        lines(growth=900, soil_ppm=-1.0)


def test_in_us_units_and_french_the_lines_are_the_same_amounts():
    text = as_text(worth(SITE, CORN, LEGUME, growth=1000, corn_yield=10), words("fr", "us"))
    assert "890 lb/ac" in text and "4,5 t courtes/ac" in text
    assert "maïs" in text and "legume" not in text.split("Made-up Flat")[0]


@pytest.mark.parametrize(
    ("how", "says"),
    [({"growth": (1, 2)}, "growth has 2 numbers"), ({"growth": (3, 2, 1)}, "bean of 3, 2, 1"),
     ({"prices": {"seed": 1.0}}, "Did you mean 'seed_kg'"), ({"growth": 900, "kept": -1}, "corn_kept of -1")],
)  # fmt: skip
def test_numbers_that_can_not_be_are_refused(how, says):
    with pytest.raises(SettingError, match=says):
        worth(SITE, CORN, LEGUME, **how)


def test_tenths_are_the_first_values_by_which_so_much_has_come():
    rng = np.random.default_rng(4)
    for _ in range(30):
        values, weight = rng.integers(0, 50, 12).astype(float), rng.integers(1, 6, 12)
        truth = plain_legume.tenths([value for value, times in zip(values, weight, strict=True) for _ in range(times)])
        assert low_middle_high(values, weight).tolist() == truth
    alone = rng.uniform(10, 4000, 9)
    got = with_model(alone, np.ones(9, np.int64))
    assert got == pytest.approx(plain_legume.with_model(alone.tolist()), rel=1e-5)
