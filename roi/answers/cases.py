"""Which cases a workbook carries: inputs at the ends of their ranges, volumes, a grid of two inputs, a map.

Everything here is lines: the values that inputs take in a case are figures of the Cases sheet, made of the inputs' own
best, low and high and of the ranges to look at. Volumes and run lengths are shares of the year's own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from roi.answers.ranges import Ranges
from roi.answers.stress_cases import Stress, stress_cases, stress_keys
from roi.engine.cases import Trial
from roi.engine.column import Column, Line
from roi.engine.expression import Axis, Constant, Data, Expr, Input
from roi.engine.operations import at, gather, pick, power
from roi.model.study import Study
from roi.scenario.stated import StatedInput

WIDEST = 12  # inputs tried at both ends
VOLUMES = 21
MAP_PICKS = (1, 3, 5, 7, 9, 11, 14, 17, 21)  # the volumes that the map takes
MAP_RUNS = 7
REACH = (
    "work.least_volume",
    "work.most_volume",
    "work.shortest_run",
    "work.longest_run",
)  # how far the cases go
ENDS = Axis("ends", ("low", "high"))
GRID = Axis("grid", ("low", "towards low", "best", "towards high", "high"))
_ONE = Axis("one case", ("a tenth more",))
_PAID_FOR = ("price", "freight", "installation", "commissioning", "licence", "training")


@dataclass(frozen=True)
class CaseSet:
    """The Cases column, its trials, and what each is for.

    low, high : the inputs that stand for the ends of a range, by the input's key
    ends : (input, trial over low and high), widest first
    volumes : trial over volumes; shares : the share of the year's work in each
    grid : the two inputs, the trial over the first, and one trial over the second for each of its cases
    runs, run_shares : trial over run lengths, and their shares of the year's own
    held_forms, held_impressions : for each run length a trial over volumes: with as many forms, or impressions, a year
    map_shares : the volumes of the map as shares of the year's own
    plate_price, first_cost : by method, one case with all plate prices, or all that is paid at first, a tenth higher
    tenth : that step
    stresses : things that may happen, each a case of a trial
    left_out : inputs with a range that are not among the widest
    """

    column: Column
    bounds: dict[str, tuple[Input, Input]]
    ends: list[tuple[StatedInput, Trial]]
    volumes: Trial
    shares: Line
    grid: tuple[StatedInput, StatedInput] | None
    grid_values: tuple[Line, Line] | None
    grid_trials: list[Trial]
    runs: Trial
    run_shares: Line
    map_shares: Line
    held_forms: list[Trial]
    held_impressions: list[Trial]
    plate_price: dict[str, Trial]
    first_cost: dict[str, Trial]
    tenth: Data
    stresses: list[Stress]
    left_out: int

    @property
    def trials(self) -> list[Trial]:
        """Every trial, parents first, in the order of the sheets."""
        return [
            *(trial for _, trial in self.ends), self.volumes, *self.grid_trials, self.runs, *self.held_forms,
            *self.held_impressions, *self.plate_price.values(), *self.first_cost.values(),
            *dict.fromkeys(stress.trial for stress in self.stresses),
        ]  # fmt: skip


def inputs_in_use(study: Study) -> list[StatedInput]:
    """Every input that some line uses, or that says how far break-even and the stresses go; in the scenario's order."""
    used = {*study.book.inputs, *REACH, *stress_keys(study)}
    return [stated for stated in study.scenario.inputs.values() if stated.key in used]


def case_set(study: Study, ranges: Ranges) -> CaseSet:
    """Build the cases of a study; `ranges` says which inputs matter most."""
    return _Builder(study, ranges).build()


def by_effect(ranges: Ranges) -> list[StatedInput]:
    """Inputs whose range moves the lead at all, those that move it most first."""
    effect: dict[str, float] = {}
    stated: dict[str, StatedInput] = {}
    for end in ranges.ends:
        stated[end.stated.key] = end.stated
        moved = end.lead - ranges.lead
        # Where nothing competes the lead is beyond any number, and so is a move from there or to it.
        by = 0.0 if np.isnan(moved) else abs(moved)
        effect[end.stated.key] = max(effect.get(end.stated.key, 0.0), by)
    moving = [key for key, by in effect.items() if by > 0]
    return [stated[key] for key in sorted(moving, key=lambda key: -effect[key])]


class _Builder:
    def __init__(self, study: Study, ranges: Ranges) -> None:
        self.study, self.ranges = study, ranges
        self.inputs = study.book.inputs
        self.column = Column(
            "Cases",
            "cases",
            across=True,
            note="Values that inputs take in further cases; the sheets that end in 'cases' work them out.",
        )
        self.bounds: dict[str, tuple[Input, Input]] = {}

    def build(self) -> CaseSet:
        widest = by_effect(self.ranges)
        ends = [(stated, self._ends(stated)) for stated in widest[:WIDEST]]
        volume = self.inputs["work.volume"]
        shares, volumes = self._volumes(volume)
        grid, grid_values, grid_trials = self._grid(widest)
        runs, run_shares, map_shares, held_forms, held_impressions = self._map(volume, shares)
        tenth, prices, first = self._tenths()
        stresses = stress_cases(self.study, self.column, lambda stated: self._range(stated)[1])
        return CaseSet(
            self.column, self.bounds, ends, volumes, shares, grid, grid_values,
            grid_trials, runs, run_shares, map_shares, held_forms, held_impressions, prices, first, tenth,
            stresses, len(widest) - len(ends),
        )  # fmt: skip

    def _range(self, stated: StatedInput) -> tuple[Line, Line, Line]:
        """Best, low and high of an input as lines of the Cases sheet."""
        leaf = self.inputs[stated.key]
        if stated.key not in self.bounds:
            low, high = (
                Input(f"{stated.key} ({end})", f"{stated.label}, {end}", stated.unit, value * stated.factor)
                for end, value in (("low", stated.low), ("high", stated.high))
            )
            self.bounds[stated.key] = low, high
        low, high = self.bounds[stated.key]
        return self.column.input(leaf), self.column.input(low), self.column.input(high)

    def _block(self, label: str, unit: str, axis: Axis, parts: Sequence[Expr]) -> Line:
        return self.column.line(label, unit, gather(axis, parts))

    def _ends(self, stated: StatedInput) -> Trial:
        _, low, high = self._range(stated)
        self.column.heading(f"{stated.label}: low and high")
        values = self._block(f"{stated.label}: its ends", str(stated.unit), ENDS, [low, high])
        return Trial(f"{stated.label} ({stated.key})", ENDS, {self.inputs[stated.key]: values})

    def _positions(self, key: str, axis: Axis) -> Data:
        evenly = np.linspace(0, 1, len(axis))
        return self.column.data(
            Data(f"cases.{key}", f"Place along the {axis.name}", "1", axis, evenly.tolist())
        )

    def _share(self, name: str) -> Line:
        stated = self.study.scenario.input("work", name)
        return self.column.input(stated)

    def _volumes(self, volume: Input) -> tuple[Line, Trial]:
        self.column.heading("Volumes", "Evenly spaced; jobs scale, the mix of work stays.")
        axis = Axis("volumes", tuple(f"volume {i + 1}" for i in range(VOLUMES)))
        least, most = self._share("least_volume"), self._share("most_volume")
        place = self._positions("volumes", axis)
        shares = self.column.line("Volumes as shares of the year's", "1", least + (most - least) * place)
        own = self.column.input(volume)
        values = self.column.line("Work of the year against the log, by volume", "1", shares * own)
        return shares, Trial("Volumes", axis, {volume: values})

    def _grid(
        self, widest: list[StatedInput]
    ) -> tuple[tuple[StatedInput, StatedInput] | None, tuple[Line, Line] | None, list[Trial]]:
        """Two inputs together: those whose ranges cut the lead most, ranges that lie to both sides of the best first."""
        among = {stated.key for stated in widest}
        order = [end.stated for end in self.ranges.nearest] or widest
        order = [s for s in order if s.key in among]
        order.sort(key=lambda s: not s.low < s.best < s.high)
        if len(order) < 2:
            return None, None, []
        first, second = order[:2]
        lines = []
        for stated in (first, second):
            best, low, high = self._range(stated)
            self.column.heading(f"{stated.label}: for the grid")
            down = self.column.line(f"{stated.label}, half-way to low", str(stated.unit), (low + best) / 2)
            up = self.column.line(f"{stated.label}, half-way to high", str(stated.unit), (best + high) / 2)
            parts = [low, down, best, up, high]
            lines.append(self._block(f"{stated.label}: for the grid", str(stated.unit), GRID, parts))
        a, b = self.inputs[first.key], self.inputs[second.key]
        along = Trial(f"Grid: {first.label}", GRID, {a: lines[0]})
        across = [
            Trial(f"Grid: {second.label}, with {first.label} at {label}", GRID, {b: lines[1]}, (along, i))
            for i, label in enumerate(GRID.labels)
        ]
        return (first, second), (lines[0], lines[1]), [along, *across]

    def _map(self, volume: Input, shares: Line) -> tuple[Trial, Line, Line, list[Trial], list[Trial]]:
        c, run = self.column, self.inputs["work.run_length"]
        c.heading("Run lengths of the map", "Each the same many times the one before.")
        run_axis = Axis("run lengths", tuple(f"run length {i + 1}" for i in range(MAP_RUNS)))
        volume_axis = Axis("map volumes", tuple(f"volume {i + 1}" for i in range(len(MAP_PICKS))))
        short, long = self._share("shortest_run"), self._share("longest_run")
        run_place = self._positions("runs", run_axis)
        run_shares = c.line(
            "Run lengths as shares of the year's", "1", short * power(long / short, run_place)
        )
        own_run = c.input(run)
        run_values = c.line("Run length against the log, by run length", "1", run_shares * own_run)
        runs = Trial("Map: run lengths", run_axis, {run: run_values})
        c.heading("Volumes of the map", "Some of the volumes above, wider apart further out.")
        picked = c.data(Data("cases.picked", "Which volume", "1", volume_axis, MAP_PICKS))
        map_shares = c.line("Volumes of the map as shares of the year's", "1", pick(shares, picked))
        own = c.input(volume)
        forms = c.line("Work of the year against the log, by volume of the map", "1", map_shares * own)
        held_forms, held_impressions = [], []
        for i, label in enumerate(run_axis.labels):
            held_forms.append(Trial(f"Map: {label}, forms held", volume_axis, {volume: forms}, (runs, i)))
        for i, label in enumerate(run_axis.labels):
            share = c.line(f"Share of {label}", "1", at(run_shares, i))
            fewer = c.line(
                f"Work of the year with {label}, impressions held",
                "1",
                forms / share,
                note="longer runs, so fewer of them",
            )
            held_impressions.append(
                Trial(f"Map: {label}, impressions held", volume_axis, {volume: fewer}, (runs, i))
            )
        return runs, run_shares, map_shares, held_forms, held_impressions

    def _tenths(self) -> tuple[Data, dict[str, Trial], dict[str, Trial]]:
        """Costs are straight lines in a price: one case with prices a tenth higher tells where two methods tie."""
        c, scenario = self.column, self.study.scenario
        c.heading(
            "A tenth more", "Costs are straight lines in a price: one further case tells where they tie."
        )
        tenth = c.data(Data("cases.tenth", "Step of the prices", "1", _ONE, [0.1]))
        prices: dict[str, Trial] = {}
        first: dict[str, Trial] = {}
        for name, sheet in self.study.methods.items():
            plates = [k for k in self.inputs if k.startswith(f"methods.{name}.plates.price")]
            units = [
                key
                for unit in sheet.names("equipment")
                for paid in _PAID_FOR
                if (key := f"methods.{name}.equipment.{unit}.{paid}") in self.inputs
            ]
            for keys, words, found in ((plates, "plate prices", prices), (units, "first cost", first)):
                if keys:
                    changes = {
                        self.inputs[k]: self._dearer(scenario.inputs[tuple(k.split("."))], tenth)
                        for k in keys
                    }
                    found[name] = Trial(f"{sheet.method.short}: {words} a tenth higher", _ONE, changes)
        return tenth, prices, first

    def _dearer(self, stated: StatedInput, tenth: Data) -> Line:
        leaf = self.inputs[stated.key]
        body = self.column.input(leaf) * (Constant(1) + tenth)
        return self.column.line(f"{stated.label} ({stated.key}), a tenth more", str(stated.unit), body)


__all__ = ["CaseSet", "by_effect", "case_set", "inputs_in_use"]
