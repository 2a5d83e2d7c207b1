"""A workbook's typed cells changed as anyone would with a spreadsheet program: by openpyxl, which drops stored results."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from openpyxl import load_workbook

HEAD_ROW = 4


def edited(source: Path, target: Path, changes: Mapping[tuple[str, str], object]) -> Path:
    """`target`: the workbook at `source` with other values in cells, by (sheet, cell)."""
    book = load_workbook(source)
    for (sheet, cell), value in changes.items():
        book[sheet][cell].value = value
    book.save(target)
    return target


def cell_of(path: Path, key: str, head: str = "Value", sheet: str = "Inputs") -> tuple[str, str]:
    """(sheet, cell) of what stands below a heading in the row of a key."""
    page = load_workbook(path)[sheet]
    heads = {cell.value: cell.column_letter for cell in page[HEAD_ROW] if cell.value}
    rows = [row for row in range(HEAD_ROW + 1, page.max_row + 1) if page[f"{heads['Key']}{row}"].value == key]
    assert len(rows) == 1, f"{key} stands in rows {rows} of {sheet}"
    return sheet, f"{heads[head]}{rows[0]}"


def differing(one: object, other: object, relative: float, at: str = "") -> list[str]:
    """Where two trees of JSON differ; numbers by more than a relative distance (and 1e-9, since 0 has none)."""
    if isinstance(one, dict) and isinstance(other, dict):
        if list(one) != list(other):
            return [f"{at}: {list(one)} and {list(other)}"]
        return [found for name in one for found in differing(one[name], other[name], relative, f"{at}/{name}")]
    if isinstance(one, list) and isinstance(other, list):
        if len(one) != len(other):
            return [f"{at}: {len(one)} and {len(other)} of them"]
        pairs = enumerate(zip(one, other, strict=True))
        return [found for i, (a, b) in pairs for found in differing(a, b, relative, f"{at}/{i}")]
    if isinstance(one, float) and isinstance(other, float | int):
        return [] if abs(one - other) <= relative * max(abs(one), abs(other)) + 1e-9 else [f"{at}: {one} and {other}"]
    return [] if one == other else [f"{at}: {one!r} and {other!r}"]
