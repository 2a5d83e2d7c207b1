"""What is due for leaving the old method, and what going back in a month costs beside it, by hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from roi.answers.checks import results
from roi.model.study import Study, build
from roi.scenario.problems import BadInput
from roi.scenario.scenario import read
from roi.workbook.write import write_workbook
from tests.parity.recalculate import differences, ironcalc_values
from tests.small_shop import LEAN, SHOP, STILL

MONEY = '[money]\nhorizon = "5 year"\ndiscount_rate = "8 %/year"\ntax_rate = "25 %"\n'
TAX = 0.25
AGREED = '[methods.polyester.agreement]\nminimum = "300 m2/year"\nprice = "12 USD/m2"\nyears = "2 year"\n'
LEASED = '[methods.polyester.equipment.reader]\nrental = "400 USD/month"\n'
RENTED = '[methods.polyester.equipment.line]\nrental = "310 USD/month"\nrental_left = "14 month"\n'


def study(folder: Path, more: str = "", *, rented: bool = False) -> Study:
    path = folder / "shop.toml"
    owned = '[methods.polyester.equipment.line]\nyears_left = "4 year"\n'
    path.write_text((SHOP.replace(owned, "") if rented else SHOP) + MONEY + more, encoding="utf-8")
    return build(read(path))


def present(made: Study, method: str) -> float:
    return float(made.evaluate()[made.methods[method].lines["present"]][0])


def dearer(folder: Path, before: str, after: str, *, rented: bool = False) -> float:
    """What leaving adds to the first cost of direct; its present cost grows by that less tax, staying costs the same."""
    without, with_it = (study(folder, more, rented=rented) for more in (before, after))
    assert all(ok for _, ok in results(with_it, with_it.evaluate()))
    assert present(with_it, "polyester") == pytest.approx(present(without, "polyester"), abs=1e-6)
    firsts = [float(s.evaluate()[s.methods["direct"].lines["first_cost"]][0]) for s in (without, with_it)]
    more = firsts[1] - firsts[0]
    # Paid and relieved in year 0.
    assert present(with_it, "direct") - present(without, "direct") == pytest.approx(
        more * (1 - TAX), abs=1e-6
    )
    return more


def test_lease_and_notice(tmp_path: Path) -> None:
    # 18 x 400 x 75 % + 3 x 220 = 5,400 + 660
    text = '[leaving]\nlease_payment = "400 USD/month"\nlease_months = "18 month"\nlease_share_due = "75 %"\n'
    text += 'notice = "3 month"\nnotice_cost = "220 USD/month"\n'
    assert dearer(tmp_path, LEASED, text + LEASED) == pytest.approx(6060)


def test_a_lease_is_due_whole_where_no_share_is_stated(tmp_path: Path) -> None:
    text = '[leaving]\nlease_payment = "400 USD/month"\nlease_months = "18 month"\n'
    assert dearer(tmp_path, LEASED, text + LEASED) == pytest.approx(7200)


def test_a_lease_is_paid_by_whoever_stays_too(tmp_path: Path) -> None:
    """Nothing grows and money keeps its worth: for 12 months still due at 400, staying five years pays 5 x 4,800 of rental,
    leaving 4,800. Without the rental the old method would seem to be free of it, so that is refused."""
    still = STILL + MONEY.replace("8 %", "0 %").replace("25 %", "0 %")
    lease = '[leaving]\nlease_payment = "400 USD/month"\nlease_months = "12 month"\n'
    path, costs = tmp_path / "shop.toml", []
    for more in ("", lease + LEASED):
        path.write_text(SHOP + still + more, encoding="utf-8")
        made = build(read(path))
        costs.append([present(made, name) for name in ("polyester", "direct")])
    assert costs[1][0] - costs[0][0] == pytest.approx(5 * 4800)
    assert costs[1][1] - costs[0][1] == pytest.approx(4800)
    what = "is paid by whoever stays too, and no rental of the current method says so"
    mend = 'state methods.polyester.equipment.line.rental = "400 USD/month", or the machine it is for'
    assert told(tmp_path, lease) == {"leaving.lease_payment": (what, mend)}


def test_a_lease_beside_the_months_of_its_rental_is_counted_twice(tmp_path: Path) -> None:
    lease = '[leaving]\nlease_payment = "310 USD/month"\nlease_months = "14 month"\n'
    line = "methods.polyester.equipment.line.rental_left"
    what = f"counted twice: {line} says what the machine's rental still demands"
    owned = '[methods.polyester.equipment.line]\nyears_left = "4 year"\n'
    (tmp_path / "shop.toml").write_text(SHOP.replace(owned, "") + lease + RENTED, encoding="utf-8")
    with pytest.raises(BadInput) as bad:
        read(tmp_path / "shop.toml")
    assert [(p.where, p.what, p.mend) for p in bad.value.problems] == [
        ("shop.toml, leaving.lease_payment", what, "state the one or the other")
    ]
    # Two machines: one's months stand with it, the other's with the lease.
    (tmp_path / "shop.toml").write_text(SHOP.replace(owned, "") + lease + RENTED + LEASED, encoding="utf-8")
    assert read(tmp_path / "shop.toml").has("leaving", "lease_payment")


def test_months_of_a_rental(tmp_path: Path) -> None:
    # 14 x 310 = 4,340, and 80 % of it
    plain = RENTED.replace('rental_left = "14 month"\n', "")
    assert dearer(tmp_path, plain, RENTED, rented=True) == pytest.approx(4340)
    part = RENTED + '[leaving]\nlease_share_due = "80 %"\n'
    assert dearer(tmp_path, plain, part, rented=True) == pytest.approx(3472)


def test_the_minimum_of_an_agreement(tmp_path: Path) -> None:
    """Two years of 300 m2 at 12 USD, 60 % of it: 4,320. Without a share stated nothing is taken to be due."""
    assert dearer(tmp_path, AGREED, AGREED + 'share_due = "60 %"\n') == pytest.approx(4320)
    made = study(tmp_path, AGREED)
    assert "change_cost" not in made.methods["direct"].lines


def test_what_is_sold_by_machine_is_credited_as_one_sum_is(tmp_path: Path) -> None:
    owned = SHOP[SHOP.index("[methods.polyester") : SHOP.index("[methods.direct]")]
    one = study(tmp_path, '[leaving]\nsale = "2500 USD"\n')
    first = present(one, "direct")
    path = tmp_path / "shop.toml"
    path.write_text(
        SHOP.replace(owned, owned.strip() + '\nresale_now = "2500 USD"\n\n') + MONEY, encoding="utf-8"
    )
    by_machine = build(read(path))
    assert present(by_machine, "direct") == pytest.approx(first, rel=1e-12)
    assert first < present(study(tmp_path), "direct") - 2000 * (1 - TAX)


def test_dues_after_the_month_of_undoing(tmp_path: Path) -> None:
    """Undone after 9 months: 27 of 36 months of rental at 200, and 2.25 of 3 years of 100 m2 at 20 USD, half due."""
    undo = '[methods.direct.changeover]\nundo = "500 USD"\nundo_month = "9 month"\n'
    agreed = '[methods.direct.agreement]\nminimum = "100 m2/year"\nprice = "20 USD/m2"\nyears = "3 year"\n'
    line = '[methods.direct.equipment.line]\nrental = "200 USD/month"\nrental_left = "36 month"\n'
    made = study(tmp_path, undo + agreed + 'share_due = "50 %"\n' + line)
    values, lines = made.evaluate(), made.methods["direct"].lines
    first = float(values[lines["first_cost"]][0])
    assert values[lines["undoing"]][0] == pytest.approx(first + 500 + 27 * 200 + 2.25 * 100 * 20 * 0.5)
    later = study(tmp_path, undo.replace('"9 month"', '"40 month"') + agreed + 'share_due = "50 %"\n' + line)
    found = later.evaluate()[later.methods["direct"].lines["undoing"]]
    # After 40 months neither is due any more.
    assert found[0] == pytest.approx(first + 500)


def told(folder: Path, more: str) -> dict[str, tuple[str, str]]:
    with pytest.raises(BadInput) as bad:
        study(folder, more)
    return {p.where.removeprefix("shop.toml, "): (p.what, p.mend) for p in bad.value.problems}


def test_half_stated_dues_are_asked_for(tmp_path: Path) -> None:
    found = told(tmp_path, LEASED + '[leaving]\nlease_payment = "400 USD/month"\nnotice = "3 month"\n')
    assert found == {
        "leaving.lease_months": ("is missing", 'state the months still due, like "18 month"'),
        "leaving.notice_cost": ("is missing", "state what a month of notice costs"),
    }
    found = told(
        tmp_path, '[leaving]\nlease_share_due = "50 %"\n[methods.polyester.agreement]\nshare_due = "50 %"\n'
    )
    assert found["leaving.lease_payment"] == ("is missing", "state the lease it is a share of")
    assert found["methods.polyester.agreement.minimum"][0] == "is missing"


def test_a_sum_beside_its_parts_is_a_contradiction(tmp_path: Path) -> None:
    text = '[leaving]\ndues = "900 USD"\nlease_payment = "400 USD/month"\nlease_months = "18 month"\nsale = "800 USD"\n'
    found = told(tmp_path, text + LEASED)
    what = "one sum of what is due on leaving, beside its parts leaving.lease_payment"
    assert found == {"leaving.dues": (what, "state the one or the other")}
    path = tmp_path / "shop.toml"
    owned = 'years_left = "4 year"\n'
    shop = SHOP.replace(owned, owned + 'resale_now = "700 USD"\n')
    path.write_text(shop + '[leaving]\nsale = "800 USD"\n', encoding="utf-8")
    with pytest.raises(BadInput) as bad:
        read(path)
    what = "one sum for what is sold, beside methods.polyester.equipment.line.resale_now"
    assert [(p.where, p.what) for p in bad.value.problems] == [("shop.toml, leaving.sale", what)]


@pytest.mark.parametrize("minimum, unit", [("400 L/year", "L/year"), ("2000 plate/year", "plate/year")])
def test_an_agreement_in_another_unit(tmp_path: Path, minimum: str, unit: str) -> None:
    found = told(tmp_path, AGREED.replace("300 m2/year", minimum))
    wanted = (f"{unit} where m²/year is wanted", "write the number with a unit like m²/year")
    assert found == {"methods.polyester.agreement.minimum": wanted}


def test_the_workbook_follows(tmp_path: Path) -> None:
    text = '[leaving]\nlease_payment = "400 USD/month"\nlease_months = "18 month"\nlease_share_due = "75 %"\n'
    text += (
        'notice = "3 month"\nnotice_cost = "220 USD/month"\n'
        + AGREED
        + 'share_due = "60 %"\n'
        + RENTED
        + LEASED
    )
    made = study(tmp_path, text, rented=True)
    path = tmp_path / "out.xlsx"
    found = write_workbook(made, made.evaluate(), path, LEAN)
    assert differences(found, ironcalc_values(path)) == []
