"""Floor: full cost counts its rent, cash only the share that turns into money. Insurance, permits and the like are items."""

from __future__ import annotations

from roi.model.sheet import MethodSheet


def add_room(sheet: MethodSheet) -> None:
    """Rent of the floor taken, in both views."""
    if not sheet.has("room", "area"):
        return
    column = sheet.column
    column.heading("Room")
    full = column.line(
        "Floor, full cost", "currency/year", sheet.inp("room", "area") * sheet.shop_inp("shop", "rent")
    )
    cash = column.line("Floor, cash", "currency/year", full * sheet.shop_inp("shop", "rent_cash_share"))
    sheet.cost("room", "general", "time", cash, full)
