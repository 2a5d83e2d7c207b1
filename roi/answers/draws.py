"""Draws of many quantities at once, each from its own spread, some of them moving together.

Shapes are (quantities, draws). Draws come in stretches, any of which can be made on its own and is the same whatever the
size of a block. Nothing here knows what the quantities are.

Moving together: a group has one further column for its common place and one that decides. In a share `together` of the
draws every member of a group stands at the common place in its own range; in the others each stands at its own. So each
spread stays what it is; any two members' places correlate by exactly `together` (Pearson of places, which is Spearman's
of values), and at 1 all members are always equally high in their ranges. This mixes the two copulas "the same" and
"independent", as in the families of M. Frechet and K. V. Mardia (R. B. Nelsen, An Introduction to Copulas, 2nd edition, 2006).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from roi.answers.points import LatinHypercube
from roi.answers.spread import Spread
from roi.engine.evaluate import BLOCK
from roi.engine.functions import Array


@dataclass(frozen=True)
class Group:
    """Quantities that move together, by their positions from 0."""

    name: str
    label: str
    members: tuple[int, ...]


@dataclass(frozen=True)
class Factor:
    """What varies on its own: one quantity, or a group that moves together; `columns` of the points belong to it."""

    label: str
    members: tuple[int, ...]
    columns: tuple[int, ...]


class Draws:
    """`count` joint draws from `spreads`.

    groups : those that move together, no quantity in two of them; a group of one moves alone
    together : share of the draws, 0 to 1, in which a group's members stand at one place
    seed : a whole number of 0 or more; the same seed gives the same draws
    """

    def __init__(
        self,
        spreads: Sequence[Spread],
        count: int,
        seed: int,
        groups: Sequence[Group] = (),
        together: float = 0.0,
    ) -> None:
        if not 0 <= together <= 1:
            raise ValueError(f"{together} together: a share from 0 to 1")
        self.spreads, self.count, self.seed, self.together = tuple(spreads), count, seed, together
        self.groups = tuple(g for g in groups if len(g.members) > 1) if together else ()
        self.columns = len(self.spreads) + 2 * len(self.groups)
        self._points = LatinHypercube(count, self.columns, seed)

    def blocks(self, size: int = BLOCK) -> Iterator[tuple[int, Array]]:
        """The number of the first draw, and the values of a block of draws: shape (quantities, size)."""
        for start in range(0, self.count, size):
            yield start, self.values(self._points.block(start, min(start + size, self.count)))

    def values(self, points: Array) -> Array:
        """The quantities' values at points of shape (columns, draws), which are overwritten."""
        found = points[: len(self.spreads)]
        for i, group in enumerate(self.groups):
            common, decides = points[len(self.spreads) + 2 * i :][:2]
            joined = np.flatnonzero(decides < self.together)
            for member in group.members:
                found[member, joined] = common[joined]
        for spread, row in zip(self.spreads, found, strict=True):
            row[:] = spread.at(row)
        return found

    def factors(self, labels: Sequence[str]) -> list[Factor]:
        """What varies on its own, in the order of the quantities; a group stands where its first member does."""
        first = {group.members[0]: i for i, group in enumerate(self.groups)}
        inside = {member for group in self.groups for member in group.members}
        found = []
        for place, label in enumerate(labels):
            if place in first:
                i = first[place]
                more = len(self.spreads) + 2 * i
                group = self.groups[i]
                found.append(Factor(group.label, group.members, (*group.members, more, more + 1)))
            elif place not in inside:
                found.append(Factor(label, (place,), (place,)))
        return found


__all__ = ["Draws", "Factor", "Group"]
