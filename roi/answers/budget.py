"""A year's budget of a scenario: staying with the current method beside switching to another, month by month.

Currency, costs positive, receipts negative; before tax on profit. The year is year 1 of the reckoning, from the month in
which the shop's year begins. This module chooses the method that is switched to, puts the columns together, checks them
against the reckoning and says the year in words; the amounts are in `budget_year`, the months in `budget_months`.
"""

from __future__ import annotations

import datetime
import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from roi.answers.budget_actuals import Actuals, actuals
from roi.answers.budget_checks import budget_checks
from roi.answers.budget_dates import Dated, Fiscal, dates
from roi.answers.budget_months import AXIS, BudgetMonths, Row, budget_months
from roi.answers.budget_words import calendar, words
from roi.answers.budget_year import BudgetYear, budget_year
from roi.engine.cases import Cases, Trial, Worked, read
from roi.engine.column import Book, Column, Line
from roi.engine.evaluate import Values, extend
from roi.engine.expression import Axis, Leaf
from roi.engine.functions import Array
from roi.engine.operations import gather
from roi.engine.words import Sentence
from roi.model.study import Study, build
from roi.scenario.problems import BadInput, Problem
from roi.scenario.scenario import Scenario
from roi.scenario.stated import StatedInput
from roi.units.unit import Unit

CAUTION = (
    "A plan in management terms, before tax on profit. It is not tax or accounting advice: what is capitalised, depreciated or "
    "recovered is for your accountant to decide."
)
YEARS_AHEAD = 1  # a budget is of year 1, at the prices and the work stated: years later want them stated anew
_NOTHING = "no other method can do this work, so there is nothing to switch to"
_MONTH = ("leaving", "month")
_ONE = Axis("less work", ("less work",))


@dataclass(frozen=True, eq=False)
class Budget:
    """A budget of the `study` of two methods.

    less : the column with the work of the year when there is less of it, the trial's only case
    calendar : names of months and where the budget's twelve stand among them (`named`, `position`)
    """

    study: Study
    fiscal: Fiscal
    year: BudgetYear
    months: BudgetMonths
    actuals: Actuals
    less: Column
    share: Line
    cases: Cases
    calendar: Column
    named: Line
    position: Line
    words: Column
    sentences: list[Sentence]
    checks: Column
    results: Line
    overall: Line
    dates: list[Dated]

    @property
    def short(self) -> str:
        """What the method switched to is called."""
        return self.year.switching.sheet.method.short

    @property
    def trial(self) -> Trial:
        return self.cases.trials[0]

    @property
    def columns(self) -> list[Column]:
        """The columns on top of the study's and of the readings of the case with less work."""
        return [self.months.column, self.calendar, self.actuals.column, self.words, self.checks]

    def evaluate(
        self, changes: Mapping[str, float] = {}, typed: Mapping[Leaf, Array] = {}
    ) -> tuple[Values, dict[Trial, Worked]]:
        """Every line for one case, and the lines of the case with less work.

        changes : {input key: value in the engine's unit};  typed : what is typed on Actuals, shape (12,) or (1,)
        """
        known = extend(self.study.evaluate(dict(changes)), [self.year.column, self.less], changes)
        worked = self.cases.evaluate(known, changes)
        known |= {reading: read(reading, worked[reading.trial]) for reading in self.cases.readings}
        known |= {leaf: np.asarray(value, float)[:, None] for leaf, value in typed.items()}
        return extend(known, self.columns, changes), worked


def budget_of(
    scenario: Scenario, year: int, month: int | None, method: str | None, today: datetime.date
) -> Budget:
    """The budget of the fiscal year that begins in `year`, switching in its `month` counted from 0.

    month : None is what the scenario states (leaving.month), else 0;  method : an id, None for the cheapest challenger
    Raises BadInput with every problem.
    """
    problems = _problems_of_time(scenario, year, month, today)
    if method is not None:
        problems += _problems_of_method(scenario, method)
    if problems:
        raise BadInput(problems)
    others = [m.id for m in scenario.methods if m.id != scenario.current]
    name = method or (others[0] if len(others) == 1 else _cheapest(scenario))
    study = build(_of_two(scenario, name, month))
    values = study.evaluate()
    if float(values[study.comparison.rows["feasible"]][list(study.methods).index(name), 0]) != 1:
        where = f"--method {method}" if method else scenario.path.name
        what = "can't do this work" if method else _NOTHING
        raise BadInput(
            [Problem(where, what, "see roi compare for why" + (", or name another" if method else ""))]
        )
    begins = scenario.stated("money", "year_begins")
    fiscal = Fiscal(year, 1 if begins is None else round(begins.best))
    return _put_together(study, values, name, fiscal, today)


def _problems_of_time(
    scenario: Scenario, year: int, month: int | None, today: datetime.date
) -> list[Problem]:
    begins = scenario.stated("money", "year_begins")
    first = 1 if begins is None else round(begins.best)
    now = today.year if first <= today.month else today.year - 1
    problems = []
    if not now <= year <= now + YEARS_AHEAD:
        what = (
            "has fewer than four digits"
            if 0 < year < 1000
            else "is over"
            if 0 < year < now
            else "is too far ahead: a budget takes the prices and the work as stated today"
            if year > now
            else "is no year"
        )
        mend = f"write --year {now} (begins in {Fiscal(now, first).month(0)}) to --year {now + YEARS_AHEAD}"
        problems.append(Problem(f"--year {year}", what, mend))
    if month is not None and not 0 <= month < len(AXIS):
        mend = (
            "write --switch-month 0 (at the start of the year) to 11 (eleven months of the old method first)"
        )
        problems.append(Problem(f"--switch-month {month}", "is not a month of the year", mend))
    return problems


def _problems_of_method(scenario: Scenario, method: str) -> list[Problem]:
    others = [m.id for m in scenario.methods if m.id != scenario.current]
    if method in others:
        return []
    where, mend = f"--method {method}", f"one of {', '.join(others)}"
    if method == scenario.current:
        return [Problem(where, "is the method in use, which is budgeted anyway", mend)]
    near = difflib.get_close_matches(method, others, 1)
    return [Problem(where, "is not among the methods", f'was "{near[0]}" meant?' if near else mend)]


def _cheapest(scenario: Scenario) -> str:
    """The cheapest method but the one in use, by id, in cash over the years. Raises BadInput where none can do the work."""
    study = build(scenario)
    values = study.evaluate()
    able = values[study.comparison.rows["feasible"]][:, 0]
    costs = values[study.comparison.rows["present"]][:, 0]
    found = {name: float(costs[i]) for i, name in enumerate(study.methods) if able[i] == 1}
    found.pop(scenario.current, None)
    if not found:
        raise BadInput([Problem(scenario.path.name, _NOTHING, "see roi compare for why")])
    return min(found, key=lambda name: found[name])


def _of_two(scenario: Scenario, name: str, month: int | None) -> Scenario:
    """The scenario with the current method and one other, and what they are the same as; the month of the switch stated."""
    kept = {scenario.current, name, *scenario.bases(scenario.current), *scenario.bases(name)}
    methods = tuple(m for m in scenario.methods if m.id in kept)
    inputs = dict(scenario.inputs)
    if month is not None or _MONTH not in inputs:
        status = "default" if month is None else "estimate"
        source = (
            "the start of the year, nothing stated"
            if month is None
            else "stated for this budget (--switch-month)"
        )
        inputs[_MONTH] = StatedInput(
            key=".".join(_MONTH), label="Months of year 1 that the old method still runs", unit=Unit.read("month"), shown="month",
            factor=1.0, best=float(month or 0), low=float(month or 0), high=float(month or 0), least=0.0, most=11.0, whole=True,
            percent=False, status=status, source=source, date="", where="--switch-month", unusual="",
        )  # fmt: skip
    return replace(scenario, methods=methods, inputs=inputs, _engine={})


def _put_together(study: Study, values: Values, method: str, fiscal: Fiscal, today: datetime.date) -> Budget:
    year = budget_year(study, method)
    less = Column("Less work", "cases", across=True, note="The work of the year when there is less of it.")
    volume = study.scenario.input("work", "volume")
    share = less.input(study.scenario.input("stress", "less_work"))
    reduced = less.line(
        "Work of the year against the log", "1", gather(_ONE, [less.input(volume) * (1 - share)])
    )
    trial = Trial("Less work", _ONE, {volume: reduced})
    months = budget_months(study, year, trial, volume)
    months_of, named, position = calendar(study, months, fiscal)
    cheaper = float(values[study.comparison.rows["stays"]].flat[0]) == 0
    followed = actuals(months, cheaper)
    told, sentences = words(study, months, named, position, share)
    checked, results, overall = budget_checks(study, months, followed)
    cases = Cases(Book([*study.book.columns, year.column]), [trial], months.readings)
    return Budget(
        study, fiscal, year, months, followed, less, share, cases, months_of, named, position, told, sentences, checked, results,
        overall, dates(study, fiscal, today.isoformat()),
    )  # fmt: skip


def said(budget: Budget, values: Values) -> list[str]:
    """The sentences with computed values."""
    return [sentence.say(values) for sentence in budget.sentences]


def months_named(budget: Budget, values: Values) -> list[str]:
    """The names of the twelve months."""
    assert budget.named.axis is not None
    return [budget.named.axis.labels[round(float(p)) - 1] for p in values[budget.position].ravel()]


def as_json(budget: Budget, values: Values) -> dict[str, Any]:
    """Everything as plain data, unrounded: schema 1, months, `staying` and `switching` with rows in cash, in profit and loss
    and between them, dates, checks. A row: key, label, account, kind, months (12), year, year_with_less_work.
    """

    def rows(found: Sequence[Row]) -> list[dict[str, Any]]:
        return [
            {
                "key": row.key,
                "label": row.label,
                "account": row.account,
                "kind": row.kind,
                "months": [float(x) for x in np.broadcast_to(values[row.months], (len(AXIS), 1))[:, 0]],
                "year": float(values[row.year].flat[0]),
                "year_with_less_work": float(values[row.less].flat[0]),
            }
            for row in found
        ]

    ways = {
        plan.way.name: {
            "method": plan.way.sheet.method.id,
            "label": plan.way.label,
            "cash": rows(plan.cash),
            "profit_and_loss": rows(plan.profit),
            "from_cash_to_profit_and_loss": rows([*plan.bridge, plan.bridged]),
            "falls_after_the_year": float(values[plan.beyond].flat[0]),
        }
        for plan in budget.months.plans
    }
    assert budget.results.axis is not None
    passed = zip(budget.results.axis.labels, values[budget.results][:, 0], strict=True)
    return {
        "schema": 1,
        "scenario": budget.study.scenario.name,
        "currency": budget.study.scenario.currency,
        "basis": "before_tax",
        "year": budget.fiscal.year,
        "months": months_named(budget, values),
        "switch_month": round(float(budget.study.scenario.inputs[_MONTH].best)),
        "sentences": said(budget, values),
        **ways,
        "dates": [{"kind": d.kind, "when": d.when, "what": d.what} for d in budget.dates],
        "checks": [{"name": name, "ok": bool(ok == 1)} for name, ok in passed],
    }


__all__ = ["CAUTION", "Budget", "as_json", "budget_of", "months_named", "said"]
