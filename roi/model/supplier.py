"""The sole supplier of a method's plates stops in a stated year: plates bought in for some weeks, then a new line.

Money in currency by year, positive. Plates and trips of that year stand beside the running costs, not among them, since they
come once; they are spent and relieved for tax in the same year. From the stop on nothing of the stopped line is replaced and
nothing of it is worth anything; what is left of its tax book value follows its own schedule. The new line is bought in that
year, unless that is the horizon's, and from then on a line of its own: capital, written off from the year after, replaced at
the end of its life, worth its residual value at the horizon, all by the conventions of `equipment`. It lasts, and fetches the
share of its price, as the dearest machine of the stopped line does; a method that owns no machine buys it once, and it is
worth nothing at the horizon. Running costs go on as before, rents among them. Year 0: the supplier goes on.
"""

from __future__ import annotations

from roi.engine.column import Line
from roi.engine.expression import Expr
from roi.engine.operations import (
    at,
    at_least,
    compound,
    constant,
    is_whole,
    larger,
    opposite,
    product_sum,
    up,
)
from roi.model.sheet import Machine, MethodSheet


def add_supplier(sheet: MethodSheet) -> None:
    """Lines of the stop, added to what equipment costs; nothing where no stop is stated. Needs plates and equipment."""
    if not sheet.has("supplier", "stops"):
        return
    column, shop, lines = sheet.column, sheet.shop, sheet.lines
    column.heading("If the sole supplier stops", "Once, in the year stated; 0 means that it goes on.")
    stops = sheet.inp("supplier", "stops")
    stopped = column.line(
        "Supplier stops in this year",
        "1",
        at_least(stops, shop.year) * at_least(shop.year, stops) * shop.operating,
    )
    _new_line(sheet, stops)
    gap = _gap(sheet, stopped)
    if gap is not None:
        lines["expensed"] = column.line(
            "Training, and plates bought in when the supplier stops", "currency", lines["expensed"] + gap
        )


def _new_line(sheet: MethodSheet, stops: Line) -> None:
    """The stopped line's purchases and worth end with the stop; the new one's begin with it."""
    column, shop, lines = sheet.column, sheet.shop, sheet.lines
    price = sheet.inp("supplier", "new_line")
    has_stopped = column.line(
        "Supplier has stopped", "1", at_least(shop.year, stops) * at_least(stops, constant(1, "year"))
    )
    goes_on = column.line("The line in use goes on", "1", opposite(has_stopped))
    machine = _dearest(sheet)
    due: Expr = at_least(stops, shop.year)
    if machine is not None:
        due = is_whole((shop.year - stops) / machine.life)
    within = opposite(at_least(shop.year, shop.horizon))
    bought = column.line("New line bought", "1", has_stopped * due * within)
    paid = column.line(
        "New line, price in the years it is bought", "currency", price * shop.growth["equipment"] * bought
    )
    for key, words in (("purchases", "Price of units bought"), ("capital", "Capital spent")):
        lines[key] = column.line(
            f"{words}, supplier stopped",
            "currency",
            lines[key] * goes_on + paid,
            note="" if key == "purchases" else "the stopped line's tax book value follows its own schedule",
        )
    fetched: Expr = lines["resale"] * goes_on
    if machine is not None and machine.resale is not None:
        replaced = column.line("New line replaced", "1", opposite(at_least(stops, shop.year)))
        fetched = fetched + paid * machine.resale * replaced
    lines["resale"] = column.line("Resale of units replaced, supplier stopped", "currency", fetched)
    at_horizon = at_least(shop.horizon, stops) * at_least(stops, constant(1, "year"))
    over = column.line("Supplier has stopped by the horizon", "1", at_horizon)
    body: Expr = lines["residual"] * opposite(over)
    if machine is not None:
        body = body + _worth(sheet, machine, stops, price) * over
    lines["residual_going_on"] = lines["residual"]
    lines["residual"] = column.line("Residual value at the horizon, supplier stopped", "currency", body)


def _dearest(sheet: MethodSheet) -> Machine | None:
    """The dearest machine as stated, which stands for the line."""
    here = ("methods", sheet.method.id, "equipment")

    def price(machine: Machine) -> float:
        stated = sheet.scenario.stated(*here, machine.name, "price")
        return 0.0 if stated is None else stated.best * stated.factor

    return max(sheet.machines, key=price, default=None)


def _worth(sheet: MethodSheet, machine: Machine, stops: Line, price: Line) -> Line:
    """What the new line then in use is worth at the horizon; in the year of the horizon none is bought."""
    column, horizon = sheet.column, sheet.shop.horizon
    turns = larger(0, up((horizon - stops) / machine.life))
    following = column.line("New line, next due after the horizon", "year", stops + machine.life * turns)
    share: Expr = column.line("New line, share of life left", "1", (following - horizon) / machine.life)
    if machine.resale is not None:
        share = machine.resale + (1 - machine.resale) * share
    level = compound(sheet.shop.inp(column, "growth", "equipment"), horizon)
    worth = column.line("New line, worth of one at the horizon", "currency", price * level * share)
    return column.line("New line, residual value", "currency", worth * opposite(at_least(stops, horizon)))


def _gap(sheet: MethodSheet, stopped: Line) -> Line | None:
    """Plates bought in at what they cost above one's own, and a trip each work day, for the weeks without a line."""
    column, shop, lines = sheet.column, sheet.shop, sheet.lines
    if "own_price" not in lines:  # all plates are bought in anyway
        return None
    weeks = at(sheet.work.totals, 3).during("week")
    share = column.line("Part of a year without a line", "year", sheet.inp("supplier", "weeks") / weeks)
    above = column.line(
        "Bought-in price above one's own, supplier stopped",
        "currency/plate",
        larger(0, lines["bought_price"] - lines["own_price"]),
    )
    a_year = column.line(
        "A year's plates at that difference, supplier stopped",
        "currency/year",
        product_sum(lines["imaged_sizes"], above),
    )
    days = (sheet.shop_inp("shop", "work_days") * share).per("day").during("trip")
    trips = column.line("Trips without a line", "currency", days * sheet.shop_inp("bought_in", "delivery"))
    paid = (a_year * share * shop.volume + trips) * shop.growth["bought_in"] * stopped
    return column.line(
        "Plates bought in when the supplier stops", "currency", paid, note="with a trip each work day"
    )


__all__ = ["add_supplier"]
