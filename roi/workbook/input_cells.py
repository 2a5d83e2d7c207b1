"""Cells of an input workbook: its sheets with headings and sections, and cells to fill in that reject what can't be.

What the sheets say is in `input_sheets`, `input_own` and `input_ledger`. Dates are stored as a spreadsheet program stores them.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from openpyxl import Workbook
from openpyxl.styles import Alignment
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from roi.workbook.cells import fit_row, put_kept, put_number, put_text, spoken, tongue_of
from roi.workbook.inputs import put_under
from roi.workbook.placing import HEAD
from roi.workbook.styles import set_up_page
from roi.workbook.tongue import Spoken

DATE_SHOWN = "yyyy-mm-dd"
END = "End of the list"
_HIGH = 44.0  # points: headings in two languages
_FIRST_DAY, _LAST_DAY = dt.date(1990, 1, 1), dt.date(2100, 12, 31)
_DAY_0 = dt.date(1899, 12, 30)  # what a spreadsheet program counts days from


def new_sheet(
    book: Workbook,
    name: str,
    title: str,
    heads: Sequence[str],
    widths: Sequence[int],
    notes: tuple[str, str],
    *,
    sought: bool = True,
) -> Worksheet:
    """A sheet with its title, notes and headings; `sought` says that it is read by these headings, whatever its language."""
    sheet = book.create_sheet(name)
    put_text(sheet, 1, 1, title, "Headline")
    for row, note in enumerate(notes, 2):
        put_text(sheet, row, 1, note, "Note")
    for i, (head, width) in enumerate(zip(heads, widths, strict=True), 1):
        put_text(sheet, HEAD, i, _in_both(sheet, head) if sought else head, "Head")
        sheet.column_dimensions[get_column_letter(i)].width = width
    if tongue_of(sheet) is not None:
        sheet.row_dimensions[HEAD].height = _HIGH
    set_up_page(sheet, head_rows=HEAD)
    return sheet


def _in_both(sheet: Worksheet, head: str) -> str:
    """A heading in the language of a sheet, above the English one by which it is read back."""
    said = spoken(sheet, head)
    return head if said == head else Spoken(f"{said}\n{head}")


def section(sheet: Worksheet, row: int, text: str, columns: int, also: Sequence[int] = ()) -> None:
    """A heading across the sheet; a sum's range begins and ends on the dashes of the columns named."""
    for column in range(1, columns + 1):
        put_text(sheet, row, column, "-" if column in also else "", "Section")
        if column in also:
            sheet.cell(row, column).quotePrefix = True
    # Runs on to the right, over empty cells.
    put_text(sheet, row, 1, text, "Section").alignment = Alignment(vertical="top")


def wrapped(sheet: Worksheet, row: int, column: int, text: str, style: str, width: int) -> None:
    # An indent counts only where the side is said.
    put_text(sheet, row, column, text, style).alignment = Alignment("left", "top", wrap_text=True, indent=1)
    fit_row(sheet, row, text, width)


def rule(kind: str, low: str, high: str, title: str, said: str) -> DataValidation:
    return DataValidation(
        type=kind, operator="between", formula1=low, formula2=high, allow_blank=True, showErrorMessage=True,
        showInputMessage=True, errorTitle="Not possible", error=said, promptTitle=title, prompt=said,
    )  # fmt: skip


class Guards:
    """Cells to fill in with a text or one of a few words, with the rules that reject everything else."""

    def __init__(self, sheet: Worksheet) -> None:
        self._page = sheet
        self._rules: dict[tuple[str, tuple[str, ...], str], DataValidation] = {}

    def choice(self, row: int, column: int, text: str, choices: Sequence[str], title: str, said: str) -> None:
        listed = ",".join(choices)
        error = f"Choose one of {', '.join(choices)}, or leave it empty."
        self._put(row, column, text, title, tuple(choices), said, DataValidation(
            type="list", formula1=f'"{listed}"', allow_blank=True, showErrorMessage=True, showInputMessage=True,
            errorTitle=title, error=error[:224], promptTitle=title, prompt=said,
        ))  # fmt: skip

    def text(self, row: int, column: int, text: str, title: str, said: str) -> None:
        self._put(row, column, text, title, (), said, DataValidation(
            type="textLength", operator="lessThanOrEqual", formula1="250", allow_blank=True, showErrorMessage=True,
            showInputMessage=True, errorTitle="Too long", error="At most 250 characters.", promptTitle=title, prompt=said,
        ))  # fmt: skip

    def listed(self, row: int, column: int, text: str, cells: str, title: str, said: str) -> None:
        """One of the words that stand in other cells, such as "$K$5:$K$20"."""
        self._put(row, column, text, title, (cells,), said, DataValidation(
            type="list", formula1=cells, allow_blank=True, showErrorMessage=True, showInputMessage=True, errorTitle=title,
            error="Choose one from the list, or leave it empty.", promptTitle=title, prompt=said,
        ))  # fmt: skip

    def date(self, row: int, column: int, day: str, title: str, said: str) -> None:
        """A day, "" for none, else YYYY-MM-DD."""
        first, last = (_serial(each) for each in (_FIRST_DAY, _LAST_DAY))
        self._put(row, column, "", title, ("date",), said, DataValidation(
            type="date", operator="between", formula1=str(first), formula2=str(last), allow_blank=True, showErrorMessage=True,
            showInputMessage=True, errorTitle="Not a date", error="A date from 1990 to 2100, like 2026-03-31; or leave it empty.",
            promptTitle=title, prompt=said,
        ))  # fmt: skip
        cell = self._page.cell(row, column)
        if day:
            put_number(self._page, row, column, _serial(dt.date.fromisoformat(day)), "Input", DATE_SHOWN)
        else:
            cell.number_format = DATE_SHOWN

    def number(
        self, row: int, column: int, number: float | None, shown: str, least: float, most: float, title: str, said: str, *,
        whole: bool = False,
    ) -> None:  # fmt: skip
        """A number between two, or none."""
        kind = "whole" if whole else "decimal"
        self._put(row, column, "", title, (kind, repr(least), repr(most)), said, DataValidation(
            type=kind, operator="between", formula1=repr(least), formula2=repr(most), allow_blank=True, showErrorMessage=True,
            showInputMessage=True, errorTitle="Not possible", error=said[:224], promptTitle=title, prompt=said,
        ))  # fmt: skip
        if number is None:
            self._page.cell(row, column).number_format = shown
        else:
            put_number(self._page, row, column, number, "Input", shown)

    def _put(
        self,
        row: int,
        column: int,
        text: str,
        title: str,
        choices: tuple[str, ...],
        said: str,
        rule: DataValidation,
    ) -> None:
        key = (title, choices, said)
        if key not in self._rules:
            self._rules[key] = rule
            self._page.add_data_validation(rule)
        cell = put_kept(self._page, row, column, text, "Input")
        cell.alignment = Alignment(wrap_text=True, vertical="top")
        put_under(self._rules[key], cell)


def _serial(day: dt.date) -> int:
    return (day - _DAY_0).days


__all__ = ["DATE_SHOWN", "END", "Guards", "new_sheet", "rule", "section", "wrapped"]
