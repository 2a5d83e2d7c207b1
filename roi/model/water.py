"""Items that are water: priced by the shop's water and sewer charges where they state no price, told in m3.

Rinse water by area, by the hour or by the day is an item like any other, with `counts_as = "water"`. Amounts are a year's at
the log's volume; prices in currency for the item's measure, positive.
"""

from __future__ import annotations

from roi.engine.column import Line
from roi.engine.expression import Expr
from roi.engine.operations import constant
from roi.model.sheet import MethodSheet, Used, add
from roi.scenario.bills import counts_as_water, priced_as_water
from roi.scenario.files import Key
from roi.scenario.stated import StatedInput
from roi.units.unit import Unit

_LITRES = constant(1000, "L/m3")
_M3 = Unit.read("m3/year")


def item_price(sheet: MethodSheet, name: str) -> Expr:
    """Price of an item's measure: its own, or the shop's water and sewer."""
    scenario, item = sheet.scenario, ("methods", sheet.method.id, "items", name)
    keys: tuple[Key, ...] = ((*item, "price"), ("shop", "water"), ("shop", "sewer"))
    stated: dict[Key, StatedInput] = {
        key: found for key in keys if (found := scenario.stated(*key)) is not None
    }
    if not priced_as_water(scenario.raw, stated, item):
        return sheet.inp("items", name, "price")
    if "water.price" not in sheet.lines:
        parts = [sheet.shop_inp("shop", key) for key in ("water", "sewer") if scenario.has("shop", key)]
        sheet.lines["water.price"] = sheet.column.line(
            "Price of water, with sewer", "currency/m3", add(parts) if len(parts) > 1 else parts[0] * 1
        )
    price = sheet.lines["water.price"]
    return price if scenario.text(*item, "measure") == "m3" else price / _LITRES


def enter_use(sheet: MethodSheet, name: str, label: str, follows: str, quantity: Line) -> None:
    """Enter what is used of an item; water of all items is told together, in m3."""
    if not counts_as_water(sheet.scenario.raw, ("methods", sheet.method.id, "items", name)):
        sheet.used.append(Used(label, follows, quantity))
        return
    cubic = quantity
    if quantity.unit != _M3:
        cubic = sheet.column.line(f"{label}, in cubic metres", "m3/year", quantity / _LITRES)
    sheet.used.append(Used("Water", follows, cubic))
