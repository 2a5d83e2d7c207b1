"""Points of a Latin hypercube, any stretch of which can be made on its own.

Shapes are (columns, points), points last, as cases are in the engine. A coordinate lies strictly between 0 and 1. Of n
points each column puts exactly one into every n-th of that span, in an order of its own. Nothing is stored: the order is
a permutation worked out from the point's number and a key of the column, so a million points of forty columns take no
more memory than one block of them, and a block is the same whatever came before it.

Sources: M. D. McKay, R. J. Beckman, W. J. Conover, Technometrics 21 (2), 1979 (Latin hypercube); J. Black, P. Rogaway,
"Ciphers with arbitrary finite domains", CT-RSA 2002 (rounds over Z_a x Z_b, and going on where a round trip ends outside).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from roi.engine.functions import Array

Whole = NDArray[np.uint32]

MOST = 1 << 30  # points: the arithmetic below is that of 32 bits
_ROUNDS = 6
_KEYS = _ROUNDS + 2  # one a round, two for the place inside the stratum
# Odd numbers without a pattern in their bits.
_MIX = (np.uint32(0x9E3779B1), np.uint32(0x85EBCA6B), np.uint32(0xC2B2AE35))
_HALF, _RIGHT = np.uint32(16), np.uint32(15)


class LatinHypercube:
    """`count` points in `columns` columns; the same seed gives the same points.

    stream : points of another stream are independent of these. Raises ValueError for no points or more than MOST.
    """

    def __init__(self, count: int, columns: int, seed: int, stream: int = 0) -> None:
        if not 1 <= count <= MOST:
            raise ValueError(f"{count:,} points: a Latin hypercube has 1 to {MOST:,}")
        self.count, self.columns = count, columns
        self._across = math.isqrt(count - 1) + 1
        self._down = -(-count // self._across)
        self._keys: list[Whole] = [
            np.random.SeedSequence([seed, stream, column]).generate_state(_KEYS).astype(np.uint32)
            for column in range(columns)
        ]

    def block(self, start: int, stop: int) -> Array:
        """Points `start` to `stop` (not included), counted from 0: shape (columns, stop - start)."""
        number = np.arange(start, stop, dtype=np.uint32)
        first, second = self._split(number)
        found = np.empty((self.columns, stop - start))
        for column, keys in enumerate(self._keys):
            stratum = self._stratum(first, second, keys)
            inside = _mixed(number, keys[-2]) ^ _mixed(number, keys[-1])
            row = found[column]
            np.multiply(inside, 2.0**-32, out=row)
            row += 2.0**-33  # the middle of the smallest step: never 0, never 1
            row += stratum
            row /= self.count
        return found

    def _stratum(self, first: Whole, second: Whole, keys: Whole) -> Whole:
        """Which n-th of the span each point falls into: a permutation of the points' numbers."""
        found = self._round_trip(first, second, keys)
        # The rectangle of the rounds has a few places more than there are points; from there the trip goes on.
        while (outside := np.flatnonzero(found >= self.count)).size:
            found[outside] = self._round_trip(*self._split(found[outside]), keys)
        return found

    def _split(self, number: Whole) -> tuple[Whole, Whole]:
        down = np.uint32(self._down)
        return number // down, number % down

    def _round_trip(self, first: Whole, second: Whole, keys: Whole) -> Whole:
        sides = np.uint32(self._across), np.uint32(self._down)
        for i in range(0, _ROUNDS, 2):
            first = _turned(first, second, sides[0], keys[i])
            second = _turned(second, first, sides[1], keys[i + 1])
        return first * sides[1] + second


def _turned(one: Whole, other: Whole, side: np.uint32, key: np.uint32) -> Whole:
    """`one` moved round a circle of `side` places by an amount that depends on `other` only."""
    by = _mixed(other, key)
    by >>= _HALF
    by *= side
    by >>= _HALF
    by += one
    # Below `side` the subtraction wraps round to a huge number, so the lesser is the right one.
    return np.minimum(by, by - side)


def _mixed(number: Whole, key: np.uint32) -> Whole:
    """A number and a key stirred into 32 bits."""
    found = number * _MIX[0]
    found += key
    found ^= found >> _HALF
    found *= _MIX[1]
    found ^= found >> _RIGHT
    found *= _MIX[2]
    found ^= found >> _HALF
    return found


__all__ = ["MOST", "LatinHypercube"]
