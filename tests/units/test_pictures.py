"""What pictures say, not how their pixels lie; the house colours under three kinds of colour blindness, and in grey."""

import itertools
import re

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

import frostkit as fk
from frostkit.show import look
from frostkit.show.pictures import choose, draw, window
from frostkit.show.render.words import words
from frostkit.show.texts import LANGUAGES

SITE = fk.demo()
WINDOW = fk.window(SITE, track_record=False).answer
CHOICE = fk.choose(SITE, bean="forage-late").answer
ENGLISH = words("en")

# Machado, Oliveira and Fernandes 2009, IEEE Trans. Vis. Comput. Graph. 15:1291-1298, table 1, severity 1.0, for linear
# RGB. FROM MEMORY of the table; the test below holds what they must obey.
SIGHT = {
    "full": np.eye(3),
    "without red cones": np.array([[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]),
    "without green cones": np.array([[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]),
    "without blue cones": np.array([[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]),
}  # fmt: skip
# IEC 61966-2-1 (sRGB), linear RGB to XYZ for D65; CIE 15 for L*, a*, b*. FROM MEMORY; white gives L* = 100.
XYZ = np.array(
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]]
)
WHITE = np.array([0.95047, 1.0, 1.08883])


def linear(colour):
    parts = np.array([int(colour[at : at + 2], 16) for at in (1, 3, 5)]) / 255
    return np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)


def lab(rgb):
    part = XYZ @ np.clip(rgb, 0, 1) / WHITE
    f = np.where(part > 216 / 24389, np.cbrt(part), (24389 / 27 * part + 16) / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def contrast(one, other):
    """Of WCAG 2.2, from relative luminance."""
    dark, light = sorted((XYZ @ linear(colour))[1] for colour in (one, other))
    return (light + 0.05) / (dark + 0.05)


def test_simulated_sight_leaves_white_and_grey_as_they_are_and_blind_is_blind():
    for name, matrix in SIGHT.items():
        assert matrix.sum(axis=1) == pytest.approx(1.0, abs=2e-6), name
    assert lab(np.ones(3)) == pytest.approx([100, 0, 0], abs=0.02)
    far = np.linalg.norm(lab(linear("#d02020")) - lab(linear("#508000")))
    near = [
        np.linalg.norm(lab(matrix @ linear("#d02020")) - lab(matrix @ linear("#508000"))) for matrix in SIGHT.values()
    ]
    assert min(near[1:3]) < 0.6 * far  # red and green draw together without red or green cones


@pytest.mark.parametrize("sight", SIGHT)
def test_the_three_lines_of_the_seeding_window_stay_apart_for_every_kind_of_sight(sight):
    for one, other in itertools.combinations((look.CORN, look.LEGUME, look.BOTH), 2):
        apart = np.linalg.norm(lab(SIGHT[sight] @ linear(one)) - lab(SIGHT[sight] @ linear(other)))
        assert apart >= 15, (one, other)  # CIE 1976; a just noticed difference is about 2.3 (Mahy et al. 1994, MEMORY)


def test_in_grey_the_lines_differ_in_lightness_and_in_dashes():
    for one, other in itertools.combinations((look.CORN, look.LEGUME, look.BOTH), 2):
        assert abs(lab(linear(one))[0] - lab(linear(other))[0]) >= 12
    assert abs(lab(linear(look.CORN))[0] - lab(linear(choose.GRAIN))[0]) >= 12
    figure = window.draw(WINDOW, ENGLISH)
    dashes = [line.get_linestyle() if line.get_linestyle() == "-" else str(line._dash_pattern)
              for line in figure.axes[0].get_lines() if not str(line.get_label()).startswith("_")]  # fmt: skip
    assert len(dashes) == len(set(dashes)) == 3


def test_lines_and_text_stand_out_from_the_paper():
    for colour in (look.CORN, look.LEGUME, look.BOTH, look.FROST):
        assert contrast(colour, "#ffffff") >= 3  # WCAG 2.2, 1.4.11: graphical objects
        assert contrast(colour, look.WINDOW) >= 3
    for colour in (look.INK, look.QUIET):
        assert contrast(colour, "#ffffff") >= 4.5  # WCAG 2.2, 1.4.3: text
        assert contrast(colour, look.WINDOW) >= 4.5


LONG = fk.window(SITE, corn="silage-3200", legume=None, odds=0.9, track_record=False).answer
BEAN = fk.window(SITE, corn=None, not_after="06-10", track_record=False).answer
PICTURES = {
    "window": lambda to: draw(WINDOW, to),
    "window of one crop, with one's own last day": lambda to: draw(BEAN, to),
    "window of a hybrid too late": lambda to: draw(LONG, to),
    "panels": lambda to: window.panels(WINDOW, to),
    "narrow panels": lambda to: window.panels(WINDOW, to, 4.6),
    "choose": lambda to: draw(CHOICE, to),
    "narrow choose": lambda to: choose.panels(CHOICE, to, 4.6),
    "frost": lambda to: draw(fk.frost(SITE, -2.2).answer, to),
    "heat": lambda to: draw(fk.heat(SITE, "chu").answer, to),
}


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", PICTURES)
def test_no_word_leaves_the_sheet_and_no_legend_or_foot_lies_over_a_panel(name, language):
    with look.look():
        figure = PICTURES[name](words(language))
        FigureCanvasAgg(figure).draw()
        sheet = figure.bbox
        panels = [axes.get_window_extent() for axes in figure.axes]
        for text in [
            *figure.texts,
            *(part for axes in figure.axes for part in [*axes.texts, *axes.get_xticklabels(), axes.yaxis.label]),
        ]:
            box = text.get_window_extent()
            if text.get_text() and text.get_visible() and box.width:
                assert box.x0 >= sheet.x0 - 2 and box.x1 <= sheet.x1 + 2, text.get_text()
                assert box.y0 >= sheet.y0 - 2 and box.y1 <= sheet.y1 + 2, text.get_text()
        for apart in [*figure.legends, *figure.texts]:
            box = apart.get_window_extent()
            assert box.x1 <= sheet.x1 + 2
            for panel in panels:
                assert not (box.overlaps(panel) and box.y1 > panel.y0 + 2 and box.y0 < panel.y1 - 2)


@pytest.mark.parametrize("name", PICTURES)
def test_labels_under_an_axis_do_not_touch(name):
    with look.look():
        figure = PICTURES[name](words("fr"))
        FigureCanvasAgg(figure).draw()
        for axes in figure.axes:
            boxes = [label.get_window_extent() for label in axes.get_xticklabels() if label.get_text()]
            boxes = sorted(boxes, key=lambda box: box.x0)
            assert all(left.x1 < right.x0 for left, right in zip(boxes, boxes[1:]))


def test_the_window_says_the_answer_its_count_the_days_and_what_it_rests_on():
    said = look.says(window.draw(WINDOW, ENGLISH))
    title, under = said.splitlines()[:2]
    of, made = WINDOW.values["window"], WINDOW.table("odds")["both"].values
    first, last = (ENGLISH.value(of[end]) for end in ("from", "to"))
    assert title == f"Seed from {first}, as soon as the soil is ready, to {last} for 8 in 10"
    place = int(of["to"].column - WINDOW.table("odds").index.values[0])
    assert f"{made.count[place]} of {made.seasons} seasons" in under
    assert "silage corn rated 2,300 CHU for the bunker and late forage soybean" in under
    assert "ticks: 15 Apr, 1 May, 15 May, 1 Jun, 15 Jun, 1 Jul, 15 Jul" in said
    flat = re.sub(r"\s+", " ", said)
    assert "River Flat (invented)" in flat and "in 2025's climate" in flat
    for label in ("soil ready", "made it", "core", "fringe", "8 in 10"):
        assert label in said


def test_the_drawn_numbers_are_those_of_the_answer_on_either_width():
    table = WINDOW.table("odds")
    for figure in (window.draw(WINDOW, ENGLISH), window.panels(WINDOW, ENGLISH, 4.6)):
        drawn = {str(line.get_label()): line.get_xydata() for line in figure.axes[0].get_lines()}
        for key, label in (("both", "made it"), ("both.ready", "soil ready"), ("both.plan", "plan")):
            assert drawn[label][:, 0].tolist() == table.index.values.tolist()
            assert drawn[label][:, 1] == pytest.approx(100 * table[key].values.share)


def test_the_bars_are_each_seasons_days_from_the_first_fit_to_the_last_that_made_it():
    figure = window.panels(WINDOW, ENGLISH)
    seasons = WINDOW.table("seasons")
    first, last = (seasons[key].values[:, -window.NEWEST :] for key in ("first_fit", "last_made_it"))
    both = np.isfinite(first[1]) & np.isfinite(last[0])
    wanted = np.maximum(last[0] - first[1] + 1, 0)[both].sum()
    dark = [part for part in figure.axes[1].collections if part.get_facecolor().size][1]
    assert sum(round(path.get_extents().width) for path in dark.get_paths()) == wanted


def test_of_many_seasons_the_newest_forty_are_drawn_and_the_older_are_a_band():
    ticks = [label.get_text() for label in window.panels(WINDOW, ENGLISH).axes[1].get_yticklabels()]
    seasons = WINDOW.table("seasons").index.values
    assert ticks[0] == f"{seasons[0]}-\n{seasons[-window.NEWEST - 1]}"
    short = fk.window(fk.open(SITE, seasons=(1990, 2010)), track_record=False).answer
    ticks = [label.get_text() for label in window.panels(short, ENGLISH).axes[1].get_yticklabels()]
    assert "-" not in "".join(ticks)


def test_ones_own_last_day_is_drawn_and_named():
    assert "your last day, 10 Jun" in look.says(draw(BEAN, ENGLISH))


def test_where_the_hybrid_is_too_late_the_picture_says_which_makes_it():
    said = look.says(draw(LONG, ENGLISH)).splitlines()[0]
    assert said == f"Too late a hybrid: silage corn up to {LONG.values['smaller_rating']:,} CHU makes it for 9 in 10"


def test_where_room_is_short_the_first_of_each_month_alone_is_named():
    assert "ticks: 1 May, 1 Jun, 1 Jul" in look.says(window.panels(WINDOW, ENGLISH, 4.6))


def test_a_panel_takes_an_axes_and_gives_it_back():
    axes = Figure().add_subplot()
    assert window.odds_curve(WINDOW, axes, ENGLISH) is axes
    axes = Figure().add_subplot()
    assert choose.rating_curve(CHOICE, axes, ENGLISH) is axes


def test_the_ratings_drawn_are_those_of_the_answer_and_the_entries_lie_under_them():
    figure = choose.draw(CHOICE, ENGLISH)
    table = CHOICE.table("largest_rating")
    drawn = {str(line.get_label()): line.get_xydata() for line in figure.axes[0].get_lines()}
    for key, label in (("rating", "silage"), ("grain.rating", "grain")):
        wanted = [np.nan if one is None else one for one in table[key].values]
        assert drawn[label][:, 1] == pytest.approx(np.array(wanted, float), nan_ok=True)
    said = look.says(figure)
    assert "The largest rating that makes it for 8 in 10, by seeding day" in said
    assert "silage-2600" in said and "22 May" in said


def test_svg_is_the_same_each_time_says_what_it_shows_and_carries_nothing_else():
    once, again = (look.svg(window.panels(WINDOW, ENGLISH), 'so "told"') for _ in range(2))
    assert once == again
    assert once.startswith('<svg role="img" aria-label="so &quot;told&quot;"')
    assert "<metadata" not in once and "matplotlib" not in once


def test_a_picture_file_is_the_same_each_time(tmp_path):
    once, again = (look.save(draw(WINDOW, ENGLISH), tmp_path / f"{name}.svg").read_bytes() for name in ("one", "two"))
    assert once == again
    assert len(once) < 200_000


ONES = {
    "triage": lambda: fk.triage(SITE, at=-3.0, stage="dent"),
    "worth": lambda: fk.worth(SITE),
    "winter": lambda: fk.winter(SITE),
}


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", ONES)
def test_a_picture_of_an_answer_without_days_says_its_verdict_and_every_row(name, language):
    answer = ONES[name]().answer
    told = words(language)
    said = look.says(draw(answer, told))
    assert " ".join(said.split())[:30] == " ".join(told.say(answer.question, answer.headline).split())[:30]
    table = answer.tables[0]
    if name == "triage":
        ticks = [label.get_text() for label in draw(answer, told).axes[0].get_yticklabels()]
        assert len(ticks) == len(table)
        assert ticks[0] == ", ".join(told.value(table[key].at(0)) for key in ("part", "place"))
    if name == "winter":
        assert told.texts.number(table["up_to"].values[0]) in said
    if name == "worth":
        assert told.value(table["high"].at(1)) in said


def test_a_night_and_a_book_are_drawn_from_their_own_tables(tmp_path, capsys):
    from frostkit.demo.place import FARM
    from frostkit.show.cli import main

    for typed in (("tonight", "--at", "-2", "--today", "2025-09-01"), ("book", "show")):
        path = tmp_path / f"{typed[0]}.svg"
        assert main(["--farm", str(FARM), *typed, "--picture", str(path)]) == 0
        drawn = path.read_text("utf-8")
        assert "north" in drawn and "slough" in drawn
    assert "hurt for certain" in (tmp_path / "tonight.svg").read_text("utf-8")
    assert "was fit" in (tmp_path / "book.svg").read_text("utf-8")


def test_a_title_too_long_for_a_line_is_set_in_two_and_never_small():
    for title, lines in (("A short one", 1), ("word " * 30, 2)):
        figure = look.Sheet((title.strip(), "under"), [2.0], []).figure
        (set_,) = [text for text in figure.texts if text.get_weight() == "bold"]
        assert len(set_.get_text().split("\n")) == lines
        assert " ".join(set_.get_text().split()) == title.strip()
        assert set_.get_fontsize() >= 7.5
