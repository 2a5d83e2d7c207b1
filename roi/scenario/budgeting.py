"""What a budget takes beside the reckoning: the tax on purchases that is not recovered is stated whole or not at all."""

from __future__ import annotations

from collections.abc import Mapping

from roi.scenario.files import Key, Raw
from roi.scenario.problems import Problem

_PAIR = {
    "vat_rate": 'state the rate too, like vat_rate = "20 %"',
    "vat_unrecovered": 'state the share not recovered too, like vat_unrecovered = "100 %"',
}


def check_budget(values: Mapping[Key, Raw], file: str, problems: list[Problem]) -> None:
    """One of a rate of tax and the share of it that is not recovered says nothing without the other."""
    there = [name for name in _PAIR if ("money", name) in values]
    if len(there) == 1:
        missing = next(name for name in _PAIR if name not in there)
        problems.append(Problem(f"{file}, money.{missing}", f"is missing beside {there[0]}", _PAIR[missing]))


__all__ = ["check_budget"]
