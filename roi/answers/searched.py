"""Which inputs are searched, how far, and how their values are told; and a judgement of the cheapest method.

An input is looked at as far as break-even looks: from a quarter to four times its best within its limits, never less far
than its own low and high. What comes in grades, such as a screen ruling, is looked at only at its own low and high: a ruling
a hair finer than best is none. Values to people are in the unit they see, percentages as such: 10 for 10 %.

A value that turns an answer is told rounded away from best, so that what is printed turns it when it is written back.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from decimal import ROUND_CEILING, ROUND_FLOOR, Context, Decimal

import numpy as np
from numpy.typing import NDArray

from roi.answers.breakeven import reach
from roi.engine.column import Line
from roi.engine.evaluate import Values
from roi.engine.functions import Array
from roi.engine.steps import NOISE, TIE
from roi.engine.switches import Integers, Range
from roi.model.study import Study
from roi.scenario.risk import in_grades
from roi.scenario.stated import StatedInput

DIGITS = (4, 5, 6, 8, 10, 12)  # told with the first of these that turns the answer
NONE = -1  # the position of a winner where no method can do the work


def searched(study: Study, *, without: Sequence[str] = ()) -> tuple[list[StatedInput], list[Range]]:
    """The inputs with a range to look at and how far, in the order of the scenario; `without` are keys left out."""
    used, found, ranges = study.book.inputs, [], []
    for stated in study.scenario.inputs.values():
        if stated.key not in used or stated.key in without:
            continue
        graded = in_grades(stated.key)
        least, most = (stated.low, stated.high) if graded else reach(study, stated)
        if least < most:
            values = (stated.best, stated.low, stated.high, least, most)
            best, low, high, least, most = (value * stated.factor for value in values)
            found.append(stated)
            grades = (low, best, high) if graded else ()
            ranges.append(Range(stated.key, best, low, high, least, most, stated.whole, grades))
    return found, ranges


def shown(stated: StatedInput, value: float) -> float:
    """A value in the engine's unit as people see it."""
    return value / stated.factor * (100 if stated.percent else 1)


def best_shown(stated: StatedInput) -> float:
    """The best value as people see it."""
    return stated.best * (100 if stated.percent else 1)


def told(stated: StatedInput, value: float, digits: int = 4) -> str:
    """A value as people see it, in words: "2.41 USD/plate", "12 %"."""
    text = f"{value:,.{digits}g}"
    text = f"{value:,.0f}" if "e" in text and abs(value) >= 1 else text
    return f"{text} {stated.shown}".strip()


def told_turning(stated: StatedInput, value: float) -> str:
    """A value as `turning` rounded it, with every digit it kept."""
    return told(stated, value, DIGITS[-1])


def rounded_away(value: float, best: float, digits: int) -> float:
    """A value rounded away from best, to so many digits; of what has more before the point, to whole numbers."""
    if value in (0.0, best):
        return value
    places = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    way = ROUND_CEILING if value > best else ROUND_FLOOR
    return float(Decimal(repr(value)).quantize(Decimal(1).scaleb(-places), way, Context(prec=400)))


def turning(
    inputs: Sequence[StatedInput],
    ranges: Sequence[Range],
    place: Integers,
    beyond: Sequence[float],
    wanted: Integers,
    judged: Callable[[Integers, Array], Integers],
) -> list[float]:
    """The values that turn an answer, as they are told: the fewest digits that, put back, still turn it; as people see them.

    place : positions of the inputs; beyond : the first values that turn it, in the engine's unit
    wanted, judged : what it is turned to, and how values of the inputs at these positions, in the engine's unit, are judged
    Where no rounded value turns it, or would lie beyond what was looked at, the value stays as it is.
    """
    exact = [shown(inputs[p], value) for p, value in zip(place, beyond, strict=True)]
    found, open_ones = list(exact), list(range(len(exact)))
    for digits in DIGITS:
        if not open_ones:
            break
        tried = []
        for i in open_ones:
            each, stated = ranges[place[i]], inputs[place[i]]
            own = shown(stated, each.best)
            tried.append(exact[i] if each.grades or each.whole else rounded_away(exact[i], own, digits))
        x = np.array([_engine(inputs[place[i]], value) for i, value in zip(open_ones, tried, strict=True)])
        at = judged(place[open_ones], x)
        left = []
        for i, value, put, result in zip(open_ones, tried, x, at, strict=True):
            each = ranges[place[i]]
            if result == wanted[i] and each.least <= put <= each.most:
                found[i] = value
            else:
                left.append(i)
        open_ones = left
    return found


def _engine(stated: StatedInput, value: float) -> float:
    """A value as people see it in the engine's unit, as a scenario that states it would have it."""
    return value / (100 if stated.percent else 1) * stated.factor


class Costs:
    """One figure of every method side by side, and which method is the cheapest.

    view : "cash" or "full"; name : the figure, such as "present"
    """

    def __init__(self, study: Study, view: str, name: str = "present") -> None:
        key = name if view == "cash" else f"{name}_full"
        self.costs: list[Line] = [sheet.lines[key] for sheet in study.methods.values()]
        self.able: list[Line] = [sheet.lines["feasible"] for sheet in study.methods.values()]

    @property
    def lines(self) -> list[Line]:
        """What must be computed."""
        return [*self.costs, *self.able]

    def table(self, values: Values) -> Array:
        """Shape (methods, cases); infinite where a method can't do the work."""
        rows = [
            np.where(values[able] == 1, values[cost], np.inf)
            for cost, able in zip(self.costs, self.able, strict=True)
        ]
        return np.stack(np.broadcast_arrays(*rows))


def winners(table: Array, favoured: int) -> Integers:
    """Position of the cheapest in each case, NONE where none can do the work; the favoured one where it costs the same."""
    least = table.min(axis=0)
    position = np.where(np.isfinite(least), table.argmin(axis=0), NONE)
    if favoured == NONE:
        return position.astype(np.int64)
    own = table[favoured]
    finite: NDArray[np.bool_] = np.isfinite(own)
    gap = np.where(finite, own, 0.0) - np.where(finite, least, 0.0)
    same = finite & (gap <= np.minimum(TIE, NOISE * np.abs(np.where(finite, own, 0.0))))
    return np.where(same, favoured, position).astype(np.int64)


__all__ = ["NONE", "Costs", "best_shown", "searched", "shown", "told", "told_turning", "turning", "winners"]
