"""What differs between scenarios: their inputs one by one, then texts and structure.

Inputs are those the reckoning uses; each scenario's numbers stand in the unit it states them in, and are judged in the
engine's unit. A price stated in two currencies always differs. Nothing is converted, added or subtracted here.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from roi.model.study import Study
from roi.scenario.scenario import Scenario
from roi.scenario.stated import StatedInput
from roi.scenario.things import clean
from roi.scenario.worklog import FLAGS, WorkLog

ABSENT = "-"
PARTS = ("value", "low", "high", "status")
ALL_PARTS = (*PARTS, "source", "date", "valid_until", "by")
_NOT_STATED = "not stated"
_SAME = 1e-12  # relative: a number turned from one unit to another is still the same number
_KEPT = 1e-9  # relative: sums over a job log and over what a workbook keeps of it
# What is told by a row of its own, or says nothing about the reckoning.
_TOLD = {"name", "note", "schema", "based_on", "currency", "units", "current", "waste_rules"}
_THINGS = ("methods", "presses", "sizes", "grades")


@dataclass(frozen=True)
class InputDifference:
    """An input that differs, or that not all scenarios have.

    section : ("shop",) or ("methods", id), as inputs are grouped
    stated : one a scenario, None where it has no such input
    parts : which of those asked for differ between those that have it; empty where only some have it
    """

    key: str
    label: str
    section: tuple[str, ...]
    unit: str
    stated: tuple[StatedInput | None, ...]
    parts: tuple[str, ...]

    @property
    def in_all(self) -> bool:
        """Whether every scenario has this input."""
        return None not in self.stated


@dataclass(frozen=True)
class TextDifference:
    """A text or a piece of structure that differs: one text a scenario, `ABSENT` where it has none."""

    label: str
    texts: tuple[str, ...]


@dataclass(frozen=True)
class Differences:
    """What differs: inputs in the order of their sections, texts and structure, and how many inputs are equal."""

    inputs: tuple[InputDifference, ...]
    texts: tuple[TextDifference, ...]
    equal: int


def differences(studies: Sequence[Study], parts: Sequence[str] = PARTS) -> Differences:
    """Compare the inputs, texts and structure of scenarios. Two or more studies, in the order to be shown.

    parts : what of an input is compared, of `ALL_PARTS`
    """
    used = [_used(study) for study in studies]
    _take_over(used, studies)
    currencies = [study.scenario.currency for study in studies]
    found: list[InputDifference] = []
    equal = 0
    for key in _in_sections(used):
        stated = tuple(inputs.get(key) for inputs in used)
        there = [(one, code) for one, code in zip(stated, currencies, strict=True) if one is not None]
        differing = tuple(part for part in parts if _differs(part, there))
        if not differing and len(there) == len(studies):
            equal += 1
            continue
        units = dict.fromkeys(one.shown or "number" for one, _ in there)
        label = next(one.label for one, _ in there if one.key == key)
        found.append(InputDifference(key, label, section_of(key), " or ".join(units), stated, differing))
    texts = tuple(_texts([study.scenario for study in studies]))
    return Differences(tuple(found), texts, equal)


def section_of(key: str) -> tuple[str, ...]:
    """The group an input belongs to: its first word, and the method's id for those of a method."""
    head, *rest = key.split(".")
    return (head, rest[0]) if head == "methods" else (head,)


def _used(study: Study) -> dict[str, StatedInput]:
    wanted = study.book.inputs
    return {one.key: one for one in study.scenario.inputs.values() if one.key in wanted}


def _take_over(used: Sequence[dict[str, StatedInput]], studies: Sequence[Study]) -> None:
    """Where one scenario states a number that a method of another has from the method it is the same as, put that one beside it.

    It keeps its own key: it is the other method's input.
    """
    stated = dict.fromkeys(key for inputs in used for key in inputs)
    for inputs, study in zip(used, studies, strict=True):
        taken = {".".join(key): ".".join(whose) for key, whose in study.scenario.same.items()}
        inputs |= {
            key: inputs[taken[key]] for key in stated if key not in inputs and taken.get(key) in inputs
        }


def _in_sections(used: Sequence[dict[str, StatedInput]]) -> list[str]:
    """Every key once: sections as they first come, keys in each as they first come."""
    keys = dict.fromkeys(key for inputs in used for key in inputs)
    order = {section: place for place, section in enumerate(dict.fromkeys(section_of(key) for key in keys))}
    return sorted(keys, key=lambda key: order[section_of(key)])


def _differs(part: str, stated: Sequence[tuple[StatedInput, str]]) -> bool:
    if part in ("status", "source", "date", "valid_until", "by"):
        return len({getattr(one, part) or _NOT_STATED for one, _ in stated}) > 1
    if len({code for _, code in stated}) > 1 and any(one.unit.has("currency") for one, _ in stated):
        return part == "value" or any(one.low != one.high for one, _ in stated)
    name = "best" if part == "value" else part
    first, *others = [getattr(one, name) * one.factor for one, _ in stated]
    return any(not math.isclose(first, other, rel_tol=_SAME) for other in others)


def _texts(scenarios: Sequence[Scenario]) -> Iterator[TextDifference]:
    rows: dict[str, list[str]] = {
        "Currency": [s.currency for s in scenarios],
        "Units": [s.system for s in scenarios],
        "Method in use": [s.method(s.current).label for s in scenarios],
        "Tax schedule": [s.tax.label for s in scenarios],
        "Rules on waste": [s.waste.label for s in scenarios],
    }
    rows |= _each("Method", [{m.id: m.label for m in s.methods} for s in scenarios])
    presses = [{p.id: f"{p.label}, printing units: {p.units}" for p in s.presses} for s in scenarios]
    rows |= _each("Press", presses)
    rows |= _each("Size", [{size.id: size.label for size in s.sizes} for s in scenarios])
    rows |= _each(
        "Grade", [{g: s.text("grades", g, "label", default=g) for g in s.grades} for s in scenarios]
    )
    for label, texts in rows.items():
        if len(set(texts)) > 1:
            yield TextDifference(label, tuple(texts))
    works = [s.work for s in scenarios]
    if any(not _same_work(works[0], work) for work in works[1:]):
        yield TextDifference("Work of a year", tuple(_work(s) for s in scenarios))
    yield from _other_texts(scenarios)
    yield from _ledgers(scenarios)


def _each(what: str, held: Sequence[dict[str, str]]) -> dict[str, list[str]]:
    """A row for each thing that any scenario has, by its id."""
    names = dict.fromkeys(name for one in held for name in one)
    return {f"{what} {name}": [one.get(name, ABSENT) for one in held] for name in names}


def _same_work(one: WorkLog, other: WorkLog) -> bool:
    """Whether two works are the same, in whatever order their forms, presses and sizes are stated."""
    one, other = _by_name(one), _by_name(other)
    if (one.presses, one.sizes, one.days) != (other.presses, other.sizes, other.days):
        return False
    if one.bin is not None or other.bin is not None:
        return _alike(one, other)
    if not np.allclose(one.month_share, other.month_share, rtol=_KEPT, atol=_KEPT):
        return False
    a, b = _forms(one), _forms(other)
    return all(_equal(a[name], b[name]) for name in a)


def _equal(a: np.ndarray, b: np.ndarray) -> bool:
    """Amounts within the last digits, which follow the order in which they were added up."""
    if a.shape != b.shape or a.dtype.kind != "f":
        return np.array_equal(a, b, equal_nan=a.dtype.kind == "M" == b.dtype.kind)
    return bool(np.allclose(a, b, rtol=_KEPT, atol=0))


def _by_name(work: WorkLog) -> WorkLog:
    """The same work with its presses and sizes sorted by name."""
    presses, sizes = tuple(sorted(work.presses)), tuple(sorted(work.sizes))
    press = np.array([presses.index(name) for name in work.presses], np.intp)[work.press]
    size = np.array([sizes.index(name) for name in work.sizes], np.intp)[work.size]
    return replace(work, presses=presses, sizes=sizes, press=press, size=size)


def _forms(work: WorkLog) -> dict[str, Any]:
    """What is said of each form, the forms sorted by it; rows of the file apart."""
    names = ("weight", "press", "size", "plates", "good", "ruling", "uncoated", *FLAGS)
    said = {"day": work.day, "job": work.job.astype(str), **{name: getattr(work, name) for name in names}}
    order = np.lexsort(tuple(np.round(v, 9) if v.dtype.kind == "f" else v for v in said.values()))
    return {name: values[order] for name, values in said.items()}


def _alike(one: WorkLog, other: WorkLog) -> bool:
    """Whether two works are the same where one is as a workbook keeps it: forms alike put together, without names."""
    if not np.allclose(one.month_share, other.month_share, rtol=_KEPT, atol=_KEPT):
        return False
    kinds = ("press", "size", "plates", "ruling", "uncoated", *FLAGS)
    sums = []
    for work in (one, other):
        keys = np.column_stack([getattr(work, name).astype(float) for name in kinds])
        rows, which = np.unique(keys, axis=0, return_inverse=True)
        amounts = [
            np.bincount(which.reshape(-1), w, len(rows)) for w in (work.weight, work.weight * work.good)
        ]
        sums.append(np.column_stack([rows, *amounts]))
    a, b = sums
    return a.shape == b.shape and bool(np.allclose(a, b, rtol=_KEPT, atol=_KEPT))


def _work(scenario: Scenario) -> str:
    work = scenario.work
    forms, plates = work.weight.sum() * work.per_year, (work.weight * work.plates).sum() * work.per_year
    return f"{scenario.work_source}: {forms:,.0f} forms and {plates:,.0f} plates a year"


def _other_texts(scenarios: Sequence[Scenario]) -> Iterator[TextDifference]:
    """What is stated and is no number: drivers, streams, switches. Of a thing that not all have, nothing."""
    numbers = {key for s in scenarios for key in (*s.inputs, *s.same)}
    for key in dict.fromkeys(key for s in scenarios for key in s.raw):
        if key in numbers or key[-1] in _TOLD | {"label", "short", "tax_schedule"}:
            continue
        thing = key[:2] if key[0] in _THINGS else ()
        if thing and any(not s.names(*thing) for s in scenarios):
            continue
        texts = tuple(_plain(s.raw[key].value) if key in s.raw else ABSENT for s in scenarios)
        if len(set(texts)) > 1:
            yield TextDifference(".".join(key), texts)


def _ledgers(scenarios: Sequence[Scenario]) -> Iterator[TextDifference]:
    """What is said of how a ledger is read, but for its file, which a workbook doesn't keep."""
    # A year that [log] states is the ledger's where it states none, and a workbook keeps that.
    said = [dict(_flat(s.ledger_table | _year(s))) for s in scenarios]
    for key in dict.fromkeys(key for table in said for key in table):
        texts = tuple(table.get(key, ABSENT) for table in said)
        if key != "file" and len(set(texts)) > 1:
            yield TextDifference(f"ledger.{key}", texts)


def _year(scenario: Scenario) -> dict[str, Any]:
    year = None if scenario.ledger is None else scenario.ledger.year
    return {} if year is None else dict(zip(("from", "to"), year, strict=True))


def _flat(table: Mapping[str, Any], above: str = "") -> Iterator[tuple[str, str]]:
    for name, value in table.items():
        if isinstance(value, Mapping):
            yield from _flat(value, f"{above}{name}.")
        else:
            yield f"{above}{name}", _plain(value)


def _plain(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return clean(", ".join(map(str, value)) if isinstance(value, list) else value) or ABSENT


__all__ = [
    "ABSENT",
    "ALL_PARTS",
    "PARTS",
    "Differences",
    "InputDifference",
    "TextDifference",
    "differences",
    "section_of",
]
