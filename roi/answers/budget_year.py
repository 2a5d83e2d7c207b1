"""What a budget's year is made of: each line's amounts of the year, and which share of the year each of them follows.

Currency, costs positive, receipts negative, in money of year 1. Nothing here knows months: an amount names the shape that
spreads it (`Shape`), and `budget_months` makes the months. Cash is what is paid: stock written off and resale forgone aren't.
In profit and loss what is capitalised stands as depreciation, in a straight line over its life down to what it will fetch,
which is not the tax schedule; what the books hold of the old equipment goes out in the month of the switch, unless it is
kept as a backup. Tax on profit is in neither.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from roi.answers.budget_entries import Entry, Parts, Shape, Way
from roi.engine.column import Column, Line
from roi.engine.expression import Constant, Expr
from roi.engine.operations import at, at_least, constant, larger, opposite
from roi.model.backup import has_backup
from roi.model.equipment import CAPITALISED
from roi.model.keeping import displaced, keeps_stock
from roi.model.sheet import LABELS, MethodSheet, add
from roi.model.study import Study

TAXED = (
    "equipment",
    "consumables",
    "waste",
    "energy",
)  # families whose purchases bear VAT; wages, press and room don't here
CAPITAL, ONE_OFFS, VAT, DEPRECIATION = "capital", "one_offs", "unrecovered_vat", "depreciation"
# What of a family has these prices; a family's own words go first.
_KINDS = {
    "equipment": "wear and rental",
    "general": "other",
    "equipment.bought_in": "plates bought while a machine is down",
}
_NONE = Constant(0).during("currency")


@dataclass
class BudgetYear:
    """The column of amounts, and both ways.

    dated : price groups whose rise falls on a stated month of a year
    """

    column: Column
    staying: Way
    switching: Way
    dated: tuple[str, ...]

    @property
    def ways(self) -> tuple[Way, Way]:
        return self.staying, self.switching


def budget_year(study: Study, method: str) -> BudgetYear:
    """Write the amounts of a study in which `leaving.month` is stated; `method` is the one switched to, by id."""
    return _Builder(study, method).build()


class _Builder:
    def __init__(self, study: Study, method: str) -> None:
        self.study, self.scenario = study, study.scenario
        note = "Amounts of the year by method, family and price group, before they are spread over months."
        self.column = Column("Budget year", "budget_year", note=note)
        self.old, self.new = study.methods[self.scenario.current], study.methods[method]
        has = self.scenario.has
        self.dated = tuple(g for g in study.shop.growth if has("price_steps", g, "month"))
        self.vat: Line | None = None
        self.amounts: dict[tuple[str, str, str, str], Line] = {}

    def build(self) -> BudgetYear:
        c, has = self.column, self.scenario.has
        if has("money", "vat_rate") and has("money", "vat_unrecovered"):
            c.heading("VAT or sales tax that is not recovered", "Prices that hold it already bear none here.")
            share = self._shop("money", "vat_rate") * self._shop("money", "vat_unrecovered")
            self.vat = c.line("Added to what is bought", "1", share)
        for sheet in (self.old, self.new):
            self._running(sheet)
        staying = Way("staying", f"Staying with {self.old.method.short}", self.old)
        switching = Way("switching", f"Switching to {self.new.method.short}", self.new)
        for way in (staying, switching):
            way.running = list(self._families(way))
            if self.vat is not None:
                way.vat = self._vat_on_running(way)
            self._once(way)
        return BudgetYear(c, staying, switching, self.dated)

    # --- small things
    def _shop(self, *key: str) -> Line:
        return self.column.input(self.scenario.input(*key))

    def _line(self, label: str, body: Expr, unit: str = "currency") -> Line:
        return self.column.line(label, unit, body)

    def _account(self, name: str) -> str:
        return self.scenario.text("accounts", name)

    def _entry(self, key: str, label: str, account: str, parts: Parts) -> Entry:
        return Entry(key, label, self._account(account), parts)

    def _moved(self, group: str) -> str:
        return group if group in self.dated else ""

    # --- running costs
    def _running(self, sheet: MethodSheet) -> None:
        """The parts of year 1 that the method's own column holds, a line for each family, price group and what it follows."""
        short = sheet.method.short
        self.column.heading(f"{short}: running costs of year 1", "Cash, before tax, at the prices of year 1.")
        for family in LABELS:
            for (of, group, follows), parts in sheet.year_1.items():
                if of != family:
                    continue
                words = f"{short}, {_family(family)}, {_group(group)} prices, with {'the work' if follows == 'work' else 'time'}"
                each = parts
                if len(parts) > 1:
                    each = [self._line(f"{words}, part {i}", part) for i, part in enumerate(parts, 1)]
                key = (sheet.method.id, family, group, follows)
                self.amounts[key] = self._line(words, add(each))

    def _of(self, sheet: MethodSheet, family: str, group: str, runs: str) -> Parts:
        return [
            (line, Shape(follows, runs, self._moved(group)))
            for follows in ("work", "time")
            if (line := self.amounts.get((sheet.method.id, family, group, follows))) is not None
        ]

    def _runs(self, way: Way) -> list[tuple[MethodSheet, str]]:
        """Which method runs in which months."""
        return [(self.old, "all")] if way.sheet is self.old else [(self.old, "old"), (self.new, "new")]

    def _families(self, way: Way) -> Iterable[Entry]:
        for family in LABELS:
            subs = []
            for group in self.study.shop.growth:
                parts = [p for sheet, runs in self._runs(way) for p in self._of(sheet, family, group, runs)]
                if parts:
                    label = f"{_family(family)}: {self._kind(family, group)}"
                    subs.append(self._entry(f"{family}.{group}", label, family, parts))
            parts = [part for sub in subs for part in sub.parts]
            yield Entry(
                family, _family(family), self._account(family), parts, tuple(subs) if len(subs) > 1 else ()
            )

    def _kind(self, family: str, group: str) -> str:
        """What of a family has a group's prices, in words; other consumables less what is sold, such as used plates as scrap."""
        words = _KINDS.get(f"{family}.{group}", _KINDS.get(group, _group(group)))
        if (family, group) != ("consumables", "general"):
            return words
        sold = [
            sheet.has("items", name, "credit")
            for sheet in (self.old, self.new)
            for name in sheet.names("items")
            if sheet.text("items", name, "family") == family
            and sheet.text("items", name, "growth", default="general") == group
        ]
        return ("scrap sold" if all(sold) else f"{words}, less scrap sold") if any(sold) else words

    def _holds_vat(self, sheet: MethodSheet, family: str, group: str) -> bool:
        """Whether a price is stated to hold the tax: those of plates bought in, of energy and of the method apart."""
        if family == "energy":
            return False
        where = ("bought_in",) if group == "bought_in" else ("methods", sheet.method.id)
        return self.scenario.plain(*where, "prices_with_vat") is True

    def _vat_on_running(self, way: Way) -> Entry:
        assert self.vat is not None
        parts: Parts = []
        for sheet, runs in self._runs(way):
            for follows in ("work", "time"):
                for moved in ("", *self.dated):
                    taxed = [
                        line
                        for (method, family, group, kind), line in self.amounts.items()
                        if method == sheet.method.id and kind == follows and family in TAXED and group != "wages"
                        and self._moved(group) == moved and not self._holds_vat(sheet, family, group)
                    ]  # fmt: skip
                    if taxed:
                        words = f", {_group(moved)} prices" if moved else ""
                        label = f"{way.label}: VAT on what {sheet.method.short} buys{words}, with {follows}"
                        parts.append((self._line(label, add(taxed) * self.vat), Shape(follows, runs, moved)))
        return self._entry("vat.running", "VAT or sales tax not recovered: running costs", VAT, parts)

    # --- what is paid once
    def _once(self, way: Way) -> None:
        self.column.heading(f"{way.label}: paid once", "Receipts are negative.")
        sheet, changes = way.sheet, way.sheet is self.new
        self.now = Shape("switch" if changes else "first")
        paid: list[Expr] = []
        if sheet.names("equipment"):
            paid = self._equipment(way)
        if changes:
            self._leaving(way)
        if "resale" in sheet.lines and any(
            m.resale is not None or m.sold is not None for m in sheet.machines
        ):
            sold = self._line(
                f"{way.label}: resale of units replaced at the end of year 1",
                0 - at(sheet.lines["resale"], 1),
            )
            parts = [(sold, Shape("last"))]
            if any(m.sold is not None for m in sheet.machines):
                first = self._line(
                    f"{way.label}: resale of units replaced at once", 0 - at(sheet.lines["resale"], 0)
                )
                parts.insert(0, (first, self.now))
            entry = self._entry("resale", "Resale of units replaced", ONE_OFFS, parts)
            way.one_offs.append(entry)
            way.charged.append(entry)
        if changes and "working" in sheet.lines:
            block = sheet.lines["working"]
            times = ((0, "at the switch", self.now), (1, "at the end of year 1", Shape("last")))
            parts = [
                (self._line(f"Working capital paid in, {w}", at(block, y) + 0), shape)
                for y, w, shape in times
            ]
            way.working = self._entry("working", "Stock of consumables built up", ONE_OFFS, parts)
            way.one_offs.append(way.working)
        self._books(way, paid)

    def _equipment(self, way: Way) -> list[Expr]:
        """What is bought, brought into use and learnt; returns what was paid with its tax at the switch and at the year's end."""
        sheet, lines, label = way.sheet, way.sheet.lines, way.label
        bought = [self._line(f"{label}: equipment bought, {w}", at(lines["purchases"], y) + 0)
                  for y, w in ((0, "at first"), (1, "at the end of year 1"))]  # fmt: skip
        start, spare, training = (
            self._line(f"{label}: {words}", lines[key] + 0)
            for key, words in (
                ("start", "bringing into use"),
                ("spare", "contingency"),
                ("training", "training"),
            )
        )
        now = self.now
        way.one_offs += [
            self._entry(
                "purchases", "Equipment bought", CAPITAL, [(bought[0], now), (bought[1], Shape("last"))]
            ),
            self._entry("start", "Bringing it into use", CAPITAL, [(start, now)]),
            self._entry("contingency", "Contingency on first cost", CAPITAL, [(spare, now)]),
            self._entry("training", "Training", ONE_OFFS, [(training, now)]),
        ]
        paid: list[Expr] = [bought[0] + start + spare + training, bought[1] + 0]
        if self._adds_vat(sheet) is not None:
            assert self.vat is not None
            taxes = [self._line(f"{label}: VAT on equipment and training, {w}", money * self.vat)
                     for money, w in zip(paid, ("at first", "at the end of year 1"), strict=True)]  # fmt: skip
            parts = [(taxes[0], now), (taxes[1], Shape("last"))]
            way.one_offs.append(
                self._entry("vat.capital", "VAT or sales tax not recovered: equipment", VAT, parts)
            )
            paid = [money + tax for money, tax in zip(paid, taxes, strict=True)]
        return paid

    def _adds_vat(self, sheet: MethodSheet) -> Line | None:
        return None if self._holds_vat(sheet, "equipment", "equipment") else self.vat

    def _leaving(self, way: Way) -> None:
        lines = way.sheet.lines
        if "change_cost" in lines:
            body: Expr = at(lines["change_cost"], 0) + 0
            if self.scenario.has("leaving", "stock") and not keeps_stock(self.new, self.old):
                stock = self._shop("leaving", "stock")
                body = body - stock
                way.unpaid.append(
                    self._entry("stock", "Stock of the old method written off", ONE_OFFS, [(stock, self.now)])
                )
            left = self._line("Leaving the old method, paid", body)
            entries = [
                self._entry(
                    "leaving", "Leaving the old method: draining, dues, notice", ONE_OFFS, [(left, self.now)]
                )
            ]
            for key, words in (("parallel", "Both methods running"), ("learning", "Learning")):
                if key in lines:
                    money = self._line(f"{words}, in all", lines[key] + 0)
                    entries.append(self._entry(key, words, ONE_OFFS, [(money, Shape(key))]))
            way.one_offs += entries
            way.charged += entries
        if "sale" in lines:
            sold = self._line("Sale of displaced equipment, received", 0 - at(lines["sale"], 0))
            entry = self._entry("sale", "Sale of displaced equipment", ONE_OFFS, [(sold, self.now)])
            way.one_offs.append(entry)
            way.charged.append(entry)

    # --- profit and loss
    def _books(self, way: Way, paid: Sequence[Expr]) -> None:
        """What is capitalised, what of the equipment is charged at once, and depreciation."""
        label = way.label
        self.column.heading(f"{label}: in profit and loss")
        if paid:
            kept, yearly = self._items(way)
            charged = [self._line(f"{label}: equipment and training charged at once, {w}", money - held)
                       for money, held, w in zip(paid, kept, ("at first", "at the end of year 1"), strict=True)]  # fmt: skip
            parts = [(charged[0], self.now), (charged[1], Shape("last"))]
            way.charged.insert(
                0, self._entry("charged", "Equipment and training charged at once", CAPITAL, parts)
            )
            parts = [(kept[0], self.now), (kept[1], Shape("last"))]
            way.capitalised = self._entry("capitalised", "Capitalised, not charged at once", CAPITAL, parts)
            runs = "new" if way.sheet is self.new else "all"
            parts = [(yearly, Shape("time", runs))]
            way.unpaid.append(
                self._entry("depreciation.new", "Depreciation of what is bought", DEPRECIATION, parts)
            )
        owned = self._owned(way)
        if owned:
            way.unpaid.append(
                self._entry("depreciation.owned", "Depreciation of what is owned", DEPRECIATION, owned)
            )
        left = self._left_of_the_old() if way.sheet is self.new and not has_backup(self.new) else None
        if left is not None:
            words = "Book value of the old equipment written off"
            way.unpaid.append(self._entry("write_off", words, DEPRECIATION, [(left, self.now)]))
        way.charged += way.unpaid

    def _items(self, way: Way) -> tuple[list[Line], Line]:
        """Of the way's equipment: what is capitalised at first and at the end of year 1, and depreciation of a whole year."""
        sheet, level = way.sheet, self.study.shop.growth["equipment"]
        share, tax = self._shop("money", "contingency"), self._adds_vat(sheet)
        kept: tuple[list[Expr], list[Expr]] = ([], [])
        yearly: list[Expr] = []
        for machine in sheet.machines:
            words = f"{way.label}: {machine.label}"
            here = ("methods", sheet.method.id, "equipment", machine.name)
            extras = [self._shop(*here, e) for e in CAPITALISED if self.scenario.has(*here, e)]
            price: Expr = machine.price * at(level, 0)
            first = add([price, *extras]) * at(machine.bought, 0) * (1 + share)
            again: Expr = machine.price * at(level, 1) * at(machine.bought, 1)
            costs = []
            for body, when_ in ((first, "at first"), (again, "at the end of year 1")):
                cost = self._line(f"{words}, {when_}", body if tax is None else body * (1 + tax))
                if self.scenario.has("money", "capitalise_above"):
                    above = opposite(at_least(self._shop("money", "capitalise_above"), cost))
                    cost = self._line(f"{words}, {when_}, capitalised", cost * above)
                costs.append(cost)
            kept[0].append(costs[0])
            kept[1].append(costs[1])
            falls: Expr = costs[0]
            if machine.resale is not None:
                # What it is to fetch, never more than is on the books.
                fetched = self._line(
                    f"{words}, resale share at first", machine.price * machine.resale * at(level, 0)
                )
                falls = larger(0, costs[0] - fetched)
            yearly.append(self._line(f"{words}, depreciation a year", (falls / machine.life).during("year")))
        held = [self._line(f"{way.label}: capitalised, {w}", add(parts) if parts else _NONE)
                for parts, w in zip(kept, ("at first", "at the end of year 1"), strict=True)]  # fmt: skip
        whole = self._line(
            f"{way.label}: depreciation a year of what is bought", add(yearly) if yearly else _NONE
        )
        return held, whole

    def _has_book(self, sheet: MethodSheet) -> bool:
        return any(sheet.has("equipment", m.name, "tax_book") for m in sheet.machines)

    def _left_of_the_old(self) -> Line | None:
        """What the books still hold, in the month of the switch, of the equipment that is left; None where they hold none."""
        here = ("methods", self.old.method.id, "equipment")
        month = self._shop("leaving", "month") / constant(12, "month/year")
        left: list[Expr] = []
        for name in displaced(self.new, self.old):
            if self.scenario.has(*here, name, "tax_book"):
                book, years = self._shop(*here, name, "tax_book"), self._shop(*here, name, "tax_years_left")
                words = f"{self.old.label('equipment', name)}, book value left at the switch"
                left.append(self._line(words, book * larger(0, 1 - month / years)))
        return self._line("Book value left of the old equipment at the switch", add(left)) if left else None

    def _off(self, sheet: MethodSheet) -> Expr:
        return at(sheet.lines["old_book_off"], 1)

    def _owned(self, way: Way) -> Parts:
        """Depreciation of year 1 of equipment owned before it: that of the old method ends with it unless it is kept."""
        parts: Parts = []
        for sheet, runs in self._runs(way):
            if self._has_book(sheet):
                kept = sheet is self.old and has_backup(self.new)
                line = self._line(
                    f"{way.label}: {sheet.method.short}, book value written down in year 1",
                    self._off(sheet) + 0,
                )
                parts.append((line, Shape("time", "all" if kept else runs)))
        return parts


def _family(family: str) -> str:
    return LABELS[family].split(":")[0]


def _group(group: str) -> str:
    return group.replace("_", " ")


__all__ = ["BudgetYear", "budget_year"]
