"""What to check next: inputs that nobody has confirmed yet, ranked by what confirming them is worth, and how to do it.

Unconfirmed is what is still a default or an estimate. Unless the caller says what knowing an input is worth, it is the loss
if it is wrong: how much dearer a year the method cheapest at the best values is than the best of the others, at its worst
over the input's own low to high. Money in the scenario's currency a year, in cash, after tax.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import lru_cache
from typing import Any

import numpy as np

from roi.answers.risk import usual_risk
from roi.answers.searched import Costs, searched, winners
from roi.engine.functions import Array
from roi.engine.switches import Search
from roi.model.study import Study
from roi.scenario import catalogue
from roi.scenario.files import Key
from roi.scenario.stated import StatedInput

UNCONFIRMED = ("default", "estimate")
POINTS = 5  # values looked at over an input's own range, its ends among them


@dataclass(frozen=True)
class Way:
    """How a number can be confirmed.

    how : its kind ("invoice", "quote", "letter", "meter", "stopwatch", "count", "books", "decision"); kind : in words
    where : "at the press", "at the processor" or "in the office"
    words : what to do, a sentence
    status : what the number is called once confirmed so
    """

    how: str
    kind: str
    where: str
    words: str
    status: str


@dataclass(frozen=True)
class ToConfirm:
    """An unconfirmed input.

    worth : what confirming it is worth, as the ranking was asked for, usually currency a year; None where the method
        chosen can't do the work somewhere in range
    least_lead : the least lead of the method chosen over the input's range, None where it has none; tells those of equal
        worth apart
    """

    stated: StatedInput
    way: Way
    worth: float | None
    least_lead: float | None


@dataclass(frozen=True)
class _Loss:
    worth: float
    least_lead: float


def loss_if_wrong(study: Study) -> dict[str, float]:
    """What the choice at the best values loses a year at worst over each input's own range, by key.

    Nought where it stays the cheapest; infinite where it can't do the work and another can.
    """
    return {key: loss.worth for key, loss in _losses(study).items()}


def worth_of_knowing(study: Study) -> dict[str, float]:
    """What knowing each input before choosing is worth by the study's draws, in present money, once; by key."""
    return {key: known.value for known in usual_risk(study).knowing for key in known.keys}


@lru_cache(maxsize=2)
def _losses(study: Study) -> dict[str, _Loss]:
    """Each input that has a range; kept, since sheets and commands both ask."""
    costs, present = Costs(study, "cash", "equivalent"), Costs(study, "cash")
    _, every = searched(study)
    ranges = [each for each in every if each.low < each.high]
    if not ranges:
        return {}
    search = Search(study.book, [*costs.lines, *present.costs], ranges, lambda found: [])
    place = np.repeat(np.arange(len(ranges)), POINTS + 1)
    x = np.concatenate([[each.best, *np.linspace(each.low, each.high, POINTS)] for each in ranges])
    x = np.where([ranges[i].whole for i in place], np.round(x), x)
    found = list(search.cases(place, x))
    table = np.concatenate([costs.table(values) for _, values in found], axis=1)
    ids = list(study.methods)
    at_best = winners(present.table(found[0][1])[:, :1], ids.index(study.scenario.current))
    chosen = int(at_best[0])
    leads = _leads(table, chosen).reshape(len(ranges), POINTS + 1)
    return {
        each.key: _Loss(max(0.0, -float(lead.min())), float(lead.min()))
        for each, lead in zip(ranges, leads, strict=True)
    }


def _leads(table: Array, chosen: int) -> Array:
    """What the chosen method is ahead of the best of the others, by case; of two that can't do the work neither leads."""
    rivals = table.copy()
    rivals[chosen] = np.inf
    with np.errstate(invalid="ignore"):
        lead = rivals.min(axis=0) - table[chosen]
    return np.where(np.isnan(lead), np.inf, lead)


def to_confirm(study: Study, worth: Mapping[str, float] | None = None) -> list[ToConfirm]:
    """Unconfirmed inputs in use, those most worth confirming first.

    worth : {key: money}, what knowing each input is worth, such as `worth_of_knowing`; None for the loss if it is wrong, a
        year. Those of equal worth stand by how near their range brings the answer to turning, then in the order of the scenario.
    """
    losses = _losses(study)
    used = study.book.inputs
    rows: list[tuple[float, float, ToConfirm]] = []
    for stated in study.scenario.inputs.values():
        if stated.key not in used or stated.status not in UNCONFIRMED:
            continue
        loss = losses.get(stated.key, _Loss(0.0, np.inf))
        amount = loss.worth if worth is None else float(worth.get(stated.key, 0.0))
        lead = loss.least_lead if np.isfinite(loss.least_lead) else None
        one = ToConfirm(stated, way(study, stated), amount if np.isfinite(amount) else None, lead)
        rows.append((-amount, loss.least_lead, one))
    rows.sort(key=lambda row: row[:2])
    return [one for _, _, one in rows]


def way(study: Study, stated: StatedInput) -> Way:
    """How an input can be confirmed. A method that isn't owned yet can't be timed or counted: a supplier's shop can."""
    key = tuple(stated.key.split("."))
    found = next(each for pattern, each in _ways() if _fits(pattern, key))
    elsewhere = key[0] == "methods" and key[1] != study.scenario.current and found.where != "in the office"
    if not elsewhere:
        return found
    words = (
        f"{found.words} Not owned yet: do so where this method runs, or have its supplier put it in writing."
    )
    return Way(found.how, found.kind, found.where, words, found.status)


@lru_cache(maxsize=1)
def _ways() -> tuple[tuple[Key, Way], ...]:
    tree: Mapping[str, Any] = catalogue.load("confirming.toml")
    kinds = tree["kinds"]
    return tuple(
        (
            tuple(pattern.split(".")),
            Way(row["how"], kinds[row["how"]]["label"], row["where"], row["words"], kinds[row["how"]]["status"]),
        )
        for pattern, row in tree.items()
        if pattern != "kinds"
    )  # fmt: skip


def _fits(pattern: Key, key: Key) -> bool:
    if pattern[-1] == "**":
        pattern, key = pattern[:-1], key[: len(pattern) - 1]
    return len(pattern) == len(key) and all(
        fnmatchcase(name, part) for part, name in zip(pattern, key, strict=True)
    )


def as_json(study: Study, found: list[ToConfirm], basis: str = "loss_if_wrong") -> dict[str, Any]:
    """The list as a plain dictionary, unrounded.

    scenario, currency; basis : what `worth` is; to_confirm : [{rank, key, label, unit, low, best, high, status, how, where,
    words, worth, least_lead}], money a year; None: see ToConfirm. A percentage is 10 for 10 %.
    """
    return {
        "scenario": study.scenario.name,
        "currency": study.scenario.currency,
        "basis": basis,
        "to_confirm": [
            {"rank": rank, **dict(_row(one))} for rank, one in enumerate(found, 1)
        ],
    }  # fmt: skip


def _row(one: ToConfirm) -> Iterator[tuple[str, Any]]:
    stated, scale = one.stated, 100 if one.stated.percent else 1
    yield from (("key", stated.key), ("label", stated.label), ("unit", stated.shown))
    yield from ((end, getattr(stated, end) * scale) for end in ("low", "best", "high"))
    yield from (("status", stated.status), ("how", one.way.how), ("where", one.way.where))
    yield from (("words", one.way.words), ("worth", one.worth), ("least_lead", one.least_lead))


__all__ = [
    "POINTS",
    "UNCONFIRMED",
    "ToConfirm",
    "Way",
    "as_json",
    "loss_if_wrong",
    "to_confirm",
    "way",
    "worth_of_knowing",
]
