"""Columns written into a plain workbook, case by case, beside the values that the engine gives them.

Each column takes two sheets, one for what is typed and one for its lines. A case takes a band of rows, as
many as the longest block has; a leaf takes a column of the sheet. Formulas refer to their own band only.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import numpy as np
from openpyxl import Workbook
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from roi.engine.column import Book, Column, Line
from roi.engine.evaluate import Program
from roi.engine.expression import Data, Leaf
from roi.engine.formula import Where, formula


class Sheets:
    """A workbook in the making, and what the engine gives for each formula cell of it.

    engine : sheet title -> cell -> value
    lines : sheet title -> cell -> the line it belongs to
    largest : sheet title -> cell -> the largest number typed for that case, positive
    """

    def __init__(self) -> None:
        self.book = Workbook()
        self.book.remove(self.book.active)
        self.engine: dict[str, dict[str, float]] = {}
        self.lines: dict[str, dict[str, Line]] = {}
        self.largest: dict[str, dict[str, float]] = {}

    def add(self, column: Column, cases: Mapping[str, np.ndarray]) -> None:
        """Write every case of a column; `cases` as for `Program.run`, all of one length."""
        typed, worked = self.book.create_sheet(f"{column.title} in"), self.book.create_sheet(column.title)
        values = Program(Book([column])).run(cases)
        lines = [part for part in column.body if isinstance(part, Line)]
        data = [part for part in column.body if isinstance(part, Data)]
        places: dict[Leaf, str] = {}
        for leaves, sheet in (([*column.inputs, *data], f"'{typed.title}'!"), (lines, "")):
            for i, leaf in enumerate(leaves, 1):
                places[leaf] = sheet + get_column_letter(i)
        band = max((len(leaf.axis) for leaf in places if leaf.axis), default=1)
        count = max((len(v) for v in cases.values()), default=1)
        self.engine[worked.title], self.lines[worked.title], self.largest[worked.title] = {}, {}, {}
        for case in range(count):
            first = 1 + case * band
            largest = 0.0
            for leaf in (*column.inputs, *data):
                held = leaf.values if isinstance(leaf, Data) else _of_case(values[leaf], case)
                for row, value in enumerate(np.atleast_1d(held).tolist()):
                    put(typed, _column(places[leaf]), first + row, value)
                    largest = max(largest, abs(value))
            where = _where(places, first)
            for line in lines:
                for row in range(len(line.axis) if line.axis else 1):
                    cell = f"{_column(places[line])}{first + row}"
                    worked[cell] = formula(line.formula, where, row)
                    of_row = values[line][row] if line.axis else values[line]
                    self.engine[worked.title][cell] = float(_of_case(of_row, case))
                    self.lines[worked.title][cell] = line
                    self.largest[worked.title][cell] = largest

    def save(self, path: Path) -> Path:
        self.book.save(path)
        return path


def put(sheet: Worksheet, column: str, row: int, value: float) -> None:
    """Type a number to its last bit: openpyxl writes 16 digits, and two numbers one bit apart need 17."""
    cell = sheet[f"{column}{row}"]
    cell._value, cell.data_type = repr(value), "n"


def _of_case(values: np.ndarray, case: int) -> np.float64:
    # What depends on no varying input has one value for all cases.
    return values[case if len(values) > 1 else 0]


def _column(place: str) -> str:
    return place.split("!")[-1]


def _where(places: Mapping[Leaf, str], first: int) -> Where:
    def cell(leaf: Leaf, row: int) -> str:
        return f"{places[leaf]}{first + row}"

    def span(leaf: Leaf, start: int, end: int, kind: str) -> str:
        return f"{cell(leaf, start)}:{_column(places[leaf])}{first + end}"

    return Where(cell, span)
