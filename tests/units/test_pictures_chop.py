"""Pictures of chopping time and of the order of fields: what they say, and that no meaning rests on colour alone."""

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure

from frostkit.answers.silage.chop import chop
from frostkit.answers.silage.farm import Field
from frostkit.answers.silage.fields import fields
from frostkit.crops.entry import load
from frostkit.demo.place import demo_record
from frostkit.ensemble.site import Site
from frostkit.seasons.calendar import column
from frostkit.show.look import says, svg
from frostkit.show.pictures import chop as chop_picture, fields as fields_picture
from frostkit.show.render.words import words
from frostkit.show.texts import texts

SITE = Site(demo_record())
CORN = load("silage-2300")
EN, FR = words("en"), words("fr")


def asked(**options):
    return chop(SITE, CORN, column(5, 22), **({"today": "2025-08-25"} | options))


@pytest.fixture(scope="module")
def answer():
    return asked()


@pytest.fixture(scope="module")
def order():
    of = tuple(Field(name, 30.0, column(5, day), "silage-2300", place=name)
               for name, day in (("home", 18), ("a field with a name as long as a road", 24), ("slough", 30)))  # fmt: skip
    return fields(SITE, of)


def drawn(said, label):
    """The numbers of a line of a picture."""
    line = next(line for line in said.splitlines() if line.startswith(f"{label}: "))
    return np.array([[float(part) for part in pair.split(",")] for pair in line.removeprefix(f"{label}: ").split()])


def test_the_picture_says_the_answer_and_draws_its_odds(answer):
    said = says(chop_picture.draw(answer, EN))
    assert EN.say("chop", answer.headline).rstrip(".") in said
    assert "of 58 seasons" in said
    say, table = texts("en"), answer.table("odds")
    for name in chop_picture.LINES:
        points = drawn(said, say(f"chop_picture.{name}"))
        assert points[:, 0].tolist() == table.index.values.tolist()
        odds = table[name].values.share if name == "killed" else table[f"{name}.odds"].values
        assert points[:, 1] == pytest.approx(100 * odds, abs=1e-3)
    assert drawn(said, say("chop_picture.middle"))[:, 1] == pytest.approx(table["moisture"].values, abs=1e-3)
    assert "today, 25 Aug" in said
    assert "best days" in said
    assert "range of the bunker" in said


def test_the_dangers_and_what_it_rests_on_stand_in_the_picture(answer, order):
    for figure in (chop_picture.draw(answer, EN), fields_picture.draw(order, EN)):
        said = says(figure)
        assert "Silo gas kills: stay out." in said
        assert "nitrate" in said
        assert "River Flat (invented)" in said
        assert "as they would come in 2025's climate" in said
        assert "a calibration through published points" in said


def test_each_line_has_a_style_of_its_own_beside_its_colour(answer):
    axes = chop_picture.day_odds(answer, Figure().add_subplot(), EN)
    styles = [str(line.get_linestyle()) + str(line._unscaled_dash_pattern) for line in axes.get_lines()]
    assert len(set(styles)) == len(styles)


def test_the_lines_differ_in_grey_from_paper():
    for colour, _, _ in chop_picture.LINES.values():
        assert np.dot(to_rgb(colour), (0.2126, 0.7152, 0.0722)) < 0.55


def test_each_panel_takes_and_returns_an_axes(answer, order):
    panels = ((chop_picture.day_odds, answer), (chop_picture.moisture_days, answer), (fields_picture.calendar, order))
    for panel, of in panels:
        axes = Figure().add_subplot()
        assert panel(of, axes, EN) is axes
        assert isinstance(axes, Axes)


def test_what_was_seen_in_the_field_is_drawn_where_it_was_seen():
    answer = asked(moisture=(70.5, column(8, 22)))
    assert drawn(says(chop_picture.draw(answer, EN)), "dried sample").tolist() == [[column(8, 22), 70.5]]


def test_without_a_day_worth_naming_the_picture_says_how_seasons_came_out_instead():
    said = says(chop_picture.draw(asked(today="2025-10-20"), EN))
    assert "Likely too dry already" in said
    assert "alive in" in said
    assert "best days" not in said


def test_the_days_drawn_end_after_the_last_that_may_be_in_range(answer):
    last = answer.values["fit_to"]["all"][2].column
    assert last < answer.settings["until"] <= answer.table("odds").index.values[-1]


def test_a_picture_in_french_has_no_english_line_of_its_own(answer, order):
    for make, of in ((chop_picture.draw, answer), (chop_picture.panels, answer), (fields_picture.draw, order)):
        said = says(make(of, FR)).split("Counted over")[0]
        for english in ("range", "odds", "moisture", "today", "seasons", "machine ", "Chop in", "Silo gas"):
            assert english not in said, english


def test_the_calendar_lists_fields_in_their_order_and_shortens_long_names(order):
    axes = fields_picture.calendar(order, Figure().add_subplot(), EN)
    labels = [label.get_text() for label in axes.get_yticklabels()]
    assert [label[:2] for label in labels] == ["1.", "2.", "3."]
    assert max(map(len, labels)) <= 24
    kept, whole = (order.values[key].value for key in ("tonnes", "all_tonnes"))
    assert f"{kept:,.0f} t of {whole:,.0f} t" in says(fields_picture.draw(order, EN))


def test_a_strip_stands_where_the_middle_season_has_it(order):
    axes = fields_picture.calendar(order, Figure().add_subplot(), EN)
    boxes = [(box.get_x(), box.get_width()) for box in axes.patches]
    plan = order.table("plan")

    def usual(name, row):
        return plan[f"{name}.usual"].values[row]

    for row in range(3):
        fit, chopped = boxes[2 * row], boxes[2 * row + 1]
        assert fit == (usual("fit_from", row) - 0.5, usual("fit_to", row) - usual("fit_from", row) + 1)
        assert chopped == (usual("start", row) - 0.5, usual("finish", row) - usual("start", row) + 1)


def test_a_picture_is_the_same_file_each_time_and_says_what_it_shows(answer):
    first, second = (svg(chop_picture.draw(answer, EN)) for _ in range(2))
    assert first == second
    assert 'aria-label="Fit to chop' in first
