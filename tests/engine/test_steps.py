"""Steps and turns over one input, against points worked out by hand.

A rounding keeps nine decimals and a comparison six, so a step at 100 stands within 1e-6 of it.
"""

import numpy as np
import pytest

from roi.engine.column import Book, Column
from roi.engine.errors import EngineError
from roi.engine.evaluate import Program
from roi.engine.expression import Apply, Axis, Constant, Data, Input
from roi.engine.functions import TABLE
from roi.engine.narrowing import LOOKS, MANY
from roi.engine.operations import (
    absolute,
    at_least,
    gather,
    internal_rate,
    is_whole,
    larger,
    largest,
    nearest,
    nth_largest,
    opposite,
    pick,
    position_of,
    second_smallest,
    smaller,
    smallest,
    smallest_at,
    total,
    up,
    when,
)
from roi.engine.steps import Stepped, Trace, crossings
from roi.model import comparison
from roi.model.study import build
from roi.scenario.scenario import read
from tests.small_shop import SHOP

THREE = Axis("three", ("a", "b", "c"))
# What each function of the table does to smoothness: nothing, or what the cases below show.
SMOOTH = {
    "add", "subtract", "multiply", "divide", "negate", "power", "compound", "root", "when", "total", "product_sum",
    "running", "window", "here", "following",
}  # fmt: skip


class Shelf:
    """A column with an input x, further inputs by value, and lines."""

    def __init__(self) -> None:
        self.column = Column("Shelf", "shelf")
        self.x = self.column.input(Input("x", "x", "1", 60.0))

    def number(self, value):
        return self.column.input(Input(f"n{value}", f"n{value}", "1", value))

    def line(self, body, unit="1"):
        return self.column.line(f"line {len(self.column.body)}", unit, body)

    def block(self, *bodies):
        return self.line(gather(THREE, bodies))

    @property
    def book(self):
        return Book([self.column])


def hundreds(shelf):
    """Three figures over 0..450: 100, x and 300, in three rows."""
    return shelf.block(shelf.number(100.0), shelf.x, shelf.number(300.0))


STEPS = {
    "up": (lambda s: up(s.x / 100), [100, 200, 300, 400]),
    "nearest": (lambda s: nearest(s.x / 100), [50, 150, 250, 350]),
    "at_least": (lambda s: at_least(s.x, s.number(123.0)), [123]),
    "is_whole": (lambda s: is_whole(nearest(s.x / 100) / 2), [50, 150, 250, 350]),
    "larger": (lambda s: larger(s.x, s.number(123.0)), [123]),
    "smaller": (lambda s: smaller(s.number(123.0), s.x), [123]),
    "absolute": (lambda s: absolute(s.x - s.number(321.0)), [321]),
    # Which is least: x up to 100, then the first row; the second, x between 100 and 300; the largest, x from 300 on.
    "smallest": (lambda s: smallest(hundreds(s)), [100]),
    "second_smallest": (lambda s: second_smallest(hundreds(s)), [100, 300]),
    "largest": (lambda s: largest(hundreds(s)), [300]),
    "smallest_at": (lambda s: smallest_at(hundreds(s)), [100]),
    "position_of": (lambda s: position_of(smallest(hundreds(s)), s.column.body[-1]), [100]),
    # Which row is second largest: the first below 100, x up to 300, then the last.
    "nth_largest": (lambda s: nth_largest(hundreds(s), s.number(2.0)), [100, 300]),
    # Rows 1, 2 and 3 of a block at positions 0.5 to 1.5, to 2.5 and on.
    "pick": (lambda s: pick(s.block(s.number(1.0), s.number(2.0), s.number(3.0)), s.x / 100), [50, 150, 250, 350]),
    # Flows of -x + 100 and 50 + 50: no rate where year 0 is no outlay, and none where the outlay is not returned.
    "internal_rate": (
        lambda s: internal_rate(s.block(100 - s.x, s.number(50.0), s.number(51.0)), s.number(0.1)),
        [100, 201],
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", STEPS)
def test_the_signature_changes_at_the_known_points_and_nowhere_else(name):
    body, points = STEPS[name]
    shelf = Shelf()
    line = shelf.line(body(shelf))
    trace = Trace(shelf.book, [line, shelf.line(shelf.x * 0)], "x", 1.0, 449.0)
    found = trace.steps()
    # A row that equals the smallest is told apart from one that is above it: up to two places a crossing.
    distinct = found[np.concatenate([[True], np.diff(found) > 1e-5])]
    np.testing.assert_allclose(distinct, points, rtol=0, atol=2e-6)


def test_every_function_of_the_table_is_smooth_or_shown_above():
    assert set(TABLE) == SMOOTH | set(STEPS)


def test_a_block_steps_at_each_of_its_rows():
    shelf = Shelf()
    rows = Data("rows", "rows", "1", THREE, [100.0, 200.0, 250.0])
    shelf.column.data(rows)
    reached = shelf.line(at_least(shelf.x, rows))
    trace = Trace(shelf.book, [shelf.line(total(reached)), shelf.line(shelf.x * 0)], "x", 1.0, 449.0)
    np.testing.assert_allclose(trace.steps(), [100, 200, 250], rtol=0, atol=2e-6)


def test_only_what_depends_on_the_varied_input_is_watched():
    shelf = Shelf()
    other = shelf.number(7.5)
    whole = shelf.line(up(other))
    kept = shelf.line(larger(other, 0))
    both = shelf.line(up(shelf.x) * whole + kept)
    stepped = Stepped(shelf.book, [both], ["x"])
    assert [(line, node.function) for line, node in stepped.steps] == [(both, "up")]
    assert all(isinstance(node, Apply) for _, node in stepped.steps)
    assert Stepped(shelf.book, [kept], ["x"]).steps == []
    _, signature = stepped.run("x", np.array([1.0, 1.5, 2.0, 2.5]))
    assert (signature[1:] == signature[:-1]).tolist() == [False, True, False]


def test_an_unknown_input_and_an_empty_range_are_refused():
    shelf = Shelf()
    line, other = shelf.line(shelf.x * 2), shelf.line(shelf.x + 1)
    with pytest.raises(EngineError, match="no line uses the input y"):
        crossings(shelf.book, line, other, "y", 0.0, 1.0)
    with pytest.raises(EngineError, match=r"nothing between 2\.0 and 2\.0"):
        crossings(shelf.book, line, other, "x", 2.0, 2.0)


def test_ties_and_jumps_by_pickups_worked_by_hand():
    """A costs 100 + x. B costs 130 a pickup of up to 100, and x / 10.

    A - B = 100 + 0.9 x - 130 n with n pickups: B is cheaper where this is above nought.
    n = 1, to 100: nought at 30 / 0.9 = 33.333, +60 at 100.
    n = 2, to 200: -70 just above 100, nought at 160 / 0.9 = 177.778, +20 at 200.
    n = 3, to 300: -110 just above 200, -20 at 300. n = 4: -60 at 400. n = 5: -100 at 500. A stays the cheaper.
    """
    shelf = Shelf()
    a = shelf.line(100 * Constant(1) + shelf.x)
    b = shelf.line(shelf.number(130.0) * up(shelf.x / 100) + shelf.number(0.1) * shelf.x)
    found = crossings(shelf.book, a, b, "x", 1.0, 500.0)
    assert [(t.kind, t.below, t.above) for t in found] == [
        ("tie", 0, 1),
        ("jump", 1, 0),
        ("tie", 0, 1),
        ("jump", 1, 0),
    ]
    # A pickup is rounded up after nine decimals of x / 100: a step stands within 1e-7.
    np.testing.assert_allclose([t.at for t in found], [30 / 0.9, 100, 160 / 0.9, 200], rtol=0, atol=1e-7)
    # 100 + 33.333 at the first tie; at the first jump A 200 and B 140, then 270.
    assert found[0].costs_below == pytest.approx((400 / 3, 400 / 3), abs=1e-6)
    assert found[1].costs_below == pytest.approx((200, 140), abs=1e-6)
    assert found[1].costs_above == pytest.approx((200, 270), abs=1e-6)


def test_two_turns_between_neighbouring_samples():
    """100,000 (x - 50.05)^2 is below 40 from 50.03 to 50.07; samples stand a quarter apart."""
    shelf = Shelf()
    off = shelf.line(shelf.x - shelf.number(50.05))
    a = shelf.line(shelf.number(100_000.0) * off * off)
    found = crossings(shelf.book, a, shelf.line(shelf.number(40.0) + 0 * shelf.x), "x", 0.0, 100.0)
    assert [(t.kind, t.below, t.above) for t in found] == [("tie", 1, 0), ("tie", 0, 1)]
    np.testing.assert_allclose([t.at for t in found], [50.03, 50.07], rtol=0, atol=1e-9)


def test_a_touch_is_no_turn():
    shelf = Shelf()
    off = shelf.line(shelf.x - shelf.number(50.0))
    a, b = shelf.line(1000 * off * off), shelf.line(0 * off)
    found = Trace(shelf.book, [a, b], "x", 0.0, 100.0, also=[50.0]).turns(0, 1)
    assert (found.turns, found.always, found.alike) == ((), 1, False)


@pytest.mark.parametrize(("favoured", "always"), [(0, 0), (1, 1), (None, None)])
def test_what_costs_the_same_everywhere_goes_to_the_favoured(favoured, always):
    """a (b + c) against a b + a c: equal but for the last digits, which must not make turns."""
    shelf = Shelf()
    b, c = shelf.number(0.1), shelf.number(0.7)
    lines = [shelf.line(shelf.x * (b + c)), shelf.line(shelf.x * b + shelf.x * c)]
    trace = Trace(shelf.book, lines, "x", 1.0, 1000.0)
    assert (trace.cost[0] != trace.cost[1]).any()
    found = trace.turns(0, 1, favoured)
    assert (found.turns, found.always, found.alike) == ((), always, True)


@pytest.mark.parametrize(("favoured", "turns"), [(0, [(50.0, 0, 1)]), (1, []), (None, [])])
def test_a_stretch_of_equal_costs_goes_to_the_favoured(favoured, turns):
    """The larger of x and 50 against 50: the same up to 50, dearer above."""
    shelf = Shelf()
    bent = shelf.line(larger(shelf.x, shelf.number(50.0)))
    flat = shelf.line(shelf.number(50.0) + 0 * shelf.x)
    found = Trace(shelf.book, [bent, flat], "x", 0.0, 100.0).turns(0, 1, favoured)
    assert [(pytest.approx(t.at, abs=1e-6), t.below, t.above) for t in found.turns] == turns
    assert all(t.kind == "tie" for t in found.turns)
    assert found.always == (None if turns else 1)


def test_a_stretch_of_equal_costs_that_ends_in_a_step_jumps_there():
    """x up to 20, 20 up to 60, then 90, against 20 flat: nobody favoured, the jump is at 60."""
    shelf = Shelf()
    level, edge = shelf.number(20.0), shelf.number(60.0)
    late = at_least(shelf.x, edge)
    bent = shelf.line(when(late, shelf.number(90.0), smaller(shelf.x, level)))
    found = crossings(shelf.book, bent, shelf.line(level + 0 * shelf.x), "x", 0.0, 100.0)
    assert [(t.kind, t.below, t.above) for t in found] == [("jump", 0, 1)]
    assert found[0].at == pytest.approx(60, abs=1e-6)


def test_what_cannot_be_chosen_is_never_the_cheaper():
    """The dear one can be chosen from 20 on, the cheap one from 60 on."""
    shelf = Shelf()
    dear, cheap = shelf.line(1000 + 0 * shelf.x), shelf.line(0 * shelf.x)
    able = [shelf.line(at_least(shelf.x, shelf.number(n))) for n in (20.0, 60.0)]
    found = Trace(shelf.book, [dear, cheap], "x", 0.0, 100.0, able=able).turns(0, 1)
    assert [(t.kind, t.below, t.above) for t in found.turns] == [("jump", None, 0), ("jump", 0, 1)]
    np.testing.assert_allclose([t.at for t in found.turns], [20, 60], rtol=0, atol=1e-6)
    assert (found.able, found.everywhere) == ((True, True), (False, False))
    never = Trace(shelf.book, [dear, cheap], "x", 0.0, 10.0, able=able).turns(0, 1)
    assert (never.turns, never.always, never.able) == ((), None, (False, False))


def test_what_divides_by_nothing_cannot_be_chosen():
    shelf = Shelf()
    undefined = shelf.line(1 / at_least(shelf.x, shelf.number(30.0)))
    found = crossings(shelf.book, undefined, shelf.line(1000 + 0 * shelf.x), "x", 0.0, 100.0)
    assert [(t.kind, t.below, t.above) for t in found] == [("jump", 1, 0)]
    assert found[0].at == pytest.approx(30, abs=1e-6)


def test_whole_values_only():
    """3 x against 10: dearer from the fourth on."""
    shelf = Shelf()
    a, b = shelf.line(shelf.number(3.0) * shelf.x), shelf.line(shelf.number(10.0) + 0 * shelf.x)
    trace = Trace(shelf.book, [a, b], "x", 1.0, 9.0, whole=True)
    assert trace.x.tolist() == [1, 2, 3, 4, 5, 6, 7, 8, 9]
    (found,) = trace.turns(0, 1).turns
    assert (found.at, found.kind, found.costs_below, found.costs_above) == (4, "jump", (9, 10), (12, 10))


def test_a_choice_follows_its_flag():
    """Between 100 and 300, and not outside, 5 is charged instead of 1: jumps at both ends against 2."""
    shelf = Shelf()
    within = at_least(shelf.x, shelf.number(100.0)) * opposite(at_least(shelf.x, shelf.number(300.0)))
    charged = shelf.line(when(within, shelf.number(5.0), 1))
    found = crossings(shelf.book, charged, shelf.line(2 + 0 * shelf.x), "x", 0.0, 400.0)
    assert [(t.kind, t.below, t.above) for t in found] == [("jump", 0, 1), ("jump", 1, 0)]
    np.testing.assert_allclose([t.at for t in found], [100, 300], rtol=0, atol=1e-6)


# --- more steps than can be followed -------------------------------------------------------------


@pytest.fixture
def looks(monkeypatch):
    """How many values were looked at, call by call."""
    counted, run = [], Stepped.run

    def counting(self, key, values):
        counted.append(len(values))
        return run(self, key, values)

    monkeypatch.setattr(Stepped, "run", counting)
    return counted


def sevens(slope, off, high):
    """A sells in packs of seven at 1 each, B at `slope` each and `off` besides."""
    shelf = Shelf()
    seven = shelf.number(7.0)
    a = shelf.line(up(shelf.x / seven) * seven)
    b = shelf.line(shelf.x * shelf.number(slope) + shelf.number(off))
    return Trace(shelf.book, [a, b], "x", 1.0, high)


def test_many_steps_are_followed_only_where_costs_are_near(looks):
    """With x and u more to the next pack, A - B = 0.0001 x + u - 50 over 142,857 packs.

    u stays below 7, so B is first the cheaper just above the first pack whose x is above 430,000: 61,429 x 7 = 430,003.
    A is the cheaper for the last time at the last whole pack below 500,000, where u is nought: 71,428 x 7 = 499,996.
    """
    trace = sevens(0.9999, 50.0, 1e6)
    (found,) = trace.turns(0, 1).turns
    assert (found.kind, found.below, found.above) == ("stretch", 0, 1)
    assert (found.at, found.last) == (pytest.approx(430_003, abs=1e-6), pytest.approx(499_996, abs=1e-6))
    assert sum(looks) < 1.1 * (LOOKS + 2 * MANY)
    # A step in x is enclosed where it matters and nowhere else.
    assert trace.coarse and 100 < len(trace.steps()) < 142_857 / 4


def test_no_more_looks_for_a_hundred_times_the_steps(looks):
    counts = []
    for high in (1e5, 1e7):
        looks.clear()
        # A - B = u - 7.5: within reach of a step everywhere, and A is always the cheaper.
        assert sevens(1.0, 7.5, high).turns(0, 1).always == 0
        counts.append(sum(looks))
    assert max(counts) < 1.1 * (LOOKS + 2 * MANY)


def test_turns_all_along_are_one_stretch(looks):
    """A - B = u - 3.5: a turn at every whole pack and one in the middle of each, from 7 n + 3.5 down to none at its end."""
    (found,) = sevens(1.0, 3.5, 1e6).turns(0, 1).turns
    # From x = 1, u = 6: A is the dearer up to 3.5. The last pack, 999,999, ends with A cheaper; the one at 1e6 is dearer.
    assert (found.kind, found.below, found.above) == ("stretch", 1, 1)
    assert (found.at, found.last) == (pytest.approx(3.5, abs=1e-6), pytest.approx(999_999, abs=1e-5))
    assert sum(looks) < 2 * 2 * MANY


def test_few_steps_are_all_enclosed():
    """Packs of seven up to 7,000: as many steps as packs, less the one at the end of the range."""
    trace = sevens(1.0, 3000.0, 7000.0)
    assert not trace.coarse
    np.testing.assert_allclose(trace.steps(), 7 * np.arange(1, 1000), rtol=0, atol=1e-6)


# The price of a polyester plate at which direct comes to cost less within the range, found by trying.
NEAR_TIE = """
[methods.polyester.plates]
price_per_area = "33.628125 USD/m2"
"""


@pytest.mark.parametrize("more", ["", NEAR_TIE], ids=["far apart", "near a tie"])
def test_ten_million_plates_a_year_over_forty_years_against_dense_sampling(more, looks, tmp_path):
    shop = SHOP.replace("small = 300", "small = 833333.3") + more + '\n[money]\nhorizon = "40 year"\n'
    (tmp_path / "shop.toml").write_text(shop)
    study = build(read(tmp_path / "shop.toml"))
    costs = [sheet.lines["present"] for sheet in study.methods.values()]
    able = [sheet.lines["feasible"] for sheet in study.methods.values()]
    found = Trace(study.book, costs, "work.volume", 0.2, 2.2, able=able).turns(0, 1, 0)
    assert sum(looks) < 1.1 * (LOOKS + 2 * MANY)
    x = np.linspace(0.2, 2.2, 20_011)
    computed = Program(study.book, costs).run({"work.volume": x})
    gap = computed[costs[0]].ravel() - computed[costs[1]].ravel()
    assert bool(found.turns) == bool(more) == bool((np.sign(gap[1:]) != np.sign(gap[:-1])).any())
    # Outside of stretches the cheaper one is as told, at every point sampled.
    told = np.full(len(x), found.turns[0].below if found.turns else found.always)
    open_ = np.ones(len(x), bool)
    for turn in found.turns:
        told[x > turn.at] = turn.above
        open_ &= ~((x >= turn.at) & (x <= (turn.last or turn.at)))
    assert (told == (gap > 0))[open_].all()
    assert open_.mean() > 0.95
    # Just outside of each end it is as told, just inside it isn't.
    for turn in found.turns:
        assert turn.last is not None
        ends = [turn.at * (1 - 1e-9), turn.at * (1 + 1e-9), turn.last * (1 - 1e-9), turn.last * (1 + 1e-9)]
        put = Program(study.book, costs).run({"work.volume": np.array(ends)})
        dearer = (put[costs[0]].ravel() > put[costs[1]].ravel()).astype(int)
        assert dearer.tolist() == [turn.below, 1 - turn.below, 1 - turn.above, turn.above]


def test_the_cent_is_the_comparisons():
    from roi.engine.steps import TIE

    assert comparison.TIE == TIE
