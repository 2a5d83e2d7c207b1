"""The Work sheet: a year's work as reduced from the log, all of it data that is fixed when written."""

from __future__ import annotations

from openpyxl import Workbook
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from roi.model.tables import WorkTables
from roi.units.quantity import unit_label
from roi.workbook.cells import dress_anew, fit_row, put_label, put_number, put_text
from roi.workbook.placing import HEAD, Places
from roi.workbook.styles import number_format, set_up_page

_GAP = 2  # rows between tables
_LABEL, _HEAD_FITS = 52, 9  # characters: the width of labels; what fits on a line of a heading


def lay_out_work(work: WorkTables, places: Places) -> None:
    """Give every row of data its cell: tables one below another."""
    row = HEAD + 1
    for table in work.tables:
        for i, data in enumerate(table.columns):
            places.put(data, "Work", row + 3, 2 + i)
        row += 3 + len(table.axis) + _GAP


def write_work(book: Workbook, work: WorkTables, currency: str, source: str) -> Worksheet:
    """Write the Work sheet, as laid out."""
    sheet = book.create_sheet("Work")
    put_text(sheet, 1, 1, "Work", "Headline")
    put_text(
        sheet,
        2,
        1,
        f"A year's work from the {source}, before growth. Fixed when this workbook was written.",
        "Note",
    )
    row, widest = HEAD + 1, 1
    put_text(sheet, HEAD, 1, "What", "Head")
    for table in work.tables:
        put_text(sheet, row, 1, table.title, "Section")
        for c in range(1, len(table.columns) + 2):
            dress_anew(sheet.cell(row, c), "Section")
        put_text(sheet, row + 1, 1, table.note, "Note")
        for i, data in enumerate(table.columns):
            unit = unit_label(data.unit, currency) or ("0 or 1" if data.flag else "number")
            head = f"{data.label}, {unit}"
            put_text(sheet, row + 2, 2 + i, head, "Head")
            fit_row(sheet, row + 2, head, _HEAD_FITS)
            shown = (
                "#,##0.0###"
                if data.unit.has("plate") or data.unit.has("form")
                else number_format(data.unit, currency, flag=data.flag)
            )
            for k, value in enumerate(data.values):
                put_number(sheet, row + 3 + k, 2 + i, float(value), "Data", shown)
        put_text(sheet, row + 2, 1, "Row", "Head")
        for k, label in enumerate(table.axis.labels):
            put_label(sheet, row + 3 + k, label, _LABEL)
        widest = max(widest, len(table.columns))
        row += 3 + len(table.axis) + _GAP
    for c in range(2, widest + 2):
        put_text(sheet, HEAD, c, "", "Head")
        sheet.column_dimensions[get_column_letter(c)].width = 14
    sheet.column_dimensions["A"].width = _LABEL
    sheet.freeze_panes = sheet.cell(HEAD + 1, 2)
    set_up_page(sheet, head_rows=HEAD)
    return sheet
