"""The day that pays best, and stations taken together: by hand, by laws, and as typed."""

import json
from dataclasses import replace

import numpy as np
import pytest

from frostkit.answers.around import around
from frostkit.answers.pays import YEARS, pays
from frostkit.answers.seeding import seeding
from frostkit.answers.station import behind
from frostkit.crops.entry import load
from frostkit.demo.place import FILE, demo_record
from frostkit.errors import SettingError
from frostkit.records.record import Station
from frostkit.show.cli import main


@pytest.fixture(scope="module")
def answer():
    return seeding(behind(demo_record()), load("silage-2300"), load("forage-late"))


def test_without_a_cost_of_waiting_the_day_that_works_most_often_pays_best(answer):
    found = pays(answer, worth=100)
    share = answer.odds["both"].share
    assert share[found.best - answer.days[0]] == pytest.approx(share.max())
    assert found.mean == pytest.approx(100 * share.max(), abs=1e-9) or not answer.works["both"].certain.all()


def test_what_a_day_pays_is_worked_out_season_by_season(answer):
    """By hand: (seasons that worked x gain - seasons that failed x loss) / seasons, over complete ones."""
    found, grid = pays(answer, worth=900, per_day=6, loss=400), answer.works["both"]
    place = found.best - int(answer.days[0])
    whole = grid.complete
    least, most = (part[whole, place].mean() for part in (grid.certain, grid.possible))
    worked = (least + most) / 2
    assert found.mean == pytest.approx(worked * (900 - 6 * place) - (1 - worked) * 400)
    assert found.low <= found.mean <= found.high
    assert found.between[0] <= found.best <= found.between[1]


def test_the_risk_over_years_follows_the_published_form(answer):
    """1 - (1 - p)^n: Snyder and de Melo-Abreu 2005, FAO, vol. 2 ch. 1, from memory; p is the share that failed."""
    found = pays(answer, worth=900)
    failed = 1 - answer.odds["both"].share[found.best - answer.days[0]]
    assert found.fails[0] == pytest.approx(1 - (1 - failed) ** YEARS)
    assert found.fails[1] <= found.fails[0] <= found.fails[2]


def test_a_dearer_wait_never_moves_the_best_day_later(answer):
    days = [pays(answer, worth=900, per_day=cost, loss=100).best for cost in (0, 5, 20, 60)]
    assert days == sorted(days, reverse=True)


@pytest.mark.parametrize(("worth", "loss"), [(0, 10), (-5, 0), (100, -1), (float("nan"), 0)])
def test_amounts_that_cannot_be_weighed_are_refused(answer, worth, loss):
    with pytest.raises(SettingError, match="can't be weighed"):
        pays(answer, worth=worth, loss=loss)


def test_a_station_taken_twice_says_what_it_says_alone(answer):
    both = around([answer, answer])
    alone = answer.odds["both"]
    np.testing.assert_allclose(both.pooled.share, alone.share)
    np.testing.assert_allclose(both.pooled.apart, 0, atol=1e-12)
    assert both.window == answer.window


def test_stations_that_disagree_widen_the_interval(answer):
    record = demo_record()
    colder = seeding(
        behind(replace(record, tmin=record.tmin - np.float32(3))), load("silage-2300"), load("forage-late")
    )
    apart, alone = around([answer, colder]), around([answer, answer])
    at = 40
    assert apart.pooled.high[at] - apart.pooled.low[at] > alone.pooled.high[at] - alone.pooled.low[at]


def test_the_nearer_station_counts_more(answer):
    record, crops = demo_record(), (load("silage-2300"), load("forage-late"))
    field = Station("field", "field", 50.0, -100.1, 400.0)
    far = replace(record, station=replace(record.station, longitude=-100.6))
    near, away = (seeding(behind(one, field=field), *crops) for one in (record, far))
    found = around([near, away])
    assert found.by_nearness
    assert found.weight[0] > found.weight[1]
    assert found.weight.sum() == pytest.approx(1)


def test_one_station_alone_is_refused(answer):
    with pytest.raises(SettingError, match="only one station"):
        around([answer])


def test_as_typed_both_stand_in_the_answer_and_in_json(capsys):
    typed = ["window", "--worth", "900", "--per-day", "6", "--loss", "400", "--also", str(FILE)]
    assert main(typed) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "Seeding pays best about" in said
    assert "2 stations together: seed from 21 May to 29 May" in said
    assert main([*typed, "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["around"]["window"] == {"from": "05-21", "to": "05-29"}
    assert answer["pays"]["fails_once"]["seasons"] == YEARS
    assert main(["window", "--loss", "5"]) == 2
    assert "--per-day and --loss go with --worth" in capsys.readouterr().err
