"""What would have to be true for a claim in plain words, such as "pays back in 18 months", to be so.

A claim is about one method in cash, after tax; paybacks, savings and break-even are against the method in use. For each
input alone the value nearest to best is sought at which the claim becomes so or, where it is so as stated, ceases to be.
Inputs are in the unit people see, percentages as such: 10 for 10 %. How inputs move together is in `joint`. What is
understood as a claim is in `scenario/claiming`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from roi.answers.goals import Goal, goal
from roi.answers.joint import Joint, joint
from roi.answers.searched import searched, shown, turning
from roi.engine.evaluate import Program
from roi.engine.switches import Search
from roi.model.study import Study
from roi.scenario.claiming import EXAMPLES, Claim, named, read
from roi.scenario.stated import StatedInput


@dataclass(frozen=True)
class Alone:
    """An input and the value at which, it alone being moved, the claim becomes so (or ceases to be); None for no value.

    within : whether that lies within its own low and high; told : `at` rounded away from best to as few digits as do it
        when put back, which is what people are told
    change_percent : the change in per cent of best, None where best is nought; share_of_range : of low to high
    """

    stated: StatedInput
    best: float
    at: float | None
    within: bool
    change_percent: float | None
    share_of_range: float | None
    told: float | None = None


@dataclass(frozen=True)
class Needed:
    """What would have to be true.

    so : whether the claim is so at the best values; then `alone` and `joint` tell where it ceases to be
    figure : the figure the claim speaks of at best (payback in years, savings or lead in currency a year, cost a plate, or how
        much less the method's present cost is at the volume claimed); None where there is none
    alone : those with a value first, the least share of their own range first
    """

    claim: Claim
    method: str
    so: bool
    figure: float | None
    alone: tuple[Alone, ...]
    joint: Joint

    @property
    def met(self) -> list[Alone]:
        """The inputs that alone could do it, however far they go."""
        return [each for each in self.alone if each.at is not None]


def stated_claims(study: Study) -> list[Claim]:
    """The claims that a scenario states, each found good when it was read."""
    scenario = study.scenario
    return [read(text, scenario.currency) for text in scenario.plain("claims", default=[])]


def whose(study: Study, claim: Claim, method: str | None = None) -> str:
    """The method a claim is about: the one given, else the one it names, else the cheapest but for the current one.

    Raises BadInput for a method not known, for two, and for one that would be compared with itself.
    """
    current = study.scenario.current
    found = named([sheet.method for sheet in study.methods.values()], current, claim, method)
    if found is not None:
        return found
    lines = {name: sheet.lines for name, sheet in study.methods.items() if name != current}
    values = study.evaluate()
    cost = {
        name: (float(values[each["feasible"]][0]) != 1, float(values[each["present"]][0]))
        for name, each in lines.items()
    }
    return min(cost, key=lambda name: cost[name])


def needed(study: Study, claim: Claim, method: str | None = None) -> Needed:
    """What would have to be true for a claim to be so. Raises BadInput as `whose` does."""
    name = whose(study, claim, method)
    wanted = goal(study, claim.kind, claim.amount, name)
    found = Program(study.book, wanted.lines).run({k: np.array([v]) for k, v in wanted.held.items()})
    so, figure = bool(wanted.holds(found)[0]), float(wanted.figure(found).flat[0])
    return Needed(
        claim=claim,
        method=name,
        so=so,
        figure=figure if np.isfinite(figure) else None,
        alone=tuple(sorted(_alone(study, wanted, so), key=_rank)),
        joint=joint(study, wanted, so),
    )


def _alone(study: Study, wanted: Goal, so: bool) -> list[Alone]:
    inputs, ranges = searched(study, without=tuple(wanted.held))
    search = Search(
        study.book, wanted.lines, ranges, lambda values: [wanted.holds(values).astype(np.int64)], wanted.held
    )
    nearest: dict[int, float] = {}
    for change in search.changes():
        best = ranges[change.place].best
        known = nearest.get(change.place)
        if known is None or abs(change.beyond - best) < abs(known - best):
            nearest[change.place] = change.beyond
    found = []
    places = np.array(sorted(nearest), np.int64)
    beyond = [nearest[int(place)] for place in places]
    turned = np.full(len(places), not so, np.int64)
    judged = turning(inputs, ranges, places, beyond, turned, lambda place, x: search.judged(place, x)[0])
    told = dict(zip(places.tolist(), judged, strict=True))
    for place, (stated, each) in enumerate(zip(inputs, ranges, strict=True)):
        at = nearest.get(place)
        if at is None:
            found.append(Alone(stated, shown(stated, each.best), None, False, None, None))
            continue
        moved = at - each.best
        percent = moved / abs(each.best) * 100 if each.best else None
        share = abs(moved) / (each.high - each.low) if each.high > each.low else None
        within = each.low <= at <= each.high
        found.append(
            Alone(stated, shown(stated, each.best), shown(stated, at), within, percent, share, told[place])
        )
    return found


def _rank(each: Alone) -> tuple[bool, float, float]:
    share = np.inf if each.share_of_range is None else each.share_of_range
    return (each.at is None, share, abs(each.change_percent) if each.change_percent is not None else np.inf)


__all__ = ["EXAMPLES", "Alone", "Claim", "Needed", "needed", "read", "stated_claims", "whose"]
