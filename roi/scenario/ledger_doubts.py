"""What may be wrong with a ledger's rows, counted or not: told with the mend, never acted on.

Rows are told by the file's own row numbers, amounts in the scenario's currency.
"""

from __future__ import annotations

import datetime as dt

from roi.scenario.badrows import SHOWN
from roi.scenario.booked import COUNTED, OTHER_YEAR, UNMAPPED, Booked, is_internal
from roi.scenario.named_periods import Period, named, overlap
from roi.scenario.problems import BadInput, Problem
from roi.scenario.words import fold

LATE = 46  # days without a row at an end of the year that are asked about: one and a half months


def ledger_doubts(rows: list[Booked], year: Period, file: str, begins: int) -> list[Problem]:
    """Every doubt about rows already judged. Raises BadInput where no row lies within the year."""
    counted = [row for row in rows if row.kind == COUNTED]
    in_play = [row for row in rows if row.kind in (COUNTED, UNMAPPED)]
    found: list[Problem] = []

    def ask(which: list[Booked], what: str, mend: str) -> None:
        if which:
            listed = ", ".join(str(row.row) for row in which[:SHOWN])
            listed += f" and {len(which) - SHOWN:,} more" if len(which) > SHOWN else ""
            where = f"{file}, row{'s' if len(which) > 1 else ''} {listed}"
            found.append(Problem(where, what, mend))

    seen: set[tuple[dt.date, str, float]] = set()
    doubled = []
    for row in in_play:
        key = (row.day, fold(row.supplier), round(row.amount, 4))
        if key in seen and row.amount:
            doubled.append(row)
        seen.add(key)
    ask(
        doubled,
        f"the date, supplier and amount of an earlier row once more, {sum(row.amount for row in doubled):,.2f} in all: "
        "booked twice? Counted as it stands",
        "delete what was booked twice",
    )
    ask(
        [row for row in counted if is_internal((row.account, row.supplier, row.text))],
        "reads like an internal recharge, which is no cash, and is counted as mapped",
        'write "leave out: internal" for it, unless it is paid out of the house',
    )
    ask(
        [row for row in counted if _names_other(row, year, begins)],
        "names a year that is not the ledger's, and is counted",
        "if it is that year's invoice, delete the row or leave it out by a pattern",
    )
    ask(
        [
            row
            for row in rows
            if row.kind == OTHER_YEAR
            and row.head
            and not year[0] <= row.day <= year[1]
            and any(overlap(p, year) for p in named(_said(row), begins).periods)
        ],
        "names a period of the year but is dated outside it, and is not counted",
        "if it is the year's, give it a date within the year",
    )
    inside = [row.day for row in rows if year[0] <= row.day <= year[1]]
    if not inside:
        raise BadInput(
            [Problem(file, f"has no row from {year[0]} to {year[1]}", "state the year the ledger is of")]
        )
    for gap, what in (
        ((min(inside) - year[0]).days, f"has no row before {min(inside)}, though the year begins {year[0]}"),
        ((year[1] - max(inside)).days, f"has no row after {max(inside)}, though the year ends {year[1]}"),
    ):
        if gap > LATE:
            found.append(
                Problem(file, what, "if its books cover less, state from and to: they are scaled to a year")
            )
    return found


def _names_other(row: Booked, year: Period, begins: int) -> bool:
    found = named(_said(row), begins)
    return not found.periods and bool(found.alone) and not any(overlap(p, year) for p in found.alone)


def _said(row: Booked) -> str:
    return " | ".join((row.account, row.supplier, row.text))


__all__ = ["ledger_doubts"]
