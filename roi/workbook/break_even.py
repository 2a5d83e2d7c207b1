"""The Break-even sheet: for each pair of methods where they cost the same, in words, on a chart and in tables."""

from __future__ import annotations

from openpyxl.chart import Reference
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.worksheet import Worksheet

from roi.answers.volumes import Volumes
from roi.engine.column import Line
from roi.engine.words import fixed
from roi.workbook.cells import put_formula, put_text
from roi.workbook.front import Front
from roi.workbook.placing import HEAD
from roi.workbook.plots import xy_lines
from roi.workbook.styles import number_format, set_up_page

MOST_LINES = 5  # beside the mark of the shop's own volume
_CHART_ROWS = 21
_AT = 3  # the column of the first figure


def write_break_even(sheet: Worksheet, front: Front, found: Volumes) -> None:
    """Write the sheet; the Volumes and Words sheets hold what it shows."""
    put_text(sheet, 1, 1, "Break-even: where the answer turns", "Headline")
    basis = (
        "Present cost and equivalent annual cost, in cash, after tax, at the volumes looked at; "
        "roi breakeven finds each turn between them."
    )
    put_text(sheet, 2, 1, basis, "Note")
    row = HEAD
    for label in (found.turn.label, *(pair.sentence.label for pair in found.pairs)):
        front.say(sheet, row, label, "Strong" if label == found.turn.label else "Said")
        row += 1
    row = _chart(sheet, front, found, row + 1)
    sheet.row_breaks.append(Break(id=row - 1))
    row = _bands(sheet, front, found, row)
    row = _ties(sheet, front, found, row)
    sheet.row_breaks.append(Break(id=row - 1))
    _costs(sheet, front, found, row)
    widths = (46, 16, *[14] * max(len(found.costs) + 2, 4))
    for i, width in enumerate(widths):
        sheet.column_dimensions[get_column_letter(i + 1)].width = width
    set_up_page(sheet, head_rows=3)


def _put(
    sheet: Worksheet, front: Front, row: int, column: int, line: Line, i: int = 0, shown: str = ""
) -> None:
    """One figure of a line, fetched."""
    at = front.places.where(sheet.title).cell(line, i)
    value = float(front.values[line].reshape(-1)[i])
    shown = shown or number_format(line.unit, front.currency)
    put_formula(sheet, row, column, f"={at}", value, shown, front.results)


def _heads(sheet: Worksheet, row: int, heads: list[str]) -> None:
    sheet.row_dimensions[row].height = 28
    for i, head in enumerate(heads):
        put_text(sheet, row, i + 1, head, "Head" if i < _AT - 1 else "Heads")


def _chart(sheet: Worksheet, front: Front, found: Volumes, row: int) -> int:
    """Cost against volume; of more than five methods those cheapest at the shop's own volume, as delivered."""
    places, rows = front.places, front.study.comparison.rows
    cost = front.values[rows["equivalent"]][:, 0]
    order = sorted(range(len(cost)), key=lambda i: cost[i])[:MOST_LINES]
    drawn = [name for i, name in enumerate(found.costs) if i in order]
    book = sheet.parent

    def cells(line: Line) -> Reference:
        assert line.axis is not None
        title, r, c = places.cell(line)
        return Reference(book[title], min_row=r, max_row=r, min_col=c, max_col=c + len(line.axis) - 1)

    def name(line: Line) -> Reference:
        title, r, _ = places.cell(line)
        return Reference(book[title], min_row=r, min_col=1)

    def method(name: str) -> Reference:
        title, _, c = places.cell(rows["equivalent"], list(found.costs).index(name))
        return Reference(book[title], min_row=HEAD, min_col=c)

    chart = xy_lines(
        front.sentence(book, found.chart_title.label),
        "plates a month",
        f"{front.currency} a year, after tax",
        [(method(m), cells(found.plates), cells(found.costs[m])) for m in drawn],
        (name(found.own_x), cells(found.own_x), cells(found.own_y)),
        house=front.house,
    )
    chart.width, chart.height = 25, 10.5
    front.describe(
        sheet,
        "Lines of equivalent annual cost against plates a month, one a method; where two cross, both cost the same. "
        "An upright line marks the shop's own volume. The tables below hold the figures.",
    )
    sheet.add_chart(chart, f"A{row}")
    return row + _CHART_ROWS + 1


def _bands(sheet: Worksheet, front: Front, found: Volumes, row: int) -> int:
    heads = ["Pair of methods", "Unit", "Own volume", "Changes", "From", "To"]
    _heads(sheet, row, heads)
    where = front.places.where(sheet.title)
    for pair in found.pairs:
        row += 1
        put_text(sheet, row, 1, pair.sentence.label, "Label")
        put_text(sheet, row, 2, "plates a month", "Label")
        _put(sheet, front, row, _AT, found.own)
        _put(sheet, front, row, _AT + 1, pair.count, shown="0")
        met = float(front.values[pair.crosses].flat[0]) == 1
        for i, line in enumerate((pair.below, pair.above)):
            value = float(front.values[line].flat[0])
            text = f'=IF({where.cell(pair.crosses, 0)}=1,{where.cell(line, 0)},"none")'
            put_formula(
                sheet, row, _AT + 2 + i, text, value if met else "none", "#,##0", front.results, "Right"
            )
    note = "Changes: how often the cheaper one changes over the volumes looked at, and between which of them it does."
    put_text(sheet, row + 1, 1, note, "Note")
    return row + 3


def _ties(sheet: Worksheet, front: Front, found: Volumes, row: int) -> int:
    """At which price, first cost, hour and wage a method costs what the current one does."""
    if not found.ties:
        return row
    where = front.places.where(sheet.title)
    current = front.study.methods[front.study.scenario.current].method.short
    _heads(sheet, row, [f"To cost what {current} costs", "Unit", "Today", "Break-even", "Costs less"])
    for tie in found.ties:
        row += 1
        short = front.study.methods[tie.method].method.short
        put_text(sheet, row, 1, f"{short}: {tie.quantity}", "Label")
        unit = str(tie.value.unit).replace("currency", front.currency)
        put_text(sheet, row, 2, unit, "Label")
        _put(sheet, front, row, _AT, tie.now)
        shown = number_format(tie.value.unit, front.currency)
        there = float(front.values[tie.exists].flat[0]) == 1
        value = float(front.values[tie.value].flat[0])
        text = f'=IF({where.cell(tie.exists, 0)}=1,{where.cell(tie.value, 0)},"none")'
        put_formula(sheet, row, _AT + 1, text, value if there else "none", shown, front.results, "Right")
        below = float(front.values[tie.below].flat[0]) == 1
        side = ("below it" if below else "above it") if there else "none"
        text = f'=IF({where.cell(tie.exists, 0)}=1,IF({where.cell(tie.below, 0)}=1,"below it","above it"),"none")'
        put_formula(sheet, row, _AT + 2, text, side, "@", front.results, "Right")
    note = (
        "Everything else as stated; replacements move with first cost. "
        "none: it makes no difference, nothing above zero would do, or one can't do the work."
    )
    put_text(sheet, row + 1, 1, note, "Note")
    return row + 3


def _costs(sheet: Worksheet, front: Front, found: Volumes, row: int) -> None:
    names = [front.study.methods[name].method.short for name in found.costs]
    _heads(sheet, row, ["Equivalent annual cost by volume", "Unit", "Plates a month", *names])
    for i in range(len(found.plates.axis or ())):
        row += 1
        share = f"{front.places.where(sheet.title).cell(found.shares, i)}"
        value = float(front.values[found.shares][i, 0])
        put_text(sheet, row, 2, f"{front.currency} a year", "Label")
        words = " % of the shop's own volume"
        text = f'=FIXED({share}*100,0)&"{words}"'
        put_formula(sheet, row, 1, text, fixed(value * 100, 0) + words, "@", front.results, "Label")
        _put(sheet, front, row, _AT, found.plates, i)
        for k, cost in enumerate(found.costs.values()):
            _put(sheet, front, row, _AT + 1 + k, cost, i)
