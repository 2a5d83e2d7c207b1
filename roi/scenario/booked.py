"""Rows of a ledger as they were judged, and a year of them.

Amounts are in the scenario's currency, charges positive and credits negative, as booked: nothing is scaled here. Texts are
cleaned to one printable line. How rows are read and judged is left to `ledger`.
"""

from __future__ import annotations

import datetime as dt
import re
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from roi.scenario.problems import Problem
from roi.scenario.words import fold

COUNTED, LEFT_OUT, INTERNAL, OTHER_YEAR, UNMAPPED = (
    "counted",
    "left out",
    "internal",
    "other year",
    "unmapped",
)
# Charges between departments of one house: no cash leaves it. Conventions of this tool, in English.
_INTERNAL = re.compile(
    r"\brecharge|\bcross[- ]?charge|\binternal (?:charge|transfer|invoice)|\b(?:overhead|cost) allocation\b"
)


@dataclass(frozen=True)
class Booked:
    """One row: the file's row number, day, cleaned texts, amount (a charge positive).

    kind : one of counted, left out, internal, other year, unmapped
    head : the family or price group it stands for, "" where none;  why : the reason where it isn't counted
    """

    row: int
    day: dt.date
    account: str
    supplier: str
    text: str
    amount: float
    kind: str
    head: str
    why: str


@dataclass(frozen=True)
class Group:
    """Rows of one account and supplier together."""

    account: str
    supplier: str
    rows: int
    amount: float


@dataclass(frozen=True)
class Ledger:
    """A year of a ledger.

    first, last : the year's days, both counted;  year_said : who says so, for readers
    rows : every row that could be read, in the file's order
    doubts : what to look at, none of which changes a figure;  notes : how it was read
    skipped : rows that couldn't be used, one problem a kind, and rows_skipped, how many of rows_read
    """

    file: str
    first: dt.date
    last: dt.date
    year_said: str
    rows: tuple[Booked, ...]
    doubts: tuple[Problem, ...]
    notes: tuple[str, ...]
    skipped: tuple[Problem, ...]
    rows_read: int
    rows_skipped: int

    @property
    def days(self) -> int:
        """Days of the year stated or found."""
        return (self.last - self.first).days + 1

    @property
    def called(self) -> str:
        """The year for readers: "2025", "2025/26", or its first and last day."""
        following = self.last + dt.timedelta(days=1)
        if self.first.day == following.day == 1 and following == year_on(self.first):
            return f"{self.first:%Y}" if self.first.month == 1 else f"{self.first:%Y}/{self.last:%y}"
        return f"{self.first} to {self.last}"

    def of(self, kind: str, head: str | None = None) -> list[Booked]:
        """The rows of a kind, and of a head where one is given."""
        return [row for row in self.rows if row.kind == kind and (head is None or row.head == head)]

    def groups(self, kind: str) -> list[Group]:
        """The rows of a kind by account and supplier, the largest amount first."""
        found: dict[tuple[str, str], list[float]] = defaultdict(list)
        for row in self.of(kind):
            found[row.account, row.supplier].append(row.amount)
        groups = [Group(*key, len(amounts), sum(amounts)) for key, amounts in found.items()]
        return sorted(groups, key=lambda group: -abs(group.amount))


def is_internal(texts: Iterable[str]) -> bool:
    """Whether texts of a row read like a charge between departments of one house."""
    return any(_INTERNAL.search(fold(text)) for text in texts)


def year_on(day: dt.date) -> dt.date:
    """The same day a year later; of 29 February, 1 March."""
    try:
        return day.replace(year=day.year + 1)
    except ValueError:
        return dt.date(day.year + 1, 3, 1)


__all__ = [
    "COUNTED", "INTERNAL", "LEFT_OUT", "OTHER_YEAR", "UNMAPPED", "Booked", "Group", "Ledger", "is_internal", "year_on",
]  # fmt: skip
