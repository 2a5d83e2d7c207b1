"""The sole supplier of a method's plates stops in a stated year: plates bought in for some weeks, then a new line.

Money in currency by year, positive; all of it falls into that one year. It stands beside the running costs, not among them,
since it comes once: plates and trips are spent and relieved for tax in the same year, the new line is capital and written
off as other equipment is, from the year after. Running costs and replacements are taken to go on afterwards as before; the
stopped line keeps its own book value and schedule, and the new one counts nothing at the horizon. Year 0: the supplier
goes on.
"""

from __future__ import annotations

from roi.engine.column import Line
from roi.engine.expression import at, at_least, larger, product_sum
from roi.model.sheet import MethodSheet


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
    new_line = column.line(
        "New line when the supplier stops",
        "currency",
        sheet.inp("supplier", "new_line") * shop.growth["equipment"] * stopped,
        note="capital, written off from the year after; running costs and replacements go on as before",
    )
    lines["capital"] = column.line(
        "Capital spent, with the new line",
        "currency",
        lines["capital"] + new_line,
        note="what is left of the stopped line's tax book value is deducted when due, not at once",
    )
    gap = _gap(sheet, stopped)
    if gap is not None:
        lines["expensed"] = column.line(
            "Training, and plates bought in when the supplier stops", "currency", lines["expensed"] + gap
        )


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
