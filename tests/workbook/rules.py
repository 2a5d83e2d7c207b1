"""The project's own test of what a finished workbook must be, as one list of what is broken.

Left to other tests: equality with a recalculation (tests/parity, which also shows circular references), valid
XML (openxml-audit), and what only a reader can judge.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from tests.workbook import chart_rules, formula_rules, sheet_rules
from tests.workbook.opened import Opened

RULES = (*formula_rules.RULES, *sheet_rules.RULES, *chart_rules.RULES)


def broken_rules(path: Path, say: Callable[[str], str] = str) -> list[str]:
    """Every breach of a rule in the workbook at `path`: "rule: Sheet!Cell: what is wrong". `say`: as in Opened."""
    opened = Opened(Path(path), say)
    return [f"{rule.__name__.replace('_', ' ')}: {breach}" for rule in RULES for breach in rule(opened)]
