"""How much of the variance of a result each thing that varies accounts for: Sobol' indices, first order and total.

The design takes n (d + 2) evaluations for d factors: two independent sets of n points, and for each factor the first set
with that factor's columns from the second. First order by A. Saltelli, P. Annoni, I. Azzini, F. Campolongo, M. Ratto,
S. Tarantola, Computer Physics Communications 181, 2010, table 2 (b); total by M. J. W. Jansen, ibid. 117, 1999 (their
table 2 (f)). The points are those of two Latin hypercubes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from roi.answers.points import LatinHypercube
from roi.engine.evaluate import BLOCK
from roi.engine.functions import Array

Model = Callable[[Array], Array]


@dataclass(frozen=True)
class Shares:
    """Shares of the variance by factor, with standard errors; an estimate may lie a little outside 0 to 1.

    first : what fixing the factor alone would take away; total : what would be left if only it varied, others as drawn
    variance : of the result, in its unit squared; evaluations : n (d + 2)
    """

    first: Array
    first_error: Array
    total: Array
    total_error: Array
    variance: float
    evaluations: int


def variance_shares(
    model: Model,
    factors: Sequence[Sequence[int]],
    columns: int,
    count: int,
    seed: int,
    *,
    block: int = BLOCK,
    progress: Callable[[int, int], None] | None = None,
) -> Shares | None:
    """Estimate the shares; None where the result does not vary.

    model : from points of shape (columns, m), between 0 and 1, to results of shape (m,); may overwrite the points
    factors : the columns of each, no column in two
    count : n, 2 or more; progress : told (evaluations done, evaluations in all)
    """
    if count < 2:
        raise ValueError(f"{count} points: variance shares need 2 or more")
    one, other = (LatinHypercube(count, columns, seed, stream) for stream in (1, 2))
    whole = count * (len(factors) + 2)
    base, second = np.empty(count), np.empty(count)
    mixed = np.empty((len(factors), count))
    done = 0
    for start in range(0, count, block):
        part = slice(start, min(start + block, count))
        points, others = one.block(part.start, part.stop), other.block(part.start, part.stop)
        for i, owned in enumerate(factors):
            swapped = points.copy()
            swapped[list(owned)] = others[list(owned)]
            mixed[i, part] = model(swapped)
            done += part.stop - part.start
            if progress is not None:
                progress(done, whole)
        base[part], second[part] = model(points), model(others)
    centre = np.concatenate((base, second)).mean()
    base, second, mixed = base - centre, second - centre, mixed - centre
    variance = float(np.concatenate((base, second)).var())
    if not variance:
        return None
    first, total = second * (mixed - base) / variance, (base - mixed) ** 2 / (2 * variance)
    return Shares(
        first.mean(axis=1), _error(first), total.mean(axis=1), _error(total), variance, whole
    )  # fmt: skip


def _error(terms: Array) -> Array:
    """Standard errors of the means of rows, the variance they are divided by taken as known."""
    return terms.std(axis=1, ddof=1) / np.sqrt(terms.shape[1])


__all__ = ["Model", "Shares", "variance_shares"]
