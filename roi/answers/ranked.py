"""Inputs one at a time over their ranges, ranked by how far they move the lead of the cheapest method; as lines.

The lead is what the method that is cheapest at the best values is ahead of the best of the others, in currency a year,
in cash and after tax; below zero another method is the cheapest.
"""

from __future__ import annotations

from dataclasses import dataclass

from roi.answers.cases import CaseSet
from roi.engine.cases import Reading, Trial
from roi.engine.column import Column, Line
from roi.engine.expression import (
    Axis,
    Data,
    Expr,
    at,
    at_least,
    gather,
    larger,
    nth_largest,
    opposite,
    pick,
    position_of,
    product_sum,
    smaller,
    total,
)
from roi.engine.words import Choice, Name, Number, Sentence, Words
from roi.model.sheet import add
from roi.model.study import Study

_TIE_BREAKER = 1e-4  # currency a year: enough to tell equal swings apart, too little to be seen


@dataclass(frozen=True)
class Grid:
    """Two inputs together: by case of the first, over the second, the position of the cheapest and the lead."""

    winners: list[Reading]
    leads: list[Line]


@dataclass(frozen=True)
class Ranked:
    """The Ranges column and what sheets and sentences take from it.

    place : for each rank the position of the input, from 1, in the order of `cases.ends`
    low, high : the lead with that input at an end; low_change, high_change : against the lead at the best values
    low_turns, high_turns : 1 where another method is then the cheapest
    low_winner, high_winner : its position, in the order of the inputs tried
    held_forms, held_impressions : by run length, the position of the cheapest over the volumes of the map
    """

    column: Column
    lead: Line
    place: Line
    low: Line
    high: Line
    low_change: Line
    high_change: Line
    swing: Line
    low_winner: Line
    high_winner: Line
    turning: Line
    grid: Grid | None
    held_forms: list[Reading]
    held_impressions: list[Reading]
    map_plates: Line
    mean_runs: Line
    readings: list[Reading]
    sentences: list[Sentence]


def ranked(study: Study, cases: CaseSet) -> Ranked | None:
    """Build the lines of the ranking; None where no input moves the lead."""
    return _Builder(study, cases).build() if cases.ends else None


class _Builder:
    def __init__(self, study: Study, cases: CaseSet) -> None:
        self.study, self.cases = study, cases
        self.rows = study.comparison.rows
        self.readings: list[Reading] = []
        self.inputs = Axis("inputs tried", tuple(stated.label for stated, _ in cases.ends))
        self.column = Column(
            "Ranges",
            "ranges",
            across=True,
            note="Each input at both ends of its range, the others at their best; inputs along the columns.",
        )

    def build(self) -> Ranked:
        c = self.column
        c.heading("Cheapest at the best values", "Its lead is what is followed here.")
        self.chosen = [
            c.line(f"{sheet.method.short} is the cheapest", "1", at(self.rows["chosen"], i))
            for i, sheet in enumerate(self.study.methods.values())
        ]
        c.heading(
            "Lead by method", "What each method is ahead of the best of the others; dearer ones are behind."
        )
        low, low_winner = self._end("low", 0)
        high, high_winner = self._end("high", 1)
        c.heading("Lead of the method that is cheapest at the best values")
        lead = c.line(
            "Lead at the best values", "currency/year", product_sum(self.rows["ahead"], self.rows["chosen"])
        )
        at_low = c.line("Lead at low", "currency/year", add(low))
        at_high = c.line("Lead at high", "currency/year", add(high))
        widest = larger(larger(at_low, at_high), lead) - smaller(smaller(at_low, at_high), lead)
        swing = c.line("Swing of the lead", "currency/year", widest)
        count = len(self.inputs)
        later = [_TIE_BREAKER * i for i in range(count)]
        breaker = c.data(
            Data("ranges.breaker", "Tie-breaker: the earlier first", "currency/year", self.inputs, later)
        )
        key = c.line("Swing, ties broken", "currency/year", swing - breaker)
        turned = self._turned("low", 0, low_winner) + self._turned("high", 1, high_winner)
        turns = c.line("Turns the answer at an end", "1", at_least(turned, 1))
        turning = c.line("Inputs that alone turn the answer", "1", total(turns))
        c.heading("Ranked", "Widest swing first.")
        ranks = Axis("ranks", tuple(f"rank {i + 1}" for i in range(count)))
        rank = c.data(Data("ranges.rank", "Rank", "1", ranks, range(1, count + 1)))
        size = c.line("Swing at the rank", "currency/year", nth_largest(key, rank))
        place = c.line("Place of the input", "1", position_of(size, key))

        def sorted_by(label: str, block: Line) -> Line:
            return c.line(label, str(block.unit), pick(block, place))

        low_sorted, high_sorted = (
            sorted_by("Lead at low, ranked", at_low),
            sorted_by("Lead at high, ranked", at_high),
        )
        map_plates, mean_runs = self._map()
        found = Ranked(
            column=c, lead=lead, place=place, low=low_sorted, high=high_sorted,
            low_change=c.line("With the input at its low", "currency/year", low_sorted - lead),
            high_change=c.line("With the input at its high", "currency/year", high_sorted - lead),
            swing=sorted_by("Swing, ranked", swing),
            low_winner=sorted_by("Cheapest at low, ranked", low_winner),
            high_winner=sorted_by("Cheapest at high, ranked", high_winner),
            turning=turning, grid=self._grid(),
            held_forms=[self._read(t, self.rows["cheapest_at"]) for t in self.cases.held_forms],
            held_impressions=[self._read(t, self.rows["cheapest_at"]) for t in self.cases.held_impressions],
            map_plates=map_plates, mean_runs=mean_runs, readings=self.readings, sentences=self._sentences(lead, turning),
        )  # fmt: skip
        return found

    def _read(self, trial: Trial, line: Line, row: int = 0) -> Reading:
        self.readings.append(Reading(trial, line, row))
        return self.readings[-1]

    def _ahead(self, trial: Trial, i: int) -> tuple[Reading, Reading]:
        """A method's lead in each case of a trial and whether it can do the work: where it can't, there is no lead."""
        return self._read(trial, self.rows["ahead"], i), self._read(trial, self.rows["feasible"], i)

    def _end(self, name: str, position: int) -> tuple[list[Expr], Line]:
        """Each method's lead with each input at one end, counted only for the method cheapest at the best values."""
        parts: list[Expr] = []
        for i, sheet in enumerate(self.study.methods.values()):
            leads = [self._ahead(trial, i) for _, trial in self.cases.ends]
            short = sheet.method.short
            ahead = self.column.line(
                f"{short} ahead, at {name}",
                "currency/year",
                gather(self.inputs, [at(lead, position) for lead, _ in leads]),
            )
            able = self.column.line(
                f"{short} can do the work, at {name}",
                "1",
                gather(self.inputs, [at(can, position) for _, can in leads]),
            )
            block = self.column.line(f"{short}, at {name}", "currency/year", ahead * able)
            parts.append(block * self.chosen[i])
        winners = [at(self._read(trial, self.rows["cheapest_at"]), position) for _, trial in self.cases.ends]
        return parts, self.column.line(
            f"Position of the cheapest, at {name}", "1", gather(self.inputs, winners)
        )

    def _turned(self, name: str, position: int, winner: Line) -> Line:
        """1 where another method is the cheapest with the input at one end."""
        c, best = self.column, self.rows["cheapest_at"]
        able = self.study.comparison.number_feasible
        each = [at(self._read(trial, able), position) for _, trial in self.cases.ends]
        some = c.line(f"Methods that can be chosen, at {name}", "1", gather(self.inputs, each))
        # The lead doesn't tell: it is nought too where a rival is no longer one.
        same = c.line(
            f"The same method is the cheapest, at {name}",
            "1",
            at_least(winner, best) * at_least(best, winner),
        )
        stays = same * at_least(able, 1)  # where no method can do the work at the best values, any is another
        return c.line(f"Another method is the cheapest, at {name}", "1", opposite(stays) * at_least(some, 1))

    def _grid(self) -> Grid | None:
        if not self.cases.grid_trials:
            return None
        _, *across = self.cases.grid_trials
        self.column.heading("Two inputs together", "Lead of the method that is cheapest at the best values.")
        winners, leads = [], []
        for trial in across:
            winners.append(self._read(trial, self.rows["cheapest_at"]))
            parts: list[Expr] = [
                lead * can * self.chosen[i]
                for i in range(len(self.study.methods))
                for lead, can in [self._ahead(trial, i)]
            ]
            pieces = [
                self.column.line(f"{trial.title}: {sheet.method.short}", "currency/year", part)
                for part, sheet in zip(parts, self.study.methods.values(), strict=True)
            ]
            leads.append(self.column.line(f"{trial.title}: lead", "currency/year", add(pieces)))
        return Grid(winners, leads)

    def _map(self) -> tuple[Line, Line]:
        """Plates a month and mean run lengths along the map's sides."""
        c, shop = self.column, self.study.shop
        c.heading("Volumes of the map")
        month = c.line("The shop's own plates a month", "plate/month", shop.plates_a_month)
        plates = c.line("Plates a month, along the map", "plate/month", self.cases.map_shares * month)
        c.heading("Run lengths of the map")
        mean = c.line("Mean run of a form", "impression/form", shop.good / shop.forms)
        return plates, c.line("Mean run, along the map", "impression/form", self.cases.run_shares * mean)

    def _sentences(self, lead: Line, turning: Line) -> list[Sentence]:
        c, compare, code = self.column, self.study.comparison, self.study.scenario.currency
        none = c.line("No input turns the answer alone", "1", at_least(0, turning))
        one = c.line("One input turns the answer alone", "1", at_least(1, turning) * opposite(none))
        count = len(self.inputs)
        chosen = self.rows["cheapest_at"]
        several = c.line("There is a rival", "1", at_least(compare.number_feasible, 2))
        some = c.line("Some method can do the work", "1", at_least(compare.number_feasible, 1))
        nobody = c.line("No method can do the work", "1", opposite(some))
        alone = c.line("One method alone can do the work", "1", some * opposite(several))
        return [
            Sentence(
                "What matters",
                (
                    Name(self.rows["present"], chosen, some),
                    Number(lead, 0, f" is ahead by {code} ", " a year. ", several),
                    Choice(alone, " alone can do the work. ", Choice(nobody, "No method can do the work. ")),
                    Choice(none, f"None of these {count} inputs alone changes that.",
                           Choice(one, f"One of these {count} inputs alone turns it.")),
                    Number(turning, 0, "", f" of these {count} inputs, each alone, turn it.",
                           c.line("Several turn the answer", "1", at_least(turning, 2))),
                ),
            ),
            Sentence(
                "What turns it",
                (
                    Number(
                        c.line("Change that turns the answer", "currency/year", 0 - lead), 0,
                        f"A bar that reaches {code} ", " a year turns the answer.", several,
                    ),
                ),
            ),
            Sentence("Bars of the lead", (Words("How far each input moves the lead of "), Name(self.rows["present"], chosen))),
        ]  # fmt: skip


__all__ = ["Grid", "Ranked", "ranked"]
