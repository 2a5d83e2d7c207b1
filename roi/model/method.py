"""One method's whole column: the family modules called in the order a reader would follow."""

from __future__ import annotations

from roi.engine.column import Column
from roi.engine.operations import at, constant
from roi.model.capacity import add_capacity
from roi.model.changeover import add_changeover, add_undoing, fixed_costs
from roi.model.chemistry import add_chemistry
from roi.model.consumables import add_items, add_plate_costs, delivery_by_year, shortfall_by_year
from roi.model.elsewhere import add_printing_elsewhere
from roi.model.equipment import add_downtime, add_equipment
from roi.model.finance import add_finance
from roi.model.invoices import add_invoices
from roi.model.labour import add_labour
from roi.model.lease import add_lease, add_ways_to_pay
from roi.model.orders import order_blocks
from roi.model.overtime import overtime_by_year
from roi.model.own_life import add_own_life
from roi.model.part_year import add_part_year, add_when_to_change, add_year_one, is_stated
from roi.model.paying import add_loan
from roi.model.plate_kinds import add_switching
from roi.model.plates import add_plates
from roi.model.press import add_press
from roi.model.room import add_room
from roi.model.sheet import LABELS, MethodSheet, family_over_years
from roi.model.shop import Shop
from roi.model.stations import add_stations
from roi.model.supplier import add_supplier
from roi.scenario.things import Method


def method_sheet(
    shop: Shop, method: Method, old: MethodSheet | None, base: MethodSheet | None = None
) -> MethodSheet:
    """Build a method's column; `old` is the current method's, None for that method itself, `base` that it is the same as."""
    column = Column(method.short, method.id, note=method.label)
    sheet = MethodSheet(shop.scenario, method, shop, shop.work, column, base=base)
    add_plates(sheet)
    _calendar(sheet)
    add_stations(sheet)
    add_capacity(sheet)
    column.heading("Work by year")
    sheet.lines["area_by_year"] = column.line(
        "Area imaged, by year", "m2/year", sheet.lines["area"] * shop.volume
    )
    bills = add_chemistry(sheet)
    add_plate_costs(sheet)
    add_items(sheet)
    add_labour(sheet)
    add_press(sheet)
    add_switching(sheet)
    add_printing_elsewhere(sheet)
    add_equipment(sheet)
    add_downtime(sheet)
    add_supplier(sheet)
    add_room(sheet)
    add_invoices(sheet, bills)
    column.heading("Running costs by family and year", "Cash, before tax, in money of each year.")
    further = {
        "equipment": [("service", block) for block in sheet.rising],
        "consumables": [
            *(("chemistry", block) for block in bills.chemistry),
            ("bought_in", delivery_by_year(sheet)),
            *(("plates", block) for block in [shortfall_by_year(sheet)] if block is not None),
            *order_blocks(sheet),
        ],
        "labour": [("wages", block) for block in [overtime_by_year(sheet)] if block is not None],
        "waste": [
            *(("waste", block) for block in bills.waste),
            *(("general", block) for block in bills.silver),
        ],
    }
    money = {family: family_over_years(sheet, family, further.get(family, ())) for family in LABELS}
    sheet.families = {family: found.by_year for family, found in money.items()}
    sheet.todays = {family: found.parts for family, found in money.items()}
    if old is None and any(
        shop.scenario.has("methods", m.id, "changeover", "parallel") for m in shop.scenario.methods
    ):
        sheet.lines["fixed_costs"] = fixed_costs(sheet)
    change = add_changeover(sheet, old)
    add_year_one(sheet, money, further)
    if old is not None and is_stated(shop.scenario):
        money = add_part_year(sheet, old, money)
        sheet.families = {family: found.by_year for family, found in money.items()}
    add_finance(sheet, list(money.values()), change)
    if old is not None and is_stated(shop.scenario):
        add_when_to_change(sheet, old)
    if old is not None:
        add_undoing(sheet)
    add_loan(sheet)
    add_lease(sheet)
    add_ways_to_pay(sheet)
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
