"""Cost against volume, method by method and pair by pair, as lines.

All in cash, after tax. Volumes are plates called for a month. Crossings on the grid of volumes are read off a straight
line between two neighbours: a band, not every crossing; `breakeven` finds each one.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

from roi.answers.cases import CaseSet
from roi.answers.ties import Tie, ties
from roi.engine.cases import Reading, Trial
from roi.engine.column import Column, Line
from roi.engine.expression import (
    Axis,
    Constant,
    Data,
    Expr,
    at,
    at_least,
    gather,
    larger,
    largest,
    opposite,
    pick,
    position_of,
    smallest,
    steps,
    total,
    when,
)
from roi.engine.words import Choice, Name, Number, Phrase, Sentence, Words
from roi.model.study import Study

TURN = "Where it turns"  # the sentence that page one may say


@dataclass(frozen=True)
class Pair:
    """Two methods over the volumes; flags are 0 or 1.

    crossings : where they cost the same, by step from one volume to the next, plates a month, 0 where they don't cross
    count, crosses : how many steps cross, and whether any does
    first, last : the first and the last crossing, meaningless where none does
    first_is_less : the first method costs no more at the least volume
    """

    first_method: str
    second_method: str
    difference: Line
    changes: Line
    crossings: Line
    count: Line
    crosses: Line
    first: Line
    last: Line
    first_is_less: Line
    sentence: Sentence


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
    turn: Sentence | None

    @property
    def sentences(self) -> list[Sentence]:
        """Every sentence, in the order in which they are written down."""
        turn = [self.turn] if self.turn is not None else []
        return [*turn, *(pair.sentence for pair in self.pairs), self.chart_title]


def volumes(study: Study, cases: CaseSet) -> Volumes:
    """Build the lines of cost against volume."""
    return _Builder(study, cases).build()


class _Builder:
    def __init__(self, study: Study, cases: CaseSet) -> None:
        self.study, self.cases, self.trial = study, cases, cases.volumes
        self.names = list(study.methods)
        self.readings: list[Reading] = []
        self.near: list[tuple[Line, Line, Line, Line]] = []
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
        pairs = [self._pair(a, b) for a, b in combinations(range(len(self.names)), 2)]
        turn = self._turn() if pairs else None
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
            _title(own),
            turn,
        )

    def _short(self, name: str) -> str:
        return self.study.methods[name].method.short

    def _read(self, trial: Trial, line: Line, row: int = 0) -> Reading:
        self.readings.append(Reading(trial, line, row))
        return self.readings[-1]

    def _pair(self, a: int, b: int) -> Pair:
        c, rows = self.column, self.study.comparison.rows
        first, second = self._short(self.names[a]), self._short(self.names[b])
        words = f"{first} and {second}"
        c.heading(words)
        gap = self._read(self.trial, rows["present"], a) - self._read(self.trial, rows["present"], b)
        difference = c.line(f"{words}: present cost of the first above the second", "currency", gap)
        less = c.line(f"{words}: the first costs no more", "1", at_least(0, difference))
        here, following = steps(less, self.between)
        changes = c.line(f"{words}: they change places", "1", when(here, opposite(following), following))
        d0, d1 = steps(difference, self.between)
        v0, v1 = steps(self.plates, self.between)
        crossings = c.line(
            f"{words}: where they cost the same", "plate/month",
            when(changes, v0 + (v1 - v0) * d0 / (d0 - d1), 0), note="on a straight line between two volumes",
        )  # fmt: skip
        count = c.line(f"{words}: changes of place", "1", total(changes))
        top = self.most
        met = c.line(
            f"{words}: crossings, or else the most volume", "plate/month", when(changes, crossings, top)
        )
        lowest = c.line(f"{words}: first crossing", "plate/month", smallest(met))
        highest = c.line(f"{words}: last crossing", "plate/month", largest(crossings))
        less_first = c.line(f"{words}: the first costs no more at the least volume", "1", at(less, 0))
        can = c.line(
            f"{words}: both can do the work",
            "1",
            at_least(at(rows["feasible"], a) * at(rows["feasible"], b), 1),
        )
        crosses = c.line(f"{words}: change places at all", "1", at_least(count, 1))
        none = c.line(f"{words}: never change places", "1", at_least(0, count) * can)
        several = c.line(f"{words}: change places more than once", "1", at_least(count, 2) * can)
        once = c.line(f"{words}: change places once", "1", can * opposite(none) * opposite(several))

        place = c.data(
            Data(
                f"volumes.{words}.places",
                f"{words}: their positions",
                "1",
                Axis("the two", ("first", "second")),
                [a + 1, b + 1],
            )
        )
        cheap = c.line(
            f"{words}: the one that costs less at the least volume",
            "1",
            when(less_first, at(place, 0), at(place, 1)),
        )
        dear = c.line(
            f"{words}: the one that costs more there", "1", when(less_first, at(place, 1), at(place, 0))
        )
        met_at_all = c.line(f"{words}: never or once", "1", none + once)
        told = c.line(f"{words}: told which costs less", "1", at_least(met_at_all, 1))
        no_a = c.line(f"{words}: the first can't do the work", "1", at_least(0, at(rows["feasible"], a)))
        no_b = c.line(f"{words}: the second can't do the work", "1", at_least(0, at(rows["feasible"], b)))
        names = rows["present"]
        sentence = Sentence(
            words,
            (
                Phrase(told, (Name(names, cheap), Words(" costs less than "), Name(names, dear))),
                Phrase(
                    none,
                    (
                        Number(self.least, 0, " from ", " to "),
                        Number(self.most, 0, "", " plates a month: all that was looked at."),
                    ),
                ),
                Phrase(once, (Number(lowest, 0, " below about ", " plates a month, and more above."),)),
                Choice(several, f"{first} and {second} change places more than once, "),
                Phrase(several, (Number(lowest, 0, "between about ", " and "), Number(highest, 0, "", " plates a month."))),
                Choice(no_a, f"{first} can't do this work. "),
                Choice(no_b, f"{second} can't do this work."),
            ),
        )  # fmt: skip
        self._near_own(words, a, b, changes, crossings, can, place)
        return Pair(
            self.names[a],
            self.names[b],
            difference,
            changes,
            crossings,
            count,
            crosses,
            lowest,
            highest,
            less_first,
            sentence,
        )

    def _near_own(
        self, words: str, a: int, b: int, changes: Line, crossings: Line, can: Line, place: Data
    ) -> None:
        """The crossings next to the shop's own volume, where one of the two is the cheapest there."""
        c, chosen = self.column, self.study.comparison.rows["chosen"]
        higher = c.line(
            f"{words}: crosses at the own volume or above", "1", changes * at_least(crossings, self.own)
        )
        lower = c.line(
            f"{words}: crosses at the own volume or below", "1", changes * at_least(self.own, crossings)
        )
        nothing = self.most + self.most
        up = c.line(f"{words}: next crossing above", "plate/month", when(higher, crossings, nothing))
        down = c.line(f"{words}: next crossing below", "plate/month", when(lower, crossings, 0))
        nearest_up = c.line(f"{words}: nearest above", "plate/month", smallest(up))
        nearest_down = c.line(f"{words}: nearest below", "plate/month", largest(down))
        is_a, is_b = at(chosen, a), at(chosen, b)
        meets = c.line(f"{words}: the cheapest is one of them", "1", at_least(is_a + is_b, 1) * can)
        rival = c.line(
            f"{words}: position of the rival", "1", when(at_least(is_a, 1), at(place, 1), at(place, 0))
        )
        self.near.append((meets, nearest_up, nearest_down, rival))

    def _turn(self) -> Sentence:
        """Up and down from the shop's own volume to where another method becomes the cheapest."""
        c, rows = self.column, self.study.comparison.rows
        c.heading("Where the answer turns", "Nearest to the shop's own volume.")
        axis = Axis("pairs", tuple(f"pair {i + 1}" for i in range(len(self.near))))
        nothing = c.line("Above all volumes looked at", "plate/month", self.most + self.most)
        ups = [
            c.line(f"Pair {i + 1}, above", "plate/month", when(m, up, nothing))
            for i, (m, up, _, _) in enumerate(self.near)
        ]
        downs = [
            c.line(f"Pair {i + 1}, below", "plate/month", when(m, down, 0))
            for i, (m, _, down, _) in enumerate(self.near)
        ]
        up = c.line("Turns above at, by pair", "plate/month", gather(axis, ups))
        down = c.line("Turns below at, by pair", "plate/month", gather(axis, downs))
        rivals = c.line(
            "Position of the rival, by pair", "1", gather(axis, [rival for _, _, _, rival in self.near])
        )
        above = c.line("Turns above at", "plate/month", smallest(up))
        below = c.line("Turns below at", "plate/month", largest(down))
        rival_up = c.line("Position of the cheapest above", "1", pick(rivals, position_of(above, up)))
        rival_down = c.line("Position of the cheapest below", "1", pick(rivals, position_of(below, down)))
        possible = c.line(
            "Some method can do the work", "1", at_least(self.study.comparison.number_feasible, 1)
        )
        turns_up = c.line("It turns above", "1", at_least(self.most, above) * possible)
        turns_down = c.line("It turns below", "1", opposite(at_least(0, below)) * possible)
        never = c.line("It never turns", "1", opposite(turns_up) * opposite(turns_down) * possible)
        names = rows["present"]
        return Sentence(
            TURN,
            (
                Number(self.own, 0, "The shop calls for ", " plates a month. ", possible),
                Phrase(
                    turns_down,
                    (
                        Number(below, 0, "Below about ", " "),
                        Name(names, rival_down),
                        Words(" would be cheapest. "),
                    ),
                ),
                Phrase(
                    turns_up,
                    (
                        Number(above, 0, "Above about ", " "),
                        Name(names, rival_up),
                        Words(" would be cheapest."),
                    ),
                ),
                Phrase(
                    never,
                    (
                        Number(self.least, 0, "From ", " to "),
                        Number(self.most, 0, "", " the same method is cheapest."),
                    ),
                ),
            ),
        )


def _title(own: Line) -> Sentence:
    """The chart's finding: today's volume, which the chart marks."""
    return Sentence(
        "Cost against volume",
        (Number(own, 0, "Cost against volume; the shop calls for ", " plates a month"), Words(" ")),
    )


__all__ = ["TURN", "Pair", "Volumes", "volumes"]
