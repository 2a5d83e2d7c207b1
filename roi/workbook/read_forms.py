"""The Forms sheet read back into a year's work, as `kept` wrote it; it was fixed then, and what was changed since is told."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from roi.model.tables import MONTHS
from roi.scenario.problems import Problem
from roi.scenario.worklog import DATE_KINDS, Loads, WorkLog
from roi.workbook.kept import (
    ABOUT,
    BUSY,
    CHECKED,
    FACTS,
    FORM_HEADS,
    FORMULAS,
    KINDS_OF_WORK,
    LEFT_OUT,
    LOAD_HEADS,
    MONTH_TITLE,
    PARTS_OF_A_PROBLEM,
    TYPICAL,
)
from roi.workbook.read_cells import Page, Sheets

CHECK = FACTS[-2]
MOST_OF_A_COLUMN = 3  # problems told
_SAME = 1e-9  # relative: how far rows may miss the sum written beside them
_FIXED = "the work was fixed when the workbook was written: take this sheet from it as it was"


def read_forms(
    page: Page, presses: Sequence[str], sizes: Sequence[str], check: float | None, problems: list[Problem]
) -> tuple[WorkLog, str] | None:
    """The work and what it was read from; None, with problems, where the sheet can't be read.

    presses, sizes : their ids, in the scenario's order;  check : the check number of Work and Units as they are now, None
    where one of them is missing
    """
    before = len(problems)
    reader = _Reader(page, problems)
    facts, notes = reader.facts()
    months = [reader.number(row, 2) for row in reader.rows_of(MONTH_TITLE)]
    levels = reader.rows_of(LOAD_HEADS[0])
    loads = [[reader.number(row, column) for column in (2, 3, 4)] for row in levels]
    marked = {name: i for i, row in enumerate(levels) for name in page.text(row, 5).split(", ") if name}
    forms = [reader.form(row, presses, sizes) for row in reader.rows_of(FORM_HEADS[0])]
    skipped = tuple(reader.left_out())
    if len(problems) == before:
        if len(months) != len(MONTHS):
            reader.wrong(MONTH_TITLE, f"{len(months)} months instead of {len(MONTHS)}")
        if {TYPICAL, BUSY} - set(marked):
            reader.wrong(LOAD_HEADS[0], "the typical or the busy day is not marked")
        if not forms:
            reader.wrong(FORM_HEADS[0], "there is no row of forms")
    if len(problems) > before:
        return None
    columns = {name: np.array([form[name] for form in forms]) for name in forms[0]}
    amounts = np.array(loads, float)
    work = WorkLog(
        weight=columns["weight"].astype(float),
        job=np.full(len(forms), "", object),
        day=np.full(len(forms), "NaT", "datetime64[D]"),
        press=columns["press"].astype(np.intp),
        size=columns["size"].astype(np.intp),
        plates=columns["plates"].astype(np.int64),
        good=columns["good"].astype(float),
        ruling=columns["ruling"].astype(float),
        **{name: columns[name].astype(bool) for name in KINDS_OF_WORK},
        presses=tuple(presses),
        sizes=tuple(sizes),
        days=float(facts["Days of the period"]),
        month_share=np.array(months, float),
        rows_read=int(facts["Rows read"]),
        rows_skipped=int(facts["Rows left out, count"]),
        skipped=skipped,
        notes=tuple(notes),
        date_kind=str(facts["Date"]),
        ruling_unknown=float(facts["Forms without a ruling"]),
        repeated=0,  # not kept: a workbook holds forms put together
        bin=columns["bin"].astype(np.intp),
        jobs=columns["jobs"].astype(float),
        loads=Loads(
            amounts[:, 0],
            amounts[:, 1],
            amounts[:, 2],
            marked[TYPICAL],
            marked[BUSY],
            str(facts["Loads from"]),
        ),
    )
    for what, found in (("Forms in all", work.weight.sum()), ("Plates in all", work.weight @ work.plates)):
        if abs(found - facts[what]) > _SAME * max(abs(found), abs(facts[what])):
            reader.wrong(
                FORM_HEADS[0], f"the rows add up to {found:.10g}, {what.lower()} says {facts[what]:.10g}"
            )
    if check is not None and abs(check - facts[CHECK]) > _SAME * abs(check) + _SAME:
        what = "a number there was changed since it was written, and the answer wouldn't show it"
        mend = (
            "take both sheets as they were; more or less work is volume on Inputs, another log a new scenario"
        )
        problems.append(Problem(f"{page.file}, {' or '.join(CHECKED)}", what, mend))
    return (work, str(facts["Read from"])) if len(problems) == before else None


def typed_over(sheets: Sheets, page: Page) -> list[Problem]:
    """Sheets that hold fewer formulas than they were written with; a workbook written before these were counted has none."""
    reader = _Reader(page, [])
    found = []
    for row in reader.rows_of(FORMULAS, needed=False):
        title, written = page.text(row, 1), page.value(row, 2)
        if title not in sheets.titles or not isinstance(written, int | float):
            continue
        if (gone := round(written) - sheets.formulas(title)) > 0:
            what = f"{gone} of {written:,.0f} formulas are gone: something was typed over them, and the answer goes by it"
            mend = "undo it or take the sheet from the workbook as written; numbers to change stand on Inputs"
            found.append(Problem(f"{page.file}, {title}", what, mend))
    return found


def told_once(problems: Sequence[Problem]) -> list[Problem]:
    """The same problems, but of each column only the first few, and how many more there are."""
    by_column: dict[str, list[Problem]] = {}
    for problem in problems:
        by_column.setdefault(re.sub(r"\d+.*$", "", problem.where.rsplit("!", 1)[-1]), []).append(problem)
    found: list[Problem] = []
    for same in by_column.values():
        found += same[:MOST_OF_A_COLUMN]
        if (more := len(same) - MOST_OF_A_COLUMN) > 0:
            last = found.pop()
            found.append(replace(last, what=f"{last.what}; and {more} more in this column"))
    return found


class _Reader:
    def __init__(self, page: Page, problems: list[Problem]) -> None:
        self.page, self.problems = page, problems
        page.head_row = 0
        self.titles = {page.text(row, 1): row for row in reversed(page.rows()) if page.text(row, 1)}

    def wrong(self, title: str, what: str) -> None:
        place = (
            self.page.at(self.titles[title], 1)
            if title in self.titles
            else f"{self.page.file}, {self.page.title}"
        )
        self.problems.append(Problem(place, f"{title}: {what}", _FIXED))

    def rows_of(self, title: str, *, needed: bool = True) -> list[int]:
        """The rows below a title, down to the next empty one."""
        if title not in self.titles:
            if needed:
                self.wrong(title, "the table is missing")
            return []
        found = []
        for row in range(self.titles[title] + 1, self.page.rows().stop):
            if not self.page.text(row, 1):
                break
            found.append(row)
        return found

    def number(self, row: int, column: int) -> float:
        found = self.page.number(row, column, self.problems)
        return 0.0 if found is None else float(found)

    def facts(self) -> tuple[dict[str, Any], list[str]]:
        """What is said about the work, by name, and the notes."""
        found: dict[str, Any] = {}
        notes = []
        for row in self.rows_of(ABOUT):
            what = self.page.text(row, 1)
            if what == "Note":
                notes.append(self.page.text(row, 2))
            elif what in ("Read from", "Loads from"):
                found[what] = self.page.text(row, 2)
            elif what == "Date":
                found[what] = self.page.choice(row, 2, DATE_KINDS, self.problems)
            elif what in FACTS:
                found[what] = self.number(row, 2)
        for what in FACTS:
            if what not in (*found, "Note"):
                self.wrong(ABOUT, f'the row "{what}" is missing')
        if found.get("Days of the period", 1.0) <= 0:
            self.wrong(ABOUT, "the period has no days")
        return found, notes

    def left_out(self) -> Iterator[Problem]:
        """The kinds of rows of the log that were left out; each stands in as many rows as it has parts."""
        rows = self.rows_of(LEFT_OUT, needed=False)
        for first in range(0, len(rows), len(PARTS_OF_A_PROBLEM)):
            texts = [self.page.text(row, 2) for row in rows[first : first + len(PARTS_OF_A_PROBLEM)]]
            if len(texts) < len(PARTS_OF_A_PROBLEM):
                self.wrong(LEFT_OUT, "a row is missing")
            else:
                yield Problem(*texts)

    def form(self, row: int, presses: Sequence[str], sizes: Sequence[str]) -> dict[str, Any]:
        """A row of forms, by what it holds."""
        page = self.page

        def one_of(column: int, ids: Sequence[str], what: str) -> int:
            text = page.text(row, column)
            if text not in ids:
                self.problems.append(
                    Problem(page.at(row, column), f'"{text}" is no {what} of this scenario', _FIXED)
                )
            return ids.index(text) if text in ids else 0

        def above(column: int, least: float, *, whole: bool = False) -> float:
            found = self.number(row, column)
            if found < least or (whole and found != round(found)):
                self.problems.append(Problem(page.at(row, column), f"{found:g} can't be", _FIXED))
            return found

        kinds = {word for word in page.text(row, 10).split(", ") if word}
        if unknown := kinds - set(KINDS_OF_WORK):
            self.problems.append(
                Problem(page.at(row, 10), f"{', '.join(sorted(unknown))} is not known", _FIXED)
            )
        held: dict[str, Callable[[], Any]] = {
            "bin": lambda: int(above(2, 1, whole=True)),
            "press": lambda: one_of(3, presses, "press"),
            "size": lambda: one_of(4, sizes, "plate size"),
            "plates": lambda: int(above(5, 1, whole=True)),
            "good": lambda: above(6, 0),
            "weight": lambda: above(7, 0),
            "jobs": lambda: above(8, 0),
            "ruling": lambda: above(9, 0),
        }
        return {name: read() for name, read in held.items()} | {name: name in kinds for name in KINDS_OF_WORK}


__all__ = ["read_forms", "told_once"]
