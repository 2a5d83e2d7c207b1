"""What an input workbook asks for: a row an input, the ten questions' first, each with its default, its answer and its help.

Rows come from three readings of one starter: bare (every number at its default), as answered, and with every question
answered, so that inputs which exist only once stated have a row too. Nothing is laid out here.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from roi.answers.confirming import way
from roi.model.study import Study, build
from roi.scenario.questions import IN_THE_QUOTE, QUESTIONS
from roi.scenario.scenario import Scenario
from roi.scenario.starter import asked, checked, sizes_of, stand_in, tables, words, write
from roi.scenario.stated import StatedInput
from roi.workbook.input_own import SIZES, further_sizes, press_keys
from roi.workbook.inputs import section_title, used_inputs
from roi.workbook.made import now

TEN = "The ten questions"
BUDGET = "For a budget, and for leaving today's method"
# Numbers that exist only once stated: a value that shows the unit, and what to know of each.
_BUDGET = {
    "money.year_begins": (
        "1",
        "The month, 1 to 12, with which your year begins: 8 is August. Empty: January.",
    ),
    "money.capitalise_above": (
        '"1000 {c}"',
        "Your accountant: what costs more is written off over years. Empty: all of it.",
    ),
    "money.vat_rate": ('"20 %"', "The rate on your invoices. State it with the share below, or neither."),
    "money.vat_unrecovered": ('"100 %"', "0 % where you get it all back, 100 % where you get none back."),
    "leaving.notice": ('"3 month"', "The contracts of the old method. State it with its cost, or neither."),
    "leaving.notice_cost": ('"50 {c}/month"', "What a month of notice costs."),
    "leaving.stock": ('"100 {c}"', "Plates and chemistry on the shelf that nobody takes back."),
    "leaving.drain": ('"100 {c}"', "A quote for draining baths and hauling them away, once."),
    "leaving.sale": ('"0 {c}"', "An offer for the old equipment."),
    "leaving.month": ('"0 month"', "Months of year 1 in which plates are still made the old way."),
}
# A price that rises from a day on: values that show the units, by what a step states.
_STEP = {"change": '"10 %"', "year": '"2 year"', "month": '"1 month"'}
_STEPPED = {
    "change": "The supplier's letter: by how much. State it with the first year below, or neither.",
    "year": "The first year in which the new price holds, 1 to 40: year 1 begins today.",
    "month": "Where the price changes within that year: the month, 1 to 12. Empty: at its beginning.",
}
_PRICE_ALONE = (
    "What is the other method's equipment quoted at? The price alone: freight, installation and training are the rows below. "
    "Type 0 there where the quote holds them."
)
_BESIDES = "0 where the price above holds it; empty: the default is added to that price."
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
    full = build(checked(write({**examples, **shop}, today=today) + _stated(bare)))
    spec = _summary(write(dict(answers), today=today)) if answers else {}
    return Asked(
        bare=bare,
        rows=_rows(bare, answered, full, answers),
        plates=spec.get("plates_per_month", {}) if answers.get("plates") else {},
        runs=spec.get("runs", {}) if answers.get("runs") else {},
        shares={q.key: spec[q.key] for q in QUESTIONS if q.kind == "work" and q.key in spec},
    )


def _stated(bare: Scenario) -> str:
    """All of `_BUDGET`, and a step in the price of each group, as lines of a scenario file."""
    tables: dict[str, list[str]] = {}
    for key, (value, _) in _BUDGET.items():
        table, name = key.split(".")
        tables.setdefault(table, []).append(f"{name} = {value.format(c=bare.currency)}")
    for group in (name for name in bare.names("growth") if name != "volume"):
        tables[f"price_steps.{group}"] = [f"{name} = {value}" for name, value in _STEP.items()]
    return "".join(f"\n[{table}]\n" + "\n".join(lines) + "\n" for table, lines in tables.items())


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
            quote = question.option == "quote"
            said = f"{question.number}. {_PRICE_ALONE if quote else words(question, answers)}"
            sections[TEN].append(InputRow(every[key], defaults.get(key), stated.get(key), said))
            for besides in (f"{table}.{each}" for each in IN_THE_QUOTE if quote):
                asked_for.add(besides)
                said = f"{question.number}. {_BESIDES}"
                row = InputRow(every[besides], defaults.get(besides), stated.get(besides), said)
                sections[TEN].append(row)
    for key, one in wanted.items():
        if key not in asked_for and key not in _BUDGET:
            help = _STEPPED[key.split(".")[-1]] if key.startswith("price_steps.") else way(full, one).words
            row = InputRow(one, defaults.get(key), stated.get(key), help)
            title = section_title(full.scenario, key).replace("_", " ")
            sections.setdefault(title[:1].upper() + title[1:], []).append(row)
    sections |= dict(_further_presses(bare, [row for rows in sections.values() for row in rows]))
    sections |= dict(_further_sizes(bare, [row for rows in sections.values() for row in rows]))
    sections[BUDGET] = [
        InputRow(every[key], defaults.get(key), stated.get(key), help) for key, (_, help) in _BUDGET.items()
    ]
    found: list[InputRow | str] = []
    for title, rows in sections.items():
        found += [title, *rows]
    return found


def _further_sizes(bare: Scenario, rows: list[InputRow]) -> Iterator[tuple[str, list[InputRow]]]:
    """The prices of the first size once more for each size that may be added, by title; they have no default."""
    first = bare.sizes[0]
    priced = [row for row in rows if row.stated.key.endswith(f".price.{first.id}")]
    for key, label in further_sizes(bare).items():
        title = f"{label}: where {SIZES} names one"
        yield (
            title,
            [
                InputRow(
                    replace(
                        row.stated,
                        key=row.stated.key.removesuffix(first.id) + key,
                        label=row.stated.label.replace(first.name, label),
                    ),
                    None,
                    None,
                    "Ask two suppliers for a price list by size; empty: by its area.",
                )
                for row in priced
            ],
        )


def _further_presses(bare: Scenario, rows: list[InputRow]) -> Iterator[tuple[str, list[InputRow]]]:
    """The rows of the first press once more for each press that may be added, by title; its defaults are the same."""
    first = bare.presses[0]
    mine = f"presses.{first.id}."
    for key in press_keys(bare):
        if key in [press.id for press in bare.presses]:
            continue
        label = key.replace("_", " ").capitalize()

        def of(one: StatedInput, label: str = label, key: str = key) -> StatedInput:
            named = label + one.label.removeprefix(first.label)
            return replace(one, key=f"presses.{key}.{one.key.removeprefix(mine)}", label=named)

        yield (
            f"{label}: where Presses names one",
            [
                InputRow(of(row.stated), row.default and of(row.default), None, row.help)
                for row in rows
                if row.stated.key.startswith(mine)
            ],
        )


__all__ = ["BUDGET", "TEN", "Asked", "InputRow", "gather"]
