"""Two independent recalculations of a workbook: IronCalc in this process, LibreOffice as a second witness.

Both programs start from a copy without stored results, because LibreOffice trusts results it finds in a file
and the engine would be compared with itself. Values come back as sheet title -> cell ("B7") -> value: numbers
as floats, dates as day numbers, text as str, logical values as bool, an error as its text ("#N/A"). Which
cells should agree, and with what, is the caller's business.
"""

from __future__ import annotations

import posixpath
import re
import shutil
import subprocess
import tempfile
import zipfile
from collections.abc import Iterable, Mapping
from datetime import date, time, timedelta
from pathlib import Path
from xml.etree import ElementTree
from xml.sax.saxutils import escape

import ironcalc
from openpyxl import load_workbook
from openpyxl.utils.cell import coordinate_to_tuple, get_column_letter
from openpyxl.utils.datetime import to_excel

Value = float | str | bool | None
Values = dict[str, dict[str, Value]]
Changes = Mapping[tuple[str, str], float | str]

RELATIVE = 1e-9
ABSOLUTE = 1e-6
LIBREOFFICE_SECONDS = 300

FORMULA_CELL = re.compile(
    r'<c r="([A-Z]+[0-9]+)"((?: s="[0-9]+")?)(?: t="[a-z]+")?>(<f>[^<]*</f>)(?:<v ?/>|<v>[^<]*</v>)?</c>'
)
ANY_FORMULA = re.compile(r"<f[ />]")


def stripped(path: Path, copy: Path, changes: Changes | None = None) -> None:
    """Write `copy`: the workbook at `path` without stored results, the typed cells of `changes` replaced.

    Works on the sheet XML: loading and saving a workbook of 150,000 formulas takes eight times as long.
    Raises ValueError for a formula in a form it does not know and for a change of a cell that isn't typed.
    """
    wanted = dict(changes or {})
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(copy, "w", zipfile.ZIP_DEFLATED) as new:
        sheets = {part: title for title, part in sheet_parts(old).items()}
        for name in old.namelist():
            content = old.read(name)
            if name in sheets:
                # The empty <v> stays: without it IronCalc prints a line for every cell it loads.
                xml, count = FORMULA_CELL.subn(r'<c r="\1"\2>\3<v></v></c>', content.decode())
                if count != len(ANY_FORMULA.findall(xml)):
                    raise ValueError(f"{sheets[name]}: a formula cell in an unknown form")
                for sheet, cell in [key for key in wanted if key[0] == sheets[name]]:
                    xml = _with_typed(xml, cell, wanted.pop((sheet, cell)))
                content = xml.encode()
            new.writestr(name, content)
    if wanted:
        raise ValueError(f"no such sheet: {sorted({sheet for sheet, _ in wanted})}")


def _with_typed(xml: str, cell: str, value: float | str) -> str:
    pattern = rf'<c r="{cell}"((?: s="[0-9]+")?)(?: t="[a-zA-Z]+")?(?:/>|>(?:(?!<f>|</c>).)*</c>)'
    text = isinstance(value, str)
    typed = (
        f't="inlineStr"><is><t>{escape(str(value))}</t></is>' if text else f't="n"><v>{float(value)!r}</v>'
    )
    changed, count = re.subn(pattern, lambda was: f'<c r="{cell}"{was[1]} {typed}</c>', xml, flags=re.DOTALL)
    if count != 1:
        raise ValueError(f"{cell}: no typed value to change")
    return changed


def sheet_parts(package: zipfile.ZipFile) -> dict[str, str]:
    links = ElementTree.fromstring(package.read("xl/_rels/workbook.xml.rels"))
    targets = {link.attrib["Id"]: posixpath.join("/xl", link.attrib["Target"]).lstrip("/") for link in links}
    sheets = ElementTree.fromstring(package.read("xl/workbook.xml")).iterfind("{*}sheets/{*}sheet")
    return {
        sheet.attrib["name"]: targets[value]
        for sheet in sheets
        for key, value in sheet.attrib.items()
        if key.endswith("}id")
    }


class IronCalcBook:
    """A workbook held by IronCalc: load once, then change, evaluate and read as often as wanted."""

    def __init__(self, path: Path) -> None:
        with tempfile.TemporaryDirectory() as folder:
            copy = Path(folder) / "stripped.xlsx"
            stripped(path, copy)
            self._model = ironcalc.load_from_xlsx(str(copy), "en", "UTC", "en")
        sheets = self._model.get_worksheets_properties()
        self._places = {sheet["name"]: place for place, sheet in enumerate(sheets)}
        self.evaluate()

    def set(self, sheet: str, cell: str, value: float | str) -> None:
        """Type a number or a text into a cell; nothing is recomputed before `evaluate`."""
        row, column = coordinate_to_tuple(cell)
        if isinstance(value, str):
            self._model.update_cell_with_text(self._places[sheet], row, column, value)
        else:
            self._model.update_cell_with_number(self._places[sheet], row, column, value)

    def evaluate(self) -> None:
        self._model.evaluate()

    def value(self, sheet: str, cell: str) -> Value:
        row, column = coordinate_to_tuple(cell)
        return self._model.get_cell_value(self._places[sheet], row, column)

    def values(self) -> Values:
        """Every cell that is not empty."""
        titles = list(self._places)
        held: Values = {title: {} for title in titles}
        for place, row, column in self._model.get_all_cells():
            cell = f"{get_column_letter(column)}{row}"
            held[titles[place]][cell] = self._model.get_cell_value(place, row, column)
        return held


def ironcalc_values(path: Path, changes: Changes | None = None) -> Values:
    """All values of the workbook as IronCalc works them out, after typing `changes` into it."""
    book = IronCalcBook(path)
    for (sheet, cell), value in (changes or {}).items():
        book.set(sheet, cell, value)
    book.evaluate()
    return book.values()


def libreoffice_missing() -> str | None:
    """Why LibreOffice can't be asked, or None when it can."""
    if shutil.which("soffice") is None:
        return "LibreOffice (soffice) is not on the path: its recalculation was not compared"
    return None


def libreoffice_values(paths: Iterable[Path], changes: Iterable[Changes] | None = None) -> list[Values]:
    """All values of each workbook as LibreOffice works them out, in one run of the program for all.

    `changes`, if given, holds one mapping a workbook. A private profile keeps the run apart from an open
    LibreOffice and its settings. Raises RuntimeError with LibreOffice's own words when it writes no file.
    """
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "out").mkdir()
        paths = list(paths)
        copies = [folder / f"{place}.xlsx" for place in range(len(paths))]
        for path, copy, change in zip(paths, copies, changes or [{}] * len(paths), strict=True):
            stripped(path, copy, change)
        run = subprocess.run(
            [
                "soffice",
                "--headless",
                f"-env:UserInstallation={(folder / 'profile').as_uri()}",
                "--convert-to",
                "xlsx",
                "--outdir",
                str(folder / "out"),
                *map(str, copies),
            ],
            capture_output=True,
            text=True,
            timeout=LIBREOFFICE_SECONDS,
        )
        written = [folder / "out" / copy.name for copy in copies]
        if run.returncode or not all(path.exists() for path in written):
            raise RuntimeError(f"LibreOffice wrote no recalculated file: {run.stdout} {run.stderr}")
        return [_read(path) for path in written]


def _read(path: Path) -> Values:
    book = load_workbook(path, data_only=True)
    return {
        sheet.title: {
            cell.coordinate: _plain(cell.value)
            for row in sheet.iter_rows()
            for cell in row
            if cell.value is not None
        }
        for sheet in book.worksheets
    }


def _plain(value: object) -> Value:
    if isinstance(value, date | time | timedelta):
        return float(to_excel(value))
    return value if isinstance(value, str | bool) else float(value)  # type: ignore[arg-type]


def differences(
    engine: Mapping[str, Mapping[str, Value]], other: Mapping[str, Mapping[str, Value]]
) -> list[str]:
    """Where `other` is not what `engine` says, over the cells of `engine`: "Sheet!Cell: engine 1, other 2".

    Numbers agree when |a - b| <= 1e-9 x the larger + 1e-6 (currency); text and logical values when equal.
    """
    return [
        f"{sheet}!{cell}: engine {value!r}, other {found!r}"
        for sheet, cells in engine.items()
        for cell, value in cells.items()
        if not _agree(value, found := other.get(sheet, {}).get(cell))
    ]


def _agree(one: Value, two: Value) -> bool:
    if isinstance(one, str | bool | None) or isinstance(two, str | bool | None):
        return one == two and isinstance(one, bool) == isinstance(two, bool)
    return abs(one - two) <= RELATIVE * max(abs(one), abs(two)) + ABSOLUTE
