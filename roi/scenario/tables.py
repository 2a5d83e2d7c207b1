"""A table file (CSV or XLSX) as columns of distinct cells and codes.

A column keeps each distinct cell once and a code a row, so that a million rows cost no more parsing than
their distinct cells. Cells are text, number or date; nothing is evaluated: text that starts with = + - @
stays text. What a cell means is left to `cells`, `dates` and `imposition`. Row numbers are the file's own,
the way a spreadsheet counts them.
"""

from __future__ import annotations

import csv
import datetime as dt
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import count, islice
from pathlib import Path

import numpy as np
import numpy.typing as npt

from roi.scenario.limits import LARGEST_FILE, LONGEST_LINE, MOST_LINES_A_ROW
from roi.scenario.problems import BadInput, Problem
from roi.scenario.telling import tell
from roi.scenario.words import fold, mend_name, quoted

Cell = str | float | dt.date

ROWS_AT_ONCE = 500  # small enough to stay in the processor's cache: 20,000 took twice as long
ROWS_TOLD = 5_000  # after so many more rows, how far the reading has come is told
BYTES_AT_ONCE = 1_000_000
SAVE_AS = 'save it as "CSV UTF-8" from the spreadsheet program'
_UTF_16 = (b"\xff\xfe", b"\xfe\xff")  # how it begins
_SEPARATOR = re.compile('"?sep=([,;\\t])"?', re.IGNORECASE)  # a first line that some programs write and read


@dataclass(frozen=True)
class Column:
    """`cells` are the distinct cells, `codes` (one a row) say which.

    A result worked out once a cell is spread over the rows by `values[codes]`.
    """

    header: str
    cells: tuple[Cell, ...]
    codes: npt.NDArray[np.int32]

    @cached_property
    def texts(self) -> list[str]:
        """The distinct cells as text, white space trimmed."""
        return [as_text(cell) for cell in self.cells]


@dataclass(frozen=True)
class Table:
    """`columns` by our name, `rows` the file's row numbers; `too_long` marks rows longer than the header."""

    columns: dict[str, Column]
    rows: npt.NDArray[np.int64]
    too_long: npt.NDArray[np.bool_]
    notes: tuple[str, ...]


def as_text(cell: Cell) -> str:
    """A cell as a person would type it: whole numbers without a decimal point, dates year first."""
    if isinstance(cell, str):
        return cell.strip()
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() else repr(cell)
    return cell.isoformat()


def read_table(
    path: Path,
    wanted: Mapping[str, str],
    *,
    sheet: str | None,
    where: str,
    held: Iterable[Sequence[object]] | None = None,
) -> Table:
    """The columns of `path` whose header is a value of `wanted`, by the key of `wanted`.

    held : the file's rows where they are at hand, empty ones included; the file itself is then not opened

    Raises
    ------
    BadInput
        The file is missing, too large, not what its name says, empty, or lacks a wanted header (the near one
        is offered); a wanted header stands there twice. `where` is the table of the scenario that names the
        file.
    """
    if held is not None:
        return _of_rows((_row(row) for row in held), path.name, wanted, where)
    if not path.is_file():
        raise BadInput(
            [
                Problem(
                    f"{where} file", f"there is no file {path.name} beside the scenario", "name it as it is"
                )
            ]
        )
    if path.stat().st_size > LARGEST_FILE:
        raise BadInput(
            [Problem(path.name, f"is larger than {LARGEST_FILE // 1_000_000} MB", "split it by period")]
        )
    if path.suffix.lower() == ".xlsx":
        notes: tuple[str, ...] = ()
        rows: Iterable[Sequence[Cell]] = _xlsx_rows(path, sheet, where)
    else:
        encoding, notes = _encoding(path)
        rows = _csv_rows(path, encoding)
    return _of_rows(rows, path.name, wanted, where, notes)


def _of_rows(
    rows: Iterable[Sequence[Cell]],
    file: str,
    wanted: Mapping[str, str],
    where: str,
    notes: tuple[str, ...] = (),
) -> Table:
    below = iter(rows)
    above, first = next(((number, row) for number, row in enumerate(below, start=1) if row), (0, ()))
    header = [as_text(cell) for cell in first]
    if not header:
        raise BadInput([Problem(file, "is empty", "export it again, with its header line")])
    places = _places(header, wanted, file, where)
    table = _gathered(below, above, file, header, places, notes)
    if not table.rows.size:
        raise BadInput([Problem(file, "has a header but no rows", "export it again")])
    return table


def _filled(row: Sequence[Cell]) -> bool:
    return any(not isinstance(cell, str) or cell.strip() for cell in row)


def _places(header: list[str], wanted: Mapping[str, str], file: str, where: str) -> dict[str, int]:
    """Our name -> position in the header."""
    folded = [fold(text) for text in header]
    problems = []
    places = {}
    taken = {fold(text) for text in wanted.values()}
    free = [text for text in header if text and fold(text) not in taken]  # a column is mapped once
    for name, text in wanted.items():
        times = folded.count(fold(text))
        if times == 1:
            places[name] = folded.index(fold(text))
        elif times:
            problems.append(
                Problem(
                    file,
                    f"the header {quoted(text)} stands there {times} times",
                    "rename one of the columns in the file",
                )
            )
        else:
            problems.append(
                Problem(
                    f"{where} columns.{name}",
                    f"{file} has no column {quoted(text)}",
                    mend_name(text, free or filter(None, header)),
                )
            )
    if problems:
        raise BadInput(problems)
    return places


def _gathered(
    below: Iterator[Sequence[Cell]],
    above: int,
    file: str,
    header: list[str],
    places: dict[str, int],
    notes: tuple[str, ...],
) -> Table:
    """Read the rows below the `above` first ones in chunks, so that only distinct cells are held and not every cell."""
    width = len(header)
    seen: dict[str, defaultdict[Cell, int]] = {name: defaultdict(count().__next__) for name in places}
    codes: dict[str, list[npt.NDArray[np.int32]]] = {name: [np.empty(0, np.int32)] for name in places}
    numbers: list[npt.NDArray[np.int64]] = [np.empty(0, np.int64)]
    too_long: list[npt.NDArray[np.bool_]] = [np.empty(0, np.bool_)]
    while chunk := list(islice(below, ROWS_AT_ONCE)):
        number = np.arange(above + 1, above + 1 + len(chunk))
        longer = np.zeros(len(chunk), np.bool_)
        above += len(chunk)
        if any(len(row) != width for row in chunk):
            number = number[[bool(row) for row in chunk]]
            chunk = [row for row in chunk if row]
            longer = np.array([_filled(row[width:]) for row in chunk], np.bool_)
            chunk = [[*row[:width], *[""] * (width - len(row))] for row in chunk]
        numbers.append(number)
        too_long.append(longer)
        cells = list(zip(*chunk, strict=True)) or [()] * width
        for name, place in places.items():
            codes[name].append(np.fromiter(map(seen[name].__getitem__, cells[place]), np.int32, len(chunk)))
        if above % ROWS_TOLD < len(number):
            tell(f"Reading {file}, row {above:,}")
    columns = {
        name: Column(header[place], tuple(seen[name]), np.concatenate(codes[name]))
        for name, place in places.items()
    }
    return Table(columns, np.concatenate(numbers), np.concatenate(too_long), notes)


def _encoding(path: Path) -> tuple[str, tuple[str, ...]]:
    """How the letters of a text file are coded, and what the reader must know of it. Raises BadInput."""
    if _first_line_not_in("utf-8", path) is None:
        return "utf-8-sig", ()
    line = _first_line_not_in("cp1252", path)
    if line is None:
        return "cp1252", (f"{path.name} is not UTF-8 text: read as Windows-1252, check accented letters",)
    raise BadInput([Problem(f"{path.name}, line {line}", "has bytes that are no text", SAVE_AS)])


def _first_line_not_in(encoding: str, path: Path) -> int | None:
    """The first line, from 1, with bytes that `encoding` doesn't know; None where there is none."""
    line = 1
    with path.open("rb") as file:
        # Whole lines, so that no letter is cut in two.
        while block := file.read(BYTES_AT_ONCE) + file.readline(LONGEST_LINE):
            if len(block) == BYTES_AT_ONCE + LONGEST_LINE and not block.endswith(b"\n"):
                if b"\r" not in block[-LONGEST_LINE:]:
                    last = line + block.count(b"\n")
                    what = f"is longer than {LONGEST_LINE:,} bytes"
                    raise BadInput([Problem(f"{path.name}, line {last}", what, SAVE_AS)])
                block += file.readline()
            if b"\0" in block:
                what = "is not a plain text file"
                if line == 1 and block.startswith(_UTF_16):
                    what = 'is text in UTF-16, also called "Unicode text"'
                raise BadInput([Problem(path.name, what, SAVE_AS)])
            try:
                block.decode(encoding)
            except UnicodeDecodeError as fault:
                return line + block.count(b"\n", 0, fault.start)
            line += block.count(b"\n")
    return None


def _csv_rows(path: Path, encoding: str) -> Iterator[Sequence[Cell]]:
    """Rows of a text file, blank ones empty.

    The separator is the one that a line "sep=," at the top states, else whichever of comma, semicolon and tab splits the
    header line most. That line counts as a blank one.
    """
    with path.open(encoding=encoding, newline="") as file:
        stated = _SEPARATOR.fullmatch(file.readline().rstrip("\r\n"))
        file.seek(0)
        header = next((line for line in file if line.strip(',;\t "\r\n')), "")
        delimiter = stated[1] if stated else max(",;\t", key=lambda mark: _width(header, mark))
        file.seek(0)
        last = [0]
        reader = csv.reader(_lines(file, last), delimiter=delimiter, strict=True)
        try:
            if stated:
                next(reader)
                yield []
            for row in reader:
                last[0] = reader.line_num
                # The first cell mostly settles that a row isn't blank.
                yield row if row and (row[0].strip() or "".join(row).strip()) else []
        except csv.Error as fault:
            raise BadInput(
                [
                    Problem(
                        f"{path.name}, line {reader.line_num}",
                        f"can't be split into cells: {fault}",
                        "look for a quotation mark that is not closed, or not doubled within a quoted cell",
                    )
                ]
            ) from None


def _lines(file: Iterable[str], last: list[int]) -> Iterator[str]:
    """The lines of a file, as long as rows end; `last` holds the number of the line with which the latest one ended."""
    for number, line in enumerate(file):
        if number - last[0] > MOST_LINES_A_ROW:
            raise csv.Error(f"a row runs over more than {MOST_LINES_A_ROW:,} lines")
        yield line


def _width(line: str, delimiter: str) -> int:
    """How many cells the separator splits a line into; 0 where it can't be, which reading the file then tells."""
    try:
        return len(next(csv.reader([line], delimiter=delimiter), []))
    except csv.Error:
        return 0


def _xlsx_rows(path: Path, sheet: str | None, where: str) -> Iterator[Sequence[Cell]]:
    # A quarter of a second to load: only where a spreadsheet is read.
    from roi.scenario.package import faults_told, open_book, rows_of

    with faults_told(path, "save the job sheet alone, as CSV"):
        book = open_book(path)
        try:
            names = [page.title for page in book.worksheets]
            if sheet is not None and sheet not in names:
                what = f"{path.name} has no sheet {quoted(sheet)}"
                raise BadInput([Problem(f"{where} sheet", what, mend_name(sheet, names))])
            page = book.worksheets[names.index(sheet) if sheet is not None else 0]
            empty = True
            for values in rows_of(page):
                row = _row(values)
                empty = empty and not row
                yield row
            if empty and sheet is None and len(names) > 1:
                what = f"{path.name} has nothing on its first sheet, {quoted(names[0])}"
                others = ", ".join(quoted(name) for name in names[1:6]) + (", ..." if len(names) > 6 else "")
                raise BadInput([Problem(f"{where} sheet", what, f"state sheet, one of {others}")])
        finally:
            book.close()


def _row(values: Sequence[object]) -> Sequence[Cell]:
    """A row's cells, empty where all of them are."""
    row = [_cell(value) for value in values]
    return row if _filled(row) else []


def _cell(value: object) -> Cell:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return float(value)
    if isinstance(value, dt.datetime):
        return value.date()
    return value if isinstance(value, str | dt.date) else str(value)
