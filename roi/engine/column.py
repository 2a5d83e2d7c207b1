"""Columns of lines: what is computed for one method, or for the shop, in reading order.

A line is a label, a unit and a formula over inputs, data and earlier lines. Adding it checks that the
formula's unit is the one declared and that its spreadsheet form stays short enough to read.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from roi.engine.errors import AxisMismatch, EngineError, FormulaTooLong, UnitMismatch
from roi.engine.expression import Apply, Data, Expr, Gather, Input, Leaf, Relabel, Row
from roi.engine.formula import Where, formula
from roi.engine.parting import parted
from roi.units.unit import Unit

LONGEST = 150  # characters of a formula
DEEPEST_IF = 2


class Line(Leaf):
    """One line of a column; over an axis it is a block of rows with one relative formula.

    uses : every input, data and line its formula refers to, left to right
    """

    __slots__ = ("formula", "note", "source", "column", "is_input", "uses")

    def __init__(
        self, column: Column, key: str, label: str, unit: Unit, body: Expr, note: str, source: str
    ) -> None:
        self.column, self.key, self.label, self.unit, self.formula = column, key, label, unit, body
        self.note, self.source, self.axis, self.flag = note, source, body.axis, body.flag
        self.is_input = isinstance(body, Input)
        self.uses = tuple(leaves(body))


class Heading:
    """A title between lines."""

    def __init__(self, text: str, note: str = "") -> None:
        self.text, self.note = text, note


class Column:
    """Lines on one sheet, in reading order.

    title : the sheet's name
    key : short name used in line keys ("direct.ink cost")
    across : blocks run along columns of the sheet instead of down its rows
    """

    def __init__(self, title: str, key: str, *, across: bool = False, note: str = "") -> None:
        self.title, self.key, self.across, self.note = title, key, across, note
        self.inputs: list[Line] = []
        self.body: list[Line | Heading | Data] = []
        self._by_input: dict[str, Line] = {}
        self._keys: set[str] = set()

    def heading(self, text: str, note: str = "") -> None:
        """Begin a section."""
        self.body.append(Heading(text, note))

    def input(self, stated: Input) -> Line:
        """The row in which this column fetches an input and turns it into the engine's unit; one an input."""
        if stated.key not in self._by_input:
            key = f"{self.key}.{stated.key}"
            self._take_key(key, stated.key)
            line = Line(self, key, stated.label, stated.unit, stated, "", "")
            self._by_input[stated.key] = line
            self.inputs.append(line)
        return self._by_input[stated.key]

    def data(self, data: Data) -> Data:
        """Show data that is fixed when written as rows of this column."""
        self._take_key(f"{self.key}.{data.label}", data.label)
        self.body.append(data)
        return data

    def line(self, label: str, unit: str, body: Expr, *, note: str = "", source: str = "") -> Line:
        """Add a line, before it lines for parts of a sum too long for one. Raises UnitMismatch, FormulaTooLong or EngineError."""
        declared = Unit.read(unit)
        if body.unit != declared:
            raise UnitMismatch(
                f"{self.title}, '{label}': the formula gives {body.unit}, declared is {declared}"
            )
        for leaf in leaves(body):
            if isinstance(leaf, Input):
                raise EngineError(f"{self.title}, '{label}': fetch {leaf.key} with column.input() first")
        texts = list(_distinct_formulas(body, _estimate(self)))
        if max(map(len, texts)) > LONGEST:
            body = parted(body, LONGEST, self._length, lambda part: self._part(label, part, note, source))
            texts = list(_distinct_formulas(body, _estimate(self)))
        for text in texts:
            if len(text) > LONGEST:
                raise FormulaTooLong(
                    f"{self.title}, '{label}': a formula of {len(text)} characters; split the line: {text}"
                )
            if (depth := _if_depth(text)) > DEEPEST_IF:
                raise FormulaTooLong(f"{self.title}, '{label}': IF is {depth} deep; split the line: {text}")
        key = f"{self.key}.{label}"
        self._take_key(key, label)
        line = Line(self, key, label, declared, body, note, source)
        self.body.append(line)
        return line

    def _length(self, body: Expr) -> int:
        return max(map(len, _distinct_formulas(body, _estimate(self))))

    def _part(self, label: str, body: Expr, note: str, source: str) -> Line:
        """A line for one part of a sum that is too long for one row."""
        number = 1
        while f"{self.key}.{label}, part {number}" in self._keys:
            number += 1
        return self.line(f"{label}, part {number}", str(body.unit), body, note=note, source=source)

    def _take_key(self, key: str, label: str) -> None:
        if key in self._keys:
            raise EngineError(f"{self.title}: two lines are called '{label}'")
        self._keys.add(key)

    @property
    def lines(self) -> Iterator[Line]:
        """Every line in computing order, the fetched inputs first."""
        yield from self.inputs
        yield from (part for part in self.body if isinstance(part, Line))


class Book:
    """Columns in computing order, with a look-up of lines by key."""

    def __init__(self, columns: Iterable[Column]) -> None:
        self.columns = list(columns)

    @property
    def lines(self) -> Iterator[Line]:
        for column in self.columns:
            yield from column.lines

    @property
    def inputs(self) -> dict[str, Input]:
        """Every input that some column fetches, by key."""
        fetched = (line.formula for column in self.columns for line in column.inputs)
        return {stated.key: stated for stated in fetched if isinstance(stated, Input)}

    def line(self, key: str) -> Line:
        """The line with this key; KeyError when there is none."""
        for line in self.lines:
            if line.key == key:
                return line
        raise KeyError(key)


def parts(body: Expr) -> tuple[Expr, ...]:
    """The expressions directly below one."""
    if isinstance(body, Apply):
        return body.args
    if isinstance(body, Gather):
        return body.parts
    if isinstance(body, Relabel):
        return (body.inner,)
    if isinstance(body, Row):
        return (body.block,)
    return ()


def leaves(body: Expr) -> Iterator[Leaf]:
    """Every input, data and line an expression refers to, left to right."""
    ahead = [body]
    while ahead:
        next_one = ahead.pop()
        if isinstance(next_one, Leaf):
            yield next_one
        else:
            ahead.extend(reversed(parts(next_one)))


def _distinct_formulas(body: Expr, where: Where) -> Iterator[str]:
    """One row's formula stands for a block's, but for a gathered block: there each row has its own."""
    if body.axis is None:
        yield formula(body, where)
    elif _gathers(body):
        yield from (formula(body, where, row) for row in range(len(body.axis)))
    else:
        yield formula(body, where, min(1, len(body.axis) - 1))


def _gathers(body: Expr) -> bool:
    return isinstance(body, Gather) or any(_gathers(part) for part in parts(body))


def _if_depth(text: str) -> int:
    open_ifs: list[bool] = []
    deepest = 0
    for found in re.finditer(r"\bIF\(|[()]", text):
        if found[0] == ")":
            open_ifs.pop()
        else:
            open_ifs.append(found[0] == "IF(")
            deepest = max(deepest, sum(open_ifs))
    return deepest


def _estimate(home: Column) -> Where:
    """References of the length they will have, before rows are known."""

    def cell(leaf: Leaf, row: int) -> str:
        if isinstance(leaf, Line):
            return "C888" if leaf.column is home else f"{_quoted(leaf.column.title)}!$C$888"
        return "Work!$AA88"

    def span(leaf: Leaf, first: int, last: int, kind: str) -> str:
        return f"{cell(leaf, 0)}:{cell(leaf, 0).split('!')[-1]}"

    return Where(cell, span)


def _quoted(title: str) -> str:
    return title if re.fullmatch(r"[A-Za-z_][A-Za-z_]*", title) else f"'{title}'"


__all__ = ["AxisMismatch", "Book", "Column", "Heading", "Line", "leaves", "parts"]
