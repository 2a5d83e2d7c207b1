"""How a figure comes about: the tree of lines below it, down to what was stated, in at most 80 columns.

Values are in the engine's unit of each line, as in the workbook; inputs are shown as they were stated.
"""

from __future__ import annotations

import difflib
import textwrap
from collections.abc import Iterator
from dataclasses import dataclass

from roi.engine.column import Column, Line
from roi.engine.evaluate import Values
from roi.engine.expression import Apply, Constant, Data, Expr, Gather, Input, Leaf, Relabel, Row
from roi.engine.functions import ATOM, COMPARE, FREE, TABLE
from roi.model.study import Study
from roi.scenario.problems import BadInput, Problem
from roi.scenario.stated import StatedInput
from roi.units.quantity import unit_label

WIDTH = 80
FIRST_ROWS = 3  # of a block; the last one follows
DEEPEST_INDENT = 30  # columns: text needs room beside it
_INDENT = 2

# Functions that are no operators, in words. What stands inside binds as loosely as a comparison.
_PROSE = {
    "larger": "the larger of {0} and {1}",
    "smaller": "the smaller of {0} and {1}",
    "absolute": "{0} without its sign",
    "up": "{0} rounded up",
    "nearest": "{0} rounded",
    "at_least": "1 if {0} >= {1}, else 0",
    "is_whole": "1 if {0} is whole, else 0",
    "when": "{1} if {0}, else {2}",
    "total": "the sum of {0}",
    "product_sum": "the sum of {0} x {1}, row by row",
    "running": "the sum of {0} so far",
    "pick": "row {1} of {0}",
    "window": "the sum of {0}, from this row on, x {1}",
    "smallest": "the smallest of {0}",
    "second_smallest": "the second smallest of {0}",
    "largest": "the largest of {0}",
    "smallest_at": "the position of the smallest of {0}",
    "nth_largest": "number {1} of {0}, the largest first",
    "position_of": "the position of {0} in {1}",
    "here": "{0}",
    "following": "{0}, one further on",
    "internal_rate": "the internal rate of return of {0}, sought from {1}",
}
_CONDITIONS = {"at_least": "{0} >= {1}", "is_whole": "{0} is whole"}
_OPERATORS = {
    "add": "{0} + {1}", "subtract": "{0} - {1}", "multiply": "{0} x {1}", "divide": "{0} / {1}",
    "negate": "0 - {0}", "power": "{0} ^ {1}", "compound": "(1 + {0}) ^ {1}", "root": "{0} ^ (1 / {1})",
}  # fmt: skip


def find(study: Study, text: str) -> Line:
    """The line with this key, input key or label. BadInput names the nearest where there isn't one."""
    lines = list(study.book.lines)
    wanted = text.strip()
    for line in lines:
        if wanted in (line.key, _own_key(line)):
            return line
    alike = [line for line in lines if line.label.lower() == wanted.lower()]
    # An input is fetched by several sheets under one label; that is one thing.
    if len({_own_key(line) for line in alike}) == 1:
        return alike[0]
    where = f'line "{wanted}"'
    if alike:
        keys = ", ".join(f'"{line.key}"' for line in alike)
        raise BadInput([Problem(where, "is a label of several lines", f"write one of {keys}")])
    names: dict[str, str] = {}
    for line in lines:
        names.setdefault(_own_key(line).lower(), _own_key(line))
        names.setdefault(line.label.lower(), _own_key(line))
    near = difflib.get_close_matches(wanted.lower(), names, 8, cutoff=0.5)
    near += [name for name in names if wanted and wanted.lower() in name]
    keys = ", ".join(f'"{key}"' for key in list(dict.fromkeys(names[name] for name in near))[:6])
    mend = f"was one of these meant: {keys}?" if keys else 'write a key such as "comparison.Present cost"'
    raise BadInput([Problem(where, "is no line of this scenario", mend)])


def _own_key(line: Line) -> str:
    """The key a reader knows a line by: an input's own, whichever sheet fetches it."""
    return line.formula.key if isinstance(line.formula, Input) else line.key


def explain(study: Study, values: Values, line: Line, depth: int = 3, row: int | None = None) -> list[str]:
    """The figure and what it is made of, as lines of text.

    depth : steps followed below the figure, 0 or more; row : row of a block, counted from 1, None for all.
    Raises BadInput when the line has no such row.
    """
    if row is not None:
        count = len(line.axis) if line.axis else 0
        if row > count or row < 1:
            what = f"has {count} rows" if count else "is a single figure, without rows"
            mend = f"give a row from 1 to {count}" if count else "leave --row away"
            raise BadInput([Problem(f'line "{line.key}", --row {row}', what, mend)])
    return _Tree(study, values).told(line, None if row is None else row - 1, depth, 0, None)


def words(body: Expr, row: int | None = None, home: Column | None = None) -> str:
    """An expression in words: labels in quotes, operators as on paper.

    row : the row meant of a block, counted from 0
    home : a line of another column than this is told with its sheet
    """
    return _Words(row, home).say(body, FREE)


def name(leaf: Leaf, home: Column | None) -> str:
    """A leaf's label, with its sheet where that is another: every method's sheet has a "Present cost"."""
    if home is None or not isinstance(leaf, Line) or leaf.is_input or leaf.column is home:
        return leaf.label
    return f"{leaf.column.title}: {leaf.label}"


@dataclass(frozen=True)
class _Words:
    row: int | None
    home: Column | None

    def say(self, body: Expr, binding: int) -> str:
        if isinstance(body, Relabel):
            return self.say(body.inner, binding)
        if isinstance(body, Constant):
            return f"{body.number:,}"
        if isinstance(body, Leaf):
            return f'"{name(body, self.home)}"'
        if isinstance(body, Row):
            return f'"{name(body.block, self.home)}" ({_row_label(body.block, body.row)})'
        if isinstance(body, Gather):
            return self._gathered(body, binding)
        assert isinstance(body, Apply)
        function = TABLE[body.function]
        if body.function in _OPERATORS:
            text, strength = _OPERATORS[body.function], function.strength
            parts = [self.say(arg, function.bind(i)) for i, arg in enumerate(body.args)]
        else:
            text, strength = _PROSE[body.function], FREE
            parts = [self.say(arg, COMPARE) for arg in body.args]
            if body.function == "when":
                parts[0] = self._condition(body.args[0])
        said = text.format(*parts)
        return f"({said})" if strength < binding else said

    def _gathered(self, body: Gather, binding: int) -> str:
        assert body.axis is not None
        if self.row is not None:
            return self.say(body.parts[self.row], binding)
        said = "; ".join(dict.fromkeys(self.say(part, FREE) for part in body.parts))
        return f"row by row of {body.axis.name}: {said}"

    def _condition(self, flag: Expr) -> str:
        """What must hold, without the 1 and 0 of a flag."""
        if isinstance(flag, Relabel):
            return self._condition(flag.inner)
        if isinstance(flag, Apply) and flag.function in _CONDITIONS:
            return _CONDITIONS[flag.function].format(*(self.say(arg, COMPARE) for arg in flag.args))
        return f"{self.say(flag, ATOM)} is 1"


def stated_text(stated: StatedInput) -> str:
    """A number as stated, with its range: "254 day/year (250 to 258)"."""
    scale = 100 if stated.percent else 1
    best, low, high = (number(x * scale) for x in (stated.best, stated.low, stated.high))
    return f"{best} {stated.shown}".strip() + (f" ({low} to {high})" if low != high else "")


def number(x: float) -> str:
    """A number for readers: six figures, or all before the point and two behind it."""
    if x != x or abs(x) == float("inf"):
        return "not defined"
    if abs(x) >= 1000:
        return f"{x:,.2f}".removesuffix(".00")
    return f"{x:.6g}"


class _Tree:
    def __init__(self, study: Study, values: Values) -> None:
        self.values, self.currency = values, study.scenario.currency
        self.stated = {i.key: i for i in study.scenario.inputs.values()}
        self.told_before: set[tuple[str, int | None]] = set()

    def told(self, leaf: Leaf, row: int | None, depth: int, level: int, home: Column | None) -> list[str]:
        """One figure and, `depth` steps further, what it is made of."""
        if isinstance(leaf, Line) and isinstance(leaf.formula, Input):
            leaf = leaf.formula
        key = (leaf.key, row)
        again = key in self.told_before
        self.told_before.add(key)
        if isinstance(leaf, Input):
            return self._input(leaf, level, again)
        said = _wrap(f"{name(leaf, home)}: {self._value(leaf, row)}", level)
        if isinstance(leaf, Data):
            return said + _wrap("fixed: from the work or the calendar", level, "    ")
        assert isinstance(leaf, Line)
        said += self._rows(leaf, row, level)
        if level == 0:
            said += _wrap(f"key: {leaf.key}", level, "    ")
        if again:
            return said + _wrap("(followed above)", level, "    ")
        formula = words(leaf.formula, row, leaf.column)
        said += _wrap(f"= {formula}", level, "    ")
        for remark in (leaf.note, f"source: {leaf.source}" if leaf.source else ""):
            if remark:
                said += _wrap(remark, level, "    ")
        below = list(dict.fromkeys(_below(leaf.formula, row)))
        if depth == 0:
            if any(not isinstance(part, Data) for part, _ in below):
                said += _wrap("... (a larger --depth follows this further)", level, "    ")
            return said
        for part, at in below:
            said += self.told(part, at, depth - 1, level + 1, leaf.column)
        return said

    def _value(self, leaf: Leaf, row: int | None) -> str:
        found = leaf.values if isinstance(leaf, Data) else self.values[leaf]
        if leaf.axis is not None and row is None:
            if isinstance(leaf, Data):
                return f"{len(leaf.axis)} rows of {leaf.axis.name}"
            return f"by {leaf.axis.name}"
        text = self._with_unit(float(found.flat[row or 0]), leaf)
        return text if row is None else f"{text} ({_row_label(leaf, row)})"

    def _rows(self, leaf: Line, row: int | None, level: int) -> list[str]:
        """The first rows and the last of a block."""
        if leaf.axis is None or row is not None:
            return []
        count = len(leaf.axis)
        shown = list(range(count)) if count <= FIRST_ROWS + 1 else [*range(FIRST_ROWS), count - 1]
        said: list[str] = []
        for i in shown:
            if i == count - 1 and count > FIRST_ROWS + 1:
                said += _wrap("...", level, "    ")
            said += _wrap(
                f"{_row_label(leaf, i)}: {self._with_unit(float(self.values[leaf].flat[i]), leaf)}",
                level,
                "    ",
            )
        return said

    def _input(self, leaf: Input, level: int, again: bool) -> list[str]:
        stated = self.stated[leaf.key]
        said = _wrap(f"{leaf.label}: {stated_text(stated)}", level)
        if again:
            return said + _wrap("(followed above)", level, "    ")
        known = [stated.status, stated.source, stated.date]
        said += _wrap("; ".join(part for part in known if part), level, "    ")
        return said + _wrap(f"key: {stated.key}", level, "    ")

    def _with_unit(self, value: float, leaf: Leaf) -> str:
        return f"{number(value)} {unit_label(leaf.unit, self.currency)}".strip()


def _below(body: Expr, row: int | None) -> Iterator[tuple[Leaf, int | None]]:
    """What an expression refers to: each leaf with the row meant, None for all of a block."""
    if isinstance(body, Leaf):
        yield body, row if body.axis is not None else None
    elif isinstance(body, Relabel):
        yield from _below(body.inner, row)
    elif isinstance(body, Row):
        yield body.block, body.row
    elif isinstance(body, Gather):
        for part in body.parts if row is None else (body.parts[row],):
            yield from _below(part, None)
    elif isinstance(body, Apply):
        function = TABLE[body.function]
        for position, arg in enumerate(body.args):
            whole = function.take(position) in ("range", "through", "window")
            yield from _below(arg, None if whole else row)


def _row_label(leaf: Leaf, row: int) -> str:
    assert leaf.axis is not None
    return leaf.axis.labels[row]


def _wrap(text: str, level: int, further: str = "") -> list[str]:
    indent = " " * min(level * _INDENT, DEEPEST_INDENT)
    later = indent + "      "
    first = indent + further
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=later, break_on_hyphens=False)


__all__ = ["explain", "find", "name", "number", "stated_text", "words"]
