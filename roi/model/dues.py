"""What leases, rentals, notice and agreements of the old method still demand when it is left.

Paid at the switch and relieved in year 0, as all of leaving. Only what is stated counts: an agreement of the old method only
where the share due of its minimum is. Where the old method still runs for months of year 1, those are paid as it runs, and
so much less is due, down to nothing. What a challenger keeps of the old method (`keeping`) isn't left, so nothing is due
for it. Currency, positive.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from roi.engine.column import Line
from roi.engine.expression import Expr
from roi.engine.operations import constant, larger
from roi.model.keeping import displaced, is_related, replaces_all
from roi.model.sheet import MethodSheet

_YEAR = constant(12, "month/year")


@dataclass(frozen=True)
class Due:
    """One thing still due at the switch: for how long, in months or `years`, and what is paid for each."""

    label: str
    time: Line
    payment: Expr
    years: bool = False

    def money(self, month: Expr | None) -> Expr:
        """What is due when the old method is left after so many months; None where it is left at once."""
        if month is None:
            return self.time * self.payment
        return larger(0, self.time - (month / _YEAR if self.years else month)) * self.payment


def dues(sheet: MethodSheet, old: MethodSheet) -> Iterator[Due]:
    """What is stated as due for leaving the `old` method, on the challenger's column."""
    shared, here = ("leaving", "lease_share_due"), ("methods", old.method.id)

    def part(payment: Expr) -> Expr:
        return payment * sheet.shop_inp(*shared) if sheet.scenario.has(*shared) else payment

    whole = replaces_all(sheet, old)
    if whole and sheet.scenario.has("leaving", "lease_payment"):
        payment = part(sheet.shop_inp("leaving", "lease_payment"))
        yield Due("Lease still due", sheet.shop_inp("leaving", "lease_months"), payment)
    for name in displaced(sheet, old):
        if old.has("equipment", name, "rental_left"):
            months, rental = (sheet.shop_inp(*here, "equipment", name, k) for k in ("rental_left", "rental"))
            yield Due(f"{old.label('equipment', name)}, rental still due", months, part(rental))
    if whole and sheet.scenario.has("leaving", "notice"):
        cost = sheet.shop_inp("leaving", "notice_cost")
        yield Due("Months of notice", sheet.shop_inp("leaving", "notice"), cost + 0)
    if old.has("agreement", "share_due") and not is_related(sheet, old):
        years, minimum, price, share = (
            sheet.shop_inp(*here, "agreement", name) for name in ("years", "minimum", "price", "share_due")
        )
        yield Due("Minimum of the old agreement still due", years, minimum * price * share, years=True)


def add_dues(sheet: MethodSheet, old: MethodSheet, begin: Callable[[], None]) -> list[Line]:
    """The challenger's lines of what is due for leaving the `old` method, a line each; empty where nothing is stated.

    begin : sets the section's heading where none stands yet
    """
    found = list[Line]()
    stays = sheet.scenario.has("leaving", "month")
    for due in dues(sheet, old):
        begin()
        month = sheet.shop_inp("leaving", "month") if stays else None
        found.append(sheet.column.line(due.label, "currency", due.money(month)))
    return found


def add_dues_by_month(sheet: MethodSheet, old: MethodSheet, month: Line) -> list[Line]:
    """What would be due if the old method were left after `month`, a block over months; a line each, in `add_dues`' order."""
    return [
        sheet.column.line(f"{due.label}, if changed then", "currency", due.money(month))
        for due in dues(sheet, old)
    ]


__all__ = ["Due", "add_dues", "add_dues_by_month", "dues"]
