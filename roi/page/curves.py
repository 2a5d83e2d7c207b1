"""Cost against volume as points to draw: a curve a method, and the volumes at which the cheaper of two changes.

Volumes are plates called for a month in year 1; costs are equivalent annual costs in the scenario's currency, in cash, after
tax. Curves run through the volumes looked at for break-even and through every crossing, so that they cross where it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from roi.answers.breakeven import NEAR, VOLUME, BreakEven, sentences
from roi.answers.compare import one
from roi.answers.few import decimals_of
from roi.answers.ranges import try_ranges
from roi.answers.workings import workings
from roi.engine.evaluate import Program, Values
from roi.model.study import Study
from roi.page.voice import ENGLISH, Voice

MOST = 5  # curves in one chart


@dataclass(frozen=True)
class Curve:
    """A method's cost by volume, volumes rising; a step stands as two points of one volume. `looked_at`: at those looked at."""

    method: str
    short: str
    volumes: tuple[float, ...]
    costs: tuple[float, ...]
    looked_at: tuple[float, ...]


@dataclass(frozen=True)
class Mark:
    """A volume at which the cheaper of two methods drawn changes; `decides` where the cheapest of all does."""

    at: float
    cost: float
    decides: bool


@dataclass(frozen=True)
class Curves:
    """Everything the chart shows.

    volumes : those looked at; own : the shop's own
    able : how many methods can do the work; drawn are the MOST of them that are cheapest at the shop's own volume
    said : for each pair, those with the current method first, where the cheaper one changes
    """

    title: str
    volumes: tuple[float, ...]
    own: float
    curves: tuple[Curve, ...]
    marks: tuple[Mark, ...]
    able: int
    said: tuple[str, ...]

    @property
    def places(self) -> int:
        """Decimals of plates a month."""
        return decimals_of(self.own)


def curves(study: Study, values: Values, turns: Sequence[BreakEven], voice: Voice = ENGLISH) -> Curves:
    """The curves of a study; `turns` are the crossings of each pair over volume, `values` the lines at the best values."""
    made = workings(study, try_ranges(study), sensitivity=False, stresses=False)
    found = made.volumes
    assert found is not None
    known, _ = made.evaluate(values)
    rows, ids = study.comparison.rows, list(study.methods)
    able = [name for i, name in enumerate(ids) if one(values, rows["feasible"], i) >= 1]
    cheapest = sorted(able, key=lambda name: one(values, rows["equivalent"], ids.index(name)))[:MOST]
    drawn = [name for name in ids if name in cheapest]
    volumes = tuple(float(x) for x in known[found.plates].flat)
    # Present cost over what one level payment a year is worth: the same at every volume.
    annuity = one(values, study.shop.annuity)
    points = {
        name: list(zip(volumes, map(float, known[found.costs[name]].flat), strict=True)) for name in drawn
    }
    looked_at = {name: tuple(cost for _, cost in points[name]) for name in drawn}
    met = [(pair, turn) for pair in turns for turn in pair.crossings if set(pair.between) <= set(drawn)]
    for pair, turn in met:
        for i, name in enumerate(pair.between):
            points[name] += [
                (turn.at, turn.costs_below[i] / annuity),
                (turn.at, turn.costs_above[i] / annuity),
            ]
    decides = _decides(study, [(turn.at, pair.quantity.scale) for pair, turn in met])
    marks = [
        Mark(turn.at, min(turn.costs_above) / annuity, turning)
        for (_, turn), turning in zip(met, decides, strict=True)
    ]
    current = study.scenario.current
    pairs = sorted(turns, key=lambda pair: current not in pair.between)
    return Curves(
        title=voice.tell(found.chart_title, known),
        volumes=volumes,
        own=float(known[found.own].flat[0]),
        curves=tuple(
            Curve(name, study.methods[name].method.short, *_in_order(points[name]), looked_at[name])
            for name in drawn
        ),
        marks=tuple(sorted(marks, key=lambda mark: mark.at)),
        able=len(able),
        said=tuple(map(voice.say, sentences(study, pairs))),
    )


def _in_order(points: list[tuple[float, float]]) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Volumes and costs, volumes rising; points of one volume stay as they came, below before above."""
    ordered = sorted(points, key=lambda point: point[0])
    return tuple(x for x, _ in ordered), tuple(y for _, y in ordered)


def _decides(study: Study, places: Sequence[tuple[float, float]]) -> list[bool]:
    """Whether the cheapest of all methods changes at each place (a volume, and what one is in the engine's unit)."""
    if not places:
        return []
    inside = np.array([at * scale for at, scale in places])
    around = np.concatenate([inside * (1 - NEAR), inside * (1 + NEAR)])
    winner = study.comparison.rows["winner"]
    found = Program(study.book, [winner]).run({VOLUME: around})[winner]
    below, above = np.broadcast_to(found, around.shape).reshape(2, -1)
    return [bool(a != b) for a, b in zip(below, above, strict=True)]


__all__ = ["MOST", "Curve", "Curves", "Mark", "curves"]
