"""Plates of two kinds on one press: what it costs to switch to the other kind and back.

Kinds differ in thickness and in what they ask of the fountain solution: packing and fountain are set anew at each switch.
A press switches there and back on each day with at least one form on the other kind, by the same occupancy formula as
deliveries: of D days worked, n forms falling on them at random leave D (1 - 1/D)^n without any. Minutes are worth the press
hour of that press in each view, as all press time is; money positive, in currency, after tax.
"""

from __future__ import annotations

from dataclasses import dataclass

from roi.engine.column import Column, Line
from roi.engine.expression import Expr
from roi.engine.operations import at, constant, gather, opposite, pick, product_sum, total
from roi.model.sheet import MethodSheet, Used, share_without
from roi.model.shop import MINUTES, Shop
from roi.scenario.scenario import Scenario

SWITCH = ("shop", "count_switches")
_THERE_AND_BACK = constant(2, "switch/day")


def is_counted(scenario: Scenario) -> bool:
    """Whether every method's costs hold the switching for the plates it buys in."""
    return scenario.plain(*SWITCH, default=False) is True


def add_switching(sheet: MethodSheet) -> None:
    """A method's own switching for forms out of its reach, press by press; nothing unless the shop's switch counts it.

    At the log's volume, and following the work in proportion from there, as every yearly amount of press time does. A method
    that makes no plates has one kind only. Needs reach.
    """
    if not is_counted(sheet.scenario) or not sheet.method.makes_plates:
        return
    column, work, shop, lines = sheet.column, sheet.work, sheet.shop, sheet.lines
    column.heading(
        "Plates of another kind on the press", "Bought-in plates mean switching the press there and back."
    )
    beyond = column.line("Out of reach, by class", "1", opposite(lines["reach"]))
    flag: Expr = pick(beyond, work.bin_class)
    if "elsewhere.stays" in lines:
        flag = lines["elsewhere.stays"] * flag
    other = column.line("On plates of another kind, by bin", "1", flag)
    forms = column.line(
        "Forms on plates of another kind",
        "form/year",
        gather(work.presses, [product_sum(other, on_press) for on_press in work.bin_press_forms]),
    )
    days = sheet.shop_inp("shop", "work_days")
    empty = column.line("Chance of a form on another day", "1", 1 - constant(1, "day/year") / days)
    switched = column.line(
        "Switches between kinds of plates",
        "switch/year",
        days * (1 - share_without(empty, forms.per("form").during("year"), days)) * _THERE_AND_BACK,
        note="there and back on days with at least one such form",
    )
    each = sheet.shop_inp("shop", "switch_packing") + sheet.shop_inp("shop", "switch_fountain")
    hours = column.line("Hours of switching", "h/year", switched * each / MINUTES)
    cash = column.line("Switching, cash", "currency/year", product_sum(hours, shop.press_cash))
    full = column.line("Switching, full cost", "currency/year", product_sum(hours, shop.press_full))
    sheet.cost("press", "wages", "work", cash, full)
    all_hours = column.line("Hours of switching, all presses", "h/year", total(hours))
    sheet.used.append(Used("Press hours lost to switching plates", "work", all_hours))


@dataclass(frozen=True)
class Switches:
    """One press: switches and hours of press by year (switch/year, h/year), and what all years are worth today."""

    by_year: Line
    hours: Line
    worth: Line
    worth_full: Line


def switch_lines(column: Column, shop: Shop, press: int, forms: Expr) -> Switches:
    """Write the lines of one press, by its position; `forms` are those a year on the other kind, at the log's volume."""
    label = shop.scenario.presses[press].label
    days = shop.inp(column, "shop", "work_days")
    empty = column.line(
        f"{label}, chance that a form falls on another day", "1", 1 - constant(1, "day/year") / days
    )
    count = forms.per("form").during("year") * shop.volume
    switched = column.line(
        f"{label}, switches", "switch/year", days * (1 - share_without(empty, count, days)) * _THERE_AND_BACK,
        note="there and back on days with at least one such form",
    )  # fmt: skip
    each = shop.inp(column, "shop", "switch_packing") + shop.inp(column, "shop", "switch_fountain")
    hours = column.line(f"{label}, hours of switching", "h/year", switched * each / MINUTES)
    kept = 1 - shop.inp(column, "money", "tax_rate")
    worth = []
    for view, value in (("cash", shop.press_cash), ("full cost", shop.press_full)):
        money = (hours * at(value, press) * shop.growth["wages"]).during("year")
        paid = column.line(f"{label}, switching, {view}", "currency", money)
        worth.append(
            column.line(
                f"{label}, switching, {view}, present worth",
                "currency",
                product_sum(paid, shop.discount_running) * kept,
            )
        )
    return Switches(switched, hours, *worth)


__all__ = ["SWITCH", "Switches", "add_switching", "is_counted", "switch_lines"]
