"""A mutant: an input file with one or a few faults put in, and what must hold if it is accepted all the same.

Made again from its family, seed and number alone, by `random.Random`, whose sequences don't change between versions of Python.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from random import Random

Files = Mapping[str, bytes]


@dataclass(frozen=True)
class Claim:
    """What must hold of an accepted mutant.

    same : it says what the base says, so every input, text and result is equal
    key : the one input that may differ;  ratio : how often its best value in the engine's unit is that of the base
    new : the key stands nowhere in the base, so lines and inputs may come into use with it
    refused : it says two things at one place, or the like, so it isn't accepted
    rows : rows of the table file;  total : sum of the plates of its forms, or of the amounts of a ledger's rows
    """

    same: bool = False
    key: str = ""
    ratio: float | None = None
    new: bool = False
    rows: int | None = None
    total: float | None = None
    refused: bool = False


NOTHING = Claim()


@dataclass(frozen=True)
class Base:
    """A folder of sound files; `target` is the one that is mutated, `main` the one that is read."""

    name: str
    files: Files
    target: str
    main: str
    notes: Mapping[str, object] = field(default_factory=dict)

    @property
    def content(self) -> bytes:
        return self.files[self.target]


@dataclass(frozen=True)
class Mutant:
    """`kind` is what was done, in words; `content` the target's bytes."""

    family: str
    base: str
    kind: str
    content: bytes
    claim: Claim = NOTHING


# Bytes after a change, what was done, and what must hold; None where this change can't be made to this base.
Change = tuple[bytes, Claim] | None
Operation = Callable[[Random, Base], Change]


def mutate(
    family: str, seed: int, number: int, bases: list[Base], operations: Mapping[str, tuple[float, Operation]]
) -> Mutant:
    """The mutant of this number. `operations`: what is done -> (how often, relative to the others, function)."""
    draw = Random(f"{family} {seed} {number}")
    names = [*operations]
    weights = [operations[name][0] for name in names]
    while True:
        base = draw.choice(bases)
        kind = draw.choices(names, weights)[0]
        found = operations[kind][1](draw, base)
        if found is not None:
            return Mutant(family, base.name, kind, *found)
