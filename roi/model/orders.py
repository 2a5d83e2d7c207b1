"""Orders of plates: how many a year, whole packs in each, freight by the order.

Orders a year are those stated, or fewer where an order must come to a least amount: use / minimum, both at year-0 prices.
They stay fractional (an order every other year is half a one), packs are whole. Plates, orders and money by year, positive;
what the plates themselves cost is in `consumables`, so that the price of a plate stays the list price. Plates beyond need
are paid for in the year of their order and not carried over to the next.
"""

from __future__ import annotations

from roi.engine.column import Line
from roi.engine.expression import Expr
from roi.engine.operations import at, at_least, opposite, smaller, up, when
from roi.model.sheet import MethodSheet, add

_BLOCKS = {"orders.freight": "plates", "orders.hazardous": "chemistry", "orders.packs": "plates"}


def add_orders(sheet: MethodSheet, purchased: Line, money: Line, price: Line) -> None:
    """Freight of orders and plates beyond need; sets the driver "order". Nothing where no orders are stated.

    purchased : plates needed by size, plate/year at the log's volume, with test plates and spoiled ones
    money : what they cost, currency/year; price : of a plate by size
    """
    if not sheet.has("plates", "orders"):
        return
    by_year = _orders_by_year(sheet, money)
    for name, words, growth, block in (
        ("freight", "Freight of plates", "plates", "orders.freight"),
        ("hazardous_freight", "Freight of hazardous goods", "chemistry", "orders.hazardous"),
    ):
        if not sheet.has("plates", name):
            continue
        each = sheet.inp("plates", name)
        if sheet.has("plates", "minimum_order"):
            assert by_year is not None
            paid = (by_year * each * sheet.shop.growth[growth]).during("year")
            sheet.lines[block] = sheet.column.line(f"{words}, by year", "currency", paid)
        else:
            yearly = sheet.column.line(words, "currency/year", sheet.inp("plates", "orders") * each)
            sheet.cost("consumables", growth, "time", yearly)
    if by_year is not None:
        _packs(sheet, purchased, price, by_year)


def order_blocks(sheet: MethodSheet) -> list[tuple[str, Line]]:
    """Blocks of money by year that follow orders, each with the price group it grows with."""
    return [(growth, sheet.lines[name]) for name, growth in _BLOCKS.items() if name in sheet.lines]


def _orders_by_year(sheet: MethodSheet, money: Line) -> Line | None:
    """Orders of each year, None where neither packs nor a least order need them."""
    column, shop, stated = sheet.column, sheet.shop, sheet.inp("plates", "orders")
    if sheet.has("plates", "minimum_order"):
        use = column.line("Plates of a year at today's prices", "currency/year", money * shop.volume)
        fewer = smaller(stated * shop.operating, use / sheet.inp("plates", "minimum_order"))
        orders = column.line(
            "Orders of plates, by year",
            "order/year",
            fewer,
            note="as stated, or use / minimum where that is fewer; a part of an order is carried over",
        )
        # What is counted by orders is reckoned at the first year's count.
        sheet.amounts["order"] = at(orders, 1)
        return orders
    if any(_pack(sheet, i) is not None for i in range(len(sheet.scenario.sizes))):
        return column.line("Orders of plates, by year", "order/year", stated * shop.operating)
    return None


def _pack(sheet: MethodSheet, size: int) -> Line | None:
    """Plates in a pack of one size: its own figure, or that of all sizes; None for a size not taken or without packs.

    None too where plates are taken from last year's invoices, which hold what was bought beyond need.
    """
    this = sheet.scenario.sizes[size]
    if not sheet.method.takes(this) or sheet.has("last_year", "plates"):
        return None
    for key in (("plates", "pack", this.id), ("plates", "pack")):
        if sheet.has(*key):
            return sheet.inp(*key)
    return None


def _packs(sheet: MethodSheet, purchased: Line, price: Line, orders: Line) -> None:
    """Whole packs per order and size: orders x up(plates / orders / pack) x pack, against the plates needed."""
    column, shop = sheet.column, sheet.shop
    beyond: list[Expr] = []
    for i, size in enumerate(sheet.scenario.sizes):
        pack = _pack(sheet, i)
        if pack is None:
            continue
        if not beyond:
            some = column.line("Orders are placed", "1", opposite(at_least(0, orders)))
        need = column.line(f"Plates of a year, {size.label}", "plate/year", at(purchased, i) * shop.volume)
        each = column.line(
            f"Packs an order, {size.label}",
            "1",
            up(when(some, (need / orders / pack).during("order"), 0)),
            note="whole; what is over isn't carried to the next order",
        )
        bought = column.line(
            f"Plates bought in whole packs, {size.label}", "plate/year", orders.per("order") * each * pack
        )
        over = when(some, bought - need, 0) * at(price, i)
        beyond.append(column.line(f"Plates beyond need, {size.label}, money", "currency/year", over))
    if beyond:
        paid = (add(beyond) * shop.growth["plates"]).during("year")
        sheet.lines["orders.packs"] = column.line("Plates beyond need, money by year", "currency", paid)


__all__ = ["add_orders", "order_blocks"]
