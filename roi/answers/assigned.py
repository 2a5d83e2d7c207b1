"""Presses given to methods, plates of one kind a press: what each assignment costs, and which is chosen by variable cost.

A press's forms are made by its own method. Those out of that method's reach go to another owned method that can make them, or
are bought in, whichever has the less variable cost; plates of another kind mean switching the press there and back. Money
positive, in currency, present worth after tax; pairs are (cash, full cost). Forms and plates are those called for in a year
at the log's volume.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product

import numpy as np
from numpy.typing import NDArray

from roi.model.comparison import TIE
from roi.model.parts import CASH, FULL, Parts, Set, Switching
from roi.model.plate_kinds import is_counted
from roi.scenario.scenario import Scenario

MOST_ASSIGNMENTS = 256  # of an owned set, up to which every one is tried
BOUGHT = ""  # stands where a supplier makes the plates

Pair = tuple[float, float]


@dataclass(frozen=True)
class Home:
    """A press with the method whose plates it runs.

    press : position among the presses;  helper : the method that makes what this one can't, "" for none
    kept, moved, bought : parts of the work: made here or bought in by this method, made by the helper, and those of `kept`
    that are bought in
    variable : what follows the work, switching included
    """

    press: int
    method: str
    helper: str
    kept: Set
    moved: Set
    bought: Set
    switching: Pair
    variable: float

    @property
    def makers(self) -> tuple[str, ...]:
        """The methods that make its plates."""
        return (self.method, self.helper) if self.moved else (self.method,)


@dataclass(frozen=True)
class Assignment:
    """Every press with work and its method; `costs` by method are what each costs on its part of the work."""

    owned: tuple[str, ...]
    homes: tuple[Home, ...]
    costs: dict[str, Pair]
    switching: Pair

    @property
    def used(self) -> tuple[str, ...]:
        """The methods that make plates in it."""
        return tuple(self.costs)

    @property
    def present(self) -> Pair:
        """Present cost, switching included."""
        cash, full = (
            sum(c[view] for c in self.costs.values()) + self.switching[view] for view in (CASH, FULL)
        )
        return cash, full


class Presses:
    """A scenario's work by press and by which methods can serve it, and the assignments of its presses."""

    def __init__(self, scenario: Scenario) -> None:
        self.scenario = scenario
        self.methods = tuple(m.id for m in scenario.methods)
        self.served = served(scenario)
        self._keys, part = np.unique(
            np.column_stack([scenario.work.press, self.served.T.astype(int)]), axis=0, return_inverse=True
        )
        self.part = part.reshape(-1)
        self.parts = Parts(scenario, self.part)
        work = scenario.work
        weight = work.weight * work.per_year
        self._forms = np.bincount(self.part, weight)
        self._plates = np.bincount(self.part, weight * work.plates)
        self._homes: dict[tuple[int, str, str], Home] = {}

    @cached_property
    def busy(self) -> tuple[int, ...]:
        """Positions of the presses that have work."""
        return tuple(sorted({int(key[0]) for key in self._keys}))

    def forms(self, parts: Set) -> float:
        """Forms a year."""
        return float(sum(self._forms[i] for i in sorted(parts)))

    def plates(self, parts: Set) -> float:
        """Plates called for a year."""
        return float(sum(self._plates[i] for i in sorted(parts)))

    def on_press(self, press: int) -> Set:
        """The parts of one press's work."""
        return frozenset(i for i, key in enumerate(self._keys) if key[0] == press)

    @property
    def everything(self) -> Set:
        return frozenset(range(len(self._keys)))

    def out_of_reach(self, press: int, method: str) -> Set:
        """The parts of a press's work that a method can't make."""
        return frozenset(i for i in self.on_press(press) if not self._serves(method, i))

    def _serves(self, method: str, part: int) -> bool:
        return bool(self._keys[part][1 + self.methods.index(method)])

    def _makes(self, method: str) -> bool:
        return self.scenario.method(method).makes_plates

    def single(self, method: str) -> Assignment | None:
        """One method for every press, at exactly its own present cost and the switching for what it buys in; None where it
        can't do the work."""
        cost = self.parts.cost(method, self.everything)
        homes = [self._home(press, method, BOUGHT) for press in self.busy]
        if not cost.feasible:
            return None
        return Assignment((method,), tuple(homes), {method: cost.leaving}, _added(h.switching for h in homes))

    def by_variable_cost(self, owned: Sequence[str]) -> Assignment | None:
        """Each press with the owned method of least variable cost; ties go to the current method, then to the first.

        None where no owned method can do the work of some press.
        """
        self._prepare([owned])
        homes = []
        for press in self.busy:
            able = [home for method in owned if (home := self._best_home(press, method, owned)) is not None]
            if not able:
                return None
            least = min(home.variable for home in able)
            near = [home for home in able if home.variable <= least + TIE]
            homes.append(min(near, key=lambda home: home.method != self.scenario.current))
        return self._assigned(owned, tuple(homes))

    def all_of(self, owned: Sequence[str]) -> list[Assignment]:
        """Every assignment to owned methods; none where there are more than are tried."""
        if self.too_many(owned):
            return []
        self._prepare([owned])
        able = [
            [home for method in owned if (home := self._best_home(press, method, owned)) is not None]
            for press in self.busy
        ]
        every = list(product(*able))
        self.parts.need(parts for homes in every for parts in _by_method(homes).values())
        return [self._assigned(owned, homes) for homes in every]

    def too_many(self, owned: Sequence[str]) -> bool:
        """Whether a set has more assignments than are tried."""
        return len(owned) ** len(self.busy) > MOST_ASSIGNMENTS

    def switching(self, press: int, parts: Set) -> Switching:
        """What it takes to run some parts of a press's work on plates of another kind."""
        return self.parts.switching(press, self.forms(parts))

    def _prepare(self, sets: Iterable[Sequence[str]]) -> None:
        """Work in one go what homes will ask for."""
        wanted: list[Set] = []
        for owned in sets:
            for press, method in product(self.busy, owned):
                for helper in self._helpers(press, method, owned):
                    kept, moved, _ = self._split(press, method, helper)
                    wanted += [kept, moved]
        self.parts.need(wanted)

    def _helpers(self, press: int, method: str, owned: Sequence[str]) -> Iterator[str]:
        yield BOUGHT
        if self._makes(method):
            out = self.out_of_reach(press, method)
            for other in owned:
                if other != method and self._makes(other) and any(self._serves(other, i) for i in out):
                    yield other

    def _split(self, press: int, method: str, helper: str) -> tuple[Set, Set, Set]:
        """Parts kept, moved to the helper, and of the kept ones those bought in as another kind of plate."""
        mine, out = self.on_press(press), self.out_of_reach(press, method)
        moved = frozenset(i for i in out if helper != BOUGHT and self._serves(helper, i))
        return mine - moved, moved, (out - moved if self._makes(method) else frozenset())

    def _best_home(self, press: int, method: str, owned: Sequence[str]) -> Home | None:
        able = [
            home
            for helper in self._helpers(press, method, owned)
            if self._able(home := self._home(press, method, helper))
        ]
        return min(able, key=lambda home: home.variable) if able else None

    def _able(self, home: Home) -> bool:
        if not home.kept or not self.parts.cost(home.method, home.kept).feasible:
            return False
        return not home.moved or self.parts.cost(home.helper, home.moved).feasible

    def _home(self, press: int, method: str, helper: str) -> Home:
        if (press, method, helper) not in self._homes:
            kept, moved, bought = self._split(press, method, helper)
            # Where the shop counts it, the method's own column holds what is due to plates bought in.
            due = (moved,) if is_counted(self.scenario) else (moved, bought)
            switching = _added(self.switching(press, parts).worth for parts in due if parts)
            variable = switching[CASH]
            for maker, parts in ((method, kept), (helper, moved)):
                if parts:
                    variable += self.parts.cost(maker, parts).follows[CASH]
            home = Home(press, method, helper if moved else BOUGHT, kept, moved, bought, switching, variable)
            self._homes[press, method, helper] = home
        return self._homes[press, method, helper]

    def _assigned(self, owned: Sequence[str], homes: tuple[Home, ...]) -> Assignment:
        """Homes with their whole costs: the current method is left once, by one of the others, or not at all."""
        parts = _by_method(homes)
        # The old equipment keeps its book value in its own method's column.
        as_stated = (self.scenario.current, self._leaver(parts))
        costs = {
            method: found.leaving if method in as_stated else found.staying
            for method in self.methods
            if method in parts
            for found in [self.parts.cost(method, parts[method])]
        }
        return Assignment(tuple(owned), homes, costs, _added(h.switching for h in homes))

    def _leaver(self, used: Iterable[str]) -> str:
        """Who carries what is paid for leaving the current method: whoever runs beside it longest, else the first."""
        if self.scenario.current in used:
            return ""

        def months(method: str) -> float:
            stated = self.scenario.stated("methods", method, "changeover", "parallel")
            return 0.0 if stated is None else stated.best * stated.factor

        return max((m for m in self.methods if m in set(used)), key=months)


def served(scenario: Scenario) -> NDArray[np.bool_]:
    """Which forms each method makes itself, or prints elsewhere: shape (methods, rows of the work), at the best values."""
    work = scenario.work

    def best(*key: str) -> float | None:
        stated = scenario.stated(*key)
        return None if stated is None else stated.best * stated.factor

    found = np.zeros((len(scenario.methods), len(work.weight)), bool)
    length = best("work", "run_length") or 1.0
    for i, method in enumerate(scenario.methods):
        if not method.makes_plates:
            continue
        limit = best("methods", method.id, "ruling_limit")
        fits = np.array([method.takes(size) for size in scenario.sizes])[work.size]
        refused = np.zeros(len(work.weight), bool)
        for flag in method.cannot_serve:
            refused |= getattr(work, flag)
        fine = work.ruling <= (np.inf if limit is None else limit) + 1e-6
        up_to = best("methods", method.id, "elsewhere", "up_to")
        short = np.zeros(len(work.weight), bool)
        if up_to is not None:
            short = (work.good > 0) & (work.good * length <= up_to + 1e-6)
        found[i] = (fits & ~refused & fine) | short
    return found


def _by_method(homes: Iterable[Home]) -> dict[str, Set]:
    parts: dict[str, Set] = {}
    for home in homes:
        for method, mine in ((home.method, home.kept), (home.helper, home.moved)):
            if mine:
                parts[method] = parts.get(method, frozenset()) | mine
    return parts


def _added(pairs: Iterable[Pair]) -> Pair:
    listed = list(pairs)
    return sum(p[CASH] for p in listed), sum(p[FULL] for p in listed)


__all__ = ["BOUGHT", "MOST_ASSIGNMENTS", "Assignment", "Home", "Pair", "Presses", "served"]
