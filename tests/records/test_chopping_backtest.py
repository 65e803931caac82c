"""Backtest of the chopping forecast on real records: what would it have said on 1 August, 15 August and 1 September?

For every complete season with at least 30 complete ones before it, only its own days until then and earlier seasons are
used. The truth is the day on which the same model, given the whole season, has the corn at 65 % moisture: so this tests
the weather to come, not the calibration of moisture, whose own spread the answer adds.
"""

import time
import tomllib
from functools import cache

import numpy as np
import pytest

from frostkit.answers.ahead import ahead, moment, predicted
from frostkit.answers.chopping import chopping
from frostkit.answers.drying import hybrid, standing
from frostkit.answers.rests import MIDDLE, rests
from frostkit.answers.station import behind
from frostkit.crops import entry
from frostkit.records.readers import read
from frostkit.seasons.calendar import column
from frostkit.seasons.frost import cold, first_fall
from frostkit.seasons.heat import bounds, has_heat
from frostkit.seasons.silage import Killed, moisture_by_day

# Long open records (../shared/data/PROVENANCE.md) and a late hybrid for each, so that 65 % comes in September.
STATIONS = {
    "Ottawa CDA": ("ghcn-daily/CA006105976.dly", None, 2900),
    "Milwaukee": ("ghcn-daily/USW00014839_1938-2026_wide_F.csv.gz", "F", 3000),
    "Twin Cities": ("state-climate-office/twin_cities_1872-2023_F.csv.gz", None, 3000),
}
STAND = {"1 August": column(8, 1), "15 August": column(8, 15), "1 September": column(9, 1)}
SEEDED = column(5, 15)
MOISTURE = 65.0
WANTED = 0.8


def late(rating):
    """The library's latest silage corn with every need in CHU raised in proportion to a rating."""
    table = tomllib.loads((entry.LIBRARY / "silage-2600.toml").read_text("utf-8"))
    for stage in table["stage"].values():
        if stage["need"]["unit"] == "CHU":
            stage["need"] |= {key: stage["need"][key] * rating / 2600 for key in ("value", "low", "high")}
    table["rating"]["value"] = rating
    return entry.read(table, f"silage-{rating}", "made up for this test")


def truth(record, corn):
    """The moment of 65 % in every season, from its whole summer. [season]"""
    cube = record.cube
    known = has_heat(*cube.columns())
    low, high = bounds(corn.clock.rate(*cube.columns()), known)
    gathered = np.cumsum((low + high)[:, SEEDED + 1 :] // 2, axis=1)
    frost = first_fall(cube, corn.kills_at)
    path = moisture_by_day(gathered, corn.drying, Killed(frost.last, frost.last), first_day=SEEDED + 1)
    return moment(path, MOISTURE, SEEDED + 1)


@cache
def backtest(shared):
    """Rows of (station, season, stand, low, middle, high, truth, normal date)."""
    rows = []
    for name, (path, units, rating) in STATIONS.items():
        record, corn = (
            behind(read(shared / "data" / path, input_units=units) if units else read(shared / "data" / path)),
            hybrid(late(rating)),
        )
        days, whole = truth(record, corn), record.complete
        for index in np.flatnonzero(whole):
            if whole[:index].sum() < 30:
                continue
            normal = np.median(days[:index][whole[:index]][-30:])
            for stand, today in STAND.items():
                if days[index] <= today:  # already there: nothing to forecast, and known on that day
                    continue
                of = rests(record, corn.clock, corn.kills_at, int(record.cube.seasons[index]), today)
                gathered = np.cumsum(of.own[MIDDLE, SEEDED + 1 : today]).astype(float)
                at = standing(corn, gathered, SEEDED + 1, [], of.killed_before)
                paths = ahead(of, corn, at, SEEDED + 1, 364)
                moments, use = moment(paths.middle, MOISTURE, paths.first), of.complete.astype(float)
                band = [predicted(moments[use > 0], use[use > 0], p) for p in (0.1, 0.5, 0.9)]
                rows.append((name, record.cube.seasons[index], stand, *band, days[index], normal))
    return np.array(rows, dtype=[("station", "U12"), ("season", int), ("stand", "U12"), ("low", float), ("middle", float),
                                 ("high", float), ("truth", float), ("normal", float)])  # fmt: skip


def true_band(hits, seasons, generator):
    """What a true 80 % band shows on as many seasons: 0.8 and the 95 % of whole years drawn again with replacement, the
    hits of one year together, moved to 0.8."""
    years = np.unique(seasons)
    each = np.array([hits[seasons == year].sum() for year in years])
    size = np.array([(seasons == year).sum() for year in years])
    drawn = generator.integers(0, years.size, (4000, years.size))
    means = each[drawn].sum(1) / size[drawn].sum(1)
    low, high = np.quantile(means - means.mean(), [0.025, 0.975])
    return WANTED + low, WANTED + high


@pytest.mark.parametrize("stand", list(STAND))
def test_the_80_percent_band_covers_what_a_true_one_would(shared, stand):
    rows = backtest(shared)
    rows = rows[rows["stand"] == stand]
    hits = (rows["low"] <= rows["truth"]) & (rows["truth"] <= rows["high"])
    low, high = true_band(hits, rows["season"], np.random.default_rng(1))
    said = f"{stand}: {hits.sum()} of {hits.size} = {hits.mean():.3f}; a true band shows {low:.3f} to {high:.3f}"
    print(said)
    assert hits.size >= 200
    assert low <= hits.mean() <= high, said


@pytest.mark.parametrize("stand", list(STAND))
@pytest.mark.parametrize("station", list(STATIONS))
def test_the_middle_comes_nearer_than_the_normal_date(shared, station, stand):
    rows = backtest(shared)
    rows = rows[(rows["station"] == station) & (rows["stand"] == stand)]
    error, normal = (np.median(abs(rows[by] - rows["truth"])) for by in ("middle", "normal"))
    print(f"{station}, {stand}: {rows.size} seasons, median error {error:.1f} days, normal date {normal:.1f}")
    assert error < normal


@pytest.mark.parametrize("station", list(STATIONS))
def test_the_forecast_narrows_as_the_season_goes_on(shared, station):
    rows = backtest(shared)
    rows = rows[rows["station"] == station]
    late_enough = rows[rows["stand"] == "1 September"]["season"]
    widths = []
    for stand in STAND:
        same = rows[(rows["stand"] == stand) & np.isin(rows["season"], late_enough)]
        widths.append(np.median(same["high"] - same["low"]))
    print(f"{station}: width of the 80 % band {', '.join(f'{w:.1f}' for w in widths)} days")
    assert widths[0] > widths[1] > widths[2]


def test_nothing_after_today_is_looked_at(shared):
    record = read(shared / "data" / STATIONS["Ottawa CDA"][0])
    today = np.datetime64("2003-08-20")
    index = int((today - record.start).astype(int))
    blind = type(record)(record.station, record.start, record.tmin[:index], record.tmax[:index])
    seen, not_seen = (chopping(behind(of), late(2900), SEEDED, today=today) for of in (record, blind))
    assert seen.fit_from == not_seen.fit_from
    assert seen.fit_to == not_seen.fit_to
    np.testing.assert_array_equal(seen.moisture, not_seen.moisture)


def test_the_odds_of_a_killing_frost_are_counted_over_the_same_rests(shared):
    record = behind(read(shared / "data" / STATIONS["Ottawa CDA"][0]))
    answer = chopping(record, late(2900), SEEDED, today="2010-08-15", newest=None)
    certain, _ = cold(record.cube, answer.hybrid.kills_at)
    past = (record.cube.seasons < 2010)[:, None]
    day = column(10, 10)
    frozen = (certain & past)[:, column(8, 15) : day + 1].any(1).sum()
    assert int(answer.odds["killed"].share.yes[day - answer.days[0]]) == frozen


def test_one_answer_takes_well_under_a_second(shared):
    record = behind(read(shared / "data" / STATIONS["Ottawa CDA"][0]))
    corn = late(2900)
    chopping(record, corn, SEEDED, today="2010-08-15")
    start = time.perf_counter()
    chopping(record, corn, SEEDED, today="2010-08-16")
    assert time.perf_counter() - start < 1.0
