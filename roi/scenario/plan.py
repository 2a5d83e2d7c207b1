"""The methods a shop would own together, as stated in [plan] or on the command line: ids of the scenario's methods."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from roi.scenario.files import Key, Raw
from roi.scenario.problems import Problem

if TYPE_CHECKING:
    from roi.scenario.scenario import Scenario

KEY = ("plan", "owned")


def owned_problems(names: object, known: Sequence[str], where: str) -> list[Problem]:
    """What is wrong with a list of methods owned together: not a list of two or more of the known ids, each once."""
    if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
        return [Problem(where, f"{names!r} is not a list of methods", f"name some of {', '.join(known)}")]
    found = []
    for name in dict.fromkeys(n for n in names if n not in known):
        near = difflib.get_close_matches(name, known, 1)
        mend = f'was "{near[0]}" meant?' if near else f"one of {', '.join(known)}"
        found.append(Problem(where, f'"{name}" is not among the methods', mend))
    if len(set(names)) < 2:
        found.append(Problem(where, "a mixed plan takes two methods or more", "name two different ones"))
    return found


def check_plan(values: dict[Key, Raw], methods: Iterable[str], problems: list[Problem]) -> None:
    """Add what is wrong with [plan] owned, where it is stated."""
    raw = values.get(KEY)
    if raw is not None:
        problems += owned_problems(raw.value, list(methods), raw.at(KEY))


def stated_owned(scenario: Scenario) -> tuple[str, ...]:
    """The methods stated to be owned together, in the scenario's order; none where nothing is stated."""
    names = scenario.plain(*KEY, default=())
    return tuple(m.id for m in scenario.methods if m.id in names)


__all__ = ["check_plan", "owned_problems", "stated_owned"]
