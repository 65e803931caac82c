"""What people read, in every language: the same keys, the same names, and numbers and days as the language writes them."""

import re
import string
import tomllib
from html import unescape
from importlib.resources import files

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from frostkit.answers import cautions
from frostkit.answers.chopping import chopping
from frostkit.answers.station import behind
from frostkit.answers.stores import stores
from frostkit.crops.entry import listed, load
from frostkit.demo.place import demo_record
from frostkit.errors import SettingError
from frostkit.odds.estimate import share
from frostkit.seasons.calendar import column
from frostkit.show import phrases
from frostkit.show.pictures.chop import chopping_days
from frostkit.show.report import Asked, Units, report
from frostkit.show.texts import LANGUAGES, texts

ONLY_TRANSLATED = {"titles", "stages", "since", "repairs"}  # English takes these from crop entries and records


def entries(language):
    return tomllib.loads((files("frostkit.show.texts") / f"{language}.toml").read_text("utf-8"))


def names(sentence):
    return {name for _, name, _, _ in string.Formatter().parse(sentence) if name}


@pytest.mark.parametrize("language", [name for name in LANGUAGES if name != "en"])
def test_a_translation_has_every_sentence_with_the_same_names(language):
    english, other = entries("en"), entries(language)
    assert set(other) - ONLY_TRANSLATED == set(english)
    for room, sentences in english.items():
        assert other[room].keys() == sentences.keys(), room
        if room != "marks":
            for key, sentence in sentences.items():
                assert names(other[room][key]) == names(sentence), f"{room}.{key}"


@pytest.mark.parametrize("language", [name for name in LANGUAGES if name != "en"])
def test_a_translation_has_the_title_of_every_entry_and_stage_and_no_other(language):
    other = entries(language)
    crops = [load(name) for name in listed()]
    assert set(other["titles"]) == {crop.name for crop in crops}
    titles = {stage.title for crop in crops for stage in crop.stage.values()}
    assert set(other["stages"]) == set(other["since"]) == titles
    assert len(set(other["stages"].values())) == len(titles)


@pytest.mark.parametrize("language", [name for name in LANGUAGES if name != "en"])
def test_cautions_come_in_every_language_that_pages_do(language):
    assert language in cautions.LANGUAGES


SLIPS = (
    r"\d sur \d+ saisons", r"\{yes\} sur \{total\} saisons", r"\{count\} saisons \(",  # "21 saisons sur 26"
    "[Ss]oybean", "up to this", "dès cinquième", "plus verts?\\b", "avant de (le )?donner", "avant de le faire manger",
    "creux", "sans doute", "en un souffle", "assoiffé", "gaine", "étanche", "fèves?\\b", "quality flag", "taken as missing",
)  # fmt: skip
"""French that a reader of the field mended: what each stands for is in the sentences that replaced it."""


def french():
    """Every French sentence, by where it stands."""
    for room, sentences in entries("fr").items():
        for key, sentence in sentences.items():
            for one in sentence if isinstance(sentence, list) else [sentence]:
                yield f"{room}.{key}", one
    for caution in cautions.every():
        yield f"cautions.{caution.topic}", " ".join(cautions.in_language(caution, "fr"))


@pytest.mark.parametrize("slip", SLIPS)
def test_no_french_sentence_has_a_slip_that_was_mended(slip):
    assert [place for place, sentence in french() if re.search(slip, sentence)] == []


def test_what_was_mended_in_french_is_said_rightly():
    say = texts("fr")
    assert phrases.seasons(say, share(np.array([21]), np.array([5]), np.array([0])), 0) == "21 saisons sur 26"
    assert phrases.seasons(say, share(np.array([4]), np.array([1]), np.array([2])), 0) == "4 à 6 saisons sur 7"
    assert "-2 °C dès la cinquième feuille (V5)" in phrases.crop_line(say, load("silage-2300"))
    assert phrases.crop_title(say, load("soybean-5")) == "soja du groupe de maturité V"
    assert phrases.stage_title(say, load("soybean-5"), "ripe") == "graine pleine (R7)"
    assert phrases.stage_title(say, load("grain-00"), "ripe") == "mûr (R8)"
    bag, sealed = (phrases.store_title(say, stores()[name]) for name in ("bag", "oxygen_limiting"))
    assert (bag, sealed) == ("le silo-boudin", "le silo hermétique")
    silo = phrases.caution(say, cautions.cautions_for("silo_gas")[0])
    assert "appareil respiratoire autonome ou à adduction d'air" in silo["text"]
    assert "tuer en une inspiration" in silo["text"]


@pytest.mark.parametrize(("english", "said"), [
    ("TMIN with NCEI's quality flag I: taken as missing: 1, first 2009-07-02",
     "TMIN avec l'indicateur de qualité I du NCEI: pris comme manquant: 1, d'abord 2009-07-02"),
    ("days out of order: sorted: 3, first line 12", "jours en désordre: triés: 3, d'abord ligne 12"),
    ("Tmin moved from the station to the field: 900", "minimum ramené de la station au champ: 900"),
    ("tmin with ECCC's flag M, N or Y: taken as missing: 4, first 1990-01-02",
     "tmin avec l'indicateur M, N ou Y d'ECCC: pris comme manquant: 4, d'abord 1990-01-02"),
    ("Tmax outside -70 to 60 °C: taken as missing: 2, first 1990-01-02",
     "Tmax hors de -70 à 60 °C: pris comme manquant: 2, d'abord 1990-01-02"),
    ("something new: 2", "something new: 2"),
])  # fmt: skip
def test_repairs_of_a_record_are_said_in_french_and_unknown_ones_as_they_come(english, said):
    assert phrases.repair(texts("fr"), english) == said
    assert phrases.repair(texts("en"), english) == english


def test_a_translated_repair_uses_only_names_of_its_own_sentence():
    for english, sentence in entries("fr")["repairs"].items():
        assert names(sentence) <= names(english), english


def test_the_french_report_of_the_demo_has_neither_slip_nor_english_repair_and_fahrenheit_leaves_no_celsius():
    asked = Asked(load("silage-2300"), load("soybean-5"))
    page = report(behind(demo_record()), asked, Units(fahrenheit=True, heat="degree-days"), "fr")
    body = re.sub(r"<(svg|small).*?</\1>", " ", page.split("<body>")[1], flags=re.DOTALL)
    said = re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", body)))
    told = said.split("Sources Source")[0].split("Sources Relevé")[0]  # sources stay as published
    assert [slip for slip in SLIPS if re.search(slip, told)] == []
    assert "indicateur de qualité" in told and "qui aurait pu être à 32 °F" in told
    assert "soja du groupe de maturité V" in said or "Soja du groupe de maturité V" in said
    record = told.split("Le relevé derrière tout cela")[1]
    assert "°C" not in record


def test_days_and_numbers_are_written_as_the_language_writes_them():
    english, french = texts("en"), texts("fr")
    assert (english.day(120), french.day(120)) == ("1 May", "1er mai")
    assert (english.number(2150.5, 1), french.number(2150.5, 1)) == ("2,150.5", "2\u202f150,5")
    assert (english.day(float("inf")), french.day(float("-inf"))) == ("never", "jamais")


def test_a_language_without_texts_is_refused():
    with pytest.raises(SettingError, match="language='de' is not known"):
        texts("de")


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_dangers_under_the_chopping_picture_fit_on_its_line_and_name_the_act(language):
    answer = chopping(behind(demo_record()), load("silage-2300"), column(5, 22), today="2025-08-25")
    figure = chopping_days(answer, language)
    danger = texts(language)("chop.caution")
    (drawn,) = [text for text in figure.texts if text.get_text() == danger]
    assert drawn.get_window_extent(FigureCanvasAgg(figure).get_renderer()).x1 <= figure.bbox.x1
    assert re.search(r"stay out\.|n'entrez pas\.", danger)
