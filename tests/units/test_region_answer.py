"""Every place of a block is answered as the single station is: day by day, count by count."""

from datetime import date

import numpy as np
import pytest

from frostkit.answers.answer import Answer
from frostkit.answers.seeding.grids import FIRST
from frostkit.answers.seeding.window import window
from frostkit.crops.entry import load
from frostkit.ensemble.site import AS_READ, TODAY, Site
from frostkit.errors import FrostkitError, SettingError
from frostkit.records.record import Record, Station
from frostkit.region.answer import CROPS, Question, _together, of_block, shares_by_count, windows
from frostkit.region.places import Block, Cells
from frostkit.seasons.calendar import DAYS, MISSING
from tests.region_cells import holed, made_up, spots

CORN, LEGUME = load("silage-2300"), load("forage-late")


def day_by_day(days, number) -> Record:
    """A cell's days in a row, as a file of a station would give them: 29 February is not read."""
    first = np.datetime64(f"{days.seasons[0]}-01-01")
    size = (date(int(days.seasons[-1]) + 1, 1, 1) - date(int(days.seasons[0]), 1, 1)).days
    out = {name: np.full(size, np.nan, np.float32) for name in ("tmin", "tmax")}
    at = 0
    for season, year in enumerate(days.seasons.tolist()):
        leap = (date(year + 1, 1, 1) - date(year, 1, 1)).days == 366
        places = [day for day in range(366 if leap else 365) if not (leap and day == 59)]
        for name in out:
            values = getattr(days, name)[number, season]
            out[name][at + np.array(places)] = np.where(values == MISSING, np.nan, values / np.float32(10))
        at += 366 if leap else 365
    spot = spots(number + 1)
    return Record(Station("", f"cell {number}", spot.latitude[number], spot.longitude[number]), first, **out)


def same(got: dict, number: int, single: Answer, question: Question) -> None:
    """Every variable of a place against the single station's answer."""
    table = single.table("odds")
    for name in CROPS:
        if name not in table:
            continue
        of, at = table[name].values, CROPS.index(name)
        for part in ("yes", "no", "not_known", "count"):
            assert np.array_equal(got[part][number, at], getattr(of, part)), (number, name, part)
        for part in ("share", "low", "high"):
            assert np.array_equal(got[part][number, at], getattr(of, part).astype(np.float32)), (number, name, part)
        for part in ("ready", "plan"):
            share = table[f"{name}.{part}"].values.share
            assert np.array_equal(got[part][number, at], share.astype(np.float32)), (number, name, part)
        assert (got["seasons"][number, at] == of.seasons).all()
    told = single.values["window"]
    for name in ("window", "core", "fringe"):
        span = told if name == "window" else (told[name] or {})
        for end in ("from", "to"):
            want = np.nan if span.get(end) is None else float(span[end].column)
            assert np.array_equal(got[f"{name}_{end}"][number], want, equal_nan=True), (number, name, end)
    if single.values["ready_days"] is not None:
        for end in ("usual", "late"):
            want = float(single.values["ready_days"][end].column)
            want = want if np.isfinite(want) else np.nan
            assert np.array_equal(got[f"ready_{end}"][number], want, equal_nan=True)
    rows = single.ensemble
    assert got["first_season"][number] == rows.seasons[0] and got["last_season"][number] == rows.seasons[-1]
    assert (got["counted"][number], got["complete"][number]) == (rows.seasons.size, rows.complete.sum())


def compare(days, question: Question) -> int:
    """Block against cell by cell from days in a row; how many cells had an answer."""
    block = Block(Cells(days, spots(len(days.tmin)), question.climate, question.for_season, "made up"), days)
    got = of_block(block, question)
    answered = 0
    for number in range(len(days.tmin)):
        try:
            site = Site(day_by_day(days, number), climate=question.climate, for_season=question.for_season)
            single = window(
                site,
                question.corn,
                question.legume,
                odds=question.odds,
                after=question.after,
                apart=question.apart,
                not_after=question.not_after,
                store=question.store,
            )
        except FrostkitError as fault:
            reason = " ".join(fault.what.split())
        else:
            reason = ""
        assert got["note"][number] == reason
        if reason:
            assert got["counted"][number] == 0 and np.isnan(got["share"][number]).all()
            continue
        same(got, number, single, question)
        answered += 1
    return answered


@pytest.mark.parametrize(
    "question",
    [
        Question(CORN, LEGUME, climate=AS_READ),
        Question(CORN, LEGUME, climate=TODAY),
        Question(CORN, LEGUME, climate=AS_READ, apart=True, after=2, odds=0.6, not_after=FIRST + 40),
        Question(CORN, None, climate=AS_READ, store="bag", for_season=2020),
        Question(None, LEGUME, climate=TODAY),
        Question(load("grain-corn-2100"), load("soybean-000"), climate=AS_READ),
    ],
    ids=["as read", "today", "apart", "corn", "legume", "by day length"],
)
def test_cells_with_and_without_holes_are_answered_as_single_stations(question):
    assert compare(holed(made_up(10, 8)), question) >= 8


@pytest.mark.slow
def test_five_hundred_cells_with_holes_are_answered_as_single_stations():
    days = holed(made_up(500, 20, seed=5), seed=6)
    assert compare(days, Question(CORN, LEGUME, climate=AS_READ)) >= 440
    assert compare(days, Question(CORN, LEGUME, climate=TODAY)) >= 440


def test_a_block_without_holes_goes_at_once_and_gives_what_its_cells_give_alone():
    days = made_up(12, 10, seed=3)
    question = Question(CORN, LEGUME, climate=AS_READ)
    block = Block(Cells(days, spots(12), AS_READ, None, "made up"), days)
    together = of_block(block, question)
    assert _together(block, question, of_block(Block(()), question) | together) == []
    alone = of_block(Block(block.places), question)  # without the block's days each goes by its own possible seasons
    for name, values in alone.items():
        if values.dtype.kind == "O":
            assert values.tolist() == together[name].tolist(), name
        else:
            assert np.array_equal(values, together[name], equal_nan=True), name


def test_the_window_runs_from_the_first_start_to_the_end_of_the_first_run_from_there_on():
    rng = np.random.default_rng(4)
    starts, made = rng.random((400, 9)) < 0.3, rng.random((400, 9)) < 0.6
    first, last = windows(starts, made)
    for row in range(400):
        begun = [day for day in range(9) if starts[row, day]]
        want = None
        if begun:
            later = [day for day in range(begun[0], 9) if made[row, day]]
            if later:
                end = later[0]
                while end + 1 < 9 and made[row, end + 1]:
                    end += 1
                want = begun[0], end
        assert (None if last[row] < 0 else (first[row], last[row])) == want


def test_shares_by_count_are_those_of_a_share_of_the_same_seasons():
    of = shares_by_count(30)
    assert of.count.tolist() == list(range(31)) and of.share[27] == 27 / 30
    assert (round(float(of.low[27]), 3), round(float(of.high[27]), 3)) == (0.783, 0.963)
    # Brown, Cai and DasGupta 2001: Jeffreys' interval of 27 in 30, as `odds.intervals` has it


def test_what_no_place_can_be_asked_is_refused_before_any_place_is_read():
    with pytest.raises(SettingError, match=r"Odds of 1\.5 can't be wanted"):
        Question(CORN, None, odds=1.5).checked()
    with pytest.raises(SettingError, match="There is no crop to seed"):
        Question(None, None).checked()
    with pytest.raises(SettingError, match="is outside -60 to 60"):
        Question(CORN, LEGUME, after=99).checked()


def test_the_axis_of_days_is_the_season():
    assert made_up(1, 1).tmin.shape == (1, 1, DAYS)


def test_a_cell_beyond_the_north_of_corn_is_a_hole_with_its_reason_and_the_others_are_answered():
    days, at = made_up(4, 6), spots(4)
    at.latitude[2] = 71.0
    got = of_block(Block(Cells(days, at, AS_READ, None, "made up"), days), Question(CORN, LEGUME, climate=AS_READ))
    assert got["counted"].tolist() == [6, 6, 0, 6]
    assert "71" in got["note"][2] and not got["note"][[0, 1, 3]].any()
