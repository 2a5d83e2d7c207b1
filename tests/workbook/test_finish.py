"""The finishing pass, witnessed by openpyxl reading the finished file back and by a schema checker."""

import io
import math
import os
import subprocess
import sys
import zipfile
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import numpy as np
import pytest
from openpyxl import Workbook, load_workbook
from openpyxl.chart import LineChart, Reference
from openpyxl.chart.data_source import StrRef
from openpyxl.chart.series import SeriesLabel
from openpyxl.worksheet.formula import ArrayFormula

from roi.workbook.finish import finish, stored

SHEET = "Cost & 'flow'"
RESULTS = {
    SHEET: {
        "A1": 3,
        "A2": 'less < more & "so"',
        "A3": True,
        "B3": 0.1 + 0.2,
        "B4": -0.0,
        "B5": 12345.678901234567,
    }
}


def small_book(path=None, created=None):
    """One sheet: six formulas, text that looks like one, typed values, a line over B1:B5 named by A4."""
    book = Workbook()
    sheet = book.active
    sheet.title = SHEET
    sheet["A1"], sheet["A2"], sheet["A3"] = "=1+2", '=IF(A1<3,"a&b","<")', "=1<2"
    sheet["A4"] = "Direct & <dry>"
    sheet["A5"] = "=not a formula"
    sheet["A5"].data_type = "s"
    sheet["A5"].quotePrefix = True
    sheet["B1"], sheet["B3"], sheet["B4"], sheet["B5"] = 7, "=0.1+0.2", "=-0", "=B1*2"
    sheet["B5"].number_format = "0.00"
    sheet["C1"], sheet["C2"], sheet["C3"] = "year 0", "year 1", " year 2 "
    sheet["D1"], sheet["D2"], sheet["D3"] = True, None, datetime(2025, 1, 1)
    chart = LineChart()
    chart.add_data(Reference(sheet, min_col=2, min_row=1, max_row=5))
    chart.series[0].tx = SeriesLabel(strRef=StrRef("'Cost & ''flow'''!$A$4"))
    chart.set_categories(Reference(sheet, min_col=3, min_row=1, max_row=3))
    sheet.add_chart(chart, "F2")
    book.properties.created = created or book.properties.created
    held = path or io.BytesIO()
    book.save(held)
    return held


def part(path, name):
    with zipfile.ZipFile(path) as package:
        return package.read(name).decode()


def test_results_are_read_back_and_everything_else_is_as_saved(tmp_path):
    finish(small_book(), tmp_path / "out.xlsx", RESULTS)

    values = load_workbook(tmp_path / "out.xlsx", data_only=True)[SHEET]
    assert {cell: values[cell].value for cell in RESULTS[SHEET]} == {
        **RESULTS[SHEET],
        "B3": 0.3,
        "B4": 0,
        "B5": 12345.67890123,  # 13 digits
    }
    assert values["A3"].value is True and values["D3"].value == datetime(2025, 1, 1)
    assert math.copysign(1, values["B4"].value) == 1

    saved, finished = load_workbook(small_book())[SHEET], load_workbook(tmp_path / "out.xlsx")[SHEET]
    for row in saved.iter_rows():
        for cell in row:
            same = finished[cell.coordinate]
            assert (same.value, same.data_type) == (cell.value, cell.data_type)
            assert same.number_format == cell.number_format
    assert finished["A5"].quotePrefix and finished["A5"].data_type == "s"


@pytest.mark.parametrize("lxml", ["True", "False"])
def test_both_ways_in_which_the_library_writes_xml_are_understood(tmp_path, lxml):
    """OPENPYXL_LXML chooses between lxml's "<v></v>" and the standard library's "<v />"."""
    script = "import sys; from tests.workbook.test_finish import small_book; small_book(sys.argv[1])"
    subprocess.run(
        [sys.executable, "-c", script, tmp_path / "saved.xlsx"],
        check=True,
        env={**os.environ, "OPENPYXL_LXML": lxml},
    )

    finish(tmp_path / "saved.xlsx", tmp_path / "out.xlsx", RESULTS, alt_text={(SHEET, 0): "It falls"})

    values = load_workbook(tmp_path / "out.xlsx", data_only=True)[SHEET]
    assert values["A1"].value == 3 and values["A2"].value == RESULTS[SHEET]["A2"]
    assert 'descr="It falls"' in part(tmp_path / "out.xlsx", "xl/drawings/drawing1.xml")
    assert load_workbook(tmp_path / "out.xlsx")[SHEET]._charts[0].series[0].val.numRef.numCache.ptCount == 5


def test_charts_hold_what_their_cells_hold(tmp_path):
    finish(small_book(), tmp_path / "out.xlsx", RESULTS)

    series = load_workbook(tmp_path / "out.xlsx")[SHEET]._charts[0].series[0]
    points = {point.idx: float(point.v) for point in series.val.numRef.numCache.pt}
    assert points == {0: 7, 2: 0.3, 3: 0, 4: 12345.67890123}  # B2 is empty: a gap, not a zero
    assert series.val.numRef.numCache.ptCount == 5
    assert [point.v for point in series.tx.strRef.strCache.pt] == ["Direct & <dry>"]
    # openpyxl writes every category reference as numbers; these are texts, one with blanks around it.
    assert [point.v for point in series.cat.strRef.strCache.pt] == ["year 0", "year 1", " year 2 "]
    assert series.cat.strRef.f == "'Cost & ''flow'''!$C$1:$C$3"


def test_finished_package_is_valid_by_schema(tmp_path):
    """openxml-audit checks the parts against the schemas of ECMA-376."""
    from openxml_audit import OpenXmlValidator

    small_book(tmp_path / "saved.xlsx")
    described = {(SHEET, 0): 'Says "stay" & < 5'}
    finish(tmp_path / "saved.xlsx", tmp_path / "out.xlsx", RESULTS, alt_text=described)
    before, after = (
        {(error.description, error.path) for error in OpenXmlValidator().validate(tmp_path / name).errors}
        for name in ("saved.xlsx", "out.xlsx")
    )
    assert after <= before


def test_same_input_gives_same_bytes_whatever_the_day(tmp_path):
    made = datetime(2025, 3, 1, 12, 0, tzinfo=UTC)
    saved = small_book()
    finish(saved, tmp_path / "one.xlsx", RESULTS, made=made)
    later = small_book(created=datetime(2026, 8, 9))
    finish(later, tmp_path / "two.xlsx", RESULTS, made=made.astimezone(timezone(timedelta(hours=5))))
    assert saved.getvalue() != later.getvalue()

    assert (tmp_path / "one.xlsx").read_bytes() == (tmp_path / "two.xlsx").read_bytes()
    properties = load_workbook(tmp_path / "one.xlsx").properties
    assert properties.created == properties.modified == datetime(2025, 3, 1, 12, 0)
    with zipfile.ZipFile(saved) as before, zipfile.ZipFile(tmp_path / "one.xlsx") as after:
        assert after.namelist() == before.namelist()
        assert {member.date_time for member in after.infolist()} == {(1980, 1, 1, 0, 0, 0)}


def without(cell):
    return {SHEET: {key: value for key, value in RESULTS[SHEET].items() if key != cell}}


def with_one(cell, value):
    return {SHEET: {**RESULTS[SHEET], cell: value}}


@pytest.mark.parametrize(
    "results, says",
    [
        (without("B4"), "!B4: a formula without a result"),
        (with_one("B4", math.nan), "!B4: nan"),
        (with_one("B4", -math.inf), "!B4: -inf"),
        (with_one("B4", ""), "!B4: ''"),
        (with_one("B4", "#DIV/0!"), "!B4: '#DIV/0!'"),
        (with_one("B4", None), "!B4: None"),
        (with_one("B1", 7), "!B1: a result without a formula"),
        ({**RESULTS, "Nowhere": {"A1": 1}}, "Nowhere: results for a sheet"),
        ({}, "and 1 more"),
    ],
)
def test_a_result_that_is_missing_or_wrong_is_refused_by_name(tmp_path, results, says):
    (tmp_path / "out.xlsx").write_text("the old file")

    with pytest.raises(ValueError) as refused:
        finish(small_book(), tmp_path / "out.xlsx", results)

    assert says in str(refused.value)
    assert [path.name for path in tmp_path.iterdir()] == ["out.xlsx"]
    assert (tmp_path / "out.xlsx").read_text() == "the old file"


def test_a_description_needs_its_chart(tmp_path):
    with pytest.raises(ValueError, match="description of chart 1"):
        finish(small_book(), tmp_path / "out.xlsx", RESULTS, alt_text={(SHEET, 0): "yes", (SHEET, 1): "no"})


@pytest.mark.parametrize(
    "cells, says",
    [
        ({"min_col": 3, "min_row": 1, "max_row": 3}, "text among the numbers"),
        ({"min_col": 9, "min_row": 1, "max_row": 3}, "nothing but empty cells"),
    ],
)
def test_a_chart_needs_numbers_to_draw(tmp_path, cells, says):
    book = Workbook()
    sheet = book.active
    for row in range(1, 4):
        sheet.cell(row, 3, f"year {row}")
    chart = LineChart()
    chart.add_data(Reference(sheet, **cells))
    sheet.add_chart(chart, "F2")
    held = io.BytesIO()
    book.save(held)

    with pytest.raises(ValueError, match=says):
        finish(held, tmp_path / "out.xlsx", {})


def test_formulas_in_any_other_form_are_refused(tmp_path):
    book = Workbook()
    book.active["A1"] = ArrayFormula("A1:A2", "=B1:B2")
    held = io.BytesIO()
    book.save(held)

    with pytest.raises(ValueError, match="not plain"):
        finish(held, tmp_path / "out.xlsx", {})


def test_files_that_cannot_be_written_are_left_alone(tmp_path):
    target = tmp_path / "out.xlsx"
    target.write_text("the old file")
    target.chmod(0o444)
    with pytest.raises(PermissionError, match=r"out\.xlsx"):
        finish(small_book(), target, RESULTS)
    assert target.read_text() == "the old file"

    with pytest.raises(FileNotFoundError):
        finish(small_book(), tmp_path / "no such folder" / "out.xlsx", RESULTS)
    (tmp_path / "folder.xlsx").mkdir()
    with pytest.raises(IsADirectoryError):
        finish(small_book(), tmp_path / "folder.xlsx", RESULTS)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["folder.xlsx", "out.xlsx"]


def test_a_workbook_can_be_finished_in_place(tmp_path):
    target = Path(tmp_path / "out.xlsx")
    small_book(target)
    finish(target, target, RESULTS)
    assert load_workbook(target, data_only=True)[SHEET]["A1"].value == 3


def test_numbers_of_numpy_are_numbers():
    assert stored(np.float64(2.5)) == ("", "2.5")
    assert stored(np.int64(4)) == ("", "4")
    assert stored(1e20) == ("", "1e+20")
