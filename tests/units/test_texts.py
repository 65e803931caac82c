"""What people read, in every language: the same keys, the same names, and numbers and days as the language writes them."""

import re
import string
import tomllib
from html import unescape
from importlib.resources import files

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

import frostkit as fk
from frostkit.answers import cautions
from frostkit.answers.answer import Amount, CropName, StageName, Term
from frostkit.crops.entry import listed, load
from frostkit.errors import SettingError
from frostkit.odds.share import share
from frostkit.records.record import Repair
from frostkit.show.render import crop, fixed
from frostkit.show.render.words import words
from frostkit.show.texts import LANGUAGES, texts

ONLY_TRANSLATED = {"titles", "stages", "since", "repairs"}  # English takes these from crop entries and records


def entries(language):
    return tomllib.loads((files("frostkit.show.texts") / f"{language}.toml").read_text("utf-8"))


def names(sentence):
    return {name for _, name, _, _ in string.Formatter().parse(sentence) if name}


@pytest.mark.parametrize("language", [name for name in LANGUAGES if name != "en"])
def test_a_translation_has_every_sentence_with_the_same_names(language):
    english, other = entries("en"), entries(language)
    assert set(other) - ONLY_TRANSLATED == set(english) - ONLY_TRANSLATED
    for room, sentences in english.items():
        if room not in ONLY_TRANSLATED:
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
    assert set(other["since"]) == titles
    assert set(other["stages"]) == titles | set(entries("en")["stages"])  # stages that answers name besides
    assert len(set(other["stages"].values())) == len(other["stages"])


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


def test_french_has_a_space_that_does_not_break_before_a_colon_and_none_before_a_semicolon():
    """As the Office québécois de la langue française has it, from memory."""
    assert [place for place, sentence in french() if re.search(r"[^\u00a0]:( |$)| ;", sentence)] == []


def test_what_was_mended_in_french_is_said_rightly():
    say = words("fr")
    yes = np.arange(26) < 21
    assert say.value(share(yes[None, :], np.ones(26, bool)), "seasons") == "21 saisons sur 26"
    assert "-2 °C dès la cinquième feuille (V5)" in crop.crop_line(load("silage-2300"), say)
    assert say.value(CropName("soybean-5", "Soybean of maturity group V")) == "soja du groupe de maturité V"
    for name, said in (("soybean-5", "graine pleine (R7)"), ("grain-00", "mûr (R8)")):
        assert crop.stage_title(load(name), "ripe", say) == said
        assert say.value(StageName("ripe", load(name).stage["ripe"].title)) == said
    bag, sealed = (say.value(Term(f"store_{store}")) for store in ("bag", "oxygen_limiting"))
    assert (bag, sealed) == ("le silo-boudin", "le silo hermétique")
    silo = fixed.caution(cautions.cautions_for("silo_gas")[0], say)
    assert "appareil respiratoire autonome ou à adduction d'air" in silo.text
    assert "tuer en une inspiration" in silo.text


@pytest.mark.parametrize(("repair", "english", "french"), [
    (Repair("TMIN with NCEI's quality flag I: taken as missing", 1, "2009-07-02"),
     "TMIN with NCEI's quality flag I: taken as missing: 1, first 2009-07-02",
     "TMIN avec l'indicateur de qualité I du NCEI\u00a0: pris comme manquant\u00a0: 1, d'abord 2009-07-02"),
    (Repair("days out of order: sorted", 3, "line 12"), "days out of order: sorted: 3, first line 12",
     "jours en désordre\u00a0: triés\u00a0: 3, d'abord ligne 12"),
    (Repair("Tmin moved from the station to the field", 900), "Tmin moved from the station to the field: 900",
     "minimum ramené de la station au champ\u00a0: 900"),
    (Repair("tmin with ECCC's flag M, N or Y: taken as missing", 4, "1990-01-02"),
     "tmin with ECCC's flag M, N or Y: taken as missing: 4, first 1990-01-02",
     "tmin avec l'indicateur M, N ou Y d'ECCC\u00a0: pris comme manquant\u00a0: 4, d'abord 1990-01-02"),
    (Repair("Tmax outside -70 to 60 °C: taken as missing", 2, "1990-01-02"),
     "Tmax outside -70 to 60 °C: taken as missing: 2, first 1990-01-02",
     "Tmax hors de -70 à 60 °C\u00a0: pris comme manquant\u00a0: 2, d'abord 1990-01-02"),
    (Repair("something new", 2), "something new: 2", "something new\u00a0: 2"),
])  # fmt: skip
def test_repairs_of_a_record_are_said_in_french_and_unknown_ones_as_they_come(repair, english, french):
    assert words("en").value(repair) == english
    assert words("fr").value(repair) == french


def test_a_translated_repair_uses_only_names_of_its_own_sentence():
    for english, sentence in entries("fr")["repairs"].items():
        assert names(sentence) <= names(english), english


def test_the_french_report_of_the_demo_has_no_slip_and_units_of_the_states_leave_no_celsius():
    page = fk.report(fk.demo(), corn="silage-2300", legume="soybean-5", language="fr", units="us").html
    body = re.sub(r"<(svg|small).*?</\1>", " ", page.split("<body>")[1], flags=re.DOTALL)
    told = re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", body)))
    told = told.rsplit(" Sources ", 1)[0]  # sources stay as published
    assert [slip for slip in SLIPS if re.search(slip, told)] == []
    assert "soja du groupe de maturité V" in told
    assert "32 °F" in told
    assert "°C" not in told


def test_days_and_numbers_are_written_as_the_language_writes_them():
    english, french = texts("en"), texts("fr")
    assert (english.day(120), french.day(120)) == ("1 May", "1er mai")
    assert (english.number(2150.5, 1), french.number(2150.5, 1)) == ("2,150.5", "2\u202f150,5")
    assert (english.day(float("inf")), french.day(float("-inf"))) == ("never", "jamais")


def test_a_number_in_a_french_text_does_not_break_in_two():
    assert not re.search(r"\d \d{3}(?!\d)", (files("frostkit.show.texts") / "fr.toml").read_text("utf-8"))


def test_a_language_without_texts_is_refused():
    with pytest.raises(SettingError, match="language='de' is not known"):
        texts("de")


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_dangers_under_the_chopping_picture_fit_on_its_line_and_name_the_act(language):
    figure = fk.chop(fk.demo(), seeding="05-22", today="2025-08-25", language=language).plot()
    danger = texts(language)("chop_picture.caution")
    (drawn,) = [text for text in figure.texts if text.get_text() == danger]
    assert drawn.get_window_extent(FigureCanvasAgg(figure).get_renderer()).x1 <= figure.bbox.x1
    assert re.search(r"stay out\.|n'entrez pas\.", danger)


@pytest.mark.parametrize(
    ("amount", "units", "said"),
    [
        (Amount(940.0, "kg/ha", -2), "metric", "940 kg/ha"),
        (Amount(940.0, "kg/ha", -2), "us", "840 lb/ac"),  # 838.6
        (Amount(1000.0, "kg/ha", -2), "us", "890 lb/ac"),  # 892.2
        (Amount(3900.0, "kg/ha", -2), "us", "3,500 lb/ac"),  # 3479.5
        (Amount(12.0, "t/ha"), "us", "5.4 ton/ac"),  # 5.353
        (Amount(0.6, "t/ha", 1), "us", "0.3 ton/ac"),
        (Amount(10.0, "mm"), "us", "0.4 in"),
        (Amount(5.0, "kg/ha", -2), "metric", "5 kg/ha"),
        (Amount(0.0, "kg/ha", -2), "metric", "0 kg/ha"),
    ],
)
def test_an_amount_is_said_as_near_as_it_is_known_in_every_unit(amount, units, said):
    assert words("en", units).value(amount) == said
