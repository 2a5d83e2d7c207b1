"""From costs by family to flows by year, tax, and what a method costs over the horizon.

Flows: costs negative, year 0 undiscounted. Present cost is the discounted sum shown positive. Tax of a year is rate x
(deductible cost + depreciation - taxable gain), positive where it means less tax, in the same year; an asset bought in year
t has its first depreciation in t + 1; in the last year the remaining book value is deducted and the residual taxed. A
schedule runs on after a unit is replaced, and the resale is then income in full. Losses are taken to be usable against
other profit.
"""

from __future__ import annotations

from roi.engine.column import Line
from roi.engine.expression import Constant, Expr
from roi.engine.operations import at, at_least, constant, pick, product_sum, running, when, window
from roi.model.changeover import Changeover
from roi.model.sheet import FamilyMoney, MethodSheet, add

THOUSAND = constant(1000, "impression/thousand")


def add_finance(sheet: MethodSheet, families: list[FamilyMoney], change: Changeover) -> None:
    """Flows before and after tax, present cost in both views, and costs a plate, a job, a thousand impressions."""
    column, shop, lines = sheet.column, sheet.shop, sheet.lines
    column.heading("Years, before tax")
    running_cost = column.line("Running cost", "currency", add([f.by_year for f in families]))
    residual = column.line("Residual value, in the last year", "currency", lines["residual"] * shop.last_year)
    changing, forgone = _stated(change.cost, change.working), _stated(lines.get("backup_forgone"))
    spent = [lines["capital"], lines["expensed"], *changing, *forgone]
    outlay = column.line(
        ("Capital, training and changing over" if changing else "Capital and training")
        + (", with resale forgone" if forgone else ""),
        "currency",
        add(spent),
    )
    received = column.line("Received", "currency", add([lines["resale"], residual, *_stated(change.sale)]))
    before = column.line(
        "Flow before tax", "currency", received - outlay - running_cost, note="costs negative"
    )

    column.heading(
        "Tax", "Rates as stated; ask your accountant. Losses are taken to be usable against other profit."
    )
    rate = sheet.shop_inp("money", "tax_rate")
    depreciation, book = _depreciation(sheet)
    final = column.line("Book value left in the last year", "currency", book * shop.last_year)
    expensed = add([lines["expensed"], *_stated(change.cost)])
    deductible = column.line("Deductible", "currency", running_cost + expensed + depreciation + final)
    gains = column.line(
        "Taxable gains", "currency", received if change.book is None else received - change.book
    )
    tax = column.line(
        "Tax saved", "currency", (deductible - gains) * rate, note="negative where more tax is due"
    )

    column.heading("Years, after tax")
    after = column.line("Flow after tax", "currency", before + tax)
    running_after = column.line("Running cost after tax", "currency", running_cost * (1 - rate))
    relief = column.line(
        "Tax saved by the investment",
        "currency",
        (expensed + depreciation + final - gains) * rate,
        note="all but what running costs save",
    )
    investment = column.line(
        "Investment flow after tax",
        "currency",
        received - outlay + relief,
        note="all but running costs",
    )
    back = [(0 - held) * shop.last_year for held in _stated(change.working)]
    end_value = column.line(
        "End value after tax",
        "currency",
        add([residual * (1 - rate), final * rate, *back]),
        note="part of the last year's flow",
    )
    added = [f.added for f in families if f.added is not None]
    more = add(added) if added else Constant(0).during("currency") * shop.after_now
    added_full = column.line("Added at full cost, after tax", "currency", more * (1 - rate))
    after_full = column.line("Flow after tax, full cost", "currency", after - added_full)

    column.heading("Over the years", "Present cost is what this method costs in money of today.")
    invested = column.line(
        "Present value of the investment", "currency", 0 - product_sum(investment, shop.discount)
    )
    ran = column.line(
        "Present value of running costs", "currency", add([f.worth for f in families]) * (1 - rate)
    )
    added_worth = [f.added_worth for f in families if f.added_worth is not None]
    ran_full = (
        column.line(
            "Present value of running costs, full cost", "currency", ran + add(added_worth) * (1 - rate)
        )
        if added_worth
        else ran
    )
    present = column.line("Present cost", "currency", invested + ran, source="10 CFR 436.19: life cycle cost")
    present_full = column.line("Present cost, full cost", "currency", invested + ran_full)
    for view, cost in (("", present), (", full cost", present_full)):
        key = "_full" if view else ""
        lines[f"equivalent{key}"] = column.line(
            f"Equivalent annual cost{view}", "currency/year", (cost / shop.annuity).per("year")
        )
        lines[f"per_plate{key}"] = column.line(
            f"Cost of a plate called for{view}", "currency/plate", cost / shop.plates_discounted
        )
    lines["first_outlay"] = column.line(
        "First cost of equipment",
        "currency",
        at(lines["capital"], 0) + at(lines["expensed"], 0),
        note="with training",
    )
    at_once = lines["resale"] if any(m.sold is not None for m in sheet.machines) else None
    sold = [0 - at(line, 0) for line in _stated(change.sale, at_once)]
    lines["first_cost"] = column.line(
        "First cost", "currency", add([at(outlay, 0), *sold]), note="before tax, in year 0"
    )
    lines["running_1"] = column.line(
        "Running cost of year 1", "currency", at(running_cost, 1), note="cash, before tax"
    )
    lines["year_1"] = column.line(
        "Families of year 1 together", "currency", add([at(f.by_year, 1) for f in families])
    )
    lines |= dict(
        running=running_cost,
        running_after=running_after,
        before=before,
        after=after,
        after_full=after_full,
        added_full=added_full,
        present=present,
        present_full=present_full,
        invested=invested,
        ran=ran,
        ran_full=ran_full,
        end_value=end_value,
        depreciation=depreciation,
        tax=tax,
        final_book=final,
    )
    _per_unit(sheet)


def _stated(*lines: Line | None) -> list[Line]:
    return [line for line in lines if line is not None]


def _depreciation(sheet: MethodSheet) -> tuple[Line, Line]:
    """Depreciation by year and the book value after it."""
    column, shop, lines = sheet.column, sheet.shop, sheet.lines
    owed: Expr = lines["old_book_off"] + 0
    if shop.schedule is not None and shop.capital_position is not None:
        place = shop.capital_position
        padded = column.line(
            "Capital spent, with the years before",
            "currency",
            when(at_least(place, 1), pick(lines["capital"], place), 0),
        )
        new = column.line("Depreciation of new units", "currency", window(padded, shop.schedule, shop.years))
        owed = new * shop.in_horizon + lines["old_book_off"]
    depreciation = column.line("Depreciation", "currency", owed)
    spent = column.line("Capital spent so far", "currency", running(lines["capital"]))
    relieved = column.line("Depreciation so far", "currency", running(depreciation))
    book = column.line("Book value", "currency", spent - relieved + lines["old_book"])
    return depreciation, book


def _per_unit(sheet: MethodSheet) -> None:
    """Present cost shared over jobs and over thousands of good impressions, discounted as the costs are."""
    column, shop, lines = sheet.column, sheet.shop, sheet.lines
    years = column.line(
        "Plates called for, discounted, in years of the log",
        "year",
        shop.plates_discounted / shop.plates_called,
    )
    for view, key in (("", ""), (", full cost", "_full")):
        a_year = column.line(
            f"Present cost a year of the log's work{view}", "currency/year", lines[f"present{key}"] / years
        )
        lines[f"per_job{key}"] = column.line(f"Cost of a job{view}", "currency/job", a_year / shop.jobs)
        thousand = when(at_least(0, shop.good), 0, a_year / shop.good * THOUSAND)
        lines[f"per_thousand{key}"] = column.line(
            f"Cost of 1,000 good impressions{view}", "currency/thousand", thousand
        )
