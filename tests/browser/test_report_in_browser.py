"""The page a grower takes home, opened as they do: on a laptop, on a telephone, printed; in both languages."""

import re
import unicodedata

import pytest

from frostkit.answers.cautions import cautions_of
from frostkit.show.cli import main
from frostkit.show.texts import LANGUAGES
from tests.browser.conftest import WIDTHS

pytestmark = pytest.mark.browser
ANSWER = {"en": "as soon as the soil is ready, to ", "fr": "dès que le sol est prêt, jusqu'au "}
A4 = {"format": "A4", "print_background": True}


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """The report of the invented place in every language, as HTML and PDF, on a sheet and whole."""
    folder = tmp_path_factory.mktemp("pages")
    made = {}
    for language in LANGUAGES:
        for kind in ("html", "pdf"):
            for whole, more in (("", []), (" whole", ["--tables"])):
                path = folder / f"{language}{whole}.{kind}"
                assert main(["report", "--language", language, "--out", str(path), *more]) == 0
                made[language, kind + whole] = path
    return made


@pytest.fixture(
    params=[(language, width) for language in LANGUAGES for width in WIDTHS], ids=lambda case: "-".join(case)
)
def page(request, pages, opened):
    language, width = request.param
    page, asked, complaints = opened(pages[language, "html"].as_uri(), width)
    page.language, page.width, page.asked, page.complaints = language, width, asked, complaints
    return page


def test_the_page_stands_alone_and_fits_its_width(page):
    assert len(page.asked) == 1, page.asked
    assert page.complaints == []
    assert ANSWER[page.language] in page.inner_text("main")
    assert page.get_attribute("html", "lang") == page.language
    wide, room = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
    assert wide <= room


def test_headings_go_down_one_step_at_a_time(page):
    levels = [
        int(level) for level in page.eval_on_selector_all("h1,h2,h3,h4,h5,h6", "all => all.map(one => one.tagName[1])")
    ]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in zip(levels, levels[1:]))


def test_one_picture_is_shown_it_says_its_answer_to_those_who_cannot_see_it_and_its_words_can_be_read(page):
    shown = [one for one in page.query_selector_all("svg") if one.is_visible()]
    assert len(shown) == 1
    assert shown[0].get_attribute("role") == "img"
    assert ANSWER[page.language] in shown[0].get_attribute("aria-label")
    drawn = shown[0].evaluate(
        "one => [...one.querySelectorAll('text')].map(text => parseFloat(getComputedStyle(text).fontSize) * Math.hypot(text.getScreenCTM().a, text.getScreenCTM().b))"
    )
    assert len(drawn) > 15
    assert min(drawn) >= 8  # px: our own floor, common practice, no source


def grave(page):
    """What axe-core finds that is serious or critical, by rule."""
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page).response
    assert len(found["passes"]) >= 25  # it has run
    return {one["id"]: [node["html"][:120] for node in one["nodes"]] for one in found["violations"]
             if one["impact"] in ("serious", "critical")}  # fmt: skip


def out_of_sight(page):
    """Cells of tables that end beyond the page's right edge."""
    return page.eval_on_selector_all(
        "td",
        "all => all.filter(one => one.getBoundingClientRect().right > window.innerWidth).map(one => one.innerText)",
    )


def test_the_accessibility_checker_finds_nothing_serious(page):
    assert grave(page) == {}


def test_on_a_telephone_no_number_of_a_table_is_out_of_sight(pages, opened):
    page, _, _ = opened(pages["en", "html"].as_uri(), "phone")
    assert out_of_sight(page) == []


def test_cautions_stand_before_the_tables(page):
    """Verdict, picture, counts, cautions by their act, then tables and sources."""
    titles = page.eval_on_selector_all(".cautions li b", "all => all.map(one => one.innerText)")
    kinds = ("seeding", "late legume", "frost")
    assert len(titles) == len({caution.topic for kind in kinds for caution in cautions_of(kind)})
    under = page.evaluate("document.querySelector('.cautions').getBoundingClientRect().bottom")
    assert under <= page.evaluate("document.querySelector('table').getBoundingClientRect().top")


def said(path):
    """A PDF's pages, and its text on one line."""
    from pypdf import PdfReader

    pages = PdfReader(path).pages
    text = unicodedata.normalize("NFKC", " ".join(page.extract_text() for page in pages))  # a printed fi is one sign
    return len(pages), re.sub(r"\s+", " ", text)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("whole", ["", " whole"], ids=["a sheet", "with tables"])
def test_printed_it_is_one_page_and_two_with_tables_and_keeps_the_answer_and_the_cautions(
    pages, opened, tmp_path, language, whole
):
    page, _, _ = opened(pages[language, "html" + whole].as_uri(), "laptop")
    page.pdf(path=tmp_path / "browser.pdf", **A4)
    titles = page.eval_on_selector_all(".cautions li b", "all => all.map(one => one.innerText)")
    for path in (tmp_path / "browser.pdf", pages[language, "pdf" + whole]):
        count, text = said(path)
        assert count == (2 if whole else 1), path.name
        assert ANSWER[language] in text
        assert all(title in text for title in titles)
        assert path.stat().st_size < 1_000_000
    assert pages[language, "html"].stat().st_size < 1_000_000


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_pdf_names_its_language_and_parts_for_those_who_have_it_read_aloud(pages, language):
    from pypdf import PdfReader

    root = PdfReader(pages[language, "pdf"]).trailer["/Root"]
    assert root["/Lang"] == language
    assert root["/MarkInfo"]["/Marked"]


@pytest.mark.real
@pytest.mark.parametrize("language", LANGUAGES)
def test_a_record_of_more_than_a_hundred_seasons_fits_one_printed_page_and_two_with_tables(shared, tmp_path, language):
    path, record = tmp_path / "long.pdf", str(shared / "data/ghcn-daily/CA006105976.dly")
    for more, count in (([], 1), (["--tables"], 2)):
        assert main(["report", record, "--language", language, "--out", str(path), *more]) == 0
        assert said(path)[0] == count


def test_the_picture_stands_within_the_first_screen(page):
    """On a laptop (1366 x 768) and on a telephone (390 x 844)."""
    tall = page.evaluate("window.innerHeight")
    picture = next(one for one in page.query_selector_all("svg") if one.is_visible()).bounding_box()
    assert picture["y"] < tall / 2 and picture["y"] + 0.6 * picture["height"] < tall


def test_a_caution_is_a_line_until_it_is_opened_and_a_season_is_found_by_its_year(page):
    more = page.query_selector_all(".cautions .more")
    assert more and not any(one.is_visible() for one in more)
    page.click(".cautions summary >> nth=0")
    assert more[0].is_visible()
    page.click(".seasons summary")
    page.fill(".seasons input", "2012")
    rows = [row.inner_text() for row in page.query_selector_all("#seasons tbody tr") if row.is_visible()]
    assert len(rows) == 1 and rows[0].startswith("2012")


@pytest.mark.parametrize("width", WIDTHS)
def test_a_place_of_a_region_is_looked_into_by_a_click_or_by_name(opened, tmp_path, width):
    """Cells of an invented grid."""
    from tests.region_cells import kept, made_up

    grid, path = kept(tmp_path / "days.zarr", made_up(10, 8), 4), tmp_path / "region.html"
    asked = ["--climate", "as-read", "--corn", "grain-corn-2100", "--legume", "none", "--workers", "0"]
    assert main(["region", str(grid), *asked, "--page", str(path)]) == 0
    page, requests, complaints = opened(path.as_uri(), width)
    assert (len(requests), complaints) == (1, [])
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    assert grave(page) == {}
    page.click('.map a[href="#place-3"]')
    assert page.evaluate("location.hash") == "#place-3"
    assert page.inner_text("tr:target th").endswith("cell 3")
    box = page.query_selector("tr:target").bounding_box()
    assert 0 <= box["y"] < page.evaluate("window.innerHeight")
    page.fill("#find", "cell 7")
    rows = [row for row in page.query_selector_all("#places tbody tr") if row.is_visible()]
    assert len(rows) == 1 and "cell 7" in rows[0].inner_text()


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("language", LANGUAGES)
def test_the_field_sheet_stands_alone_fits_and_has_nothing_serious(opened, tmp_path, language, width):
    path = tmp_path / "sheet.html"
    assert main(["chop", "--today", "2025-08-25", "--language", language, "--sheet", str(path)]) == 0
    page, asked, complaints = opened(path.as_uri(), width)
    assert (len(asked), complaints) == (1, [])
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    assert out_of_sight(page) == []
    cut = page.eval_on_selector_all(".wide", "all => all.filter(one => one.scrollWidth > one.clientWidth + 1).length")
    assert cut == 0
    assert grave(page) == {}
    page.pdf(path=tmp_path / "sheet.pdf", **A4)
    assert said(tmp_path / "sheet.pdf")[0] == 1
