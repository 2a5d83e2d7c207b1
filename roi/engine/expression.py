"""Expressions: arithmetic on inputs, data and lines, kept as a tree that can be computed and written down.

Building a tree checks units and axes at once. Nothing is computed here. An expression without an axis has one
value a case; an expression over an axis is a block with one row for each of the axis's labels.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from roi.engine.errors import AxisMismatch, EngineError, TypedNumber, UnguardedStep, UnitMismatch
from roi.engine.functions import TABLE, Array, unit_of
from roi.units.unit import NUMBER, Unit

# Numbers that never change: counts of months, hours, minutes, per cent, powers of a thousand.
FREE_NUMBERS = (0, 1, 2, 12, 24, 60, 100, 1000, 1_000_000)


@dataclass(frozen=True)
class Axis:
    """What a block runs over: a name and a label for each row; `as_written` of names that somebody gave."""

    name: str
    labels: tuple[str, ...]
    as_written: bool = False

    def __len__(self) -> int:
        return len(self.labels)


class Expr:
    """Anything with a value: a leaf or a function of other expressions.

    written : what `formula` keeps of it, once it has been written; here, so that it ends with the expression
    """

    __slots__ = ("unit", "axis", "flag", "written", "__weakref__")
    unit: Unit
    axis: Axis | None
    flag: bool
    written: Any

    # --- arithmetic
    def __add__(self, other: Expr | int) -> Expr:
        return apply("add", self, as_expr(other, self.unit))

    def __sub__(self, other: Expr | int) -> Expr:
        return apply("subtract", self, as_expr(other, self.unit))

    def __rsub__(self, other: Expr | int) -> Expr:
        return apply("subtract", as_expr(other, self.unit), self)

    def __radd__(self, other: Expr | int) -> Expr:
        return apply("add", as_expr(other, self.unit), self)

    def __mul__(self, other: Expr | int) -> Expr:
        return apply("multiply", self, as_expr(other))

    def __rmul__(self, other: Expr | int) -> Expr:
        return apply("multiply", as_expr(other), self)

    def __truediv__(self, other: Expr | int) -> Expr:
        return apply("divide", self, as_expr(other))

    def __rtruediv__(self, other: Expr | int) -> Expr:
        return apply("divide", as_expr(other), self)

    def __neg__(self) -> Expr:
        return apply("negate", self)

    # --- steps that must go through a guarded function
    def _unguarded(self, *_: object) -> bool:
        raise UnguardedStep(
            "compare with at_least(a, b), round with up() or nearest(): bare steps differ between programs"
        )

    __lt__ = __le__ = __gt__ = __ge__ = __floordiv__ = __mod__ = __bool__ = _unguarded
    __rfloordiv__ = __rmod__ = __ceil__ = __floor__ = __round__ = __trunc__ = __int__ = _unguarded

    def __pow__(self, other: object) -> Expr:
        raise UnguardedStep(
            "use power(base, exponent) or compound(rate, years): 0^0 and -2^2 differ between programs"
        )

    def per(self, unit: str) -> Expr:
        """The same figure read as an amount per one `unit`; arithmetic and formula stay as they are."""
        return Relabel(self, Unit.read(unit) ** -1)

    def during(self, unit: str) -> Expr:
        """The same figure read as the amount over one `unit` (a yearly rate held for one year)."""
        return Relabel(self, Unit.read(unit))


class Constant(Expr):
    """A number that never changes, with a unit: 60 min/h."""

    __slots__ = ("number",)

    def __init__(self, number: int, unit: Unit = NUMBER) -> None:
        # True and 1.0 equal 1, but would be written as "True" and "1.0".
        if type(number) is not int or number not in FREE_NUMBERS:
            raise TypedNumber(f"{number} is typed into a formula: make it an input with a unit and a source")
        self.number, self.unit, self.axis, self.flag = number, unit, None, number in (0, 1)


class Relabel(Expr):
    """An expression with its unit multiplied by one of something."""

    __slots__ = ("inner",)

    def __init__(self, inner: Expr, factor: Unit) -> None:
        self.inner, self.unit, self.axis, self.flag = inner, inner.unit * factor, inner.axis, False


class Leaf(Expr):
    """Something with a place of its own in a workbook: an input, a piece of data or a line."""

    __slots__ = ("key", "label")
    key: str
    label: str


class Input(Leaf):
    """A number the user states, in the engine's unit for it. Evaluation is given the values of all cases."""

    __slots__ = ("best",)

    def __init__(self, key: str, label: str, unit: str | Unit, best: float) -> None:
        self.key, self.label, self.best = key, label, float(best)
        self.unit = unit if isinstance(unit, Unit) else Unit.read(unit)
        self.axis, self.flag = None, False


class Data(Leaf):
    """Numbers fixed when the workbook is written: the log's reduction, a tax schedule, year numbers.

    values : shape (k,), one a row of `axis`
    """

    __slots__ = ("values",)

    def __init__(
        self, key: str, label: str, unit: str, axis: Axis, values: Sequence[float], *, flag: bool = False
    ) -> None:
        self.key, self.label, self.unit, self.axis = key, label, Unit.read(unit), axis
        self.values: Array = np.asarray(values, float)
        if self.values.shape != (len(axis),):
            raise AxisMismatch(
                f"data '{label}' has {self.values.shape} values for the {len(axis)} rows of {axis.name}"
            )
        if flag and not np.isin(self.values, (0, 1)).all():
            raise UnguardedStep(f"data '{label}' is declared a flag but holds other numbers than 0 and 1")
        self.flag = flag


class Row(Expr):
    """One row of a block, fixed when the column is built, as a single value."""

    __slots__ = ("block", "row")

    def __init__(self, block: Leaf, row: int) -> None:
        if block.axis is None or not 0 <= row < len(block.axis):
            raise AxisMismatch(f"'{block.label}' has no row {row}")
        self.block, self.row, self.unit, self.axis, self.flag = block, row, block.unit, None, block.flag


class Apply(Expr):
    """A function of the table on other expressions."""

    __slots__ = ("function", "args")

    def __init__(
        self, function: str, args: tuple[Expr, ...], unit: Unit, axis: Axis | None, flag: bool
    ) -> None:
        self.function, self.args, self.unit, self.axis, self.flag = function, args, unit, axis, flag


class Gather(Expr):
    """A block put together from one expression for each row of an axis, such as one line of each method."""

    __slots__ = ("parts",)

    def __init__(self, axis: Axis, parts: Sequence[Expr]) -> None:
        if len(parts) != len(axis):
            raise AxisMismatch(f"{len(parts)} parts for the {len(axis)} rows of {axis.name}")
        if any(p.axis for p in parts):
            raise AxisMismatch("a gathered block is made of single values")
        self.parts, self.axis = tuple(parts), axis
        self.unit = _unit_of("larger", self.parts)
        self.flag = all(p.flag for p in parts)


def as_expr(value: Expr | int, unit: Unit = NUMBER) -> Expr:
    """An expression as it is; a whole number as a constant, in `unit` where it is zero. Raises TypedNumber."""
    if isinstance(value, Expr):
        return value
    # Zero may stand beside any unit; another bare number only beside bare numbers.
    return Constant(value, unit if value == 0 else NUMBER)


def apply(name: str, *args: Expr, axis: Axis | None = None) -> Expr:
    """A function of the table applied to expressions, with units and axes checked.

    Raises UnitMismatch, AxisMismatch, UnguardedStep. `axis` names the rows of a windowed sum.
    """
    function = TABLE[name]
    for position, arg in enumerate(args):
        take = function.take(position)
        if take in ("range", "through", "window", "here", "following") and (
            not isinstance(arg, Leaf) or arg.axis is None
        ):
            raise AxisMismatch(
                f"{name}: wants a block that is a line of its own, since it is written as plain references"
            )
        if take == "condition" and not arg.flag:
            raise UnguardedStep(
                f"{name}: the condition must be a flag made by at_least, is_whole or products of flags"
            )
    cellwise = [a.axis for i, a in enumerate(args) if function.take(i) in ("cell", "condition", "through")]
    if axis is None and (not function.reduces or function.each):
        axes = {a for a in cellwise if a is not None}
        if len(axes) > 1:
            names = ", ".join(sorted(a.name for a in axes))
            raise AxisMismatch(f"{name}: blocks over {names} don't go together")
        axis = axes.pop() if axes else None
    if name == "product_sum" and args[0].axis != args[1].axis:
        raise AxisMismatch(f"{name}: ranges over {_axis_name(args[0])} and {_axis_name(args[1])}")
    if name == "internal_rate" and args[1].axis is not None:
        raise AxisMismatch(f"{name}: the guess is a single value, not a block over {_axis_name(args[1])}")
    flag = (
        function.flag
        or (name == "multiply" and all(a.flag for a in args))
        or (name == "subtract" and isinstance(args[0], Constant) and args[0].number == 1 and args[1].flag)
        or (name == "when" and args[1].flag and args[2].flag)
        or (name in ("here", "following") and args[0].flag)
    )
    return Apply(name, args, _unit_of(name, args), axis, flag)


def _unit_of(name: str, args: Sequence[Expr]) -> Unit:
    try:
        return unit_of(name, [a.unit for a in args])
    except UnitMismatch as mismatch:
        # The line isn't known yet while its formula is put together: say what the parts are.
        each = ", ".join(f"{_called(a)} in {a.unit}" for a in args)
        raise UnitMismatch(f"{name} of {each}: {mismatch}") from None


def _called(body: Expr) -> str:
    if isinstance(body, Leaf):
        return f"'{body.label}'"
    if isinstance(body, Constant):
        return str(body.number)
    if isinstance(body, Relabel):
        return _called(body.inner)
    if isinstance(body, Apply):
        return f"{body.function}({', '.join(_called(a) for a in body.args)})"
    if isinstance(body, Row):
        return f"row {body.row} of '{body.block.label}'"
    return "a gathered block"


def _axis_name(body: Expr) -> str:
    return body.axis.name if body.axis else "nothing"


__all__ = [
    "apply",
    "Apply",
    "as_expr",
    "Axis",
    "Constant",
    "Data",
    "EngineError",
    "Expr",
    "Gather",
    "Input",
    "Leaf",
    "Relabel",
    "UnitMismatch",
]
