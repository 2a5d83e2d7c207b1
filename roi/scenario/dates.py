"""Dates of a log as days, in the order stated or found without doubt; never guessed.

A text has up to three readings (day, month or year first). The order is found when exactly one order can read
every date that can be read at all, or when several can and agree on each. Otherwise it must be stated.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence

import numpy as np

from roi.scenario.tables import Cell, as_text
from roi.scenario.words import quoted
from roi.scenario.worklog import Days

ORDERS = ("day-first", "month-first", "year-first")
EARLIEST, LATEST = 1950, 2100  # years outside are typing errors
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")

_TIME = re.compile(r"[T ,]+\d{1,2}:\d{2}(:\d{2}(\.\d+)?)?\s*([AaPp][Mm])?(Z|[+-]\d{2}:?\d{2})?$")
_YEAR_FIRST = re.compile(r"(\d{4})([-/. ])(\d{1,2})\2(\d{1,2})|(\d{4})(\d{2})(\d{2})")
_THREE = re.compile(r"(\d{1,2})([-/. ])(\d{1,2})\2(\d{4}|\d{2})")
_NAMED = re.compile(r"(\d{1,2})[-/. ]+([A-Za-z]{3,9})\.?[-/, ]+(\d{4}|\d{2})")
_NAMED_FIRST = re.compile(r"([A-Za-z]{3,9})\.?[- ](\d{1,2}),?[- ](\d{4}|\d{2})")


def readings(cell: Cell) -> dict[str, dt.date]:
    """Order -> the date the cell says if read so; empty when it is no date.

    Real dates, a full year first and an English month name read the same in every order.
    """
    if isinstance(cell, dt.date):
        return _same(cell.year, cell.month, cell.day)
    text = _TIME.sub("", as_text(cell))
    if parts := _YEAR_FIRST.fullmatch(text):
        year, month, day = (int(p) for p in parts.groups() if p and p.isdigit())
        return _same(year, month, day)
    if parts := _NAMED.fullmatch(text):
        return _same(_year(parts[3]), _month(parts[2]), int(parts[1]))
    if parts := _NAMED_FIRST.fullmatch(text):
        return _same(_year(parts[3]), _month(parts[1]), int(parts[2]))
    if not (parts := _THREE.fullmatch(text)):
        return {}
    a, b, c = parts[1], parts[3], parts[4]
    found = {
        "day-first": _date(_year(c), int(b), int(a)),
        "month-first": _date(_year(c), int(a), int(b)),
        "year-first": _date(_year(a), int(b), int(c)) if len(a) == 2 and len(c) == 2 else None,
    }
    return {order: date for order, date in found.items() if date is not None}


def find_order(cells: Sequence[Cell]) -> tuple[str | None, str]:
    """The one order in which these dates read, or None and why it is in doubt.

    Cells that read as no date in any order have no say: they are bad rows whatever the order.
    """
    known = [(cell, found) for cell in cells if (found := readings(cell))]
    fitting = [order for order in ORDERS if all(order in found for _, found in known)]
    if not fitting:
        only: dict[tuple[str, ...], str] = {}
        for cell, found in known:
            if len(found) < len(ORDERS):
                only.setdefault(tuple(found), as_text(cell))
        examples = ", ".join(f"{quoted(text)} only {' or '.join(orders)}" for orders, text in only.items())
        return None, f"dates contradict each other: {examples}"
    for cell, found in known:
        if len({found[order] for order in fitting}) > 1:
            return (
                None,
                f"{quoted(as_text(cell))} can be read {' or '.join(fitting)}, and no other date settles it",
            )
    return fitting[0], ""


def read_days(cells: Sequence[Cell], order: str) -> Days:
    """The day each cell says in the order given, datetime64[D]; NaT where it says none."""
    dates = [readings(cell).get(order) for cell in cells]
    return np.array([np.datetime64("NaT" if d is None else d, "D") for d in dates], "datetime64[D]")


def _same(year: int, month: int, day: int) -> dict[str, dt.date]:
    date = _date(year, month, day)
    return {} if date is None else dict.fromkeys(ORDERS, date)


def _date(year: int, month: int, day: int) -> dt.date | None:
    if not EARLIEST <= year <= LATEST:
        return None
    try:
        return dt.date(year, month, day)
    except ValueError:
        return None


def _year(text: str) -> int:
    return int(text) + (2000 if len(text) <= 2 else 0)


def _month(name: str) -> int:
    """1 to 12 by the first three letters of the English name; 0, which is no month, for anything else."""
    short = name[:3].lower()
    return _MONTHS.index(short) + 1 if short in _MONTHS else 0
