"""A finished workbook opened for inspection: its cells (formulas and stored results), formulas and parts.

A formula's shape is its text with every reference written as a distance, so that copies along a row share one
shape and each shape is looked at once.
"""

from __future__ import annotations

import re
import zipfile
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import Any
from xml.sax.saxutils import unescape

from openpyxl import load_workbook
from openpyxl.utils.cell import column_index_from_string
from openpyxl.worksheet.formula import ArrayFormula, DataTableFormula

from tests.parity.recalculate import sheet_parts

QUOTED_TEXT = re.compile(r'"(?:[^"]|"")*"')
REFERENCE = re.compile(
    r"(?:(?P<sheet>'(?:[^']|'')+'|[A-Za-z_][\w.]*)!)?"
    r"(?<![\w.])(?P<first>\$?[A-Z]{1,3}\$?[0-9]+)(?::(?P<last>\$?[A-Z]{1,3}\$?[0-9]+))?(?![\w(.!])"
)
ONE_REFERENCE = re.compile(rf"={REFERENCE.pattern}")
CELL = re.compile(r"(\$?)([A-Z]+)(\$?)([0-9]+)")
STORED = re.compile(r'<c r="([A-Z]+[0-9]+)"(?: s="[0-9]+")?(?: t="([a-z]+)")?><f>[^<]*</f><v>([^<]+)</v>')

# Sheets a reader reads rather than works through; all others but these and Inputs are workings.
FRONT = frozenset(
    {
        "About", "Summary", "Break-even", "Sensitivity", "Stresses", "Switching", "To check", "Claims", "Mixed plan",
        "Words", "Checks",
        "Side by side", "Side by side figures",
    }
)  # fmt: skip
LISTS = frozenset({"Units", "Work", "Sources and cautions", "Scenario", "Forms", "Job log"})

# In a workbook of several scenarios a sheet's name begins with its scenario's letter.
LETTER = re.compile(r"[A-J]_")


@dataclass(frozen=True)
class Formula:
    sheet: str
    row: int
    column: int
    where: str
    text: str
    shape: str

    @property
    def only_fetches(self) -> bool:
        return ONE_REFERENCE.fullmatch(self.text) is not None and ":" not in self.text


class Opened:
    """`book` holds formulas, `results` what is stored; `formulas` and `shapes` leave out array formulas.

    `say` turns an English word that a rule looks for into the workbook's language.
    """

    def __init__(self, path: Path, say: Callable[[str], str] = str) -> None:
        self.path, self.say = path, say
        self.book = load_workbook(path)
        self.sheets = {sheet.title: sheet for sheet in self.book.worksheets}
        with zipfile.ZipFile(path) as package:
            self.parts = {name: package.read(name) for name in package.namelist()}
            self._parts_of = sheet_parts(package)

    @cached_property
    def formulas(self) -> list[Formula]:
        return [
            Formula(
                title,
                cell.row,
                cell.column,
                f"{title}!{cell.coordinate}",
                cell.value,
                shape(cell.value, cell.row, cell.column),
            )
            for title, cell in self.cells()
            if cell.data_type == "f" and not isinstance(cell.value, ArrayFormula | DataTableFormula)
        ]

    @cached_property
    def shapes(self) -> list[Formula]:
        """The first formula of each shape."""
        return list({formula.shape: formula for formula in reversed(self.formulas)}.values())[::-1]

    @cached_property
    def filled(self) -> dict[str, set[tuple[int, int]]]:
        """(row, column) of every cell that holds something, by sheet."""
        held: dict[str, set[tuple[int, int]]] = defaultdict(set)
        for title, cell in self.cells():
            held[title].add((cell.row, cell.column))
        return held

    def cells(self, *titles: str) -> Iterator[tuple[str, Any]]:
        """(sheet, cell) of every cell that holds something, on the sheets named or on all."""
        for title in titles or self.sheets:
            yield from ((title, cell) for cell in self._filled_cells[title])

    @cached_property
    def _filled_cells(self) -> dict[str, list[Any]]:
        return {
            title: [cell for row in sheet.iter_rows() for cell in row if cell.value is not None]
            for title, sheet in self.sheets.items()
        }

    @cached_property
    def workings(self) -> list[str]:
        return [title for title in self.book.sheetnames if role(title) not in FRONT | LISTS | {"Inputs"}]

    def called(self, name: str) -> list[str]:
        """The sheets of this name: one, or one a scenario."""
        return [title for title in self.book.sheetnames if role(title) == name]

    @cache  # noqa: B019 -- a workbook is opened for one test
    def heading_rows(self, title: str) -> int:
        """How many rows at the top are frozen as headings."""
        frozen = self.sheets[title].freeze_panes
        return int(frozen.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")) - 1 if frozen else 0

    @cached_property
    def results(self) -> dict[str, dict[str, float | str]]:
        """What each cell with a formula stores, by sheet and cell; read off the parts, which is ten times as fast."""
        found: dict[str, dict[str, float | str]] = {}
        for title, part in self._parts_of.items():
            cells = STORED.findall(self.parts[part].decode())
            found[title] = {
                where: unescape(value) if kind in ("str", "e") else float(value)
                for where, kind, value in cells
            }
        return found

    def stored(self, title: str, cell: Any) -> Any:
        """A formula's stored result, or what is typed in a cell; None where a formula stores nothing."""
        return self.results[title].get(cell.coordinate) if cell.data_type == "f" else cell.value

    def style(self, cell: Any) -> str:
        """Name of the cell's style; looked up once for each combination of formats."""
        if cell.style_id not in self._styles:
            self._styles[cell.style_id] = cell.style
        return self._styles[cell.style_id]

    @cached_property
    def _styles(self) -> dict[int, str]:
        return {}


def role(title: str) -> str:
    """A sheet's name without the letter of its scenario."""
    return LETTER.sub("", title, count=1) if LETTER.match(title) else title


def without_text(formula: str) -> str:
    """The formula with its quoted texts emptied, so that nothing inside them looks like a reference."""
    return QUOTED_TEXT.sub('""', formula)


def shape(formula: str, row: int, column: int) -> str:
    """The formula with references as distances: R[-1]C[0], or R4C2 where they are fixed."""

    def relative(found: re.Match[str]) -> str:
        fixed_column, letters, fixed_row, digits = found.groups()
        down = f"R{digits}" if fixed_row else f"R[{int(digits) - row}]"
        number = column_index_from_string(letters)
        return down + (f"C{number}" if fixed_column else f"C[{number - column}]")

    def whole(found: re.Match[str]) -> str:
        sheet = f"{found['sheet']}!" if found["sheet"] else ""
        return sheet + CELL.sub(relative, found["first"] + (f":{found['last']}" if found["last"] else ""))

    texts = QUOTED_TEXT.findall(formula)
    blank = REFERENCE.sub(whole, without_text(formula)).split('""')
    return "".join(piece + text for piece, text in zip(blank, [*texts, ""], strict=True))


def is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
