"""How deep a change goes into the shop's cash, against staying: month by month in year 1, and over all years; as lines.

Year 1 before tax: what is paid at first, then each month's share of the running costs, those that follow the work by the
months' share of it, those that follow time a twelfth each. What else falls into year 1 (learning, both methods running,
a unit replaced at its end) is not in its months; it is in the years, which are after tax.
"""

from __future__ import annotations

from dataclasses import dataclass

from roi.engine.column import Column, Line
from roi.engine.expression import Constant, Data, Expr
from roi.engine.operations import at_least, gather, larger, opposite, pick, smaller, smallest, smallest_at
from roi.engine.words import Choice, Number, Sentence
from roi.model.calendar_year import MONTHS
from roi.model.study import Study
from roi.units.unit import Unit

DEEPEST = "Deepest in cash"


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


def deepest(study: Study, column: Column, found: dict[str, Depth]) -> Sentence:
    """How deep in cash the method that costs least has gone at its worst, where it isn't the current one; else blank.

    The worst month of year 1, and a year where that is deeper still; `found` are the depths of every challenger.
    """
    rows, code = study.comparison.rows, f"{study.scenario.currency} "
    column.heading("Figures about the deepest in cash")

    def of_cheapest(label: str, unit: str, part: str) -> Line:
        nothing = Constant(0, Unit.read(unit))
        each = [getattr(found[name], part) if name in found else nothing for name in study.methods]
        block = column.line(f"{label}, by method", unit, gather(study.comparison.methods, each))
        return column.line(f"{label}, cheapest", unit, pick(block, rows["cheapest_at"]))

    def flag(label: str, body: Expr) -> Line:
        return column.line(label, "1", body)

    some = at_least(study.comparison.number_feasible, 1)
    change = flag("A change is told", some * opposite(rows["stays"]) * study.comparison.current_feasible)
    by_month = of_cheapest("Deepest in year 1", "currency", "by_month")
    by_year = of_cheapest("Deepest over the years", "currency", "by_year")
    month, year = (
        of_cheapest("After so many months", "1", "month"),
        of_cheapest("At the end of year", "1", "year"),
    )
    below = column.line("Deepest in year 1, as an amount", "currency", 0 - by_month)
    below_later = column.line("Deepest over the years, as an amount", "currency", 0 - by_year)
    one = Constant(1).during("currency")
    months = flag("Behind in a month", change * at_least(below, one))
    # Less than a unit of money deeper is the rounding of what is shown.
    years = flag("Deeper in a year", change * at_least(year, 1) * at_least(below_later, below + one))
    first = flag("Deepest at the switch", months * at_least(0, month))
    later = flag("Deepest after the switch", months * opposite(first))
    both = flag("A month and a year are told", months * years)
    alone = flag("Only a month is told", months * opposite(years))
    only = flag("Only a year is told", years * opposite(months))
    deep = flag("Some depth is told", opposite(opposite(months) * opposite(years)))
    none = flag("No depth is told", change * opposite(deep))
    return Sentence(
        DEEPEST,
        (
            # A piece that is absent is a space: of the next two one always is.
            Choice(
                deep,
                "At its deepest,",
                Choice(none, "At no time does the change cost more cash than staying."),
            ),
            Choice(first, " at the switch,"),
            Number(month, 0, "after month ", ", ", later),
            Number(below, 0, "the change has cost " + code, " more than staying", months),
            Choice(alone, ", before tax.", Choice(both, "; ")),
            Number(year, 0, "in year ", ", after tax, ", years),
            Number(below_later, 0, code, ".", both),
            Number(below_later, 0, "it has cost " + code, " more than staying.", only),
        ),
    )


__all__ = ["DEEPEST", "Depth", "deepest", "depths"]
