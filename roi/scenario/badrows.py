"""Rows that can't be used, gathered while the columns are read and told grouped by kind.

Rows are counted from 0 here and told by the file's own row numbers. Whether bad rows stop the run or are left
out is left to `joblog`.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from roi.scenario.problems import Problem
from roi.scenario.tables import Column, as_text
from roi.scenario.words import quoted
from roi.scenario.worklog import Bools

SHOWN = 5


class BadRows:
    """`mask` (one a row) marks the rows found bad so far; `problems` has one entry a kind of fault."""

    def __init__(self, file: str, rows: npt.NDArray[np.int64]) -> None:
        self.file = file
        self.rows = rows
        self.mask: Bools = np.zeros(rows.size, np.bool_)
        self.problems: list[Problem] = []

    def add(self, bad: Bools, what: str, mend: str, column: Column | None = None) -> None:
        """Mark the rows of `bad` (one a row); with a column, its header and first distinct cells are told."""
        found = np.flatnonzero(bad)
        if not found.size:
            return
        self.mask |= bad
        first = ", ".join(str(n) for n in self.rows[found[:SHOWN]])
        rows = f"row {first}" if found.size == 1 else f"rows {first}"
        if found.size > SHOWN:
            rows += f" and {found.size - SHOWN:,} more"
        count = "1 row" if found.size == 1 else f"{found.size:,} rows"
        said = f"{count}: {what}"
        if column is not None:
            said = f'{count}: column "{column.header}" {what}{samples(column, bad)}'
        self.problems.append(Problem(f"{self.file}, {rows}", said, mend))


def without_cells(problem: Problem) -> Problem:
    """A problem with rows of a log, without what the cells say: they may name a job, or whom it is for."""
    what, mend = problem.what.partition(': "')[0], problem.mend.partition(' ("')[0]
    return Problem(problem.where, what, mend)


def distinct(column: Column, bad: Bools) -> list[str]:
    """The first few distinct filled texts of the column in the rows of `bad`, in reading order."""
    codes = column.codes[bad]
    texts = dict.fromkeys(
        as_text(column.cells[code]) for code in codes[np.sort(np.unique(codes, return_index=True)[1])]
    )
    return [text for text in texts if text][:SHOWN]


def samples(column: Column, bad: Bools) -> str:
    """`: "a", "b"` for a message; empty when the cells are blank."""
    texts = distinct(column, bad)
    return ": " + ", ".join(quoted(text) for text in texts) if texts else ""
