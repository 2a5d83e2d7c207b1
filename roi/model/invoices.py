"""Last year's invoices set the level of chemistry, waste and service; the shape stays the model's.

A bill is split into what follows time and what follows the work as the modelled cost is: what would be paid without any work
follows time. A method that is the same as the one invoiced takes that one's level. Money of a year at today's prices, positive,
in currency/year; litres a square metre in L/m2. An invoice for plates scales their prices where those are worked out, in
`consumables`.
"""

from __future__ import annotations

from roi.engine.column import Line
from roi.engine.expression import Axis, Data
from roi.engine.operations import at, at_least, opposite, when
from roi.model.chemistry import Bills
from roi.model.sheet import MethodSheet, add

# Litres of bath a square metre: from a line that is always busy to the most that plates can be said to use.
USUAL_CHEMISTRY = (0.16, 1.0)
USUAL_SOURCE = "common practice, no source"
_ENDS = Axis("ends of the usual", ("low", "high"))


def add_invoices(sheet: MethodSheet, bills: Bills) -> None:
    """Scale the blocks of `bills` to what was invoiced, say how each bill splits, and enter service as invoiced."""
    column = sheet.column
    scale = _bill(sheet, "chemistry", "Chemistry", bills.chemistry, bills.chemistry_time)
    if scale is not None and bills.litres:
        _litres(sheet, bills.litres, scale)
    _bill(sheet, "waste", "Waste disposal", bills.waste, bills.waste_time)
    if sheet.has("last_year", "service"):
        service = column.line(
            "Service and repairs as invoiced", "currency/year", sheet.inp("last_year", "service")
        )
        sheet.cost("equipment", "service", "time", service)


def _bill(sheet: MethodSheet, name: str, words: str, blocks: list[Line], by_time: list[Line]) -> Line | None:
    """Set one bill's level in place and split it; what the modelled cost is multiplied by, None without an invoice."""
    if not sheet.has("last_year", name) or not blocks:
        return None
    column, level = sheet.column, sheet.shop.growth[name]
    column.heading(f"{words} as invoiced")
    modelled = column.line(f"{words} as modelled", "currency", add(blocks))
    today = column.line(f"{words} of year 1 at today's prices", "currency", at(modelled, 1) / at(level, 1))
    invoice = sheet.inp("last_year", name)
    level_of_base = sheet.scale_of_base(name)
    scale = column.line(
        f"{words}, invoice against model",
        "1",
        invoice.during("year") / today if level_of_base is None else level_of_base + 0,
    )
    sheet.lines[f"invoice.{name}.scale"] = scale
    blocks[:] = [column.line(f"{words}, level of the invoice", "currency", modelled * scale)]
    if by_time and level_of_base is None:
        time = column.line(
            f"{words} as invoiced, part that follows time",
            "currency/year",
            add(by_time) * scale,
            note="what the model would pay without any work, at the level of the invoice",
        )
        work = column.line(
            f"{words} as invoiced, part that follows the work", "currency/year", invoice - time
        )
        sheet.lines |= {
            f"invoice.{name}": invoice,
            f"invoice.{name}.time": time,
            f"invoice.{name}.work": work,
        }
    return scale


def _litres(sheet: MethodSheet, litres: list[Line], scale: Line) -> None:
    """Litres a square metre that the invoice stands for, beside what is usual."""
    column = sheet.column
    used = column.line("Chemistry of year 1, all baths", "L/year", add([at(block, 1) for block in litres]))
    area = column.line("Area imaged in year 1", "m2/year", at(sheet.lines["area_by_year"], 1))
    implied = column.line(
        "Chemistry a square metre, at the level of the invoice",
        "L/m2",
        when(at_least(0, area), 0, used * scale / area),
        note="the litres modelled, scaled as the money is",
    )
    usual = column.data(
        Data(
            f"{column.key}.usual_chemistry", "Usual chemistry a square metre", "L/m2", _ENDS, USUAL_CHEMISTRY
        )
    )
    beyond = column.line(
        "Chemistry a square metre is beyond the usual",
        "1",
        opposite(at_least(at(usual, 1), implied)),
        note="1 yes: you pay for time, not area",
        source=USUAL_SOURCE,
    )
    sheet.lines |= {"invoice.implied": implied, "invoice.beyond": beyond}
