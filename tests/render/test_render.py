"""The rendering finds what is wrong on paper and lets a good workbook pass, as LibreOffice and poppler lay it out.

What is wrong in the bad workbook is put there by hand: widths and heights too small for what stands in them.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from openpyxl import Workbook
from openpyxl.chart import LineChart, Reference
from openpyxl.styles import Alignment
from openpyxl.worksheet.worksheet import Worksheet

from tests.render.__main__ import render, written
from tests.render.findings import findings, overlapping
from tests.render.programs import Word, missing, pages_of, to_pdf
from tests.render.texts import texts_of
from tests.small_shop import SHOP

pytestmark = pytest.mark.skipif(missing() is not None, reason=f"nothing was rendered; {missing()}")

LONG = "A label too long for its narrow column"
WRAPPED = "Wrapped words in a row that is far too low to show all of them"


def sheet(book: Workbook, title: str) -> Worksheet:
    made = book.create_sheet(title)
    made.oddFooter.left.text, made.oddFooter.right.text = "&A", "Page &P of &N"
    return made


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[tuple[int | None, str]]]:
    """Findings by sheet, of one workbook with a sheet for each thing that can be wrong, and a good one."""
    folder, book = tmp_path_factory.mktemp("bad"), Workbook()
    book.remove(book.active)

    numbers = sheet(book, "Numbers")
    numbers.column_dimensions["A"].width = 6
    numbers["A1"], numbers["A2"] = 1234567890.25, -9876543210.5
    numbers["A1"].number_format = numbers["A2"].number_format = "#,##0.00"

    labels = sheet(book, "Labels")
    labels.column_dimensions["A"].width = 12
    labels["A1"], labels["B1"], labels["A2"], labels["B2"] = LONG, "beside", "good", "good"

    rows = sheet(book, "Rows")
    rows["A1"], rows["A1"].alignment = WRAPPED, Alignment(wrap_text=True, vertical="top")
    rows.row_dimensions[1].height = 30

    half = sheet(book, "Half a line")
    half["A1"], half["A1"].alignment = "Halved", Alignment(wrap_text=True, vertical="top")
    half.row_dimensions[1].height = 6

    outside = sheet(book, "Outside")
    outside["A1"], outside["F9"] = "on paper", "off paper"
    outside.print_area = "A1:B2"

    errors = sheet(book, "Errors")
    errors["A1"], errors["B1"] = "=1/0", "#REF!"

    footer = sheet(book, "Low foot")
    footer["A1"] = "good"
    footer.page_margins.bottom, footer.page_margins.footer = 0.55, 0.5

    good = sheet(book, "Good")
    good["A1"], good["K1"] = f"{LONG}, which has room", 1234.5
    good["A2"], good["A2"].alignment = WRAPPED, Alignment(wrap_text=True, vertical="top")
    good.row_dimensions[2].height = 160
    good.append([None, "North", "South"])
    for year in range(4):
        good.append([year, 3 * year, 5 - year])
    chart = LineChart()
    chart.title, chart.x_axis.title, chart.y_axis.title = "South falls, North rises", "Year", "Cost, USD"
    chart.x_axis.delete = chart.y_axis.delete = False
    chart.add_data(Reference(good, min_col=2, max_col=3, min_row=3, max_row=7), titles_from_data=True)
    good.add_chart(chart, "A10")

    path = folder / "bad.xlsx"
    book.save(path)
    texts, pdf = texts_of(path), to_pdf(path, folder)
    pages = pages_of(pdf, [*texts.of])
    assert {text.text for text in texts.of["Good"]} > {"South falls, North rises", "Year", "Cost, USD"}
    assert {page.sheet for page in pages} == set(book.sheetnames)
    told = findings(pdf, pages, texts)
    return {title: [(f.page, f.what) for f in told if f.sheet == title] for title in book.sheetnames}


def test_a_number_wider_than_its_column_is_found(found) -> None:
    assert found["Numbers"] == [(1, "2 x ### (the column is too narrow for the number)")]


def test_a_label_cut_by_its_neighbour_is_found_with_what_is_left(found) -> None:
    whole = [what for _, what in found["Labels"] if what.startswith("A1: ")]
    assert len(whole) == 1 and repr(LONG) in whole[0]
    assert "no more than 'A label" in whole[0]
    assert not [what for _, what in found["Labels"] if "good" in what or "B1" in what]


def test_lines_lost_in_a_low_row_are_found(found) -> None:
    assert [what for _, what in found["Rows"] if what.startswith("A1: ") and "'Wrapped" in what]


def test_a_line_cut_through_its_letters_is_found(found) -> None:
    assert [what for _, what in found["Half a line"]] == ["cut in part: Halved"]


def test_a_text_outside_the_print_area_is_found(found) -> None:
    assert [what.split(":")[0] for _, what in found["Outside"]] == ["F9"]


def test_error_values_are_found(found) -> None:
    assert sorted(what for _, what in found["Errors"]) == ["1 x #DIV/0!", "1 x #REF!"]


def test_a_footer_lower_than_its_margin_is_found(found) -> None:
    assert found["Low foot"] == [(None, "the footer is cut on 1 of 1 pages")]


def test_words_over_one_another_are_found_and_neighbours_are_not() -> None:
    """Boxes by hand: the second word begins inside the first, the third touches the second, the fourth is a line below."""
    first, over = Word("title", 10, 10, 60, 22), Word("label", 40, 12, 90, 24)
    beside, below = Word("beside", 90, 12, 120, 24), Word("below", 10, 20, 60, 32)
    assert overlapping((first, over, beside, below)) == [("title", "label")]


def test_a_good_sheet_with_a_chart_is_clean(found) -> None:
    assert found["Good"] == []


def test_a_shops_workbook_is_drawn_page_by_page(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The smallest shop: every sheet has its pages in the table, and page one is the Summary's first."""
    (tmp_path / "shop.toml").write_text(SHOP, encoding="utf-8")
    # Without the sheets of cases, which take many pages.
    few = 'schema = 1\n[workbook]\nsheets = [{ sheet = "Summary" }, { sheet = "Inputs" }]\n'
    (tmp_path / "few.toml").write_text(few, encoding="utf-8")
    path = written(tmp_path / "shop.toml", str(tmp_path / "few.toml"), tmp_path / "decision.xlsx")
    assert path is not None, capsys.readouterr().err
    count = render(path, "plain", 30, tmp_path / "one.png")
    table, texts = capsys.readouterr().out, texts_of(path)
    drawn = {file.name for file in tmp_path.glob("[0-9]*.png")}
    assert len(drawn) >= len(texts.of) > 8
    assert all(f"plain          {title} " in table for title in texts.of)
    assert (tmp_path / "one.png").read_bytes() == next(tmp_path.glob("*-summary-01.png")).read_bytes()
    assert count == sum(": " in line and "note:" not in line for line in table.splitlines())
