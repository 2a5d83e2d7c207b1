"""`roi mix`: several methods owned together, each press with one of them, against one method for all; JSON on request."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from roi.answers.assigned import Assignment
from roi.answers.far import Far
from roi.answers.mixed import Mixed, mixed
from roi.answers.mixed_words import as_json, sentences
from roi.cli.output import check_json, write_json
from roi.cli.reading import DONE, Progress, reckon, refuse, say, wrapped
from roi.cli.sensitivity import aligned
from roi.engine.words import fixed
from roi.model.parts import CASH, FULL
from roi.scenario.problems import BadInput
from roi.units.quantity import currencies

NONE = "-"
SHOWN = 6  # plans of owned sets listed


def run(scenario: Path, owned: str | None, names: bool, json_output: Path | None) -> int:
    """Read, reckon, try, write, print; the exit code."""
    try:
        with Progress() as progress:
            check_json(json_output, scenario)
            study, values = reckon(scenario, progress)
            together = [name.strip() for name in owned.split(",")] if owned is not None else []
            found = mixed(study, values, together, progress.step)
            if json_output is not None:
                told = as_json(found, names=names)
                write_json(json_output, told)
    except BadInput as bad:
        return refuse(bad.problems)
    say(wrapped(study.scenario.name), bold=True)
    say()
    for sentence in sentences(found):
        say(wrapped(sentence, "- ", "  "))
    say()
    say(wrapped(f"Present cost over {found.years} years and the level yearly cost worth the same, after tax, "
                f"{study.scenario.currency}; switching of presses between kinds of plates included:"))  # fmt: skip
    _table(costs(found), "lrrrrr")
    mix = found.best[CASH]
    if mix is not None:
        say()
        say("The cheapest mix, press by press; forms and plates called for a year:", bold=True)
        _table(presses(found, mix), "lllrrrr")
    if found.far and found.forms_of is not None:
        say()
        say(wrapped(f"Costliest forms out of reach with {found.forms_of[1]}, a form, at today's prices, before tax. "
                    "Buying in is with a delivery of its own; making is before switching the press:"))  # fmt: skip
        _table(forms(found, names), "rlllrrrrlrr" if names else "rllrrrrlrr")
    if json_output is not None:
        say(f"Written: {json_output}")
    return DONE


def _table(rows: list[tuple[str, ...]], sides: str) -> None:
    for number, line in enumerate(aligned(rows, sides)):
        say(line, bold=True if number == 0 else None)


def costs(found: Mixed) -> list[tuple[str, ...]]:
    """One method for all presses, then the plans of the sets owned, by variable cost, then the cheapest mix."""
    short = {m.id: m.short for m in found.study.scenario.methods}
    rows: list[tuple[str, ...]] = [("", "Present", "of it switching", "A year", "Full cost", "A year")]

    def row(label: str, assignment: Assignment | None) -> None:
        if assignment is None:
            rows.append((label, *["can't"] * 2, *[NONE] * 3))
            return
        present = assignment.present
        rows.append(
            (
                label,
                fixed(present[CASH], 0),
                fixed(assignment.switching[CASH], 0),
                fixed(found.a_year(present[CASH]), 0),
                fixed(present[FULL], 0),
                fixed(found.a_year(present[FULL]), 0),
            )
        )

    for method, single in found.singles.items():
        row(f"{short[method]} alone", single)
    for plan in _mixes(found)[:SHOWN]:
        row(" + ".join(short[m] for m in plan.used), plan)
    return rows


def _mixes(found: Mixed) -> list[Assignment]:
    """The cheapest mix and those by variable cost, each once, cheapest first."""
    listed: Iterable[Assignment] = (
        a for a in (*found.best, *found.plans) if a is not None and len(a.used) > 1
    )
    alike = {tuple((h.press, h.method, h.helper) for h in a.homes): a for a in listed}
    return sorted(alike.values(), key=lambda a: a.present[CASH])


def presses(found: Mixed, assignment: Assignment) -> list[tuple[str, ...]]:
    """A row a press and maker of its plates."""
    scenario, work = found.study.scenario, found.presses
    short = {m.id: m.short for m in scenario.methods}
    rows: list[tuple[str, ...]] = [("Press", "Plates of", "", "Forms", "Plates", "Switches", "Hours")]
    for home in assignment.homes:
        for maker, what, parts in (
            (short[home.method], "its method", home.kept - home.bought),
            (short.get(home.helper, ""), "out of reach", home.moved),
            ("a supplier", "out of reach", home.bought),
        ):
            if not parts:
                continue
            switched = None if what == "its method" else work.switching(home.press, parts)
            rows.append(
                (
                    scenario.presses[home.press].label,
                    maker,
                    what,
                    fixed(work.forms(parts), 0),
                    fixed(work.plates(parts), 0),
                    NONE if switched is None else fixed(switched.switches, 0),
                    NONE if switched is None else fixed(switched.hours, 0),
                )
            )
    return rows


def forms(found: Mixed, names: bool) -> list[tuple[str, ...]]:
    """A row a form out of reach; with its job number where asked for."""
    places = currencies()[found.study.scenario.currency]
    short = {m.id: m.short for m in found.study.scenario.methods}

    def money(amount: float | None) -> str:
        return NONE if amount is None else fixed(amount, places)

    def row(form: Far) -> tuple[str, ...]:
        return (
            NONE if form.row is None else str(form.row),
            *([form.job or NONE] if names else []),
            form.press,
            form.size,
            fixed(form.ruling, 0) if form.ruling else NONE,
            str(form.plates),
            fixed(form.forms, 1),
            "may not" if form.buying is None else money(form.buying),
            NONE if form.maker is None else short[form.maker],
            money(form.making),
            money(form.saves),
        )

    job = ["Job"] if names else []
    head = (
        "Row",
        *job,
        "Press",
        "Size",
        "lpi",
        "Plates",
        "A year",
        "Buying in",
        "Or made by",
        "Making",
        "Saves",
    )
    return [head, *map(row, found.far)]


__all__ = ["run"]
