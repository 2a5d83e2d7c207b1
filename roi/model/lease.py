"""Leasing what would be bought at the switch, and the ways to pay side by side: cash, a loan, a lease, after tax.

Financing is a line beside the costs, which are reckoned as paid in cash. Leased is what is capitalised in year 0 but the
contingency: price, freight, installation, commissioning, licence. Level payments at the end of each month but those made in
advance, which are made at the switch and stand for the last ones; discounted monthly at the twelfth root of a year's
discounting. A payment is relieved for tax in the year it is made, at its end; what is bought is relieved by the tax schedule.
At the end the equipment is kept for the price stated, 0 too. Where none is stated it goes back, and since the costs let it
work on, it is taken to be bought then at its worth, as convention has it for what is left at the horizon. Currency;
a financing value is positive where it saves.
"""

from __future__ import annotations

from roi.engine.column import Line
from roi.engine.expression import Constant, Expr
from roi.engine.operations import (
    at,
    at_least,
    compound,
    constant,
    larger,
    opposite,
    pick,
    product_sum,
    smaller,
    when,
)
from roi.model.paying import MONTHS, a_month
from roi.model.relief import Years, add_relief
from roi.model.sheet import MethodSheet, add

WAYS = ("cash", "loan", "lease")


def add_lease(sheet: MethodSheet) -> None:
    """Lines of a lease, where one is stated, and what undoing the change costs if leased. Needs the finance lines."""
    if not sheet.has("lease", "payment"):
        return
    column, shop, lines = sheet.column, sheet.shop, sheet.lines
    column.heading(
        "Paying by a lease", "Not in the costs above. Ask the lessor for the terms, and your accountant."
    )
    payment = sheet.inp("lease", "payment")
    term = sheet.inp("lease", "term")
    months = column.line("Months of the lease", "month", term * MONTHS)
    ahead: Expr = Constant(0).during("month")
    if sheet.has("lease", "advance"):
        ahead = smaller(sheet.inp("lease", "advance"), months)
    first = column.line("Payments made at the switch", "month", ahead)
    left = column.line("Payments made at the end of months", "month", months - first)

    monthly = column.line("Lease, discount rate a month", "1/month", a_month(shop.rate))
    free = column.line("Lease, money costs nothing", "1", at_least(0, monthly * constant(1_000_000, "month")))
    worth = (Constant(1) - 1 / compound(monthly, left)) / monthly
    months_worth = column.line("Lease, months' payments, present worth", "month", when(free, left, worth))
    rentals = column.line("Lease payments, present value", "currency", payment * (first + months_worth))

    paid = column.line(
        "Months paid by the end of the year, lease", "month", smaller(shop.year * MONTHS, left)
    )
    so_far = pick(paid, shop.year_before)
    by_year = column.line(
        "Lease payments of the year",
        "currency",
        payment * (paid - so_far + first * opposite(shop.after_now)),
    )
    rate = sheet.shop_inp("money", "tax_rate")
    saved = column.line(
        "Tax saved by lease payments, present value", "currency", product_sum(by_year, shop.discount) * rate
    )

    cash, end_cost = _bought(sheet, term)
    leased = column.line("Paying by the lease", "currency", rentals - saved + end_cost, note="after tax")
    lines["cash_way"], lines["lease_way"] = cash, leased
    lines["lease_financing"] = column.line(
        "Leasing, net present value", "currency", cash - leased, note="positive where leasing saves"
    )
    _undoing(sheet, payment, first, left)


def _first_cost(sheet: MethodSheet) -> Line:
    """What is bought at the switch and capitalised, without the contingency."""
    return sheet.column.line(
        "Equipment to be paid for",
        "currency",
        at(sheet.lines["purchases"], 0) + sheet.lines["start"],
        note="price, freight, installation, commissioning, licence; no training, no contingency",
    )


def _bought(sheet: MethodSheet, term: Line) -> tuple[Line, Line]:
    """Paying cash after tax, and what having the equipment after a lease costs today, after tax."""
    column, shop = sheet.column, sheet.shop
    years = Years(shop.discount, shop.horizon, sheet.shop_inp("money", "tax_rate"))
    relief = add_relief(column, shop, years)
    at_horizon = column.line("Discount factor at the horizon", "1", 1 / compound(shop.rate, shop.horizon))
    cost = _first_cost(sheet)
    now = relief.of_one(Constant(0).during("year"), Constant(1), at_horizon)
    saved = column.line("Tax saved by 1 bought in year 0", "1", now)
    cash = column.line(
        "Paying cash", "currency", cost * (1 - saved), note="less the tax its depreciation saves"
    )
    end = sheet.inp("lease", "end_price") if sheet.has("lease", "end_price") else _worth(sheet, term)
    then = column.line("Discount factor at the end of the lease", "1", 1 / compound(shop.rate, term))
    later = column.line("Discount factor when the rest is deducted", "1", smaller(then, at_horizon))
    # Beyond the horizon a shop with a negative rate would find the larger factor; the later year has the smaller one.
    saved_then = column.line(
        "Tax saved by 1 bought at the end of the lease", "1", relief.of_one(term, then, later)
    )
    price = column.line(
        "Keeping the equipment at the end, present value", "currency", end * (then - saved_then)
    )
    return cash, price


def _worth(sheet: MethodSheet, term: Line) -> Line:
    """What the units bought at the switch are worth at the end of the lease."""
    column, shop = sheet.column, sheet.shop
    level = column.line(
        "Price level at the end of the lease",
        "1",
        compound(shop.inp(column, "growth", "equipment"), term),
    )
    parts: list[Expr] = []
    for machine in sheet.machines:
        unused: Expr = larger(0, 1 - term / machine.life)
        share = unused if machine.resale is None else machine.resale + (1 - machine.resale) * unused
        body = machine.price * at(machine.bought, 0) * level * share
        parts.append(column.line(f"{machine.label}, worth at the end of the lease", "currency", body))
    nothing = Constant(0).during("currency")
    return column.line(
        "Worth of what goes back",
        "currency",
        add(parts) if parts else nothing,
        note="no price of keeping it is stated",
    )


def _undoing(sheet: MethodSheet, payment: Line, first: Line, left: Line) -> None:
    """Going back in a stated month with the equipment leased: nothing is sold again, and the lease runs on."""
    column, lines = sheet.column, sheet.lines
    if "undoing" not in lines:
        return
    month = sheet.inp("changeover", "undo_month")
    due = column.line(
        "Lease payments due after the month of undoing", "currency", payment * larger(0, left - month)
    )
    # What was capitalised isn't paid; payments in advance are.
    kept = lines["undoing"] - at(lines["purchases"], 0) - lines["start"] + payment * first + due
    back = kept + lines["sold_again"] if "sold_again" in lines else kept
    lines["undoing_leased"] = column.line(
        "Cost of undoing the change, if leased",
        "currency",
        back,
        note="before tax; payments to that month are not in it",
    )


def add_ways_to_pay(sheet: MethodSheet) -> None:
    """Cash, loan and lease side by side, where a loan or a lease is stated."""
    lines = sheet.lines
    if "financing" not in lines and "lease_way" not in lines:
        return
    column, shop = sheet.column, sheet.shop
    column.heading("Ways to pay", "What the equipment costs after tax, in money of today; least is best.")
    if "cash_way" not in lines:
        years = Years(shop.discount, shop.horizon, sheet.shop_inp("money", "tax_rate"))
        at_horizon = column.line("Discount factor at the horizon", "1", 1 / compound(shop.rate, shop.horizon))
        now = add_relief(column, shop, years).of_one(Constant(0).during("year"), Constant(1), at_horizon)
        saved = column.line("Tax saved by 1 bought in year 0", "1", now)
        lines["cash_way"] = column.line("Paying cash", "currency", _first_cost(sheet) * (1 - saved))
    cash = column.line("Cash", "currency", lines["cash_way"] + 0)
    ways: list[tuple[int, Line]] = [(WAYS.index("cash") + 1, cash)]
    if "financing" in lines:
        loan = column.line(
            "With the loan", "currency", cash - lines["financing"], note="the part not borrowed paid in cash"
        )
        ways.append((WAYS.index("loan") + 1, loan))
    if "lease_way" in lines:
        leased = column.line("With the lease", "currency", lines["lease_way"] + 0)
        ways.append((WAYS.index("lease") + 1, leased))
    least: Expr = cash
    for _, way in ways[1:]:
        least = smaller(least, way)
    best = column.line("Least of these", "currency", least)
    lines["pay_least"] = best
    lines["pay_way"] = _which(sheet, ways, best)


def _which(sheet: MethodSheet, ways: list[tuple[int, Line]], best: Line) -> Line:
    """The number of the cheapest way, the first where several are equal."""
    (_, cash), *others = ways
    found: Expr = Constant(1)
    for number, way in reversed(others):
        which = Constant(2) if number == WAYS.index("loan") + 1 else Constant(1) + Constant(2)
        found = sheet.column.line(
            f"Cheapest among {WAYS[number - 1]} and those below it",
            "1",
            when(at_least(best, way), which, found),
        )
    return sheet.column.line(
        "Cheapest way to pay", "1", when(at_least(best, cash), 1, found), note="1 cash, 2 loan, 3 lease"
    )


__all__ = ["WAYS", "add_lease", "add_ways_to_pay"]
