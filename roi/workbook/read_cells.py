"""Sheets of a workbook anyone may have edited and saved, as rows of plain cells; what can't be read is told by sheet and cell.

Only values are read, of the sheets asked for: formulas count by the result stored beside them, and macros, links and
everything else in the package stay unread. What cells mean is left to `read_back`, `read_forms` and `read_filled_in`.
"""

from __future__ import annotations

import datetime as dt
import difflib
import re
from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path
from typing import Any

from roi.scenario.package import faults_told, open_book, rows_of
from roi.scenario.problems import BadInput, Problem
from roi.workbook.read_typed import Unclear, read_typed
from roi.workbook.read_typed import said as no_number

MOST_ROWS = 200_000  # of a sheet: far more than any that is read
HEADINGS_WITHIN = 30  # rows from the top in which headings are looked for
ENDINGS = (".xlsx", ".xlsm")
NO_UNIT = "number"  # what stands beside a number without a unit
_SAVE_AS = "open it in a spreadsheet program and save it as .xlsx"
_DATE_WORDS = "write it year-month-day, like 2026-03-31, or leave the cell empty"


class Page:
    """A sheet's cells. Rows and columns are counted from 1, as on the sheet; cells beyond the last are empty."""

    def __init__(self, file: str, title: str, rows: list[tuple[Any, ...]]) -> None:
        self.file, self.title, self._rows = file, title, rows
        self.heads: dict[str, int] = {}
        self.head_row = 0
        self.currency = ""  # of the workbook, for amounts typed with its sign

    def find_heads(
        self, wanted: Iterable[str], problems: list[Problem], optional: Iterable[str] = ()
    ) -> bool:
        """Find the row of headings and the column of each; a problem for each one missing. Whether all are there.

        Of a heading in two lines one may be in another language.
        """
        wanted, optional = list(wanted), list(optional)
        best: dict[str, int] = {}
        for row in range(1, min(len(self._rows), HEADINGS_WITHIN) + 1):
            found: dict[str, int] = {}
            for column, cell in enumerate(self._rows[row - 1], 1):
                lines = [line.strip() for line in cell.splitlines()] if isinstance(cell, str) else []
                if head := next((line for line in reversed(lines) if line in (*wanted, *optional)), ""):
                    found.setdefault(head, column)
            if len(found) > len(best):
                best, self.head_row = found, row
        self.heads = best
        missing = [head for head in wanted if head not in best]
        if missing:
            named = ", ".join(f'"{head}"' for head in missing)
            at = f"{self.file}, {self.title}" + (f" row {self.head_row}" if best else "")
            mend = f"headings stand in one row: {', '.join(wanted)}; write them back as they were"
            problems.append(Problem(at, f"the heading {named} is missing", mend))
        return not missing

    def rows(self) -> range:
        """The rows below the headings."""
        return range(self.head_row + 1, len(self._rows) + 1)

    def cells(self, row: int) -> tuple[Any, ...]:
        """A row's cells as they are."""
        return self._rows[row - 1] if 0 < row <= len(self._rows) else ()

    def value(self, row: int, column: int | str) -> Any:
        """A cell's value, "" where it is empty; a heading stands for its column."""
        place = self.heads.get(column, 0) if isinstance(column, str) else column
        cells = self._rows[row - 1] if row <= len(self._rows) else ()
        value = cells[place - 1] if 0 < place <= len(cells) else None
        return "" if value is None or (isinstance(value, str) and not value.strip()) else value

    def where(self, row: int, column: int | str) -> str:
        """A cell, such as "Inputs!C12"."""
        from openpyxl.utils import get_column_letter

        place = self.heads.get(column, 1) if isinstance(column, str) else column
        return f"{self.title}!{get_column_letter(place)}{row}"

    def at(self, row: int, column: int | str) -> str:
        """File and cell, for a problem."""
        return f"{self.file}, {self.where(row, column)}"

    def text(self, row: int, column: int | str) -> str:
        """A cell as one line of text."""
        return as_text(self.value(row, column))

    def number(
        self, row: int, column: int | str, problems: list[Problem], *, what: str = "", unit: str | None = None
    ) -> float | None:
        """A number, None and a problem where the cell holds none; `what` is added to what is said of it.

        unit : the number's, where it is not the one below the heading "Unit"
        """
        value = self.value(row, column)
        if isinstance(value, (int, float)) and not isinstance(value, bool):
            return value
        unit = self.text(row, "Unit").removesuffix(NO_UNIT) if unit is None else unit
        try:
            if isinstance(value, str) and value and not value.startswith("#"):
                return read_typed(value, unit, self.currency)
            said, mend = no_number(value, unit, as_text(value))
        except Unclear as wrong:
            said, mend = str(wrong), wrong.mend
        problems.append(Problem(self.at(row, column) + (f" ({what})" if what else ""), said, mend))
        return None

    def date(self, row: int, column: int | str, problems: list[Problem], *, what: str = "") -> str:
        """A date as YYYY-MM-DD, "" where the cell is empty or, with a problem, where it holds no date."""
        value = self.value(row, column)
        if isinstance(value, (dt.date, dt.datetime)):
            return value.isoformat()[:10]
        text = as_text(value)
        if not text:
            return ""
        if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
            with suppress(ValueError):
                return dt.date.fromisoformat(text).isoformat()
        at = self.at(row, column) + (f" ({what})" if what else "")
        problems.append(Problem(at, f"{text!r} is not a date", _DATE_WORDS))
        return ""

    def choice(
        self, row: int, column: int | str, choices: Iterable[str], problems: list[Problem], *, what: str = ""
    ) -> str:
        """One of a few words; the first of them, with a problem, where the cell holds another."""
        listed, text = list(choices), self.text(row, column)
        if text.lower() in listed:
            return text.lower()
        near = difflib.get_close_matches(text.lower(), listed, 1)
        said = f"{text!r} is not known here" if text else "is empty"
        mend = (f'was "{near[0]}" meant? ' if near else "") + f"one of {', '.join(listed)}"
        problems.append(Problem(self.at(row, column) + (f" ({what})" if what else ""), said, mend))
        return listed[0]


def as_text(value: Any) -> str:
    """A cell as one line of text: whole numbers without a decimal point, dates year first."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    if isinstance(value, (dt.date, dt.datetime)):
        return value.isoformat()[:10]
    return " ".join(str(value).split())


_FORMULA = re.compile(rb"<(?:\w+:)?f[ />]")


class Sheets:
    """The sheets of a workbook, read when asked for. Raises BadInput where the file can't be opened."""

    def __init__(self, path: Path) -> None:
        self.path, self.file = path, path.name
        book = _guarded(path, lambda: open_book(path))
        self._book = book
        self.currency = ""  # of the workbook, once it is known
        self.titles: list[str] = [sheet.title for sheet in book.worksheets]

    def __enter__(self) -> Sheets:
        return self

    def __exit__(self, *_: object) -> None:
        self._book.close()

    def page(self, title: str, problems: list[Problem], *, why: str) -> Page | None:
        """A sheet by its name; None and a problem where there is none. `why` says what stands on it."""
        if title not in self.titles:
            folded = {name.lower(): name for name in self.titles}
            near = difflib.get_close_matches(title.lower(), folded, 1, cutoff=0.75)
            mend = (
                f'was "{folded[near[0]]}" it? Name it {title} again'
                if near
                else "take it from the workbook as written"
            )
            problems.append(Problem(self.file, f'has no sheet "{title}", which holds {why}', mend))
            return None
        page = Page(self.file, title, _guarded(self.path, lambda: self._cells(title, problems)))
        page.currency = self.currency
        return page

    def formulas(self, title: str) -> int:
        """How many formulas a sheet holds."""
        sheet = self._book[title]
        return len(
            _FORMULA.findall(_guarded(self.path, lambda: self._book._archive.read(sheet._worksheet_path)))
        )

    def _cells(self, title: str, problems: list[Problem]) -> list[tuple[Any, ...]]:
        rows: list[tuple[Any, ...]] = []
        for row in rows_of(self._book[title]):
            rows.append(row)
            if len(rows) > MOST_ROWS:
                what = f"has more than {MOST_ROWS:,} rows"
                problems.append(Problem(f"{self.file}, {title}", what, "take out what is not used"))
                break
        return rows


def _guarded(path: Path, what: Callable[[], Any]) -> Any:
    """What a step of reading gives; every way in which a package can be broken is a problem with a mend."""
    if path.suffix.lower() not in ENDINGS:
        raise BadInput([Problem(path.name, f"a {path.suffix} file isn't read", _SAVE_AS)])
    if not path.is_file():
        near = difflib.get_close_matches(path.name, [p.name for p in path.parent.glob("*")], 1)
        raise BadInput(
            [Problem(str(path), "does not exist", f"was '{near[0]}' meant?" if near else "check the path")]
        )
    with faults_told(path, "take it from the workbook as written"):
        return what()


__all__ = ["Page", "Sheets", "as_text"]
