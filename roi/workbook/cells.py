"""Putting text, numbers and formulas into cells, safely: text from outside can never act as a formula."""

from __future__ import annotations

from openpyxl.cell import Cell
from openpyxl.worksheet.worksheet import Worksheet

Results = dict[str, dict[str, float | str]]
_STARTS_FORMULA = ("=", "+", "-", "@", "\t", "\r", "＝", "＋", "－", "＠")


def put_text(sheet: Worksheet, row: int, column: int, text: str, style: str) -> Cell:
    """A text, whatever it begins with."""
    cell = sheet.cell(row, column)
    cell.style = style
    if not text:
        return cell
    cell.value = text
    cell.data_type = "s"
    if text.startswith(_STARTS_FORMULA):
        cell.quotePrefix = True
    return cell


def put_number(sheet: Worksheet, row: int, column: int, number: float, style: str, shown: str) -> Cell:
    """A typed number."""
    cell = sheet.cell(row, column)
    cell.value = number
    cell.style = style
    cell.number_format = shown
    return cell


def put_formula(
    sheet: Worksheet,
    row: int,
    column: int,
    text: str,
    result: float | str,
    shown: str,
    results: Results,
    style: str = "Figure",
) -> Cell:
    """A formula with the result it must have."""
    cell = sheet.cell(row, column)
    cell.value = text
    cell.style = style
    cell.number_format = shown
    results.setdefault(sheet.title, {})[cell.coordinate] = result
    return cell


def fit_row(sheet: Worksheet, row: int, text: str, width: int, points: float = 13.0) -> None:
    """Make a row high enough for a text wrapped in a column this many characters wide: not every program does so itself."""
    lines = -(-len(text) // width)
    if lines > 1:
        height = sheet.row_dimensions[row].height or 0.0
        sheet.row_dimensions[row].height = max(height, points * lines + 2)


def put_label(sheet: Worksheet, row: int, text: str, width: int) -> None:
    """A row's label in column A, which is this many characters wide; a long one makes the row higher."""
    put_text(sheet, row, 1, text, "Label")
    fit_label(sheet, row, text, width)


def fit_label(sheet: Worksheet, row: int, text: str, width: int) -> None:
    """Make a row high enough for its label. Fonts differ between machines: a fifth of the width is kept in hand."""
    lines = -(-len(text) * 6 // (width * 5))
    if lines > 1:
        height = sheet.row_dimensions[row].height or 0.0
        sheet.row_dimensions[row].height = max(height, 13.0 * lines + 2)
