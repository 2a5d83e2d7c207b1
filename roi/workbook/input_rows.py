"""What an input workbook asks for: a row an input, the ten questions' first, each with its default, its answer and its help.

Rows come from three readings of one starter: bare (every number at its default), as answered, and with every question
answered, so that inputs which exist only once stated have a row too. Nothing is laid out here.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from roi.answers.confirming import way
from roi.model.study import Study, build
from roi.scenario.questions import QUESTIONS
from roi.scenario.scenario import Scenario
from roi.scenario.starter import asked, checked, sizes_of, stand_in, tables, words, write
from roi.scenario.stated import StatedInput
from roi.workbook.inputs import section_title, used_inputs
from roi.workbook.made import now

TEN = "The ten questions"
_SHOP_ITSELF = ("name", "currency", "per-dollar", "today", "quoted")


@dataclass(frozen=True)
class InputRow:
    """One input: what it is in its unit, its default where it has one, the answer where there is one, how to find it."""

    stated: StatedInput
    default: StatedInput | None
    answer: StatedInput | None
    help: str


@dataclass(frozen=True)
class Asked:
    """All an input workbook is made from.

    bare : the scenario without answers to the ten;  answered : the starter's text read, with them
    rows : inputs in order, a text being the heading of those below it
    plates, runs, shares : what is answered of the work: plates a month by size, shares by class of run, further shares
    """

    bare: Scenario
    rows: list[InputRow | str]
    plates: Mapping[str, float]
    runs: Mapping[str, float]
    shares: Mapping[str, float]


def gather(answers: Mapping[str, str]) -> Asked:
    """The rows for these answers, which must be good ones (`starter.unclear`)."""
    today = now().date()
    shop = {name: answers[name] for name in _SHOP_ITSELF if name in answers}
    plates = answers.get("plates") or stand_in(answers, "plates")
    shop |= {"plates": plates, "runs": stand_in(answers, "runs")}
    bare = checked(write(shop, today=today))
    answered = checked(
        write(
            {**answers, "plates": plates, "runs": answers.get("runs") or stand_in(answers, "runs")},
            today=today,
        )
    )
    count = len(sizes_of(shop))
    examples = {
        q.option: "; ".join(["1"] * count) if q.kind == "each" else q.example
        for q in QUESTIONS
        if q.number > 2
    }
    full = build(checked(write({**examples, **shop}, today=today)))
    spec = _summary(write(dict(answers), today=today)) if answers else {}
    return Asked(
        bare=bare,
        rows=_rows(bare, answered, full, answers),
        plates=spec.get("plates_per_month", {}) if answers.get("plates") else {},
        runs=spec.get("runs", {}) if answers.get("runs") else {},
        shares={q.key: spec[q.key] for q in QUESTIONS if q.kind == "work" and q.key in spec},
    )


def _summary(text: str) -> dict[str, Any]:
    """The starter's [summary], shares as fractions."""

    def plain(value: Any) -> Any:
        if isinstance(value, dict):
            return {name: plain(one) for name, one in value.items()}
        return float(value.rstrip(" %")) / 100 if isinstance(value, str) else value

    return {name: plain(value) for name, value in tomllib.loads(text)["summary"].items()}


def _rows(
    bare: Scenario, answered: Scenario, full: Study, answers: Mapping[str, str]
) -> list[InputRow | str]:
    used = {one.key: one for one in used_inputs(bare, build(bare).book)}
    # Last those that a price of their own puts out of use, such as prices by area.
    wanted = {one.key: one for one in used_inputs(full.scenario, full.book)}
    wanted |= {key: one for key, one in used.items() if key not in wanted}
    every = {
        one.key: one for one in full.scenario.inputs.values()
    }  # some are asked for and only judged, not reckoned with
    defaults = {one.key: one for one in bare.inputs.values()}
    stated = {one.key: one for one in answered.inputs.values() if not one.default}
    sections: dict[str, list[InputRow]] = {TEN: []}
    asked_for: set[str] = set()
    for question in asked(answers):
        for table, name in tables(question, answers):
            key = f"{table}.{name}"
            asked_for.add(key)
            said = f"{question.number}. {words(question, answers)}"
            sections[TEN].append(InputRow(every[key], defaults.get(key), stated.get(key), said))
    for key, one in wanted.items():
        if key not in asked_for:
            row = InputRow(one, defaults.get(key), stated.get(key), way(full, one).words)
            title = section_title(full.scenario, key).replace("_", " ")
            sections.setdefault(title[:1].upper() + title[1:], []).append(row)
    found: list[InputRow | str] = []
    for title, rows in sections.items():
        found += [title, *rows]
    return found


__all__ = ["TEN", "Asked", "InputRow", "gather"]
