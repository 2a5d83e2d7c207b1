"""A shop's ledger, read and sorted: which charges of a year are platemaking, by family, and what every other row is.

Amounts are in the scenario's currency, charges positive and credits negative, as booked: nothing is scaled here. No row is
dropped: each is counted under a head, left out for a stated or recognised reason, of another year, or mapped to nothing.
Texts are cleaned to one printable line. What the reckoning says is left to `answers.reconcile`.
"""

from __future__ import annotations

import calendar
import datetime as dt
import re
from pathlib import Path

import numpy as np

from roi.scenario.badrows import SHOWN, BadRows
from roi.scenario.booked import (
    COUNTED,
    INTERNAL,
    LEFT_OUT,
    OTHER_YEAR,
    UNMAPPED,
    Booked,
    Group,
    Ledger,
    is_internal,
    year_on,
)
from roi.scenario.cells import number, read_numbers
from roi.scenario.dates import find_order, read_days
from roi.scenario.ledger_doubts import ledger_doubts
from roi.scenario.ledgerspec import LedgerSpec, Meaning, known_words
from roi.scenario.named_periods import Period, named, overlap
from roi.scenario.problems import BadInput, Problem
from roi.scenario.tables import Cell, Column, Table, as_text, read_table
from roi.scenario.things import clean
from roi.scenario.words import fold
from roi.scenario.worklog import Days, Floats

MOST = 1e9  # currency: a larger amount is a typing error
_BRACKETED, _TRAILING = re.compile(r"\((.+)\)"), re.compile(r"(.+?)\s*-")


def read_ledger(spec: LedgerSpec, path: Path | None = None, *, begins: int = 1) -> Ledger:
    """Read and sort the ledger that `spec` describes.

    path : another file than the one the scenario names;  begins : the month with which the shop's year begins, for texts
        such as "2024/25"

    Raises
    ------
    BadInput
        There is no file, it or (unless `bad_rows = "skip"`) any row can't be used, no account stands for anything, the
        ledger covers more than a year and none is stated, or most charges are negative.
    """
    path = path or spec.path
    if path is None:
        raise BadInput([Problem(f"{spec.where} file", "no ledger is named", 'write file = "ledger.csv"')])
    table = read_table(path, spec.columns, sheet=spec.sheet, where=spec.where)
    bad = BadRows(path.name, table.rows)
    bad.add(table.too_long, "more cells than the header", "put quotation marks around text with a separator")
    day = _days(table.columns["date"], spec, bad)
    amount = _amounts(table.columns["amount"], spec, bad)
    usable = np.flatnonzero(~bad.mask)
    if bad.problems and not spec.skip_bad:
        raise BadInput(bad.problems)
    if not usable.size:
        raise BadInput([*bad.problems, Problem(path.name, "no usable row is left", "mend the faults above")])
    days = [value.item() for value in day[usable]]
    first, last, said = _year(spec, days, path.name)
    texts = _texts(table)
    rows = _sorted_out(spec, table, usable, days, amount, texts, (first, last), begins)
    _mapped(spec, rows, path.name)
    notes = [*table.notes]
    if bad.mask.any():
        notes.append(f"{bad.mask.sum():,} of {table.rows.size:,} rows can't be used and are left out")
    return Ledger(
        file=clean(path.name),
        first=first,
        last=last,
        year_said=said,
        rows=tuple(rows),
        doubts=tuple(ledger_doubts(rows, (first, last), path.name, begins)),
        notes=tuple(notes),
        skipped=tuple(bad.problems),
        rows_read=int(table.rows.size),
        rows_skipped=int(bad.mask.sum()),
    )


def read_year(text: str) -> tuple[dt.date, dt.date]:
    """First and last day of "FROM..TO", each a day, a month or a year: "2025-08..2026-07". Raises BadInput."""
    ends = []
    for part, end in zip(text.split(".."), (False, True), strict=False):
        found = re.fullmatch(r"(\d{4})(?:-(\d\d))?(?:-(\d\d))?", part.strip())
        try:
            ends.append(_end_of(found, end) if found else None)
        except ValueError:
            ends.append(None)
    if text.count("..") != 1 or len(ends) != 2 or None in ends:
        what = f'"{clean(text)[:40]}" is no year'
        raise BadInput([Problem("--year", what, "write it like 2025-08..2026-07 or 2025-08-01..2026-07-31")])
    first, last = ends
    assert first is not None and last is not None
    if last < first:
        raise BadInput([Problem("--year", f"{last} is before {first}", "exchange the two")])
    return first, last


def _end_of(found: re.Match[str], last: bool) -> dt.date:
    year = int(found[1])
    month = int(found[2]) if found[2] else (12 if last else 1)
    if found[3]:
        return dt.date(year, month, int(found[3]))
    return _month_end(dt.date(year, month, 1)) if last else dt.date(year, month, 1)


def _month_end(day: dt.date) -> dt.date:
    return day.replace(day=calendar.monthrange(day.year, day.month)[1])


def _days(column: Column, spec: LedgerSpec, bad: BadRows) -> Days:
    order, doubt = spec.date_order, ""
    if order is None:
        order, doubt = find_order(column.cells)
    if order is None:
        mend = 'state date_order = "day-first" or "month-first"'
        bad.problems.append(Problem(f"{spec.where} date_order", doubt, mend))
        # Without an order no row can be used, so that skipping bad rows can't get round the question.
        raise BadInput(bad.problems)
    day = read_days(column.cells, order)[column.codes]
    empty = np.array([not text for text in column.texts])[column.codes]
    bad.add(empty, "is empty", "fill it in", column)
    mend = "correct it, or state date_order if all are so"
    bad.add(np.isnat(day) & ~empty, f"is not a {order} date", mend, column)
    return day


def _amounts(column: Column, spec: LedgerSpec, bad: BadRows) -> Floats:
    """Charges positive: books write a credit with a minus before or after it, or in brackets."""
    signed = Column(column.header, tuple(_signed(cell, spec.decimal) for cell in column.cells), column.codes)
    amounts = read_numbers(signed, spec.decimal, bad, low=-MOST, high=MOST)
    return -amounts if spec.negative else amounts


def _signed(cell: Cell, decimal: str) -> Cell:
    text = as_text(cell)
    for pattern in (_BRACKETED, _TRAILING):
        if found := pattern.fullmatch(text):
            value = number(found[1].strip(), decimal)
            return cell if np.isnan(value) or value < 0 else -value
    return cell


def _year(spec: LedgerSpec, days: list[dt.date], file: str) -> tuple[dt.date, dt.date, str]:
    """The year as stated, else the whole months from the ledger's first row to its last, a year of them at most."""
    if spec.year is not None:
        return *spec.year, spec.year_said
    first, last = min(days).replace(day=1), _month_end(max(days))
    if last >= year_on(first):
        what = f"has rows from {min(days)} to {max(days)}, and no year is stated"
        raise BadInput([Problem(file, what, "state from and to in [ledger], or --year 2025-08..2026-07")])
    return first, last, "whole months from its first row to its last"


def _texts(table: Table) -> dict[str, list[str]]:
    """The distinct texts of each column that says what a row is, cleaned."""
    names = [name for name in ("account", "supplier", "text") if name in table.columns]
    return {name: [clean(text) for text in table.columns[name].texts] for name in names}


def _sorted_out(
    spec: LedgerSpec,
    table: Table,
    usable: np.ndarray,
    days: list[dt.date],
    amount: Floats,
    texts: dict[str, list[str]],
    year: Period,
    begins: int,
) -> list[Booked]:
    codes = {name: table.columns[name].codes for name in texts}
    judged: dict[tuple[str, ...], tuple[str, str, str]] = {}
    rows = []
    for place, day in zip(usable.tolist(), days, strict=True):
        said = {name: texts[name][codes[name][place]] for name in texts}
        key = tuple(said.values())
        if key not in judged:
            judged[key] = _judge(spec, said, year, begins)
        kind, head, why = judged[key]
        if not year[0] <= day <= year[1]:
            kind, why = OTHER_YEAR, f"dated {day}"
        rows.append(
            Booked(
                int(table.rows[place]), day, said.get("account", ""), said.get("supplier", ""), said.get("text", ""),
                float(amount[place]), kind, head, why,
            )
        )  # fmt: skip
    return rows


def _judge(spec: LedgerSpec, said: dict[str, str], year: Period, begins: int) -> tuple[str, str, str]:
    """Kind, head and reason of a row within the year, from its texts alone."""
    meaning, internal = _meaning(spec, said), is_internal(said.values())
    if meaning is None:
        return (INTERNAL, "", "recognised by its words") if internal else (UNMAPPED, "", "")
    if not meaning.head:
        return (INTERNAL if internal else LEFT_OUT), "", meaning.reason
    periods = named(" | ".join(said.values()), begins).periods
    if periods and not any(overlap(period, year) for period in periods):
        first, last = periods[0]
        return OTHER_YEAR, meaning.head, f"its text names {first} to {last}"
    return COUNTED, meaning.head, ""


def _meaning(spec: LedgerSpec, said: dict[str, str]) -> Meaning | None:
    """A pattern goes before an account, since it makes the exceptions; of several the first stated."""
    folded = [fold(text) for text in said.values()]
    for words, meaning in spec.patterns:
        if any(words in text for text in folded):
            return meaning
    return spec.accounts.get(fold(said.get("account", "")))


def _mapped(spec: LedgerSpec, rows: list[Booked], file: str) -> None:
    """Refuse a ledger of which nothing is mapped, and one whose charges look negative."""
    if not spec.heads:
        accounts = dict.fromkeys(row.account or row.supplier for row in rows)
        listed = known_words(list(accounts)[: 2 * SHOWN])
        what = f"nothing says which of the {len(accounts):,} accounts in {file} are platemaking"
        mend = f"in [ledger.accounts] give each its family, or leave it out: {listed}"
        raise BadInput([Problem(f"{spec.where} accounts", what, mend)])
    counted = [row.amount for row in rows if row.kind == COUNTED]
    if sum(amount < 0 for amount in counted) * 2 > len(counted):
        other = "positive" if spec.negative else "negative"
        what = f"most of the {len(counted):,} rows counted in {file} are credits, as if charges were {other}"
        raise BadInput([Problem(f"{spec.where} charges", what, f'if they are, write charges = "{other}"')])


__all__ = [
    "COUNTED", "INTERNAL", "LEFT_OUT", "OTHER_YEAR", "UNMAPPED", "Booked", "Group", "Ledger", "read_ledger", "read_year",
]  # fmt: skip
