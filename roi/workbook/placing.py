"""Where everything stands: which cell holds each input, each row of data and each row of a line."""

from __future__ import annotations

import re
from functools import cache

from openpyxl.utils import get_column_letter

from roi.engine.column import Column, Heading
from roi.engine.expression import Input, Leaf
from roi.engine.formula import Where

HEAD = 4  # heading rows of a column's sheet
VALUE = 3  # the column of single values, and of the first row of a block that runs across


class Places:
    """Cells by leaf. Sheets are laid out first, then asked for references."""

    def __init__(self) -> None:
        self._at: dict[Leaf, tuple[str, int, int, bool]] = {}
        self._conversion: dict[Leaf, str] = {}

    def put(self, leaf: Leaf, sheet: str, row: int, column: int, *, across: bool = False) -> None:
        """Say where the first cell of a leaf stands; further rows follow below, or to the right."""
        self._at[leaf] = (sheet, row, column, across)

    def convert(self, leaf: Input, factor_cell: str) -> None:
        """Say which cell turns an input's shown unit into the engine's."""
        self._conversion[leaf] = factor_cell

    def factor(self, leaf: Input) -> str | None:
        """The cell that turns an input's shown unit into the engine's, None where they are the same."""
        return self._conversion.get(leaf)

    def take(self, other: Places, prefix: str) -> None:
        """Everything of another workbook's places, whose sheets are now called with a prefix."""
        for leaf, (sheet, row, column, across) in other._at.items():
            self.put(leaf, prefix + sheet, row, column, across=across)

    def cell(self, leaf: Leaf, row: int = 0) -> tuple[str, int, int]:
        """Sheet, row and column of one row of a leaf."""
        sheet, top, left, across = self._at[leaf]
        return (sheet, top, left + row) if across else (sheet, top + row, left)

    def across(self, leaf: Leaf) -> bool:
        """Whether a block runs along the columns of its sheet."""
        return self._at[leaf][3]

    def lay_out(self, column: Column) -> int:
        """Give every line of a column its rows. Returns the last row used."""
        row = HEAD + 1
        if column.inputs:
            row += 1  # the section's title
            for line in column.inputs:
                self.put(line, column.title, row, VALUE, across=column.across)
                row += 1
        for part in column.body:
            if isinstance(part, Heading):
                row += 1
                continue
            axis = part.axis
            # A block stands clear of what is above it, so that it reads, and is summed, as one thing.
            row += 1 if axis is not None and not column.across else 0
            self.put(
                part,
                column.title,
                row,
                VALUE if axis is None or not column.across else VALUE + 1,
                across=column.across,
            )
            row += 1 if axis is None or column.across else len(axis)
        return row - 1

    def where(self, home: str) -> Where:
        """References as seen from one sheet."""

        def reference(sheet: str, row: int, column: int, *, fixed_row: bool, fixed_column: bool) -> str:
            letter = get_column_letter(column)
            text = f"{'$' * fixed_column}{letter}{'$' * fixed_row}{row}"
            return text if sheet == home else f"{quoted(sheet)}!{text}"

        def cell(leaf: Leaf, row: int) -> str:
            sheet, r, c = self.cell(leaf, row)
            across = self._at[leaf][3]
            if isinstance(leaf, Input):
                text = reference(sheet, r, c, fixed_row=True, fixed_column=True)
                factor = self._conversion.get(leaf)
                return f"{text}*{factor}" if factor else text
            single = leaf.axis is None
            if sheet == home:
                # In a block that runs across, single values stay put while the block's cells move along.
                return reference(sheet, r, c, fixed_row=False, fixed_column=across and single)
            return reference(sheet, r, c, fixed_row=single or across, fixed_column=single or not across)

        def span(leaf: Leaf, first: int, last: int, kind: str) -> str:
            sheet, r, c = self.cell(leaf, first)
            _, r2, c2 = self.cell(leaf, last)
            across = self._at[leaf][3]
            if kind == "names":
                r = r2 = HEAD
            fixed = kind in ("range", "names")
            # A running total keeps its first cell, along the way the block runs; a window moves with both ends.
            first_stays = kind != "window"
            row_stays, column_stays = (fixed, first_stays) if across else (first_stays, True)
            start = reference(sheet, r, c, fixed_row=row_stays, fixed_column=column_stays)
            end = reference(home, r2, c2, fixed_row=fixed, fixed_column=fixed or not across)
            return f"{start}:{end}"

        return Where(cell, span)


@cache
def quoted(sheet: str) -> str:
    """A sheet's name as it stands in a formula."""
    return sheet if re.fullmatch(r"[A-Za-z_]+", sheet) else f"'{sheet}'"
