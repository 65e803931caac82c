"""Late planting as an option of the window: the grid by two routes, what it changes, and what is said of its validity."""

from dataclasses import replace

import numpy as np
import pytest

from frostkit.answers.plans import late_planting, plan
from frostkit.answers.seeding import seeding
from frostkit.answers.station import behind
from frostkit.answers.together import corn_days
from frostkit.crops.entry import load
from frostkit.demo.place import demo_record
from frostkit.errors import CropError, SettingError
from frostkit.seasons.calendar import column
from frostkit.seasons.windows import works
from frostkit.show import phrases
from frostkit.show.look import says
from frostkit.show.pictures.seeding import seeding_window
from frostkit.show.tables.seeding import window_text
from frostkit.show.texts import texts

AT = behind(demo_record())
CORN, LEGUME = load("silage-2300"), load("forage-late")


@pytest.fixture(scope="module")
def plain():
    return seeding(AT, CORN, LEGUME)


@pytest.fixture(scope="module")
def late():
    return seeding(AT, CORN, LEGUME, late_planting=True)


def test_every_seeding_day_is_what_a_crop_of_that_need_would_do_on_it(late):
    """Two routes: one grid with a need for each day, and one grid a day with that need alone."""
    whole = plan(CORN, AT.station.latitude)
    for day in (column(4, 20), column(5, 1), column(5, 21), column(6, 15), column(7, 5)):
        need = late_planting(whole, CORN, [day]).stages[whole.goal].need[0]
        alone = replace(whole, stages=(*whole.stages[:-1], replace(whole.stages[-1], need=need)))
        one = works(AT.cube, alone, np.array([day]))
        at = day - late.days[0]
        for part in ("certain", "possible", "typical"):
            assert (getattr(one, part)[:, 0] == getattr(late.works["corn"], part)[:, at]).all()


def test_up_to_its_first_day_and_where_it_is_not_asked_for_nothing_changes(plain, late):
    early = plain.days <= column(5, 1)
    assert (plain.works["both"].typical[:, early] == late.works["both"].typical[:, early]).all()
    assert not plain.late_planting
    assert phrases.late_planting(texts("en"), plain) == ""


def test_with_it_corn_and_both_never_work_in_fewer_seasons_and_the_chop_is_never_later(plain, late):
    assert (late.odds["corn"].yes >= plain.odds["corn"].yes).all()
    days = np.arange(column(5, 1), column(6, 20), 5)
    chops = [corn_days(AT.cube, CORN, days, AT.station.latitude, late=asked).chop for asked in (True, False)]
    for end in ("first", "last"):
        assert (getattr(chops[0], end) <= getattr(chops[1], end)).all()
    assert (chops[0].first < chops[1].first).any()


def test_where_and_when_it_was_measured_is_said_with_the_answer(late):
    for said in (window_text(late), says(seeding_window(late))):
        flat = " ".join(said.split())
        assert "the corn needs 5.4 corn heat units less for each day it is seeded after 1 May, up to 15 June" in flat
        assert "Indiana and Ohio" in flat and "may not hold outside" in flat


def test_it_needs_a_corn_that_has_the_figure():
    with pytest.raises(SettingError, match="there is no corn"):
        seeding(AT, None, LEGUME, late_planting=True)
    with pytest.raises(CropError, match="does not say how late planting changes its need"):
        seeding(AT, CORN.model_copy(update={"late_planting": None}), LEGUME, late_planting=True)


def test_the_command_passes_it_on(capsys):
    import json

    from frostkit.show.cli import main

    assert main(["window", "--late-planting", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["late_planting"] is True
