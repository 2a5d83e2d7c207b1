"""Cost against volume, method by method and pair by pair, as lines.

All in cash, after tax. Volumes are plates called for a month. Crossings on the grid of volumes are read off a straight
line between two neighbours: a band, not every crossing; `breakeven` finds each one.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

from roi.answers.cases import CaseSet
from roi.answers.few import decimals
from roi.answers.pairs import Grid, Pair, pair
from roi.answers.ties import Tie, ties
from roi.engine.cases import Reading, Trial
from roi.engine.column import Column, Line
from roi.engine.expression import Axis, Constant, Expr
from roi.engine.operations import (
    at,
    at_least,
    gather,
    larger,
    largest,
    opposite,
    pick,
    position_of,
    smallest,
    when,
)
from roi.engine.words import Name, Number, Phrase, Sentence, Words
from roi.model.study import Study
from roi.scenario.summary import example_of

TURN = "Where it turns"  # the sentence that page one may say


@dataclass(frozen=True)
class Volumes:
    """The Volumes column and what sheets and sentences take from it."""

    column: Column
    plates: Line
    shares: Line
    own: Line
    costs: dict[str, Line]
    own_x: Line
    own_y: Line
    pairs: list[Pair]
    ties: list[Tie]
    readings: list[Reading]
    chart_title: Sentence
    turn: Sentence

    @property
    def sentences(self) -> list[Sentence]:
        """Every sentence, in the order in which they are written down."""
        return [self.turn, *(each.sentence for each in self.pairs), self.chart_title]


def volumes(study: Study, cases: CaseSet) -> Volumes:
    """Build the lines of cost against volume."""
    return _Builder(study, cases).build()


class _Builder:
    def __init__(self, study: Study, cases: CaseSet) -> None:
        self.study, self.cases, self.trial = study, cases, cases.volumes
        self.names = list(study.methods)
        self.readings: list[Reading] = []
        self.column = Column(
            "Volumes",
            "volumes",
            across=True,
            note="Cost against volume, in cash, after tax; volumes along the columns.",
        )
        self.between = Axis(
            "steps between volumes", tuple(f"step {i + 1}" for i in range(len(self.trial.axis) - 1))
        )

    def build(self) -> Volumes:
        c, shop, rows = self.column, self.study.shop, self.study.comparison.rows
        c.heading(
            "Cost against volume", "Equivalent annual cost; plates a month are those called for in year 1."
        )
        self.plates = c.line("Plates a month", "plate/month", self._read(self.trial, shop.plates_a_month))
        self.least = c.line("Least volume looked at", "plate/month", at(self.plates, 0))
        self.most = c.line("Most volume looked at", "plate/month", at(self.plates, len(self.trial.axis) - 1))
        self.own = own = c.line("The shop's own plates a month", "plate/month", shop.plates_a_month)
        costs = {
            name: c.line(
                f"{self._short(name)}, cost a year",
                "currency/year",
                self._read(self.trial, rows["equivalent"], i),
            )
            for i, name in enumerate(self.names)
        }
        c.heading("Mark of the shop's own volume", "Two points, for the chart.")
        ends = Axis("ends of the mark", ("bottom", "top"))
        peaks = [
            c.line(f"{self._short(name)}, dearest volume", "currency/year", largest(cost))
            for name, cost in costs.items()
        ]
        most: Expr = peaks[0]
        for peak in peaks[1:]:
            most = larger(most, peak)
        own_x = c.line("The shop's own volume", "plate/month", gather(ends, [own, own]))
        top = c.line("Dearest of all", "currency/year", most)
        own_y = c.line("Height of the mark", "currency/year", gather(ends, [Constant(0, top.unit), top]))
        grid = Grid(self.plates, self.between, self.least, self.most)
        pairs = self._pairs(grid)
        turn = self._turn(grid, own)
        found = ties(study=self.study, cases=self.cases, column=c, readings=self.readings)
        return Volumes(
            c,
            self.plates,
            self.cases.shares,
            own,
            costs,
            own_x,
            own_y,
            pairs,
            found,
            self.readings,
            self._title(own),
            turn,
        )

    def _short(self, name: str) -> str:
        return self.study.methods[name].method.short

    def _read(self, trial: Trial, line: Line, row: int = 0) -> Reading:
        self.readings.append(Reading(trial, line, row))
        return self.readings[-1]

    def _pairs(self, grid: Grid) -> list[Pair]:
        """Every pair, those with the current method first."""
        current = self.study.scenario.current
        both = sorted(
            combinations(range(len(self.names)), 2),
            key=lambda p: current not in (self.names[p[0]], self.names[p[1]]),
        )
        present = self.study.comparison.rows["present"]
        return [
            pair(
                self.study,
                self.column,
                grid,
                (self.names[a], self.names[b]),
                (self._read(self.trial, present, a), self._read(self.trial, present, b)),
            )
            for a, b in both
        ]

    def _turn(self, grid: Grid, own: Line) -> Sentence:
        """Up and down from the shop's own volume: the nearest volumes at which another method is the cheapest."""
        c, rows = self.column, self.study.comparison.rows
        c.heading("Where the answer turns", "Nearest to the shop's own volume, among the volumes looked at.")
        winner = c.line("Position of the cheapest", "1", self._read(self.trial, rows["cheapest_at"]))
        best = c.line("Position of the cheapest at the shop's own volume", "1", rows["cheapest_at"])
        same = c.line("The same as there", "1", at_least(winner, best) * at_least(best, winner))
        beyond = c.line("Beyond all that was looked at", "plate/month", grid.most + grid.most)
        lower = c.line("Another, lower down", "1", opposite(same) * at_least(own, grid.plates))
        higher = c.line("Another, higher up", "1", opposite(same) * at_least(grid.plates, own))
        down = c.line("Volume of another, lower down", "plate/month", when(lower, grid.plates, 0))
        up = c.line("Volume of another, higher up", "plate/month", when(higher, grid.plates, beyond))
        below = c.line("Nearest below", "plate/month", largest(down))
        above = c.line("Nearest above", "plate/month", smallest(up))
        past_below = c.line(
            "Volumes above that", "plate/month", when(at_least(below, grid.plates), beyond, grid.plates)
        )
        past_above = c.line(
            "Volumes below that", "plate/month", when(at_least(grid.plates, above), 0, grid.plates)
        )
        from_below = c.line("The next one up from it", "plate/month", smallest(past_below))
        from_above = c.line("The next one down from it", "plate/month", largest(past_above))
        rival_down = c.line(
            "Position of the cheapest there, lower down", "1", pick(winner, position_of(below, down))
        )
        rival_up = c.line(
            "Position of the cheapest there, higher up", "1", pick(winner, position_of(above, up))
        )
        possible = c.line(
            "Some method can do the work", "1", at_least(self.study.comparison.number_feasible, 1)
        )
        turns_down = c.line("It turns lower down", "1", opposite(at_least(0, below)) * possible)
        turns_up = c.line("It turns higher up", "1", at_least(grid.most, above) * possible)
        never = c.line("It turns nowhere", "1", opposite(turns_up) * opposite(turns_down) * possible)
        names, places = rows["present"], decimals(self.study)
        example = example_of(self.study.scenario.work.notes)
        whose = "The example calls for " if example else "The shop calls for "
        return Sentence(
            TURN,
            (
                Number(own, places, whose, " plates a month. ", possible),
                Phrase(
                    turns_down,
                    (
                        Number(below, places, "Lower down, somewhere between ", " and "),
                        Number(from_below, places, "", ", it turns to "),
                    ),
                ),
                Phrase(turns_down, (Name(names, rival_down), Words(". "))),
                Phrase(
                    turns_up,
                    (
                        Number(from_above, places, "Higher up, somewhere between ", " and "),
                        Number(above, places, "", ", it turns to "),
                    ),
                ),
                Phrase(turns_up, (Name(names, rival_up), Words("."))),
                Phrase(
                    never,
                    (
                        Number(grid.least, places, "From ", " to "),
                        Number(grid.most, places, "", " the same method is cheapest."),
                    ),
                ),
            ),
        )

    def _title(self, own: Line) -> Sentence:
        """The chart's finding."""
        rows, c = self.study.comparison.rows, self.column
        possible = c.line(
            "A cheapest method can be named", "1", at_least(self.study.comparison.number_feasible, 1)
        )
        return Sentence(
            "Cost against volume",
            (
                Name(rows["present"], rows["cheapest_at"]),
                Number(own, decimals(self.study), " is cheapest at the shop's ", " plates a month"),
            ),
            possible,
            (Words("No method can do this work as stated"),),
        )


__all__ = ["TURN", "Pair", "Volumes", "volumes"]
