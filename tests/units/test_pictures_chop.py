"""Pictures of chopping time and of the order of fields: what they say, and that no meaning rests on colour alone."""

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure

from frostkit.answers.ahead import Ahead, band
from frostkit.answers.chopping import chopping
from frostkit.answers.farm import Field
from frostkit.answers.fields import order_of_fields, rain_days
from frostkit.answers.station import behind
from frostkit.crops.entry import load
from frostkit.demo.place import demo_record
from frostkit.seasons.calendar import column, words
from frostkit.show.look import says, svg
from frostkit.show.pictures.chop import LINES, chopping_days, chopping_panels, day_odds, moisture_days, until
from frostkit.show.pictures.fields import calendar, fields_calendar
from frostkit.show.texts import texts

RECORD = demo_record()
AT = behind(RECORD)
CORN = load("silage-2300")


@pytest.fixture(scope="module")
def answer():
    return chopping(AT, CORN, column(5, 22), today="2025-08-25")


@pytest.fixture(scope="module")
def order():
    fields = tuple(Field(name, 30.0, column(5, day), "silage-2300", place=name)
                   for name, day in (("home", 18), ("a field with a name as long as a road", 24), ("slough", 30)))  # fmt: skip
    return order_of_fields(AT, rain_days(RECORD, AT.cube), fields)


def drawn(said, label):
    """The numbers of a line of a picture."""
    line = next(line for line in said.splitlines() if line.startswith(f"{label}: "))
    return np.array([[float(part) for part in pair.split(",")] for pair in line.removeprefix(f"{label}: ").split()])


def test_the_picture_says_the_answer_and_draws_its_odds(answer):
    said = says(chopping_days(answer))
    assert f"Fit for the bunker from about {words(answer.fit_from.all[1])}, until about" in said
    assert "of 32 seasons" in said
    say = texts("en")
    for name in LINES:
        points = drawn(said, say(f"chop.{name}"))
        assert points[:, 0].tolist() == answer.days.tolist()
        assert points[:, 1] == pytest.approx(100 * answer.odds[name].odds, abs=1e-3)
    assert drawn(said, say("chop.middle"))[:, 1] == pytest.approx(answer.moisture, abs=1e-3)
    assert "today, 25 Aug" in said
    assert "best days" in said
    assert "range of the bunker" in said


def test_the_dangers_and_what_it_rests_on_stand_in_the_picture(answer, order):
    for figure in (chopping_days(answer), fields_calendar(order)):
        said = says(figure)
        assert "Silo gas kills: stay out." in said
        assert "nitrate" in said
        assert "River Flat (invented)" in said
        assert "a calibration through published points" in said


def test_each_line_has_a_style_of_its_own_beside_its_colour(answer):
    axes = day_odds(answer, Figure().add_subplot())
    styles = [str(line.get_linestyle()) + str(line._unscaled_dash_pattern) for line in axes.get_lines()]
    assert len(set(styles)) == len(styles)


def test_the_lines_differ_in_grey_from_paper():
    for colour, _, _ in LINES.values():
        assert np.dot(to_rgb(colour), (0.2126, 0.7152, 0.0722)) < 0.55


def test_each_panel_takes_and_returns_an_axes(answer, order):
    for panel, of in ((day_odds, answer), (moisture_days, answer), (calendar, order)):
        axes = Figure().add_subplot()
        assert panel(of, axes) is axes
        assert isinstance(axes, Axes)


def test_what_was_seen_in_the_field_is_drawn_where_it_was_seen():
    answer = chopping(AT, CORN, column(5, 22), today="2025-08-25", moisture=(70.5, column(8, 22)))
    assert drawn(says(chopping_days(answer)), "dried sample").tolist() == [[column(8, 22), 70.5]]


def test_without_a_day_worth_naming_the_picture_says_today_instead():
    answer = chopping(AT, CORN, column(5, 22), today="2025-09-20")
    said = says(chopping_days(answer))
    assert "Likely too dry for the bunker already: sample today" in said
    assert "Today, 20 September: about" in said
    assert "best days" not in said


def test_with_too_few_seasons_the_picture_draws_no_odds_and_does_not_break():
    few = chopping(behind(RECORD, seasons=(2019, 2025)), CORN, column(5, 22), today="2025-08-25")
    assert np.isnan(few.moisture_band).all()
    assert "Too few complete past seasons" in says(chopping_days(few))


def test_the_days_drawn_end_after_the_last_that_may_be_in_range(answer):
    assert answer.fit_to.all[2] < until(answer) <= answer.days[-1]


def test_a_picture_in_french_has_no_english_line(answer, order):
    for make, of in ((chopping_days, answer), (chopping_panels, answer), (fields_calendar, order)):
        said = says(make(of, "fr"))
        for english in ("range", "odds", "moisture", "today", "seasons", "one machine", "Chop in"):
            assert english not in said.split("Source: ")[0], english


def test_the_calendar_lists_fields_in_their_order_and_shortens_long_names(order):
    axes = calendar(order, Figure().add_subplot())
    labels = [label.get_text() for label in axes.get_yticklabels()]
    assert [label[:2] for label in labels] == ["1.", "2.", "3."]
    assert max(map(len, labels)) <= 24
    assert f"{order.tonnes:,.0f} of {order.all_tonnes:,.0f} t" in says(fields_calendar(order))


def test_a_strip_stands_where_the_middle_season_has_it(order):
    axes = calendar(order, Figure().add_subplot())
    boxes = [(box.get_x(), box.get_width()) for box in axes.patches]
    for row, plan in enumerate(order.plan):
        assert boxes[2 * row] == (plan.fit_from[1] - 0.5, plan.fit_to[1] - plan.fit_from[1] + 1)
        assert boxes[2 * row + 1] == (plan.start[1] - 0.5, plan.finish[1] - plan.start[1] + 1)


def test_a_picture_is_the_same_file_each_time_and_says_what_it_shows(answer):
    first, second = (svg(chopping_days(answer)) for _ in range(2))
    assert first == second
    assert 'aria-label="Fit for the bunker' in first


def test_the_band_is_what_drawing_at_random_from_the_same_curves_gives():
    """Two routes to one number: halving the mixed normal curve, and two hundred thousand draws from it."""
    random = np.random.default_rng(3)
    middle = random.normal(68, 4, (12, 4))
    spread, use = np.array([1.0, 2.0, 4.0]), random.uniform(0, 1, 12)
    found = band(Ahead(middle, middle, middle, 200), spread, use)
    rows = random.choice(12, 200_000, p=use / use.sum())
    draws = middle[rows, 1:] + spread * random.standard_normal((200_000, 3))
    assert found == pytest.approx(np.quantile(draws, (0.1, 0.9), axis=0), abs=0.06)


def test_the_band_of_one_season_is_its_normal_curve():
    """1.28155 standard deviations hold 8 in 10 (standard normal table)."""
    middle = np.full((1, 2), 66.0)
    low, high = band(Ahead(middle, middle, middle, 200), np.array([4.0]), np.ones(1))
    assert (low[0], high[0]) == pytest.approx((66 - 4 * 1.281552, 66 + 4 * 1.281552), abs=1e-4)
