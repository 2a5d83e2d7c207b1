"""Charts in a house style, on openpyxl's chart classes.

Each builder takes references to cells and returns a chart for the caller to place. Titles and names of series
are cells, so that they stay live; a title may also be plain text. Units stand in the axis titles. Stored
values and alternative texts come later, from `finish`. Colour is never the only cue: lines differ in dash and
marker; parts of a bar are outlined, lighter beside darker, and stand in the order of the legend.
"""

from __future__ import annotations

from collections.abc import Sequence

from openpyxl.chart import BarChart, LineChart, Reference, ScatterChart
from openpyxl.chart.data_source import AxDataSource, NumDataSource, NumRef, StrRef
from openpyxl.chart.marker import Marker
from openpyxl.chart.series import Series, SeriesLabel
from openpyxl.chart.shapes import GraphicalProperties
from openpyxl.chart.text import RichText, Text
from openpyxl.chart.title import Title
from openpyxl.drawing.line import LineProperties
from openpyxl.drawing.text import CharacterProperties, Font, Paragraph, ParagraphProperties, RegularTextRun

from roi.workbook.house import OWN, House
from roi.workbook.palette import GRID, SERIES

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
    house: House = OWN,
) -> LineChart:
    """Lines over years or another evenly spaced count, such as cumulative cost.

    Parameters
    ----------
    title : the finding, about ten words: one cell that holds it, or the text itself
    x_title, y_title : what the axes count, with the unit
    categories : the cells along the horizontal axis
    series : (cell with the name, cells with the numbers), one to six lines, as many cells as `categories`
    y_format : number format of the vertical axis
    house : font and colours

    Raises ValueError for no series or more than six, a name that isn't one cell, or unequal lengths.
    """
    chart = LineChart()
    _dress(chart, title, x_title, y_title, categories, series, y_format, house)
    # Below the plot, not along a zero line that the curves cross.
    chart.x_axis.tickLblPos = "low"
    for line, colour, dash, symbol in zip(chart.series, house.series, DASHES, MARKERS, strict=False):
        line.smooth = False
        line.graphicalProperties = GraphicalProperties(ln=stroke(colour, 2, dash))
        line.marker = Marker(
            symbol=symbol, size=6, spPr=GraphicalProperties(solidFill=colour, ln=stroke(colour, 0.75))
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
    house: House = OWN,
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
    house : font and colours

    Raises ValueError for no series or more than six, a name that isn't one cell, or unequal lengths.
    """
    chart = BarChart(barDir="bar", grouping="stacked", gapWidth=60, overlap=100)
    dress_bars(chart, title, y_title, x_title, categories, series, x_format, house)
    chart.y_axis.scaling.min = 0
    # No pattern fills: the programs draw them differently, and paler than 3 : 1 on white.
    for part, colour in zip(chart.series, house.series, strict=False):
        part.invertIfNegative = False
        part.graphicalProperties = GraphicalProperties(solidFill=colour, ln=stroke(house.ink, 0.5))
    return chart


def grouped_bars(
    title: Reference | str,
    x_title: str,
    y_title: str,
    categories: Reference,
    series: Sequence[Named],
    *,
    x_format: str = "#,##0",
    house: House = OWN,
) -> BarChart:
    """Horizontal bars from zero, side by side in groups, the first group on top; arguments as for `stacked_bars`."""
    chart = BarChart(barDir="bar", grouping="clustered", gapWidth=60, overlap=0)
    dress_bars(chart, title, y_title, x_title, categories, series, x_format, house)
    chart.y_axis.scaling.min = 0
    for part, colour in zip(chart.series, house.series, strict=False):
        part.invertIfNegative = False
        part.graphicalProperties = GraphicalProperties(solidFill=colour, ln=stroke(house.ink, 0.5))
    return chart


def dress_bars(
    chart: BarChart,
    title: Reference | str,
    bars_title: str,
    numbers_title: str,
    categories: Reference,
    series: Sequence[Named],
    value_format: str,
    house: House,
) -> None:
    """What horizontal bars share: the first one on top, the numbers at the bottom."""
    # The library calls the axis of the bars x and the axis of the numbers y, even when they lie down.
    _dress(chart, title, bars_title, numbers_title, categories, series, value_format, house)
    chart.x_axis.axPos, chart.y_axis.axPos = "l", "b"
    chart.x_axis.scaling.orientation = "maxMin"
    # Turning the bars' axis round puts its far end, where the numbers should stand, at the bottom.
    chart.y_axis.crosses = "max"


def dress_axes(
    chart: LineChart | BarChart | ScatterChart,
    title: Reference | str,
    x_title: str,
    y_title: str,
    y_format: str,
    house: House,
) -> None:
    """What every chart shares: titles, axes that show, light grid, legend below."""
    chart.title = _title(title, TITLE_SIZE, house, bold=True)
    for axis, text in ((chart.x_axis, x_title), (chart.y_axis, y_title)):
        axis.title = _title(text, TEXT_SIZE, house)
        axis.delete = False
        axis.txPr = _body(TEXT_SIZE, house)
        axis.graphicalProperties = GraphicalProperties(ln=stroke(house.ink, 0.75))
    chart.x_axis.majorGridlines = None
    chart.y_axis.majorGridlines.spPr = GraphicalProperties(ln=stroke(GRID, 0.75))
    chart.y_axis.number_format = y_format
    chart.y_axis.numFmt.sourceLinked = False
    chart.legend.position, chart.legend.overlay = "b", False
    chart.legend.txPr = _body(TEXT_SIZE, house)
    chart.width, chart.height = 17, 9


def _dress(
    chart: LineChart | BarChart,
    title: Reference | str,
    category_title: str,
    value_title: str,
    categories: Reference,
    series: Sequence[Named],
    value_format: str,
    house: House,
) -> None:
    """A chart over categories: one series a name."""
    if not 1 <= len(series) <= MOST_SERIES:
        raise ValueError(f"a chart of {len(series)} series: give 1 to {MOST_SERIES}")
    dress_axes(chart, title, category_title, value_title, value_format, house)
    for name, numbers in series:
        if _count(numbers) != _count(categories):
            raise ValueError(f"{numbers} and its categories {categories} differ in length")
        one = Series(idx=len(chart.series), order=len(chart.series))
        one.tx = SeriesLabel(strRef=StrRef(one_cell(name)))
        one.cat = AxDataSource(numRef=NumRef(f=str(categories)))
        one.val = NumDataSource(numRef=NumRef(f=str(numbers)))
        chart.series.append(one)


def _count(reference: Reference) -> int:
    rows = reference.max_row - reference.min_row + 1
    return int(rows * (reference.max_col - reference.min_col + 1))


def one_cell(reference: Reference) -> str:
    """The reference to a single cell; ValueError for more."""
    if _count(reference) != 1:
        raise ValueError(f"{reference} is not one cell: a title or a name stands in one")
    return str(reference)


def _title(text: Reference | str, size: int, house: House, bold: bool = False) -> Title:
    title = Title(overlay=False)
    if isinstance(text, Reference):
        title.tx = Text(strRef=StrRef(one_cell(text)))
        # A linked title takes its letters from here, a written one from its own run.
        title.txPr = _body(size, house, bold)
    else:
        run = RegularTextRun(rPr=_letters(size, house, bold).defRPr, t=text)
        title.tx = Text(rich=RichText(p=[Paragraph(pPr=_letters(size, house, bold), r=[run])]))
    return title


def _body(size: int, house: House, bold: bool = False) -> RichText:
    # Without r the library would add an empty piece of text.
    return RichText(p=[Paragraph(pPr=_letters(size, house, bold), r=[], endParaRPr=CharacterProperties())])


def _letters(size: int, house: House, bold: bool = False) -> ParagraphProperties:
    letters = CharacterProperties(sz=size, b=bold, solidFill=house.ink, latin=Font(typeface=house.font))
    return ParagraphProperties(defRPr=letters)


def stroke(colour: str, points: float, dash: str = "solid") -> LineProperties:
    """A line of a colour, so many points wide."""
    return LineProperties(w=round(points * POINT), solidFill=colour, prstDash=dash)
