"""Charts in our house style, on openpyxl's chart classes.

Each builder takes references to cells and returns a chart for the caller to place. Titles and names of series
are cells, so that they stay live; a title may also be plain text. Units stand in the axis titles. Stored
values and alternative texts come later, from `finish`. Colour is never the only cue: lines differ in dash and
marker; parts of a bar are outlined, lighter beside darker, and stand in the order of the legend.
"""

from __future__ import annotations

from collections.abc import Sequence

from openpyxl.chart import BarChart, LineChart, Reference
from openpyxl.chart.data_source import AxDataSource, NumDataSource, NumRef, StrRef
from openpyxl.chart.marker import Marker
from openpyxl.chart.series import Series, SeriesLabel
from openpyxl.chart.shapes import GraphicalProperties
from openpyxl.chart.text import RichText, Text
from openpyxl.chart.title import Title
from openpyxl.drawing.line import LineProperties
from openpyxl.drawing.text import CharacterProperties, Paragraph, ParagraphProperties, RegularTextRun

from roi.workbook.palette import GRID, INK, SERIES

MOST_SERIES = len(SERIES)
DASHES = ("solid", "dash", "sysDot", "lgDashDot", "sysDash", "lgDash")
MARKERS = ("circle", "square", "triangle", "diamond", "x", "plus")
TITLE_SIZE, TEXT_SIZE = 1200, 900  # hundredths of a point
POINT = 12700  # one point in the units in which lines are drawn

Named = tuple[Reference, Reference]


def line_chart(
    title: Reference | str,
    x_title: str,
    y_title: str,
    categories: Reference,
    series: Sequence[Named],
    *,
    y_format: str = "#,##0",
) -> LineChart:
    """Lines over years or another evenly spaced count, such as cumulative cost.

    Parameters
    ----------
    title : the finding, about ten words: one cell that holds it, or the text itself
    x_title, y_title : what the axes count, with the unit
    categories : the cells along the horizontal axis
    series : (cell with the name, cells with the numbers), one to six lines, as many cells as `categories`
    y_format : number format of the vertical axis

    Raises ValueError for no series or more than six, a name that isn't one cell, or unequal lengths.
    """
    chart = LineChart()
    _dress(chart, title, x_title, y_title, categories, series, y_format)
    # Below the plot, not along a zero line that the curves cross.
    chart.x_axis.tickLblPos = "low"
    for line, colour, dash, symbol in zip(chart.series, SERIES, DASHES, MARKERS, strict=False):
        line.smooth = False
        line.graphicalProperties = GraphicalProperties(ln=_stroke(colour, 2, dash))
        line.marker = Marker(
            symbol=symbol, size=6, spPr=GraphicalProperties(solidFill=colour, ln=_stroke(colour, 0.75))
        )
    return chart


def stacked_bars(
    title: Reference | str,
    x_title: str,
    y_title: str,
    categories: Reference,
    series: Sequence[Named],
    *,
    x_format: str = "#,##0",
) -> BarChart:
    """Horizontal bars from zero, one a category with the first on top, each stacked from up to six parts.

    Parts are zero or more: a part below zero is not drawn, so a credit belongs inside the part it lessens.

    Parameters
    ----------
    title : the finding, about ten words: one cell that holds it, or the text itself
    x_title, y_title : what the bars measure, with the unit, and what each bar is
    categories : the cells that name the bars
    series : (cell with the name, cells with the numbers), one to six parts, as many cells as `categories`
    x_format : number format of the axis along the bottom

    Raises ValueError for no series or more than six, a name that isn't one cell, or unequal lengths.
    """
    chart = BarChart(barDir="bar", grouping="stacked", gapWidth=60, overlap=100)
    # The library calls the axis of the bars x and the axis of the numbers y, even when they lie down.
    _dress(chart, title, y_title, x_title, categories, series, x_format)
    chart.x_axis.axPos, chart.y_axis.axPos = "l", "b"
    chart.x_axis.scaling.orientation = "maxMin"
    chart.y_axis.scaling.min = 0
    # Turning the bars' axis round puts its far end, where the numbers should stand, at the bottom.
    chart.y_axis.crosses = "max"
    # No pattern fills: the programs draw them differently, and paler than 3 : 1 on white.
    for part, colour in zip(chart.series, SERIES, strict=False):
        part.invertIfNegative = False
        part.graphicalProperties = GraphicalProperties(solidFill=colour, ln=_stroke(INK, 0.5))
    return chart


def _dress(
    chart: LineChart | BarChart,
    title: Reference | str,
    category_title: str,
    value_title: str,
    categories: Reference,
    series: Sequence[Named],
    value_format: str,
) -> None:
    """What both kinds share: titles, axes that show, light grid, legend below, one series a name."""
    if not 1 <= len(series) <= MOST_SERIES:
        raise ValueError(f"a chart of {len(series)} series: give 1 to {MOST_SERIES}")
    chart.title = _title(title, TITLE_SIZE, bold=True)
    for axis, text in ((chart.x_axis, category_title), (chart.y_axis, value_title)):
        axis.title = _title(text, TEXT_SIZE)
        axis.delete = False
        axis.txPr = _body(TEXT_SIZE)
        axis.graphicalProperties = GraphicalProperties(ln=_stroke(INK, 0.75))
    chart.x_axis.majorGridlines = None
    chart.y_axis.majorGridlines.spPr = GraphicalProperties(ln=_stroke(GRID, 0.75))
    chart.y_axis.number_format = value_format
    chart.y_axis.numFmt.sourceLinked = False
    chart.legend.position, chart.legend.overlay = "b", False
    chart.width, chart.height = 17, 9
    for name, numbers in series:
        if _count(numbers) != _count(categories):
            raise ValueError(f"{numbers} and its categories {categories} differ in length")
        one = Series(idx=len(chart.series), order=len(chart.series))
        one.tx = SeriesLabel(strRef=StrRef(_one_cell(name)))
        one.cat = AxDataSource(numRef=NumRef(f=str(categories)))
        one.val = NumDataSource(numRef=NumRef(f=str(numbers)))
        chart.series.append(one)


def _count(reference: Reference) -> int:
    rows = reference.max_row - reference.min_row + 1
    return int(rows * (reference.max_col - reference.min_col + 1))


def _one_cell(reference: Reference) -> str:
    if _count(reference) != 1:
        raise ValueError(f"{reference} is not one cell: a title or a name stands in one")
    return str(reference)


def _title(text: Reference | str, size: int, bold: bool = False) -> Title:
    title = Title(overlay=False)
    if isinstance(text, Reference):
        title.tx = Text(strRef=StrRef(_one_cell(text)))
        # A linked title takes its letters from here, a written one from its own run.
        title.txPr = _body(size, bold)
    else:
        run = RegularTextRun(rPr=_letters(size, bold).defRPr, t=text)
        title.tx = Text(rich=RichText(p=[Paragraph(pPr=_letters(size, bold), r=[run])]))
    return title


def _body(size: int, bold: bool = False) -> RichText:
    # Without r the library would add an empty piece of text.
    return RichText(p=[Paragraph(pPr=_letters(size, bold), r=[], endParaRPr=CharacterProperties())])


def _letters(size: int, bold: bool = False) -> ParagraphProperties:
    return ParagraphProperties(defRPr=CharacterProperties(sz=size, b=bold, solidFill=INK))


def _stroke(colour: str, points: float, dash: str = "solid") -> LineProperties:
    return LineProperties(w=round(points * POINT), solidFill=colour, prstDash=dash)
