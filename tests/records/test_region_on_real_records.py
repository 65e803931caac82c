"""The region on real records: place by place what the single station's answer says, and files read fast as read well."""

import shutil
from concurrent.futures import ProcessPoolExecutor

import numpy as np
import pytest

import frostkit as fk
from frostkit.answers.seeding.window import window
from frostkit.crops.entry import load
from frostkit.ensemble.site import AS_READ, TODAY, Site
from frostkit.errors import FrostkitError, RecordError
from frostkit.records.readers import read
from frostkit.region import engine, places, results
from frostkit.region.answer import Question, of_block
from frostkit.region.fast_dly import read_fast, read_many
from frostkit.region.further import FURTHER
from frostkit.region.places import Block, Place
from frostkit.seasons.calendar import code
from tests.real_records import NAMES, place
from tests.units.test_region_answer import same

CORN, LEGUME = load("silage-2300"), load("forage-late")
DLY = ("CA006105976", "CA006105978", "USC00305816")


@pytest.mark.parametrize("name", DLY)
def test_a_station_file_is_read_fast_as_it_is_read_well(name, shared):
    path = shared / "data" / "ghcn-daily" / f"{name}.dly"
    fast, well = read_fast(path), read(path)
    assert fast is not None and fast.start == well.start and fast.station == well.station and well.sign is None
    for element in ("tmin", "tmax"):
        assert np.array_equal(getattr(fast, element), getattr(well, element), equal_nan=True)
    assert np.array_equal(fast.more["prcp"], well.more["prcp"], equal_nan=True)


@pytest.fixture
def lines(shared):
    return (shared / "data" / "ghcn-daily" / "CA006105978.dly").read_text("ascii").splitlines()


def changed(lines, wanted):
    """The first line of Tmax in a summer, by a function of it."""
    at = next(number for number, line in enumerate(lines) if line[11:21] == "200107TMAX")
    return [*lines[:at], *wanted(lines[at]), *lines[at + 1 :]]


@pytest.mark.parametrize(
    "wanted",
    [
        lambda line: [line[:200]],
        lambda line: [line, line],
        lambda line: [line[:21] + "  2x0" + line[26:]],
        lambda line: [line[:15] + "13" + line[17:]],
        lambda line: ["US00ELSE000" + line[11:]],
        lambda line: [line[:21] + "1 2 3" + line[26:]],
        lambda line: [line[:21] + "--123" + line[26:]],
    ],
    ids=["cut short", "twice", "letters", "month 13", "another station", "blanks within", "two signs"],
)
def test_a_file_that_is_not_plain_is_left_to_the_other_reader(wanted, lines, tmp_path):
    path = tmp_path / "a.dly"
    path.write_text("\n".join(changed(lines, wanted)) + "\n")
    assert read_fast(path) is None


def test_readings_that_cannot_be_are_missing_in_both_readers(lines, tmp_path):
    path = tmp_path / "a.dly"
    path.write_text(
        "\n".join(changed(lines, lambda line: [line[:21] + "  990   " + line[29:37] + " -300" + line[42:]])) + "\n"
    )
    fast, well = read_fast(path), read(path)
    for element in ("tmin", "tmax"):
        assert np.array_equal(getattr(fast, element), getattr(well, element), equal_nan=True)


def test_many_files_come_in_their_order_with_the_fault_of_each(shared, tmp_path):
    files = [str(shared / "data" / "ghcn-daily" / f"{name}.dly") for name in DLY]
    (tmp_path / "b.dly").write_text("nothing of the kind\n")
    with ProcessPoolExecutor(2) as pool:
        found = read_many([*files, str(tmp_path / "b.dly")], pool)
    assert [one.station.id for one in found[:3]] == list(DLY)
    assert isinstance(found[3], RecordError)


@pytest.mark.slow
@pytest.mark.parametrize("climate", [AS_READ, TODAY])
@pytest.mark.parametrize("name", NAMES)
def test_every_real_record_as_a_place_is_what_it_is_alone(name, climate, shared, tmp_path):
    _same_as_alone(name, climate, shared, tmp_path)


@pytest.mark.parametrize("name", ["valleyview", "calgary", "farnham"])
def test_some_real_records_as_places_are_what_they_are_alone(name, shared, tmp_path):
    _same_as_alone(name, TODAY, shared, tmp_path)


def _same_as_alone(name, climate, shared, tmp_path):
    path, options = place(name, shared, tmp_path)
    site = Site(read(path, **options), climate=climate)
    of = site.station
    question = Question(CORN, LEGUME, climate=climate)
    got = of_block(Block((Place(name, of.latitude, of.longitude, of.elevation, site),)), question)
    try:
        single = window(Site(site.record, climate=climate), CORN, LEGUME)
    except FrostkitError as fault:
        reason = " ".join(fault.what.split())
        assert got["note"][0] == reason and got["counted"][0] == 0
        return
    assert got["note"][0] == ""
    same(got, 0, single, question)


@pytest.mark.slow
def test_a_real_grid_is_answered_cell_by_cell_and_from_its_store_alike(shared, tmp_path):
    path = shared / "data" / "grid" / "era5_daily_surface_cancities_1990-1993.nc"
    source = places.grid(path, block=2)
    kept = places.keep(source, tmp_path / "days.zarr")
    question = Question(CORN, None, climate=AS_READ)
    found = []
    for number, one in enumerate((source, kept)):
        out = tmp_path / f"out {number}.zarr"
        assert engine.run(one, question, out, workers=0).faults == {}
        found.append(results.read(out)[0])
    for name in found[0].data_vars:
        assert found[0][name].equals(found[1][name]), name
    cities = found[0]["name"].to_numpy().tolist()
    assert cities == ["Halifax", "Montréal", "Iqaluit", "Saskatoon", "Victoria"]
    got = {name: found[0][name].to_numpy() for name in found[0].data_vars}
    single = window(Site(read(path, station="Saskatoon"), climate=AS_READ), CORN)
    same(got, 3, single, question)


@pytest.mark.slow
@pytest.mark.parametrize("climate", [AS_READ, TODAY])
def test_every_cell_of_a_real_grid_is_what_it_is_alone(climate, shared):
    path = shared / "data" / "grid" / "era5_daily_surface_cancities_1990-1993.nc"
    question = Question(CORN, LEGUME, climate=climate)
    block = places.grid(path).read(0, climate, None)
    got = of_block(block, question)
    for number, one in enumerate(block.places):
        single = window(Site(read(path, station=one.name), climate=climate), CORN, LEGUME)
        same(got, number, single, question)


def test_a_folder_of_stations_with_one_that_cannot_be_read_answers_the_others(shared, tmp_path):
    for name in DLY[1:]:
        shutil.copy(shared / "data" / "ghcn-daily" / f"{name}.dly", tmp_path)
    (tmp_path / "broken.csv").write_text("not,a,record\n1,2,3\n")
    (tmp_path / "stations.csv").write_text("id,name,latitude,longitude,elevation\nCA006105978,Ottawa,45.38,-75.72,79\n")
    source = places.stations(tmp_path)
    block = source.read(0, AS_READ, None)
    got = of_block(block, Question(None, LEGUME, climate=AS_READ))
    assert got["name"].tolist() == ["Ottawa", "USC00305816", "broken"]
    assert got["latitude"][0] == 45.38 and (got["counted"][:2] > 15).all()
    assert got["counted"][2] == 0 and "broken.csv" in got["note"][2]


@pytest.mark.parametrize("name", ["valleyview", "farnham"])
def test_what_is_asked_beside_the_window_is_what_its_own_question_says(name, shared, tmp_path):
    path, options = place(name, shared, tmp_path)
    site = fk.open(path, **options)
    of = site.station
    question = Question(CORN, LEGUME, also=tuple(FURTHER))
    got = of_block(Block((Place(name, of.latitude, of.longitude, of.elevation, site),)), question)
    told = {key: values[0] for key, values in got.items()}

    dates = {row["odds"]: row for row in fk.frost(site).to_dict()["dates"]}
    for key, odds, column in (
        ("spring_frost_half", "tenths_half", "last_spring"),
        ("spring_frost_nine", "tenths_nine", "last_spring"),
        ("fall_frost_half", "tenths_half", "first_fall"),
        ("fall_frost_one", "tenths_one", "first_fall"),
    ):
        assert code(told[key]) == dates[odds][column], key
    assert told["frost_free_days"] == fk.frost(site).to_dict()["frost_free_days"]["usual"]
    for key, method in (("heat_units", "chu"), ("degree_days", "mean")):
        least = fk.heat(site, method).to_dict()["at_least"]
        assert told[f"{key}_half"] == least["half"] and told[f"{key}_nine"] == least["nine"]
    rating = next(row for row in fk.choose(site).to_dict()["largest_rating"] if row["seeding"] == "05-22")
    assert known(told["silage_rating"]) == rating["plan"] and known(told["grain_rating"]) == rating["grain"]["plan"]
    late = fk.late_legume(site).to_dict()
    assert (None if told["legume_last"] != told["legume_last"] else code(told["legume_last"])) == late["last_day"]
    ways = {row["way"]: row["growth_kg_ha"]["middle"] for row in late["ways"]}
    assert [told["legume_with_corn"], told["legume_at_v5"]] == pytest.approx([ways["with corn"], ways["V5"]], abs=0.051)
    record = fk.window(site).to_dict()["track_record"]
    assert told["track_gap"] == pytest.approx(100 * record["mean_gap"], abs=5.1e-4)
    assert told["track_seasons"] == record["seasons"]


def known(value):
    return None if value != value else value
