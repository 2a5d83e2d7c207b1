"""What leases, rentals, notice and agreements of the old method still demand when it is left.

Paid at the switch and relieved in year 0, as all of leaving. Only what is stated counts: an agreement of the old method only
where the share due of its minimum is. Currency, positive.
"""

from __future__ import annotations

from collections.abc import Callable

from roi.engine.expression import Expr
from roi.model.sheet import MethodSheet


def add_dues(sheet: MethodSheet, old: MethodSheet, begin: Callable[[], None]) -> list[Expr]:
    """The challenger's lines of what is due for leaving the `old` method, a line each; empty where nothing is stated.

    begin : sets the section's heading where none stands yet
    """
    column, found = sheet.column, list[Expr]()
    share = ("leaving", "lease_share_due")

    def write(label: str, body: Expr) -> None:
        begin()
        found.append(column.line(label, "currency", body))

    def due(label: str, months: Expr, payment: Expr) -> None:
        body = months * payment
        if sheet.scenario.has(*share):
            body = body * sheet.shop_inp(*share)
        write(label, body)

    if sheet.scenario.has("leaving", "lease_payment"):
        months = sheet.shop_inp("leaving", "lease_months")
        due("Lease still due", months, sheet.shop_inp("leaving", "lease_payment"))
    here = ("methods", old.method.id)
    for name in old.names("equipment"):
        if old.has("equipment", name, "rental_left"):
            months = sheet.shop_inp(*here, "equipment", name, "rental_left")
            rental = sheet.shop_inp(*here, "equipment", name, "rental")
            due(f"{old.label('equipment', name)}, rental still due", months, rental)
    if sheet.scenario.has("leaving", "notice"):
        body = sheet.shop_inp("leaving", "notice") * sheet.shop_inp("leaving", "notice_cost")
        write("Months of notice", body)
    if old.has("agreement", "share_due"):
        years, minimum, price, part = (
            sheet.shop_inp(*here, "agreement", name) for name in ("years", "minimum", "price", "share_due")
        )
        write("Minimum of the old agreement still due", years * minimum * price * part)
    return found


__all__ = ["add_dues"]
