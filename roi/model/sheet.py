"""One method's column while it is being written, and the ledger of its running costs.

Each family adds yearly amounts at year-0 prices, saying whether they follow the work or the calendar and which price
level they grow with; `family_over_years` turns a family's amounts into one block of money by year. Costs are positive
here; `finance` puts the signs on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from roi.engine.column import Column, Line
from roi.engine.expression import Expr
from roi.model.shop import Shop
from roi.model.tables import WorkTables
from roi.scenario.catalogue import drivers
from roi.scenario.scenario import Scenario
from roi.scenario.things import Method

LABELS = {
    "equipment": "Equipment: contract, repair, wear, downtime",
    "consumables": "Consumables",
    "waste": "Waste disposal",
    "energy": "Energy",
    "labour": "Labour",
    "press": "Press",
    "room": "Room and administration",
}


@dataclass(frozen=True)
class Cost:
    """A yearly amount of one family; `full` is the amount at full cost where that differs."""

    family: str
    growth: str
    follows: str
    cash: Line
    full: Line


@dataclass
class MethodSheet:
    """What the family modules write on: the column, the shop, and what earlier modules found out.

    amounts : a year's amount of each driver
    costs : yearly amounts of money entered so far
    lines : lines that later modules refer to, by a short name
    hours : hands-on hours a year, as (grade, "work" or "time", line)
    families : running cost by family, blocks over years
    """

    scenario: Scenario
    method: Method
    shop: Shop
    work: WorkTables
    column: Column
    amounts: dict[str, Expr] = field(default_factory=dict)
    costs: list[Cost] = field(default_factory=list)
    lines: dict[str, Line] = field(default_factory=dict)
    hours: list[tuple[str, str, Line]] = field(default_factory=list)
    families: dict[str, Line] = field(default_factory=dict)

    def inp(self, *key: str) -> Line:
        """One of the method's own inputs, fetched into its column."""
        return self.column.input(self.scenario.input("methods", self.method.id, *key))

    def shop_inp(self, *key: str) -> Line:
        """A shop-wide input, fetched into this column."""
        return self.column.input(self.scenario.input(*key))

    def has(self, *key: str) -> bool:
        """Whether the method states a number or a default does."""
        return self.scenario.has("methods", self.method.id, *key)

    def names(self, *key: str) -> tuple[str, ...]:
        """Names of the method's things of one kind: names("items")."""
        return self.scenario.names("methods", self.method.id, *key)

    def text(self, *key: str, default: str = "") -> str:
        """One of the method's texts."""
        return self.scenario.text("methods", self.method.id, *key, default=default)

    def label(self, *key: str) -> str:
        """What a thing is called."""
        return self.text(*key, "label", default=key[-1].replace("_", " ").capitalize())

    def cost(self, family: str, growth: str, follows: str, cash: Line, full: Line | None = None) -> None:
        """Enter a yearly amount; `follows` is "work" or "time"."""
        self.costs.append(Cost(family, growth, follows, cash, full if full is not None else cash))

    def by_driver(self, driver: str) -> tuple[Expr, str]:
        """A year's amount of a driver, and whether it follows the work or the calendar."""
        return self.amounts[driver], drivers()[driver]["follows"]


def family_over_years(
    sheet: MethodSheet, family: str, further: list[Line] | None = None
) -> tuple[Line, Line | None]:
    """A family's money by year, and what the full-cost view adds to it (None where nothing).

    `further` are blocks over years already in money of their year, such as pickups that come in whole numbers.
    Returns blocks over years in currency, zero in year 0 and beyond the horizon.
    """
    mine = [c for c in sheet.costs if c.family == family]
    cash = list(further or [])
    cash += _by_growth(sheet, family, "", [(c.growth, c.follows, c.cash) for c in mine])
    label = LABELS[family]
    total = _sum(sheet, label, cash)
    dearer = [c for c in mine if c.full is not c.cash]
    if not dearer:
        return total, None
    both = [(c.growth, c.follows, c.full) for c in dearer]
    full = _by_growth(sheet, family, "full cost, ", both)
    already = _by_growth(sheet, family, "its cash part, ", [(c.growth, c.follows, c.cash) for c in dearer])
    added = sheet.column.line(f"{label}, added at full cost", "currency", add(full) - add(already))
    return total, added


def _by_growth(sheet: MethodSheet, family: str, which: str, costs: list[tuple[str, str, Line]]) -> list[Line]:
    """One block for each price level the family's amounts grow with."""
    shop, column = sheet.shop, sheet.column
    blocks = []
    for growth in dict.fromkeys(g for g, _, _ in costs):
        name = f"{LABELS[family].split(':')[0]}, {which}{growth.replace('_', ' ')} prices"
        parts: list[Expr] = []
        for follows, scale, words in (
            ("work", shop.volume, "with the work"),
            ("time", shop.operating, "with time"),
        ):
            lines = [line for g, f, line in costs if g == growth and f == follows]
            if lines:
                amount = (
                    lines[0]
                    if len(lines) == 1
                    else column.line(f"{name}, {words}", "currency/year", add(lines))
                )
                parts.append(amount * scale)
        blocks.append(
            column.line(f"{name}, by year", "currency", (add(parts) * shop.growth[growth]).during("year"))
        )
    return blocks


def _sum(sheet: MethodSheet, label: str, blocks: list[Line]) -> Line:
    if not blocks:
        nothing = (sheet.shop.plates_called * 0).per("plate") * sheet.shop.operating
        return sheet.column.line(
            label, "currency", nothing.during("year").during("currency"), note="none for this method"
        )
    return sheet.column.line(label, "currency", add(blocks))


def add(parts: Sequence[Expr]) -> Expr:
    """The sum of one or more expressions."""
    total: Expr = parts[0]
    for part in parts[1:]:
        total = total + part
    return total
