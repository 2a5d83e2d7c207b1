"""A table file (CSV or XLSX) as columns of distinct cells and codes.

A column keeps each distinct cell once and a code a row, so that a million rows cost no more parsing than
their distinct cells. Cells are text, number or date; nothing is evaluated: text that starts with = + - @
stays text. What a cell means is left to `cells`, `dates` and `imposition`. Row numbers are the file's own,
the way a spreadsheet counts them.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import warnings
import zipfile
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import count, islice
from pathlib import Path
from xml.etree.ElementTree import ParseError

import numpy as np
import numpy.typing as npt

from roi.scenario.problems import BadInput, Problem
from roi.scenario.words import fold, mend_name, quoted

Cell = str | float | dt.date

LARGEST_FILE = 200_000_000  # bytes
LARGEST_UNPACKED = 2_000_000_000  # bytes; a small .xlsx can unpack to far more than it weighs
ROWS_AT_ONCE = 500  # small enough to stay in the processor's cache: 20,000 took twice as long


@dataclass(frozen=True)
class Column:
    """`cells` are the distinct cells, `codes` (one a row) say which.

    A result worked out once a cell is spread over the rows by `values[codes]`.
    """

    header: str
    cells: tuple[Cell, ...]
    codes: npt.NDArray[np.int64]

    @property
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
        text, notes = _decoded(path)
        rows = _csv_rows(path, text)
    return _of_rows(rows, path.name, wanted, where, notes)


def _of_rows(
    rows: Iterable[Sequence[Cell]],
    file: str,
    wanted: Mapping[str, str],
    where: str,
    notes: tuple[str, ...] = (),
) -> Table:
    numbered = ((number, row) for number, row in enumerate(rows, start=1) if row)
    header = [as_text(cell) for cell in next(numbered, (0, ()))[1]]
    if not header:
        raise BadInput([Problem(file, "is empty", "export it again, with its header line")])
    places = _places(header, wanted, file, where)
    table = _gathered(numbered, header, places, notes)
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
                    mend_name(text, filter(None, header)),
                )
            )
    if problems:
        raise BadInput(problems)
    return places


def _gathered(
    numbered: Iterator[tuple[int, Sequence[Cell]]],
    header: list[str],
    places: dict[str, int],
    notes: tuple[str, ...],
) -> Table:
    """Read on in chunks, so that only distinct cells are held and not the file's every cell."""
    width = len(header)
    seen: dict[str, defaultdict[Cell, int]] = {name: defaultdict(count().__next__) for name in places}
    codes: dict[str, list[npt.NDArray[np.int64]]] = {name: [np.empty(0, np.int64)] for name in places}
    numbers: list[int] = []
    too_long: list[bool] = []
    while chunk := list(islice(numbered, ROWS_AT_ONCE)):
        numbers += [number for number, _ in chunk]
        too_long += [len(row) > width and _filled(row[width:]) for _, row in chunk]
        whole = [row if len(row) == width else [*row[:width], *[""] * (width - len(row))] for _, row in chunk]
        cells = list(zip(*whole, strict=True))
        for name, place in places.items():
            codes[name].append(np.fromiter(map(seen[name].__getitem__, cells[place]), np.int64, len(whole)))
    columns = {
        name: Column(header[place], tuple(seen[name]), np.concatenate(codes[name]))
        for name, place in places.items()
    }
    return Table(columns, np.array(numbers, np.int64), np.array(too_long, np.bool_), notes)


def _decoded(path: Path) -> tuple[str, tuple[str, ...]]:
    raw = path.read_bytes()
    mend = 'save it as "CSV UTF-8" from the spreadsheet program'
    if b"\0" in raw:
        raise BadInput([Problem(path.name, "is not a plain text file", mend)])
    try:
        return raw.decode("utf-8-sig"), ()
    except UnicodeDecodeError:
        pass
    try:
        return raw.decode("cp1252"), (
            f"{path.name} is not UTF-8 text: read as Windows-1252, check accented letters",
        )
    except UnicodeDecodeError as fault:
        line = raw.count(b"\n", 0, fault.start) + 1
        raise BadInput([Problem(f"{path.name}, line {line}", "has bytes that are no text", mend)]) from None


def _csv_rows(path: Path, text: str) -> Iterator[Sequence[Cell]]:
    """Rows of the text, blank ones empty.

    The separator is whichever of comma, semicolon and tab splits the header line most.
    """
    header = next((line for line in io.StringIO(text) if line.strip(',;\t "')), "")
    delimiter = max(",;\t", key=lambda mark: len(next(csv.reader([header], delimiter=mark), [])))
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        for row in reader:
            yield row if "".join(row).strip() else []
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


def _xlsx_rows(path: Path, sheet: str | None, where: str) -> Iterator[Sequence[Cell]]:
    import openpyxl  # a quarter of a second to load: only where a spreadsheet is read
    from openpyxl.utils.exceptions import InvalidFileException

    try:
        with zipfile.ZipFile(path) as parts:
            unpacked = sum(part.file_size for part in parts.infolist())
        if unpacked > LARGEST_UNPACKED:
            raise BadInput(
                [Problem(path.name, "unpacks to more than 2 GB", "save the job sheet alone, as CSV")]
            )
        with warnings.catch_warnings():
            # The library warns about styles and validations it drops; neither touches the values read here.
            warnings.simplefilter("ignore")
            book = openpyxl.load_workbook(path, read_only=True, data_only=True)
            try:
                names = [page.title for page in book.worksheets]
                if sheet is not None and sheet not in names:
                    raise BadInput(
                        [
                            Problem(
                                f"{where} sheet",
                                f"{path.name} has no sheet {quoted(sheet)}",
                                mend_name(sheet, names),
                            )
                        ]
                    )
                page = book.worksheets[names.index(sheet) if sheet is not None else 0]
                page.reset_dimensions()  # some exporters write a wrong extent, which would cut rows off
                for values in page.iter_rows(values_only=True):
                    yield _row(values)
            finally:
                book.close()
    except (zipfile.BadZipFile, InvalidFileException, KeyError, IndexError, ValueError, ParseError) as fault:
        raise BadInput(
            [
                Problem(
                    path.name,
                    f"is not a readable .xlsx workbook ({fault})",
                    "open it in a spreadsheet program and save it as .xlsx",
                )
            ]
        ) from None


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
