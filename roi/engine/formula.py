"""Expressions written as spreadsheet formulas, with plain references and the spreadsheet's own precedence.

Where each leaf stands is told by a `Where`; this file only knows how to write. A line is written in many places: for its length,
on its method's sheet, in every section of cases. So the text around its references is put together once (`_Pattern`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from roi.engine.expression import Apply, Constant, Expr, Gather, Leaf, Relabel, Row
from roi.engine.functions import ATOM, FREE, TABLE


@dataclass(frozen=True)
class Where:
    """Where leaves stand in a workbook.

    cell(leaf, row) : reference to one row of a leaf (row 0 for a single value)
    span(leaf, first, last, kind) : reference to rows first..last; kind is "range" (the whole block, fixed),
        "through" (first row fixed, last row moving) or "window" (both moving)
    """

    cell: Callable[[Leaf, int], str]
    span: Callable[[Leaf, int, int, str], str]


Reference = Callable[[Where, int], str]  # of one row of the line


@dataclass(frozen=True)
class _Pattern:
    """A formula with numbered gaps, and what stands in each."""

    text: str
    gaps: tuple[Reference, ...]

    def write(self, where: Where, row: int) -> str:
        return self.text.format(*[gap(where, row) for gap in self.gaps])


def formula(body: Expr, where: Where, row: int = 0) -> str:
    """The formula of one row of an expression, with its leading equals sign."""
    if isinstance(body, Leaf):  # would keep itself alive in its pattern
        return "=" + where.cell(body, row)
    pattern: _Pattern | None = getattr(body, "written", None)
    if pattern is None:
        writer = _Writer()
        text = "=" + writer.write(body, FREE, first=False)
        pattern = body.written = _Pattern(text, tuple(writer.gaps))
    return pattern.write(where, row)


class _Writer:
    """Puts a pattern together. first : whether row 0 is meant in every row of the line"""

    def __init__(self) -> None:
        self.gaps: list[Reference] = []

    def _gap(self, reference: Reference) -> str:
        self.gaps.append(reference)
        return f"{{{len(self.gaps) - 1}}}"

    def write(self, body: Expr, binding: int, first: bool) -> str:
        if isinstance(body, Relabel):
            return self.write(body.inner, binding, first)
        if isinstance(body, Gather):
            return self._gathered(body, binding, first)
        if isinstance(body, Row):
            block, at = body.block, body.row
            return self._gap(lambda where, row: where.cell(block, at))
        if isinstance(body, Constant):
            return str(body.number)
        if isinstance(body, Leaf):
            return self._cell(body, first)
        assert isinstance(body, Apply)
        function = TABLE[body.function]
        text = function.sheet.format(*(self._argument(body, i, first) for i in range(len(body.args))))
        return f"({text})" if function.strength < binding else text

    def _cell(self, leaf: Leaf, first: bool, further: int = 0) -> str:
        return self._gap(lambda where, row: where.cell(leaf, (0 if first else row) + further))

    def _gathered(self, body: Gather, binding: int, first: bool) -> str:
        """Another expression in each row."""
        if first:
            return self.write(body.parts[0], binding, True)
        patterns = []
        for part in body.parts:
            writer = _Writer()
            patterns.append(_Pattern(writer.write(part, binding, True), tuple(writer.gaps)))
        return self._gap(lambda where, row: patterns[row].write(where, 0))

    def _argument(self, body: Apply, position: int, first: bool) -> str:
        function, arg = TABLE[body.function], body.args[position]
        take = function.take(position)
        # A single value beside a block is the same cell in every row of the block.
        if take in ("cell", "condition") and arg.axis is None:
            first = True
        if take == "condition":
            return self._condition(arg, first)
        if take in ("range", "through", "window"):
            return self._span(body, arg, take, first)
        if take in ("here", "following"):
            assert isinstance(arg, Leaf)
            return self._cell(arg, first, further=int(take == "following"))
        return self.write(arg, function.bind(position), first)

    def _span(self, body: Apply, arg: Expr, take: str, first: bool) -> str:
        assert isinstance(arg, Leaf) and arg.axis is not None
        if take == "range":
            last = len(arg.axis) - 1
            return self._gap(lambda where, row: where.span(arg, 0, last, take))
        if take == "through":
            return self._gap(lambda where, row: where.span(arg, 0, 0 if first else row, take))
        weights = body.args[1].axis
        assert weights is not None
        further = len(weights) - 1

        def window(where: Where, row: int) -> str:
            start = 0 if first else row
            return where.span(arg, start, start + further, take)

        return self._gap(window)

    def _condition(self, flag: Expr, first: bool) -> str:
        if isinstance(flag, Relabel):
            return self._condition(flag.inner, first)
        if isinstance(flag, Apply) and TABLE[flag.function].condition:
            written = (self._argument(flag, i, first) for i in range(len(flag.args)))
            return TABLE[flag.function].condition.format(*written)
        return self.write(flag, ATOM, first) + "=1"


__all__ = ["Where", "formula"]
