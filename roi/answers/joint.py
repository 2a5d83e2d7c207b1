"""The least joint move for a claim: all inputs at once, by one share of the way from best to the end of their range that helps.

Which end helps is judged for each input alone. Where a claim is so as stated, the ends are those that hurt, and the share is
where it ceases to be so. Beside it the fewest inputs, taken in the order in which each alone helps (or hurts) most, that do it
with all of them at those ends. What takes stated values only (whole numbers, and grades such as screen rulings) moves to the
nearest of them: half the way along, a ruling goes from its best to its end. Ends that help have no reason to come
together: this measures a distance, not a chance.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from roi.answers.goals import Goal
from roi.answers.searched import searched, shown
from roi.engine.evaluate import Program
from roi.engine.functions import Array
from roi.engine.switches import Range
from roi.model.study import Study
from roi.scenario.stated import StatedInput

SAMPLES = 64  # shares looked at before the first that does it is narrowed
INSIDE = 16
LOCATED = 1e-9  # of the way: how narrowly the share is enclosed


@dataclass(frozen=True)
class Moved:
    """An input and where it stands in the joint move, and its end; in the unit people see. `at` is None where no move does it."""

    stated: StatedInput
    best: float
    at: float | None
    end: float


@dataclass(frozen=True)
class Joint:
    """The least joint move.

    share : of the way from best to the ends, 0 to 1; None where not even all at their ends do it
    moved : every input that helps alone (hurts, where the claim is so), most first
    fewest : how many of `moved`, from the first, do it with all of them at their ends; None where not even all do
    before : where they stand just before `share`, as near as it is found; empty where there is no share
    """

    share: float | None
    moved: tuple[Moved, ...]
    fewest: int | None
    before: tuple[Moved, ...] = ()


def joint(study: Study, goal: Goal, so: bool, only: Collection[str] | None = None) -> Joint:
    """Find the least joint move that changes whether a claim is so; `only` are the keys of the inputs that may move."""
    inputs, ranges = searched(study, without=tuple(goal.held))
    kept = [
        (stated, each)
        for stated, each in zip(inputs, ranges, strict=True)
        if each.low < each.high and (only is None or stated.key in only)
    ]
    return _Finder(study, goal, so, kept).find()


class _Finder:
    def __init__(self, study: Study, goal: Goal, so: bool, kept: list[tuple[StatedInput, Range]]) -> None:
        self.goal, self.so, self.kept = goal, so, kept
        self.program = Program(study.book, goal.lines)
        self.best = np.array([each.best for _, each in kept])
        self.whole = np.array([each.whole for _, each in kept], bool)
        self.graded = np.array([bool(each.grades) for _, each in kept], bool)

    def find(self) -> Joint:
        ends, order = self._ends()
        if not order.size:
            return Joint(None, (), None)
        count = self._first(self._one_by_one(ends, order))
        fewest = None if count is None else count + 1
        share = self._share(ends)
        moved = tuple(self._moved(i, float(ends[i]), share) for i in order)
        if share is None:
            return Joint(share, moved, fewest)
        near = max(share - LOCATED, 0.0)
        return Joint(share, moved, fewest, tuple(self._moved(i, float(ends[i]), near) for i in order))

    def _moved(self, i: int, end: float, share: float | None) -> Moved:
        stated, each = self.kept[i]
        at = (
            None
            if share is None
            else shown(stated, float(self._at(np.array([share]), self._row(i, end))[0, i]))
        )
        return Moved(stated, shown(stated, each.best), at, shown(stated, end))

    def _row(self, i: int, end: float) -> Array:
        row = self.best.copy()
        row[i] = end
        return row

    def _ends(self) -> tuple[Array, np.ndarray]:
        """The end of each input that helps (or best, where neither does), and the inputs that help, most first."""
        tried = np.tile(self.best, (1 + 2 * len(self.kept), 1))
        for i, (_, each) in enumerate(self.kept):
            tried[1 + 2 * i, i], tried[2 + 2 * i, i] = each.low, each.high
        margin = self._run(tried)[0] * (-1.0 if self.so else 1.0)
        low, high = margin[1::2], margin[2::2]
        with np.errstate(invalid="ignore"):
            # From where a method can't do the work, being able to is beyond any sum of money.
            gain = np.nan_to_num(np.maximum(low, high) - margin[0], nan=0.0, posinf=1e300)
        lows, highs = (np.array([getattr(each, end) for _, each in self.kept]) for end in ("low", "high"))
        ends = np.where(gain > 0, np.where(high > low, highs, lows), self.best)
        order = np.argsort(-gain, kind="stable")
        return ends, order[gain[order] > 0]

    def _one_by_one(self, ends: Array, order: np.ndarray) -> np.ndarray:
        """Whether it is done with the first, the first two, ... of the inputs at their ends."""
        rows = np.tile(self.best, (len(order), 1))
        for k, i in enumerate(order):
            rows[k:, i] = ends[i]
        return self._run(rows)[1]

    def _share(self, ends: Array) -> float | None:
        a, b = 0.0, 1.0
        shares = np.linspace(0, 1, SAMPLES + 1)[1:]
        first = self._first(self._run(self._at(shares, ends))[1])
        if first is None:
            return None
        a, b = (float(shares[first - 1]) if first else 0.0), float(shares[first])
        while b - a > LOCATED:
            inner = np.linspace(a, b, INSIDE + 2)
            done = self._run(self._at(inner[1:-1], ends))[1]
            place = self._first(done)
            step = INSIDE if place is None else place
            a, b = float(inner[step]), float(inner[step + 1])
        return b

    def _at(self, shares: Array, ends: Array) -> Array:
        steps = np.where(self.graded, shares[:, None] >= 0.5, shares[:, None])
        rows = self.best + steps * (ends - self.best)
        return np.where(self.whole, np.round(rows), rows)

    def _run(self, rows: Array) -> tuple[Array, np.ndarray]:
        """For cases of all inputs, shape (cases, inputs): margins, and whether the claim's being so has changed."""
        cases = {each.key: rows[:, i] for i, (_, each) in enumerate(self.kept)}
        cases |= {key: np.full(len(rows), value) for key, value in self.goal.held.items()}
        margins, done = [], []
        for part, values in self.program.run_in_blocks(cases):
            count = part.stop - part.start
            margins.append(np.broadcast_to(self.goal.margin(values), (count,)))
            done.append(np.broadcast_to(self.goal.holds(values) != self.so, (count,)))
        return np.concatenate(margins), np.concatenate(done)

    @staticmethod
    def _first(done: np.ndarray) -> int | None:
        return int(done.argmax()) if done.any() else None


__all__ = ["Joint", "Moved", "joint"]
