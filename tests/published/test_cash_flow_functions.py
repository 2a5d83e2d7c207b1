"""Present value, internal rates and level payments against published worked examples.

numpy-financial is what the project leans on; `internal_rate` is the project's own, for many cases at once,
and only where year 0 is an outlay, the sign changes once and the sum is positive. Examples and sources are in
cash_flow_functions.toml.
"""

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import numpy_financial
import pytest

from roi.engine.functions import internal_rate

FILE = Path(__file__).with_name("cash_flow_functions.toml")
PUBLISHED: dict[str, Any] = tomllib.loads(FILE.read_text("utf-8"))
GUESS = np.array([0.1])  # only the spreadsheet's IRR uses it


def examples(kind: str) -> list[Any]:
    """The published examples of one function, each named after its source."""
    rows = PUBLISHED[kind]
    return [pytest.param(row, id=f"{row['source']}-{number}") for number, row in enumerate(rows, 1)]


def loan(row: dict[str, Any]) -> list[float]:
    """An advance, then what is paid at the end of each unit period; the lender's view, outlay negative."""
    return [-float(row["advance"]), *(float(paid) for times, paid in row["payments"] for _ in range(times))]


def test_every_example_names_its_source() -> None:
    kinds = [kind for kind in PUBLISHED if kind != "sources"]

    assert {row["source"] for kind in kinds for row in PUBLISHED[kind]} == set(PUBLISHED["sources"])


@pytest.mark.parametrize("row", examples("npv"))
def test_present_value(row: dict[str, Any]) -> None:
    """A spreadsheet's NPV discounts its first value by a year, numpy-financial's not: `first` is its year."""
    flows = [0.0] * row["first"] + row["values"]

    assert numpy_financial.npv(row["rate"], flows) == pytest.approx(row["expected"], abs=row["within"], rel=0)


@pytest.mark.parametrize("row", examples("irr"))
def test_internal_rate(row: dict[str, Any]) -> None:
    assert numpy_financial.irr(row["values"]) == pytest.approx(row["expected"], abs=row["within"], rel=0)

    # What is never returned has no rate to show: ours says 0 and the words beside it say why.
    ours = internal_rate(np.array(row["values"], float)[:, None], GUESS)[0]
    expected = 0.0 if row.get("never_returned") else row["expected"]
    assert ours == pytest.approx(expected, abs=row["within"], rel=0)


@pytest.mark.parametrize("row", examples("apr"))
def test_internal_rate_of_a_loan(row: dict[str, Any]) -> None:
    """Regulation Z, Appendix J: percent a year, to 0.01."""
    flows, percent = loan(row), 100 * row["a_year"]

    assert percent * numpy_financial.irr(flows) == pytest.approx(row["expected"], abs=row["within"], rel=0)
    ours = internal_rate(np.array(flows)[:, None], GUESS)[0]
    assert percent * ours == pytest.approx(row["expected"], abs=row["within"], rel=0)


def test_internal_rates_of_many_cases_are_those_of_each() -> None:
    """All examples side by side, the shorter filled up with years of nothing, which change no rate."""
    cases = [[float(value) for value in row["values"]] for row in PUBLISHED["irr"]]
    cases += [loan(row) for row in PUBLISHED["apr"]]
    years = max(map(len, cases))
    block = np.array([flows + [0.0] * (years - len(flows)) for flows in cases]).T
    alone = [max(0.0, numpy_financial.irr(flows)) for flows in cases]

    np.testing.assert_allclose(internal_rate(block, GUESS), alone, rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize("row", examples("mirr"))
def test_modified_internal_rate(row: dict[str, Any]) -> None:
    found = numpy_financial.mirr(row["values"], row["finance"], row["reinvest"])

    assert found == pytest.approx(row["expected"], abs=row["within"], rel=0)


@pytest.mark.parametrize("row", examples("pmt"))
def test_level_payment(row: dict[str, Any]) -> None:
    when = "begin" if row.get("at_start") else "end"
    found = numpy_financial.pmt(row["rate"], row["periods"], row["present"], row.get("future", 0), when)

    assert found == pytest.approx(row["expected"], abs=row["within"], rel=0)
