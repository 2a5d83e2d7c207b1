"""Sheets of one workbook moved behind those of another, each name with a prefix, references and charts following.

The library has no way to do this: it keeps looks (fonts, fills, formats) in tables of the workbook, by number. Texts that
name a sheet in prose stay as they are. Both workbooks must have the project's named styles.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from copy import copy
from typing import Any

from openpyxl import Workbook
from openpyxl.chart.data_source import NumRef, StrRef
from openpyxl.descriptors.serialisable import Serialisable
from openpyxl.styles.cell_style import StyleArray
from openpyxl.worksheet.worksheet import Worksheet

from roi.workbook.placing import quoted

LONGEST_NAME = 31  # characters of a sheet's name
_OWN_FORMATS = 164  # number formats from here on are the workbook's own (ECMA-376, numFmts)
_SHEET = re.compile(r"\"(?:[^\"]|\"\")*\"|'((?:[^']|'')+)'!|([A-Za-z_][A-Za-z0-9_.]*)!")


def move_sheets(book: Workbook, other: Workbook, titles: Collection[str], prefix: str, colour: str) -> None:
    """Move sheets of `other` to the end of `book`, in their order, with tabs of one colour (RRGGBB).

    titles : the sheets to move, which refer to no other sheet than these
    Raises ValueError for a name that would be too long or that is taken.
    """
    looks = _Looks(book, other)
    for sheet in [sheet for sheet in other.worksheets if sheet.title in titles]:
        title = prefix + sheet.title
        if len(title) > LONGEST_NAME or title.lower() in (taken.lower() for taken in book.sheetnames):
            raise ValueError(f"{title}: too long for a sheet's name, or taken")
        _rewrite(sheet, titles, prefix)
        looks.apply(sheet)
        other._sheets.remove(sheet)
        # The library keeps a sheet's workbook in a private place; no method sets it.
        sheet._parent = book
        book._sheets.append(sheet)
        sheet.title = title
        sheet.sheet_properties.tabColor = colour
        sheet.sheet_view.tabSelected = False


def prefixed(formula: str, titles: Collection[str], prefix: str) -> str:
    """A formula or reference with the prefix before each of these sheets' names; quoted texts stay."""

    def rename(found: re.Match[str]) -> str:
        title = (found[1] or found[2] or "").replace("''", "'")
        return f"{quoted(prefix + title)}!" if title in titles else found[0]

    return _SHEET.sub(rename, formula)


def _rewrite(sheet: Worksheet, titles: Collection[str], prefix: str) -> None:
    """Every reference a sheet holds: in formulas, charts, links, validations and conditional formats."""
    for cell in sheet._cells.values():
        if cell.data_type == "f":
            cell._value = prefixed(cell._value, titles, prefix)
    for chart in sheet._charts:
        for reference in _references(chart):
            reference.f = prefixed(reference.f, titles, prefix)
    for link in sheet._hyperlinks:
        if link.location:
            link.location = prefixed(link.location, titles, prefix)
    for guard in sheet.data_validations.dataValidation:
        for name in ("formula1", "formula2"):
            if text := getattr(guard, name):
                setattr(guard, name, prefixed(text, titles, prefix))
    for rules in sheet.conditional_formatting:
        for rule in rules.rules:
            rule.formula = [prefixed(text, titles, prefix) for text in rule.formula]


def _references(chart: Any) -> Iterator[NumRef | StrRef]:
    """Every reference inside a chart, once: a chart holds itself among its parts."""
    todo, seen = [chart], set()
    while todo:
        part = todo.pop()
        if isinstance(part, list | tuple):
            todo += part
        elif isinstance(part, Serialisable) and id(part) not in seen:
            seen.add(id(part))
            if isinstance(part, NumRef | StrRef):
                yield part
            todo += vars(part).values()


class _Looks:
    """Looks of one workbook as numbers of another's tables."""

    def __init__(self, book: Workbook, other: Workbook) -> None:
        self.book, self.other = book, other
        self._known: dict[tuple[int, ...], StyleArray] = {}

    def apply(self, sheet: Worksheet) -> None:
        """Turn the look of every cell, row and column of a sheet."""
        dimensions = (*sheet.row_dimensions.values(), *sheet.column_dimensions.values())
        for held in (*sheet._cells.values(), *dimensions):
            if held._style is not None:  # rows and columns without a look of their own
                held._style = copy(self._turned(held._style))

    def _turned(self, look: StyleArray) -> StyleArray:
        key = tuple(look)
        if key not in self._known:
            book, other, turned = self.book, self.other, copy(look)
            turned.fontId = book._fonts.add(other._fonts[look.fontId])
            turned.fillId = book._fills.add(other._fills[look.fillId])
            turned.borderId = book._borders.add(other._borders[look.borderId])
            turned.alignmentId = book._alignments.add(other._alignments[look.alignmentId])
            turned.protectionId = book._protections.add(other._protections[look.protectionId])
            turned.xfId = book._named_styles.names.index(other._named_styles.names[look.xfId])
            if look.numFmtId >= _OWN_FORMATS:
                shown = other._number_formats[look.numFmtId - _OWN_FORMATS]
                turned.numFmtId = book._number_formats.add(shown) + _OWN_FORMATS
            self._known[key] = turned
        return self._known[key]


__all__ = ["move_sheets", "prefixed"]
