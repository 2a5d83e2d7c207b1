"""Parts that several blocks of the Summary are put together from: lists of texts, headings with the methods' names."""

from __future__ import annotations

from collections.abc import Sequence

from openpyxl.worksheet.worksheet import Worksheet

from roi.workbook.cells import fit_label, put_text, spoken_lines
from roi.workbook.front import Front

LINE = 112  # characters that fit across the page
NOT_IN = "not in "  # before the years looked ahead: not paid back within them
LABEL, FIGURE = 40, 15  # characters of the first column and of the others


def put_list(sheet: Worksheet, row: int, texts: Sequence[str], sign: str = "– ", style: str = "Said") -> int:
    """Texts a line each, long ones going on in the next row. Returns the next free row."""
    for text in texts:
        for i, part in enumerate(spoken_lines(sheet, text[:1].upper() + text[1:], LINE)):
            before = sign if i == 0 or not sign else "   "
            put_text(sheet, row, 1, type(part)(before + part), style)
            row += 1
    return row


def put_heads(sheet: Worksheet, front: Front, row: int, title: str) -> None:
    """A table's heading: its title, then the methods; high enough for what wraps."""
    put_text(sheet, row, 1, title, "Head")
    fit_label(sheet, row, title, LABEL)
    for i, method in enumerate(front.study.scenario.methods):
        today = " (today)" if method.id == front.study.scenario.current else ""
        put_text(sheet, row, 2 + i, method.short + today, "Heads")
        fit_label(sheet, row, method.short + today, FIGURE)


__all__ = ["FIGURE", "LABEL", "LINE", "NOT_IN", "put_heads", "put_list"]
