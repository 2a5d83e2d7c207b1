"""The comparison as a plain dictionary, ready for JSON: every measure of every method, unrounded.

Money is in the scenario's currency; costs are positive, flows have costs negative. A measure that does not
exist is None, and the method's notes say why; why a method is not feasible is its first note. Measures against the
current method are those of the cash view.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np

from roi import __version__
from roi.answers.cases import inputs_in_use
from roi.answers.checks import results
from roi.answers.risk import chance_of_the_best
from roi.engine.column import Line
from roi.engine.evaluate import Values
from roi.model.savings import Savings
from roi.model.sheet import LABELS, MethodSheet
from roi.model.study import Study

SCHEMA = 1
INCH = 0.0254  # metres, by definition
# Flags of forms that may bar a method, in words.
_FLAGS = {
    "tight": "work in tight register",
    "uv": "work with UV ink",
    "abrasive": "abrasive stock",
    "envelope": "envelopes",
    "confined": "work that must not leave the building",
}
# Key in the result, row of the comparison, and what it is called in a note.
_MEASURES = (
    ("first_cost", "first_cost", "first cost"),
    ("running_cost_year_1", "running_1", "running cost of year 1"),
    ("plates_imaged_per_year", "imaged", "count of plates imaged"),
    ("plates_bought_in_per_year", "bought", "count of plates bought in"),
    ("area_imaged_m2_per_year", "area", "area imaged"),
    ("press_stops_per_year", "all_stops", "count of stops"),
    ("present_cost", "present", "present cost"),
    ("present_cost_full", "present_full", "present cost at full cost"),
    ("equivalent_annual_cost", "equivalent", "equivalent annual cost"),
    ("cost_per_plate", "per_plate", "cost a plate"),
    ("cost_per_1000_impressions", "per_thousand", "cost of 1,000 impressions"),
    ("cost_per_job", "per_job", "cost a job"),
)


def as_json(study: Study, values: Values) -> dict[str, Any]:
    """Everything that `compare` found, for one case.

    Returns numbers, texts, lists and dictionaries only; no number is infinite or undefined.
    """
    scenario, rows = study.scenario, study.comparison.rows
    some = one(values, study.comparison.number_feasible) >= 1
    ids = list(study.methods)
    return {
        "schema": SCHEMA,
        "version": __version__,
        "scenario": scenario.name,
        "currency": scenario.currency,
        "basis": "after_tax",
        "horizon_years": horizon(study, values),
        "current": scenario.current,
        "cheapest": ids[round(one(values, rows["cheapest_at"])) - 1] if some else None,
        "cheapest_full_cost": ids[round(one(values, rows["cheapest_at_full"])) - 1] if some else None,
        "methods": {name: _method(study, values, position) for position, name in enumerate(ids)},
        "chance_of_cheapest": _chance(study),
        "defaults_in_use": defaults_in_use(study),
        "checks": [{"name": name, "ok": ok} for name, ok in results(study, values)],
    }


def _chance(study: Study) -> dict[str, Any] | None:
    """Of the method cheapest at the best values, over draws of all uncertain inputs; null where none can do the work."""
    chance = chance_of_the_best(study)
    if chance is None:
        return None
    return {
        "method": chance.method,
        "cash": chance.cash,
        "full_cost": chance.full,
        "draws": chance.draws,
        "seed": chance.seed,
        "too_close_to_call": chance.close,
    }


def one(values: Values, line: Line, row: int = 0) -> float:
    """A line's value for one case; of a block, one row counted from 0."""
    return float(values[line].flat[row])


def horizon(study: Study, values: Values) -> int:
    """Whole years looked ahead."""
    return round(one(values, study.shop.horizon))


def defaults_in_use(study: Study) -> list[str]:
    """Keys of the inputs in use that nobody has stated, in reading order."""
    return [stated.key for stated in inputs_in_use(study) if stated.default]


def _method(study: Study, values: Values, position: int) -> dict[str, Any]:
    sheet = list(study.methods.values())[position]
    name, rows, years = sheet.method.id, study.comparison.rows, horizon(study, values) + 1
    notes: list[str] = []

    def measure(row: str, words: str) -> float | None:
        found = one(values, rows[row], position)
        if math.isfinite(found):
            return found
        notes.append(f"no {words}: it divides by nothing")
        return None

    def flow(line: Line) -> list[float]:
        return [one(values, line, year) for year in range(years)]

    found = {key: measure(row, words) for key, row, words in _MEASURES}
    if one(values, study.shop.good) <= 0:
        found["cost_per_1000_impressions"] = None
        notes.append("no cost of 1,000 impressions: the work has no good impressions")
    feasible = one(values, rows["feasible"], position) >= 1
    if not feasible:
        notes.insert(0, why_not(study, values, sheet))
    savings = None
    current = list(study.methods).index(study.scenario.current)
    if name == study.scenario.current:
        notes.append("no measures against the current method: it is the current method")
    elif not feasible:
        notes.append("no measures against the current method: this method is not feasible")
    elif one(values, rows["feasible"], current) < 1:
        notes.append("no measures against the current method: the current method is not feasible")
    else:
        savings = _against_current(study.cash_flow.savings[name]["cash"], values, years - 1, notes)
    families = {family: measure(f"family.{family}", f"cost of {family}") for family in LABELS}
    plates = one(values, study.shop.plates_a_month) * 12
    return {
        "label": sheet.method.label,
        "feasible": feasible,
        "too_slow": feasible and _too_slow(sheet, values),
        "first_cost": found.pop("first_cost"),
        "running_cost_year_1": found.pop("running_cost_year_1"),
        "running_cost_by_family": families,
        "plates_called_for_per_year": plates,
        **found,
        "cash_flow": flow(sheet.lines["after"]),
        "cash_flow_before_tax": flow(sheet.lines["before"]),
        "against_current": savings,
        "notes": notes,
    }


def _too_slow(sheet: MethodSheet, values: Values) -> bool:
    """Whether its stations can't make the busiest day's plates even around the clock."""
    never = sheet.lines.get("capacity.never")
    return never is not None and one(values, never) >= 1


def why_not(study: Study, values: Values, sheet: MethodSheet) -> str:
    """Why a method that is not feasible can't do the work: what bars it, sizes in the scenario's measures."""
    forms = one(values, sheet.lines["barred"])
    what = "every form is out of its reach"
    if forms > 0:
        what = f"{forms:,.0f} forms a year must not leave the building and can't be made this way"
    barriers = list(_barriers(study, values, sheet, forms > 0))
    return f"not feasible: {what}" + (f": {'; '.join(barriers)}" if barriers else "")


def _barriers(study: Study, values: Values, sheet: MethodSheet, confined: bool) -> Iterator[str]:
    """What keeps forms out of reach: of those that must not leave, or of all."""
    work, method, system = study.scenario.work, sheet.method, study.scenario.system
    if not method.makes_plates:
        yield "its plates are all bought in"
        return
    judged = work.confined if confined else np.ones(len(work.weight), bool)
    met = set(work.size[judged].tolist())
    too_large = [s for i, s in enumerate(study.scenario.sizes) if i in met and not method.takes(s)]
    if too_large and method.largest is not None:
        sizes = ", ".join(sides(s.short, s.long, system) for s in too_large)
        yield f"its largest format, {sides(*method.largest, system)}, is smaller than the plates of {sizes}"
    limit = one(values, sheet.inp("ruling_limit"))
    finest = float(work.ruling[judged].max(initial=0))
    if finest > limit:
        yield f"rulings of up to {finest:g} lpi are above its limit of {limit:g} lpi"
    for flag in method.cannot_serve:
        if getattr(work, flag)[judged].any():
            yield f"it can't serve {_FLAGS[flag]}"


def sides(short: float, long: float, system: str) -> str:
    """Two sides in metres as inches ("us") or millimetres ("metric")."""
    if system == "us":
        return f"{round(short / INCH, 3):g} x {round(long / INCH, 3):g} in"
    return f"{short * 1000:.0f} x {long * 1000:.0f} mm"


def _against_current(savings: Savings, values: Values, years: int, notes: list[str]) -> dict[str, Any]:
    def holds(flag: Line) -> bool:
        return one(values, flag) >= 1

    def measure(line: Line, has: Line, why_not: str) -> float | None:
        if holds(has):
            return one(values, line)
        notes.append(why_not)
        return None

    return {
        "npv_of_savings": one(values, savings.npv),
        "irr": measure(
            savings.irr, savings.has_irr, f"no internal rate of return: {_why_no_rate(savings, values)}"
        ),
        "mirr": measure(
            savings.mirr,
            savings.has_mirr,
            "no modified rate of return: it takes years that cost and years that save",
        ),
        "savings_to_investment": measure(
            savings.ratio, savings.has_ratio, "no savings-to-investment ratio: it takes no extra investment"
        ),
        "simple_payback_years": measure(
            savings.payback, savings.has_payback, f"no simple payback: not paid back within {years} years"
        ),
        "discounted_payback_years": measure(
            savings.discounted_payback,
            savings.has_discounted_payback,
            f"no discounted payback: not paid back within {years} years",
        ),
        "cash_flow": [one(values, savings.flows, year) for year in range(years + 1)],
    }


def _why_no_rate(savings: Savings, values: Values) -> str:
    if one(values, savings.saves_first) >= 1:
        return "it saves first or costs nothing at first"
    if one(values, savings.several_rates) >= 1:
        return "savings turn into losses again, so that several rates may fit"
    return "what it costs more at first never comes back"
