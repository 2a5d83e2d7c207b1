"""Formula text, against formulas written by hand.

Precedence is that of OASIS OpenDocument 1.2, part 2 (OpenFormula), 5.5, table 1: from tightest to loosest
leading minus, ^, * and /, + and -, comparisons; all of one rank are read from the left. So -2^2 is 4 and
2^3^2 is 64. tests/parity/test_precedence.py has another program work such formulas out.
"""

import pytest

from roi.engine.column import Column
from roi.engine.expression import Axis, Data, Input
from roi.engine.formula import Where, formula
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
    second_smallest,
    smaller,
    smallest_at,
    total,
    up,
    when,
    window,
)

ROWS = Axis("rows", ("1", "2", "3"))
LONG = Axis("long", ("1", "2", "3", "4", "5"))
WEIGHTS = Axis("weights", ("1", "2"))

column = Column("Try", "try")
a, b, c, d = (column.input(Input(key, key, "1", 1.0)) for key in "ABCD")
rate = column.input(Input("R", "R", "1/year", 0.08))
years = column.input(Input("Y", "Y", "year", 10))
block = column.data(Data("x", "X", "1", ROWS, [1, 2, 3]))
other = column.data(Data("z", "Z", "1", ROWS, [4, 5, 6]))
flows = column.data(Data("f", "F", "1", LONG, [1, 2, 3, 4, 5]))
weights = column.data(Data("w", "W", "1", WEIGHTS, [1, 2]))


def _span(leaf, first, last, kind):
    start = {"range": f"{leaf.label}${first + 1}", "through": f"{leaf.label}${first + 1}"}.get(
        kind, f"{leaf.label}{first + 1}"
    )
    end = f"{leaf.label}${last + 1}" if kind == "range" else f"{leaf.label}{last + 1}"
    return f"{start}:{end}"


# A leaf stands in the spreadsheet column of its label, its rows from row 1.
PLACES = Where(cell=lambda leaf, row: f"{leaf.label}{row + 1}", span=_span)


@pytest.mark.parametrize(
    "body, by_hand",
    [
        (a - (b - c), "=A1-(B1-C1)"),
        ((a - b) - c, "=A1-B1-C1"),
        (a - (b + c), "=A1-(B1+C1)"),
        (a + (b - c), "=A1+(B1-C1)"),
        (a / (b * c), "=A1/(B1*C1)"),
        (a / (b / c), "=A1/(B1/C1)"),
        (a / b * c, "=A1/B1*C1"),
        (a * (b / c), "=A1*(B1/C1)"),
        ((a + b) * (c - d), "=(A1+B1)*(C1-D1)"),
        (a + b * c, "=A1+B1*C1"),
        (-a, "=0-A1"),
        (0 - -a, "=0-(0-A1)"),
        (a - -b, "=A1-(0-B1)"),
        (-a * b, "=(0-A1)*B1"),
        (-(a * b), "=0-A1*B1"),
        (-(a + b), "=0-(A1+B1)"),
        (power(-a, b), "=(0-A1)^B1"),
        (-power(a, b), "=0-A1^B1"),
        (power(power(a, b), c), "=A1^B1^C1"),
        (power(a, power(b, c)), "=A1^(B1^C1)"),
        (power(a * b, c + d), "=(A1*B1)^(C1+D1)"),
        (power(a, -b), "=A1^(0-B1)"),
        (a * power(b, c), "=A1*B1^C1"),
        (compound(rate, years), "=(1+R1)^Y1"),
        (compound(-rate, years), "=(1+(0-R1))^Y1"),
        (compound(rate + rate, years - years), "=(1+(R1+R1))^(Y1-Y1)"),
        (power(compound(rate, years), a), "=(1+R1)^Y1^A1"),
        (power(a, compound(rate, years)), "=A1^((1+R1)^Y1)"),
        (a / compound(rate, years), "=A1/(1+R1)^Y1"),
        (root(a / b, c), "=(A1/B1)^(1/C1)"),
        (root(a, b * c), "=A1^(1/(B1*C1))"),
        (root(power(a, b), c), "=A1^B1^(1/C1)"),
        (larger(a + b, c) - smaller(a, 0), "=MAX(A1+B1,C1)-MIN(A1,0)"),
        (up(a / b) * c, "=ROUNDUP(ROUND(A1/B1,9),0)*C1"),
        (nearest(a - b), "=ROUND(ROUND(A1-B1,9),0)"),
        (at_least(a, b - c), "=IF(ROUND(A1-(B1-C1),6)>=0,1,0)"),
        (at_least(a, 1) * b, "=IF(ROUND(A1-1,6)>=0,1,0)*B1"),
        (is_whole(a), "=IF(ROUND(A1,9)=ROUND(A1,0),1,0)"),
        (when(at_least(a, b), c, d + 1), "=IF(ROUND(A1-B1,6)>=0,C1,D1+1)"),
        (when(at_least(a, b) * at_least(c, d), a, 0),
         "=IF((IF(ROUND(A1-B1,6)>=0,1,0)*IF(ROUND(C1-D1,6)>=0,1,0))=1,A1,0)"),
        (when(opposite(at_least(a, b)), c, d), "=IF((1-IF(ROUND(A1-B1,6)>=0,1,0))=1,C1,D1)"),
        (a.per("plate") * constant(60, "min/h"), "=A1*60"),
        ((a + b).during("year") / c, "=(A1+B1)/C1"),
    ],
)  # fmt: skip
def test_parentheses_stand_where_the_spreadsheet_needs_them(body, by_hand):
    assert formula(body, PLACES) == by_hand


@pytest.mark.parametrize(
    "body, first, last",
    [
        (block * a, "=X1*A1", "=X3*A1"),
        (block - other, "=X1-Z1", "=X3-Z3"),
        (running(block), "=SUM(X$1:X1)", "=SUM(X$1:X3)"),
        (block - total(block), "=X1-SUM(X$1:X$3)", "=X3-SUM(X$1:X$3)"),
        (window(flows, weights, ROWS), "=SUMPRODUCT(F1:F2,W$1:W$2)", "=SUMPRODUCT(F3:F4,W$1:W$2)"),
        (pick(flows, block), "=INDEX(F$1:F$5,ROUND(X1,0))", "=INDEX(F$1:F$5,ROUND(X3,0))"),
        (gather(ROWS, [a, b + c, d]), "=A1", "=D1"),
        (when(at_least(block, a), other, 0), "=IF(ROUND(X1-A1,6)>=0,Z1,0)", "=IF(ROUND(X3-A1,6)>=0,Z3,0)"),
    ],
)
def test_a_block_has_one_relative_formula(body, first, last):
    assert (formula(body, PLACES, 0), formula(body, PLACES, 2)) == (first, last)


@pytest.mark.parametrize(
    "body, by_hand",
    [
        (product_sum(block, other), "=SUMPRODUCT(X$1:X$3,Z$1:Z$3)"),
        (pick(block, a + 1), "=INDEX(X$1:X$3,ROUND(A1+1,0))"),
        (a - (at(block, 2) - b), "=A1-(X3-B1)"),
        (second_smallest(block), "=SMALL(X$1:X$3,2)"),
        (smallest_at(block), "=MATCH(MIN(X$1:X$3),X$1:X$3,0)"),
        (internal_rate(flows, rate), "=IRR(F$1:F$5,R1)"),
    ],
)
def test_ranges_are_plain_and_fixed(body, by_hand):
    assert formula(body, PLACES) == by_hand


def test_a_flag_of_its_own_line_is_compared_with_one():
    flag = column.line("G", "1", at_least(a, b))
    assert formula(when(flag, c, d), PLACES) == "=IF(G1=1,C1,D1)"
    assert formula(when(flag * flag, c, d), PLACES) == "=IF((G1*G1)=1,C1,D1)"
