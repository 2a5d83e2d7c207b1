"""Paying by a loan: what financing is worth, as a line of its own beside the costs, which are reckoned as paid in cash.

Level payments at the end of each month, interest a twelfth of the yearly rate a month, discounted monthly at the twelfth root
of a year's discounting; interest is relieved for tax at the end of its year. Positive where borrowing saves.
"""

from __future__ import annotations

from roi.engine.column import Line
from roi.engine.expression import Constant, Expr
from roi.engine.operations import at_least, compound, constant, pick, product_sum, root, smaller, when
from roi.model.sheet import MethodSheet

MONTHS = constant(12, "month/year")


def add_loan(sheet: MethodSheet) -> None:
    """Lines of a loan on the first cost of equipment, where one is stated. Needs the finance lines."""
    if not sheet.has("loan", "share"):
        return
    column, shop, lines = sheet.column, sheet.shop, sheet.lines
    column.heading(
        "Paying by a loan", "Not in the costs above. Ask the lender for the terms, and your accountant."
    )
    borrowed = column.line("Borrowed", "currency", lines["first_outlay"] * sheet.inp("loan", "share"))
    rate = column.line("Loan rate a month", "1/month", sheet.inp("loan", "rate") / MONTHS)
    term = column.line("Months of the loan", "month", sheet.inp("loan", "term") * MONTHS)
    free = column.line("Free of interest", "1", at_least(0, rate * constant(1_000_000, "month")))
    grown = column.line("Growth of 1 at the loan rate", "1", compound(rate, term))
    level = borrowed * rate * grown / (grown - 1)
    payment = column.line("Payment a month", "currency/month", when(free, borrowed / term, level))

    months = column.line("Months paid by the end of the year", "month", smaller(shop.year * MONTHS, term))
    factor = column.line("Growth of 1 to then", "1", compound(rate, months))
    owed = borrowed * factor - payment * (factor - 1) / rate
    balance = column.line(
        "Owed at the end of the year", "currency", when(free, borrowed - payment * months, owed)
    )
    # Year 0 has no year before it: nothing is paid in it.
    months_paid = (months - pick(months, shop.year_before)) * payment
    repaid = pick(balance, shop.year_before) - balance
    interest = column.line("Interest of the year", "currency", months_paid - repaid)

    monthly = column.line("Discount rate a month", "1/month", a_month(shop.rate))
    undiscounted = column.line(
        "Money costs nothing", "1", at_least(0, monthly * constant(1_000_000, "month"))
    )
    worth = (Constant(1) - 1 / compound(monthly, term)) / monthly
    months_worth = column.line("Months' payments, present worth", "month", when(undiscounted, term, worth))
    payments = column.line("Payments, present value", "currency", payment * months_worth)
    relief = column.line(
        "Tax saved by interest, present value",
        "currency",
        product_sum(interest, shop.discount) * sheet.shop_inp("money", "tax_rate"),
    )
    lines["financing"] = column.line(
        "Financing, net present value",
        "currency",
        borrowed - payments + relief,
        note="positive where borrowing saves",
    )
    lines["loan_payment"], lines["loan_interest"] = payment, interest


def a_month(rate: Line) -> Expr:
    """The monthly rate that compounds to a yearly one."""
    year = compound(rate, constant(1, "year"))
    return (root(year, constant(12, "1")) - 1).per("month")


__all__ = ["MONTHS", "a_month", "add_loan"]
