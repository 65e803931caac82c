"""The real client against a provider on this machine: what comes, what is said, and that the kept record stands."""

import gzip
import hashlib
import logging
import re
import shutil
import socket
import ssl
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from urllib.error import URLError

import numpy as np
import pytest

from frostkit.errors import RecordError, SettingError
from frostkit.records import bounded, live
from frostkit.records.cache import Cache
from frostkit.records.merge import missing_years
from frostkit.records.provider import OfflineError, Patience, fault_of
from tests import local_provider as local

QUICK = Patience(answer=5, whole=10, tries=2, pause=0.01, in_a_row=2)
HASTY = replace(QUICK, answer=0.5, whole=1.0, tries=1)  # for answers that are slow on purpose
FIRST, LAST = date(1990, 3, 1), date(1992, 12, 31)


@pytest.fixture(scope="module")
def running():
    provider = local.Provider()
    with local.serving(provider) as address, local.pointed_at(address):
        yield provider, address


@pytest.fixture
def provider(running):
    provider, _ = running
    provider.reset()
    provider.add("RIV01", local.days_of(FIRST, LAST), name="River Flat (invented)")
    return provider


@pytest.fixture
def cache(tmp_path):
    return Cache(tmp_path / "data_cache")


@pytest.fixture(scope="module")
def loaded(running, tmp_path_factory):
    """A cache into which RIV01 was loaded once; see `kept`."""
    provider, _ = running
    provider.reset()
    provider.add("RIV01", local.days_of(FIRST, LAST), name="River Flat (invented)")
    cache = Cache(tmp_path_factory.mktemp("loaded") / "data_cache")
    load("RIV01", cache)
    return cache.path


@pytest.fixture
def kept(loaded, provider, tmp_path):
    """A cache of one's own in which RIV01 is kept."""
    return Cache(shutil.copytree(loaded, tmp_path / "data_cache"))


def load(what, cache, patience=QUICK, **more):
    return live.load(what, cache=cache, patience=patience, **more)


def refresh(cache, patience=QUICK, **more):
    return live.refresh("RIV01", cache=cache, patience=patience, **more)


def patience_for(fault):
    return HASTY if "slow" in fault or "dripping" in fault else QUICK


def seal(cache, station="RIV01"):
    """What the kept file holds, to the byte."""
    return hashlib.sha256((cache.path / f"{station}.nc").read_bytes()).hexdigest()


def served(provider, name, station="RIV01", factor=1.0):
    rows = provider.tables[station].values()
    return np.array([np.nan if row.get(name) is None else row[name] * factor for row in rows], np.float32)


# -- a fresh load, and the second one ---------------------------------------------------------------------------------


def test_a_fresh_load_brings_every_day_that_is_served(provider, cache):
    record = load("RIV01", cache).record
    assert (record.start, record.tmin.size) == (np.datetime64(FIRST), (LAST - FIRST).days + 1)
    for name in ("tmin", "tmax"):
        np.testing.assert_array_equal(getattr(record, name), served(provider, name))
    np.testing.assert_array_equal(record.more["prcp"], served(provider, "prcp"))
    np.testing.assert_array_equal(record.more["snwd"], served(provider, "snwd", factor=10))  # cm there, mm here
    assert (record.station.name, record.station.elevation) == ("River Flat (invented)", 400)
    assert missing_years(record) == {}


def test_a_record_carries_provider_attribution_and_licence(provider, cache):
    source = load("RIV01", cache).record.source
    assert source["attribution"] == "Meteostat, Environment and Climate Change Canada"
    assert "Environment and Climate Change Canada Data Servers End-use Licence" in source["licence"]
    assert datetime.now(UTC) - datetime.fromisoformat(source["fetched"]) < timedelta(minutes=1)
    kept = cache.listed()[0]
    assert (kept.attribution, kept.provider, kept.days) == (source["attribution"], "Meteostat", 1037)


def test_the_second_load_asks_nobody(provider, cache):
    first = load("RIV01", cache).record
    asked = len(provider.asked)
    with local.pointed_at(local.closed_port()):
        again = load("riv01", cache)
    assert len(provider.asked) == asked
    np.testing.assert_array_equal(again.record.tmin, first.tmin)
    assert again.notes[0].endswith("frostkit record refresh RIV01 adds new days.")


def test_a_place_gives_the_recommended_station_and_says_why(provider, cache):
    loaded = load("49.95 N, 99.9 W", cache)
    assert loaded.record.station.id == "RIV01"
    assert loaded.notes[0].startswith(
        "River Flat (invented) (RIV01), 6 km away: the best there is, and too short for odds"
    )
    with local.pointed_at(local.closed_port()):
        assert load((49.95, -99.9), cache).record.station.id == "RIV01", (
            "the list of stations may not be had, the record is"
        )


def test_without_a_network_the_first_load_says_so(provider, cache):
    with local.pointed_at(local.closed_port()):
        with pytest.raises(
            OfflineError, match=r"list of stations can't be had: the server can't be reached.*\n.*record list"
        ):
            load("RIV01", cache)
        with pytest.raises(OfflineError, match="list of stations can't be had"):
            load("49.9, -99.9", cache)
    assert cache.ids() == []


def test_a_long_load_tells_how_far_it_is(provider, cache):
    told = []
    load("RIV01", cache, progress=lambda done, of, what: told.append((done, of, what)))
    assert told == [(0, 3, "RIV01 1990"), (1, 3, "RIV01 1991"), (2, 3, "RIV01 1992"), (3, 3, "RIV01")]


def test_nothing_is_printed_and_nothing_of_the_process_is_left_changed(provider, cache, capfd):
    log = logging.getLogger("meteostat")
    before = log.level, log.propagate, list(log.handlers), socket.getdefaulttimeout()
    provider.faults["RIV01", 1991] = local.garbage
    load("RIV01", cache)
    assert (log.level, log.propagate, list(log.handlers), socket.getdefaulttimeout()) == before
    assert capfd.readouterr() == ("", "")


def sends(size, packed=bytes):
    """A server that sends so many bytes in place of the file."""
    return lambda to, _: local.whole(to, packed(bytes(size)))


def sent_on(to, _):
    """A server that sends on to the file of another station."""
    to.send_response(302)
    to.send_header("Location", to.path.replace("RIV01", "HIL02"))
    to.send_header("Content-Length", "0")
    to.end_headers()


# -- faults of one year ------------------------------------------------------------------------------------------------

FAULTS = {
    "404": (local.status(404), "the provider has no file for it"),
    "500": (local.status(500), "the server answered 500"),
    "403": (local.status(403), r"the server refused it \(403\)"),
    "truncated gzip": (local.truncated, "its file came cut short or damaged"),
    "a flipped byte": (local.flipped, "its file came cut short or damaged"),
    "garbage": (local.garbage, "its file came cut short or damaged"),
    "a page in place of data": (local.zipped_page, r"its file can't be read \(\w+\)"),
    "no bytes": (local.nothing, r"its file came cut short or damaged|its file can't be read \(EmptyDataError\)"),
    "an empty table": (local.empty, "its file holds no temperature"),
    "a slow answer": (local.slow(0.9), "no answer within 0.5 seconds"),
    "a dripping answer": (local.dripping(4), "it was not whole within 1 seconds"),
    "a connection that drops": (local.dropped, "the connection dropped"),
    "more than a year can hold": (sends(bounded.LARGEST + 1), "its file is far too large"),
    "a small file that unpacks to much": (
        sends(bounded.LARGEST_UNPACKED + 1, gzip.compress),
        "its file is far too large",
    ),
    "another station's file": (sent_on, "the server sends another file than the one asked for"),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_year_that_fails_is_named_and_the_others_come(provider, cache, fault):
    misbehave, why = FAULTS[fault]
    provider.faults["RIV01", 1991] = misbehave
    loaded = load("RIV01", cache, patience_for(fault))
    years = loaded.record.time().astype("datetime64[Y]").astype(int) + 1970
    known = np.isfinite(loaded.record.tmin)
    assert sorted(set(years[known])) == [1990, 1992]
    assert not known[years == 1991].any()
    np.testing.assert_array_equal(loaded.record.tmin[known], served(provider, "tmin")[known])
    assert list(missing_years(loaded.record)) == [1991]
    assert loaded.notes == (f"1991 did not come: {missing_years(loaded.record)[1991]}.",)
    assert re.fullmatch(why, missing_years(loaded.record)[1991])
    assert missing_years(cache.get("RIV01")) == missing_years(loaded.record), "it is kept with what it lacks"
    assert any("1991 is missing" in note for note in load("RIV01", cache).notes)


@pytest.mark.parametrize("fault", FAULTS)
def test_a_year_that_fails_in_a_refresh_leaves_the_kept_year(provider, kept, fault):
    misbehave, why = FAULTS[fault]
    before = kept.get("RIV01")
    provider.faults["RIV01", 1991] = misbehave
    after = refresh(kept, patience_for(fault))
    np.testing.assert_array_equal(after.record.tmin, before.tmin)
    np.testing.assert_array_equal(kept.get("RIV01").tmax, before.tmax)
    assert missing_years(after.record) == {}
    assert after.notes[0] == "No new days."
    assert re.fullmatch(rf"1991 did not come: ({why}); the kept year stands\.", after.notes[1])


def test_a_refresh_later_brings_the_year_that_failed(provider, cache):
    provider.faults["RIV01", 1991] = local.status(500)
    load("RIV01", cache)
    provider.faults.clear()
    later = refresh(cache)
    assert (later.changes.added, missing_years(later.record)) == (365, {})
    np.testing.assert_array_equal(later.record.tmin, served(provider, "tmin"))


@pytest.mark.parametrize("fault", ["500", "a connection that drops", "truncated gzip", "a slow answer"])
def test_a_passing_fault_is_overcome_by_asking_again(provider, cache, fault):
    provider.faults["RIV01", 1992] = local.once(FAULTS[fault][0])
    patience = replace(patience_for(fault), tries=2)
    assert missing_years(load("RIV01", cache, patience).record) == {}
    assert provider.times["/daily/1992/RIV01.csv.gz"] == 2


def test_a_file_that_is_not_there_is_not_asked_for_again(provider, cache):
    provider.faults["RIV01", 1992] = local.status(404)
    load("RIV01", cache)
    assert provider.times["/daily/1992/RIV01.csv.gz"] == 1


@pytest.mark.parametrize(
    "fault", ["404", "500", "truncated gzip", "garbage", "an empty table", "a connection that drops"]
)
def test_when_every_year_fails_a_refresh_says_so_and_changes_not_a_byte(provider, kept, fault):
    sealed = seal(kept)
    provider.faults["all"], why = FAULTS[fault]
    with pytest.raises(
        RecordError, match=rf"Nothing came of station 'RIV01', 1990 to .*{why}.*The kept record of RIV01 stands"
    ):
        refresh(kept)
    assert seal(kept) == sealed


def test_without_a_network_a_refresh_says_so_once_and_changes_not_a_byte(provider, kept):
    sealed = seal(kept)
    record = kept.get("RIV01")
    with (
        local.pointed_at(local.closed_port()),
        pytest.raises(OfflineError, match="can't be reached.*The kept record of RIV01 stands"),
    ):
        refresh(kept)
    assert seal(kept) == sealed
    np.testing.assert_array_equal(kept.get("RIV01").tmin, record.tmin)


def test_a_server_that_keeps_failing_is_not_asked_for_every_year(provider, cache):
    provider.add("LONG1", local.days_of(date(1960, 1, 1), date(1999, 12, 31)))
    for year in range(1963, 2000):
        provider.faults["LONG1", year] = local.status(500)
    record = load("LONG1", cache).record
    assert np.isfinite(record.tmin).sum() == 365 * 3 + 1
    assert missing_years(record)[1999] == "not asked for, as the server answered 500 before"
    assert provider.times["/daily/1965/LONG1.csv.gz"] == 0


# -- a history that changed ---------------------------------------------------------------------------------------------


def test_a_changed_history_is_told_and_not_taken_over(provider, kept):
    before = kept.get("RIV01")
    provider.tables["RIV01"][date(1991, 5, 20)]["tmin"] = -25.5
    provider.tables["RIV01"][date(1992, 9, 3)]["tmax"] = None
    after = refresh(kept)
    np.testing.assert_array_equal(after.record.tmin, before.tmin)
    np.testing.assert_array_equal(kept.get("RIV01").tmax, before.tmax)
    changed, gone = after.changes.changed[0], after.changes.withdrawn[0]
    assert (changed.day, changed.column, changed.new) == (np.datetime64("1991-05-20"), "tmin", -25.5)
    assert (gone.day, gone.column, np.isnan(gone.new)) == (np.datetime64("1992-09-03"), "tmax", True)
    assert any(
        "changed 1 reading, the first on 1991-05-20" in note and "old ones were kept" in note for note in after.notes
    )
    assert any("no longer has 1 reading, the first on 1992-09-03" in note for note in after.notes)


def test_a_changed_history_is_taken_over_when_that_is_asked_for(provider, kept):
    provider.tables["RIV01"][date(1991, 5, 20)]["tmin"] = -25.5
    provider.tables["RIV01"][date(1992, 9, 3)]["tmax"] = None
    provider.faults["RIV01", 1990] = local.empty
    after = refresh(kept, accept=True)
    days = after.record.time()
    assert after.record.tmin[days == np.datetime64("1991-05-20")] == np.float32(-25.5)
    assert np.isnan(after.record.tmax[days == np.datetime64("1992-09-03")]).all()
    assert np.isfinite(after.record.tmin[days < np.datetime64("1991-01-01")]).all(), (
        "an empty year never empties a good one"
    )
    assert refresh(kept).changes.changed == ()


def test_a_refresh_adds_new_days_and_loses_none(provider, kept, monkeypatch):
    more = local.days_of(date(1993, 1, 1), date(1993, 6, 30), seed=9)
    provider.add("RIV01", provider.tables["RIV01"] | more)
    monkeypatch.setattr("frostkit.records.provider.LIST_DAYS", -1)
    after = refresh(kept)
    assert (after.changes.added, after.changes.changed) == (len(more), ())
    np.testing.assert_array_equal(after.record.tmin[: 1037 + 181], served(provider, "tmin"))


def test_a_record_of_one_server_is_not_mixed_with_that_of_another(provider, kept):
    sealed = seal(kept)
    said = pytest.raises(RecordError, match=r"is of server .* can't be joined.\nDrop the kept one first")
    with local.serving(provider) as elsewhere, local.pointed_at(elsewhere), said:
        refresh(kept)
    assert seal(kept) == sealed


# -- what must not get into a record ------------------------------------------------------------------------------------


def test_forecast_days_and_days_partly_forecast_are_no_readings(provider, cache):
    table = provider.tables["RIV01"]
    table[date(1992, 12, 30)]["source"] = "metno_forecast"
    table[date(1992, 12, 31)]["source"] = "isd_lite metno_forecast"
    record = load("RIV01", cache).record
    assert np.isnan(record.tmin[-2:]).all()
    assert np.isfinite(record.tmin[:-2]).all()
    assert [(r.what, r.count) for r in record.repairs] == [("Values partly from a forecast model: taken as missing", 4)]


def test_a_value_no_thermometer_gives_is_taken_as_missing_and_counted(provider, cache):
    provider.tables["RIV01"][date(1991, 7, 1)]["tmax"] = 999.9
    record = load("RIV01", cache).record
    assert np.isnan(record.tmax[record.time() == np.datetime64("1991-07-01")]).all()
    assert record.repairs[0].what == "Values out of the client's bounds: taken as missing"


def test_today_is_not_over_and_not_asked_for(provider, cache):
    today = datetime.now(UTC).date()
    provider.add(
        "NOW01",
        local.days_of(today - timedelta(days=400), today + timedelta(days=5)),
        span=(today - timedelta(days=400), today),
    )
    record = load("NOW01", cache).record
    assert record.time()[np.isfinite(record.tmin)][-1] == np.datetime64(today - timedelta(days=1))


def test_a_station_that_ended_is_not_asked_for_since(provider, cache):
    load("RIV01", cache)
    assert max(path for path in provider.asked if "daily" in path) == "/daily/1992/RIV01.csv.gz"


def test_an_unknown_station_and_words_that_are_no_place_say_what_to_do(provider, cache):
    with pytest.raises(RecordError, match=r"knows no station 'NOSUCH'.\nLook for one with frostkit record near"):
        load("nosuch", cache)
    with pytest.raises(RecordError, match="'%' is neither a station id nor a place"):
        load("%", cache)
    with pytest.raises(SettingError, match="99.9 north, 49.9 east is no place on Earth"):
        load("99.9 N, 49.9 E", cache)
    with pytest.raises(RecordError, match="asked for from 1995-01-01 to 1994-01-01, which holds no day"):
        live.fetch("RIV01", date(1995, 1, 1), date(1994, 1, 1), cache=cache, patience=QUICK)


# -- the cache in trouble -----------------------------------------------------------------------------------------------


def test_a_damaged_kept_record_is_set_aside_and_fetched_anew(provider, kept):
    record = kept.get("RIV01")
    file = kept.path / "RIV01.nc"
    raw = bytearray(file.read_bytes())
    raw[5000] ^= 1
    file.write_bytes(bytes(raw))
    again = load("RIV01", kept)
    np.testing.assert_array_equal(again.record.tmin, record.tmin)
    assert "is damaged: its checksum is" in again.notes[0]
    assert "set aside as RIV01.damaged-" in again.notes[0]
    assert [aside.read_bytes() for aside in kept.path.glob("*.damaged-*")] == [bytes(raw)], "set aside, to the byte"


def test_a_damaged_kept_record_without_a_network_says_both(provider, kept):
    (kept.path / "RIV01.nc").write_bytes(b"half")
    with local.pointed_at(local.closed_port()), pytest.raises(OfflineError, match="cut short.*set aside as.*can't be"):
        load("RIV01", kept)


def test_a_disk_that_is_full_does_not_keep_the_answer_back(provider, cache, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("frostkit.records.cache.os.fsync", full)
    loaded = load("RIV01", cache)
    np.testing.assert_array_equal(loaded.record.tmin, served(provider, "tmin"))
    assert "could not be read or written" in loaded.notes[-1]
    assert "No space left on device" in loaded.notes[-1]
    assert cache.ids() == []
    assert list(cache.path.glob(".*.part")) == []


# -- stations near a place ----------------------------------------------------------------------------------------------


@pytest.fixture
def plain(provider):
    """Five invented stations: near and short, far and good, good and high up, good and ended, good and full of holes."""
    provider.reset()
    today = date.today()
    good = (date(1981, 1, 1), today - timedelta(days=3))
    day = local.days_of(today, today)
    provider.add("SHORT", day, 49.91, -99.9, 402, span=(date(2015, 1, 1), today - timedelta(days=3)))
    provider.add("GOOD1", day, 50.1, -99.9, 410, span=good)
    provider.add("HIGH1", day, 49.95, -99.9, 720, span=good)
    provider.add("ENDED", day, 49.92, -99.9, 400, span=(date(1950, 1, 1), date(1994, 12, 31)))
    provider.add("HOLES", day, 49.93, -99.9, 400, span=good, completeness=0.4)
    return provider


def test_the_recommended_station_is_the_good_one_and_each_says_its_reason(plain, cache):
    found = {one.station.id: one for one in live.near(49.9, -99.9, 400, cache=cache, patience=QUICK)}
    assert next(iter(found)) == "GOOD1"
    assert [one.recommended for one in found.values()] == [True, False, False, False, False]
    years = (date.today() - date(1981, 1, 1)).days / 365.25
    assert found["GOOD1"].reason == f"the nearest with {years:.0f} years, 99% complete"
    assert found["SHORT"].reason == f"only {(date.today() - date(2015, 1, 1)).days / 365.25:.0f} years"
    assert found["HIGH1"].reason == "320 m higher"
    assert found["ENDED"].reason == "ends in 1994"
    assert found["HOLES"].reason == "40% complete"


def test_distance_and_height_difference_are_those_of_the_globe(plain, cache):
    """One degree of latitude is pi x 6371 / 180 = 111.195 km on the mean sphere."""
    found = {one.station.id: one for one in live.near(49.9, -99.9, 400, cache=cache, patience=QUICK)}
    assert found["GOOD1"].distance == pytest.approx(0.2 * 111.195, abs=0.01)
    assert (found["GOOD1"].higher, found["HIGH1"].higher) == (10, 320)


def test_without_the_height_of_the_place_heights_are_not_compared(plain, cache):
    best = live.near(49.9, -99.9, cache=cache, patience=QUICK)[0]
    assert best.station.id == "HIGH1"
    assert np.isnan(best.higher)


def test_a_short_record_alone_is_named_but_not_recommended(plain, cache):
    plain.reset()
    plain.add(
        "SHORT", local.days_of(FIRST, FIRST), 49.91, -99.9, span=(date.today() - timedelta(days=5 * 365), date.today())
    )
    (only,) = live.near(49.9, -99.9, cache=cache, patience=QUICK)
    assert not only.recommended
    assert only.reason == "the best there is, and too short for odds: only 5 years"


@pytest.mark.parametrize(
    ("listed", "years"),
    [
        (("daily tmin", "daily tmax"), 40),
        (("eccc_daily tmin", "ghcnd tmax"), 40),
        (("isd_lite temp", "isd_lite prcp"), 40),
        (("hourly temp",), 40),
        (("daily prcp",), 0),
        ((), 0),
    ],
)
def test_the_span_is_found_however_the_list_names_it(plain, cache, listed, years):
    plain.reset()
    last = date.today() - timedelta(days=9)
    span = (last - timedelta(days=round(40 * 365.25)), last)
    plain.add("ODD01", local.days_of(FIRST, FIRST), completeness=None, elevation=None, span=span, listed=listed)
    (only,) = live.near(49.9, -99.9, 400, cache=cache, patience=QUICK)
    assert (only.first, only.last) == (span if years else (None, None))
    assert np.isnan(only.complete)
    assert only.recommended == bool(years)
    assert only.reason == (f"the nearest with {years} years" if years else
                           "the best there is, and too short for odds: no known span of Tmin and Tmax")  # fmt: skip


def test_no_station_near_says_so(plain, cache):
    with pytest.raises(RecordError, match=r"no station within 100 km of 49.9 north, 99.9 east"):
        live.near(49.9, 99.9, cache=cache, patience=QUICK)


def test_a_station_whose_record_is_kept_is_marked(provider, kept):
    assert [one.kept for one in live.near(49.9, -99.9, cache=kept, patience=QUICK)] == [True]


@pytest.mark.parametrize(
    "fault", [local.status(500), local.dropped, local.garbage, local.nothing, local.slow(2.5), local.status(404)]
)
def test_a_list_of_stations_that_fails_leaves_the_kept_one(provider, cache, fault, monkeypatch):
    once = Patience(answer=0.5, tries=1)
    assert live.near(49.9, -99.9, cache=cache, patience=once)
    monkeypatch.setattr("frostkit.records.provider.LIST_DAYS", -1)
    provider.faults["stations.db"] = fault
    assert live.near(49.9, -99.9, cache=cache, patience=once)[0].station.id == "RIV01"
    assert provider.times["/stations.db"] == 2
    lists = cache.path / ".stations"
    assert [file.name for file in lists.rglob("*") if file.is_file()] == ["stations.db"]


def test_a_list_of_stations_without_an_end_is_not_kept(provider, cache, monkeypatch):
    monkeypatch.setattr(bounded, "LARGEST_LIST", 10_000)
    with pytest.raises(RecordError, match="list of stations can't be had: its file is far too large"):
        live.near(49.9, -99.9, cache=cache, patience=Patience(tries=1))
    assert not list(cache.path.rglob("*.part"))


def test_a_record_whose_unit_changes_on_the_server_is_refused_and_not_kept(provider, cache):
    rows = local.days_of(date(1985, 1, 1), LAST)
    for day, row in rows.items():
        if day.year >= 1990:
            row |= {name: round((row[name] - 32) / 1.8, 1) for name in ("tmin", "tmax")}
    provider.add("RIV01", rows, name="River Flat (invented)")
    with pytest.raises(
        RecordError, match=r"River Flat.*tmin and tmax: from .* (1989|1990) on the warm months lie \d+ °C below"
    ):
        load("RIV01", cache)
    assert cache.ids() == []


def test_without_any_list_of_stations_the_reason_is_said(provider, cache):
    provider.faults["stations.db"] = local.status(500)
    with pytest.raises(RecordError, match="list of stations can't be had: the server answered 500"):
        live.near(49.9, -99.9, cache=cache, patience=Patience(tries=1))


def test_what_the_client_breaks_on_is_told_apart():
    """No answer of the system may be taken for another: numbers of name look-up and of TLS overlap with those of files."""
    told = {
        ssl.SSLError(1, "certificate verify failed"): True,
        socket.gaierror(2, "try again"): True,
        URLError(socket.gaierror(-2, "unknown name")): True,
        URLError(ConnectionRefusedError(111, "refused")): True,
        OSError(113, "no route"): True,
        OSError(28, "no room"): False,
        ConnectionResetError(104, "reset"): False,
        TimeoutError(): False,
    }
    assert {problem: fault_of(problem, QUICK).offline for problem in told} == told


def test_a_folder_that_takes_no_list_of_stations_is_said(provider, tmp_path):
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(RecordError, match=r"list of stations can't be kept in .*: Not a directory.*\n.*FROSTKIT_CACHE"):
        live.near(49.9, -99.9, cache=Cache(tmp_path / "file"), patience=QUICK)


def test_a_full_disk_is_not_taken_for_a_missing_network(provider, cache):
    resource = pytest.importorskip("resource")
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (1000, before[1]))
    try:
        with pytest.raises(
            RecordError, match="list of stations can't be had: it could not be kept here: File too large"
        ):
            live.near(49.9, -99.9, cache=cache, patience=QUICK)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
    assert live.near(49.9, -99.9, cache=cache, patience=QUICK)[0].station.id == "RIV01"


def test_an_old_list_of_stations_is_fetched_again(provider, cache, monkeypatch):
    live.near(49.9, -99.9, cache=cache, patience=QUICK)
    live.near(49.9, -99.9, cache=cache, patience=QUICK)
    assert provider.times["/stations.db"] == 1
    monkeypatch.setattr("frostkit.records.provider.LIST_DAYS", -1)
    provider.add("NEW01", local.days_of(FIRST, LAST), 49.9, -99.8)
    assert len(live.near(49.9, -99.9, cache=cache, patience=QUICK)) == 2


# -- hours ----------------------------------------------------------------------------------------------------------------


def test_hourly_temperature_comes_with_its_hours_in_universal_time(provider, cache):
    lines = ["year,month,day,hour,temp,temp_source"]
    lines += [
        f"1992,1,{day},{hour},{-hour / 2},eccc_hourly" for day in (1, 2) for hour in range(24) if (day, hour) != (1, 5)
    ]
    provider.hours["RIV01"] = {1992: "\n".join(lines).encode()}
    hours = live.fetch_hours("RIV01", date(1992, 1, 1), date(1992, 12, 31), cache=cache, patience=QUICK)
    assert hours.start == np.datetime64("1992-01-01T00")
    assert hours.temp.size == 366 * 24
    assert hours.temp[[0, 1, 24, 47]].tolist() == [0, -0.5, 0, -11.5]
    assert np.isnan(hours.temp[5])
    assert np.isfinite(hours.temp).sum() == 47
    assert "Environment and Climate Change Canada" in hours.source["attribution"]


def test_hours_are_kept_and_need_no_network_the_second_time(provider, cache):
    lines = ["year,month,day,hour,temp,temp_source"] + [
        f"1992,6,{day},{hour},{hour},eccc_hourly" for day in (1, 2, 3) for hour in range(24)
    ]
    provider.hours["RIV01"] = {1992: "\n".join(lines).encode()}
    span = date(1992, 6, 2), date(1992, 6, 2)
    first = live.hours("RIV01", *span, cache=cache, patience=QUICK)
    with local.pointed_at(local.closed_port()):
        again = live.hours("RIV01", *span, cache=cache, patience=QUICK)
    assert first.temp.tolist() == again.temp.tolist() == list(range(24))
    assert again.start == np.datetime64("1992-06-02T00")


def test_the_server_serves_what_the_real_layout_holds(running, provider):
    """Guards the tests themselves: the file of a year unpacks to the header that the client is known to read."""
    from urllib.request import urlopen

    with urlopen(f"{running[1]}/daily/1991/RIV01.csv.gz", timeout=5) as answer:
        table = gzip.decompress(answer.read()).decode().splitlines()
    assert table[0].startswith("year,month,day,temp,temp_source,tmin,tmin_source,tmax,tmax_source,prcp,prcp_source")
    assert len(table) == 366
