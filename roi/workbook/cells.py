"""Putting text, numbers and formulas into cells, safely: text from outside can never act as a formula."""

from __future__ import annotations

from copy import copy
from weakref import WeakKeyDictionary

from openpyxl import Workbook
from openpyxl.cell import Cell
from openpyxl.styles.cell_style import StyleArray
from openpyxl.worksheet.worksheet import Worksheet

Results = dict[str, dict[str, float | str]]
_STARTS_FORMULA = ("=", "+", "-", "@", "\t", "\r", "＝", "＋", "－", "＠")


# Looks are found by name in a list, which for a hundred thousand cells takes a second: each is found once a workbook.
_LOOKS: WeakKeyDictionary[Workbook, dict[tuple[str, str], StyleArray]] = WeakKeyDictionary()


def _look(cell: Cell, style: str, shown: str) -> StyleArray:
    """The look of a named style with a number format; shared, so not to be changed."""
    looks = _LOOKS.setdefault(cell.parent.parent, {})
    if (style, shown) not in looks:
        cell.style, cell.number_format = style, shown
        looks[style, shown] = copy(cell._style)
    return looks[style, shown]


def _dress(cell: Cell, style: str, shown: str = "General") -> None:
    """Give a cell a named style and a number format of its own."""
    cell._style = copy(_look(cell, style, shown))


def put_text(sheet: Worksheet, row: int, column: int, text: str, style: str) -> Cell:
    """A text, whatever it begins with."""
    cell = sheet.cell(row, column)
    _dress(cell, style)
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
    _dress(cell, style, shown)
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
    _dress(cell, style, shown)
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


class QuickCells:
    """Cells of a sheet of many, written past the library's checks: they cost more than all else about a cell.

    Texts never act as formulas here; formulas are those of lines.
    """

    def __init__(self, sheet: Worksheet) -> None:
        self._sheet = sheet

    def text(self, row: int, column: int, text: str, style: str) -> None:
        """A text, whatever it begins with."""
        if text.startswith(_STARTS_FORMULA):
            put_text(self._sheet, row, column, text, style)
        else:
            self._put(row, column, text, "s", style, "General")

    def formula(self, row: int, column: int, text: str, shown: str) -> None:
        """A formula in the style of figures."""
        self._put(row, column, text, "f", "Figure", shown)

    def _put(self, row: int, column: int, value: str, kind: str, style: str, shown: str) -> None:
        cell = Cell(self._sheet, row, column)
        cell._style = _look(cell, style, shown)
        cell._value, cell.data_type = value, kind
        self._sheet._add_cell(cell)
