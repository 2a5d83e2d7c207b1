"""Writes ledger.csv, what the invented print room's platemaking was charged in its year from August.

Columns: date (year first), account, supplier, amount in GBP with the VAT that is not recovered. Charges are positive;
the one negative amount is a credit note, for a box of creased plates. Suppliers are named by what they do, since all
are invented. Recharges by other departments of the university are in it, as such ledgers have them, though no cash
leaves the university for them; and one invoice of the year before was booked late. Deterministic, no draws.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
from pathlib import Path

VAT, NOT_RECOVERED = 0.20, 0.90
PLATE, PACK = 2.10, 50  # GBP without VAT; plates a pack
PLATES_A_MONTH = 280
MADE_FOR_EACH = 1.06  # plates made for one called for: remakes, spoiled and test plates
MONTH_SHARES = (7, 7, 9, 11, 12, 6, 6, 9, 13, 9, 7, 4)  # % of plates, January first
YEAR = [(2025, m) for m in range(8, 13)] + [(2026, m) for m in range(1, 8)]
INTERNAL = "Internal recharge"
HEADER = ("date", "account", "supplier", "amount")

Charge = tuple[str, str, float, tuple[tuple[int, int, int], ...]]
# Account, supplier, amount without VAT, the days on which it is invoiced.
INVOICES: tuple[Charge, ...] = (
    (
        "Chemistry",
        "Plate merchant, invented",
        138.00,
        ((2025, 9, 4), (2025, 12, 2), (2026, 3, 5), (2026, 5, 28)),
    ),
    ("Waste", "Waste contractor, invented", 420.00, ((2025, 10, 16), (2026, 2, 12), (2026, 6, 11))),
    ("Service", "Platesetter engineer, invented", 950.00, ((2025, 8, 20), (2026, 2, 20))),
)
# Internal recharges carry no VAT.
RECHARGES: tuple[Charge, ...] = (
    ("Space", "Estates department", 237.50, ((2025, 10, 31), (2026, 1, 31), (2026, 4, 30), (2026, 7, 31))),
    (
        "Electricity",
        "Estates department",
        168.00,
        ((2025, 10, 31), (2026, 1, 31), (2026, 4, 30), (2026, 7, 31)),
    ),
    ("Computers", "Computing department", 300.00, ((2026, 3, 31),)),
)


def paid(net: float) -> float:
    """Pounds with the VAT that is not recovered, to the penny: x 1.18."""
    return round(net * (1 + VAT * NOT_RECOVERED), 2)


def make_rows() -> list[tuple[str, str, str, str]]:
    """The rows below the header, by date."""
    rows: list[tuple[dt.date, str, str, float]] = []
    in_stock = 0.0
    for year, month in YEAR:
        wanted = PLATES_A_MONTH * 12 * MONTH_SHARES[month - 1] / 100 * MADE_FOR_EACH
        packs = max(0, -int((in_stock - wanted) // PACK))
        in_stock += packs * PACK - wanted
        rows.append(
            (dt.date(year, month, 3), "Plates", "Plate merchant, invented", paid(PLATE * PACK * packs))
        )
    rows.append((dt.date(2025, 11, 18), "Plates", "Plate merchant, invented", -paid(PLATE * PACK)))
    rows.append((dt.date(2025, 7, 10), "Chemistry", "Plate merchant, invented", paid(129.00)))
    for account, supplier, net, days in INVOICES:
        rows += [(dt.date(*day), account, supplier, paid(net)) for day in days]
    for what, department, amount, days in RECHARGES:
        rows += [(dt.date(*day), f"{INTERNAL}: {what}", department, amount) for day in days]
    rows.sort()
    return [(day.isoformat(), account, supplier, f"{amount:.2f}") for day, account, supplier, amount in rows]


def csv_text() -> str:
    """The whole file as text, lines ended by a line feed."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows([HEADER, *make_rows()])
    return out.getvalue()


def main() -> None:
    target = Path(__file__).with_name("ledger.csv")
    target.write_bytes(csv_text().encode("utf-8"))
    rows = make_rows()
    print(f"{target.name}: {len(rows)} rows, {sum(float(row[-1]) for row in rows):,.2f} GBP")


if __name__ == "__main__":
    main()
