"""Every function a line may use: its numpy form, its spreadsheet form and its unit rule, side by side.

A numpy form takes arrays of shape (cases,) or (k, cases), where either may be 1 and broadcasts. In the
spreadsheet form {0}, {1} stand for the arguments; `takes` says how each is referred to (a cell, the whole
range, the range down to this row, a window of rows) and `binds` how tightly its place binds, so that
parentheses are set by the spreadsheet's own precedence: there a leading minus binds tighter than ^, and ^ is
read from the left.

Spreadsheets and numpy disagree on steps: ROUNDUP(0.1*3/0.3,0) is 1 in some programs and 2 in others,
0.1+0.2>0.3 is true in one and false in the next. So every step rounds first, in both forms.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from roi.engine.errors import UnitMismatch
from roi.units.unit import NUMBER, Unit

Array = NDArray[np.float64]

# Precedence in a spreadsheet, loosest first. A comma or parenthesis binds nothing.
FREE, COMPARE, SUM, SUM_RIGHT, PRODUCT, PRODUCT_RIGHT, POWER, POWER_RIGHT, MINUS, ATOM = range(10)

DECIMALS = 9  # kept before a number is rounded up, to the nearest, or found whole
# Kept of a difference before its sign decides. Fewer, because the noise of a - b is that of a and b: two sums
# of a million that should be equal differ by 1e-9, which some programs call nothing and others call less.
SIGN_DECIMALS = 6
DIGITS = 15  # significant ones, all that a spreadsheet's ROUND looks at


@dataclass(frozen=True)
class Function:
    """One allowed function; `condition` is its spelling as the test of an IF, where it has one.

    reduces : gives a single value from a range; each : one for each row of its argument that isn't a range
    """

    name: str
    numpy: Callable[..., Array]
    sheet: str
    unit: Callable[..., Unit]
    takes: tuple[str, ...] = ()
    binds: tuple[int, ...] = ()
    strength: int = ATOM
    condition: str = ""
    reduces: bool = False
    each: bool = False
    flag: bool = False

    def take(self, position: int) -> str:
        return self.takes[position] if position < len(self.takes) else "cell"

    def bind(self, position: int) -> int:
        return self.binds[position] if position < len(self.binds) else FREE


# --- unit rules --------------------------------------------------------------------------------


def _alike(*units: Unit) -> Unit:
    for unit in units[1:]:
        if unit != units[0]:
            raise UnitMismatch(f"{units[0]} and {unit} can't stand in one sum or comparison")
    return units[0]


def _numbers(*units: Unit) -> Unit:
    for unit in units:
        if not unit.is_number:
            raise UnitMismatch(f"a bare number is wanted, not {unit}")
    return NUMBER


def _times(*units: Unit) -> Unit:
    product = NUMBER
    for unit in units:
        product = product * unit
    return product


def _compare(*units: Unit) -> Unit:
    _alike(*units)
    return NUMBER


def _chosen(flag: Unit, *units: Unit) -> Unit:
    _numbers(flag)
    return _alike(*units)


def _growth(rate: Unit, years: Unit) -> Unit:
    return _numbers(rate * years)


def _any(_: Unit) -> Unit:
    return NUMBER


# --- numpy forms --------------------------------------------------------------------------------


def round_half_away(x: Array, decimals: int = DECIMALS) -> Array:
    """Round halves away from zero, as every spreadsheet's ROUND does."""
    return _rounded(x, decimals)[0]


def _rounded(x: Array, decimals: int = DECIMALS) -> tuple[Array, bool]:
    """`round_half_away`, and whether nothing is below zero."""
    scale, limit = 10.0**decimals, 10.0 ** (DIGITS - decimals)
    low, high = np.min(x), np.max(x)
    # In place: a block's intermediate arrays would otherwise cost more than its arithmetic.
    rounded = np.multiply(x, scale, dtype=float)
    if low >= 0:
        rounded += 0.5
        np.floor(rounded, out=rounded)
    else:
        rounded += np.copysign(0.5, rounded)
        np.trunc(rounded, out=rounded)
    rounded /= scale
    # 1.1 * 3e6 is 3300000.0000000005: within nine decimals, but not within the digits a spreadsheet goes by.
    if not (high < limit and low > -limit):
        rounded = np.where(np.abs(x) >= limit, _to_digits(x), rounded)
    return rounded, bool(low >= 0)


def _to_digits(x: Array) -> Array:
    before = np.floor(np.log10(np.maximum(np.abs(x), 1.0))) + 1
    scale = 10.0 ** np.maximum(DIGITS - before, 0)
    scaled = x * scale
    return np.trunc(scaled + np.where(before > DIGITS, 0, np.copysign(0.5, scaled))) / scale


def round_up(x: Array) -> Array:
    """The next whole number away from zero, after rounding to nine decimals: ROUNDUP(ROUND(x,9),0)."""
    steady, positive = _rounded(x)
    if positive:
        return np.ceil(steady, out=steady)
    # Adding 0.0 makes a negative zero plain.
    return np.copysign(np.ceil(np.abs(steady)), steady) + 0.0


def _at_least(a: Array, b: Array) -> Array:
    # A difference rounds to nought or more just above minus half of the last decimal; asking that costs far less than rounding.
    return (a - b > -0.5 * 10.0**-SIGN_DECIMALS).astype(float)


def _whole(x: Array) -> Array:
    return (round_half_away(x) == round_half_away(x, 0)).astype(float)


def _compound(rate: Array, years: Array) -> Array:
    base = 1.0 + rate
    if base.ndim == 1 and years.ndim == 2 and years.shape[1] == 1 and np.all(np.diff(years[:, 0]) == 1):
        # Year after year: one product a row is many times faster than a power, and equal to the last digits.
        rows = np.empty((years.shape[0], np.size(base)))
        rows[0] = np.power(base, years[0])
        for i in range(1, len(rows)):
            np.multiply(rows[i - 1], base, out=rows[i])
        return rows
    return np.power(base, years)


def _choose(flag: Array, yes: Array, no: Array) -> Array:
    return np.where(flag == 1, yes, no)


def _running(block: Array) -> Array:
    return np.cumsum(block, axis=0)


def _total(block: Array) -> Array:
    return block.sum(axis=0)


def _product_sum(a: Array, b: Array) -> Array:
    # Data beside a block is one set of weights for every case: a product of a row and a matrix.
    if b.shape[1] == 1:
        return np.atleast_1d(b[:, 0] @ a)
    if a.shape[1] == 1:
        return np.atleast_1d(a[:, 0] @ b)
    return np.einsum("ij,ij->j", a, b)


def _pick(block: Array, position: Array) -> Array:
    # Out of range is a spreadsheet error there; here it can only stand in the branch an IF did not choose.
    index = np.clip(round_half_away(position, 0).astype(int) - 1, 0, block.shape[0] - 1)
    if index.ndim == 2 and index.shape[1] == 1:
        return block[index[:, 0]]
    if index.ndim == 1 and index.shape[0] == 1:
        return block[index[0]]
    cases = np.arange(max(block.shape[1], index.shape[-1]))
    return np.broadcast_to(block, (block.shape[0], cases.size))[index, cases]


def _window(block: Array, weights: Array) -> Array:
    span = weights.shape[0]
    rows = block.shape[0] - span
    out = weights[0] * block[0:rows]
    for step in range(1, span):
        out = out + weights[step] * block[step : step + rows]
    return out


def _nth_largest(block: Array, n: Array) -> Array:
    return _pick(np.sort(block, axis=0)[::-1], n)


def _position_of(value: Array, block: Array) -> Array:
    # Of the first that is the same to the last bit; a spreadsheet's MATCH of a number it found in the range.
    return np.argmax(np.expand_dims(value, -2) == block, axis=-2) + 1.0


def _here(block: Array) -> Array:
    return block[:-1]


def _following(block: Array) -> Array:
    return block[1:]


def _smallest(block: Array) -> Array:
    return block.min(axis=0)


def _second_smallest(block: Array) -> Array:
    return np.partition(block, 1, axis=0)[1]


def _largest(block: Array) -> Array:
    return block.max(axis=0)


def _smallest_at(block: Array) -> Array:
    return np.argmin(block, axis=0) + 1.0


def internal_rate(flows: Array, _guess: Array) -> Array:
    """The rate at which `flows` (years, cases) are worth nothing: the one positive root, by bisection.

    Only meaningful where year 0 is negative, the sign changes once and the undiscounted sum is positive: then
    there is just one root and it is positive. numpy-financial's `irr` takes one series at a time and returns
    the root nearest zero where there are several; it is the reference in the tests where it is right.
    Elsewhere the result is 0.
    """
    first = flows[0]
    rest = np.maximum(flows[1:], 0).sum(axis=0)
    sound = (first < 0) & (flows.sum(axis=0) > 0)
    safe = np.where(sound, -first, 1.0)
    low, high = np.zeros_like(safe), np.where(sound, rest / safe, 1.0)
    for _ in range(200):
        middle = (low + high) / 2
        worth = np.zeros_like(middle)
        for flow in flows[::-1]:
            worth = worth / (1 + middle) + flow
        low, high = np.where(worth > 0, middle, low), np.where(worth > 0, high, middle)
        if np.all(high - low <= 1e-15 * high):
            break
    return np.where(sound, (low + high) / 2, 0.0)


def _rule_pick(block: Unit, position: Unit) -> Unit:
    _numbers(position)
    return block


# --- the table --------------------------------------------------------------------------------

TABLE: dict[str, Function] = {
    f.name: f
    for f in (
        Function("add", np.add, "{0}+{1}", _alike, binds=(SUM, SUM_RIGHT), strength=SUM),
        Function("subtract", np.subtract, "{0}-{1}", _alike, binds=(SUM, SUM_RIGHT), strength=SUM),
        Function(
            "multiply", np.multiply, "{0}*{1}", _times, binds=(PRODUCT, PRODUCT_RIGHT), strength=PRODUCT
        ),
        Function(
            "divide",
            np.divide,
            "{0}/{1}",
            lambda a, b: a / b,
            binds=(PRODUCT, PRODUCT_RIGHT),
            strength=PRODUCT,
        ),
        # Written as 0-x: a leading minus would bind tighter than ^ and reads badly after an operator.
        Function("negate", lambda a: 0.0 - a, "0-{0}", lambda a: a, binds=(SUM_RIGHT,), strength=SUM),
        Function("power", np.power, "{0}^{1}", _numbers, binds=(POWER, POWER_RIGHT), strength=POWER),
        Function(
            "compound", _compound, "(1+{0})^{1}", _growth, binds=(SUM_RIGHT, POWER_RIGHT), strength=POWER
        ),
        Function(
            "root",
            lambda x, n: np.power(x, 1.0 / n),
            "{0}^(1/{1})",
            _numbers,
            binds=(POWER, PRODUCT_RIGHT),
            strength=POWER,
        ),
        Function("larger", np.maximum, "MAX({0},{1})", _alike),
        Function("smaller", np.minimum, "MIN({0},{1})", _alike),
        Function("absolute", np.abs, "ABS({0})", lambda a: a),
        Function("up", round_up, f"ROUNDUP(ROUND({{0}},{DECIMALS}),0)", _numbers),
        Function(
            "nearest",
            lambda x: round_half_away(round_half_away(x), 0),
            f"ROUND(ROUND({{0}},{DECIMALS}),0)",
            _numbers,
        ),
        Function(
            "at_least",
            _at_least,
            f"IF(ROUND({{0}}-{{1}},{SIGN_DECIMALS})>=0,1,0)",
            _compare,
            binds=(SUM, SUM_RIGHT),
            condition=f"ROUND({{0}}-{{1}},{SIGN_DECIMALS})>=0",
            flag=True,
        ),
        Function(
            "is_whole",
            _whole,
            f"IF(ROUND({{0}},{DECIMALS})=ROUND({{0}},0),1,0)",
            _numbers,
            condition=f"ROUND({{0}},{DECIMALS})=ROUND({{0}},0)",
            flag=True,
        ),
        Function("when", _choose, "IF({0},{1},{2})", _chosen, takes=("condition",)),
        Function("total", _total, "SUM({0})", lambda a: a, takes=("range",), reduces=True),
        Function(
            "product_sum", _product_sum, "SUMPRODUCT({0},{1})", _times, takes=("range", "range"), reduces=True
        ),
        Function("running", _running, "SUM({0})", lambda a: a, takes=("through",)),
        # INDEX cuts off decimals: a position that misses 2 by one bit would be 1 in some programs.
        Function(
            "pick",
            _pick,
            "INDEX({0},ROUND({1},0))",
            _rule_pick,
            takes=("range", "cell"),
            reduces=True,
            each=True,
        ),
        Function(
            "nth_largest",
            _nth_largest,
            "LARGE({0},ROUND({1},0))",
            _rule_pick,
            takes=("range", "cell"),
            reduces=True,
            each=True,
        ),
        Function(
            "position_of",
            _position_of,
            "MATCH({0},{1},0)",
            _compare,
            takes=("cell", "range"),
            reduces=True,
            each=True,
        ),
        Function("here", _here, "{0}", lambda a: a, takes=("here",)),
        Function("following", _following, "{0}", lambda a: a, takes=("following",)),
        Function("window", _window, "SUMPRODUCT({0},{1})", _times, takes=("window", "range")),
        Function("smallest", _smallest, "MIN({0})", lambda a: a, takes=("range",), reduces=True),
        Function(
            "second_smallest",
            _second_smallest,
            "SMALL({0},2)",
            lambda a: a,
            takes=("range",),
            reduces=True,
        ),
        Function("largest", _largest, "MAX({0})", lambda a: a, takes=("range",), reduces=True),
        Function("smallest_at", _smallest_at, "MATCH(MIN({0}),{0},0)", _any, takes=("range",), reduces=True),
        Function(
            "internal_rate",
            internal_rate,
            "IRR({0},{1})",
            lambda _, g: g,
            takes=("range", "cell"),
            reduces=True,
        ),
    )
}


def unit_of(name: str, units: Sequence[Unit]) -> Unit:
    """The unit a function gives for arguments of these units; UnitMismatch when they don't go together."""
    return TABLE[name].unit(*units)


__all__ = ["TABLE", "Array", "Function", "internal_rate", "round_half_away", "round_up", "unit_of"]
