"""Pictures of the station: what they say, and that what is drawn are the numbers of the answer."""

import numpy as np
import pytest
from matplotlib.collections import PolyCollection
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure

import frostkit.public as fk
from frostkit.demo.place import LOGGER, demo_record, settled
from frostkit.ensemble.site import Site
from frostkit.records.record import Record, Station
from frostkit.show.look import LEGUME, look, says
from frostkit.show.pictures.frost import free_bars, frost_odds
from frostkit.show.pictures.heat import heat_bars
from frostkit.show.pictures.logger import frost_there, night_by_night
from frostkit.show.pictures.record import BARS, seasons_by_days
from frostkit.show.pictures.track_record import reliability
from frostkit.show.render.words import words
from frostkit.show.texts import LANGUAGES

WORDS = words()


@pytest.fixture(scope="module")
def site():
    return fk.demo()


@pytest.fixture(scope="module")
def answers(site):
    return {
        "record": fk.record_check(site),
        "frost": fk.frost(site, -2.2),
        "heat": fk.heat(site, "chu"),
        "track-record": fk.track_record(site),
        "logger": fk.record_field(site, LOGGER),
    }


def drawn(part, answer):
    with look():
        return part(answer.answer, Figure().add_subplot(), WORDS)


def days_drawn(axes, face):
    """Days covered by the bars of one colour, by season."""
    covered = {}
    for one in axes.collections:
        if isinstance(one, PolyCollection) and np.allclose(one.get_facecolor()[0][:3], to_rgb(face)):
            for path in one.get_paths():
                (left, low), (right, high) = path.vertices.min(0), path.vertices.max(0)
                covered.setdefault(round((low + high) / 2), set()).update(range(round(left + 0.5), round(right + 0.5)))
    return covered


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", ["record", "frost", "heat", "track-record", "logger"])
def test_every_picture_opens_with_the_verdict_and_ends_with_the_record_behind_it(answers, name, language):
    answer = answers[name].answer
    said = says(fk.Shown(answer, language).plot()).splitlines()
    own = words(language)
    assert said[0] == own.say(answer.question, answer.headline).rstrip(".")
    assert said[1] == own.say(answer.question, answer.sentences[0])
    assert "River Flat" in "\n".join(said)


# --- the record at a glance ------------------------------------------------------------------------------------------


def test_every_missing_day_of_the_invented_observer_is_drawn_missing(answers):
    axes = drawn(seasons_by_days, answers["record"])
    missing = days_drawn(axes, BARS["missing"]["facecolor"])
    for gap in settled()["missing"]:
        days = np.arange(gap["first"], np.datetime64(gap["last"]) + 1, dtype="datetime64[D]")
        first = days[0].astype("datetime64[Y]")
        columns = (days - first.astype("datetime64[D]")).astype(int)
        leap = (first + 1).astype("datetime64[D]") - first.astype("datetime64[D]") == np.timedelta64(366, "D")
        columns = columns - (leap & (columns > 59))
        assert set(columns.tolist()) <= missing[int(str(first))]
    present = days_drawn(axes, BARS["present"]["facecolor"])
    assert all(len(present[year] | missing.get(year, set())) == 365 for year in range(1966, 2026))


def test_masked_days_are_drawn_as_such_with_a_mark_over_them():
    record = demo_record()
    part = slice(0, 12 * 365)
    tmin, tmax = record.tmin[part].copy(), record.tmax[part].copy()
    wrong = int((np.datetime64("1970-07-10") - record.start).astype(int))
    near = Record(Station("N", "Next Flat"), record.start, tmin + 0.5, tmax + 0.5)
    tmin[wrong] -= 25
    of = Record(Station("A", "A Flat"), record.start, tmin, tmax, invented=True)
    answer = fk.record_check(Site(of, neighbours=(near,)))
    axes = drawn(seasons_by_days, answer)
    assert 190 in days_drawn(axes, BARS["masked"]["facecolor"])[1970]  # 10 July
    marked = [line for line in axes.get_lines() if line.get_marker() == "v"]
    assert (190, 1970) in {(round(x), round(y)) for x, y in zip(*marked[0].get_data(), strict=True)}
    assert "failed a check: masked" in says(answer.plot())


def test_the_kinds_of_day_differ_in_grey_by_lightness_or_hatch():
    # ITU-R BT.601 luma, as a grey print shows it; from memory
    grey = {kind: np.dot(to_rgb(how["facecolor"]), (0.299, 0.587, 0.114)) for kind, how in BARS.items()}
    kinds = [kind for kind in BARS if "hatch" not in BARS[kind]]
    for one in kinds:
        for other in kinds:
            assert one == other or abs(grey[one] - grey[other]) > 0.2
    assert "hatch" in BARS["missing"]


# --- frost, heat, the track record -----------------------------------------------------------------------------------


def test_the_drawn_odds_of_frost_are_those_of_the_answer(answers):
    spring, fall = drawn(frost_odds, answers["frost"]).get_lines()
    odds = answers["frost"].to_dict()["odds"]
    assert np.allclose(spring.get_ydata(), [100 - 100 * row["share"] for row in odds["last_spring"]], atol=0.001)
    assert np.allclose(fall.get_ydata(), [100 * row["share"] for row in odds["first_fall"]], atol=0.001)


def test_each_seasons_bar_spans_the_days_strictly_between_its_frosts(answers):
    bars = days_drawn(drawn(free_bars, answers["frost"]), LEGUME)
    for row in answers["frost"].to_dict()["seasons"]:
        least, most = row["today"]["frost_free_days"]
        if least == most:
            assert len(bars[row["season"]]) == least


def test_heat_is_drawn_in_order_with_what_half_the_seasons_have(answers):
    axes = drawn(heat_bars, answers["heat"])
    heights = [bar.get_height() for bar in axes.patches]
    assert heights == sorted(heights) and len(heights) == len(answers["heat"].to_dict()["seasons"])
    at = answers["heat"].to_dict()["at_least"]
    assert {round(line.get_ydata()[0], 2) for line in axes.get_lines()} == {at["half"], at["nine"]}


def test_each_tenth_of_the_odds_is_drawn_where_it_came_true(answers):
    axes = drawn(reliability, answers["track-record"])
    tenths = answers["track-record"].to_dict()["judged"]["tenths"]
    points = axes.collections[-1].get_offsets()
    assert np.allclose(points, [[100 * row["given"], 100 * row["happened"]] for row in tenths], atol=0.001)


# --- the field's logger ----------------------------------------------------------------------------------------------


def test_every_logged_night_is_drawn_once_by_its_kind(answers):
    axes = drawn(night_by_night, answers["logger"])
    points = {line.get_marker(): line.get_data() for line in axes.get_lines() if line.get_linestyle() == "None"}
    nights = answers["logger"].to_dict()["nights"]
    assert sorted(points) == ["D", "o"]
    assert np.allclose(points["D"][1], [night["apart"] for night in nights if night["clear"]], atol=1e-5)
    assert points["D"][1].size + points["o"][1].size == len(nights) == 194


def test_frost_comes_sooner_and_leaves_later_in_the_drawn_field(answers):
    lines = [np.asarray(line.get_ydata(), float) for line in drawn(frost_there, answers["logger"]).get_lines()]
    assert (lines[2] >= lines[0] - 1).all() and (lines[2] - lines[0]).max() > 10  # spring, to come
    assert (lines[3] >= lines[1] - 1).all() and (lines[3] - lines[1]).max() > 10  # fall, has come
