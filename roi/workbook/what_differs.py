"""The What differs sheet: inputs that differ between scenarios, a row each, then ranges, then texts and structure.

Numbers are fetched from each scenario's own Inputs sheet, in the unit stated there, so that they follow when changed; which
rows are listed is fixed when written.
"""

from __future__ import annotations

from collections.abc import Sequence

from openpyxl import Workbook
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from roi.answers.differences import ABSENT, PARTS, Differences, InputDifference
from roi.scenario.stated import StatedInput
from roi.workbook.cells import Results, fit_row, put_formula, put_label, put_text
from roi.workbook.inputs import STATUS, VALUE, section_title
from roi.workbook.member import Member
from roi.workbook.placing import HEAD, quoted
from roi.workbook.styles import number_format, set_up_page
from roi.workbook.tongue import Spoken

TITLE = "What differs"
_WIDTHS = {"Input": 64, "Key": 44, "Unit": 18, "Differs in": 24}  # characters
_VALUE = 20
_KEY, _UNIT, _PARTS, _FIRST = 2, 3, 4, 5  # columns
_COLUMN = dict(zip(PARTS, range(VALUE, STATUS + 1), strict=True))  # on Inputs


def write_what_differs(
    book: Workbook,
    members: Sequence[Member],
    differing: Differences,
    results: Results,
) -> Worksheet:
    """Write the sheet, at the end of the workbook."""
    writer = _Writer(book.create_sheet(TITLE), members, results)
    sheet = writer.sheet
    put_text(sheet, 1, 1, "What differs", "Headline")
    listed = "1 input differs" if len(differing.inputs) == 1 else f"{len(differing.inputs):,} inputs differ"
    said = f"{listed} or stand in some scenarios only; {differing.equal:,} are the same in all and not listed (as delivered)."
    put_text(sheet, 2, 1, f"{said} {ABSENT}: not in that scenario.", "Note")
    for place, head in enumerate((*_WIDTHS, *(member.label for member in members)), 1):
        put_text(sheet, HEAD, place, head, "Heads" if place >= _FIRST else "Head")
        fit_row(sheet, HEAD, head, _VALUE * 4 // 5)
        sheet.column_dimensions[get_column_letter(place)].width = _WIDTHS.get(head, _VALUE)
    row = writer.inputs(HEAD + 1, differing.inputs)
    row = writer.ranges(row + 1, differing.inputs)
    writer.texts(row + 1, differing)
    sheet.freeze_panes = sheet.cell(HEAD + 1, 2)
    set_up_page(sheet, head_rows=HEAD)
    return sheet


class _Writer:
    def __init__(self, sheet: Worksheet, members: Sequence[Member], results: Results) -> None:
        self.sheet, self.members, self.results = sheet, members, results

    def section(self, row: int, text: str) -> int:
        for place in range(1, _FIRST + len(self.members)):
            self.sheet.cell(row, place).style = "Section"
        put_text(self.sheet, row, 1, text, "Section")
        return row + 1

    def inputs(self, row: int, differing: Sequence[InputDifference]) -> int:
        """One row an input, in sections: its value in each scenario."""
        section: tuple[str, ...] = ()
        for one in differing:
            if one.section != section:
                section = one.section
                row = self.section(row, self._title(one))
            parts = ", ".join(one.parts) or "in some only"
            self._row(row, one, "value", one.label)
            put_text(self.sheet, row, _PARTS, parts, "Label")
            row += 1
        if not differing:
            put_text(self.sheet, row, 1, "No input differs.", "Label")
            row += 1
        return row

    def ranges(self, row: int, differing: Sequence[InputDifference]) -> int:
        """Low, high and status of each input in which they differ."""
        apart = [(one, part) for one in differing for part in one.parts if part != "value"]
        if apart:
            row = self.section(row, "Ranges and status that differ")
        for one, part in apart:
            self._row(row, one, part, f"{one.label}: {part}")
            put_text(self.sheet, row, _PARTS, part, "Label")
            row += 1
        return row

    def texts(self, row: int, differing: Differences) -> None:
        """Texts and structure, fixed when written."""
        if differing.texts:
            row = self.section(row, "Texts and structure that differ (fixed when written)")
        for one in differing.texts:
            put_label(self.sheet, row, one.label, _WIDTHS["Input"])
            put_text(self.sheet, row, _UNIT, "text", "Label")
            for i, text in enumerate(one.texts):
                put_text(self.sheet, row, _FIRST + i, text, "Label")
                fit_row(self.sheet, row, text, _VALUE * 4 // 5)
            row += 1

    def _title(self, one: InputDifference) -> str:
        held = next(
            member for member, stated in zip(self.members, one.stated, strict=True) if stated is not None
        )
        return section_title(held.study.scenario, one.key)

    def _row(self, row: int, one: InputDifference, part: str, label: str) -> None:
        sheet = self.sheet
        put_label(sheet, row, label, _WIDTHS["Input"])
        put_text(sheet, row, _KEY, one.key, "Label")
        unit = "text" if part == "status" else one.unit
        put_text(sheet, row, _UNIT, unit, "Label")
        fit_row(sheet, row, unit, _WIDTHS["Unit"] * 4 // 5)
        for i, (member, stated) in enumerate(zip(self.members, one.stated, strict=True)):
            if stated is None:
                put_text(sheet, row, _FIRST + i, ABSENT, "Right")
                continue
            source = quoted(member.prefix + "Inputs")
            text = f"={source}!${get_column_letter(_COLUMN[part])}${member.row_of(stated.key)}"
            shown = "@" if part == "status" else _shown(stated, member.study.scenario.currency)
            put_formula(
                sheet, row, _FIRST + i, text, _value(member, stated, part), shown, self.results, "Right"
            )


def _value(member: Member, stated: StatedInput, part: str) -> float | str:
    if part == "status":
        return Spoken(stated.status)  # fetched, and on Inputs it is as in every language
    if part == "value" and stated.key in member.changes:
        return member.changes[stated.key] / stated.factor
    return {"value": stated.best, "low": stated.low, "high": stated.high}[part]


def _shown(stated: StatedInput, currency: str) -> str:
    if abs(stated.best) < 0.1 and stated.best and not stated.percent:
        return "0.######"
    return number_format(stated.unit, currency, percent=stated.percent)
