"""The mixed plan in words, and as a plain dictionary ready for JSON. Figures are those of `mixed`, picked up and said."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from roi.answers.assigned import Assignment, Home, Pair
from roi.answers.mixed import Mixed
from roi.engine.words import fixed
from roi.model.comparison import TIE
from roi.model.parts import CASH, FULL

SCHEMA = 1
VIEWS = ("cash", "full")


def sentences(found: Mixed) -> list[str]:
    """What was found, the verdict first."""
    return _Teller(found).tell()


def as_json(found: Mixed, *, names: bool = False) -> dict[str, Any]:
    """Everything found as a plain dictionary, unrounded; job numbers only with `names`."""
    scenario = found.study.scenario

    def pair(amounts: Pair) -> dict[str, float]:
        return dict(zip(VIEWS, amounts, strict=True))

    def home_of(home: Home) -> dict[str, Any]:
        presses = found.presses
        switched = [presses.switching(home.press, p) for p in (home.moved, home.bought) if p]
        return {
            "press": scenario.presses[home.press].id,
            "method": home.method,
            "helper": home.helper or None,
            "forms": presses.forms(home.kept) - presses.forms(home.bought),
            "plates": presses.plates(home.kept) - presses.plates(home.bought),
            "forms_moved": presses.forms(home.moved),
            "plates_moved": presses.plates(home.moved),
            "forms_bought_in": presses.forms(home.bought),
            "plates_bought_in": presses.plates(home.bought),
            "switches_year_1": sum(s.switches for s in switched),
            "press_hours_switching_year_1": sum(s.hours for s in switched),
            "switching": pair(home.switching),
            "variable_cost": home.variable,
        }

    def told(assignment: Assignment | None) -> dict[str, Any] | None:
        if assignment is None:
            return None
        present = assignment.present
        return {
            "owned": list(assignment.owned),
            "used": list(assignment.used),
            "present_cost": pair(present),
            "equivalent_annual_cost": pair((found.a_year(present[CASH]), found.a_year(present[FULL]))),
            "present_cost_by_method": {m: pair(cost) for m, cost in assignment.costs.items()},
            "switching": pair(assignment.switching),
            "presses": [home_of(home) for home in assignment.homes],
        }

    return {
        "schema": SCHEMA,
        "scenario": scenario.name,
        "currency": scenario.currency,
        "basis": "after_tax",
        "horizon_years": found.years,
        "current": scenario.current,
        "mix_is_cheapest": {view: found.mix_wins(i) for i, view in enumerate(VIEWS)},
        "best_mix": {view: told(found.best[i]) for i, view in enumerate(VIEWS)},
        "best_mix_by_variable_cost": told(found.best_by_variable_cost),
        "singles": {method: told(single) for method, single in found.singles.items()},
        "plans_by_variable_cost": [told(plan) for plan in found.plans],
        "assignments_tried": found.tried,
        "sets_not_tried_in_full": found.untried,
        "costliest_forms_out_of_reach": [form.as_json(names=names) for form in found.far],
        "sentences": sentences(found),
    }


class _Teller:
    """Sentences about what was found."""

    def __init__(self, found: Mixed) -> None:
        self.found = found
        self.short = {m.id: m.short for m in found.study.scenario.methods}
        self.label = [p.label for p in found.study.scenario.presses]
        self.code = found.study.scenario.currency

    def tell(self) -> list[str]:
        found = self.found
        single, mix = found.best_single(), found.best[CASH]
        if single is None and mix is None:
            return ["Neither one method nor the mixes tried can do this work as stated."]
        if found.one_press:
            return [*self._one_press(), *self._forms()]
        said = [self._verdict(single, mix), *self._staying(), *self._full()]
        if mix is not None:
            said += [*self._how(), *self._switching(mix)]
        return [*said, *self._forms()]

    def _money(self, present: float) -> str:
        return f"{self.code} {fixed(self.found.a_year(present), 0)} a year"

    def who(self, assignment: Assignment) -> str:
        """Which presses use what: "Polyester for A and B; Used metal for C"."""
        if len(assignment.used) == 1:
            return f"{self.short[assignment.used[0]]} for every press"
        said = []
        for method in dict.fromkeys(home.method for home in assignment.homes):
            mine = [home for home in assignment.homes if home.method == method]
            said.append(f"{self.short[method]} for {_listed([self.label[h.press] for h in mine])}")
        for helper in dict.fromkeys(h.helper for h in assignment.homes if h.moved):
            said.append(f"{self.short[helper]} for forms out of the others' reach")
        return "; ".join(dict.fromkeys(said))

    def _verdict(self, single: Assignment | None, mix: Assignment | None) -> str:
        if mix is None:
            assert single is not None
            return (
                f"A single method costs less: no mix can do this work. {self.who(single)} costs "
                f"{self._money(single.present[CASH])}."
            )
        if single is None:
            return f"Only a mixed plan can do this work: {self.who(mix)}. It costs {self._money(mix.present[CASH])}."
        gap = abs(mix.present[CASH] - single.present[CASH])
        if self.found.mix_wins():
            return (
                f"A mixed plan costs less: {self.who(mix)}. It costs {self._money(mix.present[CASH])}, "
                f"{self._money(gap)} less than the best single method, {self.short[single.used[0]]}."
            )
        return (
            f"A single method costs less: {self.who(single)} costs {self._money(single.present[CASH])}. "
            f"The cheapest mix costs {self._money(gap)} more: {self.who(mix)}."
        )

    def _staying(self) -> list[str]:
        staying, mix, single = self.found.staying, self.found.best[CASH], self.found.best_single()
        current = self.short[self.found.study.scenario.current]
        if staying is None:
            return [f"Staying as you are, with {current}, can't do this work."]
        cost = f"Staying as you are, with {current}, costs {self._money(staying.present[CASH])}"
        if staying.switching[CASH] > TIE:
            part = self._money(staying.switching[CASH])
            cost += f", {part} of it for switching presses to plates bought in, which Comparison leaves out"
        best = mix if self.found.mix_wins() else single
        if best is None or best.used == staying.used:
            return [f"{cost}: that is the cheapest."]
        gap = staying.present[CASH] - best.present[CASH]
        named = "the mix" if best is mix else self.short[best.used[0]]
        return [f"{cost}; {named} saves {self._money(gap)} against that."]

    def _full(self) -> list[str]:
        single, mix = self.found.best_single(FULL), self.found.best[FULL]
        counted = "With all freed time, floor and press hours counted as money"
        if mix is None or single is None:
            return []
        gap = self._money(abs(mix.present[FULL] - single.present[FULL]))
        if self.found.mix_wins(FULL):
            named, than = f"a mix costs least ({self.who(mix)})", self.short[single.used[0]]
            told = f"by {gap} less than {than} alone"
        else:
            named, told = f"{self.who(single)} costs least", f"and the cheapest mix {gap} more"
        warned = "" if self.found.mix_wins(FULL) == self.found.mix_wins() else "Beware: "
        counted = counted if not warned else counted[0].lower() + counted[1:]
        return [f"{warned}{counted}, {named}, {told}."]

    def _how(self) -> list[str]:
        found = self.found
        by_variable, best = found.best_by_variable_cost, found.best[CASH]
        assert best is not None
        if by_variable is None:
            alone = {plan.used[0] for plan in found.plans}
            names = _listed([self.short[m] for m in found.singles if m in alone])
            said = (
                "Given press by press to the method with the least variable cost, every set of methods tried comes to one "
                f"method for all presses ({names}): the mix is the cheapest of all {found.tried:,} assignments tried."
            )
        elif by_variable.present[CASH] > best.present[CASH] + TIE:
            gap = self._money(by_variable.present[CASH] - best.present[CASH])
            said = (
                f"Given press by press to the method with the least variable cost, the best mix is {self.who(by_variable)}, "
                f"{gap} dearer: fixed costs and steps make the difference. All {found.tried:,} assignments were tried."
            )
        else:
            said = "Each press has the owned method with the least variable cost for its work"
            all_tried = f"; none of the {found.tried:,} assignments tried that mix methods costs less"
            said += (all_tried if found.tried else "") + "."
        if found.untried:
            said += f" In {found.untried:,} sets there are too many assignments to try them all."
        return [said]

    def _switching(self, mix: Assignment) -> list[str]:
        said = []
        for home in mix.homes:
            for maker, parts in ((self.short.get(home.helper, ""), home.moved), ("a supplier", home.bought)):
                if parts:
                    switched = self.found.presses.switching(home.press, parts)
                    said.append(
                        f"In the mix {fixed(self.found.presses.forms(parts), 0)} forms a year on {self.label[home.press]} are "
                        f"out of {self.short[home.method]}'s reach and come from {maker}: {fixed(switched.switches, 0)} "
                        f"switches between kinds of plates, {fixed(switched.hours, 0)} hours of press a year."
                    )
        return said

    def _one_press(self) -> list[str]:
        found, single = self.found, self.found.best_single()
        best = found.study.scenario.inputs
        minutes = sum(
            best[("shop", name)].best * best[("shop", name)].factor
            for name in ("switch_packing", "switch_fountain")
        )
        label = self.label[found.presses.busy[0]]
        said = [
            f"All work runs on one press, {label}: there is nothing to split between methods. By form instead of by press it "
            f"would need plates of two kinds on it, and some {fixed(minutes, 0)} minutes of packing and fountain solution at "
            "every switch."
        ]
        if single is not None:
            said.append(
                f"One method: {self.short[single.used[0]]} costs {self._money(single.present[CASH])}."
            )
        return said

    def _forms(self) -> list[str]:
        if self.found.forms_of is None:
            return ["No form is out of reach of its press's method."]
        assignment, called = self.found.forms_of
        out = [parts for home in assignment.homes for parts in (home.moved, home.bought) if parts]
        forms = sum(self.found.presses.forms(parts) for parts in out)
        who = called if assignment is self.found.best[CASH] else f"{called} ({self.who(assignment)})"
        return [f"With {who}, {fixed(forms, 0)} forms a year are out of reach of their press's method."]


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


__all__ = ["as_json", "sentences"]
