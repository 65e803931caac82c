"""The field's book: what it takes and refuses, that nothing in it is ever lost, and what samples say of a hybrid."""

import os
import stat
from datetime import date

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings, strategies as st

from frostkit.answers.season.back import Grown, book
from frostkit.answers.season.book import KINDS, Book, Entry, added, entry_of, read_book, told
from frostkit.answers.season.calibrate import calibrate, with_need
from frostkit.answers.season.season import season
from frostkit.crops.entry import load
from frostkit.ensemble.site import Site
from frostkit.errors import SettingError
from frostkit.seasons.calendar import column
from tests.made_up import record
from tests.plain_loops import weather

TOML = """# my book, mine alone
[[seen]]
field = "north"   # by the road
on = 2025-05-22
what = "sown"

[[seen]]
field = "north"
on = "2025-09-01"
what = "moisture"
value = 68.5
"""
CSV = 'field,on,what,value,unit,note\nnorth,2025-05-22,sown,,,\nnorth,2025-09-01,moisture,68.5,%,"ten plants, dried"\n'
CHOPPED = Entry("north", date(2025, 9, 4), "chopped")
FIRST, LAST = 1990, 2019
TMIN, TMAX = weather(12, LAST - FIRST + 1)
SITE = Site(record(TMIN, TMAX, FIRST), climate="as read")
CORN = load("silage-2300")


@pytest.fixture(params=["toml", "csv"])
def file(request, tmp_path):
    """A book of each kind, with the same two lines."""
    path = tmp_path / f"book.{request.param}"
    path.write_bytes((TOML if request.param == "toml" else CSV).encode())
    return path


def test_both_kinds_of_book_say_the_same(tmp_path):
    (tmp_path / "a.toml").write_text(TOML)
    (tmp_path / "a.csv").write_text(CSV)
    one, other = (read_book(tmp_path / name) for name in ("a.toml", "a.csv"))
    assert [(e.field, e.on, e.what, e.value) for e in one.entries] == [
        (e.field, e.on, e.what, e.value) for e in other.entries
    ]
    assert one.entries[1].line == 7
    assert other.entries[1].line == 3


def test_what_stood_in_the_book_stands_there_byte_by_byte_and_the_new_line_is_read_back(file):
    before = file.read_bytes()
    after = added(file, CHOPPED)
    assert file.read_bytes().startswith(before)
    assert [one.what for one in after.entries] == ["sown", "moisture", "chopped"]
    assert read_book(file).entries == after.entries
    assert [one.name for one in file.parent.iterdir()] == [file.name]


@pytest.mark.parametrize("ending", ["\r\n", "\n", ""])
def test_line_ends_and_a_last_line_left_open_are_kept(file, ending):
    text = file.read_text().replace("\n", "\r\n" if ending == "\r\n" else "\n")
    text = text.rstrip("\r\n") + ending
    file.write_bytes(text.encode())
    added(file, CHOPPED)
    assert file.read_bytes().startswith(text.encode())
    assert (b"\r\n" in file.read_bytes()) == (ending == "\r\n")
    assert len(read_book(file).entries) == 3


def test_rights_and_links_of_the_file_are_kept(file, tmp_path):
    file.chmod(0o640)
    link = tmp_path / f"link{file.suffix}"
    link.symlink_to(file)
    added(link, CHOPPED)
    assert link.is_symlink()
    assert stat.S_IMODE(os.stat(file).st_mode) == 0o640


def test_a_book_that_is_not_there_is_begun(tmp_path):
    for name in ("new.toml", "new.csv"):
        added(tmp_path / name, CHOPPED)
        after = added(tmp_path / name, Entry("west", date(2025, 9, 5), "yield", 12.5))
        assert [(one.field, one.value) for one in after.entries] == [("north", None), ("west", 12.5)]


@pytest.mark.parametrize(
    ("entry", "message"),
    [
        (Entry("north", date(2025, 5, 22), "sown"), "says 'sown' of north on 2025-05-22 already"),
        (Entry("north", date(2025, 6, 1), "sown"), "is 'sown' in 2025 already, in line"),
        (Entry("north", date(2025, 5, 20), "emerged"), "emerged on 2025-05-20 is not after sown on 2025-05-22"),
        (Entry("north", date(2025, 9, 2), "moisture", 96.0), "moisture of 96 is outside 40 to 90"),
        (Entry("north", date(2025, 9, 2), "moisture"), "moisture has no value"),
        (Entry("north\x1b[31m", date(2025, 9, 2), "chopped"), "field is no text|Illegal character"),
    ],
)
def test_an_entry_that_cannot_be_is_refused_and_the_book_is_as_it_was(file, entry, message):
    before = file.read_bytes()
    with pytest.raises(SettingError, match=message):
        added(file, entry)
    assert file.read_bytes() == before


def test_every_slip_is_told_with_its_line_and_nothing_is_added_to_a_book_with_one(file):
    more = (
        '\n[[seen]]\nfield = "nort"\non = 2025-13-01\nwhat = "sowed"\n'
        if file.suffix == ".toml"
        else "nort,2025-13-01,sowed,,,\nnorth,2025-07-01,silking,3,,\n"
    )
    file.write_text(
        file.read_text() + more.replace("2025-13-01", '"2025-13-01"' if file.suffix == ".toml" else "2025-13-01")
    )
    before = file.read_bytes()
    for act in (lambda: read_book(file, ["north"]), lambda: added(file, CHOPPED, ["north"])):
        with pytest.raises(
            SettingError, match=r"line \d+: there is no field 'nort' in the farm .did you mean 'north'"
        ) as told_:
            act()
        assert "'2025-13-01' is not a date" in told_.value.what
        assert "'sowed' is not known (did you mean 'sown'?)" in told_.value.what
    assert file.read_bytes() == before


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (b"\xff\xfe", "no text in UTF-8"),
        (b"[[seen]]\nfield = 'a'\non = 2025-05-01\nwhat = 'sown'\n[farm]\nname = 1\n", "'farm' is no part of a book"),
        (b"[[seen]]\nfield = 'a'\non = 2025-05-01\nwhat = 'sown'\nvalue = 3\n", "sown takes no value"),
        (b"[[seen]]\nfield = 'a'\nwhat = 'sown'\n", "line 1: on is missing"),
        (
            b"[[seen]]\nfield = 'a'\non = 2025-05-01\nwhat = 'yield'\nvalue = 5\nunit = 'lb'\n",
            "yield is not told in 'lb'",
        ),
        (b"[[seen]]\nfield = 'a'\non = 1025-05-01\nwhat = 'sown'\n", "lies outside 1900 to 2100"),
        (b"[[seen]\n", "can't be read"),
    ],
)
def test_a_book_that_is_none_is_refused(tmp_path, text, message):
    path = tmp_path / "book.toml"
    path.write_bytes(text)
    with pytest.raises(SettingError, match=message):
        read_book(path)
    with pytest.raises(SettingError, match=message):
        added(path, CHOPPED)
    assert path.read_bytes() == text


def test_a_csv_without_a_column_for_what_is_added_is_left_alone(tmp_path):
    path = tmp_path / "book.csv"
    path.write_text("field,on,what\nnorth,2025-05-22,sown\n")
    with pytest.raises(SettingError, match="has no column for value"):
        added(path, Entry("north", date(2025, 9, 1), "moisture", 68.5))
    assert path.read_text() == "field,on,what\nnorth,2025-05-22,sown\n"


def test_a_book_changed_by_someone_meanwhile_is_left_to_them(file, monkeypatch):
    theirs = file.read_bytes() + b"\n"
    real = os.fsync

    def meanwhile(handle):
        file.write_bytes(theirs)
        real(handle)

    monkeypatch.setattr("frostkit.answers.season.book.os.fsync", meanwhile)
    with pytest.raises(SettingError, match="changed by someone meanwhile"):
        added(file, CHOPPED)
    assert file.read_bytes() == theirs
    assert len(list(file.parent.iterdir())) == 1


def test_a_folder_that_cannot_be_written_leaves_the_book_as_it_was(file, monkeypatch):
    before = file.read_bytes()

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("frostkit.answers.season.book.os.replace", full)
    with pytest.raises(SettingError, match="No space left on device"):
        added(file, CHOPPED)
    assert file.read_bytes() == before
    assert len(list(file.parent.iterdir())) == 1


@settings(max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.text(st.characters(exclude_categories=["C", "Z"]), min_size=1, max_size=20),
    st.sampled_from(["toml", "csv"]),
    st.floats(40, 90).map(lambda value: round(value, 2)),
)
def test_any_name_and_note_that_can_be_read_is_read_back_as_it_was(tmp_path_factory, text, kind, value):
    path = tmp_path_factory.mktemp("book") / f"book.{kind}"
    entry = Entry(text, date(2025, 9, 1), "moisture", value, note=f"{text}\"'\\,;")
    after = added(path, entry)
    assert [(one.field, one.value, one.note) for one in after.entries] == [(entry.field, entry.value, entry.note)]


def test_a_value_is_kept_in_the_unit_in_which_it_was_typed():
    frost = entry_of("north", "2025-09-09", "frost", "29F")
    assert frost.value == pytest.approx(-5 / 3)
    assert frost.written() == ("29", "F")
    heavy = entry_of("north", "2025-09-09", "yield", "5.5", "ton/ac")
    assert heavy.value == pytest.approx(12.33, abs=0.005)  # 5.5 short tons an acre: 5.5 x 907.185 kg / 0.404686 ha


def test_every_kind_of_line_can_be_typed_and_read_back(tmp_path):
    path = tmp_path / "book.csv"
    for number, (what, kind) in enumerate(KINDS.items()):
        value = None if kind.value == "none" else str((kind.low + kind.high) / 2 if what != "collars" else 7)
        day = date(2025, 5, 1 + number) if what in ("sown", "legume_sown") else date(2025, 7, 1 + number)
        added(path, entry_of("north", day.isoformat(), what, value))
    assert sorted(one.what for one in read_book(path).entries) == sorted(KINDS)


def test_what_is_told_of_a_season_stops_at_the_day_stood_on():
    entries = [
        Entry("north", date(2025, 5, 22), "sown"),
        Entry("north", date(2025, 6, 4), "emerged"),
        Entry("north", date(2025, 6, 30), "collars", 7.0),
        Entry("north", date(2025, 8, 25), "moisture", 72.0),
        Entry("north", date(2025, 9, 2), "moisture", 68.0),
    ]
    early, late = told(entries, column(7, 1)), told(entries, column(9, 2))
    assert (early.seeding, early.seen.emergence, early.seen.collars) == (
        column(5, 22),
        column(6, 4),
        (7, column(6, 30)),
    )
    assert early.seen.moisture is None
    assert late.seen.moisture == (68.0, column(9, 2))


def chu(low, high):
    day = 3.33 * (high - 10) - 0.084 * (high - 10) ** 2 if high > 10 else 0.0
    night = 1.8 * (low - 4.4) if low > 4.4 else 0.0
    return (day + night) / 2


def sampled(years, moisture=66.0):
    """A book in which a field was sown and sampled in some years."""
    entries = []
    for year in years:
        entries.append(Entry("north", date(year, 5, 20), "sown"))
        entries.append(Entry("north", date(year, 8, 28), "moisture", moisture))
    return Book(None, tuple(entries))


def test_a_hybrids_need_by_samples_is_that_of_a_plain_sum_shrunk_towards_its_entry():
    years = [2005, 2010, 2015]
    of = calibrate(SITE, CORN, sampled(years), ("north",))
    needs = []
    for year in years:
        low, high = TMIN[year - FIRST] / 10, TMAX[year - FIRST] / 10
        gathered = sum(chu(low[day], high[day]) for day in range(column(5, 20) + 1, column(8, 28)))
        # from 66 to 65 % on the curve between dent (73 % at 1,932) and the goal (65 % at 2,150)
        needs.append(gathered + (2150 - 1932) / 8 * 1.0)
    assert [one.need for one in of.samples] == pytest.approx(needs, abs=0.05)
    own, one = 4 / 0.026, np.sqrt(2**2 + 2**2) / 0.026
    weight = 1 / own**2 + 3 / one**2
    assert of.need == pytest.approx((2150 / own**2 + sum(needs) / one**2) / weight, abs=0.05)
    assert of.spread == pytest.approx(np.sqrt(1 / weight + (2 / 0.026) ** 2), abs=0.05)
    assert of.observed == pytest.approx(np.std(needs, ddof=1), abs=0.05)


def test_more_samples_leave_less_spread_and_never_less_than_one_season_has_of_its_own():
    spreads = [calibrate(SITE, CORN, sampled(range(2000, 2000 + n)), ("north",)).spread for n in (1, 3, 10)]
    assert spreads[0] > spreads[1] > spreads[2] > 2 / 0.026


def test_only_earlier_seasons_calibrate_an_answer_and_another_hybrids_samples_do_not():
    of = sampled([2010, 2019])
    assert len(calibrate(SITE, CORN, of, ("north",), before=2019).samples) == 1
    assert calibrate(SITE, CORN, of, ("west",)) is None
    assert calibrate(SITE, CORN, Book(None, ()), ("north",)) is None


def test_a_need_moved_moves_every_stage_of_its_clock_by_the_same_part_and_no_other():
    moved = with_need(CORN, 2150 * 1.1)
    for name in ("silking", "dent", "fit_to_chop", "black_layer"):
        assert moved.stage[name].need.value == pytest.approx(1.1 * CORN.stage[name].need.value)
    assert moved.stage["v5"] == CORN.stage["v5"]


def test_the_season_reads_its_book():
    years = [2008, 2012, 2016]
    entries = [*sampled(years, moisture=72.0).entries, Entry("north", date(LAST, 5, 15), "sown")]
    entries.append(Entry("north", date(LAST, 5, 29), "emerged"))
    read = Book(None, tuple(entries))
    typed = season(SITE, CORN, None, seeding=column(5, 25), today=f"{LAST}-07-01", book=read, field="north")
    assert typed.values["seeding_day"].column == column(5, 25)  # what is said goes before the book
    answer = season(SITE, CORN, None, today=f"{LAST}-07-01", book=read, field="north")
    assert answer.values["seeding_day"].column == column(5, 15)
    came = answer.table("came")
    place = [one.name for one in came.index.values].index("emergence")
    assert came["how"].values[place] == "season_seen"
    assert "calibrated" in [says.key for says in answer.sentences]
    assert answer.values["calibrated"]["need"] != pytest.approx(2150, abs=1)


def test_looking_back_tells_what_was_said_with_what_was_known_then_and_what_happened():
    years = [2012, 2015]
    entries = [*sampled(years, moisture=67.0).entries]
    entries += [Entry("north", date(year, 9, 20), "chopped") for year in years]
    answer = book(Book(type("Path", (), {"name": "book.toml"})(), tuple(entries)), {"north": Grown(SITE, CORN)})
    looks = answer.table("looks")
    assert {int(year) for year in looks["season"].values} == set(years)
    held = [early <= fit <= late for early, fit, late in zip(looks["early"].values, looks["fit"].values,
                                                          looks["late"].values, strict=True)]  # fmt: skip
    assert list(looks["held"].values) == held
    assert answer.values["held"] == sum(held)
    assert all(fit >= day for day, fit in zip(looks.index.values, looks["fit"].values, strict=True))
    later = season(SITE, CORN, None, seeding=column(5, 20), today="2015-07-01")
    place = next(
        n for n in range(len(looks)) if (looks["season"].values[n], looks.index.values[n]) == (2015, column(7, 1))
    )
    fit = [one.name for one in later.table("coming").index.values].index("fit")
    assert looks["usual"].values[place] == later.table("coming")["usual"].values[fit]
