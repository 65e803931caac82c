"""Figures in the cautions against ../shared/checks: values_2.csv and thresholds.toml, where every row names its source."""

import csv
import re
import tomllib

import pytest

from frostkit.answers import feed
from frostkit.answers.cautions import LANGUAGES, cautions_for, every, in_language
from frostkit.show.render import fixed
from frostkit.show.render.words import words
from tests.conftest import SHARED

pytestmark = pytest.mark.real

SAID = {
    "CAU-01": ("nitrate", r"up to {} safe"),  # Wisconsin feed laboratory table 2024: NO3-N
    "CAU-02": ("nitrate", r"over {} \(1,355\) may poison"),  # K-State, Table 1: NO3
    "CAU-03": ("nitrate", r"over 6,000 \({}\)"),  # the same as NO3-N by molar masses
    "CAU-05": ("nitrate", r"at least {} to 12 inches"),  # K-State: cut height, its note gives the high end
    "CAU-08": ("nitrate", r"takes away {} to 90 %"),  # Iowa Beef Center, very dry; its note: often 80-90
    "CAU-11": ("silo_gas", "at least three weeks after filling"),  # NYCAMH 1994; Penn State; Ontario 2025
    "CAU-12": ("silo_gas", "up to three days later"),  # MSD Veterinary Manual 2021: 72 h
    "CAU-16": ("feed", r"at most {} % of a growing, 5 % of a finishing diet"),  # Univ. of Nebraska
    "CAU-17": ("feed", "Soybean forage at most half the diet"),  # NDSU 2021: 50 %
    "CAU-18": (
        "grazing",
        r"wait {} to 5 days after a killing freeze",
    ),  # Univ. of Nebraska; its note gives the high end
    "CAU-19": ("feed", r"{} % of 56 corn silages"),  # Toxins (Basel), PMC7999811
    "GRZ-13": ("grazing", r"{} to 4 days of feed"),  # Saskatchewan specialist 2023 (3 to 4)
    "SIL-14": ("store", r"at least {} lb of dry matter a cubic foot \(240"),  # Michigan State; Ontario 2018 (240 g/L)
    "SIL-15": ("store", "Over 75 % moisture a fifth of the dry matter or more"),  # scilit 3c812cbb: 20 %
    "SIL-19": ("nitrate", "ferment three weeks at least"),  # Ontario 2018
    "SOI-04": ("cold_soil", r"under {} °C"),  # Ohio State 2022; NC State
}
"""Row: the caution that says it, and the words around the figure; figures written as words stand in `WORDS`."""

WORDS = {"CAU-11": 3, "CAU-12": 72, "CAU-17": 50, "SIL-15": 20, "SIL-19": 3}


@pytest.fixture(scope="module")
def rows():
    with open(SHARED / "checks" / "values_2.csv", encoding="utf-8", newline="") as file:
        return {row["id"]: row for row in csv.DictReader(file)}


@pytest.fixture(scope="module")
def limits():
    return tomllib.loads((SHARED / "checks" / "thresholds.toml").read_text("utf-8"))["cautions"]


def text(topic, language="en"):
    return in_language(cautions_for(topic)[0], language).text


@pytest.mark.parametrize("row", SAID)
def test_a_figure_of_a_caution_is_the_rows(rows, row):
    topic, words = SAID[row]
    value = float(rows[row]["expected"])
    if row in WORDS:
        assert value == WORDS[row]
    assert re.search(words.format(f"{value:,g}"), text(topic)), text(topic)


def test_the_gas_limits_are_the_thresholds_and_no_superseded_one_is_printed(limits):
    """NIOSH 2017-202 (IDLH 13 ppm; 50 and 20 are superseded), NIOSH short-term limit, OSHA ceiling."""
    said = text("silo_gas")
    assert f"{limits['no2_niosh_stel']['v']} ppm for a short stay" in said
    assert f"{limits['no2_osha_ceiling']['v']} ppm never to be passed" in said
    assert f"{limits['no2_idlh']['v']} ppm at once dangerous to life" in said
    for language in LANGUAGES:
        figures = {int(found) for found in re.findall(r"(\d+) ppm", text("silo_gas", language))}
        assert figures == {1, 5, 13}
        assert not figures & set(limits["no2_idlh"]["superseded"])


UNITS = {"en": "minutes?|hours?|days?|weeks?|months?", "fr": "minutes?|heures?|jours?|semaines?|mois"}
DURATIONS = {"en": ["three weeks", "three days"], "fr": ["trois semaines", "trois jours"]}


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_gas_caution_names_no_stay_out_but_three_weeks(rows, limits, language):
    """Shorter waits are in print (10 days, 2 weeks: HANDBOOK_2 section 9): never here. The other duration is the fluid
    in the lungs, MSD Veterinary Manual 2021."""
    assert float(rows["CAU-11"]["expected"]) == limits["silo_stay_out"]["v"] == 3
    said = in_language(cautions_for("silo_gas")[0], language)
    unit, whole = UNITS[language], DURATIONS[language]
    found = re.findall(rf"(?:[\w-]+) (?:{unit})\b", said.text)
    indefinite = {"en": "after weeks", "fr": "des semaines"}[language]
    assert [one for one in found if one != indefinite] == whole
    assert re.findall(rf"(?:[\w-]+) (?:{unit})\b", said.act) == whole[:1]
    for other in every():
        stays = re.search(r"stay out|n'entrez", in_language(other, language).text, re.IGNORECASE)
        assert other.topic == "silo_gas" or stays is None


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_gas_caution_asks_for_supplied_air_and_lets_nothing_pass_for_it(language):
    """HANDBOOK_2 section 9; mask and cartridge: from memory of general respirator guidance."""
    needed = {
        "en": ("supplied air (a self-contained or airline set)", "trained people", "lifeline", "second person outside",
               "call the fire department", "blower is no substitute", "dust mask or a cartridge", "Never follow someone",
               "Nobody enters a sealed (oxygen-limiting) silo", "children and visitors away", "smelling of bleach",
               "Yellow to red-brown", "harms when colourless", "chute, feed room, pit", "bags, bunkers and a wagon",
               "see a doctor at once, even if you feel well", "second illness"),
        "fr": ("appareil respiratoire autonome ou à adduction d'air", "personnes formées", "ligne de vie",
               "seconde personne dehors", "appelez les pompiers", "souffleur en marche ne le remplace pas",
               "masque antipoussière ou à cartouche non plus", "Ne suivez jamais quelqu'un",
               "Personne n'entre dans un silo hermétique", "éloignez enfants et visiteurs", "odeur d'eau de Javel",
               "Jaune à brun rouge", "nuit aussi sans couleur", "la chute, la salle d'alimentation, les fosses",
               "le silo-boudin, le silo-couloir et une remorque", "voyez un médecin tout de suite, même si vous vous "
               "sentez bien", "seconde maladie"),
    }  # fmt: skip
    said = text("silo_gas", language)
    assert [words for words in needed[language] if words not in said] == []
    assert "from memory" in in_language(cautions_for("silo_gas")[0], "en").source


def test_the_strict_nitrate_steps_stand_first_and_both_name_their_basis(rows, limits):
    """K-State's NO3 table is the stricter one (HANDBOOK_2 section 8): 6,000 ppm NO3 are 1,355 ppm NO3-N, under 4,000."""
    said = text("nitrate")
    strict = [int(found.replace(",", "")) for found in re.findall(r"(\d,\d{3}) \(", said)]
    assert strict == [3000, int(float(rows["CAU-02"]["expected"]))]
    as_nitrogen = [step / feed.nitrate(1) for step in strict]
    assert [f"{step:,.0f}" for step in as_nitrogen] == ["678", "1,355"]
    assert "(678 as nitrate-nitrogen)" in said and "(1,355)" in said
    assert said.index("nitrate (NO3)") < said.index("nitrate-nitrogen (NO3-N;")
    assert f"times {feed.nitrate(1):.2f} it is NO3" in said
    steps = limits["no3n_steps"]["v"]
    assert steps[0] == limits["no3n_safe"]["v"] == 1000 and steps[2] == 2000 and steps[-1] == 4000  # Clemson
    for step in (steps[0], steps[2], steps[-1]):
        assert f"{step:,}" in said
    assert "half the ration at most for pregnant stock" in said  # CAU-01, note
    assert "5,000" not in said  # HANDBOOK section 15: one page prints it as NO3-N, five times the usual


def test_there_is_no_waiting_rule_for_nitrate_and_the_stubble_is_never_shorter(rows):
    """Sources disagree on what frost does (CAU-06 and HANDBOOK_2 section 8): no days after frost or rain are given."""
    for language in LANGUAGES:
        said = text("nitrate", language)
        assert not re.search(r"\d+ (?:to \d+ |à \d+ )?(?:days|weeks|jours|semaines)", said)
    assert "No wait makes it safe without a test" in text("nitrate")
    assert "higher is safer" in text("nitrate")
    low = float(rows["CAU-05"]["expected"])
    assert f"at least {low:g} to 12 inches ({low * 2.54:.0f} to 30 cm)" in cautions_for("nitrate")[0].act
    assert pytest.approx(30, abs=0.5) == 12 * 2.54


def test_juice_ends_where_the_sources_say(rows):
    """NCH-49 29, trade 32, Virginia Tech 35 % dry matter (SIL-07 and its note), here as moisture."""
    assert float(rows["SIL-07"]["expected"]) == 32
    dry = [int(found) for found in re.findall(r"\d+", re.search(r"figures: (.*?) %", rows["SIL-07"]["note"])[1])]
    assert dry == [29, 32, 35]
    assert "71, 68 or 65 % moisture" in text("store")
    assert [100 - share for share in dry] == [71, 68, 65]


def test_units_of_two_kinds_say_the_same():
    """15 lb/ft3 and 300 lb in their metric twins: 0.45359237 kg a pound, 0.3048 m a foot, exact by definition."""
    assert pytest.approx(240, abs=0.5) == 15 * 0.45359237 / 0.3048**3
    assert "(240 kg/m³)" in text("store")
    assert pytest.approx(136, abs=0.5) == 300 * 0.45359237
    assert "300 lb (136 kg)" in text("feed")


def test_the_cold_seedbed_names_the_strict_limit_and_the_others_in_either_scale(rows):
    """SOI-04 and its note: 10 °C, below 45 °F (Iowa State), below 40 °F (others)."""
    assert [float(found) for found in re.findall(r"([\d.]+) °C", text("cold_soil"))] == [10, 7.2, 4.4]
    fahrenheit = fixed.caution(cautions_for("cold_soil")[0], words(units="us")).text
    assert [float(found) for found in re.findall(r"([\d.]+) °F", fahrenheit)] == [50, 45, 40]
    assert "°C" not in fahrenheit
    assert all(f"{found} F" in rows["SOI-04"]["note"] for found in (50, 45, 40))


def test_herbicide_and_bloat_defer_to_label_and_to_what_is_not_known(limits):
    """University of Nebraska 2012: corn forage intervals of 0 to 80 days; bloat: CAU-18, of soybean nothing was found."""
    assert "0-80 d" in limits["herbicide"]["v"]
    assert "up to 80 days" in text("herbicide") and "The label is the law" in text("herbicide")
    assert "Bloat: not known for soybean" in text("grazing")
    assert "Never raw soybean with urea once seeds form" in text("feed")  # CAU-16, note


def test_nitrogen_of_a_chopped_bean_is_no_credit(rows):
    """Manitoba Pulse and Soybean Growers 2023 (58 % fixed), so that a bean taken away whole takes 42 % from the soil."""
    fixed = feed.facts()["nitrogen_fixed"]["value"]
    assert fixed == float(rows["NIT-08"]["expected"])
    tops = float(rows["NIT-10"]["expected"])
    assert (fixed / 100 - 1) * tops == pytest.approx(float(rows["NIT-11"]["expected"]), abs=0.05)
