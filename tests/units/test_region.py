"""Many places at once give each place the answer it would have alone."""

from dataclasses import replace

import numpy as np
import pytest

from frostkit.answers.seeding import seeding
from frostkit.answers.station import behind
from frostkit.crops.entry import load
from frostkit.demo.place import demo_record
from frostkit.errors import SettingError
from frostkit.records.record import Record, Station
from frostkit.region.places import seeding_windows


@pytest.fixture(scope="module")
def places() -> list[Record]:
    """River Flat, half of its record, and the same a little colder: three invented places."""
    whole = demo_record()
    half = whole.tmin.size // 2
    later = replace(whole, station=Station("B", latitude=50.0), start=whole.start + half, tmin=whole.tmin[half:],
                    tmax=whole.tmax[half:], more={})  # fmt: skip
    colder = replace(whole, station=Station("C", latitude=51.0), tmin=whole.tmin - np.float32(1.5))
    return [whole, later, colder]


@pytest.mark.parametrize("block", [1, 2, 8])
def test_each_place_has_the_odds_it_has_alone(places, block):
    crops = load("silage-2300"), load("forage-late")
    found = seeding_windows(places, *crops, after=1, block=block)
    for index, record in enumerate(places):
        alone = seeding(behind(record), *crops, after=1, apart=True).odds["both"]
        for name in ("yes", "no", "not_known", "complete", "complete_yes"):
            np.testing.assert_array_equal(
                found[name][index], getattr(alone, name), err_msg=f"{record.station.id} {name}"
            )
        np.testing.assert_allclose(found.share[index], alone.share)


def test_the_window_of_a_place_is_the_one_it_has_alone(places):
    found = seeding_windows(places, load("silage-2000"), odds=0.7)
    run = seeding(behind(places[0]), load("silage-2000"), odds=0.7).window
    first, last = (str(found[name][0].item()) for name in ("window_from", "window_to"))
    assert (first, last) == (
        "{:02d}-{:02d}".format(*_month_day(run.first)),
        "{:02d}-{:02d}".format(*_month_day(run.last)),
    )


def test_a_crop_by_day_length_is_asked_at_each_latitude(places):
    far = replace(places[0], station=Station("D", latitude=56.0))
    found = seeding_windows([places[0], far], None, load("soybean-2"))
    alone = seeding(behind(far), None, load("soybean-2")).odds["legume"]
    np.testing.assert_array_equal(found.yes[1], alone.yes)


def test_no_place_or_no_crop_is_refused(places):
    with pytest.raises(SettingError, match="There is no place, or no crop"):
        seeding_windows([], load("silage-2300"))
    with pytest.raises(SettingError, match="There is no place, or no crop"):
        seeding_windows(places, None)


def _month_day(day):
    from frostkit.seasons.calendar import month_day

    return month_day(day)
