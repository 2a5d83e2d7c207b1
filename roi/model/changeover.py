"""What changing over costs, once: leaving the old method, running both for a while, learning, stocks of the new one.

Only a method that isn't the current one pays it, and only what is stated counts. Money positive in currency, by year: year
0 is the switch, learning and running both fall into year 1. The displaced equipment is sold to the challenger's credit; what
it fetches above its tax book value is taxed, what it falls short is relieved. Working capital is paid in year 0, topped up
as the work and prices rise, and comes back in the last year; it isn't taxed.
"""

from __future__ import annotations

from dataclasses import dataclass

from roi.engine.column import Line
from roi.engine.expression import Expr
from roi.engine.operations import at, at_least, constant, larger, opposite, pick
from roi.model.dues import add_dues
from roi.model.keeping import displaced, keeps_stock, replaces_all
from roi.model.sheet import MethodSheet, add
from roi.scenario.files import Key

_MONTHS = constant(12, "month/year")


@dataclass(frozen=True)
class Changeover:
    """Blocks over years in currency; None where nothing of the kind is stated.

    cost : what is spent and relieved in the same year
    sale, book : what the displaced equipment fetches, and its tax book value, in year 0
    working : working capital paid in, negative where it comes back
    """

    cost: Line | None
    sale: Line | None
    book: Line | None
    working: Line | None


def fixed_costs(sheet: MethodSheet) -> Line:
    """A method's running costs of year 1 that follow time, without baths: what running it beside another costs."""
    shop, column = sheet.shop, sheet.column
    parts = []
    for growth in dict.fromkeys(c.growth for c in sheet.costs if c.follows == "time"):
        mine = [c.cash for c in sheet.costs if (c.growth, c.follows) == (growth, "time")]
        words = growth.replace("_", " ")
        yearly = column.line(f"Fixed costs, {words} prices", "currency/year", add(mine))
        level = at(shop.growth[growth], 1)
        parts.append(column.line(f"Fixed costs of year 1, {words} prices", "currency/year", yearly * level))
    nothing = constant(0, "currency/year")
    return column.line("Fixed costs of year 1", "currency/year", add(parts) if parts else nothing)


def add_changeover(sheet: MethodSheet, old: MethodSheet | None) -> Changeover:
    """The challenger's lines of changing over from the `old` method; None is the current method itself, which pays none."""
    if old is None:
        return Changeover(None, None, None, None)
    return _Builder(sheet, old).build()


def add_undoing(sheet: MethodSheet) -> None:
    """What it costs to go back in a stated month, before tax: a measure beside the costs. Needs the finance lines.

    What was paid at the switch and not fetched again, what the old way costs to bring back, and what an agreement still
    demands. Equipment a few months old fetches its resale share.
    """
    if not sheet.has("changeover", "undo"):
        return
    column = sheet.column
    sheet.lines["undo_month"] = sheet.inp("changeover", "undo_month")
    column.heading("Undoing the change", "Not in the costs above: what going back would take.")
    share = sheet.shop.price_share["equipment"]
    fetched: list[Expr] = [
        m.price * m.resale * share for m in sheet.machines if m.resale is not None and m.first is None
    ]
    if sheet.has("backup", "resale"):  # what was kept as a backup can still be sold
        fetched.append(sheet.inp("backup", "resale"))
    gone = sheet.lines["first_cost"]
    if fetched:
        sheet.lines["sold_again"] = again = column.line("Equipment sold again", "currency", add(fetched))
        gone = column.line("First cost not fetched again", "currency", gone - again)
    parts: list[Expr] = [gone, sheet.inp("changeover", "undo")]
    if sheet.has("agreement", "minimum"):
        years = larger(0, sheet.inp("agreement", "years") - sheet.inp("changeover", "undo_month") / _MONTHS)
        left = column.line("Years an agreement still runs", "year", years)
        dues = left * sheet.inp("agreement", "minimum") * sheet.inp("agreement", "price")
        if sheet.has("agreement", "share_due"):
            dues = dues * sheet.inp("agreement", "share_due")
        parts.append(column.line("What the agreement still demands", "currency", dues))
    for name in sheet.names("equipment"):
        if sheet.has("equipment", name, "rental_left"):
            agreed, month = (
                sheet.inp("equipment", name, "rental_left"),
                sheet.inp("changeover", "undo_month"),
            )
            rental = sheet.inp("equipment", name, "rental") * larger(0, agreed - month)
            label = f"{sheet.label('equipment', name)}, rental due after that month"
            parts.append(column.line(label, "currency", rental))
    sheet.lines["undoing"] = column.line(
        "Cost of undoing the change", "currency", add(parts), note="before tax"
    )


class _Builder:
    def __init__(self, sheet: MethodSheet, old: MethodSheet) -> None:
        self.sheet, self.old, self.shop, self.column = sheet, old, sheet.shop, sheet.column
        self.begun = False

    def build(self) -> Changeover:
        at_switch, first_year = self._leaving(), [*self._parallel(), *self._learning()]
        parts: list[Expr] = []
        if at_switch:
            self._head()
            left = self.column.line("Leaving the old method", "currency", add(at_switch))
            parts.append(left * opposite(self.shop.after_now))
        if first_year:
            once = self.column.line("Once in the first year", "currency", add(first_year))
            parts.append(once * self.shop.first_year)
        cost = self.column.line("Changing over, by year", "currency", add(parts)) if parts else None
        sale, book = self._sale()
        working = self._working()
        lines = {"change_cost": cost, "working": working, "sale": sale}
        self.sheet.lines |= {key: line for key, line in lines.items() if line is not None}
        return Changeover(cost, sale, book, working)

    def _head(self) -> None:
        if not self.begun:
            self.column.heading("Changing over", "Paid once; only what is stated counts.")
            self.begun = True

    def _has(self, name: str) -> bool:
        return self.sheet.has("changeover", name)

    def _stated(self, name: str) -> Line:
        self._head()
        return self.sheet.inp("changeover", name)

    def _leaving(self) -> list[Expr]:
        names = [] if keeps_stock(self.sheet, self.old) else ["stock", "drain"]
        names += ["dues"] if replaces_all(self.sheet, self.old) else []
        stated = [
            self.sheet.shop_inp("leaving", name) for name in names if self.sheet.scenario.has("leaving", name)
        ]
        self.sheet.dues = add_dues(self.sheet, self.old, self._head)
        return [*stated, *self.sheet.dues]

    def _parallel(self) -> list[Expr]:
        if not self._has("parallel"):
            return []
        body = self.old.lines["fixed_costs"] * self._stated("parallel") / _MONTHS
        note = "the old one's fixed costs, without baths"
        line = self.column.line("Both methods running", "currency", body, note=note)
        self.sheet.lines["parallel"] = line
        return [line]

    def _learning(self) -> list[Expr]:
        """Extra remakes and minutes that fall in a straight line to nothing: half of them on average over those months."""
        if not self._has("learning"):
            return []
        sheet, shop, column = self.sheet, self.shop, self.column
        half = self._stated("learning") / _MONTHS / 2
        share = column.line("Learning, share of a year at the full extra", "year", half)
        found: list[Expr] = []
        if self._has("learning_remakes") and "mean_price" in sheet.lines:
            plates = column.line(
                "Learning, plates remade",
                "plate",
                sheet.lines["imaged"] * self._stated("learning_remakes") * share,
            )
            price = sheet.lines["mean_price"] * at(shop.growth["plates"], 1)
            found.append(column.line("Learning, plates remade, money", "currency", plates * price))
        if self._has("learning_minutes"):
            grade = sheet.scenario.grades[0]
            minutes = sheet.lines["imaged"] * self._stated("learning_minutes") * share
            hours = column.line("Learning, hours", "h", minutes / constant(60, "min/h"))
            paid = (
                shop.wage[grade]
                * shop.inp(column, "grades", grade, "cash_share")
                * at(shop.growth["wages"], 1)
            )
            found.append(column.line("Learning, wages", "currency", hours * paid))
        if found:
            sheet.lines["learning"] = column.line("Learning, all", "currency", add(found))
        return found

    def _sale(self) -> tuple[Line | None, Line | None]:
        """The displaced equipment, sold at the switch; its book value is that of every unit so displaced."""
        scenario, here = self.sheet.scenario, ("methods", self.old.method.id, "equipment")
        gone = displaced(self.sheet, self.old)
        keys: list[Key] = [(*here, name, "resale_now") for name in gone]
        whole = replaces_all(self.sheet, self.old)
        keys += [("leaving", "sale")] if whole else []
        fetched = [self.sheet.shop_inp(*key) for key in keys if scenario.has(*key)]
        stated = [(*here, name, "tax_book") for name in gone if scenario.has(*here, name, "tax_book")]
        if not fetched:
            return None, None
        self._head()
        now = opposite(self.shop.after_now)
        all_of_it = fetched[0] if len(fetched) == 1 else add(fetched)
        sale = self.column.line("Sale of displaced equipment", "currency", all_of_it * now)
        books: list[Expr] = [self.old.lines["old_book"]]
        if not whole:
            books = [self.sheet.shop_inp(*key) for key in stated] or [constant(0, "currency")]
        book = self.column.line("Tax book value of what is sold", "currency", add(books) * now)
        return sale, book

    def _working(self) -> Line | None:
        """Months of consumables held in stock, at the prices and volume of the year to come; none after the last year."""
        if not self._has("working_capital"):
            return None
        shop, column = self.shop, self.column
        share = column.line(
            "Stock held, share of a year", "1", (self._stated("working_capital") / _MONTHS).per("year")
        )
        to_come = column.line(
            "Consumables of the year to come",
            "currency",
            pick(self.sheet.families["consumables"], shop.next_year),
        )
        goes_on = opposite(at_least(shop.year, shop.horizon))
        held = column.line("Stock held at the end of the year", "currency", to_come * share * goes_on)
        self.sheet.lines["stock_held"] = held
        before = pick(held, shop.year_before) * shop.after_now
        return column.line(
            "Working capital paid in", "currency", held - before, note="negative where it comes back"
        )


__all__ = ["Changeover", "add_changeover", "add_undoing", "fixed_costs"]
