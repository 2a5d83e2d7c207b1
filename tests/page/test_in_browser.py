"""The page in a real browser: the console, widths, contrast, letters, sheets of paper.

Outside references: Chromium's layout and printing, pdfinfo's count of pages, WCAG 2.2 (1.4.3 contrast 4.5 : 1, 1.4.10 reflow
at 320 pixels). Skipped, with the reason printed, where there is no browser.
"""

import re

import pytest

from roi.workbook.palette import contrast
from tests.page import browser
from tests.page.pages import page

pytestmark = pytest.mark.skipif(browser.missing() is not None, reason=str(browser.missing()))

WIDTHS = [320, 360, 768, 1180]
SHEETS = {"A4": (595, 842), "Letter": (612, 792)}  # points: ISO 216, and 8.5 x 11 in
WIDEST = "DejaVu Sans"  # wider than what any template shipped asks for


@pytest.fixture(scope="module")
def measured(tmp_path_factory):
    return {
        name: browser.measured(page(name), tmp_path_factory.mktemp(name), WIDTHS)
        for name in ("demo", "crowd")
    }


@pytest.mark.parametrize("which", ["demo", "crowd"])
def test_nothing_is_wider_than_the_window(measured, which):
    assert [m.width for m in measured[which]] == WIDTHS
    for m in measured[which]:
        assert m.client == pytest.approx(m.width, abs=20)  # less a bar for scrolling down
        assert m.scroll <= m.client, (m.width, m.wide)
        assert m.wide == []


def test_the_measure_sees_what_is_too_wide(tmp_path):
    (found,) = browser.measured("<!DOCTYPE html><body><p style='width: 500px'>wide</p>", tmp_path, [360])
    assert found.scroll > found.client and len(found.wide) == 1


@pytest.mark.parametrize("which", ["demo", "crowd"])
def test_letters_can_be_read_on_what_they_stand_on(measured, which):
    for m in measured[which]:
        assert len(m.texts) > 150
        for colour, ground, text in m.texts:
            assert contrast(_rgb(colour), _rgb(ground)) >= 4.5, (m.width, text, colour, ground)


@pytest.mark.parametrize("which", ["demo", "crowd"])
def test_letters_in_charts_are_no_smaller_than_on_a_page_of_print(measured, which):
    """On a telephone, 360 pixels wide, letters of 8.5 pixels or more; more on what is wider."""
    assert all(min(m.letters) >= 8.5 for m in measured[which] if m.width >= 360)


def _rgb(colour):
    red, green, blue = (int(part) for part in re.fullmatch(r"rgb\((\d+), (\d+), (\d+)\)", colour).groups())
    return f"{red:02X}{green:02X}{blue:02X}"


def test_the_console_has_nothing_to_say(tmp_path):
    assert browser.console(page("crowd"), tmp_path) == []
    # It would: a picture from elsewhere, which the page's own rule forbids, and a path that is none.
    for bad in ('<img src="https://example.invalid/x.png" alt="">', '<svg><path d="no path"/></svg>'):
        assert browser.console(page("small").replace("</main>", f"{bad}</main>"), tmp_path)


@pytest.mark.parametrize("paper", SHEETS)
@pytest.mark.parametrize(("which", "font"), [("demo", "Calibri"), ("crowd", WIDEST)])
def test_it_prints_on_one_sheet(tmp_path, which, font, paper):
    html = page(which).replace("size: A4", f"size: {paper}").replace("'Calibri'", f"'{font}'")
    sheets, size = browser.printed(html, tmp_path)
    assert sheets == 1
    assert size == pytest.approx(SHEETS[paper], abs=1)


def test_two_sheets_would_be_counted(tmp_path):
    html = page("demo").replace("</main>", "<p>more</p>" * 60 + "</main>")
    assert browser.printed(html, tmp_path)[0] == 2
