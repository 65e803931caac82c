"""The record at a glance: what the picture says, and that its bars are the days of the record."""

import numpy as np
import pytest
from matplotlib.collections import PolyCollection
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure

from frostkit.answers.logged import logged
from frostkit.answers.quality import could_be_cold, quality
from frostkit.demo.place import LOGGER, demo_record, settled
from frostkit.records.glance import FILLED, MASKED, MISSING, PRESENT
from frostkit.records.logger import read_logger
from frostkit.records.record import Record, Station
from frostkit.show.look import look, says
from frostkit.show.pictures.field import field_and_station, frost_there, night_by_night
from frostkit.show.pictures.record import BARS, record_at_a_glance, seasons_by_days
from frostkit.show.texts import LANGUAGES


@pytest.fixture(scope="module")
def demo():
    return quality(demo_record())


def days_drawn(axes, kind):
    """Days covered by the bars of one kind, by season."""
    face = to_rgb(BARS[kind]["facecolor"])
    covered = {}
    for drawn in axes.collections:
        if isinstance(drawn, PolyCollection) and np.allclose(drawn.get_facecolor()[0][:3], face):
            for path in drawn.get_paths():
                (left, low), (right, high) = path.vertices.min(0), path.vertices.max(0)
                covered.setdefault(round((low + high) / 2), set()).update(range(round(left + 0.5), round(right + 0.5)))
    return covered


def drawn(answer):
    with look():
        return seasons_by_days(answer, Figure().add_subplot())


def test_it_says_the_seasons_and_the_checks_first_and_what_it_rests_on(demo):
    said = says(record_at_a_glance(demo)).splitlines()
    assert said[0] == "River Flat (invented), once checked: 55 of 60 seasons are complete, 3 bounded, 2 not known"
    assert said[1] == "None of 43,667 readings fails a quality check"
    text = "\n".join(said)
    for part in (
        "no missing day that could have been 0 °C",
        "No break point",
        "Source: made-up days",
        "1 Jun",
        "missing",
    ):
        assert part in text


def test_every_missing_day_of_the_invented_observer_is_drawn_missing(demo):
    axes = drawn(demo)
    missing = days_drawn(axes, MISSING)
    for gap in settled()["missing"]:
        days = np.arange(gap["first"], np.datetime64(gap["last"]) + 1, dtype="datetime64[D]")
        first = days[0].astype("datetime64[Y]")
        columns = (days - first.astype("datetime64[D]")).astype(int)
        leap = (first + 1).astype("datetime64[D]") - first.astype("datetime64[D]") == np.timedelta64(366, "D")
        columns = columns - (leap & (columns > 59))
        assert set(columns.tolist()) <= missing[int(str(first))]
    present = days_drawn(axes, PRESENT)
    assert all(len(present[year] | missing.get(year, set())) == 365 for year in range(1966, 2026))


def test_masked_and_filled_days_are_drawn_as_such():
    record = demo_record()
    part = slice(0, 12 * 365)
    tmin, tmax = record.tmin[part].copy(), record.tmax[part].copy()
    wrong = int((np.datetime64("1970-07-10") - record.start).astype(int))
    hole = slice(wrong + 30, wrong + 50)
    near = Record(Station("N", "Next Flat"), record.start, tmin + 0.5, tmax + 0.5)
    tmin[wrong] -= 25
    tmin[hole] = tmax[hole] = np.nan
    answer = quality(Record(Station("A", "A Flat"), record.start, tmin, tmax, invented=True), [near])
    axes = drawn(answer)
    assert 190 in days_drawn(axes, MASKED)[1970]  # 10 July
    assert set(range(190 + 30, 190 + 50)) <= days_drawn(axes, FILLED)[1970]
    marked = [line for line in axes.get_lines() if line.get_marker() == "v"]
    assert (190, 1970) in {(round(x), round(y)) for x, y in zip(*marked[0].get_data(), strict=True)}
    said = says(record_at_a_glance(answer))
    assert "masked: failed a check" in said
    assert "neighbours could fill it, for heat alone" in said


def test_the_kinds_of_day_differ_in_grey_by_lightness_or_hatch():
    # ITU-R BT.601 luma, as a grey print shows it; from memory
    grey = {kind: np.dot(to_rgb(how["facecolor"]), (0.299, 0.587, 0.114)) for kind, how in BARS.items()}
    kinds = [kind for kind in BARS if "hatch" not in BARS[kind]]
    for one in kinds:
        for other in kinds:
            assert one == other or abs(grey[one] - grey[other]) > 0.2
    assert "hatch" in BARS[MISSING]


@pytest.mark.parametrize("language", LANGUAGES)
def test_it_is_drawn_in_every_language(demo, language):
    assert "60" in says(record_at_a_glance(demo, language)).splitlines()[0]


def test_a_season_is_complete_here_exactly_where_the_answers_say_so(demo):
    states = {season.season: season.state == "complete" for season in demo.seasons}
    behind = demo.behind
    assert states == dict(zip(behind.cube.seasons.tolist(), behind.complete.tolist(), strict=True))


def test_midsummer_can_not_hide_a_frost_at_the_invented_place(demo):
    cold = could_be_cold(demo.behind.cube)
    assert cold[0] and cold[304]
    assert not cold[200]  # 20 July


# -- the field's logger --------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def low_corner():
    return logged(demo_record(), read_logger(LOGGER))


def test_the_fields_picture_says_the_offset_and_the_nights(low_corner):
    said = says(field_and_station(low_corner)).splitlines()
    assert (
        said[0]
        == f"Clear, calm nights are {-low_corner.mean(1):.1f} °C colder in the field, others {-low_corner.mean(0):.1f} °C colder"
    )
    assert said[1].startswith("Low corner logger: 194 nights from 2025-04-10 to 2025-10-20")
    assert "at the station" in "\n".join(said) and "in the field" in "\n".join(said)


def test_every_logged_night_is_drawn_once_by_its_kind(low_corner):
    with look():
        axes = night_by_night(low_corner, Figure().add_subplot())
    points = {line.get_marker(): line.get_data() for line in axes.get_lines() if line.get_linestyle() == "None"}
    _, apart, clear = low_corner.nights
    assert sorted(points) == ["D", "o"]
    assert np.allclose(points["D"][1], apart[clear])
    assert np.allclose(points["o"][1], apart[~clear])
    assert points["D"][1].size + points["o"][1].size == 194


def test_frost_comes_sooner_and_leaves_later_in_the_drawn_field(low_corner):
    with look():
        axes = frost_there(low_corner, Figure().add_subplot())
    lines = [np.asarray(line.get_ydata(), float) for line in axes.get_lines()]
    assert (lines[2] >= lines[0] - 1).all() and (lines[2] - lines[0]).max() > 10  # spring, to come
    assert (lines[3] >= lines[1] - 1).all() and (lines[3] - lines[1]).max() > 10  # fall, has come


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_fields_picture_is_drawn_in_every_language(low_corner, language):
    assert "194" in says(field_and_station(low_corner, language))
