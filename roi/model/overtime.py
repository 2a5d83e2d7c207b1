"""Overtime at the stations as a cost, where the shop's switch counts it; `capacity` works out the hours and their price.

Money positive, in currency by year. Hours are those of year 1 in every year: work that shrinks later doesn't shorten them.
Where a further unit of a station, or one of each, is priced and comes cheaper a year than the overtime it spares, that is
counted instead.
"""

from __future__ import annotations

from roi.engine.column import Line
from roi.engine.expression import Expr
from roi.engine.operations import smaller
from roi.model.sheet import MethodSheet
from roi.scenario.scenario import Scenario

TOGETHER = "together"  # stands for all stations with a further unit priced; no station can be called so
SWITCH = ("shop", "count_plate_overtime")


def is_counted(scenario: Scenario) -> bool:
    """Whether overtime at the stations is among the costs."""
    return scenario.plain(*SWITCH, default=False) is True


def overtime_by_year(sheet: MethodSheet) -> Line | None:
    """What overtime, or the further units that spare it, costs in each year; None where it isn't counted."""
    lines, shop = sheet.lines, sheet.shop
    if not is_counted(sheet.scenario) or "capacity.overtime" not in lines:
        return None
    overtime = lines["capacity.overtime"]
    cheapest: Expr = overtime
    for name in (*sheet.names("stations"), TOGETHER):
        saves = lines.get(f"capacity.unit.{name}.saves")
        if saves is not None:
            cheapest = smaller(cheapest, overtime - saves)
    yearly = sheet.column.line(
        "Overtime, or further units where cheaper", "currency/year", cheapest + 0,
        note="at the hours of year 1 in every year; paid in full, on top of hands-on minutes, which stay counted as they are",
    )  # fmt: skip
    paid = yearly * shop.operating * shop.growth["wages"]
    return sheet.column.line("Overtime at the stations, by year", "currency", paid.during("year"))


__all__ = ["SWITCH", "TOGETHER", "is_counted", "overtime_by_year"]
