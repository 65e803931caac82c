"""The compiled kernel against the kernels that every answer uses: the same counts, windows and fit days."""

import numpy as np
import pytest

pytest.importorskip("numba")

from frostkit.crops.entry import load
from frostkit.ensemble.site import AS_READ
from frostkit.region import answer, kernel
from frostkit.region.answer import Question, _anywhere, has_range, of_whole
from frostkit.region.store import Days
from frostkit.seasons.calendar import column
from tests.region_cells import made_up

CORN, LEGUME = load("silage-2300"), load("forage-late")


def by_heat(crop, goal: str, degree_days: float):
    """The crop with a single clock from sowing on: emergence, a goal, one cold that kills."""
    first = crop.stage["emergence"]

    def stage(value: float, kills):
        need = first.need.model_copy(update={"value": value, "unit": "degree days C"})
        return first.model_copy(update={"clock": "growth", "need": need, "kills": kills})

    stages = {"emergence": stage(65.0, first.kills), goal: stage(degree_days, None)}
    return crop.model_copy(update={"clock": {"growth": LEGUME.clock["growth"]}, "stage": stages, "goal": goal})


def wide(places: int, seasons: int) -> Days:
    """Cells from the far north, where nothing ripens, to the warm south, where frost is rare; some with a cold July."""
    days = made_up(places, seasons, seed=9)
    move = np.linspace(-90, 110, places).astype(np.int16)[:, None, None]
    low, high = days.tmin + move, days.tmax + move
    low[::5, ::4, 190:195] -= 120
    return Days(low, high, None, days.seasons)


QUESTIONS = {
    "both": Question(CORN, LEGUME, climate=AS_READ, apart=True),
    "legume two days later": Question(CORN, LEGUME, climate=AS_READ, apart=True, after=2, odds=0.6),
    "corn alone, with a last day": Question(CORN, None, climate=AS_READ, store="bag", not_after=column(6, 10)),
    "legume alone": Question(None, LEGUME, climate=AS_READ, odds=0.9),
    "grain": Question(load("grain-corn-2100"), None, climate=AS_READ),
    "heat goals": Question(
        by_heat(load("grain-corn-2100"), "ripe", 1050.0), by_heat(LEGUME, "worth", 850.0), climate=AS_READ, apart=True
    ),
}


@pytest.mark.parametrize("question", QUESTIONS.values(), ids=QUESTIONS)
def test_the_compiled_kernel_gives_what_every_answer_uses(question, monkeypatch):
    monkeypatch.setattr(answer, "WHOLE_ROWS", 0)
    days = wide(21, 15)
    asked = question.asked(_anywhere(), question.corn, question.legume, question.store)
    more = (0.0, 150.0, -150.0) if has_range(asked) else (0.0,)
    assert kernel.compiled(asked, more, rain=False) is not None
    fast, plain = of_whole(days, asked, question), of_whole(days, asked, question, compiled=False)
    assert fast.keys() == plain.keys()
    for name, values in plain.items():
        np.testing.assert_array_equal(fast[name], values, err_msg=name)
    assert 0 < np.isfinite(plain["window_from"]).sum() < 21  # neither nowhere nor everywhere


def test_what_goes_by_day_length_or_grows_in_shade_is_left_to_the_plain_kernels():
    for question in (
        Question(CORN, LEGUME, climate=AS_READ),  # on the light that the corn leaves
        Question(None, load("soybean-00"), climate=AS_READ),  # by day length
    ):
        assert (
            kernel.compiled(question.asked(_anywhere(), question.corn, question.legume, "bunker"), (0.0,), False)
            is None
        )


def test_a_count_that_needs_every_plane_of_the_counters_is_whole():
    """Seasons in number just below, at and above a power of two, all of which make it."""
    for seasons in (31, 32, 33):
        warm = Days(*(np.full((2, seasons, 365), v, np.int16) for v in (150, 260)), None, np.arange(seasons) + 1990)
        question = QUESTIONS["both"]
        asked = question.asked(_anywhere(), CORN, LEGUME, "bunker")
        of = kernel.compiled(asked, (0.0,), False)
        found, fits = kernel.counts(of, warm.tmin, warm.tmax)
        assert (found[:, :, :, 0] == seasons).all()
        assert (kernel.first_fit(fits, np.array([0, 70])) == [[0], [70]]).all()
