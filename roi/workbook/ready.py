"""Rows of large sheets, written as the saved file holds them: formula, result, look and all.

A cell object of the library costs more than all else about a cell, and the sheets of lines and cases hold a hundred thousand.
So their rows are kept here as text, the library saves the sheet around them, and the finishing pass puts them in. Nothing here
is computed; texts never act as formulas.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from functools import cache
from html import escape  # that of xml.sax loads all of HTTP
from math import isfinite

from openpyxl.cell import Cell
from openpyxl.compat import safe_string
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from roi.workbook.cells import (
    GAP,
    HERE,
    QuickCells,
    acts_as_formula,
    label_height,
    spoken,
    style_number,
    text_height,
)
from roi.workbook.finish import stored

_ROW = re.compile(r'<row r="([0-9]+)"([^>]*?)(?:/>|>(.*?)</row>)', re.DOTALL)
_DATA = re.compile(r"<sheetData ?/>|<sheetData>(.*)</sheetData>", re.DOTALL)
_EXTENT = re.compile(r'<dimension ref="[^"]*" ?/>')


class ReadyRows:
    """The rows of one sheet.

    results : where the result of each formula is entered, by cell;  without : a text as it may be shown
    """

    def __init__(
        self, sheet: Worksheet, results: dict[str, float | str], without: Callable[[str], str] = str
    ) -> None:
        self.sheet, self.results, self._without = sheet, results, without
        self.cells: dict[int, list[str]] = {}
        self._heights: dict[int, float] = {}
        self._styles: dict[bytes, str] = {}
        self._texts: dict[tuple[str, str], str] = {}
        self.formulas: set[str] = set()
        self._widest = 1
        self._looks: dict[tuple[str, str, bool], int] = {}

    def _look(self, style: str, shown: str, text: str = "") -> int:
        key = style, shown, acts_as_formula(text)
        if key not in self._looks:
            self._looks[key] = style_number(self.sheet, style, shown, text)
        return self._looks[key]

    def text(self, row: int, column: int, text: str, style: str) -> None:
        """A text, whatever it begins with."""
        if (text, style) not in self._texts:
            said = self._without(spoken(self.sheet, text))
            space = ' xml:space="preserve"' if said != said.strip() else ""
            look = self._look(style, "General", said)
            self._texts[text, style] = (
                f's="{look}" t="inlineStr"><is><t{space}>{escape(said, quote=False)}</t></is></c>'
            )
        written = f'<c r="{get_column_letter(column)}{row}" {self._texts[text, style]}'
        self.cells.setdefault(row, []).append(written)
        self._widest = max(self._widest, column)

    def label(self, row: int, text: str, width: int) -> None:
        """A row's label in column A, which is this many characters wide; a long one makes the row higher."""
        self.text(row, 1, text, "Label")
        self._heighten(row, label_height(spoken(self.sheet, text), width))

    def note(self, row: int, column: int, text: str, width: int) -> None:
        """A small text wrapped in a column this many characters wide; a long one makes the row higher."""
        self.text(row, column, text, "Small")
        self._heighten(row, text_height(spoken(self.sheet, text), width))

    def _heighten(self, row: int, points: float) -> None:
        if points:
            self._heights[row] = max(self._heights.get(row, 0.0), points)

    def gap(self, row: int) -> None:
        """A row with nothing in it, low."""
        self._heights[row] = GAP
        self.cells.setdefault(row, [])

    def number(self, row: int, column: int, number: float, style: str, shown: str) -> None:
        """A typed number."""
        look = self._look(style, shown)
        place = f"{get_column_letter(column)}{row}"
        self.cells.setdefault(row, []).append(f'<c r="{place}" s="{look}"><v>{number:.16g}</v></c>')
        self._widest = max(self._widest, column)

    def across(self, row: int, first: int, text: str, shown: str, values: Sequence[float]) -> None:
        """Formulas along a row from a column on, HERE standing for each one's own column, with their results."""
        if not all(map(isfinite, values)):
            raise ValueError(f"{self.sheet.title}, row {row}: a result that is no number")
        look = self._look("Figure", shown)
        letters = _letters(first, len(values))
        places = [f"{letter}{row}" for letter in letters]
        self.results.update(zip(places, values, strict=True))
        self.formulas.update(places)
        pieces = escape(text[1:], quote=False).split(HERE)
        self.cells.setdefault(row, []).extend(
            f'<c r="{place}" s="{look}"><f>{letter.join(pieces)}</f><v>{value + 0.0:.13g}</v></c>'
            for place, letter, value in zip(places, letters, values, strict=True)
        )
        self._widest = max(self._widest, first + len(values) - 1)

    def take_cells(self) -> None:
        """Take over the cells that the sheet holds, to be written as these rows are: before those of the same row kept here.

        Raises ValueError for a formula without a result.
        """
        held: dict[int, list[str]] = {}
        for (row, _), cell in sorted(self.sheet._cells.items()):
            if cell.hyperlink:
                self.sheet._hyperlinks.append(cell.hyperlink)
            if cell.value is not None or cell.has_style:
                held.setdefault(row, []).append(self._written(cell))
        for row, cells in held.items():
            self.cells[row] = cells + self.cells.get(row, [])
        self._widest = max(self._widest, self.sheet.max_column)
        self.sheet._cells = {}

    def _written(self, cell: Cell) -> str:
        """A cell as the library saves it, and with its result if it holds a formula."""
        head, value = f'<c r="{cell.coordinate}"{self._style(cell)}', cell.value
        if value is None or value == "":
            return head + "/>"
        if cell.data_type == "s":
            space = ' xml:space="preserve"' if value != value.strip() else ""
            return f'{head} t="inlineStr"><is><t{space}>{escape(value, quote=False)}</t></is></c>'
        if cell.data_type == "f":
            place = cell.coordinate
            if place not in self.results:
                raise ValueError(f"{self.sheet.title}!{place}: a formula without a result")
            kind, text = stored(self.results[place])
            self.formulas.add(place)
            return f"{head}{kind}><f>{escape(value[1:], quote=False)}</f><v>{text}</v></c>"
        return f'{head} t="{cell.data_type}"><v>{safe_string(value)}</v></c>'

    def _style(self, cell: Cell) -> str:
        if not cell.has_style:
            return ""
        look = cell._style.tobytes()
        if look not in self._styles:
            self._styles[look] = f' s="{cell.style_id}"'
        return self._styles[look]

    def put_into(self, xml: str) -> str:
        """The saved sheet with these rows in it. A row that the library saved keeps its height."""
        found = _DATA.search(xml)
        if found is None:
            raise ValueError(f"{self.sheet.title}: no data of a sheet")
        rows: dict[int, str] = {}
        for row in _ROW.finditer(found[1] or ""):
            number = int(row[1])
            held = (row[3] or "") + "".join(self.cells.get(number, ()))
            rows[number] = f'<row r="{number}"{row[2].rstrip()}>{held}</row>'
        for number, cells in self.cells.items():
            if number not in rows:
                height = self._heights.get(number)
                high = f' ht="{height:g}" customHeight="1"' if height else ""
                rows[number] = f'<row r="{number}"{high}>{"".join(cells)}</row>'
        data = "".join(rows[number] for number in sorted(rows))
        extent = (
            f'<dimension ref="A1:{get_column_letter(max(self._widest, self.sheet.max_column))}{max(rows)}"/>'
        )
        head = _EXTENT.sub(extent, xml[: found.start()])
        return f"{head}<sheetData>{data}</sheetData>{xml[found.end() :]}"


@cache
def _letters(first: int, count: int) -> list[str]:
    return [get_column_letter(first + i) for i in range(count)]


Cells = QuickCells | ReadyRows
MakeCells = Callable[[Worksheet], Cells]

__all__ = ["Cells", "MakeCells", "ReadyRows"]
