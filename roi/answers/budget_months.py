"""A budget's months: the year's amounts spread over twelve months, in cash and in profit and loss, as lines over months.

Currency, costs positive, receipts negative. What follows the work is spread by the months' shares of it, what follows time
evenly. A price group's rise within the year (`price_steps.GROUP.month`) stands from its month on; all other growth of prices
is in the whole year at once, as in year 1 of the reckoning. What is paid at the switch falls into its month, when staying
into the first; what is bought or topped up at the end of year 1 into the last. Both methods running takes the months stated
from the switch on, learning falls in a straight line over its own; what of them lies beyond the year is left out and told.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from roi.answers.budget_entries import Entry, Shape, Way
from roi.answers.budget_year import BudgetYear
from roi.engine.cases import Reading, Trial
from roi.engine.column import Column, Line
from roi.engine.evaluate import needed
from roi.engine.expression import Axis, Constant, Data, Expr, Input
from roi.engine.operations import (
    at,
    at_least,
    constant,
    larger,
    largest,
    opposite,
    pick,
    position_of,
    running,
    smaller,
    total,
    when,
)
from roi.model.calendar_year import MONTHS
from roi.model.sheet import add
from roi.model.study import Study

AXIS = Axis("months of the budget", tuple(f"month {i}" for i in range(1, MONTHS + 1)))
_NONE = Constant(0).during("currency")
_YEAR = constant(1, "year")


@dataclass(frozen=True)
class Row:
    """A row of a budget: months, the year's total with less work, and how it is shown: "sub", "line" or "total"."""

    key: str
    label: str
    account: str
    kind: str
    months: Line
    year: Line
    less: Line


@dataclass
class Plan:
    """One way, month by month.

    cash, profit : the rows of either view in reading order, the last one the total of all
    bridge : rows that lead from the cash total to that of profit and loss
    bridged : what they lead to;  worst, worst_paid : position of the month in which most is paid, and how much
    beyond : what of the year's amounts falls after the year;  dated : what dated price rises change in the year
    """

    way: Way
    cash: list[Row] = field(default_factory=list)
    profit: list[Row] = field(default_factory=list)
    bridge: list[Row] = field(default_factory=list)
    bridged: Row = field(init=False)
    worst: Line = field(init=False)
    worst_paid: Line = field(init=False)
    beyond: Line = field(init=False)
    dated: Line = field(init=False)

    def row(self, key: str) -> Row:
        """A row of either view by its key."""
        return next(row for row in (*self.cash, *self.profit, *self.bridge) if row.key == key)

    @property
    def families(self) -> list[Row]:
        """The families' rows, in cash."""
        keys = {entry.key for entry in self.way.running}
        return [row for row in self.cash if row.key in keys]


@dataclass
class BudgetMonths:
    """The column over months, both plans, and what sheets and sentences refer to.

    place : the months counted from 1;  readings : amounts of the year with less work
    apart, cumulative : cash of switching less staying, by month and so far
    so_far : cash of staying and of switching, so far
    """

    column: Column
    place: Data
    staying: Plan
    switching: Plan
    readings: list[Reading]
    apart: Line
    cumulative: Line
    so_far: tuple[Line, Line]

    @property
    def plans(self) -> tuple[Plan, Plan]:
        return self.staying, self.switching


def budget_months(study: Study, year: BudgetYear, less: Trial, volume: Input) -> BudgetMonths:
    """Spread both ways over the months; `less` is the trial with less work, which changes `volume`."""
    return _Builder(study, year, less, volume).build()


class _Builder:
    def __init__(self, study: Study, year: BudgetYear, less: Trial, volume: Input) -> None:
        self.study, self.amounts, self.less, self.volume = study, year, less, volume
        note = "The budget month by month; the sheets Budget, Budget profit and loss and Actuals show it."
        self.column = Column("Budget figures", "budget", across=True, note=note)
        self.shapes: dict[Shape, Line] = {}
        self.totals: dict[Shape, Line] = {}
        self.readings: dict[Line, Reading] = {}

    def build(self) -> BudgetMonths:
        self._months()
        used = dict.fromkeys(shape for way in self.amounts.ways for _, shape in _parts(way))
        for shape in [*used, *(Shape(s.kind, s.runs) for s in used if s.group)]:
            self._shape(shape)
        plans = [Plan(way) for way in self.amounts.ways]
        for plan in plans:
            self._cash(plan)
        for plan in plans:
            self._profit(plan)
        c = self.column
        c.heading("Switching against staying, in cash")
        staying, switching = (plan.cash[-1] for plan in plans)
        apart = c.line("Switching less staying", "currency", switching.months - staying.months)
        cumulative = c.line("Switching less staying, so far", "currency", running(apart))
        so_far = (
            c.line("Staying, cash so far", "currency", running(staying.months)),
            c.line("Switching, cash so far", "currency", running(switching.months)),
        )
        readings = list(self.readings.values())
        return BudgetMonths(c, self.place, plans[0], plans[1], readings, apart, cumulative, so_far)

    # --- shares of the year
    def _months(self) -> None:
        c = self.column
        c.heading("Months", "Shares of the year's work are those of the log or the summary.")
        self.place = c.data(Data("budget.place", "Month of the year", "1", AXIS, range(1, MONTHS + 1)))
        before = self.study.shop.months.before
        done = c.line("Work done by its end", "1", pick(before, self.place + 1))
        begun = c.line("Work done by its beginning", "1", pick(before, self.place))
        self.work = c.line("Share of the year's work", "1", done - begun)
        self.time = c.line("Share of the year", "1", self.place / MONTHS - (self.place - 1) / MONTHS)
        month = c.input(self.study.scenario.input("leaving", "month")).per("month")
        self.old = c.line(
            "The old method still runs", "1", at_least(month, self.place), note="when switching"
        )
        self.new = c.line("The new method runs", "1", opposite(self.old), note="when switching")
        self.switch = c.line("Month of the switch", "1", self.new * at_least(month + 1, self.place))
        ends = {"end": self.place - month, "beginning": self.place - 1 - month}
        self.since = {
            end: c.line(f"Months since the switch, at its {end}", "month", larger(0, gone).during("month"))
            for end, gone in ends.items()
        }
        self.first = c.line("First month", "1", at_least(1, self.place))
        self.last = c.line("Last month", "1", at_least(self.place, Constant(MONTHS)))
        if self.amounts.dated:
            c.heading("Price rises on their month", "The price of the month against the year's mean price.")
        self.ratio = {group: self._ratio(group) for group in self.amounts.dated}
        c.heading(
            "How amounts of the year fall into months", "Shares; those of a price group carry its rise."
        )

    def _ratio(self, group: str) -> Line:
        """A month's price of a group against the year's mean, as `shop` has it: a rise counts for the months left of year 1."""
        c, words = self.column, group.replace("_", " ")
        step = [
            c.input(self.study.scenario.input("price_steps", group, key))
            for key in ("change", "year", "month")
        ]
        in_year_1 = c.line(f"Prices of {words} rise in year 1", "1", at_least(_YEAR, step[1]))
        month = step[2].per("month")
        left = (Constant(MONTHS) - month + 1) / MONTHS
        mean = c.line(f"Prices of {words}, mean of the year", "1", 1 + step[0] * in_year_1 * left)
        risen = c.line(f"Prices of {words} have risen", "1", in_year_1 * at_least(self.place, month))
        return c.line(f"Prices of {words} against the year's mean", "1", (1 + step[0] * risen) / mean)

    def _shape(self, shape: Shape) -> Line:
        """The block of shares of a shape, built once."""
        if shape in self.shapes:
            return self.shapes[shape]
        body: Expr = {
            "work": self.work, "time": self.time, "first": self.first, "last": self.last, "switch": self.switch,
        }.get(shape.kind, self.time) + 0  # fmt: skip
        words = {"work": "With the work", "time": "With time"}.get(shape.kind, shape.kind.capitalize())
        if shape.kind in ("parallel", "learning"):
            body = self._after_the_switch(shape.kind)
        if shape.runs != "all":
            body = body * (self.old if shape.runs == "old" else self.new)
            words += f", months of the {shape.runs} method"
        if shape.group:
            body = body * self.ratio[shape.group]
            words += f", {shape.group.replace('_', ' ')} prices"
        line = self.column.line(words, "1", body)
        self.shapes[shape] = line
        self.totals[shape] = self.column.line(f"{words}, in all", "1", total(line))
        return line

    def _after_the_switch(self, kind: str) -> Expr:
        """Both running: evenly over its months. Learning: falling in a straight line, so that by a share u of its time
        u (2 - u) of it has been paid."""
        c = self.column
        name = self.amounts.switching.sheet.method.id
        months = c.input(self.study.scenario.input("methods", name, "changeover", kind))
        none = at_least(0, months)
        ends = []
        for end, reached in self.since.items():
            # Where no time is stated, it is over as soon as it has begun.
            begun_at_all = at_least(reached, constant(1, "month"))
            share = when(none, begun_at_all, smaller(reached, months) / months)
            ends.append(
                c.line(f"{kind.capitalize()}, share of its time gone by the month's {end}", "1", share)
            )
        done, begun = ends
        if kind == "parallel":
            return done - begun
        return done * (2 - done) - begun * (2 - begun)

    # --- rows
    def _row(self, words: str, entry: Entry, kind: str) -> Row:
        c, label = self.column, f"{words}: {entry.label}"
        parts: Sequence[tuple[Line, Shape]] = entry.parts
        if not parts:
            months = c.line(label, "currency", self.time * _NONE)
            less = c.line(f"{label}, year with less work", "currency", _NONE)
        else:
            months = self._sum(label, [amount * self.shapes[shape] for amount, shape in parts])
            with_less = [self._with_less(amount) * self.totals[shape] for amount, shape in parts]
            less = self._sum(f"{label}, year with less work", with_less)
        year = c.line(f"{label}, year", "currency", total(months))
        return Row(entry.key, entry.label, entry.account, kind, months, year, less)

    def _sum(self, label: str, parts: list[Expr]) -> Line:
        """A sum of products, in steps where it has many: four are as long as a formula may be."""
        if len(parts) > 3:
            threes = [parts[i : i + 3] for i in range(0, len(parts), 3)]
            parts = [
                self.column.line(f"{label}, part {i}", "currency", add(three))
                for i, three in enumerate(threes, 1)
            ]
        return self.column.line(label, "currency", add(parts) + 0)

    def _with_less(self, amount: Line) -> Expr:
        """The amount with less work; the amount itself where the work doesn't move it."""
        if self.volume not in needed([amount]):
            return amount
        if amount not in self.readings:
            self.readings[amount] = Reading(self.less, amount)
        return at(self.readings[amount], 0)

    def _total(self, words: str, key: str, label: str, rows: Sequence[Row]) -> Row:
        c, name = self.column, f"{words}: {label}"
        months = c.line(name, "currency", add([row.months for row in rows]) if rows else self.time * _NONE)
        year = c.line(f"{name}, year", "currency", total(months))
        less = c.line(
            f"{name}, year with less work", "currency", add([row.less for row in rows]) if rows else _NONE
        )
        return Row(key, label, "", "total", months, year, less)

    def _family(self, words: str, entry: Entry) -> list[Row]:
        subs = [self._row(words, sub, "sub") for sub in entry.sub]
        if not subs:
            return [self._row(words, entry, "line")]
        whole = self._total(words, entry.key, entry.label, subs)
        return [
            *subs,
            Row(entry.key, entry.label, entry.account, "line", whole.months, whole.year, whole.less),
        ]

    def _cash(self, plan: Plan) -> None:
        way, c = plan.way, self.column
        words = way.name.capitalize()
        c.heading(f"{way.label}: cash", "Costs positive, receipts negative.")
        families = []
        for entry in way.running:
            plan.cash += self._family(words, entry)
            families.append(plan.cash[-1])
        running_costs = self._total(words, "running", "Running costs", families)
        plan.cash.append(running_costs)
        parts = [running_costs]
        if way.vat is not None:
            plan.cash.append(self._row(words, way.vat, "line"))
            parts.append(plan.cash[-1])
        once = [self._row(words, entry, "line") for entry in way.one_offs]
        plan.cash += once
        if once:
            plan.cash.append(self._total(words, "once", "Paid once", once))
            parts.append(plan.cash[-1])
        plan.cash.append(self._total(words, "cash", "Cash paid", parts))
        paid = plan.cash[-1].months
        plan.worst_paid = c.line(f"{words}: most paid in a month", "currency", largest(paid))
        plan.worst = c.line(f"{words}: month in which most is paid", "1", position_of(plan.worst_paid, paid))
        plan.beyond = self._sum(
            f"{words}: falls after the year",
            [amount * (1 - self.totals[shape]) for entry in way.one_offs if entry.key in ("parallel", "learning")
             for amount, shape in entry.parts] or [_NONE],
        )  # fmt: skip
        moved = [
            amount * (self.totals[shape] - self.totals[Shape(shape.kind, shape.runs)])
            for entry in way.running
            for amount, shape in entry.parts
            if shape.group
        ]
        plan.dated = self._sum(f"{words}: price rises on their month instead of a mean", moved or [_NONE])

    def _profit(self, plan: Plan) -> None:
        way, c = plan.way, self.column
        words = f"{way.name.capitalize()}, profit and loss"
        c.heading(f"{way.label}: profit and loss", "Depreciation instead of capital; no working capital.")
        shared = {row.key: row for row in plan.cash}
        plan.profit = [row for row in plan.cash[: plan.cash.index(shared["running"]) + 1]]
        parts = [shared["running"]]
        if way.vat is not None:
            plan.profit.append(shared["vat.running"])
            parts.append(shared["vat.running"])
        charged = [shared.get(entry.key) or self._row(words, entry, "line") for entry in way.charged]
        plan.profit += charged
        if charged:
            whole = self._total(words, "charged.once", "Charged besides", charged)
            plan.profit.append(whole)
            parts.append(whole)
        plan.profit.append(self._total(words, "profit", "Charged to profit and loss", parts))
        c.heading(f"{way.label}: from cash to profit and loss", "What the two views differ by, line by line.")
        words = f"{way.name.capitalize()}, from cash to profit and loss"
        plan.bridge = [shared["cash"]]
        for entry in (way.capitalised, way.working):
            if entry is not None:
                plan.bridge.append(self._negative(words, entry))
        known = {row.key: row for row in charged}
        plan.bridge += [known[entry.key] for entry in way.unpaid]
        plan.bridged = self._total(words, "bridged", "Charged to profit and loss, from cash", plan.bridge)

    def _negative(self, words: str, entry: Entry) -> Row:
        """A row that is taken off."""
        row = self._row(f"{words}, before its sign", entry, "line")
        c, label = self.column, f"Less: {entry.label[:1].lower()}{entry.label[1:]}"
        months = c.line(f"{words}: {label}", "currency", 0 - row.months)
        year = c.line(f"{words}: {label}, year", "currency", total(months))
        less = c.line(f"{words}: {label}, year with less work", "currency", 0 - row.less)
        return Row(f"less.{entry.key}", label, entry.account, "line", months, year, less)


def _parts(way: Way) -> Iterator[tuple[Line, Shape]]:
    entries: Iterable[Entry | None] = (
        *way.running,
        way.vat,
        *way.one_offs,
        *way.charged,
        way.capitalised,
        way.working,
    )
    for entry in entries:
        if entry is not None:
            yield from entry.parts


__all__ = ["AXIS", "BudgetMonths", "Plan", "Row", "budget_months"]
