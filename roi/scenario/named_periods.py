"""Periods that a text names, such as "service 2024/25", "July 2025" or "Q2 2025", as first and last days.

Only what names a stretch of time counts: an invoice number or a date on the day is none. A year alone is told apart, since it
may as well be a model's name.
"""

from __future__ import annotations

import calendar
import datetime as dt
import re
from collections.abc import Callable
from dataclasses import dataclass

Period = tuple[dt.date, dt.date]

_MONTHS = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]
_YEAR = r"(?:19[89]\d|20\d\d)"
# A digit, or a mark that joins digits, before or after: part of a number or a date, not a period of its own.
_FREE, _END = r"(?<![\d./-])", r"(?![\d]|[./-]\d)"
_PAIR = re.compile(rf"{_FREE}({_YEAR})\s?[/-]\s?(\d{{4}}|\d{{2}}){_END}")
_MONTH_YEAR = re.compile(rf"{_FREE}(0?[1-9]|1[0-2])\s?[/.-]\s?({_YEAR}){_END}")
_NAMED = re.compile(rf"\b({'|'.join(_MONTHS)})[a-z]*\.?,?\s+({_YEAR})\b")
_QUARTER = re.compile(rf"\bq([1-4])\s*[/ -]?\s*({_YEAR})\b")
_OF_YEAR = re.compile(rf"\b(?:fy|year|for)\s*({_YEAR})\b")
_ALONE = re.compile(rf"{_FREE}\b({_YEAR})\b{_END}")


@dataclass(frozen=True)
class Named:
    """The periods a text names, and the years that stand in it alone."""

    periods: tuple[Period, ...]
    alone: tuple[Period, ...]


def named(text: str, begins: int = 1) -> Named:
    """What a text names. A pair such as 2024/25 is a year that begins with month `begins`, and 2011-12 may be a month too."""
    left, found = text.casefold(), list[Period]()
    readers: tuple[tuple[re.Pattern[str], Callable[[re.Match[str]], list[Period]]], ...] = (
        (_PAIR, lambda m: _pair(int(m[1]), int(m[2]), len(m[2]), begins)),
        (_MONTH_YEAR, lambda m: [_months(int(m[2]), int(m[1]), 1)]),
        (_NAMED, lambda m: [_months(int(m[2]), _MONTHS.index(m[1]) + 1, 1)]),
        (_QUARTER, lambda m: [_months(int(m[2]), 3 * int(m[1]) - 2, 3)]),
        (_OF_YEAR, lambda m: _called(int(m[1]), begins)),
    )
    for pattern, read in readers:
        for match in pattern.finditer(left):
            periods = read(match)
            found += periods
            if periods:  # what has been read is not read again as something else
                left = left.replace(match[0], " " * len(match[0]))
    alone = tuple(_months(int(m[1]), 1, 12) for m in _ALONE.finditer(left))
    return Named(tuple(found), alone)


def overlap(one: Period, other: Period) -> bool:
    """Whether two periods share a day."""
    return one[0] <= other[1] and other[0] <= one[1]


def _called(year: int, begins: int) -> list[Period]:
    """A year of books may be called by the year in which it begins or by that in which it ends."""
    return [_months(year, 1, 12), _months(year, begins, 12), _months(year - 1, begins, 12)][
        : 3 if begins > 1 else 1
    ]


def _pair(first: int, second: int, digits: int, begins: int) -> list[Period]:
    found = []
    if second in (first + 1, (first + 1) % 100):
        found.append(_months(first, begins, 12))
    if digits == 2 and 1 <= second <= 12:
        found.append(_months(first, second, 1))
    return found


def _months(year: int, month: int, count: int) -> Period:
    """`count` whole months from a month on."""
    last = month + count - 2
    end_year, end_month = year + last // 12, last % 12 + 1
    return dt.date(year, month, 1), dt.date(end_year, end_month, calendar.monthrange(end_year, end_month)[1])


__all__ = ["Named", "Period", "named", "overlap"]
