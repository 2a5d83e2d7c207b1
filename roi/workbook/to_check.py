"""The To check sheet: what nobody has confirmed yet, ranked, to be printed and filled in at the press and the processor.

Ranked as delivered; values are fetched from Inputs. Blanks are for a pen: what is written there goes to the scenario.
"""

from __future__ import annotations

from openpyxl.styles import Border, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from roi.answers.confirming import to_confirm
from roi.workbook.cells import fit_row, put_formula, put_text
from roi.workbook.front import Front
from roi.workbook.inputs import VALUE
from roi.workbook.placing import HEAD
from roi.workbook.styles import number_format, set_up_page
from roi.workbook.switching import delivered, inputs_now

MOST = 25
_HEADS = ("What to check", "Unit", "Value today", "Found", "How", "Key")
_WIDTHS = (36, 13, 11, 16, 58, 36)
_LINE = 13.0  # points
_LEAST = 28.0  # points of a row: room to write by hand
_BOX = Side(style="thin", color="1F2430")


def write_to_check(sheet: Worksheet, front: Front) -> None:
    """Write the sheet; Inputs and Changes must be written."""
    every = to_confirm(front.study)
    put_text(sheet, 1, 1, "To check: what nobody has confirmed yet", "Headline")
    text = "Most worth checking first: what would cost most if it were wrong, or brings the answer nearest to turning."
    put_text(sheet, 2, 1, text, "Note")
    put_text(sheet, 3, 1, "Name and date: ______________________________", "Said")
    head = delivered(sheet, front, HEAD, "roi confirm")
    for i, title in enumerate(_HEADS):
        put_text(sheet, head, i + 1, title, "Head" if i != 2 else "Heads")
        sheet.column_dimensions[get_column_letter(i + 1)].width = _WIDTHS[i]
    now = inputs_now(front.values, front)
    rows = {s.key: HEAD + 1 + i for i, s in enumerate(front.rows) if not isinstance(s, str)}
    row = head
    for rank, one in enumerate(every[:MOST], 1):
        row += 1
        stated = one.stated
        shown = number_format(stated.unit, front.currency, percent=stated.percent)
        label, how = (
            f"{rank}. {stated.label} ({stated.status})",
            f"{one.way.kind}, {one.way.where}: {one.way.words}",
        )
        put_text(sheet, row, 1, label, "Label")
        put_text(sheet, row, 2, stated.shown or "number", "Label")
        body = f"=Inputs!${get_column_letter(VALUE)}${rows[stated.key]}"
        put_formula(sheet, row, 3, body, now[stated.key], shown, front.results)
        put_text(sheet, row, 4, "", "Figure").border = Border(_BOX, _BOX, _BOX, _BOX)
        put_text(sheet, row, 5, how, "Small")
        put_text(sheet, row, 6, stated.key, "Small")
        sheet.row_dimensions[row].height = _LEAST
        # Small letters: more of them fit than a column's width says.
        for text, width in ((label, _WIDTHS[0] - 3), (how, _WIDTHS[4] + 4), (stated.key, _WIDTHS[5])):
            fit_row(sheet, row, text, width, _LINE)
    if not every:
        put_text(sheet, row + 1, 1, "Every input in use is confirmed.", "Label")
        row += 1
    left = len(every) - MOST
    more = f"{left} more are unconfirmed and matter less: roi confirm lists them. " if left > 0 else ""
    text = more + "Type what was found into the file that roi confirm -o writes, or into Inputs."
    put_text(sheet, row + 1, 1, text, "Note")
    sheet.freeze_panes = sheet.cell(head + 1, 1)
    sheet.row_dimensions[3].height = 22.0
    set_up_page(sheet, head_rows=head)


__all__ = ["MOST", "write_to_check"]
