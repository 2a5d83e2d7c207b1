"""What each stress makes of the answer: in words, as figures, as JSON. In cash, after tax; money in currency a year."""

from __future__ import annotations

from dataclasses import asdict, dataclass

from roi.answers.ranges import try_ranges
from roi.answers.workings import workings
from roi.engine.evaluate import Values
from roi.model.study import Study


@dataclass(frozen=True)
class Outcome:
    """One stress.

    by : how much of it, a share or a year; None where the label says all
    turns : whether another method than at the best values is the cheapest; cheapest : its id, None where none can do the work
    behind : what staying costs above the cheapest, None where staying can't do the work
    ahead : what the cheapest is ahead of the next, None where no second method can do the work
    costs : of each method, None where it can't do the work
    """

    label: str
    by: float | None
    turns: bool
    cheapest: str | None
    behind: float | None
    ahead: float | None
    costs: dict[str, float | None]


@dataclass(frozen=True)
class Deepest:
    """How deep a method goes in cash against staying: currency, negative or 0; after which month, at the end of which year.

    in_year_1 : before tax; over_years : after tax, year 0 is the switch
    """

    method: str
    in_year_1: float
    month: int
    over_years: float
    year: int


@dataclass(frozen=True)
class Stresses:
    """What is said of all stresses, each of them, and how deep each challenger goes in cash, unstressed."""

    sentence: str
    outcomes: tuple[Outcome, ...]
    deepest: tuple[Deepest, ...]


def stresses(study: Study, values: Values) -> Stresses:
    """Try every stress the study has inputs for; `values` are its own lines at the best values."""
    made = workings(study, try_ranges(study), break_even=False, sensitivity=False)
    assert made.stressed is not None  # there is always less work and more
    known, _ = made.evaluate(values)
    found, ids = made.stressed, list(study.methods)
    outcomes = []
    for i, stress in enumerate(found.stresses):
        place = round(float(known[found.winner].flat[i]))
        costs = {
            name: float(line_values) if known[found.able[name]].flat[i] == 1 else None
            for name, line in found.costs.items()
            for line_values in [known[line].flat[i]]
        }
        by = None if stress.by is None else float(known[stress.by].flat[0])
        turns = bool(known[found.turns].flat[i] == 1)
        cheapest = ids[place - 1] if place else None
        behind = None if costs[study.scenario.current] is None else float(known[found.behind].flat[i])
        ahead = float(known[found.ahead].flat[i]) if known[found.rivals].flat[i] >= 2 else None
        outcomes.append(Outcome(stress.label, by, turns, cheapest, behind, ahead, costs))
    deepest = tuple(
        Deepest(
            name,
            float(known[depth.by_month].flat[0]),
            round(float(known[depth.month].flat[0])),
            float(known[depth.by_year].flat[0]),
            round(float(known[depth.year].flat[0])),
        )
        for name, depth in found.depths.items()
    )
    return Stresses(found.sentence.say(known), tuple(outcomes), deepest)


def as_json(study: Study, found: Stresses) -> dict[str, object]:
    """Everything found, unrounded: schema 1, sentence, stresses as `Outcome` has them, deepest as `Deepest`."""
    return {
        "schema": 1,
        "scenario": study.scenario.name,
        "currency": study.scenario.currency,
        "basis": "after_tax",
        "sentence": found.sentence,
        "stresses": [asdict(outcome) for outcome in found.outcomes],
        "deepest": [asdict(depth) for depth in found.deepest],
    }


__all__ = ["Outcome", "Stresses", "as_json", "stresses"]
