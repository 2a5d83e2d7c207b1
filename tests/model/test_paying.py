"""Loans against numpy-financial, against figures its documentation prints, and by hand month by month."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy_financial as npf
import pytest

from roi.model.study import Study, build
from roi.scenario.scenario import read
from roi.workbook.write import write_workbook
from tests.parity.recalculate import differences, ironcalc_values
from tests.small_shop import LEAN, SHOP

MONEY = """
[money]
horizon = "6 year"
discount_rate = "{discount} %/year"
tax_rate = "{tax} %"
"""
LOAN = """
[methods.direct.loan]
share = "80 %"
rate = "{rate} %/year"
term = "{term} year"
"""


def study(folder: Path, rate: float, term: int, discount: float = 8, tax: float = 25) -> Study:
    path = folder / "shop.toml"
    text = SHOP + MONEY.format(discount=discount, tax=tax) + LOAN.format(rate=rate, term=term)
    path.write_text(text, encoding="utf-8")
    return build(read(path))


def lines(made: Study) -> dict[str, np.ndarray]:
    values = made.evaluate()
    return {line.label: values[line] for line in made.methods["direct"].column.lines}


def test_payments_of_the_documentation() -> None:
    """The reference itself gives the figures its documentation prints."""
    assert npf.pmt(0.075 / 12, 12 * 15, 200000) == pytest.approx(-1854.0247, abs=1e-4)


@pytest.mark.parametrize("rate, term", [(8.24, 1), (7.5, 5), (0, 3), (24, 6)])
def test_payment_and_interest_by_year(tmp_path: Path, rate: float, term: int) -> None:
    found = lines(study(tmp_path, rate, term))
    borrowed, months = float(found["Borrowed"][0]), 12 * term
    assert borrowed == pytest.approx(0.8 * float(found["First cost of equipment"][0])) and borrowed > 1000
    assert found["Payment a month"][0] == pytest.approx(-npf.pmt(rate / 1200, months, borrowed), rel=1e-12)
    each = np.arange(1, months + 1)
    interest = -npf.ipmt(rate / 1200, each, months, borrowed) if rate else np.zeros(months)
    by_year = interest.reshape(term, 12).sum(axis=1)
    assert found["Interest of the year"][1 : term + 1, 0] == pytest.approx(by_year, abs=1e-6)
    assert np.abs(found["Interest of the year"][term + 1 :]).max(initial=0) < 1e-6
    assert found["Interest of the year"][0, 0] == 0


def test_the_year_of_the_documentation(tmp_path: Path) -> None:
    """numpy-financial 1.0.0, examples of `ipmt`: 2,500 at 8.24 % a year over twelve months bear 112.98 of interest."""
    found = lines(study(tmp_path, 8.24, 1))
    share = float(found["Interest of the year"].sum()) / float(found["Borrowed"][0])
    assert 2500 * share == pytest.approx(112.98, abs=0.005)


def test_worth_by_discounting_every_month(tmp_path: Path) -> None:
    found = lines(study(tmp_path, 9, 4, discount=11, tax=30))
    borrowed, payment = float(found["Borrowed"][0]), float(found["Payment a month"][0])
    monthly = 1.11 ** (1 / 12)
    paid = sum(payment / monthly**month for month in range(1, 49))
    interest = -npf.ipmt(0.09 / 12, np.arange(1, 49), 48, borrowed)
    saved = sum(0.30 * x / 1.11 ** (1 + month // 12) for month, x in enumerate(interest))
    assert found["Financing, net present value"][0] == pytest.approx(borrowed - paid + saved, abs=1e-6)


def test_a_loan_at_the_monthly_discount_rate_is_worth_nothing_before_tax(tmp_path: Path) -> None:
    """An invariant of engineering economics: borrowing at one's own rate neither saves nor costs."""
    rate = 12 * (1.08 ** (1 / 12) - 1) * 100
    found = lines(study(tmp_path, rate, 5, discount=8, tax=0))
    assert float(found["Borrowed"][0]) > 1000
    assert found["Financing, net present value"][0] == pytest.approx(0, abs=1e-6)


def test_the_workbook_follows(tmp_path: Path) -> None:
    made = study(tmp_path, 7.5, 5)
    path = tmp_path / "out.xlsx"
    results = write_workbook(made, made.evaluate(), path, LEAN)
    assert differences(results, ironcalc_values(path)) == []
