"""Which of too many stepped pieces may still hold a turn of two lines: what is narrowed where steps are beyond counting.

Pieces are those between neighbouring points, in rising order; a gap is one line's figure less the other's, at each point.
Lines and inputs are unknown here: what a gap means, and in which unit, is left to `steps`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from roi.engine.functions import Array

MANY = 2048  # pieces narrowed at once: with more, only those are that may hold a turn
LOOKS = 40 * MANY  # points spent on pieces that only may hold one: enough to enclose MANY steps
CLOSE = 1e-3  # of the range: where steps are many, turns nearer to one another are one stretch
BINS = 512  # parts of the range in each of which it is seen how far a gap steps
REACH = 3.0  # times how far a gap was seen to step: nearer to nought, it may turn unseen

Flags = NDArray[np.bool_]


def together(x: Array, turns: Flags, close: float) -> tuple[Flags, Flags]:
    """Of turns less than `close` apart: which pieces hold the first or last one, and which lie between these.

    x : points, (n,); turns : which pieces hold a turn, (n - 1,)
    """
    ends, within = np.zeros(len(turns), bool), np.zeros(len(turns), bool)
    at = np.flatnonzero(turns)
    if at.size:
        # From the far side to the far side: narrowed, they come no further apart.
        apart = x[at[1:] + 1] - x[at[:-1]] > close
        first, last = at[np.concatenate([[True], apart])], at[np.concatenate([apart, [True]])]
        ends[first] = ends[last] = True
        change = np.zeros(len(turns) + 1, int)
        np.add.at(change, first, 1)
        np.add.at(change, last + 1, -1)
        within = (np.cumsum(change)[:-1] > 0) & ~ends
    return ends, within


def nearness(x: Array, gap: Array) -> Array:
    """How near to nought the gap is at the nearer end of each piece, in steps as large as those seen around it.

    x, gap : points and the gap at each, (n,), NaN where there is none. Returns (n - 1,), infinite where there is no gap.
    """
    moved = np.abs(np.diff(gap))
    known = np.isfinite(moved)
    part = ((x[:-1] - x[0]) / (x[-1] - x[0]) * BINS).astype(int) + 1
    seen = np.zeros(BINS + 2)
    np.maximum.at(seen, part[known], moved[known])
    around = np.maximum(np.maximum(seen[:-2], seen[1:-1]), seen[2:])[part - 1]
    least = np.minimum(np.abs(gap[:-1]), np.abs(gap[1:]))
    with np.errstate(divide="ignore", invalid="ignore"):
        found = least / around
    return np.where(known & (around > 0), found, np.inf)


def worth_narrowing(x: Array, pairs: list[tuple[Array, Flags]], wide: Flags, most: int) -> tuple[Flags, int]:
    """Which of the pieces to narrow: the outer turns of each stretch of turns, and what may hold a turn outside of one.

    pairs : of each pair of lines the gap at each point and which pieces hold a turn; wide : what is not narrow enough
    Returns with them how many hold no turn: those nearest to one, no more than `most`.
    """
    chosen, near = np.zeros(len(wide), bool), np.full(len(wide), np.inf)
    for gap, turns in pairs:
        ends, within = together(x, turns, CLOSE * (x[-1] - x[0]))
        chosen |= ends
        near = np.minimum(near, np.where(within | turns, np.inf, nearness(x, gap)))
    chosen &= wide
    doubtful = np.flatnonzero(wide & ~chosen & (near <= REACH))
    doubtful = doubtful[np.argsort(near[doubtful], kind="stable")[:most]]
    chosen[doubtful] = True
    return chosen, len(doubtful)


__all__ = ["CLOSE", "LOOKS", "MANY", "nearness", "together", "worth_narrowing"]
