"""The Claims sheet: what would have to be true for each claim that the scenario states, as delivered."""

from __future__ import annotations

from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from roi.answers.claim_words import sentences
from roi.answers.claims import Alone, Needed, needed, stated_claims
from roi.workbook.cells import put_label, put_number, put_text
from roi.workbook.front import Front
from roi.workbook.placing import HEAD
from roi.workbook.styles import number_format, set_up_page
from roi.workbook.switching import delivered, shown_in_full, tell

MOST = 8  # inputs shown for each claim
_LABEL = 54
_WIDTHS = (_LABEL, 16, 14, 14, 14, 14, 14)
_NOTE = (
    "Each input moved alone, the others as delivered; then all together. Neither for a claim nor against it."
)


def write_claims(sheet: Worksheet, front: Front) -> None:
    """Write the sheet; Changes must be written."""
    put_text(sheet, 1, 1, "Claims: what would have to be true", "Headline")
    put_text(sheet, 2, 1, _NOTE, "Note")
    row = delivered(sheet, front, HEAD, "roi claim")
    for claim in stated_claims(front.study):
        row = _write(sheet, front, row + 1, needed(front.study, claim))
    for i, width in enumerate(_WIDTHS):
        sheet.column_dimensions[get_column_letter(i + 1)].width = width
    set_up_page(sheet, head_rows=2)


def _write(sheet: Worksheet, front: Front, row: int, found: Needed) -> int:
    for i, text in enumerate(sentences(front.study, found)):
        row = tell(sheet, row, text, "Said" if i else "Strong")
    if not found.met:
        return row
    heads = (
        "Input", "Unit", "As delivered", "Ends at" if found.so else "So at", "In its own range", "Change, % of best",
        "Change, % of own range",
    )  # fmt: skip
    sheet.row_dimensions[row].height = 28
    for i, head in enumerate(heads):
        put_text(sheet, row, i + 1, head, "Head" if i < 2 else "Heads")
    for each in found.met[:MOST]:
        row += 1
        _input(sheet, front, row, each)
    left = len(found.met) - MOST
    if left > 0:
        put_text(sheet, row + 1, 1, f"{left} more do it farther out: roi claim lists them.", "Note")
        row += 1
    return row + 1


def _input(sheet: Worksheet, front: Front, row: int, each: Alone) -> None:
    assert each.at is not None
    stated, scale = each.stated, 100 if each.stated.percent else 1
    shown = number_format(stated.unit, front.currency, percent=stated.percent)
    put_label(sheet, row, stated.label, _LABEL)
    put_text(sheet, row, 2, stated.shown or "number", "Label")
    put_number(sheet, row, 3, stated.best, "Data", shown)
    assert each.told is not None
    # As told and in full, so that what is printed does it when it is typed in.
    put_number(sheet, row, 4, each.told / scale, "Data", shown_in_full(each.told, stated.percent, shown))
    put_text(sheet, row, 5, "yes" if each.within else "no", "Right")
    change = None if each.change_percent is None else each.change_percent / 100
    for column, share in ((6, change), (7, each.share_of_range)):
        if share is None:
            put_text(sheet, row, column, "none", "Right")
        else:
            put_number(sheet, row, column, share, "Data", "0%")


__all__ = ["MOST", "write_claims"]
