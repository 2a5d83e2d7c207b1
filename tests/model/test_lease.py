"""Leases against numpy-financial and month by month by hand; machines that are rented; ways to pay side by side."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy_financial as npf
import pytest

from roi.answers.mistakes import mistakes
from roi.model.study import Study, build
from roi.scenario.problems import BadInput
from roi.scenario.scenario import read
from roi.workbook.inputs import lay_out_inputs
from roi.workbook.placing import Places
from roi.workbook.write import results_of, write_workbook
from tests.parity.recalculate import IronCalcBook, differences, ironcalc_values
from tests.small_shop import LEAN, SHOP

MONEY = """
[money]
horizon = "{years} year"
discount_rate = "{discount} %/year"
tax_rate = "{tax} %"
tax_schedule = "straight_line"
tax_years = 4
contingency = "10 %"
[growth]
equipment = "3 %/year"
[methods.direct.equipment.line]
price = "9000 USD"
freight = "300 USD"
installation = "700 USD"
commissioning = "0 USD"
training = "500 USD"
life = "8 year"
resale = "10 %"
"""
COST = 10000.0  # 9,000 + 300 + 700
LEASE = '[methods.direct.lease]\npayment = "{} USD/month"\nterm = "{} year"\n'
MONTHLY = 1.08 ** (1 / 12) - 1


def study(folder: Path, more: str, discount: float = 8, tax: float = 25, years: int = 6) -> Study:
    path = folder / "shop.toml"
    path.write_text(SHOP + MONEY.format(discount=discount, tax=tax, years=years) + more, encoding="utf-8")
    return build(read(path))


def lines(made: Study, method: str = "direct") -> dict[str, np.ndarray]:
    values = made.evaluate()
    return {line.label: values[line][..., 0] for line in made.methods[method].column.lines}


@pytest.mark.parametrize("advance, begin", [(0, "end"), (1, "begin")])
def test_the_level_payment_of_a_loan_at_ones_own_rate_is_worth_nothing_before_tax(
    tmp_path: Path, advance: int, begin: str
) -> None:
    """As a loan at the monthly discount rate; kept for nothing at the end, paid before or after each month."""
    payment = -npf.pmt(MONTHLY, 60, COST, when=begin)
    more = LEASE.format(repr(float(payment)), 5) + f'advance = "{advance} month"\nend_price = "0 USD"\n'
    found = lines(study(tmp_path, more, tax=0))
    assert found["Equipment to be paid for"] == COST
    assert found["Lease payments, present value"] == pytest.approx(COST, rel=1e-12)
    assert found["Leasing, net present value"] == pytest.approx(0, abs=1e-6)


def test_after_tax_month_by_month(tmp_path: Path) -> None:
    """Four years at 260 a month, three payments at the switch, kept for 900; straight line over 4 years, 25 % of tax."""
    found = lines(study(tmp_path, LEASE.format(260, 4) + 'advance = "3 month"\nend_price = "900 USD"\n'))
    paid = 3 * 260 + sum(260 / (1 + MONTHLY) ** month for month in range(1, 46))
    months = {0: 3, 1: 12, 2: 12, 3: 12, 4: 9}
    saved = sum(0.25 * 260 * count / 1.08**year for year, count in months.items())
    # 900 bought in year 4: a quarter relieved in 5, another in year 6, and there the rest.
    kept = 900 * (1 / 1.08**4 - 0.25 * (0.25 / 1.08**5 + 0.75 / 1.08**6))
    assert found["Paying by the lease"] == pytest.approx(paid - saved + kept, rel=1e-12)
    cash = COST * (1 - 0.25 * sum(0.25 / 1.08**y for y in (1, 2, 3, 4)))
    assert found["Paying cash"] == pytest.approx(cash, rel=1e-12)
    assert found["Leasing, net present value"] == pytest.approx(cash - paid + saved - kept, rel=1e-9)


def test_what_goes_back_is_bought_again_at_its_worth(tmp_path: Path) -> None:
    """No price of keeping it: 9,000 x 1.03^4 x [0.1 + 0.9 x (1 - 4 / 8)] = 9,000 x 1.1255 x 0.55."""
    worth = 9000 * 1.03**4 * 0.55
    back = lines(study(tmp_path, LEASE.format(260, 4)))
    kept = lines(study(tmp_path, LEASE.format(260, 4) + f'end_price = "{worth!r} USD"\n'))
    assert back["Worth of what goes back"] == pytest.approx(worth, rel=1e-12)
    assert back["Paying by the lease"] == pytest.approx(float(kept["Paying by the lease"]), rel=1e-12)


def test_a_lease_changes_no_cost(tmp_path: Path) -> None:
    plain, leased = study(tmp_path, ""), study(tmp_path, LEASE.format(260, 4))
    for name in plain.methods:
        costs = [float(s.evaluate()[s.methods[name].lines["present"]][0]) for s in (plain, leased)]
        assert costs[0] == costs[1]


@pytest.mark.parametrize("payment, rate, way", [(400, 20, 1), (400, 1, 2), (120, 1, 3)])
def test_the_cheapest_way_to_pay(tmp_path: Path, payment: int, rate: int, way: int) -> None:
    loan = f'[methods.direct.loan]\nshare = "80 %"\nrate = "{rate} %/year"\nterm = "5 year"\n'
    made = study(tmp_path, LEASE.format(payment, 5) + 'end_price = "0 USD"\n' + loan)
    found, values, rows = lines(made), made.evaluate(), made.comparison.rows
    ways = [float(found[label]) for label in ("Cash", "With the loan", "With the lease")]
    assert ways[0] - ways[1] == pytest.approx(float(found["Financing, net present value"]))
    assert ways.index(min(ways)) + 1 == way == found["Cheapest way to pay"]
    assert values[rows["pay_way"]][:, 0].tolist() == [0, way]
    assert values[rows["lease_financing"]][:, 0] == pytest.approx(
        [0, float(found["Leasing, net present value"])]
    )
    assert values[rows["financing"]][0, 0] == 0


def test_a_loan_alone_stands_beside_cash(tmp_path: Path) -> None:
    loan = '[methods.direct.loan]\nshare = "80 %"\nrate = "2 %/year"\nterm = "5 year"\n'
    found = lines(study(tmp_path, loan))
    assert found["Cheapest way to pay"] == 2
    assert found["Cash"] - found["Least of these"] == pytest.approx(
        float(found["Financing, net present value"])
    )


def test_undoing_while_leased(tmp_path: Path) -> None:
    """Undone after 18 months: of 48 payments 2 were made at the switch and 18 since; 28 of 260 are due.

    At the switch: contingency and training, (10 % x (10,000 + 500) = 1,050) + 500, and 2 x 260; 800 to get the old way back.
    """
    more = LEASE.format(260, 4) + 'advance = "2 month"\nend_price = "0 USD"\n'
    more += '[methods.direct.changeover]\nundo = "800 USD"\nundo_month = "18 month"\n'
    made = study(tmp_path, more)
    found = lines(made)
    wanted = 1050 + 500 + 2 * 260 + 28 * 260 + 800
    assert found["Cost of undoing the change, if leased"] == pytest.approx(wanted, rel=1e-12)
    row = made.evaluate()[made.comparison.rows["undoing_leased"]][:, 0]
    assert row == pytest.approx([0, wanted])


RENTED = '[methods.polyester.equipment.line]\nrental = "310 USD/month"\n'


def rented(folder: Path, more: str = RENTED) -> Study:
    path = folder / "shop.toml"
    shop = SHOP.replace(
        '[methods.polyester.equipment.line]\nyears_left = "4 year"\n', "[methods.polyester]\n"
    )
    path.write_text(shop + MONEY.format(discount=8, tax=25, years=6) + more, encoding="utf-8")
    return build(read(path))


def test_a_rented_machine_costs_its_rental_and_nothing_is_bought(tmp_path: Path) -> None:
    made = rented(tmp_path)
    sheet, values = made.methods["polyester"], made.evaluate()
    found = lines(made, "polyester")
    assert found[_rental(found)] == 12 * 310
    assert not sheet.machines and values[sheet.lines["first_cost"]][0] == 0
    assert values[sheet.lines["capital"]].sum() == 0 and values[sheet.lines["residual"]][0] == 0
    dearer = rented(tmp_path, RENTED.replace("310", "410"))
    more = dearer.evaluate()[dearer.methods["polyester"].families["equipment"]][:7, 0]
    less = values[sheet.families["equipment"]][:7, 0]
    # 100 a month, at the prices of equipment, 3 % a year.
    assert more - less == pytest.approx([0, *(1200 * 1.03**y for y in range(1, 7))], abs=1e-6)


def _rental(found: dict[str, np.ndarray]) -> str:
    return next(label for label in found if label.endswith("rental a year"))


def test_a_challenger_rented_is_brought_in_and_learnt(tmp_path: Path) -> None:
    text = MONEY.format(discount=8, tax=25, years=6).replace(
        'price = "9000 USD"\n', 'rental = "200 USD/month"\n'
    )
    text = text.replace('life = "8 year"\nresale = "10 %"\n', "")
    path = tmp_path / "shop.toml"
    path.write_text(SHOP + text, encoding="utf-8")
    made = build(read(path))
    # Freight 300 and installation 700, training 500, contingency a tenth of the three.
    assert made.evaluate()[made.methods["direct"].lines["first_cost"]][0] == pytest.approx(1500 * 1.1)


def told(folder: Path, more: str) -> set[tuple[str, str, str]]:
    with pytest.raises(BadInput) as bad:
        rented(folder, more)
    return {(p.where, p.what, p.mend) for p in bad.value.problems}


def test_contradictions_are_named(tmp_path: Path) -> None:
    here = "shop.toml, methods.polyester.equipment.line."
    found = told(tmp_path, RENTED + 'price = "20000 USD"\nyears_left = "3 year"\n')
    mend = "take out rental if the machine is bought or owned, else this"
    assert (here + "price", "stands beside rental: a rented machine has no price", mend) in found
    assert (here + "years_left", "stands beside rental: a rented machine has no years left", mend) in found
    assert len(found) == 2

    found = told(
        tmp_path, '[methods.polyester.equipment.line]\ntax_book = "900 USD"\nresale_fall = "10 %/year"\n'
    )
    keys = {where.removeprefix(here): (what, mend) for where, what, mend in found}
    what, mend = keys["tax_book"]
    assert what == "is said of a machine that is owned, and no years_left says that it is"
    assert mend == 'state years_left = "4 year" (0 = must be replaced now), or take this out'
    assert keys["tax_years_left"][0] == "is missing"
    assert keys["resale_fall"] == (
        "there is no resale to fall",
        "state resale_now, what a buyer would pay today",
    )


@pytest.mark.parametrize("kind", ["lease", "loan"])
def test_a_term_of_nothing(tmp_path: Path, kind: str) -> None:
    first = 'payment = "300 USD/month"\n' if kind == "lease" else 'share = "80 %"\nrate = "8 %/year"\n'
    found = told(tmp_path, f'[methods.direct.{kind}]\n{first}term = "0 year"\n')
    where = f"shop.toml, methods.direct.{kind}.term"
    assert found == {(where, "0 year is below 1 year", "state 1 year or more")}


def test_a_lease_in_part_and_paid_before_it_runs(tmp_path: Path) -> None:
    found = told(tmp_path, '[methods.direct.lease]\nend_price = "300 USD"\n')
    assert {where for where, _, _ in found} == {
        f"shop.toml, methods.direct.lease.{k}" for k in ("payment", "term")
    }
    found = told(tmp_path, LEASE.format(260, 1) + 'advance = "13 month"\n')
    where, what = (
        "shop.toml, methods.direct.lease.advance",
        "more payments in advance than the 12 months of the lease",
    )
    assert found == {(where, what, "state fewer months, or a longer term")}


def test_a_lease_of_nothing(tmp_path: Path) -> None:
    found = told(tmp_path, RENTED + LEASE.format(260, 1).replace("direct", "polyester"))
    what = "a lease, and no machine is bought at the switch that it could pay for"
    assert {(where, said) for where, said, _ in found} == {
        ("shop.toml, methods.polyester.lease.payment", what)
    }


def test_a_rented_machine_is_no_mistake(tmp_path: Path) -> None:
    made = rented(tmp_path)
    found = [p.where for p in mistakes(made, made.evaluate())]
    assert [where for where in found if "polyester.equipment" in where] == []


ALL = (
    LEASE.format(260, 4)
    + 'advance = "2 month"\n'
    + '[methods.direct.loan]\nshare = "80 %"\nrate = "6 %/year"\nterm = "3 year"\n'
    + '[methods.direct.changeover]\nundo = "800 USD"\nundo_month = "18 month"\n'
    + RENTED
    + 'rental_left = "14 month"\n[leaving]\nlease_share_due = "80 %"\n'
)


def test_the_workbook_follows_and_goes_on_following(tmp_path: Path) -> None:
    made = rented(tmp_path, ALL)
    path = tmp_path / "out.xlsx"
    results = write_workbook(made, made.evaluate(), path, LEAN)
    assert differences(results, ironcalc_values(path)) == []
    changes = {"methods.direct.lease.term": 8.0, "money.horizon": 5.0, "methods.direct.lease.advance": 0.0}
    rows, _ = lay_out_inputs(made.scenario, made.book, Places())
    cells = {row.key: (f"C{5 + i}", row) for i, row in enumerate(rows) if not isinstance(row, str)}
    book = IronCalcBook(path)
    for key, value in changes.items():
        book.set("Inputs", cells[key][0], value)
    book.evaluate()
    after = results_of(made, {key: value * cells[key][1].factor for key, value in changes.items()}, LEAN)
    found = [
        d for d in differences(after, book.values()) if d.startswith(("Direct", "Comparison", "Polyester"))
    ]
    assert found == []
    assert after["Comparison"] != results["Comparison"]
