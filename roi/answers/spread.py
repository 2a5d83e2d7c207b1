"""How a quantity spreads over its range: what lies below which share of the chance.

A spread turns shares of the chance (0 to 1) into values. `low` and `high` are the ends of the range, which nothing passes,
and `best` is the likeliest value. Values are in the quantity's own unit.

PERT is the usual: with a best value that its owner knows better than the ends, little chance is left at the ends. A
triangle with the same three figures varies more. Sources: D. G. Malcolm, J. H. Roseboom, C. E. Clark, W. Fazar, Operations
Research 7 (5), 1959 (mean (low + 4 best + high) / 6); D. Vose, Risk Analysis, 2nd edition, 2000 (beta with weight 4).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Protocol

import numpy as np

from roi.engine.functions import Array

KNOTS = 2001
_WEIGHT = 4.0  # of the best value among the ends
# Gauss-Legendre over a span of 1, four points: exact to the seventh power.
_NODES, _WEIGHTS = (x / 2 for x in np.polynomial.legendre.leggauss(4))
_NODES = _NODES + 0.5


class Spread(Protocol):
    """A distribution over a range."""

    @property
    def low(self) -> float: ...

    @property
    def high(self) -> float: ...

    def at(self, share: Array) -> Array:
        """The values that such shares of the chance lie below; same shape, shares between 0 and 1."""

    @property
    def mean(self) -> float: ...

    @property
    def variance(self) -> float: ...


@dataclass(frozen=True)
class Even:
    """Every value between low and high as likely as any other."""

    low: float
    high: float

    def at(self, share: Array) -> Array:
        return self.low + (self.high - self.low) * share

    @property
    def mean(self) -> float:
        return (self.low + self.high) / 2

    @property
    def variance(self) -> float:
        return (self.high - self.low) ** 2 / 12


@dataclass(frozen=True)
class Triangular:
    """Chance rises in a straight line from low to best and falls in one to high."""

    low: float
    best: float
    high: float

    def at(self, share: Array) -> Array:
        span, left, right = self.high - self.low, self.best - self.low, self.high - self.best
        return np.where(
            share * span < left,
            self.low + np.sqrt(share * (span * left)),
            self.high - np.sqrt((1 - share) * (span * right)),
        )

    @property
    def mean(self) -> float:
        return (self.low + self.best + self.high) / 3

    @property
    def variance(self) -> float:
        a, m, b = self.low, self.best, self.high
        return (a * a + m * m + b * b - a * m - a * b - m * b) / 18


@dataclass(frozen=True)
class Pert:
    """A beta distribution over the range whose likeliest value is best, with the weights 1, 4, 1 in its mean."""

    low: float
    best: float
    high: float

    def at(self, share: Array) -> Array:
        values, steps = _table((self.best - self.low) / (self.high - self.low))
        # Knots lie closer together towards both ends, where the curve is steep: see _table.
        away = share - 0.5
        place = np.sqrt(1 - 2 * np.abs(away))
        place -= 1
        place = np.copysign(place, away)
        place *= (KNOTS - 1) / 2
        place += (KNOTS - 1) / 2
        knot = place.astype(np.intp)
        place -= knot
        place *= steps[knot]
        place += values[knot]
        place *= self.high - self.low
        place += self.low
        return place

    @property
    def mean(self) -> float:
        return (self.low + _WEIGHT * self.best + self.high) / (2 + _WEIGHT)

    @property
    def variance(self) -> float:
        return (self.mean - self.low) * (self.high - self.mean) / (3 + _WEIGHT)


@dataclass(frozen=True)
class Graded:
    """One of the three stated values and nothing between, for what comes in grades: a chance of `end` for each end.

    With the ends' weights of a shape the mean is that of the shape.
    """

    low: float
    best: float
    high: float
    end: float

    def at(self, share: Array) -> Array:
        return np.where(share < self.end, self.low, np.where(share >= 1 - self.end, self.high, self.best))

    @property
    def mean(self) -> float:
        return self.best + self.end * (self.low + self.high - 2 * self.best)

    @property
    def variance(self) -> float:
        ends = [self.end * (x - self.mean) ** 2 for x in (self.low, self.high)]
        return sum(ends) + (1 - 2 * self.end) * (self.best - self.mean) ** 2


ENDS = {"pert": 1 / 6, "triangular": 1 / 3}  # the weight of each end in the mean of a shape
SHAPES: dict[str, Callable[[float, float, float], Spread]] = {"pert": Pert, "triangular": Triangular}


@lru_cache(maxsize=1024)
def _table(best: float) -> tuple[Array, Array]:
    """The inverse of the beta distribution function over 0 to 1 with its mode at `best`: values at knots, and steps.

    The distribution function is integrated over an angle, in which the density is smooth at both ends, and then turned
    round. Knot k stands at the share 2 t^2 for t = k / (KNOTS - 1) up to a half, and mirrored above.
    """
    a, b = 1 + _WEIGHT * best, 1 + _WEIGHT * (1 - best)
    near_low, near_high, values = _angles()
    # x = sin^2(angle): x^(a-1) (1-x)^(b-1) dx is twice sin^(2a-1) cos^(2b-1) of the angle. Scale is set by the total.
    density = np.exp((2 * a - 1) * near_low + (2 * b - 1) * near_high)
    below = np.concatenate(([0.0], np.cumsum(density @ _WEIGHTS)))
    below /= below[-1]
    t = np.linspace(0, 1, KNOTS)
    shares = np.where(t < 0.5, 2 * t * t, 1 - 2 * (1 - t) ** 2)
    angles = np.interp(shares, below, values)
    table = np.sin(angles) ** 2
    table[0], table[-1] = 0.0, 1.0
    # One step more than there are spans: a share so near 1 that it rounds to 1 falls on the last knot.
    return table, np.append(np.diff(table), 0.0)


@lru_cache(maxsize=1)
def _angles() -> tuple[Array, Array, Array]:
    """Logarithms of sine and cosine at the integration points, shape (spans, 4), and the angles at the knots."""
    knots = np.linspace(0, np.pi / 2, KNOTS)
    inside = knots[:-1, None] + _NODES * (knots[1] - knots[0])
    return np.log(np.sin(inside)), np.log(np.cos(inside)), knots


__all__ = ["ENDS", "SHAPES", "Even", "Graded", "Pert", "Spread", "Triangular"]
