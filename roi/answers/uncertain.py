"""Which inputs of a study are drawn, from what, which move together, and the lines that a draw is judged by.

Drawn is every input that the answer depends on and whose low lies below its high, in the engine's unit. What is a whole
number by its nature (years looked ahead, switches, machines in a station) is a choice or a count, not a guess, and stays
at its best. What comes in grades takes one of its stated values.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from roi.answers.draws import Draws, Factor, Group
from roi.answers.spread import ENDS, SHAPES, Graded, Spread
from roi.engine.column import Line
from roi.engine.evaluate import BLOCK, Program
from roi.engine.functions import Array
from roi.model.study import Study
from roi.scenario.risk import RiskSettings, in_grades, price_groups
from roi.scenario.stated import StatedInput

ROWS = ("winner", "winner_full", "feasible", "present", "equivalent")
_PLACES = 200  # equally likely places of an input at which choices are weighed


@dataclass(frozen=True)
class Judged:
    """What a block of draws comes to; methods in the study's order.

    start : number of its first draw; places : of the inputs in their ranges, -1 at low to 1 at high, (inputs, draws)
    winner, winner_full : position of the cheapest in cash and at full cost from 1, 0 where none can do the work, (draws,)
    able : whether a method can do the work; present : present cost in currency; yearly : equivalent annual cost, both in
        cash and after tax; (methods, draws)
    """

    start: int
    places: Array
    winner: Array
    winner_full: Array
    able: NDArray[np.bool_]
    present: Array
    yearly: Array


class Uncertain:
    """A study's uncertain inputs, in the scenario's order, and draws of them."""

    def __init__(self, study: Study, settings: RiskSettings) -> None:
        self.study, self.settings = study, settings
        self._lines = [study.comparison.rows[name] for name in ROWS]
        self._program = Program(study.book, self._lines)
        used = [s for s in study.scenario.inputs.values() if s.key in self._program.inputs and s.low < s.high]
        self.inputs = [s for s in used if not s.whole]
        self.held = [s for s in used if s.whole]
        place = {s.key: i for i, s in enumerate(self.inputs)}
        self.groups = [
            Group(g.name, g.label, tuple(place[key] for key in g.keys))
            for g in price_groups(study.scenario, place)
        ]
        spreads = [spread_of(s, settings.shape) for s in self.inputs]
        self.draws = Draws(spreads, settings.draws, settings.seed, self.groups, settings.together)

    @property
    def factors(self) -> list[Factor]:
        """What varies on its own: inputs, and groups that move together."""
        return self.draws.factors([s.label for s in self.inputs])

    def grid(self) -> Array:
        """Equally likely places of each input in its range, -1 at low to 1 at high: shape (inputs, places)."""
        shares = (np.arange(_PLACES) + 0.5) / _PLACES
        found = [_placed(spread, spread.at(shares)) for spread in self.draws.spreads]
        return np.array(found).reshape(len(found), _PLACES)

    def judged(self, block: int = BLOCK) -> Iterator[Judged]:
        """Every draw, judged, a block at a time."""
        for start, values in self.draws.blocks(block):
            yield self._judge(start, values)

    def at_best(self) -> Judged:
        """The case of the best values, as a block of one."""
        return self._judge(0, np.empty((0, 1)))

    def _judge(self, start: int, values: Array) -> Judged:
        count, methods = values.shape[1], len(self.study.methods)
        cases = {s.key: row for s, row in zip(self.inputs, values, strict=False)}
        found = self._program.run(cases)
        winner, winner_full = (np.broadcast_to(found[line], (count,)) for line in self._lines[:2])
        able, present, yearly = (np.broadcast_to(found[line], (methods, count)) for line in self._lines[2:])
        places = values
        for spread, row in zip(self.draws.spreads, places, strict=False):
            row[:] = _placed(spread, row)
        return Judged(start, places, winner, winner_full, able > 0.5, present, yearly)

    def saving(self, method: str) -> Saving:
        """What a method saves against the current one a year, at any points of the draws."""
        return Saving(self, method)


class Saving:
    """From points of the draws, which are overwritten, to what a method saves against the current one a year.

    points, barred : how many have been worked, and in how many of them one of the two can't do the work, whose saving says
        nothing: such a plan can't be carried out
    """

    def __init__(self, uncertain: Uncertain, method: str) -> None:
        self._uncertain = uncertain
        sheets = [uncertain.study.methods[name] for name in (uncertain.study.scenario.current, method)]
        self._costs: list[Line] = [sheet.lines["equivalent"] for sheet in sheets]
        self._able: list[Line] = [sheet.lines["feasible"] for sheet in sheets]
        self._program = Program(uncertain.study.book, [*self._costs, *self._able])
        self.points = self.barred = 0

    def __call__(self, points: Array) -> Array:
        """Shape (columns, m) to (m,)."""
        count = points.shape[1]
        drawn = zip(self._uncertain.inputs, self._uncertain.draws.values(points), strict=True)
        found = self._program.run({s.key: row for s, row in drawn if s.key in self._program.inputs})
        both = np.broadcast_to(np.minimum(*(found[line] for line in self._able)), (count,))
        self.points += count
        self.barred += int((both < 0.5).sum())
        return np.broadcast_to(found[self._costs[0]] - found[self._costs[1]], (count,))


def spread_of(stated: StatedInput, shape: str) -> Spread:
    """The spread of an input over its range, in the engine's unit. KeyError for a shape not known."""
    low, best, high = (x * stated.factor for x in (stated.low, stated.best, stated.high))
    best = min(max(best, low), high)
    return Graded(low, best, high, ENDS[shape]) if in_grades(stated.key) else SHAPES[shape](low, best, high)


def _placed(spread: Spread, values: Array) -> Array:
    return np.asarray((values - spread.low) * (2 / (spread.high - spread.low)) - 1)


__all__ = ["Judged", "Saving", "Uncertain", "spread_of"]
