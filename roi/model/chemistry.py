"""What chemistry a method uses up in each year, and what of it leaves as waste.

Volumes in L/year, money positive in currency. A bath is paid for twice over: by area (replenishing) and by time (topping
up while switched on, and changes for age). Waste leaves in whole containers and pickups, which never fall when volume rises.
"""

from __future__ import annotations

from roi.engine.column import Line
from roi.engine.expression import Expr, at, constant, larger, smaller, up
from roi.model.sheet import MethodSheet, Used, add


def add_chemistry(sheet: MethodSheet) -> tuple[list[Line], list[Line]]:
    """Baths and streams. Returns blocks of money by year: (chemistry, waste disposal)."""
    if not sheet.names("baths") and not sheet.names("streams"):
        return [], []
    column, shop = sheet.column, sheet.shop
    column.heading(
        "Baths and what leaves them", "Paid by area and by time; waste goes in whole containers and pickups."
    )
    money: list[Line] = []
    leaving: dict[str, list[Line]] = {}
    changes: list[Line] = []
    for name in sheet.names("baths"):
        used, changed = _bath(sheet, name)
        changes.append(changed)
        paid = used * sheet.inp("baths", name, "price") * shop.growth["chemistry"]
        money.append(column.line(f"{sheet.label('baths', name)}, money", "currency", paid.during("year")))
        if sheet.has("baths", name, "leaves"):
            left = column.line(
                f"{sheet.label('baths', name)}, leaving as waste",
                "L/year",
                used * sheet.inp("baths", name, "leaves"),
            )
            leaving.setdefault(sheet.text("baths", name, "to_stream"), []).append(left)
    if changes:
        # Tasks counted by bath changes are reckoned at the first year's count.
        sheet.amounts["bath change"] = add([at(c, 1) for c in changes])
    waste = [
        block for name in sheet.names("streams") for block in _stream(sheet, name, leaving.get(name, []))
    ]
    return money, waste


def _bath(sheet: MethodSheet, name: str) -> tuple[Line, Line]:
    """Litres used and changes of one bath, by year."""
    column, shop, here = sheet.column, sheet.shop, ("baths", name)
    label = sheet.label(*here)
    area = sheet.lines["area_by_year"]
    # The bath is changed for age or for area, whichever comes more often; a part of a change is carried over.
    changes: Expr = shop.operating / sheet.inp(*here, "age_life")
    if sheet.has(*here, "area_life"):
        changes = larger(area / sheet.inp(*here, "area_life"), changes)
    changed = column.line(f"{label}, changes", "change/year", changes, note="the larger of age and area")
    used: Expr = changed * sheet.inp(*here, "volume")
    if sheet.has(*here, "replenish"):
        used = used + sheet.inp(*here, "replenish") * area
    if sheet.has(*here, "top_up") and sheet.has(*here, "hours_on"):
        hours = sheet.inp(*here, "hours_on") * sheet.shop_inp("shop", "work_days")
        topped = column.line(f"{label}, topped up by the hour", "L/year", sheet.inp(*here, "top_up") * hours)
        used = used + topped * shop.operating
    line = column.line(f"{label}, used", "L/year", used)
    sheet.used.append(Used(label, "year", line))
    return line, changed


def _stream(sheet: MethodSheet, name: str, leaving: list[Line]) -> list[Line]:
    """Money of one waste stream by year."""
    column, shop, here = sheet.column, sheet.shop, ("streams", name)
    label = sheet.label(*here)
    blocks = []
    if sheet.has(*here, "yearly"):
        yearly = sheet.inp(*here, "yearly") * shop.operating * shop.growth["waste"]
        blocks.append(column.line(f"{label}, tests and papers", "currency", yearly.during("year")))
    if not leaving:
        return blocks
    litres = column.line(f"{label}, leaving", "L/year", add(leaving))
    sheet.used.append(Used(f"{label}, leaving as waste", "year", litres, _may_be_hazardous(sheet, name)))
    if sheet.has(*here, "price"):
        bill: Expr = litres * sheet.inp(*here, "price")
    else:
        per_container = litres / sheet.inp(*here, "container")
        containers = column.line(
            f"{label}, containers",
            "container/year",
            _whole(per_container, "container/year"),
            note="whole ones",
        )
        bill = containers * sheet.inp(*here, "container_price")
    if sheet.has(*here, "pickup_fee"):
        taken = column.line(
            f"{label}, pickups for volume",
            "pickup/year",
            _whole(litres / sheet.inp(*here, "pickup_capacity"), "pickup/year"),
        )
        pickups: Expr = taken
        if sheet.has(*here, "keeping"):
            # Without waste nobody comes, however long it may be kept.
            any_at_all = smaller(constant(1, "pickup/year"), taken)
            kept = _whole(constant(1, "1") / sheet.inp(*here, "keeping"), "pickup/year")
            for_age = column.line(f"{label}, pickups for keeping time", "pickup/year", kept)
            pickups = larger(taken, for_age * any_at_all.per("pickup").during("year"))
        collected = column.line(f"{label}, pickups", "pickup/year", pickups, note="whole; none without waste")
        bill = bill + collected * sheet.inp(*here, "pickup_fee")
    blocks.append(column.line(f"{label}, money", "currency", (bill * shop.growth["waste"]).during("year")))
    return blocks


def _may_be_hazardous(sheet: MethodSheet, name: str) -> bool:
    """Stated as hazardous, or to be tested."""
    raw = sheet.scenario.plain("methods", sheet.method.id, "streams", name, "hazardous", default=False)
    return raw in (True, "test", "yes")


def _whole(amount: Expr, unit: str) -> Expr:
    """The next whole number of something counted a year."""
    what = unit.split("/")[0]
    return up(amount.per(what).during("year")).during(what).per("year")
