"""Columns computed with numpy, over any number of cases, in blocks that stay in the processor's cache.

Shapes: a single value is (cases,), a block (k, cases). What depends on no varying input keeps one case and
broadcasts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from weakref import WeakKeyDictionary

import numpy as np

from roi.engine.column import Book, Column, Line
from roi.engine.errors import EngineError
from roi.engine.expression import Apply, Constant, Data, Expr, Gather, Input, Leaf, Relabel, Row
from roi.engine.functions import TABLE, Array

BLOCK = 8192  # cases at a time: smaller blocks pay more for each step and for memory handed back and forth

Values = dict[Leaf, Array]
_Step = Callable[[Values], Array]


def _compile(body: Expr) -> _Step:
    if isinstance(body, Relabel):
        return _compile(body.inner)
    if isinstance(body, Constant):
        number = np.array([float(body.number)])
        return lambda _: number
    if isinstance(body, Leaf):
        return lambda values: values[body]
    if isinstance(body, Row):
        block, row = body.block, body.row
        return lambda values: values[block][row]
    if isinstance(body, Gather):
        each = [_compile(part) for part in body.parts]
        return lambda values: np.stack(np.broadcast_arrays(*(step(values) for step in each)))
    assert isinstance(body, Apply)
    work = TABLE[body.function].numpy
    args = [_compile(arg) for arg in body.args]
    if len(args) == 1:
        (one,) = args
        return lambda values: work(one(values))
    if len(args) == 2:
        first, second = args
        return lambda values: work(first(values), second(values))
    return lambda values: work(*(arg(values) for arg in args))


class Program:
    """A book made ready to compute the lines in `wanted` (all when None).

    Every other line is dropped after its last use. Raises EngineError for a line that uses one which stands
    after it or in no column of the book, and for two inputs of one key.
    """

    def __init__(self, book: Book, wanted: Iterable[Line] | None = None) -> None:
        lines = list(book.lines)
        self.wanted = lines if wanted is None else list(wanted)
        used = needed(self.wanted)
        self.lines = [line for line in lines if line in used]
        self.data = {leaf for line in self.lines for leaf in line.uses if isinstance(leaf, Data)}
        self.inputs: dict[str, Input] = {}
        self._check_order()
        self._steps = [(line, _compile(line.formula)) for line in self.lines]
        last_use: dict[Leaf, int] = {}
        for i, line in enumerate(self.lines):
            for leaf in line.uses:
                last_use[leaf] = i
        keep = set(self.wanted) | self.data
        self._done_with: list[list[Leaf]] = [[] for _ in self.lines]
        for leaf, i in last_use.items():
            if leaf not in keep:
                self._done_with[i].append(leaf)

    def _check_order(self) -> None:
        earlier: set[Leaf] = set()
        for line in self.lines:
            for leaf in line.uses:
                if isinstance(leaf, Input) and self.inputs.setdefault(leaf.key, leaf) is not leaf:
                    raise EngineError(f"{line.column.title}: another input is called {leaf.key} as well")
                if isinstance(leaf, Line) and leaf not in earlier:
                    raise EngineError(
                        f"{line.column.title}, '{line.label}': uses '{leaf.label}' of {leaf.column.title}, "
                        "which is not computed before it"
                    )
            earlier.add(line)
        if missing := [line for line in self.wanted if line not in earlier]:
            raise EngineError(f"in no column of the book: {', '.join(line.key for line in missing)}")

    def run(self, cases: Mapping[str, Array] = {}, held: Mapping[Leaf, Array] = {}) -> Values:
        """Values of the wanted lines for cases as {input key: shape (cases,)}; other inputs at their best.

        held : data and lines, not inputs, that are to have these values whatever they are stated or worked out to be
        """
        values: Values = {data: data.values[:, None] for data in self.data}
        values |= {leaf: value for leaf, value in held.items() if isinstance(leaf, Data)}
        for key, stated in self.inputs.items():
            values[stated] = np.atleast_1d(np.asarray(cases.get(key, stated.best), float))
        # A branch that an IF does not take may divide by zero; the result of the one taken is what stands.
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            for (line, step), done in zip(self._steps, self._done_with, strict=True):
                result = held[line] if line in held else step(values)
                if line.axis is not None and result.shape[0] != len(line.axis):
                    result = np.broadcast_to(result, (len(line.axis), result.shape[-1]))
                values[line] = result
                for leaf in done:
                    del values[leaf]
        return {line: values[line] for line in self.wanted}

    def run_in_blocks(self, cases: Mapping[str, Array], block: int = BLOCK) -> Iterator[tuple[slice, Values]]:
        """The same, a block of cases at a time: (which cases, values)."""
        count = max((np.size(v) for v in cases.values()), default=1)
        for start in range(0, count, block):
            part = slice(start, min(start + block, count))
            yield part, self.run({k: v[part] if np.size(v) > 1 else v for k, v in cases.items()})


_WHOLE: WeakKeyDictionary[Book, tuple[int, Program]] = WeakKeyDictionary()


def evaluate(book: Book, changes: Mapping[str, float] = {}) -> Values:
    """Every line of a book for one case: inputs at their best, but for `changes` (in the engine's units)."""
    # Made ready once a book, as long as no line is added: that costs more than one case does.
    count = sum(len(column.inputs) + len(column.body) for column in book.columns)
    known = _WHOLE.get(book)
    if known is None or known[0] != count:
        known = _WHOLE[book] = (count, Program(book))
    return known[1].run({key: np.array([value]) for key, value in changes.items()})


def extend(values: Values, columns: Iterable[Column], changes: Mapping[str, float] = {}) -> Values:
    """`values` with the lines of further columns, which refer to lines already computed, for one case.

    Inputs that these columns fetch are at their best, but for `changes`.
    """
    known = dict(values)
    for column in columns:
        for line in column.lines:
            for leaf in line.uses:
                if isinstance(leaf, Data):
                    known.setdefault(leaf, leaf.values[:, None])
                elif isinstance(leaf, Input):
                    known[leaf] = np.array([changes.get(leaf.key, leaf.best)])
            with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
                known[line] = _compile(line.formula)(known)
    return known


def needed(wanted: Iterable[Line]) -> set[Leaf]:
    """The wanted lines and every leaf they depend on."""
    found: set[Leaf] = set()
    todo: list[Leaf] = list(wanted)
    while todo:
        leaf = todo.pop()
        if leaf not in found:
            found.add(leaf)
            if isinstance(leaf, Line):
                todo.extend(leaf.uses)
    return found
