"""Frost, heat, the record and what must be said of it: against plain loops on made-up records."""

from dataclasses import replace

import numpy as np
import pytest

import frostkit.public as fk
from frostkit.ensemble.notes import notes
from frostkit.ensemble.site import AS_READ, Site
from frostkit.errors import RecordError, SettingError
from tests.made_up_records import record_of, weather

INF = float("inf")


def made_up(seasons=40, last=2024, seed=1, warming=0.2):
    years = np.arange(last + 1 - seasons, last + 1)
    return record_of(*weather(np.random.default_rng(seed), years, warming), first=int(years[0]))


@pytest.fixture(scope="module")
def record():
    return made_up()


@pytest.fixture(scope="module")
def as_read(record):
    return Site(record, climate=AS_READ, for_season=2025)


def plain_dates(record, threshold):
    """{season: (last spring frost, first fall frost)} by a loop over days, as "MM-DD" or None."""
    found = {}
    for day, low in zip(record.time().tolist(), record.tmin, strict=True):
        spring, fall = found.get(day.year, (None, None))
        if low <= threshold + 0.0501 and (day.month, day.day) != (2, 29):
            if day.month < 8:
                spring = f"{day.month:02d}-{day.day:02d}"
            elif fall is None:
                fall = f"{day.month:02d}-{day.day:02d}"
        found[day.year] = spring, fall
    return found


@pytest.mark.parametrize("threshold", [0.0, -2.2, -5.0])
def test_frost_dates_and_the_days_between_are_those_of_a_plain_loop(record, as_read, threshold):
    answer = fk.frost(as_read, threshold).to_dict()
    plain = plain_dates(record, threshold)
    assert [row["season"] for row in answer["seasons"]] == sorted(plain)
    for row in answer["seasons"]:
        spring, fall = plain[row["season"]]
        assert row["last_spring"] == [spring] * 2 and row["first_fall"] == [fall] * 2
        if spring and fall:
            days = np.datetime64(f"2001-{fall}") - np.datetime64(f"2001-{spring}")
            assert row["frost_free_days"] == [int(days.astype(int)) - 1] * 2
        assert row["today"] == {key: row[key] for key in ("last_spring", "first_fall", "frost_free_days")}


def test_odds_by_day_are_counts_of_the_dates_of_the_seasons(record, as_read):
    answer = fk.frost(as_read).to_dict()
    dates = [row["first_fall"][0] for row in answer["seasons"]]
    for row in answer["odds"]["first_fall"]:
        assert row["count"] == row["yes"] == sum(date is not None and date <= row["day"] for date in dates)
        assert row["yes"] + row["no"] + row["not_known"] == row["seasons"] == 40
    springs = [row["last_spring"][0] for row in answer["seasons"]]
    for row in answer["odds"]["last_spring"]:
        assert row["count"] == sum(date is None or date <= row["day"] for date in springs)


def test_a_headline_about_both_ends_counts_seasons_that_met_both(as_read):
    answer = fk.frost(as_read).to_dict()
    span = answer["frost_free"]
    met = [row["last_spring"][0] < span["from"] and row["first_fall"][0] > span["to"] for row in answer["seasons"]]
    assert span["share"]["count"] == sum(met)
    one_end = [row["last_spring"][0] < span["from"] for row in answer["seasons"]]
    assert sum(one_end) > sum(met)


def test_moved_into_todays_climate_frost_is_over_sooner_and_comes_later(record):
    answer = fk.frost(Site(record, for_season=2025)).to_dict()
    assert answer["climate"]["moved"] == "today" and answer["climate"]["degrees"]["tmin"] > 0.2
    old = [row for row in answer["seasons"] if row["season"] < 1995]
    assert all(row["today"]["last_spring"] <= row["last_spring"] for row in old)
    assert all(row["today"]["first_fall"] >= row["first_fall"] for row in old)
    assert any(row["today"]["first_fall"] > row["first_fall"] for row in old)


def test_a_frost_that_never_came_is_said_in_words(record):
    warm = Site(replace(record, tmin=record.tmin + 40, tmax=record.tmax + 40), climate=AS_READ, for_season=2025)
    found = fk.frost(warm)
    assert "comes in fewer than 1 season in 10" in found.text()
    assert all(row["last_spring"] == row["first_fall"] == [None] * 2 for row in found.to_dict()["seasons"])
    assert "inf" not in found.to_json() and "nan" not in found.text()
    assert "nothing to judge" in fk.track_record(warm).text()


@pytest.mark.parametrize("threshold", [28, -60, "28"])
def test_a_threshold_that_no_frost_has_is_refused(as_read, threshold):
    with pytest.raises(SettingError, match="no frost in the growing season"):
        fk.frost(as_read, threshold)


def test_heat_is_that_of_a_plain_loop_and_its_odds_count_seasons(record, as_read):
    answer = fk.heat(as_read, base=10, first="05-15", last="09-10").to_dict()
    plain = {}
    for day, low, high in zip(record.time().tolist(), record.tmin, record.tmax, strict=True):
        if (5, 15) <= (day.month, day.day) <= (9, 10):
            tenths = round(10 * float(low)) + round(10 * float(high))
            plain[day.year] = plain.get(day.year, 0) + max(tenths * 5 - 1000, 0) / 100
    for row in answer["seasons"]:
        assert row["total"] == pytest.approx([plain[row["season"]]] * 2, abs=0.011)
    for row in answer["odds"]:
        assert row["share"]["count"] == sum(total >= row["at_least"] - 0.006 for total in plain.values())
    assert [row["odds"] for row in answer["odds"]] == ["tenths_nine", "tenths_eight", "tenths_half", "tenths_two",
                                                       "tenths_one"]  # fmt: skip
    assert answer["odds"][0]["share"]["share"] >= 0.9 - 1e-9


@pytest.mark.parametrize(
    ("how", "match"),
    [
        ({"method": "chu", "base": 10.0}, "no base and no cap"),
        ({"base": 10.0, "cap": 5.0}, "not above the base"),
        ({"base": 90.0}, "A base of 90 °C can't be; allowed: -10 to 25"),
        ({"first": "09-01", "last": "05-01"}, "is after the last"),
        ({"method": "means"}, "Did you mean"),
    ],
)
def test_heat_that_makes_no_sense_is_refused(as_read, how, match):
    with pytest.raises(SettingError, match=match):
        fk.heat(as_read, **how)


# --- the record ------------------------------------------------------------------------------------------------------


def holed(record, *spans, element="both"):
    """The record without readings from one day to another, for each (first, last) as text."""
    time = record.time()
    gone = np.zeros(time.size, bool)
    for first, last in spans:
        gone |= (time >= np.datetime64(first)) & (time <= np.datetime64(last))
    nan = np.float32(np.nan)
    low = record.tmin if element == "tmax" else np.where(gone, nan, record.tmin)
    return replace(record, tmin=low, tmax=np.where(gone, nan, record.tmax))


def test_seasons_count_are_whole_or_were_not_observed_by_the_days_that_were_read(record):
    of = holed(record, ("1990-01-01", "1991-12-31"), ("2000-06-01", "2000-07-20"), ("2005-05-01", "2005-05-20"))
    answer = fk.record(Site(of)).to_dict()
    states = {row["season"]: row["state"] for row in answer["seasons"]}
    assert {season for season, state in states.items() if state == "not_observed"} == {1990, 1991}
    assert {season for season, state in states.items() if state == "not_counted"} == {2000}  # a run of 50 days
    assert {season for season, state in states.items() if state == "counted"} == {2005}
    assert (answer["counted"], answer["complete"], answer["not_counted"], answer["not_observed"]) == (37, 36, 1, 2)
    row = next(row for row in answer["seasons"] if row["season"] == 2005)
    assert (row["missing_tmin"], row["missing_tmax"], row["longest_run"]) == (20, 20, 20)


def test_a_frost_date_needs_no_maximum(record):
    of = Site(holed(record, ("2005-05-01", "2005-07-31"), element="tmax"), for_season=2025)
    assert 2005 in [row["season"] for row in fk.frost(of).to_dict()["seasons"]]
    assert 2005 not in [row["season"] for row in fk.heat(of).to_dict()["seasons"]]


def test_runs_of_days_say_what_stands_on_every_day(record):
    of = Site(holed(record, ("2000-06-01", "2000-07-20")))
    runs = fk.record(of).to_dict()["days"]
    assert runs == [{"season": 2000, "first": "06-01", "last": "07-20", "state": "missing"}]


def keys(site):
    return [note.key for note in notes(site)]


def test_what_must_be_said_of_a_record_is_said_and_nothing_else(record):
    assert keys(Site(record, for_season=2025)) == []
    assert keys(Site(made_up(8), for_season=2025)) == ["few"]
    assert keys(Site(made_up(40, last=2020), for_season=2025)) == ["ended"]
    assert keys(Site(made_up(60, last=1990), for_season=2025)) == ["ended_long"]
    assert keys(Site(record, for_season=2040)) == ["ended_long", "table"]
    gap = holed(made_up(70), ("1975-01-01", "1999-12-31"))
    assert next(note for note in notes(Site(gap, for_season=2025)) if note.key == "gap").values == {"first": 1975,
                                                                                                  "last": 1999}  # fmt: skip


def test_a_thermometer_moved_ten_years_ago_is_said_with_its_year(record):
    moved = replace(record, tmin=np.where(record.time() >= np.datetime64("2016-01-01"), record.tmin - 3, record.tmin))
    [note] = [note for note in notes(Site(moved, for_season=2025)) if note.key == "moved"]
    assert abs(note.values["year"] - 2016) <= 1
    old = replace(record, tmin=np.where(record.time() >= np.datetime64("2000-01-01"), record.tmin - 3, record.tmin))
    assert "moved" not in keys(Site(old, for_season=2025))


def test_holes_beside_nights_colder_than_usual_are_said_and_others_are_not(record):
    rng = np.random.default_rng(4)
    month = record.time().astype("datetime64[M]").astype(int) % 12
    growing = np.isin(month, (3, 4, 8, 9))
    cold = np.zeros(record.tmin.size, bool)
    for one in (3, 4, 8, 9):
        cold |= (month == one) & (record.tmin <= np.quantile(record.tmin[month == one], 0.08))
    for gone, said in ((cold & (rng.random(cold.size) < 0.5), True), (growing & (rng.random(cold.size) < 0.04), False)):
        of = replace(record, tmin=np.where(gone, np.float32(np.nan), record.tmin))
        assert ("cold_holes" in keys(Site(of, for_season=2025))) == said


def test_the_notes_stand_in_the_text_of_every_answer_in_both_languages_and_in_json(record):
    site = Site(made_up(8), for_season=2025)
    for answer in (fk.frost, fk.heat, fk.record):
        assert "Only 8 seasons count" in " ".join(answer(site).text().split())
        assert "Seules 8 saisons comptent" in " ".join(answer(site, language="fr").text().split())
        assert answer(site).to_dict()["notes"] == [{"key": "few", "seasons": 8}]


@pytest.mark.parametrize("seasons", [8, 15, 20])
def test_short_records_answer_and_the_interval_speaks(seasons):
    site = Site(made_up(seasons), for_season=2025)
    row = fk.frost(site).to_dict()["frost_free"]["share"]
    assert row["seasons"] == seasons and row["high"] - row["low"] > 0.2
    judged = fk.track_record(site).to_dict()["judged"]
    assert judged["forecasts"] == 0 if seasons == 8 else judged["forecasts"] >= 0


def test_a_record_without_a_growing_season_is_refused():
    with pytest.raises(RecordError, match="no reading between 1 April and 31 October"):
        fk.frost(Site(holed(made_up(2), ("2023-03-01", "2023-11-30"), ("2024-03-01", "2024-11-30"))))


@pytest.mark.parametrize(
    ("of", "said"),
    [
        (lambda: made_up(8), {"few"}),
        (lambda: made_up(20), set()),
        (lambda: made_up(60, last=1990), {"ended_long"}),
        (lambda: holed(made_up(70), ("1975-01-01", "1999-12-31")), {"gap"}),
    ],
    ids=["8 seasons", "20 seasons", "ended in 1990", "25 years missing"],
)
def test_odd_records_answer_the_window_with_what_must_be_said_of_them(of, said):
    answer = fk.window(Site(of(), for_season=2025), track_record=True).to_dict()
    assert {note["key"] for note in answer["notes"]} == said
    assert (
        answer["odds"][40]["both"]["low"] <= answer["odds"][40]["both"]["share"] <= answer["odds"][40]["both"]["high"]
    )
