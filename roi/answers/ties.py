"""The plate price, first cost, value of a press hour and wage at which a method costs what the current one does; as lines.

In cash, after tax. Costs are straight lines in each of them, so that one further case, or the hours behind the money, tell.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from roi.answers.cases import CaseSet
from roi.engine.cases import Reading, Trial
from roi.engine.column import Column, Line
from roi.engine.expression import Constant, Expr, absolute, at, at_least, opposite, when
from roi.model.sheet import MethodSheet, add
from roi.model.study import Study


@dataclass(frozen=True)
class Tie:
    """The value of one quantity at which a method costs what the current one does; `exists` is a flag."""

    method: str
    quantity: str
    now: Line
    value: Line
    exists: Line


def ties(study: Study, cases: CaseSet, column: Column, readings: list[Reading]) -> list[Tie]:
    """Add the lines to a column, what they read from cases to `readings`."""
    return list(_Builder(study, cases, column, readings).ties())


class _Builder:
    def __init__(self, study: Study, cases: CaseSet, column: Column, readings: list[Reading]) -> None:
        self.study, self.cases, self.column, self.readings = study, cases, column, readings

    def _short(self, name: str) -> str:
        return self.study.methods[name].method.short

    def _read(self, trial: Trial, line: Line, row: int) -> Reading:
        self.readings.append(Reading(trial, line, row))
        return self.readings[-1]

    def ties(self) -> Iterator[Tie]:
        """For each method but the current one: plate price, first cost, value of a press hour, wage."""
        study, c = self.study, self.column
        current = study.scenario.current
        rows, today = study.comparison.rows, list(study.methods).index(current)
        rate = c.input(study.scenario.input("money", "tax_rate"))
        self.keep = c.line("Left of a cost after tax", "1", 1 - rate)
        for i, name in enumerate(study.methods):
            if name == current:
                continue
            words = f"{self._short(name)} against {self._short(current)}"
            c.heading(
                f"{words}: where they cost the same",
                "Costs are straight lines in a price; below nothing there is none.",
            )
            gap = c.line(
                f"{words}: present cost above",
                "currency",
                at(rows["present"], i) - at(rows["present"], today),
            )
            sheet, other = study.methods[name], study.methods[current]
            for trials, quantity, key in (
                (self.cases.plate_price, "price of a plate, mean", "mean_price"),
                (self.cases.first_cost, "first cost", "first_cost"),
            ):
                if name in trials and key in sheet.lines:
                    yield self._by_case(
                        words, quantity, name, gap, at(rows["present"], i), trials[name], sheet.lines[key], i
                    )
            yield self._by_hour(words, name, gap, sheet, other)
            if tie := self._by_wage(words, name, gap, sheet, other):
                yield tie

    def _by_case(
        self, words: str, quantity: str, name: str, gap: Line, cost: Expr, trial: Trial, now: Line, i: int
    ) -> Tie:
        """From the cost with the price a tenth higher."""
        c, what = self.column, f"{words}: {quantity}"
        dearer = at(self._read(trial, self.study.comparison.rows["present"], i), 0)
        by_tenth = c.line(f"{what}, a tenth more costs", "currency", dearer - cost)
        matters = c.line(f"{what}, matters", "1", opposite(at_least(0, absolute(by_tenth))))
        change = c.line(
            f"{what}, change to a tie", "1", when(matters, 0 - gap * at(self.cases.tenth, 0) / by_tenth, 0)
        )
        today = c.line(f"{what}, today", str(now.unit), now)
        value = c.line(what, str(now.unit), today * (Constant(1) + change))
        exists = c.line(f"{what}, exists", "1", matters * at_least(value, 0) * opposite(at_least(0, today)))
        return Tie(name, quantity, today, value, exists)

    def _by_hour(self, words: str, name: str, gap: Line, sheet: MethodSheet, other: MethodSheet) -> Tie:
        """One value of an hour for every press."""
        level = self.study.shop.worth["wages"]["work"]
        money, hours = (
            [s.lines[key] * level for s in (sheet, other)] for key in ("press_money", "press_hours")
        )
        return self._by_difference(
            words, "value of a press hour, on every press", name, gap, money, hours, "currency/h"
        )

    def _by_wage(
        self, words: str, name: str, gap: Line, sheet: MethodSheet, other: MethodSheet
    ) -> Tie | None:
        """One loaded wage for all hands-on work, as far as it turns into money."""
        worth = self.study.shop.worth["wages"]

        def all_of(s: MethodSheet, key: str) -> Expr | None:
            parts = [s.lines[f"{key}.{f}"] * worth[f] for f in ("work", "time") if f"{key}.{f}" in s.lines]
            return add(parts) if parts else None

        mine, theirs = all_of(sheet, "paid_wages"), all_of(other, "paid_wages")
        my_hours, their_hours = all_of(sheet, "paid_hours"), all_of(other, "paid_hours")
        some = next((x for x in (mine, theirs) if x is not None), None)
        some_hours = next((x for x in (my_hours, their_hours) if x is not None), None)
        if some is None or some_hours is None:
            return None
        money = [mine if mine is not None else some * 0, theirs if theirs is not None else some * 0]
        hours = [
            my_hours if my_hours is not None else some_hours * 0,
            their_hours if their_hours is not None else some_hours * 0,
        ]
        return self._by_difference(
            words, "loaded wage of hands-on work", name, gap, money, hours, "currency/h"
        )

    def _by_difference(
        self, words: str, quantity: str, name: str, gap: Line, money: list[Expr], hours: list[Expr], unit: str
    ) -> Tie:
        """Both methods' money put at one value an hour: where the gap closes."""
        c, what = self.column, f"{words}: {quantity}"
        mine = c.line(f"{what}, its money over the years", "currency", money[0])
        theirs = c.line(f"{what}, the other's money over the years", "currency", money[1])
        my_hours = c.line(f"{what}, its hours over the years", "h", hours[0])
        their_hours = c.line(f"{what}, the other's hours over the years", "h", hours[1])
        rest = c.line(f"{what}, gap without it", "currency", gap - (mine - theirs) * self.keep)
        more = c.line(f"{what}, hours more", "h", my_hours - their_hours)
        matters = c.line(f"{what}, matters", "1", opposite(at_least(0, absolute(more))))
        value = c.line(what, unit, when(matters, 0 - rest / (more * self.keep), 0))
        spent = c.line(f"{what}, hours at all", "1", opposite(at_least(0, my_hours)))
        today = c.line(f"{what}, today", unit, when(spent, mine / my_hours, 0))
        exists = c.line(f"{what}, exists", "1", matters * at_least(value, 0))
        return Tie(name, quantity, today, value, exists)


__all__ = ["Tie", "ties"]
