"""A kept backup instead of plates bought in, against arithmetic written out.

The old way of the small shop of `conftest` with nothing remade or used again: 974 large and 243.5 small plates a year (see
`test_orders`), 2 of 250 days down, plates at 4 and 2 USD against 20 and 12 bought in. Bought-in prices rise by 5 %, plates by
3 %, service by 8 % a year; the work shrinks by 10 %; 25 % tax.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from roi.model.study import Study
from tests.model.test_orders import SIMPLE

DOWN = "[methods.old.downtime]\n"
BOUGHT_IN = (974 * (20 - 4) + 243.5 * (12 - 2)) * 2 / 250  # 144.152 USD a year
TRIPS = 2 * 15
MADE = 1217.5 * 2 / 250  # 9.74 plates a year

Builder = Callable[..., Study]


@pytest.fixture(scope="module")
def plain(small_shop: Builder) -> Study:
    return small_shop()


def kept(small_shop: Builder, *keys: str) -> Study:
    return small_shop((DOWN, "[methods.old.backup]\n" + "".join(f"{key}\n" for key in keys) + DOWN))


def difference(study: Study, plain: Study, name: str) -> list[float]:
    """What a block of the old way comes to more than without a backup, years 0 to 4."""
    found = []
    for each in (study, plain):
        sheet = each.methods["old"]
        line = sheet.families[name] if name in sheet.families else sheet.lines[name]
        found.append(each.evaluate(SIMPLE)[line].ravel()[:5])
    return (found[0] - found[1]).tolist()


def spared(year: int) -> float:
    """Plates bought in and trips of a year, which a backup spares."""
    return (BOUGHT_IN * 0.9 ** (year - 1) + TRIPS) * 1.05**year if year else 0.0


def test_days_down_are_made_on_the_backup(plain: Study, small_shop: Builder) -> None:
    """200 USD a year to keep it ready, 0.50 USD more a plate made on it: in place of plates bought in and of trips."""
    study = kept(small_shop, 'yearly = "200 USD/year"', 'price = "0.5 USD/plate"')
    cost = [0.0] + [200 * 1.08**y + MADE * 0.5 * 0.9 ** (y - 1) * 1.03**y for y in range(1, 5)]
    expected = [paid - spared(y) for y, paid in enumerate(cost)]
    assert difference(study, plain, "equipment") == pytest.approx(expected)
    assert spared(1) == pytest.approx(182.8596)


def test_resale_forgone_is_money_not_received_and_leaves_tax_as_it_is(
    plain: Study, small_shop: Builder
) -> None:
    """1,000 USD in year 0, neither relieved nor taxed; later years differ only by the plates no longer bought in."""
    study = kept(small_shop, 'resale = "1000 USD"')
    saved = [spared(y) for y in range(5)]
    assert difference(study, plain, "before") == pytest.approx([-1000, *saved[1:]])
    assert difference(study, plain, "tax") == pytest.approx([-0.25 * s for s in saved])
    assert difference(study, plain, "after") == pytest.approx([-1000, *(0.75 * s for s in saved[1:])])
    assert difference(study, plain, "first_cost")[0] == pytest.approx(1000)
    assert difference(study, plain, "depreciation") == pytest.approx([0] * 5)
    worth = 1000 - sum(0.75 * s / 1.1**y for y, s in enumerate(saved))
    assert difference(study, plain, "present")[0] == pytest.approx(worth)
    assert difference(study, plain, "present_full")[0] == pytest.approx(worth)


def test_money_over_the_years_still_agrees_with_itself(small_shop: Builder) -> None:
    from roi.answers.checks import results

    study = kept(small_shop, 'resale = "1000 USD"', 'yearly = "200 USD/year"', 'price = "0.5 USD/plate"')
    assert [name for name, ok in results(study, study.evaluate()) if not ok] == []


def test_a_kept_backup_can_be_sold_when_the_change_is_undone(small_shop: Builder) -> None:
    """New keeps a backup worth 1,000: going back costs what it would cost without, since that is fetched then."""
    undo = '[methods.new.changeover]\nundo = "500 USD"\nundo_month = "6 month"\n[methods.new.press]\n'
    down = '[methods.new.downtime]\ndays = "1 day/year"\n'
    backup = '[methods.new.backup]\nresale = "1000 USD"\n'
    found = []
    for more in (down, down + backup):
        study = small_shop(("[methods.new.press]\n", more + undo))
        values = study.evaluate()
        lines = study.methods["new"].lines
        found.append([float(values[lines[k]].flat[0]) for k in ("undoing", "first_cost")])
    assert found[1][0] == pytest.approx(found[0][0])
    assert found[1][1] == pytest.approx(found[0][1] + 1000)
