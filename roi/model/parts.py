"""A year's work in parts, and what each method costs on any of them together: the method's ordinary column on less work.

The work is reduced once, forms of different parts apart, and the columns are written once. A set of parts is then a case in
which the yearly amounts of all other forms are nought, so that hundreds of sets are worked in one go, each exactly as a study
of a scenario with only those forms. What belongs to the whole shop stays that of all the work: the state of each press, and
what an invoice stands at against the model. Money positive, in currency, after tax where not said otherwise.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from roi.engine.column import Book, Column, Line
from roi.engine.evaluate import Program, Values
from roi.engine.expression import Data, Leaf
from roi.engine.functions import Array
from roi.engine.operations import at
from roi.model.overtime import is_counted
from roi.model.plate_kinds import switch_lines
from roi.model.shop import shop_column
from roi.model.study import method_sheets
from roi.model.tables import work_tables
from roi.scenario.narrow import narrowed
from roi.scenario.scenario import Scenario

Set = frozenset[int]  # parts taken together

CASH, FULL = 0, 1
AT_ONCE = 128  # sets worked in one go: more wait for memory
_VOLUME = "work.volume"
_INVOICED = "invoice against model"  # ends the label of what scales a bill to last year's invoice
_KEEPS_ITS_VALUE = "money.year_begins"  # a month of the calendar, not an amount
# Of the current method: what its leaver sells, writes off or still owes.
_LEFT_BEHIND = (".tax_book", ".resale_now", ".rental_left", ".agreement.share_due")


@dataclass(frozen=True)
class Cost:
    """What a method costs on a set of parts; pairs are (cash, full cost).

    leaving : present cost, what is paid for leaving the current method included
    staying : the same while the current method is kept beside it
    follows : what of the present cost follows the work
    today : what follows the work of a year's running cost, at today's prices, cash, before tax
    """

    feasible: bool
    leaving: tuple[float, float]
    staying: tuple[float, float]
    follows: tuple[float, float]
    today: float


@dataclass(frozen=True)
class Switching:
    """A press that switches between kinds of plates: switches and hours of press in year 1; worth is (cash, full cost)."""

    switches: float
    hours: float
    worth: tuple[float, float]


class Parts:
    """The parts of a scenario's work; costs asked for are kept.

    part : a number a row of the work, 0 and up, saying which part it belongs to
    held : values by line key that stay those of a larger work this one was taken from, as `Parts.held` gives them
    """

    def __init__(
        self, scenario: Scenario, part: NDArray[np.intp], held: Mapping[str, Array] | None = None
    ) -> None:
        self.scenario, self.part = scenario, np.asarray(part, np.intp)
        self.count = int(self.part.max()) + 1
        self.work = work_tables(scenario, self.part)
        self.shop = shop_column(scenario, self.work)
        self.sheets = method_sheets(self.shop)
        self._costs: dict[Set, dict[str, Cost]] = {}
        self._switching: dict[tuple[int, float], Switching] = {}
        columns = [self.shop.column, self.sheets[scenario.current].column]
        columns += [s.column for name, s in self.sheets.items() if name != scenario.current]
        wanted = [s.lines[key] for s in self.sheets.values() for key in _WANTED]
        whole = [*self._whole_shop(columns), self.shop.annuity, self.shop.horizon]
        self._program = Program(Book(columns), [*wanted, *whole])
        self._stated = {key: stated.best for key, stated in self._program.inputs.items()}
        self.values: Values = self._program.run()
        if held is None:
            held = {line.key: self.values[line] for line in self._whole_shop(columns)}
        self.held = dict(held)
        self._held: dict[Leaf, Array] = {
            line: self.held[line.key] for line in self._whole_shop(columns) if line.key in self.held
        }
        self._jobs, self._job_names = _numbered(scenario.work.job)
        self._kinds = _Kinds(self)

    def _whole_shop(self, columns: Sequence[Column]) -> list[Line]:
        invoiced = [line for c in columns for line in c.lines if line.label.endswith(_INVOICED)]
        return [self.shop.press_state, *invoiced]

    def need(self, sets: Iterable[Set]) -> None:
        """Work sets that will be asked for, in one go."""
        new = [s for s in dict.fromkeys(sets) if s and s not in self._costs]
        for start in range(0, len(new), AT_ONCE):
            self._work(new[start : start + AT_ONCE])

    def cost(self, method: str, parts: Set) -> Cost:
        """What a method costs on some parts, by its id; ValueError for no part at all."""
        if not parts:
            raise ValueError("a method without any work has no cost to tell")
        self.need([parts])
        return self._costs[parts][method]

    def switching(self, press: int, forms: float) -> Switching:
        """A press, by position, with so many forms a year, at the log's volume, on plates of another kind."""
        if (press, forms) not in self._switching:
            self._switching[press, forms] = self._kinds.of(press, forms)
        return self._switching[press, forms]

    def _work(self, sets: list[Set]) -> None:
        """Three cases a set: as stated, the current method kept, and without any work."""
        if is_counted(self.scenario) and self.count > 1:
            # Overtime hangs on how the plates fall on days, which isn't a sum over parts: each set is a study of its own.
            for parts in sets:
                forms = narrowed(self.scenario, np.isin(self.part, sorted(parts)))
                alone = Parts(forms, np.zeros(len(forms.work.weight), np.intp), self.held)
                self._costs[parts] = {name: alone.cost(name, frozenset([0])) for name in self.sheets}
            return
        count = len(sets)
        taken = np.array([[float(i in s) for s in sets] for i in range(self.count)])
        program = self._program
        values = program.run(self._changes(count), {**self._held, **self._amounts(taken)})
        for column, parts in enumerate(sets):
            self._costs[parts] = {name: self._read(values, name, column, count) for name in self.sheets}

    def _changes(self, count: int) -> dict[str, Array]:
        """Inputs case by case."""
        current = f"methods.{self.scenario.current}."
        changed: dict[str, Array] = {}
        for key, best in self._stated.items():
            left = (key.startswith("leaving.") and key != _KEEPS_ITS_VALUE) or key.endswith(
                ".changeover.parallel"
            )
            if left or (key.startswith(current) and key.endswith(_LEFT_BEHIND)):
                changed[key] = np.repeat([best, 0.0, 0.0], count)
        changed[_VOLUME] = np.repeat([self._stated[_VOLUME], self._stated[_VOLUME], 0.0], count)
        return changed

    def _amounts(self, taken: Array) -> dict[Leaf, Array]:
        """Every yearly amount of forms, but for those of parts not taken; `taken` is (parts, sets)."""
        reduced = self.work.reduced
        found: dict[Leaf, Array] = {}
        by_class = np.tile(taken[reduced.part.astype(int)], 3)
        by_bin = by_class[reduced.bin_class.astype(int) - 1]
        for data in self._program.data:
            if data.unit.has("year") and data.axis in (self.work.classes, self.work.bins):
                found[data] = data.values[:, None] * (by_class if data.axis == self.work.classes else by_bin)
        found[self.work.totals] = np.tile(self._totals(taken > 0), 3)
        return found

    def _totals(self, taken: NDArray[np.bool_]) -> Array:
        """Jobs and good impressions of each set; days and weeks as they are."""
        work = self.scenario.work
        rows = taken[self.part]
        weight = work.weight * work.per_year
        jobs = weight @ rows
        if work.jobs is not None:
            jobs = work.jobs @ rows * work.per_year
        elif self._job_names:
            met = np.zeros((self._job_names, rows.shape[1]), bool)
            named = self._jobs >= 0
            for column in range(rows.shape[1]):
                met[self._jobs[named & rows[:, column]], column] = True
            jobs = met.sum(axis=0) * work.per_year
        totals = np.repeat(self.work.totals.values[:, None], rows.shape[1], axis=1)
        totals[0], totals[1] = jobs, (weight * work.good) @ rows
        return totals

    def _read(self, values: Values, method: str, column: int, count: int) -> Cost:
        lines = self.sheets[method].lines

        def at_case(name: str, case: int) -> float:
            found = values[lines[name]].reshape(-1)
            return float(found[column + case * count if found.size > 1 else 0])

        def pair(name: str, case: int) -> tuple[float, float]:
            return at_case(name, case), at_case(f"{name}_full", case)

        ran, idle = pair("ran", 1), pair("ran", 2)
        return Cost(
            feasible=at_case("feasible", 0) == 1,
            leaving=pair("present", 0),
            staying=pair("present", 1),
            follows=(ran[CASH] - idle[CASH], ran[FULL] - idle[FULL]),
            today=at_case("running_today", 1) - at_case("running_today", 2),
        )


_WANTED = ("feasible", "present", "present_full", "ran", "ran_full", "running_today")


class _Kinds:
    """The lines of switching, of every press."""

    def __init__(self, parts: Parts) -> None:
        shop, scenario = parts.shop, parts.scenario
        nought = [0.0] * len(scenario.presses)
        self._forms = Data("kinds.forms", "Forms on another kind", "form/year", parts.work.presses, nought)
        column = Column("Kinds of plates", "kinds")
        self._lines = [
            switch_lines(column, shop, i, at(self._forms, i)) for i in range(len(scenario.presses))
        ]
        wanted = [line for s in self._lines for line in (s.by_year, s.hours, s.worth, s.worth_full)]
        self._program = Program(Book([shop.column, column]), wanted)
        self._held: dict[Leaf, Array] = {shop.press_state: parts.held[shop.press_state.key]}

    def of(self, press: int, forms: float) -> Switching:
        amounts = np.zeros((len(self._lines), 1))
        amounts[press] = forms
        values, lines = self._program.run(held={**self._held, self._forms: amounts}), self._lines[press]
        worth = (float(values[lines.worth][0]), float(values[lines.worth_full][0]))
        return Switching(float(values[lines.by_year][1, 0]), float(values[lines.hours][1, 0]), worth)


def _numbered(jobs: NDArray[np.object_]) -> tuple[NDArray[np.intp], int]:
    """A number for each job of the work, -1 where it has none, and how many there are."""
    names = {name: i for i, name in enumerate(dict.fromkeys(j for j in jobs.tolist() if j != ""))}
    return np.array([names.get(j, -1) for j in jobs.tolist()], np.intp), len(names)


__all__ = ["CASH", "FULL", "Cost", "Parts", "Set", "Switching"]
