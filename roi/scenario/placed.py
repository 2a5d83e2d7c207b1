"""The rows of a sheet of an .xlsx package, each in the place it states.

The library drops, without a word, a row whose number isn't above the one before it, and the first of two cells of one place. Here
both are refused, since which of two holds can't be told. Limits of size are left to `package`. Rows count from 1.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any


class Unfit(Exception):
    """A workbook that can't be taken as it is; says why, in words that follow the file's name."""


def placed(page: Any) -> Iterator[tuple[Any, ...]]:
    """The rows of a sheet, each where it says it stands, empty ones in between.

    Raises Unfit for a place that is taken, and for a value that is not of the kind its cell states.
    """
    from openpyxl.worksheet._reader import WorkSheetParser

    book, above, on = page.parent, 0, f"on the sheet {page.title[:40]!r}"
    with page._get_source() as part:
        parser = WorkSheetParser(
            part, page._shared_strings, data_only=True, epoch=book.epoch,
            date_formats=book._date_formats, timedelta_formats=book._timedelta_formats,
        )  # fmt: skip
        parse = parser.parse_row
        parser.parse_row = lambda row: _row_of(parser, parse, row, on)
        for number, cells in parser.parse():
            if number <= above:
                raise Unfit(f"has row {number:,} where a row below {above:,} belongs, {on}")
            for _ in range(above + 1, number):
                yield ()
            above, column, row = number, 0, [None] * max((cell["column"] for cell in cells), default=0)
            for cell in cells:
                if cell["column"] <= column or cell["row"] != number:
                    raise Unfit(f"has a cell out of its place in row {number:,} {on}")
                column = cell["column"]
                row[column - 1] = cell["value"]
            yield tuple(row)


def _row_of(parser: Any, parse: Callable[[Any], Any], row: Any, on: str) -> Any:
    """What the library makes of a row, or which of its cells it can make nothing of."""
    try:
        return parse(row)
    except (LookupError, ValueError, TypeError, ArithmeticError):
        for cell in row:
            try:
                parser.parse_cell(cell)
            except (LookupError, ValueError, TypeError, ArithmeticError):
                place, said = str(cell.get("r"))[:12], " ".join(cell.itertext())[:40]
                where = place if place.isalnum() else repr(place)
                kind = {"s": "text", "b": "yes or no", "d": "date"}.get(cell.get("t"), "number")
                raise Unfit(
                    f"is not a readable .xlsx workbook: its cell {where} {on} is to hold a {kind}, and holds {said!r}"
                ) from None
        number = str(row.get("r"))[:12]
        raise Unfit(f"is not a readable .xlsx workbook: {number!r} is no number of a row, {on}") from None


__all__ = ["Unfit", "placed"]
