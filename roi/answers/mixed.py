"""The mixed plan: several methods owned together, each press with the one whose variable cost is least for its work.

Compared are its whole cost, every owned method's fixed costs and the switching of plates included, with one method for all
presses and with staying as one is. Money positive, in the scenario's currency, present worth after tax; pairs are (cash, full
cost). To compare like with like, one method for all presses bears the switching for what it buys in too, beside its present
cost, which stays that of the Comparison. How assignments come about and what they cost is in `assigned`, what is said of them in
`mixed_words`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from roi.answers.assigned import Assignment, Presses
from roi.answers.compare import horizon, one
from roi.answers.far import Far, farthest
from roi.engine.evaluate import Values
from roi.model.comparison import TIE
from roi.model.parts import CASH, FULL
from roi.model.study import Study
from roi.scenario.plan import owned_problems, stated_owned
from roi.scenario.problems import BadInput

LARGEST_SET = 3  # methods owned together, where the user names none


@dataclass(frozen=True)
class Mixed:
    """Everything found about owning several methods.

    presses : labels of the presses with work
    owned : the sets of methods tried
    singles : each method for all presses, by id; None where it can't do the work
    plans : for each set tried that can do the work, the assignment by variable cost; it may come to a single method
    best : the cheapest of the assignments that use two methods or more, by view; None where there is none
    best_by_variable_cost : the same of `plans` only
    tried, untried : assignments tried, and sets with too many of them, of which only the one by variable cost was
    forms_of : whose press methods `far` is about, and what that assignment is called
    far : the costliest forms that their press's method can't make, the costliest first
    """

    study: Study
    presses: Presses
    annuity: float
    years: int
    owned: tuple[tuple[str, ...], ...]
    singles: dict[str, Assignment | None]
    plans: tuple[Assignment, ...]
    best: tuple[Assignment | None, Assignment | None]
    best_by_variable_cost: Assignment | None
    tried: int
    untried: int
    forms_of: tuple[Assignment, str] | None
    far: tuple[Far, ...]

    @property
    def one_press(self) -> bool:
        """Whether there is nothing to split."""
        return len(self.presses.busy) < 2

    def best_single(self, view: int = CASH) -> Assignment | None:
        """One method for all presses at least cost; the current one in a tie."""
        able = [s for s in self.singles.values() if s is not None]
        if not able:
            return None
        least = min(s.present[view] for s in able)
        near = [s for s in able if s.present[view] <= least + TIE]
        return min(near, key=lambda s: s.used[0] != self.study.scenario.current)

    @property
    def staying(self) -> Assignment | None:
        """The current method for all presses; None where it can't do the work."""
        return self.singles[self.study.scenario.current]

    def mix_wins(self, view: int = CASH) -> bool:
        """Whether a mix costs less than every single method, by more than a tie."""
        mix, single = self.best[view], self.best_single(view)
        return mix is not None and (single is None or mix.present[view] < single.present[view] - TIE)

    def a_year(self, present: float) -> float:
        """A present cost as the level yearly payment worth the same."""
        return present / self.annuity


def mixed(
    study: Study,
    values: Values,
    owned: Sequence[str] = (),
    step: Callable[[str], None] = lambda _: None,
) -> Mixed:
    """Try owning several methods of a study together.

    values : the study's own lines, at the best values;  step : told what is being done
    owned : the methods owned; none: those that [plan] states, else every two and three of the scenario's

    Raises BadInput where `owned` are not two or more of the scenario's methods.
    """
    scenario = study.scenario
    ids = [m.id for m in scenario.methods]
    if owned and (problems := owned_problems(list(owned), ids, "--owned")):
        raise BadInput(problems)
    chosen = tuple(m for m in ids if m in owned) or stated_owned(scenario)
    sets = [chosen] if chosen else [s for n in range(2, LARGEST_SET + 1) for s in combinations(ids, n)]
    step("Splitting the work by press")
    presses = Presses(scenario)
    singles = {method: presses.single(method) for method in ids}
    plans: list[Assignment] = []
    every: list[Assignment] = []
    tried = untried = 0
    if len(presses.busy) > 1:
        for number, together in enumerate(sets, 1):
            step(f"Trying methods together, {number} of {len(sets)}")
            if (plan := presses.by_variable_cost(together)) is not None:
                plans.append(plan)
            found = presses.all_of(together)
            every += found
            tried += len(found)
            untried += presses.too_many(together)
    split = [a for a in (*plans, *every) if len(a.used) > 1]
    step("Looking at the forms out of reach")
    result = Mixed(
        study=study,
        presses=presses,
        annuity=one(values, study.shop.annuity),
        years=horizon(study, values),
        owned=tuple(sets),
        singles=singles,
        plans=tuple(sorted(plans, key=lambda a: a.present[CASH])),
        best=(_cheapest(split, CASH), _cheapest(split, FULL)),
        best_by_variable_cost=_cheapest([p for p in plans if len(p.used) > 1], CASH),
        tried=tried,
        untried=untried,
        forms_of=None,
        far=(),
    )
    return _with_forms(result)


def _cheapest(assignments: Sequence[Assignment], view: int) -> Assignment | None:
    # The first of those alike: one by variable cost stands before one found by trying all.
    return min(assignments, key=lambda a: round(a.present[view], 2)) if assignments else None


def _with_forms(found: Mixed) -> Mixed:
    """Look at forms out of reach in the cheapest assignment that has any: the answer, the mix, or staying."""
    mix, single = found.best[CASH], found.best_single()
    asked = [(mix, "the mix"), (single, "the best single method"), (found.staying, "staying as you are")]
    if not found.mix_wins():
        asked = [asked[1], asked[0], asked[2]]
    for assignment, called in asked:
        if assignment is not None and (far := farthest(found.presses, assignment)):
            return replace(found, forms_of=(assignment, called), far=far)
    return found


__all__ = ["Mixed", "mixed"]
