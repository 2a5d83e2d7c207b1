"""Each input at its low and its high, the others at their best: which of them alone would turn the answer."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from roi.engine.evaluate import Program
from roi.model.study import Study
from roi.scenario.stated import StatedInput


@dataclass(frozen=True)
class Turn:
    """An input that alone, at one end of its range, makes another method the cheapest in cash; `winner` is that method."""

    stated: StatedInput
    end: str
    value: float
    winner: str


def turning(study: Study) -> list[Turn]:
    """The inputs that alone change the cheapest method at the low or the high end of their range, in scenario order."""
    position = study.comparison.rows["cheapest_at"]
    used = study.book.inputs
    ranged = [
        s for s in study.scenario.inputs.values() if s.key in used and (s.low != s.best or s.high != s.best)
    ]
    count = 1 + 2 * len(ranged)
    cases: dict[str, np.ndarray] = {}
    for i, stated in enumerate(ranged):
        values = np.full(count, stated.best * stated.factor)
        values[1 + 2 * i], values[2 + 2 * i] = stated.low * stated.factor, stated.high * stated.factor
        cases[stated.key] = values
    program = Program(study.book, [position])
    found = np.concatenate(
        [
            np.broadcast_to(v[position], (part.stop - part.start,))
            for part, v in program.run_in_blocks(cases, 256)
        ]
    )
    names = study.comparison.methods.labels
    return [
        Turn(stated, end, value, names[round(float(found[1 + 2 * i + k])) - 1])
        for i, stated in enumerate(ranged)
        for k, (end, value) in enumerate((("low", stated.low), ("high", stated.high)))
        if found[1 + 2 * i + k] != found[0]
    ]


def how_close(turns: list[Turn]) -> str:
    """In words: whether any single input could turn the answer."""
    if not turns:
        return "No single input, anywhere in its range, makes another method the cheapest."
    count = len({t.stated.key for t in turns})
    what = (
        "one input alone, within its range, makes"
        if count == 1
        else f"{count} inputs, each alone within its range, make"
    )
    return f"Too close to call: {what} another method the cheapest."


def told(turn: Turn) -> str:
    """One input that turns the answer, in words."""
    shown = (
        f"{turn.value * 100:.4g} %"
        if turn.stated.percent
        else f"{turn.value:,.6g} {turn.stated.shown}".strip()
    )
    return f"{turn.stated.label} at its {turn.end} ({shown}): {turn.winner} is cheapest"
