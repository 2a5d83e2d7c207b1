"""A column of lines written as a sheet: label, unit, value, note; or with a block's rows along the columns."""

from __future__ import annotations

from openpyxl import Workbook
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from roi.engine.column import Column, Heading, Line
from roi.engine.evaluate import Values
from roi.engine.expression import Axis, Data
from roi.engine.formula import formula
from roi.units.quantity import unit_label
from roi.units.unit import Unit
from roi.workbook.cells import QuickCells, Results, fit_label, fit_row, put_text
from roi.workbook.placing import HEAD, VALUE, Places
from roi.workbook.ready import Cells, MakeCells
from roi.workbook.styles import number_format, set_up_page

LABEL_WIDTH, NOTE_WIDTH = 64, 60  # characters
RATE = Unit.read("1/year")  # in columns of lines a bare yearly rate is interest or growth


def write_column(
    book: Workbook,
    column: Column,
    places: Places,
    values: Values,
    results: Results,
    currency: str,
    make_cells: MakeCells | None = None,
) -> Worksheet:
    """Write one laid-out column on a sheet of its own, and remember each formula's result.

    make_cells : how the rows of a sheet are written; None: as cells at once
    """
    sheet = book.create_sheet(column.title)
    wide = (
        max((len(p.axis) for p in column.body if not isinstance(p, Heading) and p.axis), default=0)
        if column.across
        else 0
    )
    last = VALUE + wide + 1  # the note's column
    put_text(sheet, 1, 1, column.title, "Headline")
    put_text(sheet, 2, 1, column.note, "Note")
    for place, head in ((1, "Line"), (2, "Unit"), (VALUE, "Value"), (last, "Note")):
        put_text(sheet, HEAD, place, head, "Head")
    if column.across:
        axis = next(p.axis for p in column.body if not isinstance(p, Heading) and p.axis is not None)
        for i in range(wide):
            label = _head(axis, i) if i < len(axis) else ""
            put_text(sheet, HEAD, VALUE + 1 + i, label, "Heads")
            fit_row(sheet, HEAD, label, 10)
    mine = results.setdefault(sheet.title, {})
    cells = make_cells(sheet) if make_cells is not None else QuickCells(sheet, mine)
    writer = _Writer(sheet, cells, column, places, values, currency, last)
    row = HEAD + 1
    if column.inputs:
        row = writer.section(
            row, "Inputs used here", "Fetched from the Inputs sheet and turned into the units below."
        )
        for line in column.inputs:
            row = writer.part(row, line)
    for place, part in enumerate(column.body):
        if isinstance(part, Heading):
            row = writer.section(row, part.text, part.note)
            writer.rename(row - 1, _next_axis(column.body[place + 1 :]))
        else:
            row = writer.part(row, part)
    sheet.column_dimensions["A"].width = LABEL_WIDTH
    sheet.column_dimensions["B"].width = 16
    for i in range(VALUE, last):
        sheet.column_dimensions[get_column_letter(i)].width = 14 if column.across else 16
    sheet.column_dimensions[get_column_letter(last)].width = NOTE_WIDTH
    sheet.freeze_panes = sheet.cell(HEAD + 1, VALUE)
    set_up_page(sheet, head_rows=HEAD, landscape=column.across)
    return sheet


def _head(axis: Axis, row: int) -> str:
    """The heading of one row of an axis. A method's name stays as the shop writes it: sentences fetch it from there."""
    label = axis.labels[row]
    return label if axis.as_written else label[:1].upper() + label[1:]


def _next_axis(parts: list[Line | Heading | Data]) -> Axis | None:
    """What the first block of a section runs over."""
    for part in parts:
        if isinstance(part, Heading):
            return None
        if part.axis is not None:
            return part.axis
    return None


class _Writer:
    def __init__(
        self,
        sheet: Worksheet,
        cells: Cells,
        column: Column,
        places: Places,
        values: Values,
        currency: str,
        last: int,
    ) -> None:
        self.sheet, self.cells, self.column, self.places, self.values = sheet, cells, column, places, values
        self.currency, self.last = currency, last
        self.where = places.where(column.title)
        self.axis = _next_axis([part for part in column.body if not isinstance(part, Heading)])

    def section(self, row: int, text: str, note: str) -> int:
        for c in range(1, self.last + 1):
            self.sheet.cell(row, c).style = "Section"
        put_text(self.sheet, row, 1, text, "Section")
        fit_label(self.sheet, row, text, LABEL_WIDTH)
        if note:
            put_text(self.sheet, row, self.last, note, "Aside")
            fit_row(self.sheet, row, note, NOTE_WIDTH)
        return row + 1

    def rename(self, row: int, axis: Axis | None) -> None:
        """Name a section's columns, where they run over something else than the columns above."""
        if not self.column.across or axis is None or axis is self.axis:
            return
        self.axis = axis
        for i in range(len(axis)):
            label = _head(axis, i)
            put_text(self.sheet, row, VALUE + 1 + i, label, "Section")
            fit_row(self.sheet, row, label, 10)

    def part(self, row: int, part: Line | Data) -> int:
        shown = number_format(part.unit, self.currency, flag=part.flag, percent=part.unit == RATE)
        if part.label == "Year":
            shown = "0"
        unit = unit_label(part.unit, self.currency) or ("0 or 1" if part.flag else "number")
        count = 1 if part.axis is None else len(part.axis)
        down = part.axis is not None and not self.column.across
        row = self.places.cell(part)[1]
        if down:
            self.cells.gap(row - 1)
        for i in range(count):
            _, r, c = self.places.cell(part, i)
            if i == 0 or down:
                label = part.label if not down else f"{part.label}, {part.axis.labels[i]}"  # type: ignore[union-attr]
                self.cells.label(r, label, LABEL_WIDTH)
                self.cells.text(r, 2, unit, "Label")
            if isinstance(part, Data):
                self.cells.number(r, c, float(part.values[i]), "Data", shown)
            else:
                value = float(self.values[part].reshape(count, -1)[i, 0])
                self.cells.across(r, c, formula(part.formula, self.where, i), shown, [value])
        if isinstance(part, Line) and (part.note or part.source):
            note = "; ".join(t for t in (part.note, part.source) if t)
            self.cells.note(row, self.last, note, NOTE_WIDTH)
        return row + (count if down else 1)
