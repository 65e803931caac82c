"""Light between rows: HANDBOOK_2 section 13 exactly, its limits, an independent count of rays, the sun by pvlib.

The LGT rows of values_2.csv are in test_light_values.py. Section 13 is exact geometry, worked out again there.
"""

import warnings

import numpy as np
import pandas as pd
import pytest

from frostkit.answers.legume import bean_light
from frostkit.crops.entry import load
from frostkit.errors import SettingError
from frostkit.seasons import canopy, rowlight
from frostkit.seasons.rowlight import EAST_WEST, NORTH_SOUTH, Rows, beam_to_floor, direct_share, sky_to_floor

JUNE, AUGUST, SEPTEMBER = 172, 213, 244  # 21 June, 1 August, 1 September


# --- HANDBOOK_2 section 13 -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("height", "gap", "mean", "centre", "edge"),
    [
        (0.3, 0.75, 0.6770, 0.7809, None),
        (1.0, 0.75, 0.3333, 0.3511, 0.3000),
        (2.0, 0.75, 0.1813, 0.1843, None),
    ],
)
def test_sky_seen_from_the_floor(height, gap, mean, centre, edge):
    seen = rowlight.views(height, gap)
    assert float(seen.floor_sky) == pytest.approx(mean, abs=6e-5)
    assert float(seen.centre_sky) == pytest.approx(centre, abs=6e-5)
    if edge is not None:
        assert float(seen.edge_sky) == pytest.approx(edge, abs=6e-5)


def test_floor_walls_and_sky_sum_to_one():
    height, gap = np.meshgrid([0.0, 0.1, 0.3, 1.0, 2.5], [0.05, 0.4, 0.75, 1.5])
    seen = rowlight.views(height, gap)
    assert seen.floor_sky + seen.floor_walls == pytest.approx(np.ones_like(height))
    assert seen.wall_sky + seen.wall_wall + seen.wall_floor == pytest.approx(np.ones_like(height))
    # what the floor gets of the walls' light the walls get of the floor's (reciprocity), two walls to a floor
    assert gap * seen.floor_walls == pytest.approx(2 * height * seen.wall_floor)


def test_the_mean_sky_is_the_mean_of_the_points_of_the_floor():
    """The view from a point is half of cos to the left and right hedge top: averaged, the crossed-strings rule."""
    x = (np.arange(20_000) + 0.5) / 20_000 * 0.75
    point = (x / np.hypot(x, 1.0) + (0.75 - x) / np.hypot(0.75 - x, 1.0)) / 2
    seen = rowlight.views(1.0, 0.75)
    assert float(seen.floor_sky) == pytest.approx(point.mean(), abs=1e-6)
    assert float(seen.centre_sky) == pytest.approx(point[10_000], abs=1e-4)


@pytest.mark.parametrize(
    ("x", "expected"),
    [
        (1.0, {0: 0.4997, 30: 0.577, 45: 0.7066, 60: 0.9993}),
        (1.37, {0: 0.6055, 30: 0.657, 45: 0.7496, 60: 0.976}),
    ],
)
def test_ellipsoidal_leaves(x, expected):
    for zenith, kb in expected.items():
        assert float(rowlight.leaf_extinction(zenith, x)) == pytest.approx(kb, abs=6e-4)
        if x == 1:  # spherical leaves: 0.5 / cos z, to the fit's own thousandth
            assert float(rowlight.leaf_extinction(zenith, x)) == pytest.approx(
                0.5 / np.cos(np.deg2rad(zenith)), rel=1e-3
            )


@pytest.mark.parametrize(
    ("declined", "noon", "across", "hours"),
    [(23.44, 63.44, 31.28, 4.58), (18.1, 58.1, 23.93, 4.94), (8.3, 48.3, 10.86, 5.53)],
)
def test_sun_at_50_north(declined, noon, across, hours):
    assert float(rowlight.sun(50, declined, 12).elevation) == pytest.approx(noon, abs=0.01)
    elevation, from_noon = rowlight.across(50, declined)
    assert (float(elevation), float(from_noon)) == (pytest.approx(across, abs=0.01), pytest.approx(hours, abs=0.01))
    due_west = rowlight.sun(50, declined, 12 + from_noon)
    assert (float(due_west.elevation), float(due_west.azimuth)) == (pytest.approx(across, abs=0.01), pytest.approx(270))


@pytest.mark.parametrize(
    ("day", "height", "spacing", "width", "north_south", "east_west"),
    [
        (JUNE, 0.3, 0.75, 0.15, 0.47, 0.63),
        (JUNE, 0.6, 0.75, 0.25, 0.21, 0.35),  # the page leaves its width out: between 0.15 and 0.3
        (JUNE, 1.0, 0.75, 0.30, 0.111, 0.120),
        (JUNE, 2.0, 0.75, 0.40, 0.034, 0.028),
        (JUNE, 2.0, 1.50, 0.40, 0.163, 0.228),
        (AUGUST, 1.0, 0.75, 0.30, 0.107, 0.067),
        (SEPTEMBER, 1.0, 0.75, 0.30, 0.101, 0.011),
    ],
)
def test_direct_beam_on_the_floor_of_a_day(day, height, spacing, width, north_south, east_west):
    """Two separate workings of that page agree within 0.04 (LGT-55)."""
    hedges = Rows(spacing, height, width)
    assert float(direct_share(50, day, hedges, NORTH_SOUTH)) == pytest.approx(north_south, abs=0.03)
    assert float(direct_share(50, day, hedges, EAST_WEST)) == pytest.approx(east_west, abs=0.03)


def test_east_west_lets_in_more_in_june_and_north_south_from_late_july_under_tall_corn():
    days = np.arange(JUNE, 274)
    for hedges, before in ((Rows(0.75, 1.0, 0.3), 213), (Rows(1.5, 2.0, 0.4), 213), (Rows(0.75, 0.3, 0.15), 260)):
        east, north = (direct_share(50, days, hedges, way) for way in (EAST_WEST, NORTH_SOUTH))
        cross = rowlight.crossing(east, north)
        assert cross is not None and days[cross] <= before
        assert (north[cross:] > east[cross:]).all() and (cross == 0 or east[cross - 1] >= north[cross - 1])
    low = Rows(0.75, 0.3, 0.15)
    assert direct_share(50, JUNE, low, EAST_WEST) > direct_share(50, JUNE, low, NORTH_SOUTH)
    assert rowlight.crossing([1, 1], [2, 0]) is None


# --- limits --------------------------------------------------------------------------------------------------------

ANGLES = np.array([5.0, 20.0, 45.0, 60.0, 89.9, 90.0])


def test_bare_soil_gets_all():
    for bare in (Rows(0.75, 0.0, 0.3), Rows(0.75, 1.0, 0.0), Rows(0.75, 1.0, 0.3, 0.0)):
        assert beam_to_floor(bare, ANGLES, 35.0) == pytest.approx(1)
        assert float(sky_to_floor(bare)) == pytest.approx(1)


@pytest.mark.parametrize("x", [1.0, 1.37])
def test_a_canopy_without_gaps_is_the_even_canopy(x):
    closed = Rows(0.75, 2.0, 0.75, 3.0, x)
    expected = np.exp(-rowlight.leaf_extinction(90 - ANGLES, x) * 3.0)
    for off_row in (0.0, 35.0, 90.0):
        assert beam_to_floor(closed, ANGLES, off_row) == pytest.approx(expected)


def test_opaque_hedges_shade_by_their_shadow():
    hedges, angle, off = Rows(0.75, 1.0, 0.3), np.array([20.0, 70.0, 80.0]), np.array([10.0, 30.0, 60.0])
    shade = np.tan(np.deg2rad(90 - angle)) * np.sin(np.deg2rad(off))
    assert beam_to_floor(hedges, angle, off) == pytest.approx(np.maximum(0.45 - shade, 0) / 0.75, abs=1e-5)
    thick = hedges._replace(leaf_area=1e5)
    assert beam_to_floor(thick, angle, off) == pytest.approx(beam_to_floor(hedges, angle, off), abs=1e-4)


def test_sun_overhead_and_sun_along_the_row_light_the_whole_gap():
    leaf = Rows(0.75, 1.0, 0.3, 2.0)
    through_hedge = np.exp(-rowlight.leaf_extinction(0.0) * 2.0 * 0.75 / 0.3)
    assert float(beam_to_floor(leaf, 90.0, 77.0)) == pytest.approx((0.45 + 0.3 * through_hedge) / 0.75)
    assert float(beam_to_floor(Rows(0.75, 1.0, 0.3), 30.0, 0.0)) == pytest.approx(0.6)
    assert float(beam_to_floor(Rows(0.75, 1.0, 0.3), 30.0, 180.0)) == pytest.approx(0.6)


def test_a_sun_below_the_horizon_lights_nothing():
    assert beam_to_floor(Rows(0.75, 1.0, 0.3, 2.0), [-10.0, 0.0], 45.0).tolist() == [0, 0]


def test_leaves_lie_between_opaque_hedges_and_an_even_canopy_for_the_sky():
    """The same leaves in hedges let more through than spread evenly, and never less than opaque hedges."""
    for height, width in ((0.5, 0.3), (1.2, 0.4), (2.0, 0.6)):
        leafy = Rows(0.75, height, width, 2.5)
        dark, light = sky_to_floor(leafy._replace(leaf_area=np.inf)), sky_to_floor(leafy._replace(width=0.75))
        assert dark < sky_to_floor(leafy)
        assert light < sky_to_floor(leafy)


def test_an_even_sky_between_opaque_hedges_is_the_exact_view():
    """Two roads to one number: all directions summed, and the crossed-strings rule."""
    for height in (0.3, 1.0, 2.0):
        exact = 0.6 * rowlight.views(height, 0.45).floor_sky
        assert float(sky_to_floor(Rows(0.75, height, 0.3))) == pytest.approx(float(exact), abs=0.002)


def test_the_light_over_the_field_is_shared_out_whole():
    to_floor, up = np.linspace(0, 1, 11)[:, None], np.linspace(0, 1, 5)
    shares = rowlight.budget(to_floor, up, soil=0.15)
    assert sum(shares) == pytest.approx(np.ones((11, 5)))
    assert min(part.min() for part in shares) >= 0
    bare = rowlight.budget(1.0, 1.0, soil=0.15)
    assert (float(bare.leaves), float(bare.sky)) == (pytest.approx(0), pytest.approx(0.15))


def test_rows_wider_than_their_spacing_are_refused():
    with pytest.raises(SettingError, match="wider than their spacing"):
        beam_to_floor(Rows(0.75, 1.0, 0.8), 45.0, 0.0)


# --- an independent count of rays ----------------------------------------------------------------------------------


def count_rays(rows, elevation, off_row, rng, rays=20_000, steps=400):
    """Share of rays that reach the floor: each steps down through the hedges and may meet a leaf on each step."""
    start = rng.random(rays) * rows.spacing  # where it would land
    up = np.sin(np.deg2rad(elevation))
    sideways = np.cos(np.deg2rad(elevation)) * np.sin(np.deg2rad(off_row))
    density = rows.leaf_area / (rows.height * rows.width / rows.spacing)  # m2 of leaf per m3 of hedge
    # Spherical leaves stop half their area of every beam
    free = -np.log(1 - rng.random(rays))  # optical depth at which this ray meets its leaf
    depth = np.zeros(rays)
    path = rows.height / up
    for step in range(steps):
        along = (step + rng.random(rays)) / steps * path
        inside = (start + along * sideways) % rows.spacing < rows.width
        depth += np.where(inside, 0.5 * density * path / steps, 0)
    return np.mean(depth < free)


@pytest.mark.parametrize("elevation", [15.0, 40.0, 65.0])
@pytest.mark.parametrize("off_row", [0.0, 25.0, 90.0])
@pytest.mark.parametrize(
    ("spacing", "height", "width", "leaf"), [(0.76, 0.8, 0.3, 1.0), (0.76, 2.0, 0.5, 3.0), (1.52, 2.2, 0.8, 3.5)]
)
def test_rays_counted_one_by_one_agree_within_0_02(spacing, height, width, leaf, elevation, off_row):
    rows = Rows(spacing, height, width, leaf)
    counted = count_rays(rows, elevation, off_row, np.random.default_rng(20))
    assert float(beam_to_floor(rows, elevation, off_row)) == pytest.approx(counted, abs=0.02)


@pytest.mark.parametrize(("height", "width", "leaf"), [(0.8, 0.3, 1.0), (2.0, 0.5, 3.0)])
def test_rays_from_all_the_sky_agree_within_0_02(height, width, leaf):
    rng, rows = np.random.default_rng(21), Rows(0.76, height, width, leaf)
    elevation = np.rad2deg(np.arcsin(np.sqrt(rng.random(20_000))))  # an even sky on level ground
    counted = count_rays(rows, elevation, 360 * rng.random(20_000), rng)
    assert float(sky_to_floor(rows)) == pytest.approx(counted, abs=0.02)


# --- the sun, against a reference library --------------------------------------------------------------------------


@pytest.mark.parametrize("latitude", [45.0, 50.0, 55.0])
def test_the_sun_stands_where_pvlib_puts_it(latitude):
    """pvlib's solar position (NREL's algorithm), 2021 to 2024, May to September, at 100 W; hours by its equation of time."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from pvlib.solarposition import get_solarposition

    for year in range(2021, 2025):
        days = pd.date_range(f"{year}-05-01", f"{year}-09-30", freq="10D", tz="UTC")
        numbers = np.array([(pd.Timestamp(2021, day.month, day.day) - pd.Timestamp("2020-12-31")).days for day in days])
        for hour in (8.0, 10.0, 12.0, 15.0, 17.0):
            utc = days + pd.Timedelta(hours=hour + 100 / 15)
            theirs = get_solarposition(utc, latitude, -100.0, method="nrel_numpy")
            solar = hour + theirs["equation_of_time"].to_numpy() / 60
            ours = rowlight.sun(latitude, rowlight.declination(numbers), solar)
            assert np.abs(ours.elevation - theirs["elevation"].to_numpy()).max() < 0.6
            off = (ours.azimuth - theirs["azimuth"].to_numpy() + 180) % 360 - 180
            assert np.abs(off).max() < 1.0


# --- days, seasons, and corn in rows -------------------------------------------------------------------------------


def test_the_sun_shines_down_north_south_rows_at_noon_and_east_west_rows_when_it_stands_due_east():
    """Common practice, no source; it follows from the sun's azimuth (CHECKS section 8)."""
    hedges, hours = Rows(0.75, 1.0, 0.3), np.arange(24.0)
    north = rowlight.row_day(50, AUGUST, hedges, NORTH_SOUTH, hours)
    assert float(north.direct.max()) == pytest.approx(0.6) and int(north.direct.argmax()) == 12
    east = rowlight.row_day(50, AUGUST, hedges, EAST_WEST, 12 + rowlight.across(50, rowlight.declination(AUGUST))[1])
    assert float(east.direct.squeeze()) == pytest.approx(0.6)


def test_rows_turned_half_round_are_the_same_rows():
    leaf, days = Rows(0.75, 1.0, 0.3, 2.0), np.array([JUNE, AUGUST])
    assert direct_share(50, days, leaf, 20.0) == pytest.approx(direct_share(50, days, leaf, 200.0))


def test_a_season_is_the_weighted_mean_of_its_days():
    days, light = np.array([JUNE, AUGUST, SEPTEMBER]), np.array([10.0, 8.0, 5.0])
    rows = Rows(0.75, np.array([0.4, 1.5, 2.2]), np.array([0.3, 0.6, 0.7]), np.array([0.4, 3.0, 4.0]))
    each = rowlight.floor_share(50, days, rows, 0.0, 0.5)
    expected = (each * light).sum() / light.sum()
    assert rowlight.season_share(50, days, rows, 0.0, light, 0.5) == pytest.approx(expected)
    assert each[0] > each[1] > each[2]


def test_rows_that_close_are_the_even_canopy_and_wide_rows_let_in_more():
    corn, heat, sown = load("silage-2300"), np.zeros((1, 366), np.int32), np.array([[0]])
    even = bean_light.even_corn(corn, heat, sown).reaches
    ordinary, wide, paired = (
        bean_light.row_corn(corn, heat, sown, 50.0, way, NORTH_SOUTH).reaches for way in ("ordinary", "wide", "paired")
    )
    closed = round(bean_light.collar_heat(corn, 12)[0])
    assert ordinary.shape == (365, even.shape[1])
    assert ordinary[200, closed:] == pytest.approx(even[0, closed:], abs=1e-4)
    assert (ordinary >= even - 1e-5).all()  # gaps never take light away
    assert (wide[:, closed:] > 1.5 * ordinary[:, closed:]).all()
    assert (ordinary[:, closed:] < paired[:, closed:]).all() and (paired[:, closed:] < wide[:, closed:]).all()


def test_growth_in_wide_rows_follows_the_light_of_each_day():
    """A table by day and heat is read by day: the same as the even canopy where all days are alike."""
    light = np.full((1, 365), 6.0, np.float32)
    heat = (np.arange(366, dtype=np.int32) * 9)[None]
    table = canopy.reaching(0.5 * canopy.by_heat([60, 700], [0.0, 4.0]))[None]
    up = np.array([[150.0, 160.0]])
    bean = bean_light.bean()
    for sown in (np.array([[135]]), np.array([[135, 145]])):
        once = canopy.growth(light, up, [250.0], bean, canopy.Corn(heat, sown, table))
        daily = canopy.growth(light, up, [250.0], bean, canopy.Corn(heat, sown, np.repeat(table, 365, axis=0)))
        assert daily == pytest.approx(once)
