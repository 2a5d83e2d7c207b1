"""A number as its owner states it: unit, best, low, high, how it is known, source, date and who stated it."""

from __future__ import annotations

import datetime
import re
from dataclasses import dataclass
from typing import Any

from roi.engine.expression import Input
from roi.scenario.catalogue import STATUSES, Entry
from roi.scenario.files import Key, Raw
from roi.scenario.problems import Problem
from roi.units.quantity import (
    Stated,
    UnreadableQuantity,
    factor,
    read_unit,
    refuse_money_sign,
    split_number,
    unit_label,
)
from roi.units.unit import Unit

NO_SOURCE = "not stated"  # the source of a number that somebody states without one
SURE = {"sure": 0.05, "about": 0.15, "guess": 0.40}
# How far a number without a range may be off, by how it is known.
_SURE_BY_STATUS = {
    "measured": "sure",
    "invoice": "sure",
    "quote": "sure",
    "estimate": "about",
    "default": "guess",
}

# What a reader of US customary or metric measures sees instead of the other.
SYSTEMS = {
    "us": {"L": "gal", "m2": "ft2", "kg": "lb", "m3": "ft3", "mm": "in", "cm": "in", "m": "ft"},
    "metric": {
        "gal": "L", "qt": "L", "fl_oz": "mL", "ft2": "m2", "in2": "m2", "lb": "kg", "oz": "kg", "ft3": "m3", "in": "mm",
        "ft": "m",
    },
}  # fmt: skip


@dataclass(frozen=True)
class StatedInput:
    """A number with its range. best, low, high, least and most are in `shown`; times `factor` they are in `unit`."""

    key: str
    label: str
    unit: Unit
    shown: str
    factor: float
    best: float
    low: float
    high: float
    least: float | None
    most: float | None
    whole: bool
    percent: bool
    status: str
    source: str
    date: str
    where: str
    unusual: str
    valid_until: str = ""
    by: str = ""

    @property
    def default(self) -> bool:
        return self.status == "default"

    @property
    def as_input(self) -> Input:
        """The engine's input: the best value in the engine's unit."""
        return Input(self.key, self.label, self.unit, self.best * self.factor)


class _Wrong(Exception):
    def __init__(self, what: str, mend: str = "") -> None:
        self.what, self.mend = what, mend


def read_input(
    key: Key,
    raw: Raw,
    entry: Entry,
    label: str,
    unit: Unit,
    currency: str,
    system: str,
    per_dollar: float | None,
) -> StatedInput | list[Problem]:
    """Read one number; every problem it has, if any. `per_dollar` turns a shipped money default into the currency."""
    where = raw.at(key)
    table: dict[str, Any] = raw.value if isinstance(raw.value, dict) else {"best": raw.value}
    problems: list[Problem] = []
    # What a workbook holds was turned into the scenario's currency when it was written.
    in_dollars = raw.default and not raw.cell and currency != "USD"
    written_in = "USD" if in_dollars else currency
    wanted = unit_label(unit, written_in)
    try:
        best, stated = _number(table["best"], table.get("unit"), entry, written_in, wanted)
        scale = factor(stated, unit, currency)
    except (_Wrong, UnreadableQuantity) as wrong:
        what = wrong.what if isinstance(wrong, _Wrong) else str(wrong)
        return [Problem(where, what, wrong.mend)]
    status = table.get("status", "default" if raw.default else "estimate")
    if status not in STATUSES:
        problems.append(Problem(where, f'status "{status}" is not known', f"one of {', '.join(STATUSES)}"))
        status = "estimate"
    how_sure = table.get("sure", _SURE_BY_STATUS[status])
    if not isinstance(how_sure, str) or how_sure not in SURE:
        problems.append(Problem(where, f'sure "{how_sure}" is not known', f"one of {', '.join(SURE)}"))
        how_sure = "guess"
    date = _date(table.get("date"))
    if date is None:
        what, mend = f"{table['date']!r} is not a date", "write date = 2026-03-31 (year-month-day)"
        problems.append(Problem(f"{where}.date", what, mend))
    valid_until = _date(table.get("valid_until"))
    if valid_until is None:
        what = f"{table['valid_until']!r} is not a date"
        mend = "write valid_until = 2026-12-31 (year-month-day)"
        problems.append(Problem(f"{where}.valid_until", what, mend))
    by = table.get("by", "")
    if not isinstance(by, str):
        problems.append(
            Problem(f"{where}.by", f"{by!r} is not a name", 'write by = "...", who stated the number')
        )
    ends = {"low": best - abs(best) * SURE[how_sure], "high": best + abs(best) * SURE[how_sure]}
    for end in ends:
        if end in table:
            try:
                number, other = _number(table[end], table.get("unit"), entry, written_in, wanted)
                ends[end] = number * factor(other, unit, currency) / scale
            except (_Wrong, UnreadableQuantity) as wrong:
                what = wrong.what if isinstance(wrong, _Wrong) else str(wrong)
                problems.append(Problem(f"{where}.{end}", what, wrong.mend))
    low, high = ends["low"], ends["high"]
    dollar = 1.0
    if per_dollar is not None and stated.has_currency:
        dollar = per_dollar if "currency" in stated.above else 1 / per_dollar
    if in_dollars and stated.has_currency:
        if per_dollar is None:
            mend = f"state it in {currency}, or write per_dollar = what one dollar is in {currency}"
            return [*problems, Problem(where, "the default is in US dollars", mend)]
        best, low, high = (x * dollar for x in (best, low, high))
    shown = _in_system(stated, SYSTEMS[system])
    if shown != stated:
        turn = factor(stated, unit, currency) / factor(shown, unit, currency)
        best, low, high, stated = best * turn, low * turn, high * turn, shown
        scale = factor(shown, unit, currency)
    percent = "percent" in stated.above
    if percent:
        best, low, high, scale = best / 100, low / 100, high / 100, scale * 100
    # As they are written: 3.7 % is 0.037, not 0.03700000000000001, to whoever sees the cell.
    best, low, high = (float(f"{x:.15g}") for x in (best, low, high))
    least = None if entry.low is None else entry.low / scale
    most = None if entry.high is None else entry.high / scale
    # A range made up from "about" must not leave what is possible.
    if "low" not in table and least is not None:
        low = min(max(low, least), best)
    if "high" not in table and most is not None:
        high = max(min(high, most), best)
    text = stated.text(currency)
    if entry.whole:  # a choice, such as the horizon or a switch: it is uncertain only where that is stated
        low, high = (low if "low" in table else best), (high if "high" in table else best)
    # What was made up from best is not judged: one wrong figure is one problem.
    written = {"best": best} | {end: x for end, x in (("low", low), ("high", high)) if end in table}
    problems += _limits(where, entry, written, least, most, text, percent)
    if problems or date is None or valid_until is None:
        return problems
    return StatedInput(
        key=".".join(key),
        label=label,
        unit=unit,
        shown=text,
        factor=scale,
        best=best,
        low=low,
        high=high,
        least=least,
        most=most,
        whole=entry.whole,
        percent=percent,
        status=status,
        source=_printable(table.get("source", "") or ("" if raw.default else NO_SOURCE)),
        date=date,
        where=where,
        unusual=_unusual(best * scale, entry, text, scale, dollar),
        valid_until=valid_until,
        by=_printable(by),
    )


def _number(value: Any, unit: Any, entry: Entry, currency: str, wanted: str) -> tuple[float, Stated]:
    if isinstance(value, bool) or value is None:
        raise _Wrong(f"{value!r} is not a number", 'write it like "7 min" or "3.20 USD/plate"')
    if isinstance(value, (int, float)):
        number, text = float(value), unit if isinstance(unit, str) else ""
        if not text and (entry.bare or entry.unit == "1"):
            return _finite(number), read_unit("year" if entry.unit == "year" else "", currency)
        if not text:
            raise _Wrong(f"{value} has no unit", f"write it in {entry.unit.replace('currency', currency)}")
        refuse_money_sign(f"{value} {text}", currency, wanted)
        return _finite(number), read_unit(text, currency)
    if not isinstance(value, str):
        raise _Wrong(f"{value!r} is not a number", 'write it like "7 min" or "3.20 USD/plate"')
    refuse_money_sign(value, currency, wanted)
    number, text = split_number(value)
    return _finite(number), read_unit(text, currency)


def _finite(number: float) -> float:
    if not abs(number) < 1e15:
        raise _Wrong(f"{number} is no number to reckon with", "write a number below 1e15")
    return number


def _limits(
    where: str,
    entry: Entry,
    ends: dict[str, float],
    least: float | None,
    most: float | None,
    unit: str,
    percent: bool,
) -> list[Problem]:
    def shown(x: float) -> str:
        return f"{x * 100:.6g} %" if percent else f"{x:.6g} {unit}".strip()

    problems = []
    for name, value in ends.items():
        at = where if name == "best" else f"{where}.{name}"
        # One mend each: what lies outside may not be whole either.
        if least is not None and value < least - 1e-12:
            problems.append(
                Problem(at, f"{shown(value)} is below {shown(least)}", f"state {shown(least)} or more")
            )
        elif most is not None and value > most + 1e-12:
            problems.append(
                Problem(at, f"{shown(value)} is above {shown(most)}", f"state {shown(most)} or less")
            )
        elif entry.whole and value != round(value):
            problems.append(Problem(at, f"{shown(value)} is not a whole number", f"state {round(value)}"))
    if "low" in ends and ends["low"] > ends["best"] + 1e-12:
        problems.append(
            Problem(
                where,
                f"low {shown(ends['low'])} is above best {shown(ends['best'])}",
                "put low <= best <= high",
            )
        )
    if "high" in ends and ends["high"] < ends["best"] - 1e-12:
        problems.append(
            Problem(
                where,
                f"high {shown(ends['high'])} is below best {shown(ends['best'])}",
                "put low <= best <= high",
            )
        )
    return problems


def _unusual(value: float, entry: Entry, unit: str, scale: float, dollar: float) -> str:
    """A warning where a figure lies outside ten times the usual range: often a price a box read as a price a plate.

    dollar : what turns an amount of US dollars, in which usual prices are, into this figure's currency
    """
    if entry.usual is None:
        return ""
    least, most = (x * dollar for x in entry.usual)
    if value == 0 or least / 10 <= value <= most * 10:
        return ""
    low, high = least / scale, most / scale
    return f"{value / scale:.6g} {unit} lies outside ten times the usual {low:.3g} to {high:.3g} {unit}"


def _in_system(stated: Stated, swap: dict[str, str]) -> Stated:
    if stated.below == ("L",) and stated.above in (("mg",), ("g",)):
        return stated  # what a liquid holds is told by the litre everywhere, as its limits are
    return Stated(tuple(swap.get(s, s) for s in stated.above), tuple(swap.get(s, s) for s in stated.below))


def _printable(text: object) -> str:
    return _line("".join(c if c.isprintable() else " " for c in str(text)))


def _line(text: object) -> str:
    return " ".join(str(text).split())[:250]


def _date(value: object) -> str | None:
    """YYYY-MM-DD; "" where none is stated, None where what is stated is no date."""
    if value is None:
        return ""
    if isinstance(value, (datetime.date, datetime.datetime)):
        return value.isoformat()[:10]
    if not isinstance(value, str) or not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", value.strip()):
        return None
    try:
        return datetime.date.fromisoformat(value.strip()).isoformat()
    except ValueError:
        return None
