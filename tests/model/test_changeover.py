"""Changing over, by hand: what is stated, discounted and taxed with pencil and paper, against the whole reckoning.

MODEL.md's conventions 4, 8 and 9 of the reckoning are the source: year-0 expenses relieved in year 0, gain over book value
taxed, working capital untaxed and back at the horizon.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from roi.answers.checks import results
from roi.model.study import Study, build
from roi.scenario.scenario import read
from tests.small_shop import LEAN, SHOP, STILL

RATE, TAX, YEARS = 0.10, 0.25, 5
MONEY = """
[money]
horizon = "5 year"
discount_rate = "10 %/year"
tax_rate = "25 %"
tax_schedule = "none"
"""
# Direct plates as today's method have no bath: all they cost without work is fixed.
TODAY = SHOP.replace('current = "polyester"', 'current = "direct"')


def study(folder: Path, more: str = "", shop: str = TODAY) -> Study:
    path = folder / "shop.toml"
    path.write_text(shop + MONEY + STILL + more, encoding="utf-8")
    return build(read(path))


def present(made: Study, method: str) -> float:
    return float(made.evaluate()[made.methods[method].lines["present"]][0])


def more_by(folder: Path, text: str, method: str = "polyester") -> float:
    """How much present cost a change-over adds to a method; the current one must not move."""
    without, with_it = study(folder), study(folder, text)
    assert present(with_it, "direct") == pytest.approx(present(without, "direct"), abs=1e-6)
    assert all(ok for _, ok in results(with_it, with_it.evaluate()))
    return present(with_it, method) - present(without, method)


def test_leaving_is_paid_and_relieved_in_year_0(tmp_path: Path) -> None:
    # (400 + 250) x (1 - 0.25) = 487.50
    text = '[leaving]\nstock = "400 USD"\ndrain = "250 USD"\n'
    assert more_by(tmp_path, text) == pytest.approx(487.50, abs=1e-6)


def test_a_sale_is_taxed_above_its_book_value(tmp_path: Path) -> None:
    # 3,000 fetched, book 1,000: taxed on 2,000, so 3,000 - 0.25 x 2,000 = 2,500 comes in.
    owned = '[methods.direct.equipment.line]\nyears_left = "4 year"\ntax_book = "1000 USD"\ntax_years_left = "2 year"\n'
    without = study(tmp_path, owned)
    with_it = study(tmp_path, owned + '[leaving]\nsale = "3000 USD"\n')
    assert present(with_it, "polyester") - present(without, "polyester") == pytest.approx(-2500, abs=1e-6)
    first = [float(s.evaluate()[s.methods["polyester"].lines["first_cost"]][0]) for s in (without, with_it)]
    assert first[1] - first[0] == pytest.approx(-3000)


def test_both_methods_running_cost_the_old_ones_fixed_costs(tmp_path: Path) -> None:
    """Against the old method's running cost with next to no work, which is its fixed costs."""
    idle = study(tmp_path, '[work]\nvolume = "0.01 %"\n')
    fixed = float(idle.evaluate()[idle.methods["direct"].lines["running_1"]][0])
    text = '[methods.polyester.changeover]\nparallel = "3 month"\n'
    expected = fixed * 3 / 12 * (1 - TAX) / (1 + RATE)
    assert more_by(tmp_path, text) == pytest.approx(expected, rel=1e-3)
    assert expected > 100


def test_learning_falls_in_a_straight_line(tmp_path: Path) -> None:
    # Six months, half the extra on average: a quarter of a year's plates at the full extra.
    text = (
        '[methods.polyester.changeover]\nlearning = "6 month"\nlearning_remakes = "4 %"\n'
        'learning_minutes = "2 min/plate"\n'
        '[grades.prepress]\nwage = "24 USD/h"\non_cost = "25 %"\ncash_share = "50 %"\n'
    )
    grades = text[text.index("[grades") :]
    made = study(tmp_path, grades)
    lines = made.methods["polyester"].lines
    values = made.evaluate()
    plates, price = (float(values[lines[key]][0]) for key in ("imaged", "mean_price"))
    year_1 = plates * 0.25 * (0.04 * price + 2 / 60 * 24 * 1.25 * 0.5)
    after = present(study(tmp_path, text), "polyester") - present(made, "polyester")
    assert after == pytest.approx(year_1 * (1 - TAX) / (1 + RATE), rel=1e-9)


def test_working_capital_is_untaxed_topped_up_and_comes_back(tmp_path: Path) -> None:
    """Two months of consumables: paid in year 0, topped up by the growth of plate prices, back in year 5."""
    text = '[methods.polyester.changeover]\nworking_capital = "2 month"\n'
    dearer = MONEY + STILL.replace('plates = "0 %/year"', 'plates = "5 %/year"')
    path = tmp_path / "shop.toml"
    costs = []
    for more in ("", text):
        path.write_text(TODAY + dearer + more, encoding="utf-8")
        made = build(read(path))
        costs.append(present(made, "polyester"))
    consumables = made.evaluate()[made.methods["polyester"].families["consumables"]].ravel()
    held = [consumables[year + 1] * 2 / 12 for year in range(YEARS)] + [0.0]
    paid = [now - before for now, before in zip(held, [0.0, *held], strict=False)]
    assert paid[0] > 0 and min(paid[1:YEARS]) > 0 and paid[YEARS] == -held[YEARS - 1]
    expected = sum(flow / (1 + RATE) ** year for year, flow in enumerate(paid))
    assert costs[1] - costs[0] == pytest.approx(expected, rel=1e-9)


def test_undoing_by_hand(tmp_path: Path) -> None:
    """First cost less the resale share, the old way back, and 2.5 of 3 years of an agreement of 100 m2 at 20 USD."""
    text = (
        '[methods.polyester.equipment.line]\nprice = "9000 USD"\nresale = "30 %"\n'
        '[methods.polyester.changeover]\nundo = "1500 USD"\nundo_month = "6 month"\n'
        '[methods.polyester.agreement]\nminimum = "100 m2/year"\nprice = "20 USD/m2"\nyears = "3 year"\n'
    )
    shop = TODAY.replace(
        '[methods.polyester.equipment.line]\nyears_left = "4 year"\n', "[methods.polyester]\n"
    )
    made = study(tmp_path, text, shop)
    values, lines = made.evaluate(), made.methods["polyester"].lines
    first = float(values[lines["first_cost"]][0])
    assert first >= 9000
    expected = first - 0.3 * 9000 + 1500 + 2.5 * 100 * 20
    assert values[lines["undoing"]][0] == pytest.approx(expected)
    assert values[made.comparison.rows["undoing"]][:, 0] == pytest.approx([expected, 0])


def test_the_workbook_follows(tmp_path: Path) -> None:
    """All of it stated: recalculated by IronCalc, stored results stripped first."""
    from roi.workbook.write import write_workbook
    from tests.parity.recalculate import differences, ironcalc_values

    text = (
        '[leaving]\nstock = "400 USD"\ndrain = "250 USD"\nsale = "900 USD"\n'
        '[methods.polyester.changeover]\nparallel = "1 month"\nlearning = "3 month"\nlearning_remakes = "5 %"\n'
        'learning_minutes = "1 min/plate"\nworking_capital = "1 month"\n'
    )
    made = study(tmp_path, text)
    path = tmp_path / "out.xlsx"
    found = write_workbook(made, made.evaluate(), path, LEAN)
    assert differences(found, ironcalc_values(path)) == []
