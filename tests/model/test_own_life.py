"""Equivalent annual cost over own life: a published example, numpy-financial, and replacement chains."""

from __future__ import annotations

from pathlib import Path

import numpy_financial as npf
import pytest

from roi.model.study import Study, build
from roi.scenario.scenario import read
from tests.small_shop import SHOP, STILL

# No growth, no inflation, no tax: then nominal is real, and a chain is nothing but lives one after another.
MONEY = """
[money]
horizon = "{horizon} year"
discount_rate = "{rate} %/year"
inflation = "0 %/year"
tax_rate = "0 %"
tax_schedule = "none"
"""
MACHINE = """
[methods.{method}.equipment.line]
price = "{price} USD"
life = "{life} year"
contract = "{contract} USD/year"
freight = "0 USD"
installation = "0 USD"
commissioning = "0 USD"
training = "0 USD"
resale = "{resale} %"
"""


def study(folder: Path, machines: str, rate: float = 5, horizon: int = 24) -> Study:
    path = folder / "shop.toml"
    shop = SHOP.replace(
        '[methods.polyester.equipment.line]\nyears_left = "4 year"\n', "[methods.polyester]\n"
    )
    path.write_text(shop + MONEY.format(rate=rate, horizon=horizon) + STILL + machines, encoding="utf-8")
    return build(read(path))


def machine_alone(made: Study, method: str, contract: float) -> float:
    """A machine's cost a year with its contract: all of the method's but its other running costs."""
    values, lines = made.evaluate(), made.methods[method].lines
    others = float(values[lines["running_today"]][0]) - contract
    return float(values[lines["own_life"]][0]) - others


@pytest.mark.parametrize(
    "price, life, contract, expected", [(50_000, 3, 13_000, 31_360), (150_000, 8, 7_500, 30_708)]
)
def test_the_practical_example(tmp_path: Path, price: int, life: int, contract: int, expected: float) -> None:
    """Wikipedia, 'Equivalent annual cost', 'A practical example', as transcribed; 5 % a year, no salvage value."""
    text = MACHINE.format(method="direct", price=price, life=life, contract=contract, resale=0)
    made = study(tmp_path, text)
    repairs = float(made.evaluate()[made.methods["direct"].lines["running_today"]][0])
    assert repairs > contract
    assert machine_alone(made, "direct", contract) == pytest.approx(expected, abs=1)


def test_against_numpy_financial_with_a_resale(tmp_path: Path) -> None:
    made = study(
        tmp_path, MACHINE.format(method="direct", price=18_000, life=6, contract=900, resale=15), rate=7
    )
    expected = -npf.pmt(0.07, 6, 18_000, -0.15 * 18_000) + 900
    assert machine_alone(made, "direct", 900) == pytest.approx(expected, rel=1e-9)


def test_a_rate_of_nothing_spreads_evenly(tmp_path: Path) -> None:
    made = study(
        tmp_path, MACHINE.format(method="direct", price=18_000, life=6, contract=900, resale=10), rate=0
    )
    assert machine_alone(made, "direct", 900) == pytest.approx(18_000 * 0.9 / 6 + 900, rel=1e-9)


def test_chains_over_the_common_multiple_give_the_same(tmp_path: Path) -> None:
    """Lives of 3 and 8 years over 24: the horizon's equivalent annual cost is that of one life, for either method."""
    machines = MACHINE.format(method="direct", price=20_000, life=3, contract=500, resale=20)
    machines += MACHINE.format(method="polyester", price=9_000, life=8, contract=700, resale=5)
    made = study(tmp_path, machines)
    values = made.evaluate()
    for sheet in made.methods.values():
        own, over_24 = (float(values[sheet.lines[key]][0]) for key in ("own_life", "equivalent"))
        assert own == pytest.approx(over_24, rel=1e-9)
