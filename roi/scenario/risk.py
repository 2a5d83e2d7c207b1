"""How a scenario wants its uncertain inputs drawn, as stated in [risk], and which of them move together.

draws and seed are whole numbers, together is a share from 0 to 1, shape is "pert" or "triangular" (checked with the other
texts of few choices). What is left out is as in the shipped risk.toml.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from roi.scenario.catalogue import fits, load
from roi.scenario.files import Key, Raw
from roi.scenario.problems import Problem

if TYPE_CHECKING:
    from roi.scenario.scenario import Scenario

LEAST, MOST = 100, 2_000_000  # draws
MOST_SEED = 2**32 - 1
_RULES: dict[str, tuple[type | tuple[type, ...], float, float, str]] = {
    "draws": (int, LEAST, MOST, f"write a whole number from {LEAST} to {MOST}, like draws = 4096"),
    "seed": (int, 0, MOST_SEED, f"write a whole number from 0 to {MOST_SEED}, like seed = 1"),
    "together": ((int, float), 0, 1, "write a share from 0 to 1, like together = 0.5"),
}


@dataclass(frozen=True)
class RiskSettings:
    """How many draws, from which seed, of which shape, and the share of them in which prices of a group move together."""

    draws: int
    seed: int
    shape: str
    together: float


@dataclass(frozen=True)
class PriceGroup:
    """Inputs whose prices move together, by key, in the scenario's order."""

    name: str
    label: str
    keys: tuple[str, ...]


def check_risk(values: dict[Key, Raw], problems: list[Problem]) -> None:
    """Add what is wrong with the numbers of [risk], where they are stated."""
    for name, (kind, least, most, mend) in _RULES.items():
        raw = values.get(("risk", name))
        if raw is None:
            continue
        number = isinstance(raw.value, kind) and not isinstance(raw.value, bool)
        if not number or not least <= raw.value <= most:
            problems.append(Problem(raw.at(("risk", name)), f"{raw.value!r} can't be used", mend))


def risk_settings(scenario: Scenario) -> RiskSettings:
    """What [risk] states, the rest as shipped."""
    usual: dict[str, Any] = _shipped()["usual"]
    stated = {name: scenario.plain("risk", name, default=value) for name, value in usual.items()}
    return RiskSettings(stated["draws"], stated["seed"], stated["shape"], float(stated["together"]))


def price_groups(scenario: Scenario, keys: Iterable[str]) -> list[PriceGroup]:
    """The groups of prices that move together, each with those of `keys` that belong to it; empty groups are left out.

    A method's plates belong to a group by their material; where none is stated, to no group.
    """
    material = {m.id: scenario.text("methods", m.id, "plates", "material") for m in scenario.methods}
    listed = [tuple(key.split(".")) for key in keys]
    groups: dict[str, dict[str, Any]] = _shipped()["groups"]
    found = []
    for name, group in groups.items():
        everywhere = [tuple(pattern.split(".")) for pattern in group["keys"]]
        of_methods = [tuple(pattern.split(".")) for pattern in group.get("of_methods", ())]
        mine = tuple(
            ".".join(key)
            for key in listed
            if any(fits(pattern, key) for pattern in everywhere)
            or (
                any(fits(pattern, key) for pattern in of_methods)
                and material.get(key[1]) == group["material"]
            )
        )
        if mine:
            found.append(PriceGroup(name, str(group["label"]), mine))
    return found


def in_grades(key: str) -> bool:
    """Whether an input comes in grades, so that nothing between its stated values is drawn."""
    return any(fits(pattern.split("."), tuple(key.split("."))) for pattern in _shipped()["grades"]["keys"])


@lru_cache(maxsize=1)
def _shipped() -> dict[str, dict[str, Any]]:
    return load("risk.toml")  # type: ignore[return-value]


__all__ = [
    "LEAST",
    "MOST",
    "PriceGroup",
    "RiskSettings",
    "check_risk",
    "in_grades",
    "price_groups",
    "risk_settings",
]
