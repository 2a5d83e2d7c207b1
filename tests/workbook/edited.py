"""A workbook's typed cells changed as anyone would with a spreadsheet program, and trees of results compared."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path

from openpyxl import load_workbook
from openpyxl.utils import get_column_letter

from tests.parity.recalculate import stripped

HEAD_ROW = 4


def edited(source: Path, target: Path, changes: Mapping[tuple[str, str], float | str]) -> Path:
    """`target`: the workbook at `source` with other values in typed cells, by (sheet, cell); "" empties one.

    Stored results are gone, as after a program that keeps none.
    """
    stripped(source, target, changes)
    return target


def cell_of(path: Path, key: str, head: str = "Value", sheet: str = "Inputs") -> tuple[str, str]:
    """(sheet, cell) of what stands below a heading in the row of a key."""
    heads, rows = _keys(path, sheet)
    return sheet, f"{heads[head]}{rows[key]}"


@lru_cache(maxsize=8)
def _keys(path: Path, sheet: str) -> tuple[dict[str, str], dict[str, int]]:
    """Columns by heading and rows by key."""
    book = load_workbook(path, read_only=True)
    rows = list(book[sheet].iter_rows(values_only=True))
    book.close()
    heads = {str(name): get_column_letter(i) for i, name in enumerate(rows[HEAD_ROW - 1], 1) if name}
    place = rows[HEAD_ROW - 1].index("Key")
    return heads, {str(row[place]): i for i, row in enumerate(rows, 1) if i > HEAD_ROW and row[place]}


def differing(one: object, other: object, relative: float, at: str = "") -> list[str]:
    """Where two trees of JSON differ; numbers by more than a relative distance (and 1e-9, since 0 has none)."""
    if isinstance(one, dict) and isinstance(other, dict):
        if list(one) != list(other):
            return [f"{at}: {list(one)} and {list(other)}"]
        return [
            found for name in one for found in differing(one[name], other[name], relative, f"{at}/{name}")
        ]
    if isinstance(one, list) and isinstance(other, list):
        if len(one) != len(other):
            return [f"{at}: {len(one)} and {len(other)} of them"]
        pairs = enumerate(zip(one, other, strict=True))
        return [found for i, (a, b) in pairs for found in differing(a, b, relative, f"{at}/{i}")]
    if isinstance(one, float) and isinstance(other, float | int):
        return (
            []
            if abs(one - other) <= relative * max(abs(one), abs(other)) + 1e-9
            else [f"{at}: {one} and {other}"]
        )
    return [] if one == other else [f"{at}: {one!r} and {other!r}"]
