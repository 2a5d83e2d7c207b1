"""How deep a change goes into the shop's cash, against staying: month by month in year 1, and over all years; as lines.

Year 1 before tax: what is paid at first, then each month's share of the running costs, those that follow the work by the
months' share of it, those that follow time a twelfth each. What else falls into year 1 (learning, both methods running,
a unit replaced at its end) is not in its months; it is in the years, which are after tax.
"""

from __future__ import annotations

from dataclasses import dataclass

from roi.engine.column import Column, Line
from roi.engine.expression import Constant, Data, Expr, larger, pick, smaller, smallest, smallest_at
from roi.model.calendar_year import MONTHS
from roi.model.study import Study


@dataclass(frozen=True)
class Depth:
    """How deep one method goes against staying, in currency, negative or 0; and after which month of year 1, at the end of
    which year (0 is the switch)."""

    by_month: Line
    month: Line
    by_year: Line
    year: Line


def depths(study: Study, column: Column) -> dict[str, Depth]:
    """Add the lines of every challenger to a column; by its id."""
    column.heading("How deep in cash against staying")
    old = study.methods[study.scenario.current]
    axis = study.shop.months.before.axis
    assert axis is not None
    rows = column.data(Data("stressed.rows", "Months gone by, and one", "1", axis, range(1, MONTHS + 2)))
    place = column.line("Share of year 1 gone by", "1", (rows - 1) / MONTHS)
    done = column.line("Work of year 1 done", "1", pick(study.shop.months.before, rows))
    found = {}
    for name, sheet in study.methods.items():
        if sheet is old:
            continue
        short = sheet.method.short
        above = {
            follows: column.line(
                f"{short}, saved in year 1 of it, {words}",
                "currency",
                old.lines[f"year_1.{follows}"] - sheet.lines[f"year_1.{follows}"],
            )
            for follows, words in (("work", "with the work"), ("time", "with time"))
        }
        begun: list[Expr] = [done, place]
        if "months.work" in sheet.lines:  # the old method still runs for these
            begun = [
                larger(0, done - sheet.lines["months.work"]),
                larger(0, place - sheet.lines["months.time"]),
            ]
        at_first = column.line(
            f"{short}, paid at first above staying",
            "currency",
            sheet.lines["first_cost"] - old.lines["first_cost"],
        )
        so_far = column.line(
            f"{short}, cash against staying",
            "currency",
            above["work"] * begun[0] + above["time"] * begun[1] - at_first,
        )
        cumulative = study.cash_flow.savings[name]["cash"].cumulative
        nothing = Constant(0).during("currency")
        found[name] = Depth(
            column.line(f"{short}, deepest in year 1", "currency", smaller(smallest(so_far), nothing)),
            column.line(f"{short}, after so many months", "1", smallest_at(so_far) - 1),
            column.line(
                f"{short}, deepest over the years", "currency", smaller(smallest(cumulative), nothing)
            ),
            column.line(f"{short}, at the end of year", "1", smallest_at(cumulative) - 1),
        )
    return found


__all__ = ["Depth", "depths"]
