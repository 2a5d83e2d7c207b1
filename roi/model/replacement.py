"""When to replace what is owned: by year, what it costs to keep it until then and to change over in that year.

Present cost after tax, cash view, over the same horizon for every year: the current method's running costs to that year, what
is owned then sold and its tax book value deducted, and from there its own like again or a challenger with all that changing
over costs, by the conventions of `finance`. All that is owned goes together, so its shortest years left bound the years. Taken
as of today whatever the year: what leaving and changing over cost. A challenger's price and installation rise with equipment
prices. A like-for-like replacement pays its price only, as in the method's costs. What is owned brings what is stated
(resale_now, falling by resale_fall a year; or leaving.sale, falling evenly to nothing over the longest years left); else its
resale share when its years are over, and nothing before; at the horizon what the method's costs count. A challenger that is
the same as the current method and keeps what is owned sells nothing of it, and its years left go on. Not in it: a supplier
who stops, a backup kept, months of year 1 in which the old method still runs. Own-life cost is another measure.
"""

from __future__ import annotations

from dataclasses import dataclass

from roi.engine.column import Column, Line
from roi.engine.expression import Axis, Expr
from roi.engine.operations import (
    absolute,
    at,
    at_least,
    compound,
    constant,
    gather,
    larger,
    largest,
    opposite,
    pick,
    product_sum,
    running,
    smaller,
    smallest,
    smallest_at,
    total,
    when,
)
from roi.model.comparison import Comparison
from roi.model.keeping import displaced
from roi.model.relief import Years, add_relief
from roi.model.sheet import Machine, MethodSheet, add
from roi.model.shop import Shop
from roi.model.unit_chain import Money, add_chain
from roi.scenario.scenario import Scenario

HUNDRED = constant(100, "1")


@dataclass(frozen=True)
class Way:
    """What what is owned may be changed to: present cost by year, the least of it, and the years within 1 % of that.

    Years are whole numbers as lines in years; `cost` and `judged` are blocks over years, a year that can't be chosen judged
    dearer than all.
    """

    name: str
    cost: Line
    judged: Line
    least: Line
    year: Line
    from_year: Line
    to_year: Line


def replaceable(sheet: MethodSheet) -> bool:
    """Whether a method owns all its machines, and each has a year left or more."""
    scenario, here = sheet.scenario, ("methods", sheet.method.id, "equipment")
    years = [scenario.stated(*here, machine.name, "years_left") for machine in sheet.machines]
    return bool(years) and all(y is not None and y.best * y.factor >= 1 for y in years)


class Replacement:
    """The Replacement sheet, years along the columns.

    ways : by method in the scenario's order; the current one's is its like-for-like replacement
    best : the position among them of the cheapest
    """

    def __init__(
        self, scenario: Scenario, shop: Shop, sheets: dict[str, MethodSheet], comparison: Comparison
    ) -> None:
        self.scenario, self.shop, self.sheets = scenario, shop, sheets
        self.old = sheets[scenario.current]
        words = "Keeping what is owned to a year, then changing. Present cost after tax, cash view."
        self.column = Column("Replacement", "replacement", across=True, note=words)
        self._fetch()
        self._kept()
        again = self._like_for_like()
        ways = {name: again if x is self.old else self._changed(x) for name, x in sheets.items()}
        self.ways: dict[str, Way] = self._judged(ways)
        self._best(comparison)

    def _line(self, label: str, unit: str, body: Expr, note: str = "") -> Line:
        return self.column.line(label, unit, body, note=note)

    def _fetch(self) -> None:
        """The years and their money, and what 1 of capital costs bought in each."""
        c, shop, line = self.column, self.shop, self._line
        c.heading("Years", "What is bought in a year is paid at that year's prices.")
        self.year = line("Year", "year", shop.year)
        self.horizon = line("Years looked ahead", "year", shop.horizon)
        within = line("Within the years looked ahead", "1", shop.in_horizon)
        self.discount = line("Discount factor", "1", shop.discount)
        self.of_running = line("Discount factor of running costs", "1", shop.discount_running)
        self.level = level = line("Price level, equipment", "1", shop.growth["equipment"])
        self.rate = shop.inp(c, "money", "tax_rate")
        place = self.horizon.per("year") + 1
        at_horizon = line("Discount factor at the horizon", "1", pick(self.discount, place))
        self.before = line("Before the horizon", "1", opposite(at_least(self.year, self.horizon)))
        relief = add_relief(c, shop, Years(self.discount, self.horizon, self.rate))
        saved = line(
            "Tax saved by 1 bought in the year", "1", relief.of_one(self.year, self.discount, at_horizon)
        )
        bought = line(
            "Cost of 1 bought in the year", "1", level * (self.discount - saved), "after tax, today"
        )
        fetched = line(
            "Worth of 1 sold in the year", "1", level * self.discount * (1 - self.rate), "after tax, today"
        )
        growth = compound(shop.inp(c, "growth", "equipment"), self.horizon)
        residual = line("Worth of 1 left at the horizon", "1", growth * at_horizon * (1 - self.rate))
        self.money = Money(self.year, self.horizon, bought, fetched, residual)
        c.heading("How long what is owned can be kept", "All of it goes together: the shortest years left.")
        self.firsts = firsts = [line(f"{m.label}, years left", "year", _first(m)) for m in self.old.machines]
        shortest: Expr = firsts[0]
        longest: Expr = firsts[0]
        for further in firsts[1:]:
            shortest, longest = smaller(shortest, further), larger(longest, further)
        kept = self.shortest = line("Shortest years left", "year", shortest + constant(0, "year"))
        self.longest = line("Longest years left", "year", longest + constant(0, "year"))
        self.can = line("Can be kept to the year", "1", at_least(kept, self.year) * within)

    def _fetched(self) -> Line:
        """What is owned would bring in each year before the horizon."""
        c, scenario, old = self.column, self.scenario, self.old
        here = ("methods", old.method.id, "equipment")
        parts: list[Expr] = []
        at_end: list[Expr] = []
        for machine, first in zip(old.machines, self.firsts, strict=True):
            if not scenario.has(*here, machine.name, "resale_now"):
                if machine.resale is not None:
                    at_end.append(self._at_end(machine, first))
                continue
            worth: Expr = self.shop.inp(c, *here, machine.name, "resale_now") * self.before
            if scenario.has(*here, machine.name, "resale_fall"):
                fall = self.shop.inp(c, *here, machine.name, "resale_fall")
                worth = worth * compound(0 - fall, self.year)
            parts.append(self._line(f"{machine.label}, sold in the year", "currency", worth))
        if scenario.has("leaving", "sale"):
            left = larger(0, 1 - self.year / larger(constant(1, "year"), self.longest))
            sale: Expr = self.shop.inp(c, "leaving", "sale") * left * self.before
            if at_end:
                sale = larger(sale, add(at_end))
            parts.append(self._line("Sale of the old equipment in the year", "currency", sale))
        else:
            parts += at_end
        going_on = old.lines.get("residual_going_on", old.lines["residual"])
        residual = self._line(
            "Worth at the horizon of what is owned", "currency", going_on, "if kept to then"
        )
        parts.append(residual * opposite(self.before))
        return self._line("What is owned is sold for", "currency", add(parts))

    def _at_end(self, machine: Machine, first: Line) -> Line:
        """The resale share of its price, in the year in which its years are over and at no other time."""
        assert machine.resale is not None
        over = at_least(first, self.year) * at_least(self.year, first) * self.before
        body = machine.price * machine.resale * self.level * over
        return self._line(f"{machine.label}, resale at the end of its years", "currency", body)

    def _kept(self) -> None:
        """Present cost of keeping what is owned to each year and selling it then."""
        c, old, line = self.column, self.old, self._line
        c.heading("Kept to the year", f"{old.method.short} as it is; sold in that year.")
        self.own_running, self.own_so_far = self._running(old, "kept")
        sold = self._fetched()
        books: list[Expr] = []
        here = ("methods", old.method.id, "equipment")
        for machine in old.machines:
            if self.scenario.has(*here, machine.name, "tax_book"):
                book = self.shop.inp(c, *here, machine.name, "tax_book")
                years = self.shop.inp(c, *here, machine.name, "tax_years_left")
                left = book * larger(0, 1 - self.year / years)
                books.append(line(f"{machine.label}, tax book value left", "currency", left))
        self.books_kept: Line | None = None
        gain: Expr = sold
        relieved: Expr = constant(0, "currency")
        if books:
            gain = sold - add(books)
            off = line("Old book value written off in the year", "currency", old.lines["old_book_off"])
            today = line("Tax saved by that, in money of today", "currency", off * self.discount * self.rate)
            relieved = so_far = line("Tax saved by that so far", "currency", running(today))
            rest = old.lines["old_book"] - total(old.lines["old_book_off"])
            at_end = pick(self.discount, self.horizon.per("year") + 1) * self.rate
            to_come = (
                total(today) - so_far + line("Book value left at the horizon", "currency", rest) * at_end
            )
            later = line("Tax saved by that after the year", "currency", to_come)
            at_once = line(
                "Tax saved if all is deducted now", "currency", add(books) * self.discount * self.rate
            )
            self.books_kept = line("Tax saved, now above later", "currency", at_once - later)
        after_tax = line(
            "Sold for, after tax", "currency", sold - gain * self.rate, "gain over book value taxed"
        )
        body = self.own_so_far - relieved - after_tax * self.discount
        self.kept = line("Kept to the year and sold", "currency", body)

    def _running(self, sheet: MethodSheet, words: str, less: Line | None = None) -> tuple[Line, Line]:
        """A method's running cost of each year after tax in money of today, and the same up to each year."""
        short = sheet.method.short
        paid = self._line(
            f"{short}, {words}: running cost after tax", "currency", sheet.lines["running_after"]
        )
        spared: Expr = paid if less is None else paid - less * (1 - self.rate)
        today = self._line(f"{short}, {words}: running cost, today", "currency", spared * self.of_running)
        return today, self._line(f"{short}, {words}: running cost so far", "currency", running(today))

    def _like_for_like(self) -> Line:
        """Kept, then the same again."""
        c, old = self.column, self.old
        c.heading(
            f"Then {old.method.short} again", "Its own replacement, at its price; running on as before."
        )
        less: Line | None = None
        if old.rising:
            each = [
                self._line(f"Repairs added by age, {i + 1}", "currency", block)
                for i, block in enumerate(old.rising)
            ]
            less = self._line("Repairs added by age, all", "currency", add(each), "gone with what is owned")
        today, so_far = (self.own_running, self.own_so_far)
        if less is not None:
            today, so_far = self._running(old, "replaced", less)
        chains = [add_chain(c, self.money, m, f"{m.label} again", None) for m in old.machines]
        after = total(today) - so_far + add(chains)
        if self.books_kept is not None:
            # When its years are over staying does the same, and there the schedule of what goes runs on.
            over = self._line("Years left are over", "1", at_least(self.year, self.shortest) * self.before)
            after = after + self.books_kept * over
        return self._line(f"Kept, then {old.method.short} again", "currency", self.kept + after)

    def _changed(self, sheet: MethodSheet) -> Line:
        """Kept, then a challenger with what changing over costs."""
        c, short, lines = self.column, sheet.method.short, sheet.lines
        c.heading(
            f"Then {short}", "Bought in the year, with installing and training, and replaced from then on."
        )
        today, so_far = self._running(sheet, "after the change")
        parts: list[Expr] = [total(today) - so_far]
        for machine in sheet.machines:
            since = None
            if machine.first is not None:
                since = self._line(f"{short}, {machine.label}: years left", "year", machine.first)
            parts.append(add_chain(c, self.money, machine, f"{short}, {machine.label}", since))
            if machine.sold is not None:
                worth = product_sum(machine.sold, self.shop.discount) * (1 - self.rate)
                fetched = self._line(f"{short}, {machine.label}: the one owned sold", "currency", worth)
                parts.append(constant(0, "currency") - fetched)
        start = self._line(
            f"{short}, bringing into use and contingency", "currency", lines["start"] + lines["spare"]
        )
        training = self._line(f"{short}, training", "currency", lines["training"])
        brought = (start * self.money.bought + training * self.money.fetched) * self.before
        parts.append(self._line(f"{short}, brought into use in the year", "currency", brought))
        if "change_cost" in lines:
            once = product_sum(lines["change_cost"], self.shop.discount) * (1 - self.rate)
            changing = self._line(f"{short}, changing over, as of today", "currency", once)
            body = changing * self.discount * self.before
            parts.append(self._line(f"{short}, changing over in the year", "currency", body))
        if "working" in lines:
            parts.append(self._working(sheet))
        if any(sheet.has("equipment", machine.name, "tax_book") for machine in sheet.machines):
            off = product_sum(lines["old_book_off"], self.shop.discount)
            rest = lines["old_book"] - total(lines["old_book_off"])
            left = self._line(f"{short}, book value left at the horizon", "currency", rest)
            relief = (off + left * pick(self.discount, self.horizon.per("year") + 1)) * self.rate
            saved = self._line(f"{short}, tax saved by its old book value", "currency", relief)
            parts.append(constant(0, "currency") - saved)
        after = self._line(f"{short}, from the year on", "currency", add(parts))
        keeps = displaced(sheet, self.old) != self.old.names("equipment")
        # What is kept isn't sold, and the challenger's own tax saved by its book value is that of all its years.
        kept = self.own_so_far if keeps else self.kept
        return self._line(f"Kept, then {short}", "currency", kept + after)

    def _working(self, sheet: MethodSheet) -> Line:
        """Stock of consumables paid in when the change is made, topped up after it, back at the horizon."""
        short, line = sheet.method.short, self._line
        paid = line(f"{short}, working capital paid in", "currency", sheet.lines["working"])
        held = line(f"{short}, stock held", "currency", sheet.lines["stock_held"])
        today = line(f"{short}, working capital, today", "currency", paid * self.discount)
        so_far = line(f"{short}, working capital so far", "currency", running(today))
        body = total(today) - so_far + held * self.discount
        return line(f"{short}, working capital from the year on", "currency", body)

    def _judged(self, ways: dict[str, Line]) -> dict[str, Way]:
        """For each way the least cost, its year, and the years within 1 % of it."""
        c, line = self.column, self._line
        c.heading("The best year of each", "Among the years to which what is owned can be kept.")
        found = {}
        for name, cost in ways.items():
            words = cost.label
            barred = line(f"{words}: dearer than all", "currency", largest(cost) + constant(1, "currency"))
            judged = line(f"{words}: as judged", "currency", when(self.can, cost, barred))
            least = line(f"{words}: least", "currency", smallest(judged))
            year = line(f"{words}: in year", "year", (smallest_at(judged) - 1).during("year"))
            near_by = line(f"{words}: up to", "currency", least + absolute(least) / HUNDRED, "1 % more")
            near = line(f"{words}: within 1 %", "1", at_least(near_by, judged) * self.can)
            far = line(f"{words}: farther off", "1", opposite(near))
            from_year = line(f"{words}: within 1 % from year", "year", (smallest_at(far) - 1).during("year"))
            near_year = line(f"{words}: years within 1 %", "year", self.year * near)
            to_year = line(f"{words}: within 1 % to year", "year", largest(near_year))
            found[name] = Way(self._called(name), cost, judged, least, year, from_year, to_year)
        return found

    def _called(self, name: str) -> str:
        short = self.sheets[name].method.short
        return f"{short} again" if name == self.scenario.current else short

    def _best(self, comparison: Comparison) -> None:
        """The cheapest way that can do the work, with its year."""
        c, line = self.column, self._line
        axis = Axis("ways to go on", tuple(way.name for way in self.ways.values()))
        c.heading("Best of all", "Only ways that can do the work are chosen from.")
        rows = comparison.rows["feasible"]
        feasible = line("Can do the work", "1", gather(axis, [at(rows, i) for i in range(len(axis))]))
        least = line("Least cost", "currency", gather(axis, [way.least for way in self.ways.values()]))
        years = line("In year", "year", gather(axis, [way.year for way in self.ways.values()]))
        barred = line("More than the dearest", "currency", largest(least) + constant(1, "currency"))
        able = at_least(feasible, 1)
        judged = line("Least cost as judged", "currency", when(able, least, barred))
        self.best = line("Position of the cheapest", "1", smallest_at(judged))
        self.best_cost = line("Least of all", "currency", pick(least, self.best))
        self.best_year = line("Year of the least of all", "year", pick(years, self.best))
        starts = line("Within 1 % from year", "year", gather(axis, [w.from_year for w in self.ways.values()]))
        ends = line("Within 1 % to year", "year", gather(axis, [w.to_year for w in self.ways.values()]))
        self.best_from = line("Within 1 % from year, cheapest", "year", pick(starts, self.best))
        self.best_to = line("Within 1 % to year, cheapest", "year", pick(ends, self.best))


def _first(machine: Machine) -> Line:
    """The year in which what is owned must be replaced."""
    assert machine.first is not None, f"{machine.name} is not owned"
    return machine.first


__all__ = ["Replacement", "Way", "replaceable"]
