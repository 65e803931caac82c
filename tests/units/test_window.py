"""The window on small made-up records: three shares, the window and its core and fringe, equal plain loops."""

from functools import lru_cache

import numpy as np
import pytest

from frostkit.answers.corn import need_at
from frostkit.answers.seeding.grids import FIRST, LAST, Window, asking, grids, window_of
from frostkit.answers.seeding.window import NEED_RANGE, window
from frostkit.crops.entry import load
from frostkit.ensemble.site import AS_READ, Site
from frostkit.errors import CropError, RecordError, SettingError
from frostkit.seasons.calendar import column
from tests import made_up, plain_loops, plain_window

CORN, LEGUME = load("silage-2300"), load("forage-late")
DAYS = list(range(FIRST, LAST + 1))
FIT = 1932 + 3 / 8 * (2150 - 1932)  # CHU at 70 %: between dent at 73 % and 65 % at the goal, as in the entry
SEASONS = 12
SEEDS = (1, 2)


def weather(seed, colder=2.0):
    tmin, tmax = plain_loops.weather(seed, SEASONS, warmer=-colder)
    rain = np.random.default_rng(seed).integers(0, 120, tmin.shape)
    return tmin, tmax, np.where(rain > 90, rain, 0)


def site(seed, **how):
    tmin, tmax, rain = weather(seed)
    return Site(made_up.record(tmin, tmax, prcp=rain), climate=AS_READ, **how)


@lru_cache
def by_loops(seed, more=0.0):
    """{"corn" | "legume" | "both": (made, fit, plan)}, lists [season][day], corn and legume apart."""
    tmin, tmax, rain = weather(seed)
    out = {"corn": ([], []), "legume": ([], [])}
    for y in range(SEASONS):
        of = plain_window.season(tmin[y], tmax[y], rain[y])
        out["corn"][0].append([plain_window.corn(of, day, FIT + more)[0] for day in DAYS])
        out["corn"][1].append([plain_window.ready(of, day) for day in DAYS])
        out["legume"][0].append([plain_window.bean(of, day)[0] for day in DAYS])
        out["legume"][1].append([plain_window.ready(of, day, rain=5.0) for day in DAYS])
    of = {name: [np.array(part) for part in parts] for name, parts in out.items()}
    of["both"] = [of["corn"][part] & of["legume"][part] for part in (0, 1)]
    return {name: (made, fit, np.array([plain_window.plan(*pair) for pair in zip(made, fit, strict=True)]))
            for name, (made, fit) in of.items()}  # fmt: skip


def plainly(made, fit, plan, odds=0.8):
    """The window as the design words it, from lists of seasons."""
    counts = [part.sum(0) for part in (made, fit, plan)]
    for first in range(len(DAYS)):
        if counts[1][first] >= 0.1 * SEASONS - 1e-9 and counts[2][first] >= odds * SEASONS - 1e-9:
            break
    else:
        return None
    at = first
    while at < len(DAYS) and counts[0][at] < odds * SEASONS - 1e-9:
        at += 1
    if at == len(DAYS):
        return None
    while at + 1 < len(DAYS) and counts[0][at + 1] >= odds * SEASONS - 1e-9:
        at += 1
    return Window(first, at)


@pytest.mark.parametrize("seed", SEEDS)
def test_every_season_and_day_equals_plain_loops(seed):
    at = site(seed)
    rows = at.ensemble()
    assert rows.seasons.size == SEASONS and rows.draws == 1
    found, truth = grids(rows, asking(at, CORN, LEGUME, apart=True)), by_loops(seed)
    for name, parts in truth.items():
        for got, wanted in zip((found.made, found.fit, found.plan), parts, strict=True):
            assert np.array_equal(got[name][rows.index[0]], wanted), name
    assert truth["both"][0].any() and not truth["both"][0].all()


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("odds", [0.5, 0.8])
def test_the_window_its_core_and_its_fringe_are_those_of_plain_loops(seed, odds):
    answer = window(site(seed), CORN, odds=odds)
    said = answer.values["window"]
    fit = by_loops(seed)["corn"][1]
    for more, part in ((0.0, said), (NEED_RANGE, said["core"]), (-NEED_RANGE, said["fringe"])):
        made = by_loops(seed, more)["corn"][0]
        plan = np.array([plain_window.plan(*pair) for pair in zip(made, fit, strict=True)])
        truth = plainly(made, fit, plan, odds)
        got = None if part is None or part["from"] is None else (part["from"].column, part["to"].column)
        assert got == (None if truth is None else (DAYS[truth.first], DAYS[truth.last]))


def test_the_shares_printed_are_the_counts_of_seasons():
    answer, truth = window(site(1), CORN, LEGUME, apart=True), by_loops(1)
    table = answer.table("odds")
    for name, parts in truth.items():
        for key, part in zip((name, f"{name}.ready", f"{name}.plan"), parts, strict=True):
            of = table[key].values
            assert of.count.tolist() == of.yes.tolist() == part.sum(0).tolist()
            assert of.seasons == of.complete == SEASONS


def test_first_fit_days_are_the_middle_and_the_ninth_in_ten_of_those_that_came():
    answer = window(site(2), CORN)
    since = answer.values["window"]["from"].column
    fit = by_loops(2)["corn"][1]
    first = sorted(
        next((day for day, yes in zip(DAYS, row, strict=True) if yes and day >= since), np.inf) for row in fit
    )
    said = answer.values["ready_days"]
    assert said["usual"].column == first[SEASONS // 2 - 1]  # by then half of them: 6 of 12
    assert said["late"].column == first[10]  # 11 of 12 are 9 in 10


def test_outcomes_sum_to_the_seasons_and_fit_is_made_it():
    answer = window(site(1), CORN)
    table = answer.table("odds")
    fit, usable, lost = (table[f"outcomes.{name}"].values for name in ("fit", "usable", "lost"))
    assert (fit + usable + lost == SEASONS).all()
    assert fit.tolist() == table["corn"].values.count.tolist()
    tmin, tmax, _ = weather(1)
    dented = []
    for y in range(SEASONS):
        of = plain_window.season(tmin[y], tmax[y])
        dented.append([plain_window.corn(of, day, 1932)[0] for day in DAYS])
    assert (fit + usable).tolist() == np.sum(dented, axis=0).tolist()


def test_a_season_whose_soil_was_ready_on_a_day_that_made_it_makes_it_by_plan_from_earlier_days_too():
    """But for seasons in which an earlier fit day's sowing did not make it: only a spring frost can do that."""
    for seed in SEEDS:
        made, fit, plan = by_loops(seed)["corn"]
        tmin, tmax, _ = weather(seed)
        for y, day in zip(*np.nonzero(made & fit), strict=True):
            for earlier in np.flatnonzero(~plan[y, :day]):
                sown = next(at for at in range(earlier, len(DAYS)) if fit[y, at])
                dead = plain_window.corn(plain_window.season(tmin[y], tmax[y]), DAYS[sown], FIT)[1]
                assert dead is not None and dead < plain_window.SPLIT


def test_made_it_never_rises_with_later_sowing_but_through_spring_frost():
    for seed in SEEDS:
        made = by_loops(seed)["corn"][0]
        tmin, tmax, _ = weather(seed)
        for y, day in zip(*np.nonzero(~made[:, :-1] & made[:, 1:]), strict=True):
            dead = plain_window.corn(plain_window.season(tmin[y], tmax[y]), DAYS[day], FIT)[1]
            assert dead is not None and dead < plain_window.SPLIT


def test_the_need_at_the_stores_range_is_read_off_the_drying_curve():
    per_unit = 50_000  # of the usual corn heat units
    assert need_at(CORN, 70.0) == pytest.approx(FIT * per_unit)
    assert need_at(CORN, 65.0) == 2150 * per_unit
    wetter = {store: window(site(1), CORN, store=store).table("odds")["corn"].values.total
              for store in ("bunker", "upright", "oxygen_limiting")}  # fmt: skip
    assert (wetter["bunker"] >= wetter["upright"]).all() and (wetter["upright"] >= wetter["oxygen_limiting"]).all()
    assert (wetter["bunker"] > wetter["oxygen_limiting"]).any()


def test_ones_own_last_day_cuts_the_window_and_is_said():
    free = window(site(1), CORN)
    own = free.values["window"]["to"].column - 5
    cut = window(site(1), CORN, not_after=own)
    assert cut.values["window"]["to"].column == own
    assert cut.values["window"]["from"] == free.values["window"]["from"]
    assert "not_after" in [says.key for says in cut.sentences]
    assert cut.values["after_window"] is None


def test_where_the_hybrid_is_too_late_the_largest_that_makes_it_is_said():
    answer = window(site(1), load("silage-3200"))
    assert answer.headline.key == "too_late"
    assert answer.values["window"]["from"] is None
    smaller = answer.values["smaller_rating"]
    assert answer.headline.values["rating"].value == smaller < 3200
    assert window(site(1), load(f"silage-{smaller}")).headline.key == "window"


def test_the_window_of_one_day_tells_its_three_shares_as_its_row_does():
    answer = window(site(1), CORN, LEGUME, seeding=column(5, 20))
    one, table = answer.values["seeding"], answer.table("odds")
    place = DAYS.index(column(5, 20))
    for name in ("corn", "legume", "both"):
        assert one[name]["count"] == table[name].values.count[place]
        assert one[name]["plan"].total == table[f"{name}.plan"].values.total[place]
        assert one[name]["ready"].total == table[f"{name}.ready"].values.total[place]


@pytest.mark.parametrize("after", [-1, 0, 2])
def test_a_legume_some_days_after_the_corn_is_sown_on_that_day(after):
    at = site(2)
    rows = at.ensemble()
    found = grids(rows, asking(at, CORN, LEGUME, after=after, apart=True))
    alone = grids(rows, asking(at, None, LEGUME, first=FIRST + after, last=LAST + after))
    assert np.array_equal(found.made["legume"], alone.made["legume"])
    assert np.array_equal(found.fit["legume"], alone.fit["legume"])
    assert np.array_equal(found.made["both"], found.made["corn"] & found.made["legume"])


def test_the_window_starts_late_enough_for_the_soil_and_ends_with_the_run():
    yes = np.array([True, True, True, False, True, True])
    soon = np.array([False, True, True, True, True, True])
    assert window_of(yes, soon, yes, np.ones(6, bool)) == Window(1, 2)
    assert window_of(yes, soon & [0, 0, 0, 1, 1, 1], np.ones(6, bool), np.ones(6, bool)) == Window(3, 5)
    assert window_of(yes, np.zeros(6, bool), yes, np.ones(6, bool)) is None


@pytest.mark.parametrize(
    ("how", "says"),
    [
        ({"odds": 1.5}, "Odds of 1.5 can't be wanted"),
        ({"after": 90}, "90 days after the corn"),
        ({"first": 200, "last": 150}, "is after the last"),
        ({"seeding": column(9, 1)}, "1 September is not among the seeding days"),
        ({"store": "bunkr"}, "Did you mean 'bunker'"),
        ({"per_day": 5.0}, "weighed against a worth"),
    ],
)
def test_wrong_questions_are_answered_with_what_is_allowed(how, says):
    with pytest.raises(SettingError, match=says):
        window(site(1), CORN, LEGUME, **how)


def test_without_a_crop_or_a_season_there_is_no_window():
    with pytest.raises(SettingError, match="no crop to seed"):
        window(site(1), None, None)
    with pytest.raises(RecordError, match="none from 1950 to 1960"):
        window(site(1, only=(1950, 1960)), CORN)
    with pytest.raises(CropError, match="late planting changes its need"):
        window(site(1), CORN.model_copy(update={"late_planting": None}), late_planting=True)
