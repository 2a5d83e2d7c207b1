"""Rows of large sheets, written as the saved file holds them: formula, result, look and all.

A cell object of the library costs more than all else about a cell, and the sheets of cases hold a hundred thousand. So their
rows are kept here as text, the library saves the sheet around them, and the finishing pass puts them in. Nothing here is
computed; texts never act as formulas.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from math import isfinite
from xml.sax.saxutils import escape

from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from roi.workbook.cells import HERE, acts_as_formula, spoken, style_number

_ROW = re.compile(r'<row r="([0-9]+)"([^>]*?)(?:/>|>(.*?)</row>)', re.DOTALL)
_DATA = re.compile(r"<sheetData ?/>|<sheetData>(.*)</sheetData>", re.DOTALL)
_EXTENT = re.compile(r'<dimension ref="[^"]*" ?/>')


class ReadyRows:
    """The rows of one sheet. results : where the result of each formula is entered, by cell."""

    def __init__(self, sheet: Worksheet, results: dict[str, float | str]) -> None:
        self.sheet, self.results = sheet, results
        self.cells: dict[int, list[str]] = {}
        self._letters = [get_column_letter(i + 1) for i in range(64)]
        self._widest = 1
        self._looks: dict[tuple[str, str, bool], int] = {}

    def _look(self, style: str, shown: str, text: str = "") -> int:
        key = style, shown, acts_as_formula(text)
        if key not in self._looks:
            self._looks[key] = style_number(self.sheet, style, shown, text)
        return self._looks[key]

    def text(self, row: int, column: int, text: str, style: str) -> None:
        """A text, whatever it begins with."""
        text = spoken(self.sheet, text)
        look = self._look(style, "General", text)
        letter = self._letters[column - 1]
        space = ' xml:space="preserve"' if text != text.strip() else ""
        written = f'<c r="{letter}{row}" s="{look}" t="inlineStr"><is><t{space}>{escape(text)}</t></is></c>'
        self.cells.setdefault(row, []).append(written)

    def across(self, row: int, first: int, text: str, shown: str, values: Sequence[float]) -> None:
        """Formulas along a row from a column on, HERE standing for each one's own column, with their results."""
        if not all(map(isfinite, values)):
            raise ValueError(f"{self.sheet.title}, row {row}: a result that is no number")
        look = self._look("Figure", shown)
        body, cells, results = escape(text[1:]), self.cells.setdefault(row, []), self.results
        for letter, value in zip(self._letters[first - 1 :], values, strict=False):
            place = f"{letter}{row}"
            results[place] = value
            cells.append(
                f'<c r="{place}" s="{look}"><f>{body.replace(HERE, letter)}</f><v>{value + 0.0:.13g}</v></c>'
            )
        self._widest = max(self._widest, first + len(values) - 1)

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
                rows[number] = f'<row r="{number}">{"".join(cells)}</row>'
        data = "".join(rows[number] for number in sorted(rows))
        extent = (
            f'<dimension ref="A1:{get_column_letter(max(self._widest, self.sheet.max_column))}{max(rows)}"/>'
        )
        head = _EXTENT.sub(extent, xml[: found.start()])
        return f"{head}<sheetData>{data}</sheetData>{xml[found.end() :]}"


__all__ = ["ReadyRows"]
