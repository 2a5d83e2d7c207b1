"""What the answer depends on, as figures and JSON: inputs over their ranges, two together, and maps of the cheapest method.

The lead is what the method cheapest at the best values is ahead of the best of the others, in the scenario's currency a
year, in cash and after tax; negative where another is the cheapest, None where it or every other can't do the work.
Inputs are in the unit people see, percentages as such: 10 for 10 %. Methods go by their ids. How the figures come about
is in `cases` and `ranked`; this file only picks them up.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from roi.answers.cases import CaseSet
from roi.answers.ranges import try_ranges
from roi.answers.ranked import Ranked
from roi.answers.workings import workings
from roi.engine.cases import Reading
from roi.engine.column import Line
from roi.engine.evaluate import Values
from roi.engine.words import Sentence
from roi.model.study import Study
from roi.scenario.stated import StatedInput


@dataclass(frozen=True)
class Outcome:
    """The cheapest method, None where none can do the work, and the lead, in one case."""

    cheapest: str | None
    lead: float | None


@dataclass(frozen=True)
class Tried:
    """An input at both ends of its range.

    swing : the widest lead less the narrowest, the one at best among them; None where an end has no lead, which ranks first
    """

    key: str
    label: str
    unit: str
    percent: bool
    low: float
    best: float
    high: float
    at_low: Outcome
    at_high: Outcome
    swing: float | None


@dataclass(frozen=True)
class Side:
    """An input along one side of the grid, from low to high."""

    key: str
    label: str
    unit: str
    percent: bool
    values: tuple[float, ...]


@dataclass(frozen=True)
class Grid:
    """Two inputs together: `cells[i][j]` is with the first at `down.values[i]`, the second at `across.values[j]`."""

    down: Side
    across: Side
    cells: tuple[tuple[Outcome, ...], ...]


@dataclass(frozen=True)
class Map:
    """The cheapest method by mean run (down) and plates a month (across).

    held : "forms" or "impressions": what stays as many a year, for a given volume, while runs grow shorter or longer
    runs : impressions a form; shares : of the shop's own mean run; plates : called for a month, at the shop's own runs
    cheapest : [run][volume], None where no method can do the work
    """

    held: str
    runs: tuple[float, ...]
    shares: tuple[float, ...]
    plates: tuple[float, ...]
    cheapest: tuple[tuple[str | None, ...], ...]


@dataclass(frozen=True)
class Sensitivity:
    """Everything the Sensitivity sheet shows, for the inputs as stated.

    best : the cheapest method and its lead with every input at its best
    turning : how many of the inputs tried, each alone, make another method the cheapest
    left_out : inputs with a range that moves the lead, but less than those tried
    inputs : widest swing first; none where no input moves the lead, and then neither grid nor maps
    """

    sentences: tuple[str, ...]
    title: str
    best: Outcome
    turning: int
    left_out: int
    inputs: tuple[Tried, ...]
    grid: Grid | None
    maps: tuple[Map, ...]

    @property
    def span(self) -> tuple[float, float]:
        """The least and the greatest lead of all, that at the best values among them."""
        ends = [end.lead for tried in self.inputs for end in (tried.at_low, tried.at_high)]
        known = [lead for lead in (self.best.lead, *ends) if lead is not None]
        return (min(known), max(known)) if known else (0.0, 0.0)

    @property
    def passes_nought(self) -> bool:
        """Whether some lead is negative, so that another method is the cheapest there."""
        return self.span[0] < 0 < self.span[1]

    def place(self, lead: float) -> float:
        """Where a lead stands between the least of all, 0, and the greatest, 1; beyond them where it does."""
        least, most = self.span
        return (lead - least) / (most - least) if most > least else 0.5


def sensitivity(
    study: Study, values: Values, tell: Callable[[Sentence, Values], str] = Sentence.say
) -> Sensitivity:
    """Try the inputs, the grid and the maps; `values` are the study's own lines at the best values.

    tell : says a sentence, such as in another language
    """
    made = workings(study, try_ranges(study), break_even=False)
    known, _ = made.evaluate(values)
    found = _Finder(study, made.set, known, tell)
    if made.ranked is None:
        best = found.best(None)
        said = "No input, alone and within its range, moves the lead."
        return Sensitivity((said,), "", best, 0, 0, (), None, ())
    return found.all(made.ranked)


class _Finder:
    def __init__(
        self, study: Study, cases: CaseSet, values: Values, tell: Callable[[Sentence, Values], str]
    ) -> None:
        self.study, self.cases, self.values, self.tell = study, cases, values, tell
        self.ids = list(study.methods)

    def all(self, found: Ranked) -> Sensitivity:
        cases = self.cases
        said = {sentence.label: self.tell(sentence, self.values) for sentence in found.sentences}
        sentences = [said[found.matters.label]]
        best = self.best(found.lead)
        if cases.left_out and best.lead is not None:
            sentences.append(
                f"Shown are the {len(cases.ends)} inputs that move the lead most; {cases.left_out} others with a range "
                "move it less."
            )
        forms = self._map("forms", found, found.held_forms)
        impressions = self._map("impressions", found, found.held_impressions)
        return Sensitivity(
            sentences=tuple(sentences),
            title=said[found.bars_title.label],
            best=best,
            turning=round(self._at(found.turning)),
            left_out=cases.left_out,
            inputs=tuple(self._tried(found, rank) for rank in range(len(cases.ends))),
            grid=self._grid(found),
            maps=(forms, impressions),
        )

    def _at(self, leaf: Line | Reading, position: int = 0) -> float:
        return float(self.values[leaf].flat[position])

    def outcome(
        self, winner: Line | Reading, at: int = 0, lead: Line | None = None, leads: Line | None = None
    ) -> Outcome:
        """What blocks of winners (0 for none), of leads and of whether there is one say at a position."""
        place = round(self._at(winner, at))
        there = lead is not None and leads is not None and self._at(leads, at) == 1
        return Outcome(
            self.ids[place - 1] if place else None, self._at(lead, at) if there and lead is not None else None
        )

    def best(self, lead: Line | None) -> Outcome:
        """The case of the best values."""
        rows = self.study.comparison.rows
        lone = self._at(self.study.comparison.number_feasible) < 2
        found = self.outcome(rows["winner"])
        return found if lone or lead is None else Outcome(found.cheapest, self._at(lead))

    def _shown(self, stated: StatedInput, leaf_value: float) -> float:
        """A value in the engine's unit as people see it."""
        return leaf_value / stated.factor * (100 if stated.percent else 1)

    def _tried(self, found: Ranked, rank: int) -> Tried:
        stated, trial = self.cases.ends[round(self._at(found.place, rank)) - 1]
        block = next(iter(trial.changes.values()))
        low, high = (self._shown(stated, self._at(block, i)) for i in (0, 1))
        best = self._shown(stated, self.study.book.inputs[stated.key].best)
        at_low, at_high = (self.outcome(e.winner, rank, e.lead, e.leads) for e in (found.low, found.high))
        leads = [lead for lead in (at_low.lead, at_high.lead) if lead is not None] + [self._at(found.lead)]
        return Tried(
            stated.key, stated.label, stated.shown, stated.percent, low, best, high, at_low, at_high,
            max(leads) - min(leads) if len(leads) > 2 else None,
        )  # fmt: skip

    def _grid(self, found: Ranked) -> Grid | None:
        if found.grid is None or self.cases.grid is None or self.cases.grid_values is None:
            return None
        down, across = (
            self._side(stated, block)
            for stated, block in zip(self.cases.grid, self.cases.grid_values, strict=True)
        )
        cells = tuple(
            tuple(self.outcome(winners, j, lead, leads) for j in range(len(across.values)))
            for winners, lead, leads in zip(
                found.grid.winners, found.grid.leads, found.grid.has_lead, strict=True
            )
        )
        return Grid(down, across, cells)

    def _side(self, stated: StatedInput, block: Line) -> Side:
        values = tuple(self._shown(stated, float(x)) for x in self.values[block].flat)
        return Side(stated.key, stated.label, stated.shown, stated.percent, values)

    def _map(self, held: str, found: Ranked, winners: Sequence[Reading]) -> Map:
        runs, shares, plates = (
            tuple(float(x) for x in np.ravel(self.values[line]))
            for line in (found.mean_runs, self.cases.run_shares, found.map_plates)
        )
        cheapest = tuple(
            tuple(self.outcome(reading, j).cheapest for j in range(len(plates))) for reading in winners
        )
        return Map(held, runs, shares, plates, cheapest)


def as_json(study: Study, found: Sensitivity) -> dict[str, Any]:
    """The result as a plain dictionary, unrounded.

    scenario, currency; cheapest : method id; lead : currency a year; turning, left_out : counts of inputs;
    inputs : [{rank, key, label, unit, low, best, high, at_low, at_high, swing}], widest swing first, where at_low and
        at_high are {cheapest, lead};
    grid : {down, across, cheapest, lead} or None, where down and across are {key, label, unit, values} and the other two
        [down][across];
    maps : [{held, impressions_a_form, share_of_own_run, plates_a_month, cheapest}], held "forms" or "impressions",
        cheapest [run][volume].
    A percentage is 10 for 10 %. None: no lead where that method or every other can't do the work, no cheapest where none can.
    """
    grid = found.grid
    return {
        "scenario": study.scenario.name,
        "currency": study.scenario.currency,
        "cheapest": found.best.cheapest,
        "lead": found.best.lead,
        "turning": found.turning,
        "left_out": found.left_out,
        "inputs": [{"rank": rank, **_plain(tried)} for rank, tried in enumerate(found.inputs, 1)],
        "grid": None
        if grid is None
        else {
            "down": _plain(grid.down),
            "across": _plain(grid.across),
            "cheapest": [[cell.cheapest for cell in row] for row in grid.cells],
            "lead": [[cell.lead for cell in row] for row in grid.cells],
        },
        "maps": [
            {
                "held": each.held,
                "impressions_a_form": list(each.runs),
                "share_of_own_run": list(each.shares),
                "plates_a_month": list(each.plates),
                "cheapest": [list(row) for row in each.cheapest],
            }
            for each in found.maps
        ],
    }


def _plain(part: Tried | Side) -> dict[str, Any]:
    plain = asdict(part)
    del plain["percent"]  # the unit says it
    return {name: list(value) if isinstance(value, tuple) else value for name, value in plain.items()}


__all__ = ["Grid", "Map", "Outcome", "Sensitivity", "Side", "Tried", "as_json", "sensitivity"]
