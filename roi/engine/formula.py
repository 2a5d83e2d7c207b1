"""Expressions written as spreadsheet formulas, with plain references and the spreadsheet's own precedence.

Where each leaf stands is told by a `Where`; this file only knows how to write.
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


def formula(body: Expr, where: Where, row: int = 0) -> str:
    """The formula of one row of an expression, with its leading equals sign."""
    return "=" + _write(body, where, row, FREE)


def _write(body: Expr, where: Where, row: int, binding: int) -> str:
    if isinstance(body, Relabel):
        return _write(body.inner, where, row, binding)
    if isinstance(body, Gather):
        return _write(body.parts[row], where, 0, binding)
    if isinstance(body, Row):
        return where.cell(body.block, body.row)
    if isinstance(body, Constant):
        return str(body.number)
    if isinstance(body, Leaf):
        return where.cell(body, row)
    assert isinstance(body, Apply)
    function = TABLE[body.function]
    written = [_argument(body, i, where, row) for i in range(len(body.args))]
    text = function.sheet.format(*written)
    return f"({text})" if function.strength < binding else text


def _argument(body: Apply, position: int, where: Where, row: int) -> str:
    function, arg = TABLE[body.function], body.args[position]
    take = function.take(position)
    # A single value beside a block is the same cell in every row of the block.
    if take in ("cell", "condition") and arg.axis is None:
        row = 0
    if take == "condition":
        return _condition(arg, where, row)
    if take in ("range", "through", "window"):
        assert isinstance(arg, Leaf) and arg.axis is not None
        if take == "range":
            return where.span(arg, 0, len(arg.axis) - 1, take)
        if take == "through":
            return where.span(arg, 0, row, take)
        weights = body.args[1].axis
        assert weights is not None
        return where.span(arg, row, row + len(weights) - 1, take)
    if take in ("here", "following"):
        assert isinstance(arg, Leaf)
        return where.cell(arg, row + (take == "following"))
    return _write(arg, where, row, function.bind(position))


def _condition(flag: Expr, where: Where, row: int) -> str:
    if isinstance(flag, Relabel):
        return _condition(flag.inner, where, row)
    if isinstance(flag, Apply) and TABLE[flag.function].condition:
        function = TABLE[flag.function]
        return function.condition.format(*(_argument(flag, i, where, row) for i in range(len(flag.args))))
    return _write(flag, where, row, ATOM) + "=1"


__all__ = ["Where", "formula"]
