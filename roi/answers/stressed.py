"""Stresses: what each makes of the answer, as lines over the stresses. In cash, after tax; costs in currency a year."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from roi.answers.stress_cases import Stress
from roi.answers.worst_month import Depth, deepest, depths
from roi.engine.cases import Reading, Trial
from roi.engine.column import Column, Line
from roi.engine.expression import Axis, Constant
from roi.engine.operations import at, at_least, constant, gather, opposite, total, when
from roi.engine.words import Choice, Name, Number, Sentence, Words
from roi.model.study import Study


@dataclass(frozen=True)
class Stressed:
    """The Stressed column and what sheets and sentences take from it.

    costs : by method, equivalent annual cost, over the stresses; able : 1 where the method can do the work
    winner : position of the cheapest, 0 for none; turns : 1 where it isn't that of the best values
    behind : what staying costs above the cheapest, a year, where it can do the work (`able` of the current method)
    ahead : what the cheapest is ahead of the next, a year, where there is one; rivals : how many methods can do the work
    depths : by challenger, how deep it goes in cash, unstressed
    """

    column: Column
    stresses: list[Stress]
    costs: dict[str, Line]
    able: dict[str, Line]
    winner: Line
    turns: Line
    behind: Line
    ahead: Line
    rivals: Line
    count: Line
    depths: dict[str, Depth]
    readings: list[Reading]
    sentence: Sentence
    deepest: Sentence

    @property
    def sentences(self) -> list[Sentence]:
        """Every sentence, in the order in which they are written down."""
        return [self.sentence, self.deepest]


def stressed(study: Study, stresses: Sequence[Stress]) -> Stressed:
    """Build the lines over the stresses."""
    rows = study.comparison.rows
    column = Column(
        "Stressed",
        "stressed",
        across=True,
        note="The answer under each stress, in cash, after tax; stresses along the columns.",
    )
    axis = Axis("stresses", tuple(stress.label for stress in stresses))
    readings: dict[tuple[Trial, Line, int], Reading] = {}

    def over(label: str, line: Line, row: int = 0) -> Line:
        parts = []
        for stress in stresses:
            key = (stress.trial, line, row)
            readings.setdefault(key, Reading(stress.trial, line, row))
            parts.append(at(readings[key], stress.position))
        return column.line(label, str(line.unit), gather(axis, parts))

    column.heading("What each method costs", "Equivalent annual cost.")
    costs, able = {}, {}
    for i, (name, sheet) in enumerate(study.methods.items()):
        costs[name] = over(sheet.method.short, rows["equivalent"], i)
    for i, (name, sheet) in enumerate(study.methods.items()):
        able[name] = over(f"{sheet.method.short} can do the work", rows["feasible"], i)
    column.heading("What becomes of the answer")
    winner = over("Position of the cheapest, 0 for none", rows["winner"])
    same = at_least(winner, rows["winner"]) * at_least(rows["winner"], winner)
    turns = column.line("Another method is the cheapest", "1", opposite(same))
    saving = over("Saving of the cheapest against the current method", rows["saving"])
    annuity = over("Sum of discount factors", study.shop.annuity)
    behind = column.line(
        "What staying costs above the cheapest, a year",
        "currency/year",
        when(at_least(winner, 1), (saving / annuity).per("year"), Constant(0).during("currency").per("year")),
    )
    lead = over("Lead of the cheapest over the next", rows["lead"])
    rivals = over("Methods that can do the work", study.comparison.number_feasible)
    ahead = column.line(
        "What the cheapest is ahead of the next, a year", "currency/year", (lead / annuity).per("year")
    )
    count = column.line("Stresses that turn the answer", "1", total(turns))
    column.heading("Figures the sentence speaks of")
    none = column.line("None turns it", "1", at_least(0, count))
    one = column.line("One turns it", "1", opposite(none) * at_least(1, count))
    possible = column.line("Some method can do the work", "1", at_least(study.comparison.number_feasible, 1))
    several = column.line("Several turn it", "1", at_least(count, constant(2, "1")))
    many = f"of these {len(stresses)} stresses make"
    sentence = Sentence(
        "Under stress",
        (
            Choice(none, "None", Choice(one, "One")),
            Number(count, 0, "", " ", several),  # the space of an absent piece parts the words otherwise
            Choice(several, f"{many} ", f"{many}s "),
            Words("another method cheaper than "),
            Name(rows["present"], rows["cheapest_at"]),
            Words("."),
        ),
        possible,
        (Words("No method can do this work as stated."),),
    )
    deep = depths(study, column)
    return Stressed(
        column,
        list(stresses),
        costs,
        able,
        winner,
        turns,
        behind,
        ahead,
        rivals,
        count,
        deep,
        list(readings.values()),
        sentence,
        deepest(study, column, deep),
    )


__all__ = ["Stressed", "stressed"]
