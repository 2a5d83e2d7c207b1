"""One method's whole column: the family modules called in the order a reader would follow."""

from __future__ import annotations

from roi.engine.column import Column, Line
from roi.engine.expression import at, constant
from roi.model.capacity import add_capacity
from roi.model.changeover import add_changeover, add_undoing, fixed_costs
from roi.model.chemistry import add_chemistry
from roi.model.consumables import add_items, add_plate_costs, delivery_by_year, shortfall_by_year
from roi.model.equipment import add_downtime, add_equipment
from roi.model.finance import add_finance
from roi.model.labour import add_labour
from roi.model.own_life import add_own_life
from roi.model.paying import add_loan
from roi.model.plates import add_plates
from roi.model.press import add_press
from roi.model.room import add_room
from roi.model.sheet import LABELS, MethodSheet, add, family_over_years
from roi.model.shop import Shop
from roi.model.stations import add_stations
from roi.scenario.things import Method


def method_sheet(shop: Shop, method: Method, old: MethodSheet | None) -> MethodSheet:
    """Build a method's column; `old` is the current method's, None for that method itself."""
    column = Column(method.short, method.id, note=method.label)
    sheet = MethodSheet(shop.scenario, method, shop, shop.work, column)
    add_plates(sheet)
    _calendar(sheet)
    add_stations(sheet)
    add_capacity(sheet)
    column.heading("Work by year")
    sheet.lines["area_by_year"] = column.line(
        "Area imaged, by year", "m2/year", sheet.lines["area"] * shop.volume
    )
    chemistry, waste = add_chemistry(sheet)
    add_plate_costs(sheet)
    add_items(sheet)
    add_labour(sheet)
    add_press(sheet)
    add_equipment(sheet)
    add_downtime(sheet)
    add_room(sheet)
    _invoices(sheet, chemistry, waste)
    column.heading("Running costs by family and year", "Cash, before tax, in money of each year.")
    further = {
        "consumables": [
            *(("chemistry", block) for block in chemistry),
            ("bought_in", delivery_by_year(sheet)),
            *(("plates", block) for block in [shortfall_by_year(sheet)] if block is not None),
        ],
        "waste": [("waste", block) for block in waste],
    }
    money = {family: family_over_years(sheet, family, further.get(family, ())) for family in LABELS}
    sheet.families = {family: found.by_year for family, found in money.items()}
    if old is None and any(
        shop.scenario.has("methods", m.id, "changeover", "parallel") for m in shop.scenario.methods
    ):
        sheet.lines["fixed_costs"] = fixed_costs(sheet)
    add_finance(sheet, list(money.values()), add_changeover(sheet, old))
    if old is not None:
        add_undoing(sheet)
    add_loan(sheet)
    add_own_life(sheet, [found.today for found in money.values()])
    return sheet


def _calendar(sheet: MethodSheet) -> None:
    """Drivers that follow the calendar."""
    totals = sheet.work.totals
    sheet.amounts |= {
        "calendar day": at(totals, 2).during("day"),
        "week": at(totals, 3).during("week"),
        "month": constant(12, "month/year"),
        "year": constant(1, "1"),
    }
    if sheet.has("plates", "orders"):
        sheet.amounts["order"] = sheet.inp("plates", "orders")


def _invoices(sheet: MethodSheet, chemistry: list[Line], waste: list[Line]) -> None:
    """Last year's invoices, where stated, set the level of chemistry, waste and service; the shape stays the model's.

    A bill splits into what follows the work and what follows time as the modelled cost does.
    """
    column, shop = sheet.column, sheet.shop
    for name, blocks, words in (("chemistry", chemistry, "Chemistry"), ("waste", waste, "Waste disposal")):
        if not sheet.has("last_year", name) or not blocks:
            continue
        column.heading(f"{words} as invoiced")
        modelled = column.line(f"{words} as modelled", "currency", add(blocks))
        level = shop.growth[name]
        today = column.line(
            f"{words} of year 1 at today's prices", "currency", at(modelled, 1) / at(level, 1)
        )
        scale = column.line(
            f"{words}, invoice against model", "1", sheet.inp("last_year", name).during("year") / today
        )
        blocks[:] = [column.line(f"{words}, level of the invoice", "currency", modelled * scale)]
    if sheet.has("last_year", "service"):
        service = column.line(
            "Service and repairs as invoiced", "currency/year", sheet.inp("last_year", "service")
        )
        sheet.cost("equipment", "service", "time", service)
