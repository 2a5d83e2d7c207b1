"""What has been paid so far against the budget: variances and a forecast to the year's end, as lines over months.

Currency, payments positive, receipts negative; a variance above nothing is paid more than budgeted. The months typed are
numbers of the workbook's own sheet Actuals, not of the scenario; the forecast is what was paid in the months closed and the
budget of the rest.
"""

from __future__ import annotations

from dataclasses import dataclass

from roi.answers.budget_months import AXIS, BudgetMonths, Row
from roi.engine.column import Column, Line
from roi.engine.expression import Axis, Data
from roi.engine.operations import at, at_least, constant, product_sum, total, when
from roi.model.calendar_year import MONTHS
from roi.model.sheet import add

ONCE = ("once", "vat.running")
_ONE = Axis("one cell", ("value",))


@dataclass(frozen=True)
class Followed:
    """One row that is followed: its label and account, what is typed, and blocks and sums of the plan and the difference."""

    label: str
    account: str
    actual: Data | None
    paid: Line
    plan: Line
    apart: Line
    plan_to_date: Line
    paid_to_date: Line
    apart_to_date: Line
    rest: Line
    forecast: Line
    plan_year: Line
    apart_year: Line


@dataclass(frozen=True)
class Actuals:
    """The column, the two cells that say which plan is followed (1 staying, 2 switching) and how many months are closed, and
    the rows, the total last."""

    column: Column
    which: Data
    closed: Data
    rows: list[Followed]

    @property
    def typed(self) -> list[Data]:
        """Everything that is typed on the sheet."""
        return [self.which, self.closed, *(row.actual for row in self.rows if row.actual is not None)]


def actuals(months: BudgetMonths, switching: bool) -> Actuals:
    """Build the lines; `switching` says which plan is followed as delivered."""
    note = "Actuals against the plan that is followed; the sheet Actuals shows them."
    column = Column("Actuals figures", "actuals", across=True, note=note)
    which = Data(
        "actuals.which", "Plan followed: 1 staying, 2 switching", "1", _ONE, [2.0 if switching else 1.0]
    )
    closed = Data("actuals.closed", "Months closed", "month", _ONE, [0.0])
    column.heading("Months closed")
    place = column.line("Month of the year", "1", months.place + 0)
    is_closed = column.line("Closed", "1", at_least(at(closed, 0).per("month"), place))
    follows = column.line("The plan of switching is followed", "1", at_least(at(which, 0), constant(2, "1")))
    rows: list[Followed] = []
    for key in _keys(months):
        pair = [next((row for row in plan.cash if row.key == key), None) for plan in months.plans]
        rows.append(_followed(column, pair, is_closed, follows))
    rows.append(_total(column, rows, is_closed))
    return Actuals(column, which, closed, rows)


def _keys(months: BudgetMonths) -> list[str]:
    keys = [row.key for row in months.staying.families]
    there = {row.key for plan in months.plans for row in plan.cash}
    return [*keys, *(key for key in ONCE if key in there)]


def _followed(column: Column, pair: list[Row | None], is_closed: Line, follows: Line) -> Followed:
    known = next(row for row in pair if row is not None)
    label = known.label
    column.heading(label)
    nothing = constant(0, "currency")
    staying, switching = (nothing if row is None else row.months for row in pair)
    actual = Data(f"actuals.{known.key}", f"{label}, paid", "currency", AXIS, [0.0] * MONTHS)
    plan = column.line(f"{label}: plan", "currency", when(follows, switching, staying))
    paid = column.line(f"{label}: paid in months closed", "currency", actual * is_closed)
    return _sums(column, label, known.account, actual, paid, plan, is_closed)


def _total(column: Column, rows: list[Followed], is_closed: Line) -> Followed:
    column.heading("All")
    plan = column.line("All: plan", "currency", add([row.plan for row in rows]))
    paid = column.line("All: paid in months closed", "currency", add([row.paid for row in rows]))
    return _sums(column, "All", "", None, paid, plan, is_closed)


def _sums(
    column: Column, label: str, account: str, actual: Data | None, paid: Line, plan: Line, is_closed: Line
) -> Followed:
    def line(words: str, body: object) -> Line:
        return column.line(f"{label}: {words}", "currency", body)  # type: ignore[arg-type]

    apart = line("paid above the plan", (paid - plan) * is_closed)
    plan_to_date = line("plan to date", product_sum(plan, is_closed))
    paid_to_date = line("paid to date", total(paid))
    apart_to_date = line("variance to date", paid_to_date - plan_to_date)
    plan_year = line("plan of the year", total(plan))
    rest = line("plan of the rest", plan_year - plan_to_date)
    forecast = line("forecast to the year's end", paid_to_date + rest)
    apart_year = line("variance at the year's end", forecast - plan_year)
    return Followed(
        label, account, actual, paid, plan, apart, plan_to_date, paid_to_date, apart_to_date, rest, forecast, plan_year,
        apart_year,
    )  # fmt: skip


__all__ = ["Actuals", "Followed", "actuals"]
