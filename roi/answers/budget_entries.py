"""What a budget is made of: lines with amounts of the year, and the shapes by which amounts fall into months.

Amounts are lines in currency, costs positive, receipts negative.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from roi.engine.column import Line
from roi.model.sheet import MethodSheet


@dataclass(frozen=True)
class Shape:
    """How an amount of the year falls into its months.

    kind : "work" or "time"; "first" or "last" month; "switch", the month of it; "parallel" or "learning", from it on
    runs : "all" months, those of the "old" method or of the "new" one
    group : the price group whose dated rise within the year moves it, "" for none
    """

    kind: str
    runs: str = "all"
    group: str = ""


Parts = list[tuple[Line, Shape]]


@dataclass(frozen=True)
class Entry:
    """A line of a budget: `sub` lines stand below their family's and add up to it."""

    key: str
    label: str
    account: str
    parts: Parts
    sub: tuple[Entry, ...] = ()


@dataclass
class Way:
    """One way through the year: staying or switching. Entries in reading order.

    running : the families;  vat : what is not recovered on them, None where not stated
    one_offs : capital and all that is paid once, in cash
    charged : what stands in profit and loss instead of those one-offs
    capitalised : paid, and not charged at once;  working : paid into stock, not charged
    unpaid : charged in this year and not paid in it (stock written off, depreciation, book value written off)
    """

    name: str
    label: str
    sheet: MethodSheet
    running: list[Entry] = field(default_factory=list)
    vat: Entry | None = None
    one_offs: list[Entry] = field(default_factory=list)
    charged: list[Entry] = field(default_factory=list)
    capitalised: Entry | None = None
    working: Entry | None = None
    unpaid: list[Entry] = field(default_factory=list)


__all__ = ["Entry", "Parts", "Shape", "Way"]
