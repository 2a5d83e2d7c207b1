"""Inputs one at a time over their ranges, ranked by how far they move the lead of the cheapest method; as lines.

The lead is what the method that is cheapest at the best values is ahead of the best of the others, in currency a year,
in cash and after tax; below zero another method is the cheapest. Where it can't do the work, or no other can, there is no
lead. Two inputs together and the map stand here too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from roi.answers.cases import CaseSet
from roi.engine.cases import Reading, Trial
from roi.engine.column import Column, Line
from roi.engine.expression import Axis, Constant, Data, Expr
from roi.engine.operations import (
    at,
    at_least,
    constant,
    gather,
    larger,
    largest,
    nth_largest,
    opposite,
    pick,
    position_of,
    product_sum,
    smaller,
    total,
    when,
)
from roi.engine.words import Choice, Name, Number, Sentence, Words
from roi.model.sheet import add
from roi.model.study import Study

FIRM = "How firm"  # the sentence that page one may say
DECIDING = 3  # inputs that page one names
_TIE_BREAKER = 1e-4  # currency a year: enough to tell equal swings apart, too little to be seen


@dataclass(frozen=True)
class End:
    """One end of the inputs' ranges, by input or by rank.

    lead : the lead there, the lead at the best values where there is none
    leads : 1 where there is a lead
    winner : position of the cheapest method, 0 where none can do the work
    """

    lead: Line
    leads: Line
    winner: Line


@dataclass(frozen=True)
class Grid:
    """Two inputs together: by case of the first, over the second, the cheapest and the lead."""

    winners: list[Reading]
    leads: list[Line]
    has_lead: list[Line]


@dataclass(frozen=True)
class Ranked:
    """The Ranges column and what sheets and sentences take from it.

    lead : at the best values
    place : by rank, widest swing first, the position of the input, from 1, in the order of `cases.ends`
    low, high : the ends by rank; low_change, high_change : their change of the lead
    deciding : by rank, most of the lead cut first, the position of the input; deciding_low : 1 where its low does so
    deciding_end : that end
    turning : how many inputs alone make another method the cheapest
    held_forms, held_impressions : by run length, the position of the cheapest over the volumes of the map, 0 for none
    """

    column: Column
    lead: Line
    place: Line
    low: End
    high: End
    low_change: Line
    high_change: Line
    deciding: Line
    deciding_low: Line
    deciding_end: End
    turning: Line
    grid: Grid | None
    held_forms: list[Reading]
    held_impressions: list[Reading]
    map_plates: Line
    mean_runs: Line
    readings: list[Reading]
    matters: Sentence
    turns: Sentence
    firm: Sentence
    bars_title: Sentence

    @property
    def sentences(self) -> list[Sentence]:
        """Every sentence, in the order in which they are written down."""
        return [self.matters, self.turns, self.firm, self.bars_title]


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
        self.lead = c.line(
            "Lead at the best values", "currency/year", product_sum(self.rows["ahead"], self.rows["chosen"])
        )
        low, high = (self._end(name, position) for position, name in enumerate(("low", "high")))
        turned = [self._turned(end, name) for end, name in ((low, "low"), (high, "high"))]
        either = c.line("Turns the answer at an end", "1", at_least(turned[0] + turned[1], 1))
        turning = c.line("Inputs that alone turn the answer", "1", total(either))
        place = self._ranking(self._swing(low, high))
        low_ranked, high_ranked = self._sorted(low, place, "low"), self._sorted(high, place, "high")
        changes = [
            c.line(f"With the input at its {name}", "currency/year", end.lead - self.lead)
            for end, name in ((low_ranked, "low"), (high_ranked, "high"))
        ]
        deciding, at_low, end = self._deciding(low, high, turned)
        grid = self._grid()
        map_plates, mean_runs = self._map()
        matters, turns, firm, title = self._sentences(turning, place)
        return Ranked(
            column=c, lead=self.lead, place=place, low=low_ranked, high=high_ranked, low_change=changes[0],
            high_change=changes[1], deciding=deciding, deciding_low=at_low, deciding_end=end, turning=turning, grid=grid,
            held_forms=[self._read(t, self.rows["winner"]) for t in self.cases.held_forms],
            held_impressions=[self._read(t, self.rows["winner"]) for t in self.cases.held_impressions],
            map_plates=map_plates, mean_runs=mean_runs, readings=self.readings, matters=matters, turns=turns, firm=firm,
            bars_title=title,
        )  # fmt: skip

    def _read(self, trial: Trial, line: Line, row: int = 0) -> Reading:
        self.readings.append(Reading(trial, line, row))
        return self.readings[-1]

    def _end(self, name: str, position: int) -> End:
        """One end by input: the lead of the method that is cheapest at the best values."""
        c = self.column
        c.heading(f"Each input at its {name}")

        def over_inputs(label: str, unit: str, line: Line, row: int = 0) -> Line:
            each = [at(self._read(trial, line, row), position) for _, trial in self.cases.ends]
            return c.line(f"{label}, at {name}", unit, gather(self.inputs, each))

        ahead: list[Expr] = []
        leads: list[Expr] = []
        for i, sheet in enumerate(self.study.methods.values()):
            short = sheet.method.short
            ahead.append(
                over_inputs(f"{short} ahead", "currency/year", self.rows["ahead"], i) * self.chosen[i]
            )
            leads.append(
                over_inputs(f"{short} can do the work and has a rival", "1", self.rows["leads"], i)
                * self.chosen[i]
            )
        there = c.line(f"Lead of the cheapest, at {name}", "currency/year", add(ahead))
        exists = c.line(f"There is a lead, at {name}", "1", at_least(add(leads), 1))
        lead = c.line(
            f"Lead at {name}",
            "currency/year",
            when(exists, there, self.lead),
            note="as at the best where none",
        )
        return End(lead, exists, over_inputs("Position of the cheapest", "1", self.rows["winner"]))

    def _turned(self, end: End, name: str) -> Line:
        """1 where another method is then the cheapest."""
        best = self.rows["winner"]
        same = at_least(end.winner, best) * at_least(best, end.winner)
        kept = self.column.line(f"The same method is the cheapest, at {name}", "1", same)
        return self.column.line(
            f"Another method is the cheapest, at {name}", "1", opposite(kept) * at_least(end.winner, 1)
        )

    def _swing(self, low: End, high: End) -> Line:
        """How far apart the leads lie; beyond all others where an end has no lead."""
        c = self.column
        c.heading("Swing of the lead")
        widest = larger(larger(low.lead, high.lead), self.lead) - smaller(
            smaller(low.lead, high.lead), self.lead
        )
        swing = c.line("Swing", "currency/year", widest)
        most = c.line("Beyond every swing", "currency/year", largest(swing) + Constant(1, swing.unit))
        return c.line("Swing as ranked", "currency/year", when(low.leads * high.leads, swing, most))

    def _ranking(self, size: Line) -> Line:
        """The position of the input at each rank, largest first."""
        c, count = self.column, len(self.inputs)
        broken = [_TIE_BREAKER * i for i in range(count)]
        name = size.label.lower()
        self.breaker = c.data(
            Data("ranges.breaker", "Tie-breaker: the earlier first", "currency/year", self.inputs, broken)
        )
        self.ranks = Axis("ranks", tuple(f"rank {i + 1}" for i in range(count)))
        key = c.line(f"{size.label}, ties broken", "currency/year", size - self.breaker)
        c.heading("Ranked", "Widest swing first.")
        self.rank = c.data(Data("ranges.rank", "Rank", "1", self.ranks, range(1, count + 1)))
        found = c.line(f"At the rank: {name}", "currency/year", nth_largest(key, self.rank))
        return c.line("Place of the input", "1", position_of(found, key))

    def _sorted(self, end: End, place: Line, name: str) -> End:
        c = self.column
        return End(
            c.line(f"Lead at {name}, ranked", "currency/year", pick(end.lead, place)),
            c.line(f"There is a lead at {name}, ranked", "1", at_least(pick(end.leads, place), 1)),
            c.line(f"Cheapest at {name}, ranked", "1", pick(end.winner, place)),
        )

    def _deciding(self, low: End, high: End, turned: Sequence[Line]) -> tuple[Line, Line, End]:
        """Inputs by how much of the lead one of their ends cuts; an end that turns the answer without a lead cuts most."""
        c = self.column
        c.heading("What decides", "Most of the lead cut first.")
        cuts = []
        for end, turn, name in ((low, turned[0], "low"), (high, turned[1], "high")):
            cut = c.line(f"Cut of the lead at {name}", "currency/year", self.lead - end.lead)
            most = c.line(
                f"Beyond every cut at {name}", "currency/year", largest(cut) + Constant(1, cut.unit)
            )
            lost = c.line(f"Turns without a lead, at {name}", "1", turn * opposite(end.leads))
            cuts.append(c.line(f"Cut at {name} as ranked", "currency/year", when(lost, most + most, cut)))
        at_low = c.line("The low cuts more", "1", at_least(cuts[0], cuts[1]))
        cut = c.line("Larger cut", "currency/year", larger(cuts[0], cuts[1]) - self.breaker)
        found = c.line("At the rank: larger cut", "currency/year", nth_largest(cut, self.rank))
        place = c.line("Place of the deciding input", "1", position_of(found, cut))
        is_low = c.line("Its low decides", "1", at_least(pick(at_low, place), 1))
        ends = (
            self._sorted(low, place, "low of the deciding"),
            self._sorted(high, place, "high of the deciding"),
        )
        return place, is_low, End(
            c.line("Lead at the deciding end", "currency/year", when(is_low, ends[0].lead, ends[1].lead)),
            c.line("There is a lead at the deciding end", "1", when(is_low, ends[0].leads, ends[1].leads)),
            c.line("Cheapest at the deciding end", "1", when(is_low, ends[0].winner, ends[1].winner)),
        )  # fmt: skip

    def _grid(self) -> Grid | None:
        if not self.cases.grid_trials:
            return None
        c, rows = self.column, self.rows
        _, *across = self.cases.grid_trials
        c.heading("Two inputs together", "Lead of the method that is cheapest at the best values.")
        winners, leads, has_lead = [], [], []
        for trial in across:
            winners.append(self._read(trial, rows["winner"]))
            ahead: list[Expr] = []
            able: list[Expr] = []
            for i, sheet in enumerate(self.study.methods.values()):
                short = f"{trial.title}: {sheet.method.short}"
                ahead.append(
                    c.line(
                        f"{short} ahead",
                        "currency/year",
                        self._read(trial, rows["ahead"], i) * self.chosen[i],
                    )
                )
                able.append(
                    c.line(f"{short} leads", "1", self._read(trial, rows["leads"], i) * self.chosen[i])
                )
            leads.append(c.line(f"{trial.title}: lead", "currency/year", add(ahead)))
            has_lead.append(c.line(f"{trial.title}: there is a lead", "1", at_least(add(able), 1)))
        return Grid(winners, leads, has_lead)

    def _map(self) -> tuple[Line, Line]:
        """Plates a month and mean run lengths along the map's sides."""
        c, shop = self.column, self.study.shop
        c.heading("Volumes of the map")
        month = c.line("The shop's own plates a month", "plate/month", shop.plates_a_month)
        plates = c.line("Plates a month, along the map", "plate/month", self.cases.map_shares * month)
        c.heading("Run lengths of the map")
        mean = c.line("Mean run of a form", "impression/form", shop.good / shop.forms)
        return plates, c.line("Mean run, along the map", "impression/form", self.cases.run_shares * mean)

    def _sentences(self, turning: Line, place: Line) -> tuple[Sentence, Sentence, Sentence, Sentence]:
        c, able, code = self.column, self.study.comparison.number_feasible, self.study.scenario.currency
        c.heading("Figures the sentences speak of")
        none = c.line("No input turns the answer alone", "1", at_least(0, turning))
        one = c.line("One input turns the answer alone", "1", at_least(1, turning) * opposite(none))
        more = c.line("Several turn the answer", "1", at_least(turning, 2))
        rival = c.line("There is a rival", "1", at_least(able, 2))
        alone = c.line("One method alone can do the work", "1", at_least(1, able) * at_least(able, 1))
        # Less than one is said as nought: some programs would write a rounded negative as "-0".
        hardly = at_least(constant(1, "currency/year"), self.lead)
        change = c.line("Change that turns the answer", "currency/year", when(hardly, 0, 0 - self.lead))
        widest = c.line("Place of the widest", "1", at(place, 0))
        names, chosen, count = self.rows["present"], self.rows["cheapest_at"], len(self.inputs)
        # Any block over the inputs: their names stand in the heading above it.
        by_input = next(line for line in c.lines if line.axis is self.inputs)
        firm: tuple[Choice, ...] = (
            Choice(none, "None", Choice(one, "One", "Several")),
            Choice(
                more,
                f" of the {count} widest inputs, each alone, turn the answer.",
                f" of the {count} widest inputs alone turns the answer.",
            ),
        )
        if count == 1:
            only = "The one input that moves the lead "
            firm = (Choice(none, f"{only}does not turn the answer.", f"{only}turns the answer."),)
        matters = Sentence(
            "What matters",
            (Name(names, chosen), Number(self.lead, 0, f" is ahead by {code} ", " a year. "), *firm),
            rival,
            (
                Name(names, chosen, alone),
                Choice(alone, " alone can do this work. ", "No method can do this work. "),
                *firm,
            ),
        )
        turns = Sentence(
            "What turns it",
            (Number(change, 0, f"A bar that reaches {code} ", " a year turns the answer.", rival),),
        )
        title = Sentence(
            "Bars of the lead",
            (Name(by_input, widest), Words(" moves the lead of "), Name(names, chosen), Words(" most")),
        )
        return matters, turns, Sentence(FIRM, firm), title


__all__ = ["DECIDING", "FIRM", "End", "Grid", "Ranked", "ranked"]
