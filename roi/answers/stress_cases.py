"""Stresses: a few harsh things that may happen, one at a time, as cases of the inputs.

Each group of prices dearer, less work and more, plates that wear out as early as stated, presses with hours to spare or
sold out, a sole supplier that stops. By how much stands with the inputs (`stress`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from roi.engine.cases import Trial
from roi.engine.column import Column, Line
from roi.engine.expression import Axis, Data, Expr, Input
from roi.engine.operations import gather
from roi.model.study import Study
from roi.scenario.stated import StatedInput

_ONE = Axis("one stress", ("stressed",))
_PRESS = Axis("hours of the presses", ("spare", "sold out"))
_SPARE, _SOLD_OUT = 1, 3  # states of a press

Low = Callable[[StatedInput], Line]


@dataclass(frozen=True)
class Stress:
    """One thing that happens: a case of a trial. by : how much of it, None where the label says all."""

    label: str
    trial: Trial
    position: int
    by: Line | None


def stress_cases(study: Study, column: Column, low: Low) -> list[Stress]:
    """The stresses a study has inputs for; `low` gives the line of an input's low. Writes on the Cases column."""
    return _Cases(study, column, low).build()


def stress_keys(study: Study) -> tuple[str, ...]:
    """The inputs that say how hard the stresses are."""
    stops = any(f"methods.{name}.supplier.stops" in study.book.inputs for name in study.methods)
    return (
        "stress.price_rise",
        "stress.less_work",
        "stress.more_work",
        *(["stress.supplier_year"] if stops else []),
    )


class _Cases:
    def __init__(self, study: Study, column: Column, low: Low) -> None:
        self.study, self.column, self.low = study, column, low
        self.inputs = study.book.inputs

    def build(self) -> list[Stress]:
        self.column.heading("Stresses", "One at a time; the sheet Stresses shows what becomes of the answer.")
        return [*self._dearer(), *self._work(), *self._lives(), *self._presses(), *self._suppliers()]

    def _by(self, name: str) -> Line:
        return self.column.input(self.study.scenario.input("stress", name))

    def _dearer(self) -> list[Stress]:
        rise, found = self._by("price_rise"), []
        for group in self.study.shop.price_share:
            leaf = self.inputs.get(f"prices.{group}")
            if leaf is None:
                continue
            words = group.replace("_", " ")
            now = self.column.input(leaf)
            dearer = self._one(f"Prices of {words}, dearer", now * (1 + rise))
            found.append(Stress(f"Dearer: {words}", Trial(f"Dearer: {words}", _ONE, {leaf: dearer}), 0, rise))
        return found

    def _work(self) -> list[Stress]:
        volume = self.inputs["work.volume"]
        own, less, more = self.column.input(volume), self._by("less_work"), self._by("more_work")
        drop = self.column.line("Less work, as a change", "1", 0 - less)
        found = []
        for label, change in (("Less work", drop), ("More work", more)):
            values = self._one(f"Work of the year, {label.lower()}", own * (1 + change))
            found.append(Stress(label, Trial(label, _ONE, {volume: values}), 0, change))
        return found

    def _lives(self) -> list[Stress]:
        changes: dict[Input, Line] = {}
        for stated in self.study.scenario.inputs.values():
            parts = stated.key.split(".")
            if stated.key in self.inputs and "life" in parts[:3] and _counts_impressions(stated):
                shortest = self._one(
                    f"{stated.label}, as early as stated", self.low(stated) + 0, str(stated.unit)
                )
                changes[self.inputs[stated.key]] = shortest
        if not changes:
            return []
        return [
            Stress(
                "All plates wear out as early as stated",
                Trial("Plates wear out early", _ONE, changes),
                0,
                None,
            )
        ]

    def _presses(self) -> list[Stress]:
        found = [self.inputs.get(f"presses.{press.id}.state") for press in self.study.scenario.presses]
        leaves = [leaf for leaf in found if leaf is not None]
        if not leaves:
            return []
        states = [float(_SPARE), float(_SOLD_OUT)]
        known = self.column.data(
            Data("cases.states", "State: 1 spare hours, 3 sold out", "1", _PRESS, states)
        )
        values = self.column.line("State of every press", "1", known + 0)
        trial = Trial("Hours of the presses", _PRESS, dict.fromkeys(leaves, values))
        return [
            Stress("Every press has hours to spare", trial, 0, None),
            Stress("Every press is sold out", trial, 1, None),
        ]

    def _suppliers(self) -> list[Stress]:
        found = []
        for name, sheet in self.study.methods.items():
            leaf = self.inputs.get(f"methods.{name}.supplier.stops")
            if leaf is None:
                continue
            year = self._by("supplier_year")
            short = sheet.method.short
            stops = self._one(f"{short}: year in which the sole supplier stops", year + 0, "year")
            trial = Trial(f"{short}: the sole supplier stops", _ONE, {leaf: stops})
            found.append(Stress(f"Sole supplier stops: {short}, in year", trial, 0, year))
        return found

    def _one(self, label: str, body: Expr, unit: str = "1") -> Line:
        return self.column.line(label, unit, gather(_ONE, [body]))


def _counts_impressions(stated: StatedInput) -> bool:
    return str(stated.unit) == "impression" and stated.low < stated.best


__all__ = ["Stress", "stress_cases", "stress_keys"]
