"""What the arithmetic of expressions refuses: unlike units, unlike axes, bare steps, typed numbers."""

import math

import pytest

from roi.engine.column import Column
from roi.engine.errors import AxisMismatch, TypedNumber, UnguardedStep, UnitMismatch
from roi.engine.expression import Axis, Constant, Data, Input
from roi.engine.operations import (
    at,
    at_least,
    compound,
    constant,
    gather,
    internal_rate,
    is_whole,
    larger,
    nearest,
    opposite,
    pick,
    power,
    product_sum,
    root,
    running,
    smaller,
    total,
    up,
    when,
    window,
)
from roi.units.unit import Unit

YEARS = Axis("years", ("1", "2", "3"))
SIZES = Axis("sizes", ("small", "large"))

price = Input("plate.price", "plate price", "currency/plate", 3.95)
plates = Input("plates", "plates", "plate/year", 7200)
share = Input("share", "share reused", "1", 0.05)
rate = Input("rate", "discount rate", "1/year", 0.08)
year = Data("year", "year", "year", YEARS, [1, 2, 3])
costs = Data("costs", "cost by year", "currency", YEARS, [10, 20, 30])
areas = Data("areas", "area by size", "m2", SIZES, [0.16, 0.1])


# --- units


def test_arithmetic_carries_units():
    assert (price * plates).unit == Unit.read("currency/year")
    assert (price * plates / plates).unit == price.unit
    assert (-price + 0).unit == (0 - price).unit == (price - 0).unit == price.unit
    assert (1 - share).unit == (share * 1).unit == (1 / share).unit == Unit.read("1")
    assert (1 / plates).unit == Unit.read("year/plate")
    assert (plates * constant(12, "month/year")).unit == Unit.read("plate*month/year/year")
    assert compound(rate, year).unit == Unit.read("1")
    assert internal_rate(costs, rate).unit == rate.unit


def test_a_figure_can_be_read_per_one_or_during_one_of_something():
    assert plates.during("year").unit == Unit.read("plate")
    assert price.per("year").unit == Unit.read("currency/plate/year")


@pytest.mark.parametrize(
    "make",
    [
        lambda: price + plates,
        lambda: price - 1,
        lambda: 1 + plates,
        lambda: larger(price, plates),
        lambda: smaller(price, plates),
        lambda: at_least(price, plates),
        lambda: when(at_least(price, 0), price, plates),
        lambda: when(at_least(price, 0), 1, plates),
        lambda: gather(SIZES, [price, plates]),
    ],
)
def test_unlike_things_are_not_added_or_compared(make):
    with pytest.raises(UnitMismatch):
        make()


def test_the_refusal_names_the_row():
    with pytest.raises(UnitMismatch, match="row 2 of 'cost by year' in currency"):
        price + at(costs, 2)


def test_the_refusal_names_both_parts_and_both_units():
    with pytest.raises(UnitMismatch) as refusal:
        price + plates * share
    for word in ("add", "'plate price'", "currency/plate", "'plates'", "'share reused'", "plate/year"):
        assert word in str(refusal.value)


@pytest.mark.parametrize(
    "make",
    [
        lambda: up(plates),
        lambda: nearest(plates),
        lambda: is_whole(plates),
        lambda: power(plates, share),
        lambda: power(share, plates),
        lambda: root(plates, share),
        lambda: root(share, plates),
        lambda: compound(share, year),
        lambda: pick(costs, plates),
    ],
)
def test_functions_of_bare_numbers_refuse_a_unit(make):
    with pytest.raises(UnitMismatch, match="a bare number is wanted"):
        make()


# --- axes


@pytest.mark.parametrize(
    "make, says",
    [
        (lambda: costs * areas, "sizes, years"),
        (lambda: when(at_least(costs, 0), areas, 0), "sizes, years"),
        (lambda: product_sum(costs, areas), "years and sizes"),
        (lambda: total(price), "line of its own"),
        (lambda: total(costs * 2), "line of its own"),
        (lambda: running(costs + costs), "line of its own"),
        (lambda: pick(costs * 2, share), "line of its own"),
        (lambda: window(costs, areas, YEARS), "as many rows"),
        (lambda: window(price, areas, YEARS), "as many rows"),
        (lambda: gather(SIZES, [price]), "1 parts for the 2 rows of sizes"),
        (lambda: gather(YEARS, [costs, costs, costs]), "single values"),
        (lambda: Data("d", "d", "1", YEARS, [1, 2]), "3 rows of years"),
        (lambda: at(costs, 3), "'cost by year' has no row 3"),
        (lambda: at(costs, -1), "no row -1"),
        (lambda: at(price, 0), "'plate price' has no row 0"),
        (lambda: internal_rate(costs, compound(rate, year).per("year")), "single value"),
    ],
)
def test_blocks_that_do_not_go_together_are_refused(make, says):
    with pytest.raises(AxisMismatch, match=says):
        make()


def test_a_single_value_spreads_over_a_block_and_a_sum_is_single():
    assert (costs * share).axis == (share * costs).axis == YEARS
    assert running(costs).axis == YEARS
    assert total(costs).axis is None
    assert product_sum(costs, costs).axis is None
    assert pick(costs, share).axis is None
    assert pick(areas, year / constant(1, "year")).axis == YEARS


# --- steps


@pytest.mark.parametrize(
    "make",
    [
        lambda: share < 1,
        lambda: share <= 1,
        lambda: share > price,
        lambda: 2 > share,  # noqa: SIM300
        lambda: 1 if share else 0,
        lambda: share and price,
        lambda: not share,
        lambda: share // 2,
        lambda: 2 // share,
        lambda: share % 2,
        lambda: 2 % share,
        lambda: share**2,
        lambda: round(share),
        lambda: round(share, 2),
        lambda: math.floor(share),
        lambda: math.ceil(share),
        lambda: math.trunc(share),
        lambda: int(share),
        lambda: max(share, rate),
        lambda: min(share, rate),
        lambda: sorted([share, rate]),
    ],
)
def test_bare_steps_and_powers_are_refused(make):
    with pytest.raises(UnguardedStep, match=r"at_least\(a, b\)|compound\(rate, years\)"):
        make()


@pytest.mark.parametrize("make", [lambda: float(share), lambda: divmod(share, 2), lambda: 2**share])
def test_python_itself_refuses_what_expressions_do_not_define(make):
    with pytest.raises(TypeError):
        make()


def test_only_flags_choose():
    flag = at_least(price, 0)
    for good in (flag, flag * flag, opposite(flag), 1 - flag, is_whole(share), when(flag, 1, 0), Constant(1)):
        assert when(good, price, 0).unit == price.unit
    for bad in (share, flag + flag, flag * share, flag - flag, when(flag, share, 0), 2 - flag):
        with pytest.raises(UnguardedStep, match="flag"):
            when(bad, price, 0)
    with pytest.raises(UnguardedStep, match="flag"):
        opposite(share)


def test_data_declared_a_flag_holds_only_0_and_1():
    assert when(Data("in", "in use", "1", YEARS, [1, 0, 1], flag=True), costs, 0).axis == YEARS
    with pytest.raises(UnguardedStep, match="in use"):
        Data("in", "in use", "1", YEARS, [1, 0, 0.5], flag=True)


# --- typed numbers


@pytest.mark.parametrize("number", [3, 7, 52, 365, 0.5, 1.0, 2.0, True, False, -1, 1e9, "1"])
def test_a_changeable_number_is_refused(number):
    with pytest.raises(TypedNumber, match="input"):
        share * number


@pytest.mark.parametrize("number", [0, 1, 2, 12, 24, 60, 100, 1000, 1_000_000])
def test_a_number_that_never_changes_may_stand(number):
    column = Column("Try", "try")
    line = column.line("product", "1", column.input(share) * number)
    assert line.unit == Unit.read("1")
