"""A kept backup, such as the old line left standing: it makes the plates of the days the line is down.

Instead of plates bought in: no price above one's own, no trips. Paid are what it would have fetched (in year 0), what
keeps it ready, and what a plate costs more on it. The resale forgone is money not received, so cash counts it; it is no
expense and no gain, so tax is left as it is. Money positive; `finance` puts the signs on.
"""

from __future__ import annotations

from roi.engine.operations import opposite
from roi.model.sheet import MethodSheet

KEYS = ("resale", "yearly", "price")


def has_backup(sheet: MethodSheet) -> bool:
    """Whether anything is stated about a kept backup."""
    return any(sheet.has("backup", key) for key in KEYS)


def add_backup(sheet: MethodSheet) -> None:
    """What the backup costs. Needs the plates imaged and days down."""
    column, shop, lines = sheet.column, sheet.shop, sheet.lines
    column.heading(
        "Kept backup", "While the line is down, plates are made on it: none is bought in for that."
    )
    if sheet.has("backup", "resale"):
        lines["backup_forgone"] = column.line(
            "Resale of the backup forgone",
            "currency",
            sheet.inp("backup", "resale") * opposite(shop.after_now),
            note="money not received: no expense and no gain, tax stays as it is; count no sale of the same machine",
        )
    if sheet.has("backup", "yearly"):
        ready = column.line("Keeping the backup ready", "currency/year", sheet.inp("backup", "yearly"))
        sheet.cost("equipment", "service", "time", ready)
    if sheet.has("backup", "price"):
        share = column.line(
            "Share of days down", "1", sheet.inp("downtime", "days") / sheet.shop_inp("shop", "work_days")
        )
        made = column.line("Plates made on the backup", "plate/year", lines["imaged"] * share)
        dearer = column.line(
            "Plates made on the backup, money", "currency/year", made * sheet.inp("backup", "price")
        )
        sheet.cost("equipment", "plates", "work", dearer)


__all__ = ["KEYS", "add_backup", "has_backup"]
