"""Trials of a hand-made book: what moves, nested trials, readings of lines that nothing moves; every value by hand."""

import numpy as np
import pytest

from roi.engine.cases import Cases, Reading, Trial, read
from roi.engine.column import Book, Column
from roi.engine.errors import AxisMismatch
from roi.engine.evaluate import evaluate, extend
from roi.engine.expression import Axis, Data, Input
from roi.engine.operations import gather, total

ENDS = Axis("ends", ("low", "high"))
THREE = Axis("three", ("a", "b", "c"))
SIZES = Axis("sizes", ("small", "large"))


class Shelf:
    """x = 3, y = 4, z = 5; double = 2 x; by size (1, 10) the sum double + y; all sizes; and z alone, thrice.

    The first trial puts x at 1 and 10. The second starts from the first's second case, so x is 10, and puts y at 0, 1, 2.
    """

    def __init__(self):
        c = Column("Shelf", "shelf")
        self.x, self.y, self.z = (Input(n, n, "1", v) for n, v in (("x", 3), ("y", 4), ("z", 5)))
        size = c.data(Data("size", "Size", "1", SIZES, [1, 10]))
        self.double = c.line("double", "1", c.input(self.x) * 2)
        self.sized = c.line("sized", "1", size * (self.double + c.input(self.y)))
        self.all = c.line("all", "1", total(self.sized))
        z = c.input(self.z)
        self.thrice = c.line("thrice", "1", z + z + z)
        self.unread = c.line("unread", "1", self.all + 1)
        self.book = Book([c])
        self.column = Column("Cases", "cases", across=True)
        self.outer = Trial("outer", ENDS, {self.x: self._block("x of outer", ENDS, (1, 10))})
        self.inner = Trial(
            "inner", THREE, {self.y: self._block("y of inner", THREE, (0, 1, 2))}, (self.outer, 1)
        )

    def _block(self, label, axis, values):
        parts = [
            self.column.input(Input(f"{label} {i}", f"{label} {i}", "1", value))
            for i, value in enumerate(values)
        ]
        return self.column.line(label, "1", gather(axis, parts))

    def evaluate(self, readings, changes=None):
        cases = Cases(self.book, [self.outer, self.inner], readings)
        known = extend(evaluate(self.book, changes or {}), [self.column], changes or {})
        return cases, cases.evaluate(known, changes or {})


@pytest.fixture
def shelf():
    return Shelf()


def keys(lines):
    return [line.key for line in lines]


def test_values_of_a_trial_and_of_one_nested_in_it(shelf):
    outer, inner = Reading(shelf.outer, shelf.all), Reading(shelf.inner, shelf.all)
    _, worked = shelf.evaluate([outer, inner])
    # 11 x (2 x 1 + 4) and 11 x (2 x 10 + 4); then 11 x (20 + 0), 11 x (20 + 1), 11 x (20 + 2).
    assert read(outer, worked[shelf.outer]).tolist() == [[66], [264]]
    assert read(inner, worked[shelf.inner]).tolist() == [[220], [231], [242]]
    assert outer.axis is ENDS and inner.axis is THREE


def test_a_row_of_a_block(shelf):
    small, large = (Reading(shelf.inner, shelf.sized, row) for row in (0, 1))
    _, worked = shelf.evaluate([small, large])
    assert read(small, worked[shelf.inner]).tolist() == [[20], [21], [22]]
    assert read(large, worked[shelf.inner]).tolist() == [[200], [210], [220]]


def test_a_line_that_no_input_moves_is_read_all_the_same(shelf):
    reading = Reading(shelf.outer, shelf.thrice)
    cases, worked = shelf.evaluate([reading])
    assert read(reading, worked[shelf.outer]).tolist() == [[15], [15]]
    assert cases.moved(shelf.outer) == []
    # A trial of which nothing is read moves nothing either.
    assert cases.moved(shelf.inner) == []


def test_only_lines_that_its_own_inputs_move_are_anew(shelf):
    cases, _ = shelf.evaluate([Reading(shelf.inner, shelf.all)])
    assert keys(cases.moved(shelf.inner)) == ["shelf.y", "shelf.sized", "shelf.all"]
    # The parent holds what its child refers to; what nobody reads is left out.
    assert keys(cases.moved(shelf.outer)) == ["shelf.x", "shelf.double", "shelf.sized", "shelf.all"]


def test_changed_inputs_hold_in_every_case(shelf):
    moved, still = Reading(shelf.outer, shelf.all), Reading(shelf.outer, shelf.thrice)
    # y at 100 everywhere but where the inner trial says otherwise; z at 7.
    inner = Reading(shelf.inner, shelf.all)
    _, worked = shelf.evaluate([moved, still, inner], {"y": 100.0, "z": 7.0})
    assert read(moved, worked[shelf.outer]).tolist() == [[11 * 102], [11 * 120]]
    assert read(inner, worked[shelf.inner]).tolist() == [[220], [231], [242]]
    assert read(still, worked[shelf.outer]).tolist() == [[21], [21]]


def test_columns_may_use_readings(shelf):
    reading = Reading(shelf.inner, shelf.all)
    cases, worked = shelf.evaluate([reading])
    further = Column("Further", "further", across=True)
    sum_of = further.line("sum", "1", total(reading))
    known = extend({reading: read(reading, worked[shelf.inner])}, [further])
    np.testing.assert_array_equal(known[sum_of], [693])
    assert cases.readings == [reading]


def test_ancestry_nearest_first(shelf):
    last = Trial("last", ENDS, {}, (shelf.inner, 2))
    assert last.ancestry == [(shelf.inner, 2), (shelf.outer, 1)] and shelf.outer.ancestry == []


@pytest.mark.parametrize(("line", "row"), [("all", 1), ("sized", 2), ("sized", -1)])
def test_a_row_that_is_not_there_is_refused(shelf, line, row):
    with pytest.raises(AxisMismatch, match=f"'{line}' has no row {row}"):
        Reading(shelf.outer, getattr(shelf, line), row)
