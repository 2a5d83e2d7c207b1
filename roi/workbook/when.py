"""The sheet "When to change": what changing in each month of year 1 would cost, the least in words."""

from __future__ import annotations

from collections.abc import Mapping

from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from roi.engine.words import Sentence
from roi.model.calendar_year import MONTHS
from roi.workbook.cells import put_formula, put_text
from roi.workbook.front import Front
from roi.workbook.placing import HEAD
from roi.workbook.styles import number_format, set_up_page

_NOTES = (
    "Present cost after tax, cash, in money of today. What follows the work is shared by the work of each month, what "
    "follows time by months.",
    "Money at the switch is paid at the start of year 1 whatever the month; what leases, rentals, notice and agreements still "
    "demand shrinks month by month. Waiting for a quote to run out, or for a price to rise, is not in it.",
)


def write_when(sheet: Worksheet, front: Front, found: Mapping[str, Sentence]) -> None:
    """Write the sheet; the challengers' sheets and Words hold what it shows."""
    put_text(sheet, 1, 1, "When in the year to change", "Headline")
    put_text(sheet, 2, 1, "How many months of year 1 the old method still runs.", "Note")
    row = HEAD
    for sentence in found.values():
        front.say(sheet, row, sentence.label, "Said")
        row += 1
    for text in _NOTES:
        put_text(sheet, row, 1, text, "Note")
        row += 1
    heads = row + 1
    put_text(sheet, heads, 1, "Present cost if changed", "Head")
    put_text(sheet, heads, 2, "Unit", "Head")
    for i, name in enumerate(found):
        made, column = front.study.methods[name], i + 3
        put_text(sheet, heads, column, made.method.short, "Heads")
        cost = made.lines["when.cost"]
        assert cost.axis is not None
        at = front.places.where(sheet.title)
        for m in range(MONTHS):
            label = cost.axis.labels[m]
            put_text(sheet, heads + 1 + m, 1, label[:1].upper() + label[1:], "Label")
            put_text(sheet, heads + 1 + m, 2, front.currency, "Label")
            value = float(front.values[cost].reshape(-1)[m])
            shown = number_format(cost.unit, front.currency)
            put_formula(sheet, heads + 1 + m, column, f"={at.cell(cost, m)}", value, shown, front.results)
        staying, row = made.lines["when.staying"], heads + 1 + MONTHS
        put_text(sheet, row, 1, "Staying", "Label")
        put_text(sheet, row, 2, front.currency, "Label")
        value = float(front.values[staying].reshape(-1)[0])
        shown = number_format(staying.unit, front.currency)
        put_formula(sheet, row, column, f"={at.cell(staying, 0)}", value, shown, front.results)
        sheet.column_dimensions[get_column_letter(column)].width = 22
    sheet.column_dimensions["A"].width = 46
    sheet.freeze_panes = sheet.cell(HEAD, 1)
    set_up_page(sheet, head_rows=3)


__all__ = ["write_when"]
