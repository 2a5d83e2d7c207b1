"""One method's column while it is being written, and the ledger of its running costs.

Each family adds yearly amounts at year-0 prices, saying whether they follow the work or the calendar and which price
level they grow with; `family_over_years` turns a family's amounts into one block of money by year. Costs are positive
here; `finance` puts the signs on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from roi.engine.column import Column, Line
from roi.engine.expression import Constant, Expr
from roi.engine.operations import at, power, product_sum, smaller
from roi.model.shop import Shop
from roi.model.tables import WorkTables
from roi.scenario.catalogue import drivers
from roi.scenario.scenario import Scenario
from roi.scenario.things import Method

MANY = 100  # terms of one sum

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


@dataclass(frozen=True)
class Used:
    """A yearly amount of something physical: a line at the log's volume that follows "work" or "time", or "year" for a
    block over years. The same label in two methods is the same thing."""

    label: str
    follows: str
    amount: Line


@dataclass(frozen=True)
class Machine:
    """A unit of equipment bought new: price, what bringing it into use and training cost, whole years of life, resale
    share of the price or None.

    name : what its table in the scenario is called;  bought : 1 in each year one is bought
    first : the year of the first purchase where one is owned at the switch, else None
    sold : what the one owned fetches when it is replaced, by year, where `resale_now` says so, else None
    """

    name: str
    label: str
    price: Line
    brought: tuple[Line, ...]
    life: Line
    resale: Line | None
    bought: Line
    first: Line | None
    sold: Line | None = None


@dataclass
class MethodSheet:
    """What the family modules write on: the column, the shop, and what earlier modules found out.

    amounts : a year's amount of each driver
    costs : yearly amounts of money entered so far
    lines : lines that later modules refer to, by a short name
    hours : hands-on hours a year, as (grade, "work" or "time", line)
    families : running cost by family, blocks over years
    todays : each family's cost of year 1 at prices of year 0, in currency, by price group
    machines : what is or was bought
    rising : blocks over years, in currency, of what age adds to repairs
    used : what the method uses up or leaves, for the sheet of resources
    hazardous : waste that is or may be hazardous, blocks by year in L/year
    dues : what is still due for leaving the current method, in currency, a line each
    base : the sheet of the method that this one is the same as, where it is
    year_1 : cash of year 1 in its money by (family, price group, "work" or "time"), as parts to be added, in currency
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
    todays: dict[str, tuple[tuple[str, Line], ...]] = field(default_factory=dict)
    used: list[Used] = field(default_factory=list)
    hazardous: list[Line] = field(default_factory=list)
    machines: list[Machine] = field(default_factory=list)
    rising: list[Line] = field(default_factory=list)
    year_1: dict[tuple[str, str, str], list[Expr]] = field(default_factory=dict)
    base: MethodSheet | None = None
    dues: list[Line] = field(default_factory=list)

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

    def scale_of_base(self, bill: str) -> Line | None:
        """What a bill of last year stands at against the model of the method that was invoiced, where that is a base."""
        whose = self.scenario.same.get(("methods", self.method.id, "last_year", bill))
        here = self.base
        while whose is not None and here is not None and here.method.id != whose[1]:
            here = here.base
        return here.lines.get(f"invoice.{bill}.scale") if whose is not None and here is not None else None

    def by_driver(self, driver: str) -> tuple[Expr, str]:
        """A year's amount of a driver, and whether it follows the work or the calendar."""
        return self.amounts[driver], drivers()[driver]["follows"]


@dataclass(frozen=True)
class FamilyMoney:
    """A family's money: by year (currency, zero in year 0 and beyond the horizon), and what all years are worth today.

    today : year 1 at prices of year 0, in currency
    added, added_worth : what the full-cost view adds to each, None where nothing
    parts : what `today` is the sum of, each with the price group it grows with
    """

    by_year: Line
    worth: Line
    today: Line
    added: Line | None
    added_worth: Line | None
    parts: tuple[tuple[str, Line], ...] = ()


def family_over_years(
    sheet: MethodSheet, family: str, further: Sequence[tuple[str, Line]] = ()
) -> FamilyMoney:
    """A family's money by year and its present worth, before tax.

    `further` are blocks over years already in money of their year, such as pickups that come in whole numbers, each with
    the price group it grows with.
    """
    mine = [c for c in sheet.costs if c.family == family]
    shop, column, label = sheet.shop, sheet.column, LABELS[family]
    parts = [_Priced(sheet, family, "", g, f, [c.cash for c in mine if (c.growth, c.follows) == (g, f)])
             for g, f in _prices_met(mine)]  # fmt: skip
    blocks = [*(block for _, block in further), *_by_growth(sheet, family, "", parts)]
    by_year = _sum(sheet, label, blocks)
    worths = [p.worth for p in parts]
    worths += [
        column.line(f"{block.label}, present worth", "currency", product_sum(block, shop.discount_running))
        for _, block in further
    ]
    short = label.split(":")[0]
    groups = (*(p.growth for p in parts), *(growth for growth, _ in further))
    todays = [p.today(shop) for p in parts]
    todays += [
        column.line(f"{block.label}, at today's prices", "currency", _at_today(shop, block, growth))
        for growth, block in further
    ]
    nothing = (sheet.shop.annuity * 0).during("currency")
    worth = column.line(f"{short}, present worth", "currency", add(worths) if worths else nothing)
    today = column.line(f"{short}, at today's prices", "currency", add(todays) if todays else nothing)
    dearer = [c for c in mine if c.full is not c.cash]
    if not dearer:
        return FamilyMoney(by_year, worth, today, None, None, tuple(zip(groups, todays, strict=True)))
    more = [
        _Priced(sheet, family, "added at full cost, ", g, f,
                [c.full - c.cash for c in dearer if (c.growth, c.follows) == (g, f)])
        for g, f in _prices_met(dearer)
    ]  # fmt: skip
    added = column.line(
        f"{label}, added at full cost",
        "currency",
        add(_by_growth(sheet, family, "added at full cost, ", more)),
    )
    added_worth = column.line(
        f"{short}, added at full cost, present worth", "currency", add([p.worth for p in more])
    )
    return FamilyMoney(by_year, worth, today, added, added_worth, tuple(zip(groups, todays, strict=True)))


def _prices_met(costs: list[Cost]) -> list[tuple[str, str]]:
    """Pairs of price group and what costs follow, groups together, "work" before "time"."""
    groups = dict.fromkeys(c.growth for c in costs)
    met = {(c.growth, c.follows) for c in costs}
    return [(g, f) for g in groups for f in ("work", "time") if (g, f) in met]


class _Priced:
    """A family's yearly amounts that grow with one price group and follow one thing."""

    def __init__(
        self, sheet: MethodSheet, family: str, which: str, growth: str, follows: str, parts: Sequence[Expr]
    ) -> None:
        words = "with the work" if follows == "work" else "with time"
        name = f"{LABELS[family].split(':')[0]}, {which}{growth.replace('_', ' ')} prices, {words}"
        self.growth, self.follows = growth, follows
        only = parts[0]
        self.amount = (
            only
            if len(parts) == 1 and isinstance(only, Line)
            else sheet.column.line(name, "currency/year", add(parts))
        )
        self.worth = sheet.column.line(
            f"{name}, present worth", "currency", self.amount * sheet.shop.worth[growth][follows]
        )
        self._column, self._name = sheet.column, name

    def today(self, shop: Shop) -> Line:
        """The amount of year 1 at prices of year 0."""
        work: Expr = at(shop.volume, 1) if self.follows == "work" else Constant(1)
        if self.growth in shop.price_share:
            work = work * shop.price_share[self.growth]
        return self._column.line(
            f"{self._name}, at today's prices", "currency", (self.amount * work).during("year")
        )


def _at_today(shop: Shop, block: Line, growth: str) -> Expr:
    """Year 1 of a block of money without the growth of its prices."""
    unlevelled = at(block, 1) / at(shop.growth[growth], 1)
    return unlevelled * shop.price_share[growth] if growth in shop.price_share else unlevelled


def _by_growth(sheet: MethodSheet, family: str, which: str, priced: list[_Priced]) -> list[Line]:
    """One block over years for each price group the family's amounts grow with."""
    shop = sheet.shop
    scale = {"work": shop.volume, "time": shop.operating}
    blocks = []
    for growth in dict.fromkeys(p.growth for p in priced):
        name = f"{LABELS[family].split(':')[0]}, {which}{growth.replace('_', ' ')} prices"
        parts = [p.amount * scale[p.follows] for p in priced if p.growth == growth]
        blocks.append(
            sheet.column.line(
                f"{name}, by year", "currency", (add(parts) * shop.growth[growth]).during("year")
            )
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
    if len(parts) > MANY:  # nested one in the other, so many would pass what Python recurses
        half = len(parts) // 2
        return add(parts[:half]) + add(parts[half:])
    total: Expr = parts[0]
    for part in parts[1:]:
        total = total + part
    return total


def share_without(empty: Expr, count: Expr, days: Expr) -> Expr:
    """Share of a year's days on which none of so many forms falls; `empty` is the chance that one falls on another day.

    What is beyond a hundred forms a day is left out: it is nothing in sixteen digits, and a power so small is an error to
    some programs.
    """
    return power(empty, smaller(count, days.per("day").during("year") * 100))
