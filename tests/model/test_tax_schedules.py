"""Every shipped tax schedule in the model, on the small invented shop: what is relieved in each year, and that all of it is."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from roi.model.study import Study, build
from roi.scenario.files import Key, Raw
from roi.scenario.problems import Problem
from roi.scenario.tax import read_schedule, schedule_names

HORIZONS = (4, 40)


@pytest.fixture(scope="module", params=HORIZONS)
def shop(request: pytest.FixtureRequest, small_shop: Callable[..., Study]) -> tuple[int, Study]:
    """The small shop over few years and over the most there may be."""
    years = request.param
    return years, small_shop(('horizon = "4 year"', f'horizon = "{years} year"'))


@pytest.mark.parametrize("name", schedule_names())
def test_depreciation_and_the_last_book_value_are_the_capital(shop: tuple[int, Study], name: str) -> None:
    """Each year's depreciation is numpy's convolution of capital and shares, a year later; the rest falls to the last year."""
    horizon, before = shop
    problems: list[Problem] = []
    stated = {"tax_schedule": name, "tax_rate_of_balance": 0.3, "tax_years": 6}
    values: dict[Key, Raw] = {("money", key): Raw(value, "test", False) for key, value in stated.items()}
    tax = read_schedule(values, "test", problems)
    assert problems == []
    study = build(replace(before.scenario, tax=tax))
    found = study.evaluate()

    for sheet in study.methods.values():
        capital, old, taken, book = (
            found[sheet.lines[key]][:, 0] for key in ("capital", "old_book_off", "depreciation", "final_book")
        )
        by_schedule = np.convolve(capital, [0, *tax.shares])[: len(capital)]
        by_schedule[horizon + 1 :] = 0
        np.testing.assert_allclose(taken, by_schedule + old, rtol=1e-12, atol=1e-9)
        owed = capital.sum() + found[sheet.lines["old_book"]][0]
        assert taken.sum() + book.sum() == pytest.approx(owed, rel=1e-12)
        assert book[horizon] == book.sum() >= -1e-9 * owed
    assert any(found[s.lines["capital"]].sum() > 0 for s in study.methods.values())
