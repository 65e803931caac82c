"""The public face: five lines answer, every number that is printed stands in JSON, CSV and frames, a typed program checks."""

import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import frostkit as fk
from frostkit import public
from frostkit.answers.answer import Amount, Day
from frostkit.answers.cautions import LANGUAGES, in_language
from frostkit.odds.share import Share
from frostkit.show.render.brief import BLOCKS

ROOT = Path(__file__).parents[2]

ASKED = {
    "window": {},
    "late_legume": {"seeding": "05-22"},
    "choose": {"seeding": "05-22"},
    "chop": {"seeding": "05-22", "today": "2025-08-25"},
    "fields": {},
    "triage": {"at": -3.0, "hours": 0.5, "stage": "dent"},
    "frost": {},
    "heat": {},
    "track_record": {},
    "rows": {},
    "worth": {"seeding": "05-22"},
    "season": {"seeding": "05-22", "today": "2025-07-10"},
    "tonight": {"tmin": -1.0, "seeding": "05-22", "today": "2025-09-08"},
    "workdays": {},
    "winter": {},
    "record": {},
}
BEFORE = "season before seeding"


@pytest.fixture(scope="module")
def answers():
    site = fk.demo()
    made = {name: getattr(fk, name)(site, **options) for name, options in ASKED.items()}
    return made | {BEFORE: fk.season(site, today="2025-05-10")}


def numbers_of(value):
    """Every number and day within a typed value, as JSON has them."""
    if isinstance(value, Share):
        yield from (int(value.count), int(value.seasons), float(value.low), float(value.high))
    elif isinstance(value, Amount):
        yield float(value.value)
    elif isinstance(value, Day):
        yield value
    elif isinstance(value, dict):
        for one in value.values():
            yield from numbers_of(one)
    elif isinstance(value, tuple | list) and not isinstance(value, str):
        for one in value:
            yield from numbers_of(one)
    elif hasattr(value, "values") and hasattr(value, "key"):
        yield from numbers_of(dict(value.values))
    elif isinstance(value, int | float | np.number) and not isinstance(value, bool):
        yield float(value)


def plain_numbers(value):
    """All numbers and texts of a JSON-like value, flat."""
    if isinstance(value, dict):
        for one in value.values():
            yield from plain_numbers(one)
    elif isinstance(value, list):
        for one in value:
            yield from plain_numbers(one)
    elif value is not None:
        yield value


@pytest.mark.parametrize("name", ASKED)
def test_every_number_that_is_said_stands_in_json_csv_and_frame(answers, name):
    answer = answers[name]
    in_json = list(plain_numbers(answer.to_dict()))
    numbers = np.array([float(one) for one in in_json if isinstance(one, int | float) and not isinstance(one, bool)])
    days = {one for one in in_json if isinstance(one, str)}
    decisions = answer.to_frame("decisions")["value"].tolist()
    told = {str(one) for one in decisions}
    as_numbers = np.array(
        [float(one) for one in decisions if isinstance(one, int | float) and not isinstance(one, bool)]
    )
    csv = answer.to_csv("decisions")
    to_do = [] if answer.answer.next is None else [answer.answer.next]
    for says in (answer.answer.headline, *answer.answer.sentences, *to_do):
        for number in numbers_of(says):
            if isinstance(number, Day):
                from frostkit.seasons.calendar import code

                text = code(number.column) if np.isfinite(number.column) else None
                assert text is None or (text in days and text in told and text in csv), (says.key, text)
            elif np.isfinite(number):
                assert np.isclose(numbers, number, atol=6e-5).any(), (says.key, number)
                assert np.isclose(as_numbers, number, atol=6e-5).any(), (says.key, number)


@pytest.mark.parametrize("name", ASKED)
def test_every_table_that_is_shown_stands_in_csv_and_frame_row_by_row(answers, name):
    answer = answers[name]
    for table in answer.answer.tables:
        if not len(table):
            continue
        frame = answer.to_frame(table.key)
        lines = answer.to_csv(table.key).splitlines()
        assert len(frame) == len(table) == len(lines) - 1
        for column in table.columns:
            key = column.key.replace(".", "_")
            if column.kind == "share" and column.values is not None:
                name = "count" if column.inline else f"{key}_count"
                assert np.allclose(frame[name], column.values.count, equal_nan=True)
            elif column.kind in ("amount", "number"):
                wanted = np.array([np.nan if one is None else one for one in column.values], float)
                assert np.allclose(frame[key], wanted, equal_nan=True)


@pytest.mark.parametrize("name", [*ASKED, BEFORE])
def test_in_json_no_table_and_no_decision_takes_the_place_of_another(answers, name):
    answer = answers[name].answer
    own = {"question", "do_next", "headline", "sentences", "cautions"}
    own |= {"station", "notes"} if answer.site is not None else set()
    own |= {"climate", "season_count"} if answer.ensemble is not None else set()
    tables = [table.key.partition(".")[0] for table in answer.tables if not table.under and "." not in table.key]
    keys = [*own, *answer.values, *tables]
    assert len(keys) == len(set(keys)), sorted(key for key in keys if keys.count(key) > 1)


@pytest.mark.parametrize("name", ASKED)
def test_the_text_prints_no_key_of_the_texts_and_no_nan(answers, name):
    text = answers[name].text()
    assert not re.search(r"\b(nan|None|inf)\b", text)
    assert "{" not in text and "Share(" not in text
    french = getattr(fk, name)(fk.demo(), **ASKED[name], language="fr").text()
    assert french != text and not re.search(r"\b(nan|None)\b", french)


@pytest.mark.parametrize("name", ASKED)
def test_an_answer_shows_itself_in_a_notebook_with_its_cautions(answers, name):
    html = answers[name]._repr_html_()
    assert html.startswith('<div class="frostkit"><h3>') and "<script" not in html
    for caution in answers[name].answer.cautions:
        assert caution.title in html or caution.title.replace("'", "&#x27;") in html
    assert repr(answers[name]) == answers[name].brief()


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("name", ASKED)
def test_in_one_look_an_answer_takes_30_lines_of_80_columns_with_every_act(answers, name, units, language):
    answer = replace(answers[name], language=language, units=units)
    said = answer.brief()
    lines = said.splitlines()
    assert len(lines) <= 30
    assert max(map(len, lines)) <= 80
    words = answer._words()
    first = words.say(answer.answer.question, answer.answer.headline)
    flat = " ".join(said.split())
    assert flat.startswith(" ".join(first.split()))
    for caution in answer.answer.cautions:
        assert " ".join(in_language(caution, language).act.split()) in flat
    assert "--all" in flat
    assert not set(BLOCKS.strip()) & set(answer.brief(blocks=False))


def test_the_five_lines_on_a_real_file_a_frame_and_the_demo(shared):
    real = fk.open(shared / "data/ghcn-daily/CA006105976.dly", climate="as read", seasons="1991-2020")
    frame = pd.DataFrame(
        {"tmin": real.record.tmin, "tmax": real.record.tmax, "prcp": real.record.more["prcp"]},
        index=pd.to_datetime(real.record.time()),
    )
    framed = fk.open(frame, latitude=real.latitude, climate="as read", seasons=(1991, 2020))
    one, other = (fk.window(site, track_record=False).to_frame() for site in (real, framed))
    pd.testing.assert_frame_equal(one, other)
    assert fk.window(fk.demo(), track_record=False).to_frame().plot() is not None, "plots with pandas alone"


def test_a_dataset_carries_cf_units(answers):
    dataset = answers["window"].to_xarray()
    assert dataset.attrs["Conventions"].startswith("CF-")
    assert all("units" in variable.attrs or variable.dtype.kind in "bOUMS" for variable in dataset.data_vars.values())


def test_public_names_are_documented_with_parameters_returns_and_an_example():
    for name in fk.PUBLIC:
        doc = getattr(public, name).__doc__
        assert doc and ("Examples" in doc or name in ("open", "demo")), name


def test_importing_frostkit_loads_nothing_heavy():
    code = "import sys, frostkit; print(sorted({'numpy', 'pandas', 'xarray', 'matplotlib'} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


PROGRAM = """
import frostkit as fk
from frostkit.public import Shown

site = fk.demo()
answer: Shown = fk.window(site, corn="silage-2300", odds=0.8)
share: float = float(answer.to_frame()["both_share"].iloc[0])
fk.window(site, odds="high")
"""


@pytest.mark.slow
def test_a_small_program_of_a_user_is_checked_by_its_types(tmp_path):
    program = tmp_path / "program.py"
    program.write_text(PROGRAM, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "mypy", "--no-incremental", "--follow-imports=silent", str(program)],
        capture_output=True, text=True, cwd=ROOT,
    )  # fmt: skip
    faults = [line for line in done.stdout.splitlines() if "error:" in line and "program.py" in line]
    assert len(faults) == 1 and "odds" in faults[0], done.stdout
