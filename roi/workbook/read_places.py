"""Where on a workbook's Inputs a key stands, for findings of a scenario that was read from one and is whole.

Problems that stop a reading are told by cell where they are found (`read_back`); likely mistakes name keys, and are told here.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from roi.scenario.problems import Problem
from roi.workbook.kept import INPUTS
from roi.workbook.read_cells import Sheets
from roi.workbook.read_words import in_cells


def told_on_inputs(path: Path, problems: Iterable[Problem]) -> list[Problem]:
    """Findings by key told by the cell of its value in the workbook at `path`, and in a spreadsheet's words."""
    listed = list(problems)
    if not listed:
        return []
    cells: dict[str, str] = {}
    with Sheets(path) as sheets:
        page = sheets.page(INPUTS, [], why="its numbers") if INPUTS in sheets.titles else None
        if page is not None and page.find_heads(("Value", "Key"), []):
            cells = {page.text(row, "Key"): page.at(row, "Value") for row in page.rows()}
    at = f"{path.name}, "
    return [
        in_cells(replace(p, where=f"{cells[key]} ({key})"))
        if (key := p.where.removeprefix(at)) in cells
        else in_cells(p)
        for p in listed
    ]


__all__ = ["told_on_inputs"]
