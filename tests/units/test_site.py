"""A site's possible seasons: from earlier seasons alone, moved as a whole, one row for what is one."""

from dataclasses import replace

import numpy as np
import pytest

from frostkit.demo.place import demo_record
from frostkit.ensemble.fold import GROWING
from frostkit.ensemble.site import AS_READ, Site
from frostkit.ensemble.today import level, next_season, warmth_of_globe
from frostkit.errors import RecordError, SettingError
from frostkit.records.field import Offset, low_spot
from frostkit.seasons.calendar import MISSING


@pytest.fixture(scope="module")
def record():
    return demo_record()


def test_nothing_from_the_season_asked_for_on_has_a_say(record):
    asked = Site(record, for_season=1995).ensemble()
    later = record.time() >= np.datetime64("1995-01-01")
    changed = replace(
        record,
        tmin=np.where(later, 30, record.tmin).astype(np.float32),
        tmax=np.where(later, 40, record.tmax).astype(np.float32),
    )
    other = Site(changed, for_season=1995).ensemble()
    assert np.array_equal(asked.tmin, other.tmin) and np.array_equal(asked.tmax, other.tmax)
    assert asked.seasons[-1] == 1994 and asked.asked == 1995


def test_asking_for_another_season_is_the_same_as_a_site_of_that_season(record):
    one = Site(record).asking(2000).ensemble()
    other = Site(record, for_season=2000).ensemble()
    assert np.array_equal(one.tmin, other.tmin) and one.seasons.tolist() == other.seasons.tolist()


def test_as_read_and_without_holes_a_season_is_its_own_row(record):
    site = Site(record, climate=AS_READ)
    of = site.ensemble()
    assert of.shifted is None and of.degrees == (0.0, 0.0)
    folded = site.folded
    for season in of.seasons[of.complete]:
        here = folded.seasons == season
        own = folded.tmin[here][0]
        rows = of.tmin[of.index[:, of.seasons == season][:, 0]]
        growing = slice(GROWING[0], GROWING[1] + 1)
        assert (rows[:, growing] == own[growing]).all()


def test_moved_seasons_are_warmer_by_what_is_said_of_the_oldest(record):
    read, moved = Site(record, climate=AS_READ, for_season=2025).ensemble(), Site(record).ensemble()
    growing = slice(GROWING[0], GROWING[1] + 1)
    for element, said in zip(("tmin", "tmax"), moved.degrees, strict=True):
        before = getattr(read, element)[read.index[0, 0], growing].mean()
        after = getattr(moved, element)[moved.index[0, 0], growing].mean()
        assert (after - before) / 10 == pytest.approx(said, abs=0.05)


def test_a_low_spot_is_colder_on_clear_nights_and_nowhere_else(record):
    plain = Site(record, climate=AS_READ).ensemble()
    low = Site(record, offset=low_spot(2.0), climate=AS_READ).ensemble()
    off = low.tmin[low.index].astype(int) - plain.tmin[plain.index]
    assert set(np.unique(off)) == {-20, 0}
    assert np.array_equal(low.tmax[low.index], plain.tmax[plain.index])
    span = (plain.tmax[plain.index].astype(int) - plain.tmin[plain.index])[0]
    assert span[off[0] == -20].min() > np.median(span) - 60


def test_a_measured_offset_is_drawn_for_every_season(record):
    rng = np.random.default_rng(1)
    pool = np.stack([np.sort(rng.normal(0, 3, 60)), rng.normal(0, 1, 60)])
    measured = Offset(
        np.full((3, 2), -1.0), np.full((3, 2), 0.2), np.full((3, 2), 20), np.array([0.8, 1.2]), (pool,) * 6
    )
    of = Site(record, offset=measured, climate=AS_READ).ensemble()
    assert of.index.shape[0] == 20 and len(np.unique(of.index)) == of.index.size
    plain = Site(record, climate=AS_READ).ensemble()
    off = of.tmin[of.index].astype(float) - plain.tmin[plain.index]
    assert off.mean() / 10 == pytest.approx(-1.0, abs=0.3)


def test_seasons_asked_for_alone_are_counted_and_the_others_still_tell_the_climate(record):
    one = Site(record, only=(1980, 1980)).ensemble()
    assert one.seasons.tolist() == [1980]
    every = Site(record).ensemble()
    here = int(np.flatnonzero(every.seasons == 1980)[0])
    assert np.array_equal(one.tmin[one.index[0, 0]], every.tmin[every.index[0, here]])


def test_what_can_not_be_asked_is_refused_in_words(record):
    with pytest.raises(RecordError, match="none from 1900 to 1910"):
        Site(record, only=(1900, 1910)).ensemble()
    with pytest.raises(RecordError, match="there is none before 1950"):
        Site(record, for_season=1950).ensemble()
    with pytest.raises(SettingError, match=r"climate='tomorrow' is not known"):
        Site(record, climate="tomorrow")
    empty = replace(record, tmax=np.full_like(record.tmax, np.nan))
    with pytest.raises(RecordError, match="enough readings of Tmin and Tmax"):
        Site(empty).ensemble()


def test_the_shifts_of_the_interval_share_their_holes_and_scatter_about_the_middle(record):
    of = Site(record).ensemble()
    assert of.shifted.shape == (20, of.seasons.size)
    growing = slice(GROWING[0], GROWING[1] + 1)
    middle = of.tmin[of.index[0], growing].mean()
    each = of.tmin[of.shifted][..., growing].mean(axis=(1, 2))
    assert 0.5 < each.std() < 8 and each.mean() == pytest.approx(middle, abs=3)


def test_a_record_that_did_not_warm_is_not_warmed_much():
    """DESIGN: c from the record protects a place that did not warm."""
    record = demo_record()
    folded = Site(record).folded
    rng = np.random.default_rng(2)
    flat = replace(folded, seasons=np.arange(1900, 2025))
    wave = 100 * np.sin(np.arange(365) / 58)
    values = np.rint(wave + rng.normal(0, 25, (125, 365)) + rng.normal(0, 8, (125, 1))).astype(np.int16)
    flat = replace(flat, tmin=values, tmax=(values + 100).astype(np.int16), prcp=None, sign=None)
    moves = level(flat, 2025).moves()
    assert np.abs(moves[..., 20:60]).mean() < 0.45


def test_the_globe_is_smoothed_from_years_before_the_season_asked_for():
    early = warmth_of_globe(np.array([1980, 1990]), 1990)
    late = warmth_of_globe(np.array([1980, 1990]), 2020)
    assert not np.allclose(early, late)
    assert next_season() == 2025
    assert (Site(demo_record()).ensemble(shifts=0).tmin != MISSING).all()
