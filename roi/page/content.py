"""What stands on the page, as plain texts and figures for its template: nothing is computed here but how it is written.

Figures are those of `compare`'s JSON: each cell keeps the number unrounded beside what is shown. Long lists are cut so that
the page prints on one sheet; what was left out is counted, and said where to find.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from roi.answers.cautions import Caution, cautions
from roi.answers.compare import as_json
from roi.answers.confirming import to_confirm
from roi.answers.mistakes import beside_the_verdict
from roi.answers.risk import usual_risk
from roi.answers.risk_results import Risk
from roi.answers.undoing import GOING_BACK, UNSTATED
from roi.answers.verdict import sentences, verdict
from roi.answers.worst_month import deepest, depths
from roi.engine.column import Column
from roi.engine.evaluate import Values, extend
from roi.engine.words import fixed
from roi.model.study import Study
from roi.page.voice import Voice
from roi.units.quantity import currencies
from roi.workbook.read_words import in_words_of

MOST_DEFAULTS, MOST_MISTAKES, MOST_NAMED = 6, 4, 3  # told on the page
NONE = "–"


@dataclass(frozen=True)
class Cell:
    """A figure of the table: the heading of its column, the number as it is (None: there is none), and as it is shown."""

    head: str
    value: float | None
    text: str


@dataclass(frozen=True)
class Row:
    """A method in the table; `note` says that it is today's or the cheapest, `best` that it is the cheapest."""

    id: str
    name: str
    note: str
    cells: tuple[Cell, ...]
    best: bool


@dataclass(frozen=True)
class Content:
    """Texts and figures of the page, in its order.

    verdict : the first sentence; said : the others
    dangers : (question, answer) about the change that is told: its worst cash point, whether it can be undone
    notes : why methods are not feasible; what the table leans on
    defaults : how many, those to confirm first with how, and the labels of all
    mistakes : (what, mend); more_mistakes : how many are left out
    cautions : (matter and methods, text)
    failed : names of checks that fail; checks : how many there are
    """

    verdict: str
    said: tuple[str, ...]
    dangers: tuple[tuple[str, str], ...]
    rows: tuple[Row, ...]
    notes: tuple[str, ...]
    defaults: tuple[str, ...]
    count_defaults: int
    all_defaults: tuple[str, ...]
    mistakes: tuple[tuple[str, str], ...]
    more_mistakes: int
    cautions: tuple[tuple[str, str], ...]
    failed: tuple[str, ...]
    checks: int
    years: int
    currency: str
    rests: tuple[str, ...]


def content(study: Study, values: Values, voice: Voice) -> Content:
    """Everything but the charts, in the voice's language; `values` are the study's lines at the best values."""
    found = as_json(study, values)
    risk = usual_risk(study)
    first_said, *said = sentences(study, values, voice.tell)
    dangers = tuple(_dangers(study, values, voice))
    doubts = in_words_of(study.scenario.path, beside_the_verdict(study, values))
    used = set(found["defaults_in_use"])
    labels = tuple(i.label for i in study.scenario.inputs.values() if i.key in used)
    first = [each for each in to_confirm(study) if each.stated.key in used][:MOST_DEFAULTS]
    english = Content(
        verdict=first_said,
        said=tuple(text for text in said if text not in [answer for _, answer in dangers]),
        dangers=dangers,
        rows=tuple(_row(study, found, risk, name) for name in found["methods"]),
        notes=tuple(_notes(study, found, risk)),
        defaults=tuple(f"{each.stated.label} ({each.way.kind.lower()})" for each in first),
        count_defaults=len(used),
        all_defaults=labels,
        mistakes=tuple((_capital(p.what), p.mend) for p in doubts[:MOST_MISTAKES]),
        more_mistakes=max(len(doubts) - MOST_MISTAKES, 0),
        cautions=tuple((f"{c.matter} ({_whom(c)})", c.text) for c in cautions(study.scenario)),
        failed=tuple(check["name"] for check in found["checks"] if not check["ok"]),
        checks=len(found["checks"]),
        years=found["horizon_years"],
        currency=found["currency"],
        rests=tuple(_capital(note) for note in study.scenario.work.notes),
    )
    told: Content = voice.said(english)
    return told


def _dangers(study: Study, values: Values, voice: Voice) -> Iterable[tuple[str, str]]:
    """What the owner asks of a change before signing; nothing where no change is told."""
    column = Column("Cash", "cash")
    worst = voice.tell(deepest(study, column, depths(study, column)), extend(values, [column]))
    if not worst:
        return
    yield "Worst cash point", worst
    words, said = verdict(study)
    known = extend(values, [words])
    for sentence in said:
        if sentence.label in (GOING_BACK, UNSTATED) and (text := voice.tell(sentence, known)):
            yield "Can it be undone?", text


def _row(study: Study, found: dict[str, Any], risk: Risk, name: str) -> Row:
    method = found["methods"][name]
    able, against = method["feasible"], method["against_current"]
    small = currencies()[found["currency"]]
    marks = [
        word
        for word, so in (
            ("today", name == found["current"]),
            ("costs least", name == found["cheapest"]),
            ("can't do the work", not able),
        )
        if so
    ]
    saved = None if against is None else against["npv_of_savings"]
    back = None if against is None else against["simple_payback_years"]
    late = NONE if against is None else f"not in {found['horizon_years']}"
    chance = risk.methods[name].chance if risk.drawn else None
    cells = (
        _money("Up front", method["first_cost"]),
        _money("To run, year 1", method["running_cost_year_1"]),
        _money("Cost a year", method["equivalent_annual_cost"]),
        _money(f"Over {_years(found['horizon_years'])}", method["present_cost"]),
        _money("The same at full cost", method["present_cost_full"]),
        _money("A plate", method["cost_per_plate"], small),
        _money(f"Saves in {_years(found['horizon_years'])}", saved),
        Cell("Paid back, years", back, late if back is None else fixed(back, 1)),
        Cell("Cheapest in draws", chance, NONE if chance is None else _share(chance)),
    )
    return Row(name, study.methods[name].method.short, ", ".join(marks), cells, name == found["cheapest"])


def _money(head: str, amount: float | None, decimals: int = 0) -> Cell:
    return Cell(head, amount, NONE if amount is None else fixed(amount, decimals))


def _share(chance: float) -> str:
    """A share of the draws; never 0 or 100 % where it is not quite so."""
    if 0 < chance < 0.005:
        return "<1 %"
    return ">99 %" if 0.995 < chance < 1 else f"{fixed(chance * 100, 0)} %"


def _notes(study: Study, found: dict[str, Any], risk: Risk) -> Iterable[str]:
    code, years = found["currency"], found["horizon_years"]
    yield (
        f"Amounts in {code}. Up front and to run: before tax. The rest: after tax, in cash; over {_years(years)}, and saved in "
        "them against today's method, in money of today; a year: the level yearly payment worth the same. Full cost counts all "
        f'freed time, floor and press hours. "{NONE}": no such figure.'
    )
    if risk.drawn:
        yield (
            f"Cheapest in draws: share of {risk.settings.draws:,} draws of all {risk.drawn} inputs that have a range, in which "
            "the method costs least in cash."
        )
    for name, method in found["methods"].items():
        if not method["feasible"]:
            yield f"{study.methods[name].method.short}: {method['notes'][0]}."


def _years(number: int) -> str:
    return "1 year" if number == 1 else f"{number} years"


def _whom(caution: Caution) -> str:
    """The methods a caution concerns, counted where they are many."""
    if len(caution.methods) > MOST_NAMED:
        return f"{len(caution.methods)} of the methods"
    return ", ".join(caution.methods) or "all"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


__all__ = ["Cell", "Content", "Row", "content"]
