"""The operations a line is written with: each makes an expression of others, with units and axes checked by `expression.apply`.

What an operation comes to, as numbers and as a formula, stands in the table of `functions`. Nothing is computed here.
"""

from __future__ import annotations

from collections.abc import Sequence

from roi.engine.errors import AxisMismatch, UnguardedStep
from roi.engine.expression import Axis, Constant, Expr, Gather, Leaf, Row, apply, as_expr
from roi.units.unit import NUMBER, Unit


def constant(number: int, unit: str) -> Constant:
    """A conversion that never changes, such as constant(60, "min/h")."""
    return Constant(number, Unit.read(unit))


def _pair(a: Expr | int, b: Expr | int) -> tuple[Expr, Expr]:
    """Two things that must be alike; a bare zero takes the other's unit."""
    unit = a.unit if isinstance(a, Expr) else b.unit if isinstance(b, Expr) else NUMBER
    return as_expr(a, unit), as_expr(b, unit)


def larger(a: Expr | int, b: Expr | int) -> Expr:
    """The larger of two."""
    return apply("larger", *_pair(a, b))


def smaller(a: Expr | int, b: Expr | int) -> Expr:
    """The smaller of two."""
    return apply("smaller", *_pair(a, b))


def absolute(a: Expr) -> Expr:
    """The amount without its sign."""
    return apply("absolute", a)


def up(a: Expr) -> Expr:
    """The next whole number away from zero; a whole number but for noise below 1e-9 stays."""
    return apply("up", a)


def nearest(a: Expr) -> Expr:
    """The nearest whole number, halves away from zero."""
    return apply("nearest", a)


def at_least(a: Expr | int, b: Expr | int) -> Expr:
    """1 where a >= b to six decimals, else 0."""
    return apply("at_least", *_pair(a, b))


def is_whole(a: Expr) -> Expr:
    """1 where `a` is a whole number to nine decimals, else 0."""
    return apply("is_whole", a)


def when(flag: Expr, yes: Expr | int, no: Expr | int) -> Expr:
    """`yes` where the flag is 1, else `no`; the branch not taken may be undefined."""
    return apply("when", flag, *_pair(yes, no))


def opposite(flag: Expr) -> Expr:
    """1 where a flag is 0, and 0 where it is 1."""
    if not flag.flag:
        raise UnguardedStep("opposite: wants a flag made by at_least, is_whole or products of flags")
    return apply("subtract", Constant(1), flag)


def compound(rate: Expr, years: Expr) -> Expr:
    """(1 + rate) to the power of years."""
    return apply("compound", rate, years)


def power(base: Expr, exponent: Expr) -> Expr:
    """A positive bare number to a power."""
    return apply("power", base, exponent)


def root(a: Expr, degree: Expr) -> Expr:
    """The degree-th root of a positive bare number."""
    return apply("root", a, degree)


def total(block: Expr) -> Expr:
    """The sum of a block."""
    return apply("total", block)


def product_sum(a: Expr, b: Expr) -> Expr:
    """The sum of two blocks' products, row by row."""
    return apply("product_sum", a, b)


def running(block: Expr) -> Expr:
    """The running total of a block, this row included."""
    return apply("running", block)


def pick(block: Expr, position: Expr) -> Expr:
    """The row of a block at a position counted from 1."""
    return apply("pick", block, position)


def window(block: Expr, weights: Expr, axis: Axis) -> Expr:
    """For row i of `axis`, the product-sum of `weights` with the rows i, i+1, ... of `block`.

    `block` must have len(axis) + len(weights) rows. A schedule stored reversed makes this a convolution.
    """
    if block.axis is None or weights.axis is None or len(block.axis) != len(axis) + len(weights.axis):
        raise AxisMismatch("window: the block must have as many rows as the axis and the weights together")
    return apply("window", block, weights, axis=axis)


def smallest(block: Expr) -> Expr:
    """The smallest value of a block."""
    return apply("smallest", block)


def second_smallest(block: Expr) -> Expr:
    """The second smallest value of a block of two rows or more; equal values count each."""
    return apply("second_smallest", block)


def largest(block: Expr) -> Expr:
    """The largest value of a block."""
    return apply("largest", block)


def smallest_at(block: Expr) -> Expr:
    """The position, from 1, of the first smallest value of a block."""
    return apply("smallest_at", block)


def internal_rate(flows: Expr, guess: Expr) -> Expr:
    """The internal rate of return of flows; `functions.internal_rate` says when it means something."""
    return apply("internal_rate", flows, guess)


def nth_largest(block: Expr, n: Expr) -> Expr:
    """The n-th largest value of a block, n from 1."""
    return apply("nth_largest", block, n)


def position_of(value: Expr, block: Expr) -> Expr:
    """The position, from 1, of a value taken from the block itself; of the first where several are the same."""
    return apply("position_of", value, block)


def steps(block: Expr, axis: Axis) -> tuple[Expr, Expr]:
    """For each step of `axis` from one row of a block to the next: the row it leaves and the row it reaches."""
    if block.axis is None or len(block.axis) != len(axis) + 1:
        raise AxisMismatch("steps: the block must have one row more than the axis")
    return apply("here", block, axis=axis), apply("following", block, axis=axis)


def at(block: Leaf, row: int) -> Row:
    """One row of a block, counted from 0, as a single value."""
    return Row(block, row)


def gather(axis: Axis, parts: Sequence[Expr]) -> Expr:
    """A block made of one single value for each row of an axis."""
    return Gather(axis, parts)


__all__ = [
    "absolute",
    "at",
    "at_least",
    "compound",
    "constant",
    "gather",
    "internal_rate",
    "is_whole",
    "larger",
    "largest",
    "nearest",
    "nth_largest",
    "opposite",
    "pick",
    "position_of",
    "power",
    "product_sum",
    "root",
    "running",
    "second_smallest",
    "smaller",
    "smallest",
    "smallest_at",
    "steps",
    "total",
    "up",
    "when",
    "window",
]
