"""Sheets of cases: the lines of a worked sheet again, as far as a trial's inputs move them, a case a column.

Each trial is a section. A figure its inputs don't move is not repeated: formulas refer to where it stands, on the
worked sheet or in the section the trial starts from. Along a row every case has the same relative formula.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from openpyxl import Workbook
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from roi.engine.cases import Cases, Trial, Worked
from roi.engine.column import LONGEST, Column, Line
from roi.engine.evaluate import Values
from roi.engine.expression import Data, Gather, Leaf
from roi.engine.formula import Where, formula
from roi.scenario.things import CASES
from roi.units.quantity import unit_label
from roi.workbook.cells import HERE, fit_label, fit_row, put_text
from roi.workbook.lines import LABEL_WIDTH, RATE
from roi.workbook.placing import HEAD, VALUE, Places, quoted
from roi.workbook.ready import Cells, MakeCells
from roi.workbook.styles import number_format, set_up_page

FIRST = VALUE + 1  # the column of the first case; before it stands the value in the case started from
# Cells as far down as any, for the length of a formula before rows are known.
_FAR, _FAR_FIXED = "D$8888", "$C$8888"


class CaseSheets:
    """The sections of every sheet of cases, laid out: which lines stand where."""

    def __init__(self, cases: Cases, columns: Iterable[Column], places: Places, prefix: str = "") -> None:
        """prefix : what sheet names will begin with, for the length of formulas"""
        self.cases, self.places, self._prefix = cases, places, prefix
        self.sections: dict[Column, list[tuple[Trial, list[Leaf]]]] = {column: [] for column in columns}
        self._row: dict[tuple[Trial, Leaf], tuple[str, int]] = {}
        self._next = {column: HEAD + 1 for column in self.sections}
        read: dict[Trial, list[Line]] = {}
        for reading in cases.readings:
            read.setdefault(reading.trial, []).append(reading.line)
        for trial in cases.trials:
            self._lay_out(trial, read.get(trial, []))
        for reading in cases.readings:
            sheet, row = self._row[reading.trial, reading.line]
            places.put(reading, sheet, row + reading.row, FIRST, across=True)

    def _lay_out(self, trial: Trial, read: list[Line]) -> None:
        moved = self.cases.moved(trial)
        fetched: dict[Leaf, None] = dict.fromkeys(line for line in read if line not in moved)
        fetched |= dict.fromkeys(leaf for line in moved for leaf in self._to_fetch(line, set(moved)))
        for column in self.sections:
            mine: list[Leaf] = [leaf for leaf in fetched if self.places.cell(leaf)[0] == column.title]
            mine += [line for line in moved if line.column is column]
            if not mine:
                continue
            self.sections[column].append((trial, mine))
            row = self._next[column] + 1
            for leaf in mine:
                row += 1 if leaf.axis is not None else 0
                self._row[trial, leaf] = (column.title + CASES, row)
                row += len(leaf.axis) if leaf.axis is not None else 1
            self._next[column] = row + 1

    def _to_fetch(self, line: Line, moved: set[Line]) -> Iterator[Leaf]:
        """What a line refers to that its inputs don't move, and that must stand in its section all the same."""
        used = [leaf for leaf in line.uses if leaf not in moved]
        # What runs across on its own sheet can't be summed with what runs down here.
        across = [leaf for leaf in used if leaf.axis is not None and self.places.across(leaf)]
        yield from across
        home = line.column.title

        def cell(leaf: Leaf, row: int) -> str:
            title = self.places.cell(leaf)[0]
            if leaf not in moved and leaf not in across:
                return f"{quoted(self._prefix + title)}!{_FAR_FIXED}"
            return _FAR if title == home else f"{quoted(self._prefix + title + CASES)}!{_FAR}"

        def span(leaf: Leaf, first: int, last: int, kind: str) -> str:
            return f"{cell(leaf, first)}:{_FAR}"

        rows = range(len(line.axis)) if isinstance(line.formula, Gather) and line.axis else (0,)
        if any(len(formula(line.formula, Where(cell, span), row)) > LONGEST for row in rows):
            # A worked sheet's own cells have short names there and long ones here.
            yield from (
                leaf
                for leaf in used
                if leaf.axis is None and isinstance(leaf, Line) and leaf.column.title == home
            )

    def last_row(self, column: Column) -> int:
        """The last row used on a column's sheet of cases."""
        return self._next[column] - 2

    def home(self, leaf: Leaf, trial: Trial | None, row: int) -> tuple[str, int, str, bool]:
        """Sheet, row, column letter and whether the column goes along with the case, as seen from a trial."""
        if isinstance(leaf, Line) and leaf.column.key == "cases":
            sheet, at, _ = self.places.cell(leaf)
            return sheet, at, HERE, True
        if trial is not None:
            if (trial, leaf) in self._row:
                sheet, at = self._row[trial, leaf]
                return sheet, at + row, HERE, True
            for ancestor, position in trial.ancestry:
                if (ancestor, leaf) in self._row:
                    sheet, at = self._row[ancestor, leaf]
                    return sheet, at + row, get_column_letter(FIRST + position), False
        sheet, at, column = self.places.cell(leaf, row)
        return sheet, at, get_column_letter(column), False

    def where(self, trial: Trial, sheet: str) -> Where:
        """References as seen from a trial's section on a sheet."""

        def reference(leaf: Leaf, row: int, fixed_row: bool) -> str:
            at, line, letter, moving = self.home(leaf, trial, row)
            text = f"{letter if moving else '$' + letter}{'$' * (fixed_row or not moving)}{line}"
            return text if at == sheet else f"{quoted(at)}!{text}"

        def cell(leaf: Leaf, row: int) -> str:
            return reference(leaf, row, leaf.axis is None)

        def span(leaf: Leaf, first: int, last: int, kind: str) -> str:
            end = reference(leaf, last, kind == "range").split("!")[-1]
            return f"{reference(leaf, first, kind != 'window')}:{end}"

        return Where(cell, span)


def write_case_sheet(
    book: Workbook,
    column: Column,
    sheets: CaseSheets,
    known: Values,
    worked: dict[Trial, Worked],
    currency: str,
    make_cells: MakeCells,
) -> Worksheet:
    """Write a column's sheet of cases.

    known : values in the best case;  worked : values in each trial's cases
    make_cells : how the rows of a sheet are written
    """
    sheet = book.create_sheet(column.title + CASES)
    put_text(sheet, 1, 1, sheet.title, "Headline")
    note = (
        f"Lines of {column.title} again, where an input moves them; 'before' is the best case. {column.note}"
    )
    put_text(sheet, 2, 1, note, "Note")
    for place, head in ((1, "Line"), (2, "Unit"), (VALUE, "Before"), (FIRST, "Cases")):
        put_text(sheet, HEAD, place, head, "Head" if place < VALUE else "Heads")
    writer = _CaseWriter(sheet, make_cells(sheet), column, sheets, known, worked, currency)
    widest = 1
    for trial, mine in sheets.sections[column]:
        writer.section(trial, mine)
        widest = max(widest, len(trial.axis))
    for place in range(FIRST + 1, FIRST + widest):
        sheet.cell(HEAD, place).style = "Heads"
    sheet.column_dimensions["A"].width, sheet.column_dimensions["B"].width = LABEL_WIDTH, 16
    for place in range(VALUE, FIRST + widest):
        sheet.column_dimensions[get_column_letter(place)].width = 13
    sheet.freeze_panes = sheet.cell(HEAD + 1, FIRST)
    set_up_page(sheet, head_rows=HEAD)
    return sheet


class _CaseWriter:
    def __init__(
        self,
        sheet: Worksheet,
        cells: Cells,
        column: Column,
        sheets: CaseSheets,
        known: Values,
        worked: dict[Trial, Worked],
        currency: str,
    ) -> None:
        self.sheet, self.cells, self.column, self.currency = sheet, cells, column, currency
        self.sheets, self.known, self.worked = sheets, known, worked
        self._at_hand: tuple[tuple[Trial, Leaf] | None, list[Any]] = (None, [])

    def section(self, trial: Trial, mine: list[Leaf]) -> None:
        """One trial's rows under a heading that names its cases."""
        top = self.sheets.home(mine[0], trial, 0)[1] - 1 - (mine[0].axis is not None)
        count = len(trial.axis)
        put_text(self.sheet, top, 1, trial.title, "Section")
        for place in range(2, FIRST + count):
            self.sheet.cell(top, place).style = "Section"
        before = "best" if trial.parent is None else f"in {trial.parent[0].axis.labels[trial.parent[1]]}:"
        for place, label in zip(range(VALUE, FIRST + count), (before, *trial.axis.labels), strict=True):
            put_text(self.sheet, top, place, label, "Section")
            fit_row(self.sheet, top, label, 9)
        fit_label(self.sheet, top, trial.title, LABEL_WIDTH)
        where = self.sheets.where(trial, self.sheet.title)
        moved = set(self.sheets.cases.moved(trial))
        for leaf in mine:
            if leaf.axis is not None:
                self.cells.gap(self.sheets.home(leaf, trial, 0)[1] - 1)
            for row in range(len(leaf.axis) if leaf.axis is not None else 1):
                self._row(trial, leaf, row, where, leaf in moved)

    def _row(self, trial: Trial, leaf: Leaf, row: int, where: Where, moved: bool) -> None:
        _, at, _, _ = self.sheets.home(leaf, trial, row)
        shown = number_format(leaf.unit, self.currency, flag=leaf.flag, percent=leaf.unit == RATE)
        label = leaf.label if leaf.axis is None else f"{leaf.label}, {leaf.axis.labels[row]}"
        unit = unit_label(leaf.unit, self.currency) or ("0 or 1" if leaf.flag else "number")
        self.cells.label(at, label, LABEL_WIDTH)
        self.cells.text(at, 2, unit, "Label")
        before = "=" + self._before(trial, leaf, row)
        if trial.parent is None:
            self.cells.across(at, VALUE, before, shown, [self._best(leaf, row)])
        if moved:
            assert isinstance(leaf, Line)
            text = self._changed(trial, leaf) or formula(leaf.formula, where, row)
        else:
            text = before
        self.cells.across(at, FIRST, text, shown, self._values(trial, leaf, row))

    def _changed(self, trial: Trial, line: Line) -> str | None:
        """The reference to the changed value, where the line fetches an input that the trial changes."""
        for stated, value in trial.changes.items():
            if line.formula is stated:
                sheet, at, letter, _ = self.sheets.home(value, trial, 0)
                return f"={quoted(sheet)}!{letter}${at}"
        return None

    def _before(self, trial: Trial, leaf: Leaf, row: int) -> str:
        """The reference to a figure in the case the trial starts from."""
        parent = trial.parent[0] if trial.parent else None
        sheet, at, letter, moving = self.sheets.home(leaf, parent, row)
        if moving:
            assert trial.parent is not None
            letter = get_column_letter(FIRST + trial.parent[1])
        text = f"${letter}${at}"
        return text if sheet == self.sheet.title else f"{quoted(sheet)}!{text}"

    def _best(self, leaf: Leaf, row: int) -> float:
        if isinstance(leaf, Data):
            return float(leaf.values[row])
        value = self.known[leaf]
        return float(value[row, 0] if leaf.axis is not None else value[0])

    def _values(self, trial: Trial, leaf: Leaf, row: int) -> list[float]:
        if not isinstance(leaf, Line):
            return [self._best(leaf, row)] * len(trial.axis)
        if (trial, leaf) != self._at_hand[0]:
            self._at_hand = (trial, leaf), self.worked[trial][leaf].tolist()
        values = self._at_hand[1]
        return list(values[row] if leaf.axis is not None else values)


__all__ = ["CaseSheets", "write_case_sheet"]
