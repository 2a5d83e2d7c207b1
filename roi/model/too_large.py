"""Whether the figures of a reckoning are few enough digits to be held and said exactly; in the engine's units.

A spreadsheet keeps fifteen digits: amounts of money need two of them after the point. What is stated each within its limits may
come to more together, such as growth over many years. Nothing is worked out here.
"""

from __future__ import annotations

import numpy as np

from roi.engine.column import Line
from roi.engine.evaluate import Values
from roi.scenario.problems import BadInput, Problem
from roi.scenario.scenario import Scenario
from roi.units.quantity import symbols_of

MOST_MONEY, MOST_OTHER = 1e13, 1e15  # currency with two decimals; whatever else is counted
MEND = "check plates a month, prices and other amounts, growth, inflation and years looked ahead: one is far too large"


def refuse_too_large(scenario: Scenario, values: Values) -> None:
    """Raise BadInput where a line's value for one case reaches what a workbook holds exactly, or is no number."""
    flat = np.concatenate([np.ravel(held) for held in values.values()])
    if np.abs(flat).max() < MOST_MONEY:  # nearly always, and false for what is no number
        return
    for line, held in values.items():
        assert isinstance(line, Line)
        most = MOST_MONEY if "currency" in dict(line.unit.powers) else MOST_OTHER
        largest = float(np.abs(held).max())
        if not largest < most:
            unit = symbols_of(line.unit).text(scenario.currency)
            what = (
                "the numbers stated come to more than a workbook can hold exactly: "
                f"{_short(largest)} {unit}".rstrip()
                + f' for "{line.label}" of {line.column.title}'
            )
            raise BadInput([Problem(scenario.path.name, what, MEND)])


def _short(number: float) -> str:
    """A number too long to be read, in a word: 4e15."""
    return f"{number:.0e}".replace("e+", "e") if np.isfinite(number) else "a number without end"
