"""What to check next: inputs that nobody has confirmed yet, ranked by what confirming them is worth, and how to do it.

Unconfirmed is what is still a default or an estimate; levers, which only try the answer, aren't counted. Unless the caller
says what knowing an input is worth, it is the loss if it is wrong: how much dearer a year the method cheapest at the best
values is than the best of the others, at its worst over the input's own low to high. Where fewer than two methods can do
the work there is no choice to lose by: first come the inputs that alone change which method does it, then all others that
decide it. Money in the scenario's currency a year, in cash, after tax.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fnmatch import fnmatchcase
from functools import lru_cache
from typing import Any

import numpy as np

from roi.answers.risk import usual_risk
from roi.answers.risk_results import Known
from roi.answers.risk_words import worth_telling
from roi.answers.searched import NONE, Costs, searched, winners
from roi.answers.switching import switching_values
from roi.engine.evaluate import Program
from roi.engine.functions import Array
from roi.engine.switches import Search
from roi.model.study import Study
from roi.scenario import catalogue
from roi.scenario.files import Key
from roi.scenario.risk import in_grades
from roi.scenario.stated import StatedInput

UNCONFIRMED = ("default", "estimate")
POINTS = 5  # values looked at over an input's own range, its ends among them


@dataclass(frozen=True)
class Way:
    """How a number can be confirmed.

    how : its kind ("invoice", "quote", "letter", "meter", "stopwatch", "count", "books", "decision"); kind : in words
    where : "at the press", "at the processor" or "in the office"
    words : what to do, a sentence
    status : what the number is called once confirmed so; lever : whether there is nothing to confirm
    """

    how: str
    kind: str
    where: str
    words: str
    status: str
    lever: bool = False


@dataclass(frozen=True)
class ToConfirm:
    """An unconfirmed input.

    worth : what confirming it is worth, as the ranking was asked for, usually currency a year; None where the method
        chosen can't do the work somewhere in range
    least_lead : the least lead of the method chosen over the input's range, None where it has none; tells those of equal
        worth apart
    worth_error : standard error of `worth` where it rests on draws
    """

    stated: StatedInput
    way: Way
    worth: float | None
    least_lead: float | None
    worth_error: float | None = None


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
    """What knowing an input before choosing is worth by the study's draws, in present money, once; by key.

    Only of those whose worth stands out from the noise of the draws: of the others none can be told.
    """
    return {key: known.value for known in _worth_telling(study) for key in known.keys}


def errors_of_knowing(study: Study) -> dict[str, float]:
    """Standard errors of `worth_of_knowing`, by key."""
    return {key: known.error for known in _worth_telling(study) for key in known.keys}


def _worth_telling(study: Study) -> list[Known]:
    found = usual_risk(study)
    return worth_telling(found, len(found.knowing))


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
    for i, each in enumerate(ranges):
        if each.grades:
            x[place == i] = np.resize([each.best, *each.grades], POINTS + 1)
    found = list(search.cases(place, x))
    table = np.concatenate([costs.table(values) for _, values in found], axis=1)
    ids = list(study.methods)
    at_best = winners(present.table(found[0][1])[:, :1], ids.index(study.scenario.current))
    chosen = int(at_best[0])
    if chosen == NONE:
        return {}
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


def to_confirm(
    study: Study, worth: Mapping[str, float] | None = None, errors: Mapping[str, float] | None = None
) -> list[ToConfirm]:
    """Unconfirmed inputs in use, those most worth confirming first.

    worth : {key: money}, what knowing each input is worth, such as `worth_of_knowing`; None for the loss if it is wrong, a
        year. Those of equal worth stand by how near their range brings the answer to turning, then in the order of the scenario.
    errors : {key: money}, standard errors of `worth`, passed on
    """
    losses, bars = _losses(study), _what_bars(study)
    used = study.book.inputs
    rows: list[tuple[float, float, float, ToConfirm]] = []
    for stated in study.scenario.inputs.values():
        if stated.key not in used or stated.status not in UNCONFIRMED:
            continue
        mine = way(study, stated)
        if mine.lever:
            continue
        loss = losses.get(stated.key, _Loss(0.0, np.inf))
        amount = loss.worth if worth is None else float(worth.get(stated.key, 0.0))
        lead = loss.least_lead if np.isfinite(loss.least_lead) else None
        error = None if errors is None else float(errors.get(stated.key, 0.0))
        one = ToConfirm(stated, mine, amount if np.isfinite(amount) else None, lead, error)
        rows.append((bars.get(stated.key, np.inf), -amount, loss.least_lead, one))
    rows.sort(key=lambda row: row[:3])
    return [one for *_, one in rows]


@lru_cache(maxsize=2)
def _what_bars(study: Study) -> dict[str, float]:
    """Where fewer than two methods can do the work: a rank of each input that decides it, the least first; else empty.

    First those that alone change the answer, by the share of their own range that takes; then rulings, then the rest.
    """
    able = [sheet.lines["feasible"] for sheet in study.methods.values()]
    at_best = Program(study.book, able).run()
    if sum(float(at_best[line].flat[0]) for line in able) >= 2:
        return {}
    found = switching_values(study)
    after = len(found.inputs)
    ranks = {key: after + (0.0 if in_grades(key) else 1.0) for key in Program(study.book, able).inputs}
    return ranks | {each.stated.key: float(i) for i, each in enumerate(found.switching)}


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
    return replace(found, words=words)


@lru_cache(maxsize=1)
def _ways() -> tuple[tuple[Key, Way], ...]:
    tree: Mapping[str, Any] = catalogue.load("confirming.toml")
    kinds = tree["kinds"]
    return tuple(
        (
            tuple(pattern.split(".")),
            Way(row["how"], kinds[row["how"]]["label"], row["where"], row["words"],
                row.get("status", kinds[row["how"]]["status"]), row.get("lever", False)),
        )
        for pattern, row in tree.items()
        if pattern != "kinds"
    )  # fmt: skip


def _fits(pattern: Key, key: Key) -> bool:
    if pattern[-1] == "**":
        pattern, key = pattern[:-1], key[: len(pattern) - 1]
    if len(pattern) != len(key) or (pattern[0] != key[0] and not set("*?[") & set(pattern[0])):  # nearly all
        return False
    return all(fnmatchcase(name, part) for part, name in zip(pattern, key, strict=True))


def as_json(study: Study, found: list[ToConfirm], basis: str = "loss_if_wrong") -> dict[str, Any]:
    """The list as a plain dictionary, unrounded.

    scenario, currency; basis : what `worth` is; to_confirm : [{rank, key, label, unit, low, best, high, status, how, where,
    words, worth, worth_error, least_lead}], money a year; None: see ToConfirm. A percentage is 10 for 10 %.
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
    yield from (("words", one.way.words), ("worth", one.worth), ("worth_error", one.worth_error))
    yield ("least_lead", one.least_lead)


__all__ = [
    "POINTS",
    "UNCONFIRMED",
    "ToConfirm",
    "Way",
    "as_json",
    "errors_of_knowing",
    "loss_if_wrong",
    "to_confirm",
    "way",
    "worth_of_knowing",
]
