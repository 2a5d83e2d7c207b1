"""Where a judgement changes nearest to the best case, for many inputs at once, each varied alone.

A judgement gives every case a whole number for each question, such as which line is the smallest. On either side of an
input's best value the first sample that is judged otherwise is sought, and what lies between it and the sample before is
narrowed for all inputs and questions together. Two opposite changes between neighbouring samples are not seen. What a
judgement means is left to the caller; values are in the engine's unit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from roi.engine.column import Book, Line
from roi.engine.errors import EngineError
from roi.engine.evaluate import Program, Values
from roi.engine.functions import Array

OWN, FAR = 10, 14  # samples on either side: within the input's own low and high, and beyond
CASES = 1024  # about as many are computed each time that all changes are narrowed at once
INSIDE = (8, 128)  # points looked at between the two ends of what is narrowed, at least and at most
LOCATED = 1e-12  # of the value: how narrowly a change is enclosed
ROUNDS = 20  # from any range to neighbouring numbers takes fewer
BLOCK = 4096  # cases at a time: larger blocks leave the processor's cache

Integers = NDArray[np.int64]
Judge = Callable[[Values], Sequence[Integers]]
_Met = tuple[int, int, int, float, float, int]  # question, place, side, kept, beyond, judgement beyond


@dataclass(frozen=True)
class Range:
    """How far an input is looked at: from best down to least and up to most; low and high are its own range.

    whole : whole numbers only; grades : only these values are looked at, as they stand, where any are given
    """

    key: str
    best: float
    low: float
    high: float
    least: float
    most: float
    whole: bool = False
    grades: tuple[float, ...] = ()


@dataclass(frozen=True)
class Change:
    """A value at which a question is judged otherwise than at best, the nearest on its side.

    place : the range's position; side : -1 below best, 1 above
    kept, beyond : the last value found that is judged as at best, and the first that isn't
    before, after : the judgement at the two
    """

    question: int
    place: int
    side: int
    kept: float
    beyond: float
    before: int
    after: int


class Search:
    """Ranges of inputs searched for changes of a judgement.

    judge : from the wanted lines, for some cases, to one whole number a case for each question
    held : inputs kept at other values than their best in every case, such as the volume a claim speaks of
    Raises EngineError for a key that no line fetches, and what `Program` raises.
    """

    def __init__(
        self,
        book: Book,
        wanted: Iterable[Line],
        ranges: Sequence[Range],
        judge: Judge,
        held: Mapping[str, float] = {},
    ) -> None:
        self.ranges, self._judge, self._held = list(ranges), judge, dict(held)
        self._program = Program(book, wanted)
        known = book.inputs
        if unknown := [each.key for each in self.ranges if each.key not in known]:
            raise EngineError(f"no line uses the input {', '.join(unknown)}")

    def cases(self, place: Integers, x: Array) -> Iterator[tuple[slice, Values]]:
        """The wanted lines with one input changed in each case: values `x` of the ranges at positions `place`."""
        for start in range(0, len(x), BLOCK):
            part = slice(start, min(start + BLOCK, len(x)))
            here, values = place[part], x[part]
            changed: dict[str, Array] = {key: np.array([value]) for key, value in self._held.items()}
            for which in np.unique(here):
                varied = self.ranges[which]
                changed[varied.key] = np.where(here == which, values, changed.get(varied.key, varied.best))
            yield part, self._program.run(changed)

    def judged(self, place: Integers, x: Array) -> Integers:
        """The judgement of each case, shape (questions, cases)."""
        blocks = []
        for part, values in self.cases(place, x):
            count = part.stop - part.start
            blocks.append(np.stack([np.broadcast_to(q, (count,)) for q in self._judge(values)]))
        return np.concatenate(blocks, axis=1)

    def changes(self) -> list[Change]:
        """The nearest change of each question on either side of each input, in the order of the ranges."""
        if not self.ranges:
            return []
        samples = [_samples(each, side) for each in self.ranges for side in (-1, 1)]
        places = [np.full(len(x), i // 2) for i, x in enumerate(samples)]
        place = np.concatenate([[0], *places]).astype(np.int64)
        judged = self.judged(place, np.concatenate([[self.ranges[0].best], *samples]))
        best, judged = judged[:, 0], judged[:, 1:]
        found: list[_Met] = []
        start = 0
        for i, x in enumerate(samples):
            here = judged[:, start : start + len(x)]
            start += len(x)
            for question, state in enumerate(here):
                if (other := state != best[question]).any():
                    first = int(other.argmax())
                    before = float(x[first - 1]) if first else self.ranges[i // 2].best
                    found.append(
                        (question, i // 2, 2 * (i % 2) - 1, before, float(x[first]), int(state[first]))
                    )
        return self._narrowed(found, best)

    def _narrowed(self, found: list[_Met], best: Integers) -> list[Change]:
        if not found:
            return []
        question, place = (np.array([f[i] for f in found], np.int64) for i in (0, 1))
        kept, beyond = (np.array([f[i] for f in found]) for i in (3, 4))
        after = np.array([f[5] for f in found], np.int64)
        whole = np.array([self.ranges[p].whole for p in place])
        graded = np.array([bool(self.ranges[p].grades) for p in place])
        for _ in range(ROUNDS):
            width = np.abs(beyond - kept)
            wide = np.where(whole, width > 1, width > LOCATED * np.maximum(np.abs(kept), np.abs(beyond)))
            rows = np.flatnonzero(wide & ~graded)
            if not rows.size:
                break
            count = int(np.clip(CASES // rows.size, *INSIDE))
            a, b = kept[rows][:, None], beyond[rows][:, None]
            x = a + (b - a) * (np.arange(1, count + 1) / (count + 1))
            x = np.where(whole[rows][:, None], np.round(x), x)
            judged = self.judged(np.repeat(place[rows], count), x.ravel()).reshape(
                len(best), len(rows), count
            )
            each = np.arange(len(rows))
            # The far end was judged otherwise before.
            state = np.concatenate([judged[question[rows], each], after[rows][:, None]], axis=1)
            first = (state != best[question[rows]][:, None]).argmax(axis=1)
            ends = np.concatenate([a, x, b], axis=1)
            kept[rows], beyond[rows] = ends[each, first], ends[each, first + 1]
            after[rows] = state[each, first]
        return [
            Change(q, p, side, float(kept[i]), float(beyond[i]), int(best[q]), int(after[i]))
            for i, (q, p, side, *_) in enumerate(found)
        ]


def _samples(each: Range, side: int) -> Array:
    """Values from next to best outward, as far as the range is looked at; none where it ends at best."""
    own, far = (each.low, each.least) if side < 0 else (each.high, each.most)
    if each.grades:
        x = np.unique(each.grades)
        return x[x < each.best][::-1] if side < 0 else x[x > each.best]
    if each.whole:
        x = np.unique(np.round(np.linspace(each.best, far, OWN + FAR + 1)))
        return x[x < each.best][::-1] if side < 0 else x[x > each.best]
    parts = [
        np.linspace(start, end, count + 1)[1:]
        for start, end, count in ((each.best, own, OWN), (own, far, FAR))
        if side * (end - start) > 0
    ]
    return np.concatenate(parts) if parts else np.zeros(0)


__all__ = ["Change", "Judge", "Range", "Search"]
