"""Every function of the table, worked out by the engine and by two spreadsheet programs over a grid of edges.

Steps (whole numbers, flags, positions) must be equal exactly. The rest must be equal but for the last digits
of a double, since one of the programs saves fifteen; sums and differences but for the last digits of the
numbers put in, since one of the programs takes a difference that is next to nothing for nothing.

Outside the grid, since the programs differ among themselves there and the model has no use for it: 0 to the
power of 0 and powers of negative numbers; what passes a whole number by less than a millionth of a millionth
of it, yet by more than noise, in up; halves above a billion, and above a million those missed by one bit, in
nearest; amounts of 1e10 and more that miss each other by one bit in at_least; which of two smallest numbers
one bit apart is found by smallest_at.
"""

from itertools import product

import numpy as np
import pytest

from roi.engine.column import Column
from roi.engine.expression import Apply, Axis, Data, Input, apply
from roi.engine.functions import TABLE
from roi.engine.operations import (
    at,
    at_least,
    gather,
    internal_rate,
    is_whole,
    nth_largest,
    opposite,
    pick,
    position_of,
    running,
    smallest_at,
    steps,
    when,
    window,
)
from tests.parity.placing import Sheets
from tests.parity.recalculate import ironcalc_values, libreoffice_missing, libreoffice_values

RELATIVE = 1e-12
RATES = 1e-9  # programs stop looking for an internal rate at different points
STEPS = {"up", "nearest", "at_least", "is_whole", "smallest_at", "position_of"}
# With their degree in the numbers put in.
SUMS = {
    "add": 1,
    "subtract": 1,
    "total": 1,
    "running": 1,
    "product_sum": 2,
    "window": 2,
    "following": 1,
    "here": 1,
}
SUM_NOISE = 1e-14

# --- numbers

MISSED_BY_ONE_BIT = [0.1 * 3, 0.3, 0.1 * 3 / 0.3, 0.3 / 0.1, 4.35 * 100, 435, 0.7 + 0.1, 0.8, 1.1 * 3]
PLAIN = [-1e15, -1e10, -123456.789, -2.5, -1, -0.5, -1e-10, 0, 1e-10, 0.5, 1, 1.5, 2.5, 1e10, 1e15]
NUMBERS = PLAIN + MISSED_BY_ONE_BIT
NOT_ZERO = [x for x in NUMBERS if x]
POSITIVE = [x for x in NUMBERS if x > 0]


def bits(x):
    return [np.nextafter(x, -np.inf), x, np.nextafter(x, np.inf)]


def near_steps():
    """Whole numbers and halves, exactly and with noise to either side, of either sign."""
    numbers = list(NUMBERS)
    for whole in (0, 1, 2, 3, 7, 435, 1e4, 123456, 1e6, 3.3e6, 12345678, 3.3e9, 1e10):
        numbers += [*bits(whole), whole + 0.25, whole + 0.75]
        if whole <= 1e8:
            numbers.append(whole + 0.5)
        if whole <= 1e5:
            noise = [1e-10, 4e-10, 1e-7, 1e-5, 1e-3]
            numbers += [whole + sign * by for sign in (1, -1) for by in noise]
            numbers += [whole + 0.5 + sign * by for sign in (1, -1) for by in noise] + bits(whole + 0.5)
    numbers += [1.1 * 3e6, 1.1 * 3e9, 1.1 * 3e10, 4.35e8, 4.35 * 1e8, 0.1 * 3e7 / 0.3, 1e15 + 0.5]
    return [sign * x for sign in (1, -1) for x in numbers]


def near_ties():
    """Pairs that are equal, miss each other by one bit or by noise, or truly differ."""
    pairs = list(product(NUMBERS, NUMBERS))
    for x in (0, 0.3, 1, 435, 12345.6, 1e6, 3e7, 1e9):
        others = [*bits(x), x + 1e-7, x - 1e-7, x + 1e-5, x - 1e-5, x + 1, x - 1]
        pairs += [pair for y in others for pair in ((x, y), (y, x), (-x, -y), (-y, -x))]
    for scale in (1, 1e3, 1e7, 1e9):
        for x, y in ((0.1 * 3, 0.3), (1.1 * 3, 3.3), (0.7 + 0.1, 0.8)):
            pairs += [(x * scale, y * scale), (y * scale, x * scale)]
    # At 1e10 the programs part over one bit; from there on only what is equal or truly differs.
    return [(x, y) for x, y in pairs if max(abs(x), abs(y)) < 1e10 or x == y or abs(x - y) > 1e-4]


# --- columns


def _columns(numbers):
    """Cases of the inputs a, b, ... from one tuple of numbers a case."""
    return dict(zip("abcdef", np.array(numbers, float).T, strict=False))


def cellwise(name, numbers, units=("1", "1", "1")):
    """A function of one value or two, over pairs of numbers."""
    column = Column(name, name)
    args = [
        column.input(Input(key, key, unit, 1))
        for key, unit in zip("abc", units, strict=True)
    ][: len(numbers[0])]  # fmt: skip
    made = apply(name, *args)
    column.line("line", str(made.unit), made)
    return column, _columns(numbers)


def ones(numbers):
    return [(x,) for x in numbers]


def compounds():
    rates = [-0.5, -0.03, -1e-10, 0, 1e-10, 0.1 * 3, 0.08, 1, 10]
    column, cases = cellwise(
        "compound", list(product(rates, [0, 0.5, 1, 2, 7.5, 10, 40, -3])), ("1/year", "year", "1")
    )
    # Year after year is another way through the numpy form, and a rate that differs by year is a third.
    axis = Axis("years", ("0", "1", "2", "3", "4"))
    years = column.data(Data("y", "years", "year", axis, [0, 1, 2, 3, 4]))
    rates_by_year = column.data(Data("r", "rates", "1/year", axis, [0.08, 0, -0.5, 0.1 * 3, 1e-10]))
    column.line("year after year", "1", apply("compound", column.inputs[0], years))
    column.line("by year", "1", apply("compound", rates_by_year, years))
    return column, cases


def choices():
    column = Column("when", "when")
    a, b = (column.input(Input(key, key, "currency", 1)) for key in "ab")
    n = column.input(Input("n", "n", "1", 1))
    flag = column.line("flag", "1", at_least(a, b))
    column.line("inside", "currency", when(at_least(a, b), a, b))
    column.line("by line", "currency", when(flag, a, b))
    column.line("opposite", "currency", when(opposite(flag), a, b))
    column.line("both", "currency", when(flag * is_whole(n), a, b))
    column.line("whole", "currency", when(is_whole(n), a, b))
    column.line("two deep", "currency", when(flag, when(is_whole(n), a, 0), b))
    # Divides by zero in the branch not taken.
    column.line("guarded", "1", when(flag * at_least(b, 0) * opposite(at_least(0 - b, 0)), a / b, 0))
    pairs = near_ties()
    cases = {"a": np.array([x for x, _ in pairs]), "b": np.array([y for _, y in pairs])}
    cases["n"] = np.resize(np.array(near_steps()), len(pairs))
    return column, cases


BLOCKS = [
    [0, 0, 0, 0, 0],
    [1, 2, 3, 4, 5],
    [-5, -4, 3, 2.5, 2.5],
    [0.1, 0.2, -0.3, 0, 0],
    [0.1, 0.1, 0.1, 0.1, -0.4],
    [1e15, 1, -1e15, 0.5, 0],
    [1e10, 1e-6, -1e10, 4.35 * 100, -435],
    [1e-10, -1e-10, 1e-10, 0.5, -0.5],
    [0.1 * 3, 1, 0.1 * 3, 1, 0.5],
    [7, 7, 7, 7, 7],
    [-1e15, 1e15, 1e10, -1e10, 0],
]
AXIS = Axis("block", ("1", "2", "3", "4", "5"))


def block_column(name, *more):
    """A column with a block gathered from five inputs, so that it differs by case, and inputs beside it."""
    column = Column(name, name)
    parts = [column.input(Input(key, key, "1", 1)) for key in "abcde"]
    others = [column.input(Input(key, key, unit, 1)) for key, unit in more]
    return column, column.line("block", "1", gather(AXIS, parts)), others


def reduced(name):
    column, block, _ = block_column(name)
    column.line("line", "1", apply(name, block))
    return column, _columns(BLOCKS)


def product_sums():
    column, block, _ = block_column("product_sum")
    prices = column.data(Data("p", "prices", "1", AXIS, [0.3, 0.1 * 3, -2.5, 0, 1e3]))
    column.line("line", "1", apply("product_sum", block, prices))
    column.line("squares", "1", apply("product_sum", block, block))
    return column, _columns(BLOCKS)


def running_totals():
    column, block, _ = block_column("running")
    column.line("line", "1", running(block))
    return column, _columns(BLOCKS)


def windows():
    column, block, _ = block_column("window")
    weights = column.data(Data("w", "weights", "1", Axis("weights", ("1", "2")), [0.4, 0.6]))
    column.line("line", "1", window(block, weights, Axis("rows", ("1", "2", "3"))))
    return column, _columns(BLOCKS)


def picks():
    column, block, (place,) = block_column("pick", ("f", "1"))
    places = column.data(Data("p", "places", "1", Axis("rows", ("1", "2", "3")), [5, 1, 3]))
    column.line("one", "1", pick(block, place))
    column.line("several", "1", pick(block, places))
    column.line("of the least", "1", pick(block, smallest_at(block)))
    positions = [y for x in (1, 2, 3, 4, 5) for y in (*bits(x), x - 1e-10, x + 1e-10)] + [0.1 * 3 / 0.3 * 2]
    return column, _columns([(*block, place) for block in BLOCKS for place in positions])


RANKS = Axis("ranks", ("1", "2", "3", "4", "5"))


def ranked(name):
    """Every row of a block in order of size; and where it was found."""
    column, block, _ = block_column(name)
    ranks = column.data(Data(f"{name} ranks", "ranks", "1", RANKS, [1, 2, 3, 4, 5]))
    largest = column.line("largest", "1", nth_largest(block, ranks))
    column.line("second", "1", nth_largest(block, at(ranks, 1)))
    if name == "position_of":
        column.line("found", "1", position_of(largest, block))
        column.line("third found", "1", position_of(at(largest, 2), block))
    return column, _columns(BLOCKS)


def neighbours(name):
    column, block, _ = block_column(name)
    here, following = steps(block, Axis("steps", ("1", "2", "3", "4")))
    column.line("line", "1", following if name == "following" else here)
    column.line("difference", "1", following - here)
    return column, _columns(BLOCKS)


FLOWS = [
    [-1000, 300, 300, 300, 300],
    [-17900, 0, 0, 0, 18000],
    [-1000, 1000.01, 0, 0, 0],
    [-19300, 5200, 6100.5, 4800, 7000],
    [-100, 0, 0, 0, 10000],
    [-1, 0.5, 0.5, 0.5, 0.5],
    [-1e7, 3e6, 3e6, 3e6, 3e6],
    [-50, -50, 60, 60, 60],
    [-100, 110, 0, 0, 0],
]


def internal_rates():
    column, block, (guess,) = block_column("internal_rate", ("f", "1/year"))
    column.line("line", "1/year", internal_rate(block, guess))
    return column, _columns([(*flows, 0.1) for flows in FLOWS])


EVERY = {
    "add": lambda: cellwise("add", list(product(NUMBERS, NUMBERS))),
    "subtract": lambda: cellwise("subtract", list(product(NUMBERS, NUMBERS))),
    "multiply": lambda: cellwise("multiply", list(product(NUMBERS, NUMBERS))),
    "divide": lambda: cellwise("divide", list(product(NUMBERS, NOT_ZERO))),
    "negate": lambda: cellwise("negate", ones(NUMBERS)),
    "power": lambda: cellwise(
        "power", [*product(POSITIVE, [-2, -0.5, 0, 1 / 3, 0.5, 1, 2, 2.5, 10]), (0, 0.5), (0, 1), (0, 2)]
    ),
    "compound": compounds,
    "root": lambda: cellwise("root", list(product([0, *POSITIVE], [1, 2, 3, 7.5, 10]))),
    "larger": lambda: cellwise("larger", list(product(NUMBERS, NUMBERS))),
    "smaller": lambda: cellwise("smaller", list(product(NUMBERS, NUMBERS))),
    "absolute": lambda: cellwise("absolute", ones(NUMBERS)),
    "up": lambda: cellwise("up", ones(near_steps())),
    "nearest": lambda: cellwise("nearest", ones(near_steps())),
    "at_least": lambda: cellwise("at_least", near_ties()),
    "is_whole": lambda: cellwise("is_whole", ones(near_steps())),
    "when": choices,
    "total": lambda: reduced("total"),
    "product_sum": product_sums,
    "running": running_totals,
    "pick": picks,
    "nth_largest": lambda: ranked("nth_largest"),
    "position_of": lambda: ranked("position_of"),
    "here": lambda: neighbours("here"),
    "following": lambda: neighbours("following"),
    "window": windows,
    "smallest": lambda: reduced("smallest"),
    "second_smallest": lambda: reduced("second_smallest"),
    "largest": lambda: reduced("largest"),
    "smallest_at": lambda: reduced("smallest_at"),
    "internal_rate": internal_rates,
}


# --- witnesses


@pytest.fixture(scope="module")
def sheets():
    made = Sheets()
    for build in EVERY.values():
        made.add(*build())
    return made


@pytest.fixture(scope="module")
def path(sheets, tmp_path_factory):
    return sheets.save(tmp_path_factory.mktemp("functions") / "functions.xlsx")


@pytest.fixture(scope="module")
def ironcalc(path):
    return ironcalc_values(path)


@pytest.fixture(scope="module")
def libreoffice(path):
    if reason := libreoffice_missing():
        pytest.skip(reason)
    return libreoffice_values([path])[0]


def allowed(line, size, largest):
    """How far programs may differ in a line's result of this size, with numbers up to `largest` put in."""
    function = line.formula.function if isinstance(line.formula, Apply) else "gathered"
    if function in STEPS:
        return 0.0
    relative = RATES if function == "internal_rate" else RELATIVE
    return relative * size + (SUM_NOISE * largest ** SUMS[function] if function in SUMS else 0.0)


def disagreements(sheets, name, found):
    wrong = []
    for cell, ours in sheets.engine[name].items():
        theirs = found[name].get(cell)
        line, largest = sheets.lines[name][cell], sheets.largest[name][cell]
        if not isinstance(theirs, float) or not (
            abs(ours - theirs) <= allowed(line, max(abs(ours), abs(theirs)), largest)
        ):
            text = sheets.book[name][cell].value
            wrong.append(f"{name}!{cell} {line.label}: engine {ours!r}, other {theirs!r} for {text}")
    return wrong


def test_every_function_has_a_grid_that_uses_it(sheets):
    assert set(EVERY) == set(TABLE)
    for name, lines in sheets.lines.items():
        assert name in {line.formula.function for line in lines.values() if isinstance(line.formula, Apply)}


def test_a_false_step_and_a_false_digit_would_be_seen(sheets, ironcalc):
    # -123456.789 rounded up, -1e15 is whole, -123456.789 / 1.5, -1e15 - 1e15
    changes = [("up", "A3", 1), ("is_whole", "A1", -1), ("divide", "A57", 1e-6), ("add", "A1", 1e5)]
    for name, cell, by in changes:
        wrong = {name: {**ironcalc[name], cell: ironcalc[name][cell] + by}}
        (found,) = disagreements(sheets, name, wrong)
        assert found.startswith(f"{name}!{cell} ")


@pytest.mark.parametrize("name", TABLE)
def test_ironcalc_gives_what_the_engine_gives(name, sheets, ironcalc):
    assert disagreements(sheets, name, ironcalc) == []


@pytest.mark.parametrize("name", TABLE)
def test_libreoffice_gives_what_the_engine_gives(name, sheets, libreoffice):
    assert disagreements(sheets, name, libreoffice) == []
