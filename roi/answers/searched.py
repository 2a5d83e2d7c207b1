"""Which inputs are searched, how far, and how their values are told; and a judgement of the cheapest method.

An input is looked at as far as break-even looks: from a quarter to four times its best within its limits, never less far
than its own low and high. Values to people are in the unit they see, percentages as such: 10 for 10 %.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from roi.answers.breakeven import reach
from roi.engine.column import Line
from roi.engine.evaluate import Values
from roi.engine.functions import Array
from roi.engine.steps import NOISE, TIE
from roi.engine.switches import Integers, Range
from roi.model.study import Study
from roi.scenario.stated import StatedInput

NEAR = 1e-6  # of best or of the range: a value nearer to best reads as the same
NONE = -1  # the position of a winner where no method can do the work


def searched(study: Study, *, without: Sequence[str] = ()) -> tuple[list[StatedInput], list[Range]]:
    """The inputs with a range to look at and how far, in the order of the scenario; `without` are keys left out."""
    used, found, ranges = study.book.inputs, [], []
    for stated in study.scenario.inputs.values():
        if stated.key not in used or stated.key in without:
            continue
        least, most = reach(study, stated)
        if least < most:
            values = (stated.best, stated.low, stated.high, least, most)
            best, low, high, least, most = (value * stated.factor for value in values)
            found.append(stated)
            ranges.append(Range(stated.key, best, low, high, least, most, stated.whole))
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


def told_from(stated: StatedInput, value: float, best: float, digits: int = 4) -> str:
    """A value in words, as seen from best: "just below 150 lpi" where the two read the same, or all but do."""
    text, own = told(stated, value, digits), told(stated, best, digits)
    scale = max(abs(best), abs(stated.high - stated.low) * (100 if stated.percent else 1))
    if value == best or (text != own and abs(value - best) > NEAR * scale):
        return text
    return f"just {'above' if value > best else 'below'} {own}"


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


__all__ = ["NONE", "Costs", "best_shown", "searched", "shown", "told", "told_from", "winners"]
