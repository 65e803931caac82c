"""Text that came from a file has no control over the terminal, the page or the picture it is printed in."""

import json
import re

import numpy as np
import pytest

from frostkit.crops.entry import LIBRARY
from frostkit.show.cli import complain
from frostkit.show.look import look, save, svg
from frostkit.show.pictures.parts import named_rows
from frostkit.show.printed import escaped, lines, plain

# UAX #9 (Unicode bidirectional algorithm), table 3: explicit formatting characters; and marks of the same annex
BIDI = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
# ECMA-48, 5.3 and 5.4: C0 begins a sequence with ESC, C1 has single letters for the same
CONTROL = "\x00\x07\x08\x1b\x7f\x9b\x9d\x90"
HOSTILE = f"River\x1b]0;owned\x07\x1b[2J\x9b31m{BIDI}{CONTROL}\u2028\u200b\ufeff Flat"
UNSEEN = re.compile(f"[{re.escape(BIDI + CONTROL)}\u2028\u200b\ufeff\ud800-\udfff]")


@pytest.fixture
def record(tmp_path):
    """Twelve seasons of a plain file; its name is typed in, as an attribute of a file would be."""
    axis = np.arange(np.datetime64("2012-01-01"), np.datetime64("2024-01-01"))
    of_year = (axis - axis.astype("datetime64[Y]").astype(axis.dtype)).astype(int)
    warm = (of_year >= 129) & (of_year < 263)
    path = tmp_path / "days.csv"
    rows = [f"{day},{'9.0,26.0' if on else '-8.0,4.0'}" for day, on in zip(axis, warm, strict=True)]
    path.write_text("date,tmin_C,tmax_C\n" + "\n".join(rows) + "\n", encoding="utf-8")
    return path


def ran(capsys, *typed):
    from frostkit.show.cli import main

    code = main([str(one) for one in typed])
    out, err = capsys.readouterr()
    return code, out, err


def test_what_is_seen_stays_and_what_is_not_goes():
    kept = "Ville-Marie, Québec · 12 345 °C — été 北 é"
    assert plain(kept) == lines(kept) == kept
    assert plain(HOSTILE) == "River]0;owned[2J31m  Flat"
    assert not UNSEEN.search(lines(HOSTILE + "\n" + HOSTILE))
    assert lines("one\r\ntwo\tthree\n") == "one \ntwo three\n"
    assert plain("x" * 500, 80) == "x" * 79 + "…"
    assert plain("\udcff.csv") == ".csv", "a file name that is no text"


def test_json_keeps_every_letter_for_programs_and_shows_none_to_a_terminal():
    text = escaped(json.dumps({"name": HOSTILE + "\udcff"}, ensure_ascii=False))
    assert not UNSEEN.search(text)
    assert json.loads(text)["name"] == HOSTILE + "\udcff"


@pytest.mark.parametrize("command", [("window",), ("frost",), ("heat",), ("late-legume",), ("chop", "--today", "2023-08-25"),
                                     ("choose",), ("triage", "--stage", "dent"), ("record",)])  # fmt: skip
def test_a_stations_name_can_not_act_on_the_terminal(capsys, record, command):
    for more in ((), ("--json",)):
        if command == ("record",):
            typed = ("record", "show", record)
        else:
            typed = (command[0], record, *command[1:])
        code, out, err = ran(capsys, *typed, "--name", HOSTILE + "x" * 300, "--latitude", "50", *more)
        assert code == 0, err
        assert not UNSEEN.search(out + err)
        if not more:
            assert max(map(len, out.splitlines())) < 140
            assert "River]0;owned[2J31m" in out.replace("\n  ", " ")


def test_an_error_that_quotes_a_file_is_two_plain_lines(capsys, tmp_path):
    path = tmp_path / "days.csv"
    path.write_text(f"date,tmin_C,tmax_C,{HOSTILE}{'x' * 5000}\n1998-03-03,oops\x1b[2J,5,6\n", encoding="utf-8")
    code, out, err = ran(capsys, "window", path)
    assert (code, out) == (2, "")
    assert not UNSEEN.search(err)
    assert len(err.splitlines()) == 2
    assert max(map(len, err.splitlines())) <= 2000
    complain("what\x1b[2J\u202e\nmore", "do\x07")
    assert capsys.readouterr().err == "what[2J more\ndo\n"
    code, _, err = ran(capsys, "window", f"nowhere\x1b[2J{BIDI}.csv")
    assert code == 2
    assert not UNSEEN.search(err)


def test_a_page_and_a_picture_hold_no_unseen_letter(capsys, record, tmp_path):
    page, picture = tmp_path / "page.html", tmp_path / "window.svg"
    name = HOSTILE + " <b>$\\frac{1}$</b>"
    code, _, err = ran(capsys, "report", record, "--name", name, "--latitude", "50", "--out", page)
    assert (code, err) == (0, "")
    assert not UNSEEN.search(page.read_text("utf-8"))
    assert "&lt;b&gt;$\\frac{1}$&lt;/b&gt;" in page.read_text("utf-8")
    for ending in ("svg", "png", "pdf"):
        picture = tmp_path / f"window.{ending}"
        code, _, err = ran(capsys, "window", record, "--name", name, "--picture", picture)
        assert (code, err) == (0, ""), "a dollar in a name is no formula"
    assert not UNSEEN.search((tmp_path / "window.svg").read_text("utf-8"))


def test_a_figure_is_filtered_wherever_it_is_drawn(tmp_path):
    from matplotlib.figure import Figure

    with look():
        figure = Figure()
        figure.text(0.5, 0.5, HOSTILE)
        axes = figure.add_subplot()
        axes.text(0.5, 0.5, HOSTILE)
        axes.set(title=HOSTILE, xlabel=HOSTILE, ylabel=HOSTILE)
        named_rows(axes, [HOSTILE, "a row"])
        figure.legend(axes.plot([1, 2]), [HOSTILE])
        axes.legend(axes.plot([2, 1]), [HOSTILE])
    assert not UNSEEN.search(svg(figure, alt="a text"))
    assert not UNSEEN.search(save(figure, tmp_path / "a.svg").read_text("utf-8"))


@pytest.mark.parametrize("spoiled", ["a\\u001b[2Jb", "a\\u202eb", "x" * 300])
def test_an_entry_with_unseen_letters_or_an_endless_title_is_refused(capsys, tmp_path, spoiled):
    mine = tmp_path / "mine.toml"
    text = (LIBRARY / "silage-2300.toml").read_text("utf-8")
    mine.write_text(text.replace("silage corn rated 2,300 CHU", spoiled), "utf-8")
    code, out, _ = ran(capsys, "crops", "check", mine)
    assert code == 2
    assert "key 'title'" in out
    assert not UNSEEN.search(out)


def test_a_field_with_an_unseen_or_endless_name_is_refused(capsys, tmp_path):
    for name in ("north\x1b[2J", "n" * 81):
        fields = tmp_path / "fields.csv"
        fields.write_text(f"name,area_ha,seeded,corn\n{name},20,05-20,silage-2300\n", "utf-8")
        code, out, err = ran(capsys, "fields", "--fields", fields)
        assert (code, out, len(err.splitlines())) == (2, "", 2)
        assert "is no name of a field" in err
        assert not UNSEEN.search(err)
