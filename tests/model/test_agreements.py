"""Agreements with a minimum and steps in price, by hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from roi.model.study import Study, build
from roi.scenario.problems import BadInput
from roi.scenario.scenario import read
from tests.small_shop import SHOP

STILL = '[growth]\nvolume = "-10 %/year"\nplates = "3 %/year"\n'


def study(folder: Path, more: str) -> Study:
    path = folder / "shop.toml"
    path.write_text(SHOP + STILL + more, encoding="utf-8")
    return build(read(path))


def test_a_minimum_bills_what_was_not_used_while_it_runs(tmp_path: Path) -> None:
    text = '[methods.direct.agreement]\nminimum = "{}"\nprice = "20 USD/m2"\nyears = "3 year"\n'
    plain = study(tmp_path, "")
    area = float(plain.evaluate()[plain.methods["direct"].lines["area"]][0])
    minimum = 0.95 * area  # met in year 1, not after: the work shrinks by a tenth a year
    made = study(tmp_path, text.format(f"{minimum!r} m2/year"))
    before = plain.evaluate()[plain.methods["direct"].families["consumables"]].ravel()
    after = made.evaluate()[made.methods["direct"].families["consumables"]].ravel()
    expected = [0, 0, (minimum - 0.9 * area) * 20 * 1.03**2, (minimum - 0.81 * area) * 20 * 1.03**3, 0, 0]
    assert (after - before)[:6] == pytest.approx(expected, abs=1e-6)
    assert expected[2] > 0


def test_a_step_multiplies_from_its_year_on(tmp_path: Path) -> None:
    """ "+25 % in year 3": years 1 and 2 as before, 1.25 times from year 3 on."""
    made = study(tmp_path, '[price_steps.plates]\nchange = "25 %"\nyear = "3 year"\n')
    level = made.evaluate()[made.shop.growth["plates"]].ravel()
    assert level[:3] == pytest.approx([1, 1.03, 1.03**2])
    assert level[3:6] == pytest.approx([1.25 * 1.03**y for y in (3, 4, 5)])


def test_a_step_within_a_year_counts_for_the_months_left_of_it(tmp_path: Path) -> None:
    """Month-weighted mean: from the tenth month on, 3 of 12 months pay a quarter more."""
    made = study(tmp_path, '[price_steps.plates]\nchange = "25 %"\nyear = "3 year"\nmonth = "10 month"\n')
    level = made.evaluate()[made.shop.growth["plates"]].ravel()
    assert level[:3] == pytest.approx([1, 1.03, 1.03**2])
    assert level[3] == pytest.approx((9 * 1 + 3 * 1.25) / 12 * 1.03**3)
    assert level[4:6] == pytest.approx([1.25 * 1.03**y for y in (4, 5)])


@pytest.mark.parametrize("group", ["plates", "chemistry", "waste", "energy", "wages", "service", "equipment"])
def test_a_share_of_a_groups_prices_moves_all_it_pays_for(tmp_path: Path, group: str) -> None:
    """Cost is affine in a price: from half to once is as much as from once to one and a half."""
    made = study(tmp_path, "")
    sheet = made.methods["polyester"]
    found = [made.evaluate({f"prices.{group}": share}) for share in (0.5, 1.0, 1.5)]
    for line in (sheet.lines["present"], sheet.lines["own_life"]):
        low, mid, high = (float(values[line].flat[0]) for values in found)
        assert mid - low == pytest.approx(high - mid)
        assert mid > low


def test_what_is_stated_in_part_is_asked_for(tmp_path: Path) -> None:
    with pytest.raises(BadInput) as bad:
        study(
            tmp_path,
            '[price_steps.paper]\nchange = "25 %"\n[methods.direct.loan]\nshare = "50 %"\n'
            '[methods.direct.changeover]\nundo = "9 USD"\nlearning_minutes = "1 min/plate"\n',
        )
    told = {(p.where, p.what) for p in bad.value.problems}
    assert ("shop.toml, price_steps.paper", "is no group of prices") in told
    assert ("shop.toml, price_steps.paper.year", "is missing") in told
    assert ("shop.toml, methods.direct.loan.rate", "is missing") in told
    assert ("shop.toml, methods.direct.loan.term", "is missing") in told
    assert ("shop.toml, methods.direct.changeover.undo_month", "is missing") in told
    assert ("shop.toml, methods.direct.changeover.learning", "is missing") in told
