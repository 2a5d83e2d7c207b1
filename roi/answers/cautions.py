"""What a reader must be told about chemistry, heat, power, waste and tax: the cautions of the methods compared, each once.

The words stand in `data/cautions.toml`; here is only which of them concern a scenario.
"""

from __future__ import annotations

from dataclasses import dataclass

from roi.scenario.catalogue import load
from roi.scenario.scenario import Scenario


@dataclass(frozen=True)
class Caution:
    """One caution: `matter` as a heading, `methods` that it concerns by short name (none: everybody), and its words."""

    matter: str
    methods: tuple[str, ...]
    text: str


def cautions(scenario: Scenario) -> list[Caution]:
    """Those that the methods name, in the scenario's order, then those that concern everybody."""
    known = load("cautions.toml")
    always: list[str] = list(known["always"])  # type: ignore[call-overload]
    named = dict.fromkeys([*(c for m in scenario.methods for c in m.cautions), *always])
    return [
        Caution(
            name.replace("_", " ").capitalize(),
            tuple(m.short for m in scenario.methods if name in m.cautions),
            str(known[name]["text"]),  # type: ignore[index]
        )
        for name in named
    ]


__all__ = ["Caution", "cautions"]
