"""Checks of a budget against the reckoning and against itself, live in its workbook, below the study's own checks."""

from __future__ import annotations

from collections.abc import Sequence

from roi.answers.budget_actuals import Actuals
from roi.answers.budget_months import BudgetMonths, Plan, Row
from roi.answers.checks import NEAR, checks
from roi.engine.column import Column, Line
from roi.engine.expression import Axis, Constant, Data, Expr
from roi.engine.operations import absolute, at, at_least, gather, largest, smallest, total
from roi.model.study import Study


def budget_checks(study: Study, months: BudgetMonths, followed: Actuals) -> tuple[Column, Line, Line]:
    """The column of checks, the results of the budget's own (1 passes, one row a check), and the overall result of all."""
    column, _, own = checks(study)
    column.heading("The budget", "What each check of the budget compares.")
    one = Axis("tolerance", ("in this unit",))
    near = at(
        column.data(Data("checks.tolerance.budget", "Tolerance, the budget", "currency", one, [NEAR])), 0
    )
    found: list[tuple[str, Expr, Expr]] = []
    for plan in months.plans:
        label, lines = plan.way.label, plan.way.sheet.lines
        running, cash = plan.row("running"), plan.cash[-1]
        found += [
            (
                f"{label}: the months' running costs are year 1 of the reckoning",
                running.year - plan.dated,
                at(lines["running"], 1) + 0,
            ),
            (
                f"{label}: what is paid is what the reckoning pays in years 0 and 1",
                *_paid(study, column, plan),
            ),
            (
                f"{label}: totals across are totals down",
                _added(column, f"{label}: total across", [(row.label, row.year) for row in _leaves(plan)]),
                cash.year + 0,
            ),
            (
                f"{label}: only the lines named lead from cash to profit and loss",
                largest(_apart(column, plan)),
                Constant(0).during("currency"),
            ),
        ]
    *rows, whole = followed.rows
    forecasts = _added(column, "Actuals: forecast", [(row.label, row.forecast) for row in rows])
    found.append(("Actuals: forecasts across are forecasts down", forecasts, whole.forecast + 0))
    flags: list[Expr] = []
    for label, a, b in found:
        one_side = column.line(f"{label}: one side", "currency", a)
        other = column.line(f"{label}: the other", "currency", b)
        flags.append(at_least(near, absolute(one_side - other)))
    axis = Axis("checks of the budget", tuple(label for label, _, _ in found))
    column.heading("Checks of the budget", "1 passes, 0 fails.")
    results = column.line("Budget check", "1", gather(axis, flags))
    passed = column.line("All checks of the budget pass", "1", smallest(results))
    overall = column.line(
        "Overall: all checks pass, the budget's too", "1", passed * own, note="shown on the Summary"
    )
    return column, results, overall


def _added(column: Column, label: str, rows: Sequence[tuple[str, Line]]) -> Expr:
    """The sum of lines of another sheet, fetched one below another first: one formula of all would grow long."""
    axis = Axis(label, tuple(name for name, _ in rows))
    return total(column.line(label, "currency", gather(axis, [line for _, line in rows])))


def _leaves(plan: Plan) -> list[Row]:
    """The rows of a plan that add up to its cash."""
    keys = [entry.key for entry in plan.way.one_offs]
    return [*plan.families, *(row for row in plan.cash if row.key in keys or row.key == "vat.running")]


def _apart(column: Column, plan: Plan) -> Line:
    body = absolute(plan.bridged.months - plan.profit[-1].months)
    return column.line(f"{plan.way.label}: profit and loss less cash and the lines named", "currency", body)


def _paid(study: Study, column: Column, plan: Plan) -> tuple[Expr, Expr]:
    """Cash of the year without what the reckoning doesn't know, with what it counts besides; and its flows of years 0 and 1."""
    lines, shop = plan.way.sheet.lines, study.shop
    keys = {row.key: row for row in (*plan.cash, *plan.profit)}
    body: Expr = plan.cash[-1].year - plan.dated + plan.beyond
    for key in ("vat.running", "vat.capital"):
        if key in keys:
            body = body - keys[key].year
    body = column.line(f"{plan.way.label}: paid, without VAT and dated rises", "currency", body) + 0
    if "stock" in keys:
        body = body + keys["stock"].year
    if "backup_forgone" in lines:
        body = body + at(lines["backup_forgone"], 0)
    # Where only one year is looked ahead, what is left is counted as sold at its end.
    body = body - lines["residual"] * at(shop.last_year, 1)
    return body, 0 - at(lines["before"], 0) - at(lines["before"], 1)


__all__ = ["budget_checks"]
