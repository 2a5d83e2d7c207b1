"""Charts of break-even and sensitivity, in the same house style as `charts`: lines over a measured axis, and bars of change."""

from __future__ import annotations

from collections.abc import Sequence

from openpyxl.chart import BarChart, Reference, ScatterChart
from openpyxl.chart.data_source import AxDataSource, NumDataSource, NumRef, StrRef
from openpyxl.chart.marker import Marker
from openpyxl.chart.series import SeriesLabel, XYSeries
from openpyxl.chart.shapes import GraphicalProperties

from roi.workbook.charts import DASHES, MARKERS, MOST_SERIES, dress_axes, dress_bars, one_cell, stroke
from roi.workbook.house import OWN, House

Plotted = tuple[Reference, Reference, Reference]


def xy_lines(
    title: Reference | str,
    x_title: str,
    y_title: str,
    series: Sequence[Plotted],
    mark: Plotted,
    *,
    house: House = OWN,
) -> ScatterChart:
    """Straight lines from point to point over a measured axis, with an upright mark.

    Parameters
    ----------
    title : the finding: one cell that holds it, or the text itself
    x_title, y_title : what the axes measure, with the unit
    series : (cell with the name, cells along, cells up), one to five lines
    mark : the same for the upright line, two points
    house : font and colours

    Raises ValueError for no line or more than five, or a name that isn't one cell.
    """
    if not 1 <= len(series) < MOST_SERIES:
        raise ValueError(f"a chart of {len(series)} lines: give 1 to {MOST_SERIES - 1}, beside the mark")
    chart = ScatterChart(scatterStyle="lineMarker")
    dress_axes(chart, title, x_title, y_title, "#,##0", house)
    chart.x_axis.number_format = "#,##0"
    chart.x_axis.numFmt.sourceLinked = False
    chart.x_axis.scaling.min = 0
    chart.y_axis.scaling.min = 0
    for (name, along, up), colour, dash, symbol in zip(series, house.series, DASHES, MARKERS, strict=False):
        line = _series(len(chart.series), name, along, up)
        line.graphicalProperties = GraphicalProperties(ln=stroke(colour, 1.75, dash))
        line.marker = Marker(
            symbol=symbol, size=5, spPr=GraphicalProperties(solidFill=colour, ln=stroke(colour, 0.75))
        )
        chart.series.append(line)
    upright = _series(len(chart.series), *mark)
    upright.graphicalProperties = GraphicalProperties(ln=stroke(house.ink, 1.25, "sysDot"))
    upright.marker = Marker(symbol="none")
    chart.series.append(upright)
    return chart


def change_bars(
    title: Reference | str,
    x_title: str,
    y_title: str,
    categories: Reference,
    low: tuple[Reference, Reference],
    high: tuple[Reference, Reference],
    *,
    house: House = OWN,
) -> BarChart:
    """Horizontal bars to either side of zero, the first category on top: the change at a low and at a high.

    Parameters
    ----------
    title : the finding: one cell that holds it, or the text itself
    x_title, y_title : what the bars measure, with the unit, and what each bar is
    categories : the cells that name the bars
    low, high : (cell with the name, cells with the changes)
    house : font and colours

    Raises ValueError for a name that isn't one cell or unequal lengths.
    """
    chart = BarChart(barDir="bar", grouping="clustered", gapWidth=45, overlap=100)
    dress_bars(chart, title, y_title, x_title, categories, [low, high], "#,##0", house)
    # Beside the plot, not along the zero line in its midst.
    chart.x_axis.tickLblPos = "low"
    for part, colour in zip(chart.series, house.series, strict=False):
        part.invertIfNegative = False
        part.graphicalProperties = GraphicalProperties(solidFill=colour, ln=stroke(house.ink, 0.5))
    return chart


def _series(place: int, name: Reference, along: Reference, up: Reference) -> XYSeries:
    one = XYSeries(idx=place, order=place)
    one.tx = SeriesLabel(strRef=StrRef(one_cell(name)))
    one.xVal = AxDataSource(numRef=NumRef(f=str(along)))
    one.yVal = NumDataSource(numRef=NumRef(f=str(up)))
    one.smooth = False
    return one
