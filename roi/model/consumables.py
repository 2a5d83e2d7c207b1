"""What a method uses up: plates by size, plates bought in, and items counted by a driver.

Amounts are a year's at the log's volume and year-0 prices, positive, in currency/year. Baths and what leaves as waste are
in `chemistry`, orders and their freight in `orders`. Items of every family are entered here, since an item is a driver, a
rate and a price whatever it is for.
"""

from __future__ import annotations

from roi.engine.column import Line
from roi.engine.expression import Constant, Expr
from roi.engine.operations import at, at_least, constant, gather, larger, product_sum, total, when
from roi.model.orders import add_orders
from roi.model.sheet import MethodSheet, Used, share_without
from roi.model.water import enter_use, item_price


def add_plate_costs(sheet: MethodSheet) -> None:
    """Own plates with spoiled and test plates and their freight; bought-in plates by size with the rush surcharge."""
    column, lines = sheet.column, sheet.lines
    column.heading("Plates, money")
    own_price = _prices(sheet) if sheet.method.makes_plates else None
    if own_price is not None:
        bought = lines["imaged_sizes"] / (1 - sheet.shop_inp("shop", "spoiled_stock"))
        if sheet.has("test_plates"):
            bought = (
                lines["imaged_sizes"]
                * (1 + sheet.inp("test_plates"))
                / (1 - sheet.shop_inp("shop", "spoiled_stock"))
            )
        purchased = column.line(
            "Plates purchased", "plate/year", bought, note="with test plates and those spoiled in the box"
        )
        count = column.line("Plates purchased, all sizes", "plate/year", total(purchased))
        own_price = _as_invoiced(sheet, purchased, own_price)
        plates = column.line("Plates, money", "currency/year", product_sum(purchased, own_price))
        _material(sheet, purchased)
        sheet.cost("consumables", "plates", "work", plates)
        mean = when(at_least(0, count), 0, plates / count)
        lines |= dict(
            own_price=own_price, mean_price=column.line("Mean price of a plate", "currency/plate", mean)
        )
        add_orders(sheet, purchased, plates, own_price)
    price = _bought_prices(sheet)
    spend = column.line("Bought-in plates, money", "currency/year", product_sum(lines["bought_sizes"], price))
    rush = column.line(
        "Rush surcharges", "currency/year", lines["out_rush"] * sheet.shop_inp("bought_in", "rush")
    )
    sheet.cost("consumables", "bought_in", "work", spend)
    sheet.cost("consumables", "bought_in", "work", rush)
    lines["bought_price"] = price


def _as_invoiced(sheet: MethodSheet, purchased: Line, price: Line) -> Line:
    """The price of a plate, scaled so that the plates of year 1 come to last year's invoices, freight apart."""
    if not sheet.has("last_year", "plates"):
        return price
    column, invoice = sheet.column, sheet.inp("last_year", "plates")
    modelled = column.line("Plates as modelled", "currency/year", product_sum(purchased, price))
    today = column.line(
        "Plates of year 1 at today's prices", "currency/year", modelled * at(sheet.shop.volume, 1)
    )
    of_base = sheet.scale_of_base("plates")
    own = when(at_least(0, today), 1, invoice / today)
    scale = column.line("Plates, invoice against model", "1", own if of_base is None else of_base + 0)
    sheet.lines["invoice.plates.scale"] = scale
    return column.line(
        "Price of a plate, level of the invoice",
        "currency/plate",
        price * scale,
        note="all of it follows the work",
    )


def _material(sheet: MethodSheet, purchased: Line) -> None:
    """Mass of plates purchased, spoiled and test plates included; what is sold as scrap later is part of it."""
    if not sheet.has("plates", "mass"):
        return
    column, what = sheet.column, sheet.text("plates", "material").capitalize()
    area = column.line("Area of plates purchased", "m2/year", product_sum(purchased, sheet.work.area))
    mass = column.line(f"{what} of plates purchased", "kg/year", area * sheet.inp("plates", "mass"))
    sheet.used.append(Used(f"{what} of plates purchased", "work", mass))


def shortfall_by_year(sheet: MethodSheet) -> Line | None:
    """What an agreement with a minimum bills for area that wasn't used, while it runs; None where there is none."""
    if not sheet.has("agreement", "minimum"):
        return None
    column, shop = sheet.column, sheet.shop
    short = larger(0, sheet.inp("agreement", "minimum") - sheet.lines["area_by_year"])
    runs = shop.operating * at_least(sheet.inp("agreement", "years"), shop.year)
    area = column.line("Area short of the agreement", "m2/year", short * runs)
    paid = area * sheet.inp("agreement", "price") * shop.growth["plates"]
    return column.line("Area short of the agreement, money", "currency", paid.during("year"))


def delivery_by_year(sheet: MethodSheet) -> Line:
    """Deliveries fall on days with at least one bought-in form, and are paid by the trip.

    Of D working days, n forms falling on them at random leave D (1 - 1/D)^n without any: the occupancy formula.
    """
    column, shop = sheet.column, sheet.shop
    days = shop.inp(column, "shop", "work_days")
    empty = column.line("Chance that a form falls on another day", "1", 1 - constant(1, "day/year") / days)
    forms = sheet.lines["out_forms"].per("form").during("year")
    trips = days.per("day").during("trip") * (1 - share_without(empty, forms * shop.volume, days))
    deliveries = column.line(
        "Deliveries of bought-in plates", "trip/year", trips, note="days with at least one form bought in"
    )
    paid = deliveries * shop.inp(column, "bought_in", "delivery") * shop.growth["bought_in"]
    return column.line("Deliveries, money", "currency", paid.during("year"))


def add_items(sheet: MethodSheet) -> None:
    """Items of any family: amount of the driver x rate x price, or x cost where no amount is measured."""
    if not sheet.names("items"):
        return
    column = sheet.column
    column.heading("Items", "What is used, by what it is counted by.")
    for name in sheet.names("items"):
        here = ("items", name)
        label = sheet.label(*here)
        amount, follows = sheet.by_driver(sheet.text(*here, "driver"))
        if sheet.has(*here, "cost"):
            money: Expr = amount * sheet.inp(*here, "cost")
        else:
            used = amount * sheet.inp(*here, "rate")
            quantity = column.line(f"{label}, used", str(used.unit), used)
            enter_use(sheet, name, label, follows, quantity)
            # A price received lessens the family's cost.
            received = sheet.has(*here, "credit")
            money = (
                0 - quantity * sheet.inp(*here, "credit") if received else quantity * item_price(sheet, name)
            )
        line = column.line(f"{label}, money", "currency/year", money)
        sheet.cost(sheet.text(*here, "family"), sheet.text(*here, "growth", default="general"), follows, line)


def _prices(sheet: MethodSheet) -> Line:
    """This method's plate price by size; a size without one, by area. A size it can't take is never multiplied."""
    area = sheet.work.area
    rows: list[Expr] = []
    for i, size in enumerate(sheet.scenario.sizes):
        if sheet.has("plates", "price", size.id):
            rows.append(sheet.inp("plates", "price", size.id))
        elif sheet.has("plates", "price_per_area"):
            rows.append(sheet.inp("plates", "price_per_area") * at(area, i))
        else:
            rows.append(Constant(0).during("currency").per("plate"))
    return sheet.column.line("Price of a plate", "currency/plate", gather(sheet.work.sizes, rows))


def _bought_prices(sheet: MethodSheet) -> Line:
    rows: list[Expr] = []
    for i, size in enumerate(sheet.scenario.sizes):
        if sheet.scenario.has("bought_in", "price", size.id):
            rows.append(sheet.shop_inp("bought_in", "price", size.id))
        else:
            rows.append(sheet.shop_inp("bought_in", "price_per_area") * at(sheet.work.area, i))
    return sheet.column.line("Price of a bought-in plate", "currency/plate", gather(sheet.work.sizes, rows))
