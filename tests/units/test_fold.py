"""Days fold into seasons of 365 columns, and a season counts by what was read of it."""

import datetime

import numpy as np
import pytest
from hypothesis import given, strategies as st

from frostkit.ensemble.fold import Folded, complete, counted, fold, longest_run, observed
from frostkit.errors import RecordError
from frostkit.seasons.calendar import DAYS, MISSING, column


def plainly(start, values):
    """{(year, month, day): tenths} by datetime, without 29 February."""
    day = datetime.date.fromisoformat(str(start))
    out = {}
    for value in values:
        if (day.month, day.day) != (2, 29) and not np.isnan(value):
            out[day.year, day.month, day.day] = round(float(value) * 10)
        day += datetime.timedelta(days=1)
    return out


@pytest.mark.parametrize("start", ["1999-05-17", "2000-01-01", "2000-02-29", "1900-02-28", "2003-12-31"])
def test_every_reading_stands_in_its_year_and_column_and_29_february_in_none(start):
    rng = np.random.default_rng(1)
    tmin = np.round(rng.normal(5, 8, 1500), 1)
    tmin[rng.random(1500) < 0.05] = np.nan
    tmax = tmin + 10
    folded = fold(np.datetime64(start), tmin, tmax)
    seen = {}
    for (season, place), value in np.ndenumerate(folded.tmin):
        if value != MISSING:
            date = datetime.date(2001, 1, 1) + datetime.timedelta(days=place)
            seen[int(folded.seasons[season]), date.month, date.day] = int(value)
    wanted = {
        key: value for key, value in plainly(start, tmin).items() if folded.seasons[0] <= key[0] <= folded.seasons[-1]
    }
    assert seen == wanted


def test_a_record_without_a_growing_season_is_refused():
    with pytest.raises(RecordError, match="no reading between 1 April and 31 October"):
        fold(np.datetime64("2001-11-05"), np.zeros(60), np.ones(60))


def seasons(missing_days, which="tmin", count=3):
    """A few full seasons, the first of which lacks some columns."""
    tmin = np.full((count, DAYS), 50, np.int16)
    tmax = np.full((count, DAYS), 150, np.int16)
    (tmin if which == "tmin" else tmax)[0, missing_days] = MISSING
    return Folded(tmin, tmax, np.arange(2001, 2001 + count))


def test_a_season_counts_with_80_percent_of_its_days_and_no_run_over_31():
    april, growing = column(4, 1), 214
    assert counted(seasons(np.arange(april, april + 31)))[0]
    assert not counted(seasons(np.arange(april, april + 32)))[0]
    scattered = april + np.arange(0, growing, 5)  # 43 of 214: just over 20 %
    assert not counted(seasons(scattered))[0]
    assert counted(seasons(scattered[:42]))[0]
    assert counted(seasons(np.arange(0, 80)))[0], "winter days have no say"


def test_a_frost_date_needs_no_tmax():
    folded = seasons(np.arange(column(5, 1), column(7, 1)), which="tmax")
    assert counted(folded, ("tmin",))[0] and complete(folded, ("tmin",))[0]
    assert not counted(folded, ("tmin", "tmax"))[0]


def test_a_year_without_readings_was_not_observed():
    folded = seasons(np.arange(DAYS))
    folded.tmax[0] = MISSING
    assert observed(folded).tolist() == [False, True, True]


@given(st.lists(st.booleans(), min_size=1, max_size=30))
def test_the_longest_run_is_what_a_plain_loop_finds(missing):
    longest = run = 0
    for one in missing:
        run = run + 1 if one else 0
        longest = max(longest, run)
    assert longest_run(np.array([missing]))[0] == longest
