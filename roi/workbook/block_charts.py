"""The Summary's blocks that are charts: each draws figures that stand on other sheets, and says which row is free after it."""

from __future__ import annotations

from openpyxl.chart import Reference
from openpyxl.chart._chart import ChartBase
from openpyxl.worksheet.worksheet import Worksheet

from roi.model.comparison import FAMILIES
from roi.workbook.charts import line_chart, stacked_bars
from roi.workbook.front import Front
from roi.workbook.placing import HEAD

_CHART_ROWS = 12


def _spot(sheet: Worksheet, title: str, r: int, c: int, r2: int = 0, c2: int = 0) -> Reference:
    """Cells of another sheet, by row and column: one, or up to a last one."""
    return Reference(sheet.parent[title], min_row=r, min_col=c, max_row=r2 or r, max_col=c2 or c)


def _said(sheet: Worksheet, front: Front, label: str) -> Reference:
    return front.sentence(sheet.parent, label)


def cumulative_chart(sheet: Worksheet, front: Front, row: int) -> int:
    """Present cost so far by year, a line a method; the data live on Cash flow."""
    flow, places = front.study.cash_flow, front.places
    # A line that went on would lie flat: nothing is counted after the years looked ahead. Ranges can't follow a change of them.
    years = round(float(front.delivered[front.study.shop.horizon].flat[0])) + 1
    series = []
    for i, line in enumerate(list(flow.cumulative.values())[:6]):
        title, r, c = places.cell(line, 0)
        name = _spot(sheet, "Comparison", HEAD, 4 + i)
        series.append((name, _spot(sheet, title, r, c, r, c + years - 1)))
    title, r, c = places.cell(flow.year, 0)
    chart = line_chart(
        _said(sheet, front, "Cumulative cost"),
        f"Years after the switch, as delivered up to {years - 1}",
        f"Present cost so far, {front.currency}",
        _spot(sheet, title, r, c, r, c + years - 1),
        series,
        house=front.house,
    )
    text = "Lines of the present cost of each method so far, after tax, by year after the switch; the figures stand on Cash flow."
    front.describe(sheet, text)
    return _place(sheet, chart, row)


def family_chart(sheet: Worksheet, front: Front, row: int) -> int:
    """Running cost of year 1, a bar a method, by family; the data live on Comparison."""
    methods = len(front.study.scenario.methods)
    parts = []
    for family in FAMILIES:
        title, r, c = front.places.cell(front.study.comparison.rows[f"family.{family}"], 0)
        parts.append((_spot(sheet, title, r, 1), _spot(sheet, title, r, c, r, c + methods - 1)))
    chart = stacked_bars(
        _said(sheet, front, "Cost by family"),
        f"Running cost of year 1 before tax, {front.currency}",
        "Method",
        _spot(sheet, "Comparison", HEAD, 4, HEAD, 3 + methods),
        parts,
        house=front.house,
    )
    front.describe(
        sheet, "Bars of the running cost of year 1 by family, one a method; the figures stand on Comparison."
    )
    return _place(sheet, chart, row)


def _place(sheet: Worksheet, chart: ChartBase, row: int) -> int:
    chart.width, chart.height = 24, 6.0
    if any(broken.id == row - 1 for broken in sheet.row_breaks.brk):
        row += 1  # at the very top of a page its edge would be drawn at the foot of the page before
    sheet.add_chart(chart, f"A{row}")
    return row + _CHART_ROWS


__all__ = ["cumulative_chart", "family_chart"]
