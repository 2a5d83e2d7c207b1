"""The work of an input workbook: its pasted job log, or else its plates a month, read as those of a scenario file are.

The log's rows stand on Job log, below the row that holds the most of the headings that Log columns names; the example isn't
counted. A column nobody filled in is as good as not there, and is said in the notes. Every problem names its cell.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from roi.scenario.joblog import read_log
from roi.scenario.problems import BadInput, Problem
from roi.scenario.summary import read_summary
from roi.scenario.things import Press, Size
from roi.scenario.words import fold
from roi.scenario.worklog import WorkLog
from roi.workbook.input_sheets import (
    COLUMNS,
    EXAMPLE,
    LOG,
    LOG_COLUMNS,
    LOG_HEADS,
    NEEDED,
    PLATES,
    PLATES_HEADS,
    SETTINGS,
)
from roi.workbook.read_cells import HEADINGS_WITHIN, Page, Sheets, as_text

_MONTHS = 12
_HEADING = {name: head for name, head, _, _ in COLUMNS}


def read_work(
    sheets: Sheets, presses: Sequence[Press], sizes: Sequence[Size], problems: list[Problem]
) -> tuple[WorkLog, str] | None:
    """The work and what it was read from; None, with problems, where neither sheet states it."""
    pages = {
        title: sheets.page(title, problems, why=why)
        for title, why in (
            (LOG, "the job log"),
            (LOG_COLUMNS, "what it calls things"),
            (PLATES, "plates a month"),
        )
    }
    log, columns, plates = pages[LOG], pages[LOG_COLUMNS], pages[PLATES]
    if log is None or columns is None or plates is None:
        return None
    reader = _Log(log, columns, presses, sizes)
    if reader.empty:
        return _from_plates(plates, presses, sizes, problems)
    work = reader.read(problems)
    if work is None:
        return None
    filled = plates.find_heads(PLATES_HEADS, []) and any(
        plates.text(row, "Key") and plates.value(row, "Value") != "" for row in plates.rows()
    )
    if filled:
        work = replace(work, notes=(*work.notes, f"{PLATES} isn't read, since {LOG} holds rows"))
    return work, f"job log in {sheets.file}"


class _Log:
    """The pasted log and what Log columns says of it."""

    def __init__(self, log: Page, columns: Page, presses: Sequence[Press], sizes: Sequence[Size]) -> None:
        self.log, self.columns, self.presses, self.sizes = log, columns, presses, sizes
        self.problems: list[Problem] = []
        self.said: dict[str, tuple[int, Any]] = {}
        if columns.find_heads(LOG_HEADS, self.problems):
            for row in columns.rows():
                if key := columns.text(row, "Key"):
                    self.said[key] = (row, columns.value(row, "In your log"))
        self.heads = {name: self._word(f"log.columns.{name}") for name in _HEADING}
        self.head_row = self._head_row()
        self.rows = list(self._rows())

    @property
    def empty(self) -> bool:
        """Whether nothing but the headings and the example stands there."""
        return not self.rows

    def read(self, problems: list[Problem]) -> WorkLog | None:
        if self.problems:
            problems += self.problems
            return None
        mapped, notes = self._mapped()
        cells: dict[int, Sequence[object]] = dict(self.rows)
        last = max(cells)
        rows: list[Sequence[object]] = [()] * (self.head_row - 1)
        rows.append(self.log.cells(self.head_row))
        rows += [cells.get(row, ()) for row in range(self.head_row + 1, last + 1)]
        spec = {"file": self.log.file, "columns": mapped, **self._settings(), "words": self._words()}
        try:
            work = read_log(
                spec,
                Path(),
                {p.id: p.units for p in self.presses},
                [s.id for s in self.sizes],
                where=f"{self.log.file}, {LOG_COLUMNS}",
                press_labels={p.id: p.label for p in self.presses},
                size_labels={s.id: s.name for s in self.sizes},
                rows=rows,
            )
        except BadInput as bad:
            problems += [self._by_cell(p) for p in bad.problems]
            return None
        return replace(work, notes=(*work.notes, *notes))

    def _word(self, key: str) -> str:
        return as_text(self.said[key][1]) if key in self.said else ""

    def _head_row(self) -> int:
        """The row that holds most of the headings named."""
        wanted = {fold(head) for head in self.heads.values() if head}
        counts = {
            row: sum(fold(as_text(cell)) in wanted for cell in self.log.cells(row) if cell not in (None, ""))
            for row in range(1, HEADINGS_WITHIN + 1)
        }
        return max(counts, key=lambda row: (counts[row], -row))

    def _rows(self) -> Iterator[tuple[int, Sequence[object]]]:
        """Rows below the headings that hold anything, without the example."""
        self.log.head_row = self.head_row
        for row in self.log.rows():
            cells = self.log.cells(row)
            texts = [as_text(cell) for cell in cells if cell is not None]
            if any(texts) and EXAMPLE not in texts:
                yield row, cells

    def _mapped(self) -> tuple[dict[str, str], list[str]]:
        """Headings by our names, without columns that nobody filled in, and a note of those."""
        heading = [fold(as_text(cell)) if cell is not None else "" for cell in self.log.cells(self.head_row)]
        many = {"press": len(self.presses) > 1, "size": len(self.sizes) > 1}
        needless = {name for name, several in many.items() if not several}
        mapped, without = {}, []
        for name, head in self.heads.items():
            if not head:
                continue
            place = heading.index(fold(head)) if fold(head) in heading else None
            filled = place is not None and any(
                place < len(cells) and cells[place] not in (None, "") for _, cells in self.rows
            )
            untouched = head == _HEADING[name] and not many.get(name)
            if not filled and untouched and name not in NEEDED:
                without += [head] if name not in needless else []
            elif (
                not filled
                and untouched
                and any(self.heads[other] for other in ("quantity", "number_up", "colours"))
            ):
                continue  # plates and impressions are derived
            else:
                mapped[name] = head
        return mapped, [f"not in the job log, and so not known: {', '.join(without)}"] if without else []

    def _settings(self) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for setting in SETTINGS:
            _, value = self.said.get(f"log.{setting.key}", (0, ""))
            if as_text(value) == "":
                continue
            if setting.key in ("from", "to"):
                found[setting.key] = value.date() if isinstance(value, dt.datetime) else _date(value)
            else:
                found[setting.key] = as_text(value).lower()
        return found

    def _words(self) -> dict[str, dict[str, list[str]]]:
        found: dict[str, dict[str, list[str]]] = {}
        for key in self.said:
            kind = re.fullmatch(r"log\.words\.(press|size|stock)\.(.+)", key)
            words = [word.strip() for word in self._word(key).split(",") if word.strip()]
            if kind and words:
                found.setdefault(kind[1], {})[kind[2]] = words
        return found

    def _by_cell(self, problem: Problem) -> Problem:
        """What is wrong on Log columns told by its cell; what is wrong in rows told of Job log."""
        at = f"{self.log.file}, {LOG_COLUMNS}"
        if problem.where.startswith(at):
            key = "log." + problem.where.removeprefix(at).strip().replace(" ", ".")
            near = next((row for name, (row, _) in self.said.items() if key == name), None)
            return replace(problem, where=self.columns.at(near, "In your log")) if near else problem
        return replace(problem, where=problem.where.replace(self.log.file, f"{self.log.file}, {LOG}", 1))


def _date(value: Any) -> Any:
    """A date as such; what is none stays, for the reader of logs to say so."""
    try:
        return dt.date.fromisoformat(as_text(value))
    except ValueError:
        return value


def _from_plates(
    page: Page, presses: Sequence[Press], sizes: Sequence[Size], problems: list[Problem]
) -> tuple[WorkLog, str] | None:
    """The work as Plates a month states it."""
    before = len(problems)
    if not page.find_heads(PLATES_HEADS, problems):
        return None
    cells: dict[str, str] = {}
    spec: dict[str, Any] = {}
    months: dict[int, float] = {}
    for row in page.rows():
        key = page.text(row, "Key")
        if not key or page.value(row, "Value") == "":
            cells.setdefault(key, page.at(row, "Value"))
            continue
        if key in cells:
            problems.append(
                Problem(page.at(row, "Key"), f'"{key}" stands twice', "clear one of the two rows")
            )
            continue
        cells[key] = page.at(row, "Value")
        number = page.number(row, "Value", problems)
        _, *names = key.split(".")
        if number is None:
            continue
        if names[0] == "month_share" and names[1:] and names[1].isdigit():
            months[int(names[1])] = number
        elif len(names) == 2:
            spec.setdefault(names[0], {})[names[1]] = number
        else:
            spec[names[0]] = number
    if months:
        spec["month_share"] = [months.get(month, 0.0) for month in range(1, _MONTHS + 1)]
    if len(problems) > before:
        return None
    at = f"{page.file}, {PLATES}"
    if not spec.get("plates_per_month"):
        mend = f"fill in Value, a row a plate size; or paste your job log on {LOG}"
        first = next((cell for key, cell in cells.items() if key.startswith("summary.plates_per_month")), at)
        problems.append(Problem(first, "no plates a month are stated, and there is no job log", mend))
        return None
    try:
        work = read_summary(
            spec, {p.id: p.units for p in presses}, [s.id for s in sizes], where=at,
            press_labels={p.id: p.label for p in presses},
        )  # fmt: skip
    except BadInput as bad:
        problems += [_summary_by_cell(p, at, cells) for p in bad.problems]
        return None
    return work, f"plates a month in {page.file}"


def _summary_by_cell(problem: Problem, at: str, cells: dict[str, str]) -> Problem:
    key = "summary." + problem.where.removeprefix(at).strip()
    key = re.sub(r"\[(\d+)\]", r".\1", key)
    cell = cells.get(key) or next((c for name, c in cells.items() if name.startswith(f"{key}.")), None)
    return replace(problem, where=cell) if cell else problem


__all__ = ["read_work"]
