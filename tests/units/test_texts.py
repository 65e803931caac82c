"""What people read, in every language: the same keys, the same names, and numbers and days as the language writes them."""

import string
import tomllib
from importlib.resources import files

import pytest

from frostkit.errors import SettingError
from frostkit.show.texts import LANGUAGES, texts

ONLY_TRANSLATED = {"titles", "stages", "cautions"}  # English takes these from crop entries and the cautions file


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
def test_a_translation_names_no_stage_or_caution_that_is_not_there(language):
    from frostkit.answers.cautions import NEEDED
    from frostkit.crops.entry import listed, load

    other = entries(language)
    crops = [load(name) for name in listed()]
    assert set(other["titles"]) <= {crop.name for crop in crops}
    assert set(other["stages"]) <= {stage for crop in crops for stage in crop.stage}
    topics = {topic for needed in NEEDED.values() for topic in needed}
    assert {key.removesuffix("_text") for key in other["cautions"]} == topics


def test_days_and_numbers_are_written_as_the_language_writes_them():
    english, french = texts("en"), texts("fr")
    assert (english.day(120), french.day(120)) == ("1 May", "1er mai")
    assert (english.number(2150.5, 1), french.number(2150.5, 1)) == ("2,150.5", "2\u202f150,5")
    assert (english.day(float("inf")), french.day(float("-inf"))) == ("never", "jamais")


def test_a_language_without_texts_is_refused():
    with pytest.raises(SettingError, match="language='de' is not known"):
        texts("de")
