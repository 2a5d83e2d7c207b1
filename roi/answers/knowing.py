"""What it is worth to know a quantity before choosing: the expected value of perfect information, about one or about all.

Costs are positive, in one currency unit, lower is better; shapes (quantities, draws) and (choices, draws). About one
quantity: costs are regressed on it, as in M. Strong, J. E. Oakley, A. Brennan, Medical Decision Making 34, 2014, here on
polynomials; the choice is then the cheapest by the regression at each value. Choosing and valuing by the same draws would
find worth in noise. So the draws are dealt to four hands: the regression on three chooses, that on the fourth values the
choice, in turn; means over the whole range are those of all draws in both. What tells nothing is then worth nothing on
average; what is left is a slight downward bias, since a choice made from fewer draws is a little worse. The tests have
cases with known answers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from roi.engine.functions import Array

HANDS = 4
DEGREE = 4
LEAST = 16 * HANDS  # draws: fewer don't hold up a regression
_TOGETHER = 32  # quantities at a time, so that powers of a block stay small


@dataclass(frozen=True)
class Worth:
    """What knowing each quantity is worth, shape (quantities,), and the standard errors from the four hands."""

    value: Array
    error: Array


class Knowing:
    """Sums over draws from which worths are told; draws themselves are not kept.

    quantities, choices : how many there are of each
    """

    def __init__(self, quantities: int, choices: int) -> None:
        size = DEGREE + 1
        self._grams = np.zeros((HANDS, quantities, size, size))
        self._moments = np.zeros((HANDS, quantities, size, choices))
        self._count = 0

    def add(self, start: int, places: Array, costs: Array) -> None:
        """Take in draws numbered from `start`; `places` of quantities in their ranges, -1 at low to 1 at high."""
        self._count += places.shape[1]
        for hand in range(HANDS):
            dealt = slice((hand - start) % HANDS, None, HANDS)
            paid = np.ascontiguousarray(costs[:, dealt].T)
            for first in range(0, len(places), _TOGETHER):
                part = slice(first, first + _TOGETHER)
                powers = polynomials(places[part, dealt])
                self._grams[hand, part] += powers @ powers.transpose(0, 2, 1)
                self._moments[hand, part] += powers @ paid

    def worth(self, grid: Array, choices: Sequence[int]) -> Worth:
        """What knowing each quantity is worth to one who may choose among `choices`.

        grid : places of each quantity, equally likely, shape (quantities, any number)
        """
        if self._count < LEAST:
            raise ValueError(
                f"{self._count} draws: at least {LEAST} are needed to tell what knowing is worth"
            )
        moments = self._moments[..., list(choices)]
        grams, sums = self._grams.sum(axis=0), moments.sum(axis=0)
        at_grid = polynomials(grid).transpose(0, 2, 1)
        means = sums[0, 0] / self._count if len(sums) else np.zeros(len(choices))  # the first polynomial is 1
        plain = int(means.argmin())
        found = np.empty((HANDS, len(grid)))
        for hand in range(HANDS):
            told = at_grid @ _fit(grams - self._grams[hand], sums - moments[hand])
            chosen = _about(told, means).argmin(axis=2)
            valued = _about(at_grid @ _fit(self._grams[hand], moments[hand]), means)
            knowing = np.take_along_axis(valued, chosen[:, :, None], axis=2)[:, :, 0]
            found[hand] = (valued[:, :, plain] - knowing).mean(axis=1)
        return Worth(found.mean(axis=0), found.std(axis=0, ddof=1) / np.sqrt(HANDS))

    def explained(self, grid: Array, weights: Sequence[float]) -> Array:
        """The variance of the regression of a weighted sum of costs on each quantity: shape (quantities,)."""
        sums = self._moments.sum(axis=0) @ np.asarray(weights, float)[:, None]
        fitted = polynomials(grid).transpose(0, 2, 1) @ _fit(self._grams.sum(axis=0), sums)
        return np.asarray(fitted[:, :, 0].var(axis=1))


def knowing_all(costs: Array) -> tuple[float, float]:
    """What knowing everything is worth, and its standard error: the mean regret of the choice cheapest on average.

    costs : shape (choices, draws). Source: H. Raiffa, R. Schlaifer, Applied Statistical Decision Theory, 1961.
    """
    regret = costs[costs.mean(axis=1).argmin()] - costs.min(axis=0)
    count = costs.shape[1]
    return float(regret.mean()), float(regret.std(ddof=1) / np.sqrt(count)) if count > 1 else 0.0


def polynomials(places: Array) -> Array:
    """Legendre polynomials of degree 0 to DEGREE at places from -1 to 1: shape (quantities, DEGREE + 1, draws)."""
    found = np.empty((len(places), DEGREE + 1, places.shape[1]))
    found[:, 0] = 1.0
    found[:, 1] = places
    for k in range(1, DEGREE):
        np.multiply(found[:, k], places, out=found[:, k + 1])
        found[:, k + 1] *= (2 * k + 1) / (k + 1)
        found[:, k + 1] -= found[:, k - 1] * (k / (k + 1))
    return found


def _about(fitted: Array, means: Array) -> Array:
    """Regressions, shape (quantities, places, choices), moved to the means of all draws.

    Draws of a Latin hypercube make up for one another: a hand with too high a mean leaves the rest too low a one, so that a
    choice by the one would be held against it by the other.
    """
    return np.asarray(fitted - fitted.mean(axis=1, keepdims=True) + means)


def _fit(grams: Array, moments: Array) -> Array:
    """Coefficients of the regressions; a trace of the sums on the diagonal keeps a quantity of few values solvable."""
    held = grams[:, :1, :1] * 1e-9 * np.eye(grams.shape[-1])
    return np.asarray(np.linalg.solve(grams + held, moments))


__all__ = ["DEGREE", "HANDS", "LEAST", "Knowing", "Worth", "knowing_all", "polynomials"]
