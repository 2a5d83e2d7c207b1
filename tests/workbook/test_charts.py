"""House style of charts, read back from the XML of a saved file."""

import io
import zipfile
from xml.etree import ElementTree

import pytest
from openpyxl import Workbook
from openpyxl.chart import Reference

from roi.workbook.charts import line_chart, stacked_bars
from roi.workbook.palette import SERIES

NAMES = ["direct", "polyester", "metal", "bought in", "tuned", "dry"]


@pytest.fixture
def sheet():
    """A title in A1, four years in B2:E2, six methods from A3 on."""
    sheet = Workbook().active
    sheet.title = "Cash flow"
    sheet["A1"] = "Direct is cheaper from the third year"
    for column in range(4):
        sheet.cell(2, 2 + column, f"year {column}")
        for row, name in enumerate(NAMES):
            sheet.cell(3 + row, 1, name)
            sheet.cell(3 + row, 2 + column, 1000 * row + 100 * column)
    return sheet


def cells(sheet, span):
    return Reference(sheet, range_string=f"'Cash flow'!{span}")


def rows(sheet, count=6):
    return [(cells(sheet, f"A{row}"), cells(sheet, f"B{row}:E{row}")) for row in range(3, 3 + count)]


def written(sheet, chart):
    """The chart's XML, as saved."""
    sheet.add_chart(chart)
    held = io.BytesIO()
    sheet.parent.save(held)
    with zipfile.ZipFile(held) as package:
        return ElementTree.fromstring(package.read("xl/charts/chart1.xml"))


def texts(element):
    return ["".join(text.itertext()) for text in element.iter() if text.tag.endswith(("}t", "}f"))]


def make(kind, sheet, title):
    years = cells(sheet, "B2:E2")
    if kind is line_chart:
        return line_chart(title, "year after the change", "cumulative cost, USD", years, rows(sheet))
    return stacked_bars(title, "USD a year", "year", years, rows(sheet))


@pytest.mark.parametrize("kind", [line_chart, stacked_bars])
def test_titles_axes_colours_and_names(sheet, kind):
    root = written(sheet, make(kind, sheet, cells(sheet, "A1")))

    chart = root.find("{*}chart")
    assert texts(chart.find("{*}title")) == ["'Cash flow'!$A$1"]
    assert chart.find("{*}title/{*}overlay").get("val") == "0"
    assert chart.find("{*}legend/{*}overlay").get("val") == "0"
    axes = [axis for axis in chart.find("{*}plotArea") if axis.tag.endswith("Ax")]
    assert [axis.find("{*}delete").get("val") for axis in axes] == ["0", "0"]
    wanted = {
        line_chart: ["year after the change", "cumulative cost, USD"],
        stacked_bars: ["year", "USD a year"],
    }
    assert [texts(axis.find("{*}title"))[0] for axis in axes] == wanted[kind]
    series = chart.findall(".//{*}ser")
    assert [texts(one.find("{*}tx"))[0] for one in series] == [f"'Cash flow'!$A${row}" for row in range(3, 9)]
    assert [one.find("{*}spPr//{*}srgbClr").get("val") for one in series] == list(SERIES)


def test_lines_differ_in_dash_and_marker_and_the_labels_stay_below(sheet):
    chart = written(sheet, make(line_chart, sheet, "Direct is cheaper")).find("{*}chart")

    series = chart.findall(".//{*}ser")
    dashes = [one.find("{*}spPr/{*}ln/{*}prstDash").get("val") for one in series]
    markers = [one.find("{*}marker/{*}symbol").get("val") for one in series]
    assert len(set(dashes)) == len(set(markers)) == 6
    assert texts(chart.find("{*}title")) == ["Direct is cheaper"]
    assert chart.find(".//{*}catAx/{*}tickLblPos").get("val") == "low"


def test_bars_lie_from_zero_with_the_first_on_top_and_numbers_at_the_bottom(sheet):
    chart = written(sheet, make(stacked_bars, sheet, "Labour decides")).find("{*}chart")

    bars = chart.find(".//{*}barChart")
    assert (bars.find("{*}barDir").get("val"), bars.find("{*}grouping").get("val")) == ("bar", "stacked")
    assert bars.find("{*}overlap").get("val") == "100"
    assert chart.find(".//{*}catAx/{*}scaling/{*}orientation").get("val") == "maxMin"
    assert chart.find(".//{*}valAx/{*}crosses").get("val") == "max"
    assert chart.find(".//{*}valAx/{*}scaling/{*}min").get("val") == "0"
    assert all(part.find("{*}spPr/{*}ln/{*}solidFill") is not None for part in chart.findall(".//{*}ser"))


@pytest.mark.parametrize(
    "title, categories, count, says",
    [
        ("A1", "B2:E2", 0, "0 series"),
        ("A1", "B2:E2", 7, "7 series"),
        ("A1:A2", "B2:E2", 6, "not one cell"),
        ("A1", "B2:D2", 6, "differ in length"),
    ],
)
def test_what_cannot_be_drawn_well_is_refused(sheet, title, categories, count, says):
    with pytest.raises(ValueError, match=says):
        line_chart(cells(sheet, title), "year", "USD", cells(sheet, categories), rows(sheet, count))
