"""What pictures say, not how their pixels lie; the house colours under three kinds of colour blindness, and in grey."""

import itertools
import re

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from frostkit.answers.frosts import frosts
from frostkit.answers.late_legume import late_legume
from frostkit.answers.seeding import seeding
from frostkit.answers.station import behind
from frostkit.answers.track_record import track_record
from frostkit.crops.entry import load
from frostkit.demo.place import demo_record
from frostkit.seasons.calendar import column
from frostkit.show import look, phrases
from frostkit.show.pictures.frost import frost_dates
from frostkit.show.pictures.late_legume import season_strips
from frostkit.show.pictures.seeding import odds_curve, seeding_panels, seeding_window
from frostkit.show.pictures.track_record import reliability_picture
from frostkit.show.texts import LANGUAGES, texts

AT = behind(demo_record())
CORN, LEGUME = load("silage-2300"), load("forage-late")
WINDOW = seeding(AT, CORN, LEGUME)
SAY = texts("en")

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
    figure = seeding_window(WINDOW)
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


PICTURES = {
    "seeding window": lambda language: seeding_window(WINDOW, language),
    "seeding panels": lambda language: seeding_panels(WINDOW, language),
    "narrow panels": lambda language: seeding_panels(WINDOW, language, wide=4.6),
    "frost": lambda language: frost_dates(frosts(AT, -2.2), language),
    "late legume": lambda language: season_strips(
        late_legume(AT, CORN, [LEGUME, load("grain-00")], column(5, 22)), language
    ),
    "track record": lambda language: reliability_picture(track_record(AT, "first-fall-frost"), language),
}


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", PICTURES)
def test_no_word_leaves_the_sheet_and_no_legend_or_foot_lies_over_a_panel(name, language):
    with look.look():
        figure = PICTURES[name](language)
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
        figure = PICTURES[name]("fr")
        FigureCanvasAgg(figure).draw()
        for axes in figure.axes:
            boxes = [label.get_window_extent() for label in axes.get_xticklabels() if label.get_text()]
            boxes = sorted(boxes, key=lambda box: box.x0)
            assert all(left.x1 < right.x0 for left, right in zip(boxes, boxes[1:]))


def test_the_seeding_window_says_the_answer_its_count_the_days_and_what_it_rests_on():
    said = look.says(seeding_window(WINDOW)).splitlines()
    title, under = phrases.headline(SAY, WINDOW)
    assert said[:2] == [title, under]
    assert "ticks: 15 Apr, 1 May, 15 May, 1 Jun, 15 Jun, 1 Jul, 15 Jul" in said
    assert "legend: both, legume alone, corn alone, 90 % interval of both, the window" in said
    text = re.sub(r"\s+", " ", " ".join(said))
    for sentence in phrases.foot(SAY, WINDOW):
        assert re.sub(r"\s+", " ", sentence) in text


def test_the_drawn_numbers_are_those_of_the_answer_on_either_width():
    for figure in (seeding_window(WINDOW), seeding_panels(WINDOW, wide=4.6)):
        drawn = {str(line.get_label()): line.get_xydata() for line in figure.axes[0].get_lines()}
        for name, label in (("both", "both"), ("corn", "corn alone"), ("legume", "legume alone")):
            assert drawn[label][:, 0].tolist() == WINDOW.days.tolist()
            assert drawn[label][:, 1] == pytest.approx(100 * WINDOW.odds[name].share)


def test_the_bars_are_each_seasons_own_days():
    figure = seeding_panels(WINDOW)
    maybe, sure = figure.axes[1].collections[:2]
    grid = WINDOW.works["both"]
    drawn = sum(round(path.get_extents().width) for path in sure.get_paths())
    assert drawn == int(np.where(grid.complete[:, None], grid.typical, grid.certain).sum())
    open_days = sum(round(path.get_extents().width) for path in maybe.get_paths())
    assert open_days == int((grid.possible & ~grid.certain & ~grid.complete[:, None]).sum())


def test_ones_own_last_day_is_drawn_and_named():
    said = look.says(seeding_window(seeding(AT, CORN, LEGUME, not_after=column(5, 25))))
    assert "your last day, 25 May" in said


def test_where_room_is_short_the_first_of_each_month_alone_is_named():
    assert "ticks: 1 May, 1 Jun, 1 Jul" in look.says(seeding_panels(WINDOW, wide=4.6))


def test_a_panel_takes_an_axes_and_gives_it_back():
    from matplotlib.figure import Figure

    axes = Figure().add_subplot()
    assert odds_curve(WINDOW, axes) is axes


def test_frost_dates_say_the_threshold_in_the_unit_asked_for():
    answer = frosts(AT, -2.2)
    assert "Frost at or below 28 °F" in look.says(frost_dates(answer, fahrenheit=True))
    assert "Frost at or below -2.2 °C" in look.says(frost_dates(answer))


def test_svg_is_the_same_each_time_says_what_it_shows_and_carries_nothing_else():
    once, again = (look.svg(seeding_panels(WINDOW), 'so "told"') for _ in range(2))
    assert once == again
    assert once.startswith('<svg role="img" aria-label="so &quot;told&quot;"')
    assert "<metadata" not in once and "matplotlib" not in once


def test_a_picture_file_is_the_same_each_time(tmp_path):
    once, again = (look.save(seeding_window(WINDOW), tmp_path / f"{name}.svg").read_bytes() for name in ("one", "two"))
    assert once == again
    assert len(once) < 200_000
