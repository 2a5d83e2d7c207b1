"""Cases: columns computed again with a few inputs changed, small enough to stand in a workbook.

A *trial* is a row of cases that differ from one parent case in the inputs it changes; the parent is the best
case or one case of another trial. Only the lines that its inputs move are computed anew in a trial; the others
are those of the parent. What a line comes to in each case of a trial is a `Reading`, a block over the cases that
further columns may use.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from roi.engine.column import Book, Line
from roi.engine.errors import AxisMismatch
from roi.engine.evaluate import Program, Values, needed
from roi.engine.expression import Axis, Input, Leaf
from roi.engine.functions import Array


@dataclass(frozen=True, eq=False)
class Trial:
    """Cases along an axis.

    changes : {input: block over `axis` with the value it takes in each case, in the engine's unit}
    parent : the case it starts from, as (trial, position from 0); None is the best case
    """

    title: str
    axis: Axis
    changes: Mapping[Input, Line]
    parent: tuple[Trial, int] | None = None

    @property
    def ancestry(self) -> list[tuple[Trial, int]]:
        """Parent, its parent and so on, nearest first."""
        return [] if self.parent is None else [self.parent, *self.parent[0].ancestry]


class Reading(Leaf):
    """What one row of a line comes to in each case of a trial: a block over the trial's cases."""

    __slots__ = ("trial", "line", "row")

    def __init__(self, trial: Trial, line: Line, row: int = 0) -> None:
        if not 0 <= row < (1 if line.axis is None else len(line.axis)):
            raise AxisMismatch(f"'{line.label}' has no row {row}")
        self.trial, self.line, self.row = trial, line, row
        self.key, self.label = f"{trial.title}.{line.key}.{row}", line.label
        self.unit, self.axis, self.flag = line.unit, trial.axis, line.flag


class Cases:
    """Trials of a book, and what is read from them.

    trials : parents before their children
    """

    def __init__(self, book: Book, trials: Sequence[Trial], readings: Iterable[Reading]) -> None:
        self.book, self.trials, self.readings = book, list(trials), list(readings)
        self._lines = list(book.lines)
        self._moves: dict[Line, frozenset[str]] = {}
        for line in self._lines:
            moved: set[str] = set()
            for leaf in line.uses:
                if isinstance(leaf, Input):
                    moved.add(leaf.key)
                elif isinstance(leaf, Line):
                    moved |= self._moves[leaf]
            self._moves[line] = frozenset(moved)
        self._moved: dict[Trial, list[Line]] = {}
        wanted: dict[Trial, set[Line]] = {trial: set() for trial in self.trials}
        for reading in self.readings:
            for trial in (reading.trial, *(ancestor for ancestor, _ in reading.trial.ancestry)):
                wanted[trial].add(reading.line)
        self._needed = {trial: needed(lines) for trial, lines in wanted.items()}

    def moved(self, trial: Trial) -> list[Line]:
        """The lines that what is read depends on and that the trial's own inputs move, in computing order."""
        if trial not in self._moved:
            keys = {stated.key for stated in trial.changes}
            mine = self._needed[trial]
            self._moved[trial] = [
                line for line in self._lines if line in mine and not self._moves[line].isdisjoint(keys)
            ]
        return self._moved[trial]

    def evaluate(self, known: Values, changes: Mapping[str, float] = {}) -> dict[Trial, Worked]:
        """Every needed line in each case of each trial: blocks (k, cases), single values (cases,).

        known : the values of the trials' `changes`, one case
        changes : inputs that differ from their best in every case, {input key: value in the engine's unit}
        """
        stated = {trial: _inputs_of(trial, known) for trial in self.trials}
        keys = sorted({key for cases in stated.values() for key in cases})
        best = {key: changes.get(key, leaf.best) for key, leaf in self.book.inputs.items()}
        arrays: dict[str, Array] = {key: np.array([value]) for key, value in changes.items()}
        for key in keys:
            each = [np.broadcast_to(stated[t].get(key, best[key]), (len(t.axis),)) for t in self.trials]
            arrays[key] = np.concatenate(each)
        everything = set().union(*self._needed.values())
        found = Program(self.book, [line for line in self._lines if line in everything]).run(arrays)
        results: dict[Trial, Worked] = {}
        start, count = 0, sum(len(t.axis) for t in self.trials)
        for trial in self.trials:
            part = slice(start, start + len(trial.axis))
            start = part.stop
            results[trial] = Worked(found, part, count)
        return results


class Worked(Mapping[Line, Array]):
    """Values of lines in one trial's cases, cut from the values in all cases when asked for."""

    def __init__(self, found: Values, part: slice, count: int) -> None:
        self._found, self._part, self._count = found, part, count

    def __getitem__(self, line: Line) -> Array:
        value = self._found[line]
        return np.broadcast_to(value, (*value.shape[:-1], self._count))[..., self._part]

    def __iter__(self) -> Iterator[Line]:
        return iter(line for line in self._found if isinstance(line, Line))

    def __len__(self) -> int:
        return len(self._found)


def read(reading: Reading, values: Mapping[Line, Array]) -> Array:
    """A reading's values as a block of one case, from the values of its trial: shape (cases, 1)."""
    value = values[reading.line]
    return np.array(value[reading.row] if reading.line.axis is not None else value, float)[:, None]


def _inputs_of(trial: Trial, known: Values) -> dict[str, Array]:
    """Every input that is not at its best in the trial, in each of its cases."""
    stated: dict[str, Array] = {}
    for ancestor, position in reversed(trial.ancestry):
        for changed, line in ancestor.changes.items():
            stated[changed.key] = np.full(len(trial.axis), known[line][position, 0])
    for changed, line in trial.changes.items():
        stated[changed.key] = known[line][:, 0]
    return stated


__all__ = ["Cases", "Reading", "Trial", "Worked", "read"]
