"""Rules on hazardous waste as data: the classes of generator by the mass of a month, with source and caution.

A rule set may hold limits of pH and silver, and the form of waste codes. A new country is a new file in roi/data/waste. What
class a shop is in is settled by test and by the authority, never here.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from roi.scenario.catalogue import data_file, load
from roi.scenario.files import Key, Raw
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
    """Classes from the least up; none where no rules are named.

    ph : corrosive at or below the first, at or above the second;  silver : mg/L, at or above;  None where no limit is given
    draining : what to know when old tanks are drained once
    code_form : what a stream's code must match, "" for no rule;  code_example : one such code
    """

    label: str
    source: str
    caution: str
    levels: tuple[Level, ...]
    ph: tuple[float, float] | None = None
    silver: float | None = None
    limits_source: str = ""
    draining: str = ""
    code_form: str = ""
    code_example: str = ""


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
    limits, codes = table.get("limits", {}), table.get("codes", {})
    ph = limits.get("corrosive_ph")
    return WasteRules(
        label=table["label"],
        source=f"{table['source']} ({table['year']})",
        caution=table["caution"],
        levels=levels,
        ph=(float(ph[0]), float(ph[1])) if ph else None,
        silver=limits.get("silver"),
        limits_source=limits.get("source", ""),
        draining=table.get("draining", ""),
        code_form=codes.get("form", ""),
        code_example=codes.get("example", ""),
    )


def check_codes(values: Mapping[Key, Raw], rules: WasteRules, problems: list[Problem]) -> None:
    """Codes of waste streams that are not of the form the rules give them."""
    for key, raw in values.items():
        if len(key) != 5 or (key[0], key[2], key[4]) != ("methods", "streams", "code") or not rules.code_form:
            continue
        if isinstance(raw.value, str) and not re.fullmatch(rules.code_form, raw.value):
            mend = f'write it like "{rules.code_example}", the asterisk where the list has one'
            problems.append(Problem(raw.at(key), f'"{raw.value}" is no code of the {rules.label}', mend))


__all__ = ["NONE", "NO_RULES", "Level", "WasteRules", "check_codes", "read_rules", "rule_names"]
