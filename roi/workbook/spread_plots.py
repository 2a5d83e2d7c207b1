"""Charts of an amount over many draws, in the house style of `charts`: how often it falls where, and what it stays below."""

from __future__ import annotations

from collections.abc import Sequence

from openpyxl.chart import BarChart, Reference, ScatterChart
from openpyxl.chart.data_source import AxDataSource, NumDataSource, NumRef, StrRef
from openpyxl.chart.marker import Marker
from openpyxl.chart.series import Series, SeriesLabel, XYSeries
from openpyxl.chart.shapes import GraphicalProperties

from roi.workbook.charts import DASHES, dress_axes, one_cell, stroke
from roi.workbook.house import OWN, House
from roi.workbook.plots import Plotted


def upright_bars(
    title: str,
    x_title: str,
    y_title: str,
    categories: Reference,
    bars: tuple[Reference, Reference],
    *,
    house: House = OWN,
) -> BarChart:
    """A histogram: upright bars from zero, side by side without gaps between bins.

    Parameters
    ----------
    title : the finding
    x_title, y_title : what the bins and the bars measure, with the unit
    categories : the cells that name the bins, such as their middles
    bars : (cell with the name, cells with the shares), as many cells as `categories`
    house : font and colours

    Raises ValueError for a name that isn't one cell.
    """
    chart = BarChart(barDir="col", grouping="clustered", gapWidth=4)
    dress_axes(chart, title, x_title, y_title, "0%", house)
    chart.y_axis.scaling.min = 0
    chart.x_axis.tickLblPos = "low"
    chart.x_axis.number_format = "#,##0"
    chart.x_axis.numFmt.sourceLinked = False
    name, shares = bars
    one = Series(idx=0, order=0)
    one.tx = SeriesLabel(strRef=StrRef(one_cell(name)))
    one.cat = AxDataSource(numRef=NumRef(f=str(categories)))
    one.val = NumDataSource(numRef=NumRef(f=str(shares)))
    one.invertIfNegative = False
    one.graphicalProperties = GraphicalProperties(solidFill=house.series[0], ln=stroke(house.ink, 0.5))
    chart.series.append(one)
    return chart


def rising_curve(
    title: str, x_title: str, y_title: str, curve: Plotted, marks: Sequence[Plotted], *, house: House = OWN
) -> ScatterChart:
    """A cumulative curve from 0 to 100 %, with upright marks up to some of its points.

    Parameters
    ----------
    title : the finding
    x_title, y_title : what the axes measure, with the unit
    curve, marks : (cell with the name, cells along, cells up, as shares), one to five marks
    house : font and colours

    Raises ValueError for a name that isn't one cell.
    """
    chart = ScatterChart(scatterStyle="lineMarker")
    dress_axes(chart, title, x_title, y_title, "0%", house)
    chart.x_axis.number_format = "#,##0"
    chart.x_axis.numFmt.sourceLinked = False
    # An amount may be below zero: both axes stand at the plot's edges.
    chart.x_axis.tickLblPos = chart.y_axis.tickLblPos = "low"
    chart.y_axis.scaling.min, chart.y_axis.scaling.max, chart.y_axis.majorUnit = 0, 1, 0.1
    for place, (name, along, up) in enumerate((curve, *marks)):
        one = XYSeries(idx=place, order=place)
        one.tx = SeriesLabel(strRef=StrRef(one_cell(name)))
        one.xVal = AxDataSource(numRef=NumRef(f=str(along)))
        one.yVal = NumDataSource(numRef=NumRef(f=str(up)))
        one.smooth = False
        chart.series.append(one)
    for one, colour, dash in zip(chart.series, house.series, DASHES, strict=False):
        one.graphicalProperties = GraphicalProperties(ln=stroke(colour, 1.75, dash))
        one.marker = Marker(symbol="none")
    return chart


__all__ = ["rising_curve", "upright_bars"]
