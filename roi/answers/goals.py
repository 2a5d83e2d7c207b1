"""What a claim comes to as a judgement of cases: whether it is so, how far from so, and the figure it speaks of.

In cash, after tax, against the current method where two are compared. A claim about a method that can't do the work is never
so, and neither is one against a current method that can't. Costs are positive, savings positive, paybacks in years.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from roi.engine.column import Line
from roi.engine.evaluate import Values
from roi.engine.functions import Array
from roi.engine.steps import TIE
from roi.model.study import Study

_HAIR = 1e-9  # years, or currency: what sums in another order may make of a figure
MONTHS = 12


@dataclass(frozen=True)
class Goal:
    """A claim about one method, ready to judge cases.

    lines : what must be computed
    holds : from values to one flag a case
    margin : how far the claim is from being so, in currency, negative where it isn't; minus infinite where a method can't do
        the work. For a payback it is what the savings come to by the time claimed, so near its sign, not by rule the same
    figure : the figure the claim speaks of, not a number where there is none
    held : inputs that the claim holds at a value, {key: engine's unit}
    """

    lines: tuple[Line, ...]
    holds: Callable[[Values], NDArray[np.bool_]]
    margin: Callable[[Values], Array]
    figure: Callable[[Values], Array]
    held: dict[str, float]


def goal(study: Study, kind: str, amount: float, method: str) -> Goal:
    """The goal of a claim: kinds and amounts are those of `claims.Claim`; amounts in years, currency or plates a month."""
    return {
        "payback": _payback,
        "saves": _saves,
        "cheapest": _cheapest,
        "per_plate": _per_plate,
        "break_even": _break_even,
    }[kind](study, amount, method)


def _able(study: Study, *methods: str) -> tuple[tuple[Line, ...], Callable[[Values], NDArray[np.bool_]]]:
    lines = tuple(study.methods[name].lines["feasible"] for name in methods)

    def able(values: Values) -> NDArray[np.bool_]:
        flags = np.broadcast_arrays(*(values[line] == 1 for line in lines))
        return np.logical_and.reduce(flags)

    return lines, able


def _payback(study: Study, years: float, method: str) -> Goal:
    saved = study.cash_flow.savings[method]["cash"]
    flags, able = _able(study, method, study.scenario.current)
    last = len(study.shop.years) - 1

    def holds(values: Values) -> NDArray[np.bool_]:
        paid = values[saved.has_payback] == 1
        return np.asarray(able(values) & paid & (values[saved.payback] <= years + _HAIR))

    def margin(values: Values) -> Array:
        so_far, at = values[saved.cumulative], min(years, float(last))
        before = min(int(at), last - 1)
        by_then = so_far[before] + (so_far[before + 1] - so_far[before]) * (at - before)
        return np.where(able(values), by_then, -np.inf)

    def figure(values: Values) -> Array:
        paid = able(values) & (values[saved.has_payback] == 1)
        return np.where(paid, values[saved.payback], np.nan)

    lines = (*flags, saved.payback, saved.has_payback, saved.cumulative)
    return Goal(lines, holds, margin, figure, {})


def _saves(study: Study, amount: float, method: str) -> Goal:
    flags, able = _able(study, method, study.scenario.current)
    mine, now = (study.methods[m].lines["equivalent"] for m in (method, study.scenario.current))

    def figure(values: Values) -> Array:
        return np.where(able(values), values[now] - values[mine], np.nan)

    return Goal(
        (*flags, mine, now),
        lambda values: np.asarray(able(values) & (values[now] - values[mine] >= amount - _HAIR)),
        lambda values: np.where(able(values), values[now] - values[mine] - amount, -np.inf),
        figure,
        {},
    )


def _cheapest(study: Study, amount: float, method: str) -> Goal:
    flags, able = _able(study, method)
    place = list(study.methods).index(method)
    winner, ahead = study.comparison.rows["winner"], study.comparison.rows["ahead"]
    return Goal(
        (*flags, winner, ahead),
        lambda values: np.asarray(able(values) & (values[winner] == place + 1)),
        lambda values: np.where(able(values), values[ahead][place], -np.inf),
        lambda values: np.where(able(values), values[ahead][place], np.nan),
        {},
    )


def _per_plate(study: Study, amount: float, method: str) -> Goal:
    flags, able = _able(study, method)
    cost = study.methods[method].lines["per_plate"]
    return Goal(
        (*flags, cost),
        lambda values: np.asarray(able(values) & (values[cost] <= amount + _HAIR)),
        lambda values: np.where(able(values), amount - values[cost], -np.inf),
        lambda values: np.where(able(values), values[cost], np.nan),
        {},
    )


def _break_even(study: Study, plates: float, method: str) -> Goal:
    flags, able = _able(study, method, study.scenario.current)
    mine, now = (study.methods[m].lines["present"] for m in (method, study.scenario.current))
    values = study.evaluate()
    a_month = float(values[study.shop.plates_called][0]) / MONTHS
    volume = study.book.inputs["work.volume"].best * plates / a_month

    def gap(found: Values) -> Array:
        return np.asarray(found[now] - found[mine], float)

    return Goal(
        (*flags, mine, now),
        lambda found: np.asarray(able(found) & (gap(found) >= -TIE)),
        lambda found: np.where(able(found), gap(found), -np.inf),
        lambda found: np.where(able(found), gap(found), np.nan),
        {"work.volume": volume},
    )


__all__ = ["Goal", "goal"]
