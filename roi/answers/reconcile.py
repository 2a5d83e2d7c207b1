"""The shop's ledger against what the reckoning says the method in use costs: what is not explained, what would close it.

Compared are yearly running costs in cash, before tax, at today's prices and the volume of the log's year, in the scenario's
currency, positive; the ledger is scaled to a year where it covers less or more. A difference is the books less the reckoning:
positive where the books show more. Wages and press time are no invoices and left out, and so is what no account stands for;
both are named. Inputs move together by one share of the way to the end of their range that helps, as for a claim (`joint`).
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from roi.answers.goals import Goal
from roi.answers.joint import Joint, Moved, joint
from roi.engine.column import Line
from roi.engine.evaluate import Program, Values, needed
from roi.engine.expression import Input
from roi.engine.functions import Array
from roi.model.sheet import LABELS
from roi.model.study import Study
from roi.scenario.ledger import COUNTED, Ledger
from roi.scenario.ledgerspec import NOT_INVOICED
from roi.scenario.risk import in_grades
from roi.scenario.stated import StatedInput
from roi.scenario.worklog import DAYS_PER_YEAR

A_YEAR = (365, 366)  # days that need no scaling
SMALL = 0.1  # of the tolerance, of all books: a family's difference below is not worth a word
_HAIR = 1e-9  # currency: what sums in another order may make of a figure
# The ledger's year was worked as the log has it, whatever share of the log the coming year is thought to be.
_HELD = {"work.volume": 1.0, "work.run_length": 1.0}
# Money over the years, and levers of prices that are no invoice's: no account of a past year.
_NOT_OF_THE_YEAR = ("growth", "money", "prices", "price_steps", "work")
_CENT = 0.005
STEPPED = 1.0  # currency: what stays at a move and isn't rounding


@dataclass(frozen=True)
class Part:
    """A family or price group of which the ledger holds accounts.

    books : what the ledger shows in a year, credits taken off;  model : what the reckoning says
    charges, credits : how many rows are either
    """

    head: str
    label: str
    books: float
    model: float
    charges: int
    credits: int

    @property
    def difference(self) -> float:
        """What is not explained: books less model."""
        return self.books - self.model

    @property
    def share(self) -> float | None:
        """The difference as a share of the books; None where they show nothing."""
        return self.difference / abs(self.books) if abs(self.books) > _CENT else None


@dataclass(frozen=True)
class Untold:
    """A part of the running cost that isn't compared, what the reckoning says of it in a year, and why not."""

    label: str
    model: float
    why: str


@dataclass(frozen=True)
class Reconciliation:
    """The comparison.

    factor : what the ledger's amounts are multiplied by to be those of a year
    whole : all parts together;  beyond : heads of the parts that differ by more than the tolerance
    log_days : first and last day of the log as texts, where they reach a month or more out of the ledger's year; else ()
    """

    ledger: Ledger
    factor: float
    tolerance: float
    parts: tuple[Part, ...]
    whole: Part
    beyond: tuple[str, ...]
    untold: tuple[Untold, ...]
    log_days: tuple[str, ...]

    @property
    def whole_beyond(self) -> bool:
        """Whether all parts together differ by more than the tolerance."""
        return _beyond(self.whole, self.tolerance)

    @property
    def reconciles(self) -> bool:
        """Whether neither the whole nor any part differs by more than the tolerance."""
        return not self.beyond and not self.whole_beyond


@dataclass(frozen=True)
class Closing:
    """How a part ("" for all parts together) would be brought to what the books show.

    joint : the least joint move; its share is None where not even all inputs at their ends do it
    left : what is then not explained, books less model: at the move, or with all inputs at their ends
    at : where the inputs stand, {key: engine's unit}
    steps : whether the cost steps over what the books show on that way; the move is then the one that comes nearest, on either
        side of the step, and none (no inputs) where that leaves more than staying put
    """

    head: str
    label: str
    joint: Joint
    left: float
    at: dict[str, float]
    steps: bool = False

    @property
    def closes(self) -> bool:
        """Whether the move brings the reckoning to what the books show."""
        return self.joint.share is not None and not self.steps


def reconcile(study: Study, ledger: Ledger, tolerance: float | None = None) -> Reconciliation:
    """Set a ledger against the reckoning; `tolerance`, a share of the books, is the scenario's unless given."""
    spec = study.scenario.ledger
    assert spec is not None, "a ledger can't be read without [ledger]"
    share = spec.tolerance if tolerance is None else tolerance
    lines = {head: head_lines(study, head, spec.heads) for head in spec.heads}
    rest = _uncompared(study, spec.heads)
    wanted = [line for group in (*lines.values(), *(found for _, found, _ in rest)) for line in group]
    values = Program(study.book, wanted).run({k: np.array([v]) for k, v in _HELD.items()})
    factor = 1.0 if ledger.days in A_YEAR else DAYS_PER_YEAR / ledger.days
    parts = tuple(_part(study, ledger, head, lines[head], values, factor, spec.heads) for head in spec.heads)
    whole = Part(
        "", "All compared", sum(p.books for p in parts), sum(p.model for p in parts), sum(p.charges for p in parts),
        sum(p.credits for p in parts),
    )  # fmt: skip
    floor = share * SMALL * abs(whole.books)
    beyond = tuple(p.head for p in parts if _beyond(p, share) and abs(p.difference) > floor)
    told = [Untold(label, _sum(values, found), why) for label, found, why in rest]
    untold = tuple(each for each in told if abs(each.model) > _CENT)
    return Reconciliation(ledger, factor, share, parts, whole, beyond, untold, _log_days(study, ledger))


def head_lines(study: Study, head: str, heads: Collection[str]) -> list[Line]:
    """The lines, in currency, whose sum a head stands for; a family leaves out its price groups that are heads too."""
    family, _, group = head.partition(".")
    parts = study.methods[study.scenario.current].todays[family]
    if group:
        return [line for name, line in parts if name == group]
    return [line for name, line in parts if f"{family}.{name}" not in heads]


def head_label(head: str, heads: Collection[str] = ()) -> str:
    """A head in words: "Waste disposal", "Consumables: chemistry"."""
    family, _, group = head.partition(".")
    label = LABELS[family].split(":")[0]
    if group:
        return f"{label}: {group.replace('_', ' ')}"
    return f"{label}: the rest" if any(h.startswith(f"{family}.") for h in heads) else label


def closings(study: Study, found: Reconciliation) -> list[Closing]:
    """What would close each part that differs by more than the tolerance, and the whole where it does."""
    spec = study.scenario.ledger
    assert spec is not None
    wanted = [(p, head_lines(study, p.head, spec.heads)) for p in found.parts if p.head in found.beyond]
    if found.whole_beyond and len(found.parts) > 1:
        every = [line for p in found.parts for line in head_lines(study, p.head, spec.heads)]
        wanted.append((found.whole, every))
    return [_closing(study, part, lines) for part, lines in wanted]


def _closing(study: Study, part: Part, lines: list[Line]) -> Closing:
    side = 1.0 if part.model > part.books else -1.0

    def figure(values: Values) -> Array:
        return np.asarray(_total(values, lines), float)

    def margin(values: Values) -> Array:
        return np.asarray(side * (part.books - figure(values)), float)

    def holds(values: Values) -> NDArray[np.bool_]:
        return np.asarray(margin(values) >= -_HAIR)

    held = {key: value for key, value in _HELD.items()}
    goal = Goal(tuple(lines), holds, margin, figure, held)
    only = [
        leaf.key
        for leaf in needed(lines)
        if isinstance(leaf, Input)
        and leaf.key.split(".")[0] not in _NOT_OF_THE_YEAR
        and not in_grades(leaf.key)
    ]
    program = Program(study.book, lines)

    def left(at: dict[str, float]) -> float:
        changes = {key: np.array([value]) for key, value in (at | held).items()}
        return part.books - _sum(program.run(changes), lines)

    moved = joint(study, goal, so=False, only=only)
    at = _at(moved.moved)
    if moved.share is None or abs(left(at)) < STEPPED:
        return Closing(part.head, part.label, moved, left(at), at)
    # It crosses what the books show in a step: whichever side of it is nearer, unless staying put is nearer still.
    near = min((moved, replace(moved, moved=moved.before)), key=lambda one: abs(left(_at(one.moved))))
    at = _at(near.moved)
    if abs(left(at)) >= abs(part.difference):
        return Closing(part.head, part.label, Joint(None, (), None), part.difference, {}, True)
    return Closing(part.head, part.label, replace(near, fewest=None), left(at), at, True)


def _at(moved: Sequence[Moved]) -> dict[str, float]:
    return {m.stated.key: _engine(m.stated, m.end if m.at is None else m.at) for m in moved}


def _engine(stated: StatedInput, seen: float) -> float:
    """A value as people see it in the engine's unit."""
    return seen / (100 if stated.percent else 1) * stated.factor


def _part(
    study: Study,
    ledger: Ledger,
    head: str,
    lines: Sequence[Line],
    values: Values,
    factor: float,
    heads: Collection[str],
) -> Part:
    rows = ledger.of(COUNTED, head)
    books = sum(row.amount for row in rows) * factor
    credits = sum(row.amount < 0 for row in rows)
    model = _sum(values, lines)
    return Part(head, head_label(head, heads), books, model, len(rows) - credits, credits)


def _uncompared(study: Study, heads: Collection[str]) -> list[tuple[str, list[Line], str]]:
    """Label, lines and reason of each part of the running cost for which no account stands."""
    found: list[tuple[str, list[Line], str]] = []
    for family, parts in study.methods[study.scenario.current].todays.items():
        if family in heads:
            continue
        named = [name for name, _ in parts if f"{family}.{name}" in heads]
        why = NOT_INVOICED.get(family, "no account stands for it")
        if not named:
            found.append((head_label(family), [line for _, line in parts], why))
            continue
        for name in dict.fromkeys(name for name, _ in parts if name not in named):
            label = f"{head_label(f'{family}.{name}')} prices"
            found.append((label, [line for g, line in parts if g == name], why))
    return found


def _beyond(part: Part, tolerance: float) -> bool:
    if part.share is None:
        return abs(part.difference) > _CENT
    return abs(part.share) > tolerance


def _total(values: Values, lines: Sequence[Line]) -> Array:
    return (
        np.sum(np.stack(np.broadcast_arrays(*(values[line] for line in lines))), axis=0)
        if lines
        else np.zeros(1)
    )


def _sum(values: Values, lines: Sequence[Line]) -> float:
    return float(_total(values, lines).flat[0])


def _log_days(study: Study, ledger: Ledger) -> tuple[str, ...]:
    days = study.scenario.work.day
    known = days[~np.isnat(days)]
    if not known.size:
        return ()
    first, last = known.min(), known.max()
    month = np.timedelta64(31, "D")
    near = first >= np.datetime64(ledger.first) - month and last <= np.datetime64(ledger.last) + month
    return () if near else (str(first), str(last))


__all__ = ["Closing", "Part", "Reconciliation", "Untold", "closings", "head_label", "head_lines", "reconcile"]
