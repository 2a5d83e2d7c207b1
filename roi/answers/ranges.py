"""Each input at its low and its high, the others at their best: which of them alone would turn the answer.

Only this program can try them all, so what is found here is delivered as text, and holds for the inputs as delivered.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from roi.engine.evaluate import Program
from roi.model.study import Study
from roi.scenario.stated import StatedInput


@dataclass(frozen=True)
class End:
    """An input at one end of its range, the others at their best.

    winner, winner_full : the cheapest method then, in cash and at full cost; empty where none can do the work
    lead : what the method cheapest at the best values then leads by over the others in cash, in currency a year;
        negative where it is no longer the cheapest, infinite where no other can do the work, minus infinite where it
        can't itself
    """

    stated: StatedInput
    end: str
    value: float
    winner: str
    winner_full: str
    lead: float


@dataclass(frozen=True)
class Ranges:
    """Every input's two ends, and the winners and the lead at the best values.

    able : whether some method can do the work at the best values
    """

    able: bool
    winner: str
    winner_full: str
    lead: float
    ends: tuple[End, ...]

    @property
    def turns(self) -> list[End]:
        """The ends at which another method is the cheapest in cash."""
        return [e for e in self.ends if e.winner not in ("", self.winner)]

    @property
    def turns_full(self) -> list[End]:
        """The ends at which another method is the cheapest at full cost."""
        return [e for e in self.ends if e.winner_full not in ("", self.winner_full)]

    @property
    def nearest(self) -> list[End]:
        """Each input once, at its end that cuts the lead most, the least lead first; none where nothing competes."""
        if not np.isfinite(self.lead):
            return []
        best: dict[str, End] = {}
        for end in sorted(self.ends, key=lambda e: e.lead):
            best.setdefault(end.stated.key, end)
        return list(best.values())


@lru_cache(maxsize=2)
def try_ranges(study: Study) -> Ranges:
    """Compute every input's low and high, one at a time; kept, since the words, the cases and the mistakes all ask."""
    rows, used = study.comparison.rows, study.book.inputs
    ranged = [
        s for s in study.scenario.inputs.values() if s.key in used and (s.low != s.best or s.high != s.best)
    ]
    count = 1 + 2 * len(ranged)
    cases: dict[str, np.ndarray] = {}
    for i, stated in enumerate(ranged):
        values = np.full(count, stated.best * stated.factor)
        values[1 + 2 * i], values[2 + 2 * i] = stated.low * stated.factor, stated.high * stated.factor
        cases[stated.key] = values
    wanted = [rows["winner"], rows["winner_full"], rows["equivalent"], rows["feasible"]]
    found = Program(study.book, wanted).run(cases)
    cash, full = (np.broadcast_to(found[line], (count,)) for line in wanted[:2])
    methods = len(study.scenario.methods)
    cost, feasible = (np.broadcast_to(found[line], (methods, count)) for line in wanted[2:])
    first = max(round(float(cash[0])) - 1, 0)
    rivals = np.where(feasible == 1, cost, np.inf)
    rivals[first] = np.inf
    # Of two that can't do the work neither leads.
    with np.errstate(invalid="ignore"):
        lead = rivals.min(axis=0) - np.where(feasible[first] == 1, cost[first], np.inf)
    lead = np.where(np.isnan(lead), np.inf, lead)
    names = ("", *study.comparison.methods.labels)
    winner, winner_full = ([names[round(float(x))] for x in view] for view in (cash, full))
    ends = tuple(
        End(stated, end, value, winner[j], winner_full[j], float(lead[j]))
        for i, stated in enumerate(ranged)
        for j, end, value in ((1 + 2 * i, "low", stated.low), (2 + 2 * i, "high", stated.high))
    )
    return Ranges(bool(feasible[:, 0].any()), winner[0], winner_full[0], float(lead[0]), ends)


def how_close(ranges: Ranges) -> str:
    """In words: whether any single input could turn the answer, in either view."""
    if not ranges.able:
        return "No method can do this work at the best values, so there is nothing to be close to."
    cash, full = (len({t.stated.key for t in turns}) for turns in (ranges.turns, ranges.turns_full))
    if cash:
        what = "one input alone" if cash == 1 else f"{cash} inputs, each alone,"
        return f"In cash {what} within range would make another method the cheapest."
    if not np.isfinite(ranges.lead):
        return "No second method can do the work, so no range makes another the cheapest."
    if not full:
        return (
            "No single input, within its range, makes another method the cheapest, in cash or at full cost."
        )
    also = f"{full} would" if full > 1 else "one would"
    return (
        f"In cash no single input, within its range, makes another method the cheapest; at full cost {also}."
    )


def told(end: End, leader: str, currency: str) -> str:
    """One input's end in words: what it does to the lead of the method cheapest at the best values."""
    shown = (
        f"{end.value * 100:.4g} %" if end.stated.percent else f"{end.value:,.6g} {end.stated.shown}".strip()
    )
    at = f"{end.stated.label} at {shown}"
    if end.lead == -np.inf:
        return f"{at}: {leader} can't do the work, {end.winner} is cheapest"
    if end.lead == np.inf:
        return f"{at}: no other method can do the work"
    if end.lead < 0:
        return f"{at}: {end.winner} is cheapest, {leader} {currency} {-end.lead:,.0f} a year dearer"
    return f"{at}: the lead of {leader} falls to {currency} {end.lead:,.0f} a year"
