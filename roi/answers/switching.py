"""Switching values: how far each input alone must go before another method is the cheapest.

The switching value is the value itself, as in HM Treasury, The Green Book (appraisal guidance of the United Kingdom), part
on sensitivity analysis; elsewhere the word means the change needed, so both stand here, each under its own name. Compared
is present cost after tax, in cash or at full cost; a method that can't do the work never wins. Inputs are in the unit
people see, percentages as such: 10 for 10 %. Money is in the scenario's currency. What comes in grades (screen rulings) is
put at its own low and high alone, so that its switching value is the one of them that turns the answer.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from roi.answers.searched import NONE, Costs, searched, shown, turning, winners
from roi.engine.column import Line
from roi.engine.evaluate import Program
from roi.engine.functions import Array
from roi.engine.steps import TIE
from roi.engine.switches import Change, Integers, Search
from roi.model.study import Study
from roi.scenario.stated import StatedInput

VIEWS = ("cash", "full")
FEW = 3  # inputs named in a sentence


@dataclass(frozen=True)
class Switch:
    """A value of one input at which the cheapest method changes, the nearest to best on its side.

    at : the switching value; at a jump the first value found at which the other method wins
    kind : "tie" where both cost the same to a cent there, "jump" where a step passes one over the other
    before, after : the cheapest method up to there and from there on, None where none can do the work
    costs : present costs of the two at `at`, None for what can't do the work
    kept, beyond : the last value found at which the method cheapest at best keeps its place, and the first at which it
        doesn't, neighbours but for whole numbers and grades. At a tie the comparison, which gives 0.01 of money to the method
        in use, may turn a little before `kept` or a little after `beyond`
    told : `beyond` rounded away from best to as few digits as turn the comparison when put back: what people are told
    change_percent : the change needed, in per cent of best, negative downward; None where best is nought
    share_of_range : the change needed, of the input's own range from low to high: 0.5 for half; None without a range
    within : whether it lies within its own low and high
    """

    at: float
    kind: str
    before: str | None
    after: str | None
    costs: tuple[float | None, float | None]
    kept: float
    beyond: float
    told: float
    change_percent: float | None
    share_of_range: float | None
    within: bool


@dataclass(frozen=True)
class Switching:
    """An input and where it switches the cheapest method, below and above its best; None where it does not.

    searched : how far it was looked at
    """

    stated: StatedInput
    best: float
    low: float
    high: float
    searched: tuple[float, float]
    below: Switch | None
    above: Switch | None

    @property
    def nearest(self) -> Switch | None:
        """The switch nearest to best."""
        met = [switch for switch in (self.below, self.above) if switch is not None]
        return min(met, key=lambda switch: abs(switch.at - self.best)) if met else None

    @property
    def within(self) -> Switch | None:
        """The switch nearest to best that lies within the input's own low and high."""
        met = [switch for switch in (self.below, self.above) if switch is not None and switch.within]
        return min(met, key=lambda switch: abs(switch.at - self.best)) if met else None


@dataclass(frozen=True)
class SwitchingValues:
    """Every input searched, in one view.

    cheapest : the method cheapest at the best values, None where none can do the work
    inputs : those that switch it first, by the share of their own range that takes, then those that don't
    unsearched : inputs that have no range to look at
    """

    view: str
    cheapest: str | None
    inputs: tuple[Switching, ...]
    unsearched: tuple[StatedInput, ...]

    @property
    def switching(self) -> list[Switching]:
        """The inputs that switch the cheapest method."""
        return [each for each in self.inputs if each.nearest is not None]


@lru_cache(maxsize=4)
def switching_values(study: Study, view: str = "cash") -> SwitchingValues:
    """Search every input of a study, in cash or at full cost ("full"); kept, since words and sheets both ask."""
    costs, ids = Costs(study, view), list(study.methods)
    inputs, ranges = searched(study)
    row = study.comparison.rows["winner" if view == "cash" else "winner_full"]
    at_best = Program(study.book, [row]).run()[row]
    favoured = round(float(at_best[0])) - 1  # the winner counts from 1, 0 for none
    search = Search(
        study.book, [*costs.lines, row], ranges, lambda found: [winners(costs.table(found), favoured)]
    )
    changes = search.changes()
    switches = _Teller(ids, costs, row, search, inputs, changes).switches()
    found = tuple(
        Switching(
            stated,
            best=shown(stated, each.best),
            low=shown(stated, each.low),
            high=shown(stated, each.high),
            searched=(shown(stated, each.least), shown(stated, each.most)),
            below=switches.get((place, -1)),
            above=switches.get((place, 1)),
        )
        for place, (stated, each) in enumerate(zip(inputs, ranges, strict=True))
    )
    met = {stated.key for stated in inputs}
    used = study.book.inputs
    unsearched = [s for s in study.scenario.inputs.values() if s.key in used and s.key not in met]
    cheapest = None if favoured == NONE else ids[favoured]
    return SwitchingValues(view, cheapest, tuple(sorted(found, key=_rank)), tuple(unsearched))


def _rank(each: Switching) -> tuple[float, float]:
    switch = each.nearest
    if switch is None:
        return (np.inf, np.inf)
    share = np.inf if switch.share_of_range is None else switch.share_of_range
    return (min(share, 1e300), np.inf if switch.change_percent is None else abs(switch.change_percent))


class _Teller:
    """Puts what was found back and says what it is."""

    def __init__(
        self,
        ids: Sequence[str],
        costs: Costs,
        row: Line,
        search: Search,
        inputs: Sequence[StatedInput],
        changes: Sequence[Change],
    ) -> None:
        self.ids, self.costs, self.row, self.search = ids, costs, row, search
        self.inputs, self.changes = inputs, changes

    def switches(self) -> dict[tuple[int, int], Switch]:
        """Each switch by the input's place and side."""
        if not self.changes:
            return {}
        place = np.array([change.place for change in self.changes], np.int64)
        kept, beyond = (np.array([getattr(c, end) for c in self.changes]) for end in ("kept", "beyond"))
        both = self._table(np.concatenate([place, place]), np.concatenate([kept, beyond]))
        at_kept, at_beyond = both[:, : len(place)], both[:, len(place) :]
        here = np.array([_crossing(c, at_kept[:, i], at_beyond[:, i]) for i, c in enumerate(self.changes)])
        at_here = self._table(place, here)
        after = np.array([change.after for change in self.changes], np.int64)
        told = turning(self.inputs, self.search.ranges, place, beyond.tolist(), after, self._compared)
        return {
            (change.place, change.side): self._switch(
                change,
                float(here[i]),
                at_here[:, i],
                at_beyond[:, i],
                (at_kept[:, i], at_beyond[:, i]),
                told[i],
            )
            for i, change in enumerate(self.changes)
        }

    def _table(self, place: Integers, x: Array) -> Array:
        return np.concatenate([self.costs.table(values) for _, values in self.search.cases(place, x)], axis=1)

    def _compared(self, place: Integers, x: Array) -> Integers:
        """The cheapest method as the comparison has it, NONE where none can do the work."""
        rows = [
            np.broadcast_to(found[self.row], part.stop - part.start)
            for part, found in self.search.cases(place, x)
        ]
        return np.rint(np.concatenate(rows)).astype(np.int64) - 1  # it counts from 1, 0 for none

    def _switch(
        self, change: Change, here: float, there: Array, beyond: Array, ends: tuple[Array, Array], told: float
    ) -> Switch:
        stated, each = self.inputs[change.place], self.search.ranges[change.place]
        tie = (
            not each.whole and not each.grades and all(_gap(change, costs) <= TIE for costs in (*ends, there))
        )
        at, costs = (here, there) if tie else (change.beyond, beyond)
        moved = at - each.best
        return Switch(
            at=shown(stated, at),
            kind="tie" if tie else "jump",
            before=self._name(change.before),
            after=self._name(change.after),
            costs=(_cost(costs, change.before), _cost(costs, change.after)),
            kept=shown(stated, change.kept),
            beyond=shown(stated, change.beyond),
            told=told,
            change_percent=moved / abs(each.best) * 100 if each.best else None,
            share_of_range=abs(moved) / (each.high - each.low) if each.high > each.low else None,
            within=each.low <= at <= each.high,
        )

    def _name(self, position: int) -> str | None:
        return None if position == NONE else self.ids[position]


def _cost(costs: Array, position: int) -> float | None:
    return float(costs[position]) if position != NONE and np.isfinite(costs[position]) else None


def _gap(change: Change, costs: Array) -> float:
    """How far the two costs lie apart, infinite where one can't do the work."""
    one, other = (_cost(costs, position) for position in (change.before, change.after))
    return np.inf if one is None or other is None else abs(one - other)


def _crossing(change: Change, kept: Array, beyond: Array) -> float:
    """Between the two ends, where the chords of both costs meet."""
    gaps = [_gap(change, costs) for costs in (kept, beyond)]
    total = sum(gaps)
    share = gaps[0] / total if 0 < total < np.inf else 0.5
    return change.kept + (change.beyond - change.kept) * share


def could_turn(found: SwitchingValues, most: int = FEW) -> list[tuple[Switching, Switch]]:
    """The inputs that within their own low and high, each alone, make another method the cheapest, and where.

    Those that need the least share of their own range first.
    """
    met = [(each, switch) for each in found.inputs if (switch := each.within) is not None]
    met.sort(key=lambda pair: pair[1].share_of_range or 0.0)
    return met[:most]


__all__ = ["VIEWS", "Switch", "Switching", "SwitchingValues", "could_turn", "switching_values"]
