"""What chemistry a method uses up in each year, and what of it leaves for a waste stream.

Volumes in L/year, money positive in currency. A bath is paid for twice over: by area (replenishing) and by time (topping
up while switched on, and changes for age). What leaves is billed in `streams`.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from roi.engine.column import Line
from roi.engine.expression import Expr
from roi.engine.operations import at, larger
from roi.model.sheet import MethodSheet, Used, add
from roi.model.streams import Leaving, add_stream


@dataclass
class Bills:
    """Money by year and what its splitting needs; every list is empty where the method has none.

    chemistry, waste : blocks of money by year;  silver : blocks of money received for silver, negative
    litres : chemistry used, blocks in L/year
    chemistry_time, waste_time : of a year's money at today's prices, what would be paid without any work, in
        currency/year; only where last year's invoice is stated
    """

    chemistry: list[Line] = field(default_factory=list)
    waste: list[Line] = field(default_factory=list)
    silver: list[Line] = field(default_factory=list)
    litres: list[Line] = field(default_factory=list)
    chemistry_time: list[Line] = field(default_factory=list)
    waste_time: list[Line] = field(default_factory=list)


@dataclass(frozen=True)
class _Bath:
    """used, changes : blocks by year;  time : litres a year that would be used without any work, None where not asked."""

    used: Line
    changes: Line
    time: Line | None


def add_chemistry(sheet: MethodSheet) -> Bills:
    """Baths and streams."""
    bills = Bills()
    if not sheet.names("baths") and not sheet.names("streams"):
        return bills
    column, shop = sheet.column, sheet.shop
    column.heading(
        "Baths and what leaves them", "Paid by area and by time; waste goes in whole containers and pickups."
    )
    leaving: dict[str, Leaving] = {}
    changes: list[Line] = []
    for name in sheet.names("baths"):
        bath = _bath(sheet, name)
        changes.append(bath.changes)
        bills.litres.append(bath.used)
        price, label = sheet.inp("baths", name, "price"), sheet.label("baths", name)
        paid = bath.used * price * shop.growth["chemistry"]
        bills.chemistry.append(column.line(f"{label}, money", "currency", paid.during("year")))
        if bath.time is not None:
            bills.chemistry_time.append(
                column.line(f"{label}, money that follows time", "currency/year", bath.time * price)
            )
        if sheet.has("baths", name, "leaves"):
            share = sheet.inp("baths", name, "leaves")
            here = leaving.setdefault(sheet.text("baths", name, "to_stream"), Leaving())
            here.litres.append(column.line(f"{label}, leaving as waste", "L/year", bath.used * share))
            if bath.time is not None:
                here.time.append(bath.time * share)
    if changes:
        # Tasks counted by bath changes are reckoned at the first year's count.
        sheet.amounts["bath change"] = add([at(c, 1) for c in changes])
    for name in sheet.names("streams"):
        bill = add_stream(sheet, name, leaving.get(name, Leaving()))
        bills.waste += bill.money
        bills.silver += bill.silver
        bills.waste_time += bill.time
    return bills


def _bath(sheet: MethodSheet, name: str) -> _Bath:
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
    by_time: Expr = sheet.inp(*here, "volume") / sheet.inp(*here, "age_life")
    if sheet.has(*here, "replenish"):
        used = used + sheet.inp(*here, "replenish") * area
    if sheet.has(*here, "top_up") and sheet.has(*here, "hours_on"):
        hours = sheet.inp(*here, "hours_on") * sheet.shop_inp("shop", "work_days")
        topped = column.line(f"{label}, topped up by the hour", "L/year", sheet.inp(*here, "top_up") * hours)
        used = used + topped * shop.operating
        by_time = by_time + topped
    line = column.line(f"{label}, used", "L/year", used)
    sheet.used.append(Used(label, "year", line))
    time = None
    if any(sheet.has("last_year", bill) for bill in ("chemistry", "waste")):
        time = column.line(
            f"{label}, used without any work", "L/year", by_time, note="changes for age and topping up"
        )
    return _Bath(line, changed, time)
