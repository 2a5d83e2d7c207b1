"""Sheets of a workbook anyone may have edited and saved, as rows of plain cells; what can't be read is told by sheet and cell.

Only values are read, of the sheets asked for: formulas count by the result stored beside them, and macros, links and
everything else in the package stay unread. What cells mean is left to `read_back`, `read_forms` and `read_filled_in`.
"""

from __future__ import annotations

import datetime as dt
import difflib
import re
import warnings
import zipfile
from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import ParseError

from roi.scenario.problems import BadInput, Problem

LARGEST_FILE = 200_000_000  # bytes
LARGEST_UNPACKED = 2_000_000_000  # bytes; a small .xlsx can unpack to far more than it weighs
MOST_ROWS = 200_000  # of a sheet: far more than any that is read
HEADINGS_WITHIN = 30  # rows from the top in which headings are looked for
ENDINGS = (".xlsx", ".xlsm")
_SAVE_AS = "open it in a spreadsheet program and save it as .xlsx"
_DATE_WORDS = "write it year-month-day, like 2026-03-31, or leave the cell empty"


class Page:
    """A sheet's cells. Rows and columns are counted from 1, as on the sheet; cells beyond the last are empty."""

    def __init__(self, file: str, title: str, rows: list[tuple[Any, ...]]) -> None:
        self.file, self.title, self._rows = file, title, rows
        self.heads: dict[str, int] = {}
        self.head_row = 0

    def find_heads(
        self, wanted: Iterable[str], problems: list[Problem], optional: Iterable[str] = ()
    ) -> bool:
        """Find the row of headings and the column of each; a problem for each one missing. Whether all are there."""
        wanted, optional = list(wanted), list(optional)
        best: dict[str, int] = {}
        for row in range(1, min(len(self._rows), HEADINGS_WITHIN) + 1):
            found: dict[str, int] = {}
            for column, cell in enumerate(self._rows[row - 1], 1):
                if isinstance(cell, str) and cell.strip() in (*wanted, *optional):
                    found.setdefault(cell.strip(), column)
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

    def number(self, row: int, column: int | str, problems: list[Problem], *, what: str = "") -> float | None:
        """A number, None and a problem where the cell holds none; `what` is added to what is said of it."""
        value = self.value(row, column)
        if isinstance(value, (int, float)) and not isinstance(value, bool):
            return value
        said, mend = _no_number(value, self.text(row, "Unit"))
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


def _no_number(value: Any, unit: str) -> tuple[str, str]:
    """What is wrong with a cell that should hold a number, and the mend."""
    per = f" The unit, {unit}, stands beside it." if unit else ""
    if value == "":
        return "is empty, or holds a formula without a stored result", f"type the number.{per}"
    if isinstance(value, (dt.date, dt.datetime)):
        return (
            f"{as_text(value)} is a date, not a number",
            f"set the cell's format to a number and type it.{per}",
        )
    if isinstance(value, str) and value.startswith("#"):
        return f"{value} is an error, not a number", f"type the number.{per}"
    digits = isinstance(value, str) and re.search(r"\d", value)
    also = " Write digits and this program's own decimal mark only." if digits else ""
    return f"{as_text(value)!r} is text, not a number", f"type the number alone.{also}{per}"


_FORMULA = re.compile(rb"<(?:\w+:)?f[ />]")


class Sheets:
    """The sheets of a workbook, read when asked for. Raises BadInput where the file can't be opened."""

    def __init__(self, path: Path) -> None:
        self.path, self.file = path, path.name
        book = _guarded(path, lambda: _open(path))
        self._book = book
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
        return Page(self.file, title, _guarded(self.path, lambda: self._cells(title, problems)))

    def formulas(self, title: str) -> int:
        """How many formulas a sheet holds."""
        sheet = self._book[title]
        return len(
            _FORMULA.findall(_guarded(self.path, lambda: self._book._archive.read(sheet._worksheet_path)))
        )

    def _cells(self, title: str, problems: list[Problem]) -> list[tuple[Any, ...]]:
        sheet = self._book[title]
        sheet.reset_dimensions()  # some programs write a wrong extent, which would cut rows off
        rows: list[tuple[Any, ...]] = []
        for row in sheet.iter_rows(values_only=True):
            rows.append(row)
            if len(rows) > MOST_ROWS:
                what = f"has more than {MOST_ROWS:,} rows"
                problems.append(Problem(f"{self.file}, {title}", what, "take out what is not used"))
                break
        return rows


def _open(path: Path) -> Any:
    import openpyxl

    return openpyxl.load_workbook(path, read_only=True, data_only=True, keep_links=False)


def _guarded(path: Path, what: Callable[[], Any]) -> Any:
    """What a step of reading gives; every way in which a package can be broken is a problem with a mend."""
    from openpyxl.utils.exceptions import InvalidFileException

    if path.suffix.lower() not in ENDINGS:
        raise BadInput([Problem(path.name, f"a {path.suffix} file isn't read", _SAVE_AS)])
    if not path.is_file():
        near = difflib.get_close_matches(path.name, [p.name for p in path.parent.glob("*")], 1)
        raise BadInput(
            [Problem(str(path), "does not exist", f"was '{near[0]}' meant?" if near else "check the path")]
        )
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise BadInput([Problem(path.name, f"is larger than {LARGEST_FILE // 1_000_000} MB", _SAVE_AS)])
        with zipfile.ZipFile(path) as parts:
            if sum(part.file_size for part in parts.infolist()) > LARGEST_UNPACKED:
                raise BadInput(
                    [Problem(path.name, "unpacks to more than 2 GB", "take it from the workbook as written")]
                )
        with warnings.catch_warnings():
            # The library warns of what it drops; values are all that is read.
            warnings.simplefilter("ignore")
            return what()
    except (zipfile.BadZipFile, InvalidFileException, KeyError, IndexError, ValueError, ParseError) as fault:
        raise BadInput(
            [Problem(path.name, f"is not a readable .xlsx workbook ({fault})", _SAVE_AS)]
        ) from None
    except OSError as wrong:
        mend = "check that the file may be read and is not locked by another program"
        raise BadInput([Problem(str(path), f"can't be read: {wrong.strerror or wrong}", mend)]) from None


__all__ = ["Page", "Sheets", "as_text"]
