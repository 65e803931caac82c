"""This season stands first: its own days, a forecast, then the rest of every possible season, moved by how warm it is."""

from dataclasses import replace

import numpy as np
import pytest

from frostkit.ensemble.pin import pin, season_of
from frostkit.ensemble.site import Site
from frostkit.errors import RecordError
from frostkit.records.field import low_spot
from frostkit.records.forecast import Forecast
from frostkit.seasons.calendar import MISSING, column
from tests.made_up import record
from tests.plain_loops import weather

TODAY = column(8, 20)
FIRST, LAST = 1990, 2019
TMIN, TMAX = weather(5, LAST - FIRST + 1)
SITE = Site(record(TMIN, TMAX, FIRST))
AS_READ = replace(SITE, climate="as read")


def pinned(site=SITE, season=LAST, today=TODAY, forecast=None):
    return pin(site, season, today, forecast)


def holed(first, last):
    """The last season without its days from one column to another."""
    tmin, tmax = TMIN.copy(), TMAX.copy()
    tmin[-1, first : last + 1] = tmax[-1, first : last + 1] = MISSING
    of = record(tmin, tmax, FIRST)
    low, high = (np.where(part < -100, np.nan, part) for part in (of.tmin, of.tmax))
    return Site(replace(of, tmin=low.astype(np.float32), tmax=high.astype(np.float32)))


def test_every_row_begins_with_this_seasons_days_as_they_were_read():
    rows = pinned()
    assert (rows.tmin[:, :TODAY] == TMIN[-1, :TODAY]).all()
    assert (rows.tmax[:, :TODAY] == TMAX[-1, :TODAY]).all()
    assert rows.seasons.tolist() == list(range(FIRST, LAST))
    assert rows.index.shape == (1, LAST - FIRST)


def test_the_rest_is_each_past_season_moved_by_a_fading_part_of_the_last_60_days_departure():
    rows = pinned(AS_READ)
    mean = [TMIN[:-1, day].mean() / 10 for day in range(365)]
    usual = np.array(mean)
    for _ in range(2):  # the running mean of 15 days around the year, twice
        usual = np.array([np.mean([usual[(day + k) % 365] for k in range(-7, 8)]) for day in range(365)])
    departure = np.mean([TMIN[-1, day] / 10 - usual[day] for day in range(TODAY - 60, TODAY)])
    assert rows.departure[0] == pytest.approx(departure, abs=0.02)
    for season in range(LAST - FIRST):
        row = rows.tmin[rows.index[0, season]]
        for day in (TODAY, TODAY + 10, TODAY + 30, TODAY + 70):
            moved = TMIN[season, day] + 10 * 0.3 * departure * np.exp(-(day - TODAY) / 30)
            assert row[day] == pytest.approx(moved, abs=1.2)  # tenths: a reading stands for its cell, then is rounded


def test_a_warmer_season_so_far_moves_the_coming_days_up_and_the_far_ones_hardly():
    warm = TMIN.copy(), TMAX.copy()
    for part in warm:
        part[-1, TODAY - 60 : TODAY] += 30
    plain, moved = pinned(), pinned(Site(record(*warm, FIRST)))
    apart = (moved.tmin[moved.index] - plain.tmin[plain.index].astype(int)).mean((0, 1))
    assert apart[TODAY] == pytest.approx(9, abs=0.6)  # 0.3 x 3 degC in tenths
    assert apart[TODAY + 30] == pytest.approx(9 * np.exp(-1), abs=0.6)
    assert abs(apart[TODAY + 71]) < 1.5


def test_nothing_of_the_record_from_today_on_has_a_say():
    later = TMIN.copy(), TMAX.copy()
    for part in later:
        part[-1, TODAY:] += 90
    plain, other = pinned(), pinned(Site(record(*later, FIRST)))
    assert (plain.tmin == other.tmin).all() and (plain.tmax == other.tmax).all()


def test_later_seasons_have_no_say_and_none_before_is_refused():
    assert pinned(season=2005).seasons.tolist() == list(range(FIRST, 2005))
    with pytest.raises(RecordError, match=f"first season is {FIRST}: there is none before {FIRST}"):
        pinned(season=FIRST)


def test_holes_in_this_seasons_days_are_drawn_and_seasons_share_a_draw():
    rows = pinned(holed(column(7, 3), column(7, 9)))
    assert rows.index.shape[0] == 20 and np.unique(rows.own).size == 20
    assert not (rows.tmin == MISSING).any()
    assert (~rows.known).sum() == 7
    part = slice(column(7, 3), column(7, 10))
    for draw in range(20):
        own = rows.tmin[rows.index[draw], part]
        assert (own == own[0]).all()
    assert (rows.tmin[:, column(7, 10) : TODAY] == TMIN[-1, column(7, 10) : TODAY]).all()
    assert not rows.complete.any() and pinned().complete.all()


def test_with_fewer_than_30_of_the_last_60_days_read_nothing_is_moved():
    rows = pinned(replace(holed(TODAY - 31, TODAY - 1), climate="as read"))
    assert all(np.isnan(rows.departure))
    apart = rows.tmin[rows.index][..., TODAY:].astype(int) - TMIN[:-1, TODAY:]
    assert abs(apart).max() <= 1  # the cell alone


def test_a_forecast_stands_before_the_rest_and_its_spread_follows_the_seasons_own_warmth():
    start = np.datetime64(f"{LAST}-08-20")
    days = np.zeros(5)
    sure = pinned(forecast=Forecast(start, days + 7.0, days + 19.0, days, days))
    assert (sure.tmin[:, TODAY : TODAY + 5] == 70).all() and (sure.tmax[:, TODAY : TODAY + 5] == 190).all()
    assert sure.forecast_days == 5
    unsure = pinned(forecast=Forecast(start, days + 7.0, days + 19.0, days + 2.0, days + 2.0))
    first = unsure.tmin[unsure.index[0], TODAY]
    before = unsure.before.tmin[unsure.before.index[0], TODAY : TODAY + 5].mean(1)
    before = before + unsure.before.tmax[unsure.before.index[0], TODAY : TODAY + 5].mean(1)
    assert np.argsort(first, kind="stable").tolist() == np.argsort(before, kind="stable").tolist()
    assert first.std() == pytest.approx(20, abs=2)  # tenths


def test_in_a_low_spot_this_seasons_clear_nights_and_the_forecasts_are_colder_too():
    low = replace(SITE, offset=low_spot(3.0, clear_nights_only=False))
    start, days = np.datetime64(f"{LAST}-08-20"), np.zeros(3)
    plain, moved = (pinned(site, forecast=Forecast(start, days + 7.0, days + 19.0, days, days)) for site in (SITE, low))
    assert (moved.tmin[:, : TODAY + 3] == plain.tmin[:, : TODAY + 3] - 30).all()
    clear = pinned(replace(SITE, offset=low_spot(3.0)))
    apart = clear.tmin[0, :TODAY].astype(int) - TMIN[-1, :TODAY]
    assert set(apart.tolist()) == {0, -30}


def test_a_leap_day_has_the_column_of_the_day_before():
    assert season_of(np.datetime64("2020-02-29")) == (2020, column(2, 28))
    assert season_of(np.datetime64("2020-03-01")) == (2020, column(3, 1))
