"""A job log pasted on the sheet Job log of an input workbook, read as one in a file is, by what Log columns says of it.

It may stand over the headings that were there or below them, with headings of its own or without, with more columns or fewer
and in any order: its headings are the row of which most columns hold rows below, and headings without rows are as good as not
there. The example isn't counted. Every problem names its cell.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from roi.scenario.joblog import read_log
from roi.scenario.problems import BadInput, Problem
from roi.scenario.things import Press, Size
from roi.scenario.words import fold
from roi.scenario.worklog import WorkLog
from roi.workbook.input_sheets import COLUMNS, EXAMPLE, LOG, LOG_COLUMNS, LOG_HEADS, NEEDED, SETTINGS
from roi.workbook.read_cells import HEADINGS_WITHIN, Page, as_text
from roi.workbook.read_words import in_cells

_HEADING = {name: head for name, head, _, _ in COLUMNS}
_SHOWN = 6  # headings told in a message
Cells = Sequence[object]


class PastedLog:
    """The pasted log and what Log columns says of it.

    called : further words of the log for presses, by their ids
    """

    def __init__(
        self,
        log: Page,
        columns: Page,
        presses: Sequence[Press],
        sizes: Sequence[Size],
        called: Mapping[str, Sequence[str]],
    ) -> None:
        self.log, self.columns, self.presses, self.sizes, self.called = log, columns, presses, sizes, called
        self.problems: list[Problem] = []
        self.said: dict[str, tuple[int, Any]] = {}
        if columns.find_heads(LOG_HEADS, self.problems):
            for row in columns.rows():
                if key := columns.text(row, "Key"):
                    self.said[key] = (row, columns.value(row, "In your log"))
        self.heads = {name: self._word(f"log.columns.{name}") for name in _HEADING}
        self.wanted = {fold(head) for head in self.heads.values() if head}
        self.head_row = self._head_row()
        self.rows = list(self._rows(self.head_row))

    @property
    def empty(self) -> bool:
        """Whether nothing but the headings and the example stands there."""
        return not self.rows

    def read(self, problems: list[Problem]) -> WorkLog | None:
        """The work, or None with problems."""
        if not self.problems:
            self.problems += self._strange_headings()
        if self.problems:
            problems += self.problems
            return None
        header = self._header()
        mapped, notes = self._mapped(header)
        cells: dict[int, Cells] = dict(self.rows)
        last = max(cells)
        rows: list[Cells] = [()] * (self.head_row - 1)
        rows.append(header)
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
            problems += [self._by_cell(p, header) for p in bad.problems]
            return None
        left_out = tuple(in_cells(self._by_cell(p, header)) for p in work.skipped)
        return replace(work, skipped=left_out, notes=(*work.notes, *notes))

    @property
    def period(self) -> dict[str, Any]:
        """The first and last day of the log's year as Log columns states them: `from`, `to`, each where it is filled in."""
        settings = self._settings()
        return {name: settings[name] for name in ("from", "to") if name in settings}

    def _word(self, key: str) -> str:
        return as_text(self.said[key][1]) if key in self.said else ""

    def _head_row(self) -> int:
        """The row that holds most of the headings named above columns that hold rows; of several the lowest."""
        within = range(1, HEADINGS_WITHIN + 1)
        named = {row: self._named(row) for row in within}
        plain = max(within, key=lambda row: (len(named[row]), -row))
        if len(named[plain]) < 1:
            return self._title_row()
        filled = {row: len(named[row] & self._filled(row)) for row in within if named[row]}
        best = max(filled, key=lambda row: (filled[row], row))
        return best if filled[best] else plain

    def _title_row(self) -> int:
        """Where no heading is known: the row with most texts without a digit."""
        texts = {row: len(self._words_of(row)) for row in range(1, HEADINGS_WITHIN + 1)}
        return max(texts, key=lambda row: (texts[row], -row))

    def _named(self, row: int) -> set[int]:
        """The columns of a row that hold a heading that Log columns names."""
        return {
            place
            for place, cell in enumerate(self.log.cells(row))
            if cell not in (None, "") and fold(as_text(cell)) in self.wanted
        }

    def _words_of(self, row: int, places: Collection[int] | None = None) -> list[str]:
        """The texts of a row, of these columns or all; empty where one of its cells is no text or holds a digit."""
        cells = [
            cell
            for place, cell in enumerate(self.log.cells(row))
            if cell not in (None, "") and (places is None or place in places)
        ]
        return [as_text(cell) for cell in cells] if self._all_words(cells) else []

    def _filled(self, row: int) -> set[int]:
        """The columns that hold anything below a row."""
        return {
            place
            for _, cells in self._rows(row)
            for place, cell in enumerate(cells)
            if cell not in (None, "")
        }

    def _rows(self, head_row: int) -> Iterator[tuple[int, Cells]]:
        """Rows below the headings that hold anything, without the example."""
        self.log.head_row = head_row
        for row in self.log.rows():
            cells = self.log.cells(row)
            texts = [as_text(cell) for cell in cells if cell is not None]
            if any(texts) and EXAMPLE not in texts:
                yield row, cells

    def _strange_headings(self) -> list[Problem]:
        """A row of headings that Log columns doesn't name: told once, in place of all that follows from it."""
        mend = f'on {LOG_COLUMNS}, under "In your log", type what your log calls each; then clear the headings above them'
        first = self.rows[0][0]
        filled = self._filled(self.head_row)
        if not self._named(self.head_row) & filled:
            theirs = self._words_of(self.head_row, filled)
            if len(theirs) > 1:
                what = f"the headings of your log are not those that {LOG_COLUMNS} names: {', '.join(theirs[:_SHOWN])}"
                mend = f'on {LOG_COLUMNS}, under "In your log", type what your log calls each'
                return [Problem(self.log.at(self.head_row, 1), what, mend)]
            what = f"no heading that {LOG_COLUMNS} names stands above the rows"
            at = self.head_row if self._words_of(self.head_row) == [] else first
            mend = "put a row of headings above them, such as Date, Plates, Impressions"
            return [Problem(self.log.at(at, 1), what, mend)]
        words = self._words_of(first)
        below = [cells for row, cells in self.rows[1:]]
        if len(words) > 1 and below and not any(self._all_words(cells) for cells in below):
            what = (
                f"looks like headings of your own, below those that were there: {', '.join(words[:_SHOWN])}"
            )
            return [Problem(self.log.at(first, 1), what, mend)]
        return []

    @staticmethod
    def _all_words(cells: Cells) -> bool:
        return not any(
            not isinstance(cell, str) or re.search(r"\d", cell) for cell in cells if cell not in (None, "")
        )

    def _header(self) -> list[object]:
        """The headings as wide as the widest row; those of columns without rows count where no other bears the name."""
        found: list[object] = list(self.log.cells(self.head_row))
        found += [""] * (max(len(cells) for _, cells in self.rows) - len(found))
        filled = self._filled(self.head_row)
        return [cell if place in filled else "" for place, cell in enumerate(found)]

    def _mapped(self, header: Sequence[object]) -> tuple[dict[str, str], list[str]]:
        """Headings by our names, without columns that nobody filled in, and notes of those and of columns not read."""
        heading = {fold(as_text(cell)) for cell in header if cell not in (None, "")}
        many = {"press": len(self.presses) > 1, "size": len(self.sizes) > 1}
        whole = {fold(as_text(cell)) for cell in self.log.cells(self.head_row) if cell not in (None, "")}
        left = whole - heading  # headings above columns that nobody filled in
        needless = {name for name, several in many.items() if not several}
        derived = any(self.heads[other] for other in ("quantity", "number_up", "colours"))
        mapped, without = {}, []
        for name, head in self.heads.items():
            if not head:
                continue
            untouched = (head == _HEADING[name] or fold(head) in left) and not many.get(name)
            if fold(head) in heading or not untouched:
                mapped[name] = head
            elif name not in NEEDED:
                without += [head] if name not in needless else []
            elif not derived:  # else plates and impressions are derived
                mapped[name] = head
        taken = {fold(head) for head in mapped.values()}
        unread = [
            as_text(cell) for cell in header if cell not in (None, "") and fold(as_text(cell)) not in taken
        ]
        notes = [f"not in the job log, and so not known: {', '.join(without)}"] if without else []
        notes += [f"columns of the job log that nothing is read from: {', '.join(unread)}"] if unread else []
        return mapped, notes

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
            kind = re.fullmatch(r"log\.words\.(press|size|stock|yes|no)\.(.+)", key)
            words = [word.strip() for word in self._word(key).split(",") if word.strip()]
            if kind and words:
                found.setdefault(kind[1], {})[kind[2]] = words
        for press, called in self.called.items():
            presses = found.setdefault("press", {})
            presses[press] = [*presses.get(press, ()), *called]
        return found

    def _by_cell(self, problem: Problem, header: Sequence[object]) -> Problem:
        """What is wrong on Log columns told by its cell; what is wrong in rows by the first cell of Job log."""
        at, file = f"{self.log.file}, {LOG_COLUMNS}", self.log.file
        if problem.where.startswith(at):
            key = "log." + problem.where.removeprefix(at).strip().replace(" ", ".")
            if half := re.match(r"only (from|to) is stated", problem.what):
                key = "log.to" if half[1] == "from" else "log.from"
            if key == "log.columns":  # of a column that is not named, its row
                key += f".{problem.what.split()[0]}"
            near = next((row for name, (row, _) in self.said.items() if key == name), None)
            if near is not None:
                what = problem.what.replace(f"{file} has no column", f"{LOG} has no column")
                return replace(problem, where=self.columns.at(near, "In your log"), what=what)
            return problem
        column = re.search(r'column "(.*?)" |the header "(.*?)" ', problem.what)
        place = self._place(header, (column[1] or column[2]) if column else "")
        if rows := re.fullmatch(rf"{re.escape(file)}, rows? (\d+)(.*)", problem.where):
            also = f" (rows {rows[1]}{rows[2]})" if rows[2] else ""
            return replace(problem, where=self.log.at(int(rows[1]), place) + also)
        if column:
            mend = problem.mend.replace("in the file", "")
            return replace(problem, where=self.log.at(self.head_row, place), mend=mend.strip())
        return replace(problem, where=problem.where.replace(file, f"{file}, {LOG}", 1))

    @staticmethod
    def _place(header: Sequence[object], head: str) -> int:
        """The last column of a heading, counted from 1; the first column of all where none bears it."""
        found = [
            i for i, cell in enumerate(header, 1) if cell not in (None, "") and as_text(cell) == head.strip()
        ]
        return found[-1] if found else 1


def _date(value: Any) -> Any:
    """A date as such; what is none stays, for the reader of logs to say so."""
    try:
        return dt.date.fromisoformat(as_text(value))
    except ValueError:
        return value


__all__ = ["PastedLog"]
