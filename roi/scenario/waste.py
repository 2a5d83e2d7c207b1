"""Rules on hazardous waste as data: the classes of generator by the mass of a month, with source and caution.

A new country is a new file in roi/data/waste. What class a shop is in is settled by test and by the authority, never here.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from roi.scenario.catalogue import data_file, load
from roi.scenario.problems import Problem

NONE = "none"


@dataclass(frozen=True)
class Level:
    """A class of generator: its limit in kg a month, and whether the limit itself already belongs to it."""

    name: str
    limit: float
    counts_itself: bool


@dataclass(frozen=True)
class WasteRules:
    """Classes from the least up; none where no rules are named."""

    label: str
    source: str
    caution: str
    levels: tuple[Level, ...]


NO_RULES = WasteRules("No rules named", "", "", ())


def rule_names() -> list[str]:
    """The shipped rule sets."""
    folder = data_file("waste")
    return sorted(file.name.removesuffix(".toml") for file in folder.iterdir() if file.name.endswith(".toml"))


def read_rules(name: str, file: str, problems: list[Problem]) -> WasteRules:
    """The rules a scenario names."""
    if name == NONE:
        return NO_RULES
    known = rule_names()
    if name not in known:
        near = difflib.get_close_matches(name, known, 1)
        mend = f'was "{near[0]}" meant?' if near else f"one of {', '.join(known)}, or {NONE}"
        problems.append(Problem(f"{file}, waste_rules", f'"{name}" is not known', mend))
        return NO_RULES
    table: Mapping[str, Any] = load("waste", f"{name}.toml")
    levels = tuple(
        Level(row["name"], float(row.get("from", row.get("above", 0))), "from" in row)
        for row in table["levels"]
    )
    return WasteRules(table["label"], f"{table['source']} ({table['year']})", table["caution"], levels)


__all__ = ["NONE", "NO_RULES", "Level", "WasteRules", "read_rules", "rule_names"]
