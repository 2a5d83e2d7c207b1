"""What differs between two scenarios, A and B: their inputs and texts, and what comes of them method by method.

Money as in the comparison: costs positive, each in its own scenario's currency; nothing is converted. Results are the same
when they agree to nine digits, since a spreadsheet program stores fifteen of a number.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from roi.answers.compare import as_json as compared
from roi.answers.differences import (
    ABSENT,
    ALL_PARTS,
    InputDifference,
    TextDifference,
    differences,
)
from roi.answers.searched import told
from roi.answers.verdict import on_example, sentences
from roi.engine.evaluate import Values
from roi.model.study import Study
from roi.scenario.stated import StatedInput

MEASURES = {
    "present_cost": "Present cost",
    "present_cost_full": "Present cost at full cost",
    "equivalent_annual_cost": "Equivalent annual cost",
    "first_cost": "First cost",
}
_SAME = 1e-9
_WORDS = {"valid_until": "valid until", "by": "stated by"}


@dataclass(frozen=True)
class InputRow:
    """An input that differs: what A and what B state, and which parts of it are not the same."""

    key: str
    label: str
    a: StatedInput | None
    b: StatedInput | None
    parts: tuple[str, ...]

    def told(self) -> Iterator[tuple[str, str, str]]:
        """Each part that differs, in words: (name, A, B)."""
        if self.a is None or self.b is None:
            a, b = (ABSENT if one is None else _part(one, "value") for one in (self.a, self.b))
            yield "value", a, b
            return
        for part in self.parts:
            yield _WORDS.get(part, part), _part(self.a, part), _part(self.b, part)


@dataclass(frozen=True)
class ResultRow:
    """A measure of a method that differs; None where a scenario has no such method or measure."""

    method: str
    name: str
    measure: str
    a: float | None
    b: float | None

    @property
    def label(self) -> str:
        return MEASURES[self.measure]


@dataclass(frozen=True)
class Changed:
    """Everything that differs.

    names, currencies, verdicts : of A and B; a verdict is what the program says first
    inputs, texts, results : what differs;  equal : inputs that are the same in both
    """

    names: tuple[str, str]
    currencies: tuple[str, str]
    verdicts: tuple[str, str]
    inputs: tuple[InputRow, ...]
    texts: tuple[TextDifference, ...]
    results: tuple[ResultRow, ...]
    equal: int

    @property
    def same(self) -> bool:
        """Whether nothing differs."""
        return not (self.inputs or self.texts or self.results) and self.verdicts[0] == self.verdicts[1]

    def by_method(self) -> dict[str, list[ResultRow]]:
        """Results that differ, by the method's name."""
        found: dict[str, list[ResultRow]] = {}
        for row in self.results:
            found.setdefault(row.name, []).append(row)
        return found

    def sentences(self) -> list[str]:
        """In words, first what it comes to."""
        if self.same:
            return ["The two are the same: every input, every text and every result."]
        said = []
        if self.verdicts[0] == self.verdicts[1]:
            said.append(f"Both say: {self.verdicts[0]}")
        else:
            said += [f"A says: {self.verdicts[0]}", f"B says: {self.verdicts[1]}"]
        if not self.results:
            said.append("No result differs.")
        if self.currencies[0] != self.currencies[1]:
            said.append(
                f"A is in {self.currencies[0]}, B in {self.currencies[1]}: amounts stand side by side unconverted."
            )
        return said


def _verdict(study: Study, values: Values) -> str:
    """What is said first, whole: after that the work is an example, where it is one."""
    return " ".join(sentences(study, values)[: 2 if on_example(study) else 1])


def what_changed(a: tuple[Study, Values], b: tuple[Study, Values]) -> Changed:
    """Compare two scenarios, each as a study and its lines at the best values."""
    found = differences([a[0], b[0]], ALL_PARTS)
    scenarios = (a[0].scenario, b[0].scenario)
    texts = list(found.texts)
    if scenarios[0].name != scenarios[1].name:
        texts.insert(0, TextDifference("Name", (scenarios[0].name, scenarios[1].name)))
    return Changed(
        names=(scenarios[0].name, scenarios[1].name),
        currencies=(scenarios[0].currency, scenarios[1].currency),
        verdicts=(_verdict(*a), _verdict(*b)),
        inputs=tuple(_row(one) for one in found.inputs),
        texts=tuple(texts),
        results=tuple(_results(compared(*a), compared(*b))),
        equal=found.equal,
    )


def as_json(found: Changed, files: Sequence[str]) -> dict[str, Any]:
    """Everything unrounded, for --json."""

    def number(stated: StatedInput | None) -> dict[str, Any] | None:
        if stated is None:
            return None
        shown = ("best", "low", "high", "status", "source", "date", "valid_until", "by")
        return {"unit": stated.shown, **{name: getattr(stated, name) for name in shown}}

    return {
        "schema": 1,
        "same": found.same,
        "scenarios": [
            {"file": file, "name": name, "currency": currency, "verdict": verdict}
            for file, name, currency, verdict in zip(
                files, found.names, found.currencies, found.verdicts, strict=True
            )
        ],
        "inputs": [
            {"key": r.key, "label": r.label, "a": number(r.a), "b": number(r.b), "differs_in": list(r.parts)}
            for r in found.inputs
        ],
        "texts": [{"what": t.label, "a": t.texts[0], "b": t.texts[1]} for t in found.texts],
        "results": [{"method": r.method, "measure": r.measure, "a": r.a, "b": r.b} for r in found.results],
        "inputs_equal": found.equal,
    }


def _row(one: InputDifference) -> InputRow:
    return InputRow(one.key, one.label, one.stated[0], one.stated[1], one.parts)


def _part(stated: StatedInput, part: str) -> str:
    if part in ("value", "low", "high"):
        number = getattr(stated, "best" if part == "value" else part)
        return told(stated, number * (100 if stated.percent else 1), 6)
    text: str = getattr(stated, part)
    return text or "not stated"


def _results(a: dict[str, Any], b: dict[str, Any]) -> Iterator[ResultRow]:
    for method in dict.fromkeys([*a["methods"], *b["methods"]]):
        sides = [side["methods"].get(method) for side in (a, b)]
        label = next(side["label"] for side in sides if side is not None)
        for measure in MEASURES:
            x, y = (None if side is None else side[measure] for side in sides)
            if not _alike(x, y):
                yield ResultRow(method, label, measure, x, y)


def _alike(x: float | None, y: float | None) -> bool:
    if x is None or y is None:
        return x is y
    return math.isclose(x, y, rel_tol=_SAME, abs_tol=1e-6)


__all__ = ["MEASURES", "Changed", "InputRow", "ResultRow", "as_json", "what_changed"]
