"""What a method costs a year over the own life of its equipment, in money of today: a measure beside the horizon's.

Each machine is bought, used up and resold once, at the real discount rate, before tax; running costs are those of year 1 at
prices of year 0. So methods whose equipment lasts unequally long can be ranked without a common horizon. Equipment owned
already counts as bought anew, since what is asked is what the method costs in the long run.
"""

from __future__ import annotations

from roi.engine.column import Line
from roi.engine.expression import Constant, Expr
from roi.engine.operations import absolute, at_least, compound, constant, when
from roi.model.sheet import Machine, MethodSheet, add

YEAR = constant(1, "year")


def add_own_life(sheet: MethodSheet, today: list[Line]) -> None:
    """The own-life equivalent annual cost; `today` are the families' running costs at today's prices."""
    column, shop = sheet.column, sheet.shop
    column.heading("Over the equipment's own life", "In money of today, before tax, like for like.")
    running = column.line("Running cost of year 1 at today's prices", "currency", add(list(today)))
    inflation = sheet.shop_inp("money", "inflation")
    real = column.line(
        "Real discount rate",
        "1/year",
        (compound(shop.rate, YEAR) / compound(inflation, YEAR) - 1).per("year"),
        note="(1 + nominal) / (1 + inflation) - 1",
    )
    nothing = column.line(
        "Money keeps its worth", "1", at_least(0, absolute(real) * constant(1_000_000, "year"))
    )
    costs: list[Expr] = [running.per("year")]
    costs += [_a_year(sheet, machine, real, nothing) for machine in sheet.machines]
    sheet.lines["own_life"] = column.line("Equivalent annual cost over own life", "currency/year", add(costs))
    sheet.lines["running_today"] = running


def _a_year(sheet: MethodSheet, machine: Machine, real: Line, nothing: Line) -> Line:
    """One machine's cost a year: capital recovery of what it takes less what it fetches."""
    column, life = sheet.column, machine.life
    discount = column.line(
        f"{machine.label}, discount factor at the end of its life", "1", 1 / compound(real, life)
    )
    years = when(nothing, life, (Constant(1) - discount) / real)
    annuity = column.line(f"{machine.label}, sum of discount factors", "year", years)
    share = sheet.shop.price_share["equipment"]
    price = column.line(f"{machine.label}, price of today", "currency", machine.price * share)
    brought = [price, *(paid * share for paid in machine.brought)]
    paid = column.line(f"{machine.label}, bought and brought into use", "currency", add(brought))
    fetched: Expr = paid if machine.resale is None else paid - price * machine.resale * discount
    return column.line(f"{machine.label}, cost a year over its life", "currency/year", fetched / annuity)


__all__ = ["add_own_life"]
