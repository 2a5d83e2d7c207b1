"""Formulas of random shape, worked out by another program as they are written.

The engine works on the tree, the program on the text: they agree only if each parenthesis stands where it
must. Drawn with a fixed seed; trees with a part that is no number (a division by zero, a root of a negative
number) are left out, because there the program gives an error.
"""

import random

import numpy as np

from roi.engine.column import Book, Column, parts
from roi.engine.errors import FormulaTooLong
from roi.engine.evaluate import evaluate
from roi.engine.expression import Input
from roi.engine.operations import at_least, larger, power, root, smaller, when
from tests.parity.placing import Sheets
from tests.parity.recalculate import differences, ironcalc_values

SEED = 1875
WANTED = 400
VALUES = {"a": 1.25, "b": 3.5, "c": 0.75, "d": 2.0}
BRANCHES = [
    lambda x, y: x + y,
    lambda x, y: x - y,
    lambda x, y: x * y,
    lambda x, y: x / y,
    lambda x, y: -x,
    power,
    lambda x, y: root(x, larger(y, 1)),
    larger,
    smaller,
    lambda x, y: 1 - x,
    lambda x, y: 2 / x,
    lambda x, y: at_least(x, y) + y,
    lambda x, y: when(at_least(x, y), x - y, y / x),
]


def tree(draw, leaves, depth):
    if depth == 0 or draw.random() < 0.1:
        return draw.choice(leaves)
    return draw.choice(BRANCHES)(tree(draw, leaves, depth - 1), tree(draw, leaves, depth - 1))


def with_parts(body):
    """An expression and everything below it."""
    yield body
    for part in parts(body):
        yield from with_parts(part)


def is_sound(column):
    """Whether every line is a number, none of them huge or next to nothing."""
    sizes = np.abs(np.concatenate(list(evaluate(Book([column])).values())))
    return bool(np.all((sizes == 0) | ((sizes > 1e-3) & (sizes < 1e6))))


def columns():
    """Columns of one tree and all its parts, each a line; each column under a title of its own."""
    draw = random.Random(SEED)
    made = []
    while len(made) < WANTED:
        column = Column(f"t{len(made)}", "t")
        leaves = [column.input(Input(key, key, "1", value)) for key, value in VALUES.items()]
        body = tree(draw, leaves, draw.choice((2, 3, 4)))
        try:
            for i, part in enumerate(with_parts(body)):
                column.line(f"part {i}", "1", part)
        except FormulaTooLong:
            continue
        if is_sound(column):
            made.append(column)
    return made


def test_random_formulas_mean_the_same_as_text(tmp_path):
    sheets = Sheets()
    for column in columns():
        sheets.add(column, {})
    found = ironcalc_values(sheets.save(tmp_path / "trees.xlsx"))

    assert differences(sheets.engine, found) == []
    texts = {cells["A1"].value for cells in sheets.book.worksheets if not cells.title.endswith(" in")}
    assert len(texts) > WANTED / 2
    assert sum("^" in text for text in texts) > 50 and sum("-(" in text for text in texts) > 20
