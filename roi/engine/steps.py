"""Where a book's figures step while one input is varied, and where one line's figure overtakes another's.

Figures are smooth in an input but for steps (rounding, comparisons, positions) and kinks (the branch of a larger or
smaller). Each such node that depends on the varied input is computed beside the lines wanted; its values over all nodes,
the *signature*, stay the same within a smooth piece and change at a step. What the input means, and in which unit it
is told, is left to the caller: here it is in the engine's unit.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from hashlib import blake2b
from itertools import combinations, pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from roi.engine.column import Book, Column, Line, leaves, parts
from roi.engine.errors import EngineError
from roi.engine.evaluate import Program
from roi.engine.expression import Apply, Expr, Leaf
from roi.engine.functions import Array
from roi.engine.narrowing import CLOSE, LOOKS, MANY, worth_narrowing
from roi.engine.operations import at, at_least, nearest, total, up
from roi.units.unit import NUMBER

TIE = 0.01  # currency: a difference no larger than this is none
SAMPLES = 400  # points looked at over a range before any step is sought
LOCATED = 1e-12  # of the input's value: how narrowly steps and crossings are enclosed
STRETCH = 1e-6  # of the range: narrower than this, two equal figures only touch
NOISE = 1e-11  # of the figures: what the order of additions may make of a difference
BLOCK = 512  # cases at a time
ROUNDS = 80  # halvings: from any range to neighbouring numbers takes fewer

Integers = NDArray[np.int64]


class Stepped:
    """Lines of a book computed together with the signature of every step that depends on the varied inputs.

    steps : the nodes watched, each with the line it stands in
    Raises EngineError for a key that no line fetches, and what `Program` raises.
    """

    def __init__(self, book: Book, wanted: Iterable[Line], keys: Iterable[str]) -> None:
        self.wanted, self.keys = list(wanted), tuple(keys)
        if unknown := [key for key in self.keys if key not in book.inputs]:
            raise EngineError(f"no line uses the input {', '.join(unknown)}")
        plain = Program(book, self.wanted)
        self.steps = list(_steps(plain, set(self.keys)))
        probes = Column("Steps", "steps")
        for _, node in self.steps:
            for body in _probes(node):
                name = str(len(probes.body))
                # Not through column.line: a probe is never written down, so its length as a formula is no matter.
                probes.body.append(Line(probes, f"steps.{name}", name, NUMBER, body, "", ""))
        self._probes = list(probes.lines)
        self._program = Program(Book([*book.columns, probes]), [*self.wanted, *self._probes])

    def run(self, key: str, values: Array) -> tuple[list[Array], Integers]:
        """Each wanted line at values of one input, shapes (cases,) or (k, cases), and each case's signature."""
        found: list[list[Array]] = [[] for _ in self.wanted]
        signature: list[bytes] = []
        for part, computed in self._program.run_in_blocks({key: values}, BLOCK):
            count = len(values[part])
            for into, line in zip(found, self.wanted, strict=True):
                into.append(np.broadcast_to(computed[line], (*computed[line].shape[:-1], count)))
            rows = [np.broadcast_to(np.atleast_2d(computed[p]), (_height(p), count)) for p in self._probes]
            # Adding 0.0 makes negative zeros plain; what is undefined in a branch not taken has one spelling.
            table = np.vstack(rows).T + 0.0 if rows else np.zeros((count, 1))
            table[np.isnan(table)] = np.nan
            signature += [blake2b(row.tobytes(), digest_size=8).digest() for row in table]
        whole = [np.concatenate(blocks, axis=-1) for blocks in found]
        return whole, np.frombuffer(b"".join(signature), np.int64)


def _height(line: Line) -> int:
    return len(line.axis) if line.axis is not None else 1


def _steps(program: Program, keys: set[str]) -> Iterator[tuple[Line, Apply]]:
    """Every node of a program that steps or bends and depends on one of the inputs."""
    varied: set[Leaf] = {stated for key, stated in program.inputs.items() if key in keys}
    for line in program.lines:
        if any(leaf in varied for leaf in line.uses):
            varied.add(line)
            for node in _nodes(line.formula):
                if any(leaf in varied for leaf in leaves(node)) and any(True for _ in _probes(node)):
                    yield line, node


def _nodes(body: Expr) -> Iterator[Apply]:
    if isinstance(body, Apply):
        yield body
    for part in parts(body):
        yield from _nodes(part)


def _probes(node: Apply) -> Iterator[Expr]:
    """What to compute to know on which side of its steps or bends a function is. A choice follows its flag."""
    name, first = node.function, node.args[0]
    if name in ("up", "nearest", "at_least", "smallest_at", "position_of"):
        yield node
    elif name == "is_whole":
        yield node
        yield up(first)
    elif name in ("larger", "smaller"):
        yield at_least(first, node.args[1])
    elif name == "absolute":
        yield at_least(first, 0)
    elif name == "pick":
        yield nearest(node.args[1])
    elif name in ("smallest", "second_smallest", "largest"):
        # Which rows the value found is not above, and which are not above it: that tells the row it stands in.
        yield at_least(node, first)
        yield at_least(first, node)
    elif name == "nth_largest":
        # Each row against every row: their whole order.
        assert isinstance(first, Leaf) and first.axis is not None
        for row in range(len(first.axis)):
            yield at_least(at(first, row), first)
        yield nearest(node.args[1])
    elif name == "internal_rate":
        assert isinstance(first, Leaf)
        yield at_least(0, at(first, 0))
        yield at_least(0, total(first))


@dataclass(frozen=True)
class Turn:
    """A value of the input at which the cheaper of two lines changes.

    at : in the engine's unit; of a whole input, the first value at which `above` holds
    kind : "tie" where both cost the same to a cent there, "jump" where a step passes one over the other, "stretch" where
        steps are many and pass one over the other time and again from `at` to `last`
    below, above : 0 where the first line is the cheaper, 1 the second, None where neither can be chosen
    costs_below, costs_above : both lines' figures put back just below and just above; at a tie, those at `at`
    """

    at: float
    kind: str
    below: int | None
    above: int | None
    costs_below: tuple[float, float]
    costs_above: tuple[float, float]
    last: float | None = None


@dataclass(frozen=True)
class Turns:
    """Every turn of two lines over a range, in rising order.

    always : where there is no turn, the cheaper one (0 or 1); None where neither can be chosen or both cost the same
    alike : whether they cost the same wherever looked at
    able : whether each could be chosen anywhere in the range; everywhere : in all of it
    """

    turns: tuple[Turn, ...]
    always: int | None
    alike: bool
    able: tuple[bool, bool]
    everywhere: tuple[bool, bool]


class _Run(NamedTuple):
    """Neighbouring points of one state, first and last."""

    state: int
    first: int
    last: int


# States of a pair at a point.
_FIRST, _SAME, _SECOND, _NEITHER = -1, 0, 1, 2
_WINNER = {_FIRST: 0, _SECOND: 1, _NEITHER: None}


class Trace:
    """Lines' figures over a range of one input, dense enough at every turn of every pair of them.

    Every step found is enclosed to LOCATED of the input's value. Two opposite steps between the same neighbouring
    samples, or two turns there within one smooth piece, are seen only by sampling: of the latter, where a parabola
    through the samples comes near nothing, its vertex is looked at too. Where steps are more than MANY, they are enclosed
    only where the figures of a pair are as near as steps around there may bridge, and turns nearer than CLOSE of the range to
    one another are one stretch, of which the first and the last are enclosed; so work has a bound, however many steps.

    costs : single lines; able : a flag for each, 0 where it can't be chosen; a figure that is not finite can't either
    key, low, high : the input varied, in the engine's unit; also : further values to look at
    whole : look at the whole numbers from low to high only
    """

    def __init__(
        self,
        book: Book,
        costs: Sequence[Line],
        key: str,
        low: float,
        high: float,
        *,
        able: Sequence[Line] | None = None,
        also: Iterable[float] = (),
        samples: int = SAMPLES,
        whole: bool = False,
    ) -> None:
        if not low < high:
            raise EngineError(f"{key}: there is nothing between {low} and {high}")
        self.count, self.key, self.span, self.whole = len(costs), key, high - low, whole
        self.coarse, self._left = False, LOOKS
        self._stepped = Stepped(book, [*costs, *(able or ())], [key])
        self._pairs = list(combinations(range(self.count), 2))
        points = np.arange(round(low), round(high) + 1.0) if whole else np.linspace(low, high, samples)
        more = [value for value in also if low <= value <= high]
        self.x = np.unique(np.concatenate([points, np.asarray(more, float)]))
        self.cost, self.able, self.signature = self._compute(self.x)
        if not whole:
            self._refine()
            self._add(self._thin())
            while self._add(self._vertices()):
                self._refine()
            self._refine()

    def _compute(self, x: Array) -> tuple[Array, NDArray[np.bool_], Integers]:
        found, signature = self._stepped.run(self.key, x)
        cost = np.stack(found[: self.count])
        able = np.isfinite(cost)
        for row, flag in enumerate(found[self.count :]):
            able[row] &= flag == 1
        return cost, able, signature

    def _add(self, x: Array) -> bool:
        """Put further points in; whether a pair has another cheaper line at one of them than at its neighbours."""
        new = self._put(x)
        if not new.size:
            return False
        states = self._states()
        before, after = np.maximum(new - 1, 0), np.minimum(new + 1, len(self.x) - 1)
        return bool(((states[:, new] != states[:, before]) & (states[:, new] != states[:, after])).any())

    def _put(self, x: Array) -> Integers:
        """Put further points in; where they came to stand."""
        x = np.setdiff1d(x, self.x)
        if not x.size:
            return np.zeros(0, np.int64)
        cost, able, signature = self._compute(x)
        order = np.argsort(np.concatenate([self.x, x]), kind="stable")
        self.x = np.concatenate([self.x, x])[order]
        self.cost = np.concatenate([self.cost, cost], axis=1)[:, order]
        self.able = np.concatenate([self.able, able], axis=1)[:, order]
        self.signature = np.concatenate([self.signature, signature])[order]
        return np.searchsorted(self.x, x)

    def _states(self) -> Integers:
        """Of each pair at each point: which is the cheaper."""
        return np.stack([self._state(a, b) for a, b in self._pairs])

    def _state(self, a: int, b: int) -> Integers:
        both, either = self.able[a] & self.able[b], self.able[a] | self.able[b]
        one, other = (np.where(both, self.cost[i], 0.0) for i in (a, b))
        gap = one - other
        dead = np.minimum(TIE, NOISE * np.maximum(np.abs(one), np.abs(other)))
        by_cost = np.where(np.abs(gap) <= dead, _SAME, np.sign(gap))
        alone = np.where(self.able[a], _FIRST, _SECOND)
        return np.where(both, by_cost, np.where(either, alone, _NEITHER)).astype(np.int64)

    def _refine(self) -> None:
        """Halve, all at once, what holds a step or a turn, until each is enclosed."""
        for _ in range(ROUNDS):
            left, right = self.x[:-1], self.x[1:]
            width, states = right - left, self._states()
            turns = (states[:, 1:] != states[:, :-1]).any(axis=0)
            stepped = self.signature[1:] != self.signature[:-1]
            wide = (turns | stepped) & (width > LOCATED * np.maximum(np.abs(left), np.abs(right)))
            self.coarse |= int(wide.sum()) > MANY
            if self.coarse:
                changed = states[:, 1:] != states[:, :-1]
                pairs = [(self._gap(*pair), row) for pair, row in zip(self._pairs, changed, strict=True)]
                wide, spent = worth_narrowing(self.x, pairs, wide, min(MANY, self._left))
                self._left -= spent
            middle = left[wide] + width[wide] / 2
            middle = middle[(middle > left[wide]) & (middle < right[wide])]
            if not middle.size:
                return
            self._put(middle)

    def _gap(self, a: int, b: int) -> Array:
        """The first line's figure less the second's, NaN where not both can be chosen."""
        both = self.able[a] & self.able[b]
        return np.where(both, self.cost[a], np.nan) - np.where(both, self.cost[b], np.nan)

    def _thin(self) -> Array:
        """The middle of smooth pieces that samples met at their ends only."""
        same = np.concatenate([[False], self.signature[1:] == self.signature[:-1], [False]])
        alone = same[1:-1] & ~same[:-2] & ~same[2:] & (np.diff(self.x) > STRETCH * self.span)
        return (self.x[:-1] + np.diff(self.x) / 2)[alone]

    def _vertices(self) -> Array:
        """Where a difference without a change of sign seems to come nearest to nothing within a smooth piece."""
        x, found = self.x, [np.zeros(0)]
        piece = (self.signature[1:-1] == self.signature[:-2]) & (self.signature[1:-1] == self.signature[2:])
        piece &= x[2:] - x[:-2] > STRETCH * self.span
        for (a, b), state in zip(self._pairs, self._states(), strict=True):
            both = self.able[a] & self.able[b]
            gap = np.abs(np.where(both, self.cost[a], 0.0) - np.where(both, self.cost[b], 0.0))
            here = piece & (state[1:-1] == state[:-2]) & (state[1:-1] == state[2:])
            here &= (gap[1:-1] <= gap[:-2]) & (gap[1:-1] <= gap[2:])
            i = 1 + np.flatnonzero(here & (gap[:-2] + gap[2:] > 2 * gap[1:-1]))
            one, two = x[i] - x[i - 1], x[i] - x[i + 1]
            rise, fall = gap[i] - gap[i - 1], gap[i] - gap[i + 1]
            lowest = x[i] - (one**2 * fall - two**2 * rise) / (2 * (one * fall - two * rise))
            found.append(lowest[(lowest > x[i - 1]) & (lowest < x[i + 1])])
        return np.concatenate(found)

    def steps(self) -> Array:
        """Values of the input, in rising order, just below which some step or bend was enclosed."""
        return self.x[1:][self.signature[1:] != self.signature[:-1]]

    def turns(self, a: int, b: int, favoured: int | None = None) -> Turns:
        """Every turn of two of the lines. Over a stretch where both cost the same, the favoured one is the cheaper.

        Where neither is favoured, such a stretch belongs to what was the cheaper before it.
        """
        state = self._state(a, b)
        able = (bool(self.able[a].any()), bool(self.able[b].any()))
        throughout = (bool(self.able[a].all()), bool(self.able[b].all()))
        sign = {a: _FIRST, b: _SECOND}.get(favoured if favoured is not None else -1)
        runs: list[_Run] = []
        for run in _runs(state):
            if run.state == _SAME:
                if self.x[run.last] - self.x[run.first] <= STRETCH * self.span:
                    continue
                if sign is None:
                    runs[-1:] = [before._replace(last=run.last) for before in runs[-1:]]
                    continue
                run = run._replace(state=sign)
            if runs and runs[-1].state == run.state:
                run = run._replace(first=runs.pop().first)
            runs.append(run)
        if not runs:
            return Turns((), None if sign is None else _WINNER[sign], True, able, throughout)
        turns = tuple(self._stretch(a, b, group) for group in self._groups(list(pairwise(runs))))
        alike = bool((state == _SAME).all())
        return Turns(turns, None if turns else _WINNER[runs[0].state], alike, able, throughout)

    def _groups(self, changes: list[tuple[_Run, _Run]]) -> Iterator[list[tuple[_Run, _Run]]]:
        """Changes of the cheaper one that are told as one: each by itself, but where steps are many."""
        group: list[tuple[_Run, _Run]] = []
        for change in changes:
            if group and not (
                self.coarse and self.x[change[0].last] - self.x[group[-1][0].last] <= CLOSE * self.span
            ):
                yield group
                group = []
            group.append(change)
        if group:
            yield group

    def _stretch(self, a: int, b: int, group: list[tuple[_Run, _Run]]) -> Turn:
        first = self._turn(a, b, *group[0])
        if len(group) == 1:
            return first
        last = self._turn(a, b, *group[-1])
        return replace(first, kind="stretch", above=last.above, last=last.at)

    def _turn(self, a: int, b: int, under: _Run, over: _Run) -> Turn:
        p, q = under.last, over.first
        below, above = _WINNER[under.state], _WINNER[over.state]
        costs = [(float(self.cost[a][i]), float(self.cost[b][i])) for i in (p, q)]
        gaps = [one - other for one, other in costs]
        x = [float(self.x[i]) for i in (p, q)]
        here = x[1] if self.whole else x[0] + (x[1] - x[0]) / 2
        both = bool(self.able[[a, b]][:, [p, q]].all())
        if self.whole or not both or max(abs(gap) for gap in gaps) > TIE:
            return Turn(here, "jump", below, above, costs[0], costs[1])
        # Both ends are within a cent; the chord between them says best where the difference is nothing.
        if gaps[0] * gaps[1] < 0:
            here = x[0] + (x[1] - x[0]) * gaps[0] / (gaps[0] - gaps[1])
        cost, _, _ = self._compute(np.array([here]))
        back = (float(cost[a][0]), float(cost[b][0]))
        if abs(back[0] - back[1]) > TIE:
            here, back = x[0], costs[0]
        return Turn(here, "tie", below, above, back, back)


def _runs(state: Integers) -> Iterator[_Run]:
    edges = [0, *(1 + np.flatnonzero(state[1:] != state[:-1])).tolist(), len(state)]
    for first, end in pairwise(edges):
        yield _Run(int(state[first]), first, end - 1)


def crossings(book: Book, a: Line, b: Line, key: str, low: float, high: float) -> tuple[Turn, ...]:
    """Every value of an input between low and high (engine's unit) at which the cheaper of two lines changes."""
    return Trace(book, [a, b], key, low, high).turns(0, 1).turns


__all__ = ["SAMPLES", "TIE", "Stepped", "Trace", "Turn", "Turns", "crossings"]
