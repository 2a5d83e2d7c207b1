"""The plate price, first cost, value of a press hour and wage at which a method costs what the current one does; as lines.

In cash, after tax. Costs are straight lines in each of them, so that one further case, or the hours behind the money, tell.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from roi.answers.cases import CaseSet
from roi.engine.cases import Reading, Trial
from roi.engine.column import Column, Line
from roi.engine.expression import Constant, Expr
from roi.engine.operations import absolute, at, at_least, opposite, when
from roi.model.sheet import add
from roi.model.study import Study


@dataclass(frozen=True)
class Tie:
    """The value of one quantity at which a method costs what the current one does.

    exists : 1 where there is such a value, not below zero, and both can do the work
    below : 1 where the method costs less below the value, 0 where it does so above
    """

    method: str
    quantity: str
    now: Line
    value: Line
    exists: Line
    below: Line


def ties(study: Study, cases: CaseSet, column: Column, readings: list[Reading]) -> list[Tie]:
    """Add the lines to a column, what they read from cases to `readings`."""
    rate = column.input(study.scenario.input("money", "tax_rate"))
    keep = column.line("Left of a cost after tax", "1", 1 - rate)
    others = [name for name in study.methods if name != study.scenario.current]
    return [
        tie for name in others for tie in _Against(study, cases, column, readings, keep, name).every_tie()
    ]


class _Against:
    """One method against the current one."""

    def __init__(
        self, study: Study, cases: CaseSet, column: Column, readings: list[Reading], keep: Line, name: str
    ) -> None:
        self.study, self.cases, self.column, self.readings, self.keep = study, cases, column, readings, keep
        self.name, self.sheet = name, study.methods[name]
        self.other = study.methods[study.scenario.current]
        self.position, today = (list(study.methods).index(m) for m in (name, study.scenario.current))
        rows = study.comparison.rows
        self.words = f"{self.sheet.method.short} against {self.other.method.short}"
        note = "Costs are straight lines in a price; below nothing there is none."
        column.heading(f"{self.words}: where they cost the same", note)
        self.cost = at(rows["present"], self.position)
        self.gap = self._line("present cost above", "currency", self.cost - at(rows["present"], today))
        both = at(rows["feasible"], self.position) * at(rows["feasible"], today)
        self.able = self._line("both can do the work", "1", at_least(both, 1))

    def every_tie(self) -> Iterator[Tie]:
        """Plate price, first cost, value of a press hour, wage."""
        for trials, quantity, key in (
            (self.cases.plate_price, "price of a plate, mean", "mean_price"),
            (self.cases.first_cost, "first cost of equipment", "first_outlay"),
        ):
            if self.name in trials and key in self.sheet.lines:
                yield self._by_case(quantity, trials[self.name], self.sheet.lines[key])
        level = self.study.shop.worth["wages"]["work"]
        money, hours = (
            [sheet.lines[key] * level for sheet in (self.sheet, self.other)]
            for key in ("press_money", "press_hours")
        )
        yield self._by_hour("value of a press hour, on every press", money, hours)
        wages, worked = self._worth("paid_wages"), self._worth("paid_hours")
        if wages is not None and worked is not None:
            yield self._by_hour("loaded wage of hands-on work", wages, worked)

    def _line(self, label: str, unit: str, body: Expr) -> Line:
        return self.column.line(f"{self.words}: {label}", unit, body)

    def _by_case(self, quantity: str, trial: Trial, now: Line) -> Tie:
        """From the cost with the price a tenth higher."""
        self.readings.append(Reading(trial, self.study.comparison.rows["present"], self.position))
        by_tenth = self._line(
            f"{quantity}, a tenth more costs", "currency", at(self.readings[-1], 0) - self.cost
        )
        matters = self._line(f"{quantity}, matters", "1", opposite(at_least(0, absolute(by_tenth))))
        share = 0 - self.gap * at(self.cases.tenth, 0) / by_tenth
        change = self._line(f"{quantity}, change to a tie", "1", when(matters, share, 0))
        today = self._line(f"{quantity}, today", str(now.unit), now)
        value = self._line(quantity, str(now.unit), today * (Constant(1) + change))
        paid = self._line(f"{quantity}, paid at all", "1", opposite(at_least(0, today)))
        return self._tie(quantity, today, value, matters * paid, by_tenth)

    def _worth(self, key: str) -> list[Expr] | None:
        """This method's and the other's yearly lines of a kind over the years; None where neither has any."""
        worth = self.study.shop.worth["wages"]
        found = [
            [s.lines[f"{key}.{f}"] * worth[f] for f in ("work", "time") if f"{key}.{f}" in s.lines]
            for s in (self.sheet, self.other)
        ]
        some = next((parts[0] for parts in found if parts), None)
        return None if some is None else [add(parts) if parts else some * 0 for parts in found]

    def _by_hour(self, quantity: str, money: list[Expr], hours: list[Expr]) -> Tie:
        """Both methods' money put at one value an hour: where the gap closes."""
        mine = self._line(f"{quantity}, its money over the years", "currency", money[0])
        theirs = self._line(f"{quantity}, the other's money over the years", "currency", money[1])
        my_hours = self._line(f"{quantity}, its hours over the years", "h", hours[0])
        their_hours = self._line(f"{quantity}, the other's hours over the years", "h", hours[1])
        rest = self._line(f"{quantity}, gap without it", "currency", self.gap - (mine - theirs) * self.keep)
        more = self._line(f"{quantity}, hours more", "h", my_hours - their_hours)
        matters = self._line(f"{quantity}, matters", "1", opposite(at_least(0, absolute(more))))
        value = self._line(quantity, "currency/h", when(matters, 0 - rest / (more * self.keep), 0))
        spent = self._line(f"{quantity}, hours at all", "1", opposite(at_least(0, my_hours)))
        today = self._line(f"{quantity}, today", "currency/h", when(spent, mine / my_hours, 0))
        return self._tie(quantity, today, value, matters, more)

    def _tie(self, quantity: str, today: Line, value: Line, matters: Expr, dearer: Line) -> Tie:
        """dearer : above zero where a higher value makes this method the dearer one"""
        exists = self._line(f"{quantity}, exists", "1", matters * at_least(value, 0) * self.able)
        below = self._line(f"{quantity}, costs less below it", "1", at_least(dearer, 0))
        return Tie(self.name, quantity, today, value, exists, below)


__all__ = ["Tie", "ties"]
