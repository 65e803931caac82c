"""Nothing of the person's is lost: what a command writes never stands over what it reads, nor over a file not its own."""

import os
import shutil
import stat
from pathlib import Path

import numpy as np
import pytest

from frostkit.demo import place
from frostkit.show.written import MARKS, is_ours

WRITERS = {
    "window": ("window", "--picture", "png"),
    "frost": ("frost", "--picture", "svg"),
    "late legume": ("late-legume", "--picture", "pdf"),
    "chop": ("chop", "--picture", "png"),
    "field sheet": ("chop", "--sheet", "html"),
    "fields": ("fields", "--picture", "svg"),
    "track record": ("track-record", "--picture", "png"),
    "record": ("record", "show", "--picture", "png"),
    "report": ("report", "--out", "html"),
}


@pytest.fixture
def days(tmp_path):
    """A record of twelve seasons in a folder of its own."""
    axis = np.arange(np.datetime64("2012-01-01"), np.datetime64("2024-01-01"))
    of_year = (axis - axis.astype("datetime64[Y]").astype(axis.dtype)).astype(int)
    warm = (of_year >= 129) & (of_year < 263)
    folder = tmp_path / "station"
    folder.mkdir()
    rows = [f"{day},{'9.0,26.0' if on else '-8.0,4.0'}" for day, on in zip(axis, warm, strict=True)]
    (folder / "days.csv").write_text("date,tmin_C,tmax_C\n" + "\n".join(rows) + "\n", encoding="utf-8")
    return folder


@pytest.mark.parametrize("writer", WRITERS)
def test_a_file_that_frostkit_did_not_write_is_replaced_only_when_it_is_said(run, tmp_path, writer):
    *command, option, ending = WRITERS[writer]
    mine = tmp_path / f"mine.{ending}"
    mine.write_text("a winter's work", "utf-8")
    code, out, err = run(*command, option, mine)
    assert (code, out, len(err.splitlines())) == (2, "", 2)
    assert "frostkit did not write it" in err
    assert "--force" in err
    assert mine.read_text("utf-8") == "a winter's work"
    assert run(*command, option, mine, "--force")[0] == 0
    assert is_ours(mine)
    assert run(*command, option, mine)[0] == 0, "its own file is replaced without a word"
    assert [path.name for path in tmp_path.iterdir()] == [mine.name]


def test_field_sheets_stop_before_the_first_one_where_one_would_replace_a_file(run, tmp_path):
    folder = tmp_path / "sheets"
    typed = ("fields", "--today", "2025-08-25", "--sheets", folder)
    assert run(*typed)[0] == 0
    made = sorted(folder.iterdir())
    assert len(made) > 1
    for path in made[:-1]:
        path.unlink()
    made[-1].write_text("mine", "utf-8")
    code, _, err = run(*typed)
    assert code == 2
    assert made[-1].name in err
    assert list(folder.iterdir()) == [made[-1]]
    assert made[-1].read_text("utf-8") == "mine"


@pytest.mark.parametrize("forced", [(), ("--force",)])
def test_no_output_goes_over_an_input_even_when_forced(run, days, tmp_path, forced):
    record = tmp_path / "record.png"  # a record is known by its content, never by its name
    record.write_bytes((days / "days.csv").read_bytes())
    before = record.read_bytes()
    code, out, err = run("window", record, "--picture", record, *forced)
    assert (code, out) == (2, "")
    assert "is what this command reads" in err
    link = tmp_path / "link.png"
    link.symlink_to(record)
    assert run("window", record, "--picture", link, *forced)[0] == 2
    assert run("window", "--also", record, "--picture", record, *forced)[0] == 2
    assert run("window", "--logger", record, "--picture", record, *forced)[0] == 2
    assert run("record", "check", "--neighbour", record, "--picture", record, *forced)[0] == 2
    fields = tmp_path / "fields.svg"
    fields.write_text("name,area_ha,seeded,corn\nhome,20,05-20,silage-2300\n", "utf-8")
    assert run("fields", "--fields", fields, "--picture", fields, *forced)[0] == 2
    forecast = tmp_path / "coming.html"
    forecast.write_text("date,tmin_C,tmax_C\n2025-08-25,8,22\n", "utf-8")
    assert run("chop", "--forecast", forecast, "--sheet", forecast, *forced)[0] == 2
    farm = tmp_path / "farm.html"
    shutil.copy(place.FARM, farm)
    assert run("--farm", farm, "report", "--out", farm, *forced)[0] == 2
    assert record.read_bytes() == before
    assert link.is_symlink()


def test_no_output_goes_into_a_folder_that_is_read(run, days):
    code, _, err = run("window", days, "--picture", days / "window.png")
    assert code == 2
    assert "lies in the folder that this command reads" in err
    code, _, err = run("fields", days, "--today", "2023-08-25", "--sheets", days / "sheets")
    assert code == 2
    assert sorted(path.name for path in days.iterdir()) == ["days.csv"]
    assert run("window", days)[0] == 0


def test_two_outputs_of_one_command_do_not_share_a_file(run, tmp_path):
    both = tmp_path / "both.pdf"
    pytest.importorskip("weasyprint", exc_type=ImportError)
    code, _, err = run("chop", "--picture", both, "--sheet", both)
    assert code == 2
    assert "was written a moment ago" in err


def test_what_is_no_file_is_never_written_to(run, tmp_path):
    pipe = tmp_path / "pipe.png"
    os.mkfifo(pipe)
    code, _, err = run("window", "--picture", pipe, "--force")
    assert code == 2
    assert "is there and is no file" in err
    assert stat.S_ISFIFO(pipe.stat().st_mode)


def test_a_name_left_by_an_older_version_is_not_written_over(run, tmp_path):
    left = tmp_path / ".window.png.partial"
    left.write_text("mine", "utf-8")
    assert run("window", "--picture", tmp_path / "window.png")[0] == 0
    assert left.read_text("utf-8") == "mine"
    assert sorted(path.name for path in tmp_path.iterdir()) == [".window.png.partial", "window.png"]


def test_a_link_stays_a_link_and_what_it_leads_to_is_judged(run, tmp_path):
    (tmp_path / "there").mkdir()
    target, link = tmp_path / "there" / "window.svg", tmp_path / "window.svg"
    link.symlink_to(target)
    assert run("window", "--picture", link)[0] == 0
    assert link.is_symlink()
    assert is_ours(target)
    target.write_text("mine", "utf-8")
    assert run("window", "--picture", link)[0] == 2
    assert target.read_text("utf-8") == "mine"


def test_a_file_with_the_word_in_it_is_not_taken_for_our_own(tmp_path):
    for ending in MARKS:
        path = tmp_path / f"a.{ending}"
        path.write_text("notes on frostkit: a page about frostkit\n", "utf-8")
        assert not is_ours(path)


def test_on_a_terminal_it_is_asked_and_no_is_the_answer_to_silence(run, tmp_path, monkeypatch):
    mine = tmp_path / "mine.png"
    mine.write_text("mine", "utf-8")
    asked = []

    def says(answer):
        def confirm(question, **_):
            asked.append(question)
            return answer

        return confirm

    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    monkeypatch.setattr("frostkit.show.written.click.confirm", says(False))
    assert run("frost", "--picture", mine)[0] == 2
    assert mine.read_text("utf-8") == "mine"
    monkeypatch.setattr("frostkit.show.written.click.confirm", says(True))
    assert run("frost", "--picture", mine)[0] == 0
    assert is_ours(mine)
    assert len(asked) == 2
    assert "Replace it?" in asked[0]


def test_a_copied_entry_is_never_written_over_anything(run, tmp_path):
    there = tmp_path / "mine.toml"
    there.write_text("mine", "utf-8")
    dangling = tmp_path / "link.toml"
    dangling.symlink_to(tmp_path / "nowhere.toml")
    for path in (there, dangling):
        code, _, err = run("crops", "copy", "silage-2300", path, "--rating", "2250", "--need", "2075", "--low", "2025",
                           "--high", "2150", "--source", "invented for this test")  # fmt: skip
        assert (code, len(err.splitlines())) == (2, 2)
    assert there.read_text("utf-8") == "mine"
    assert not Path(tmp_path / "nowhere.toml").exists()
