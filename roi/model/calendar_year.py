"""The months of year 1: which share of a year's work has been done before each, from the month in which the year begins.

Shares are of a year's plates; a log's or a summary's own, January first, or level where it says nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from roi.engine.column import Column, Line
from roi.engine.expression import Axis, Constant, Data, Expr
from roi.engine.operations import pick
from roi.scenario.scenario import Scenario

MONTHS = 12


@dataclass(frozen=True)
class Months:
    """begins : calendar month in which year 1 begins, 1 for January; before : share of its work done at the start (row 0)
    and after each month (rows 1 to 12)"""

    begins: Expr
    before: Line


def add_months(scenario: Scenario, column: Column, month_share: Sequence[float]) -> Months:
    """Write the months of year 1 on the shop's column; `month_share` are the twelve shares of a year, January first."""
    so_far = [float(sum((*month_share, *month_share)[:i])) for i in range(2 * MONTHS + 1)]
    two_years = Axis("months of two years", tuple(f"before month {i + 1}" for i in range(2 * MONTHS + 1)))
    known = column.data(
        Data(f"{column.key}.so_far", "Share of a year's work from January on", "1", two_years, so_far)
    )
    begins: Expr = Constant(1)
    if scenario.has("money", "year_begins"):
        begins = column.input(scenario.input("money", "year_begins"))
    start = column.line(
        "Share of a year's work before year 1 begins, from January on", "1", pick(known, begins)
    )
    axis = Axis("months", ("at the start", *(f"after month {i + 1}" for i in range(MONTHS))))
    place = column.data(Data(f"{column.key}.month", "Months gone by", "1", axis, range(MONTHS + 1)))
    before = column.line("Share of year 1's work done", "1", pick(known, place + begins) - start)
    return Months(begins, before)


__all__ = ["MONTHS", "Months", "add_months"]
