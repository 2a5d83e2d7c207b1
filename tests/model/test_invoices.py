"""Last year's invoices: level, split into time and work, litres a square metre; hand arithmetic beside each check.

Invented shop of `billed_shop`: 584.496 m2 imaged; two baths of 10 L changed ten times a year.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from roi.answers.invoices import told
from roi.answers.mistakes_machines import invoice_not_counted
from roi.answers.mistakes_money import MOST_CHEMISTRY, chemistry_by_time, demand_charge_twice
from roi.model.invoices import USUAL_CHEMISTRY
from tests.answers.mistaken_shop import told as told_by
from tests.model.billed_shop import AREA, billed, lines_of

# Of each bath: 10 x 10 L and 0.01 L/h x 8 h x 250 = 20 L follow time, 0.25 L/m2 x 584.496 = 146.124 L the work.
RATES = {"replenish": "0.25 L/m2", "top_up": "0.01 L/h"}
TIME, WORK = 2 * 120.0, 2 * 0.25 * AREA
PRICED = 'price = "2 USD/L"\npickup_fee = false\npickup_capacity = false\nyearly = "60 USD/year"\n'


def invoiced(folder: Path, bills: str, stream: str = PRICED):
    study = billed(folder, f"[methods.polyester.last_year]\n{bills}\n", stream=stream, **RATES)
    return study, study.evaluate(), lines_of(study)


def test_chemistry_splits_as_its_litres_do(tmp_path: Path) -> None:
    """240 L by time and 292.248 L by work at 4 a litre: 960 and 1,168.992 of 2,128.992.

    An invoice of 3,000 is 3,000 / 2,128.992 = 1.409117 times that: 1,352.75 by time, 1,647.25 by work.
    The litres, scaled alike: 532.248 x 1.409117 / 584.496 = 1.2832 L/m2, beyond the usual 1.
    """
    _, values, lines = invoiced(tmp_path, 'chemistry = "3000 USD/year"')
    litres = TIME + WORK
    assert litres == pytest.approx(532.248)
    time = values[lines["Chemistry as invoiced, part that follows time"]][0]
    work = values[lines["Chemistry as invoiced, part that follows the work"]][0]
    assert [time, work] == pytest.approx([3000 * 240 / 532.248, 3000 * 292.248 / 532.248])
    assert [time, work] == pytest.approx([1352.75, 1647.25], abs=0.01)
    implied = values[lines["Chemistry a square metre, at the level of the invoice"]][0]
    assert implied == pytest.approx(1.2832, abs=0.0001)
    assert values[lines["Chemistry a square metre is beyond the usual"]][0] == 1
    assert lines["Chemistry a square metre is beyond the usual"].source == "common practice, no source"
    level = values[lines["Chemistry, level of the invoice"]]
    assert level[1:8, 0] == pytest.approx([3000] * 7)


def test_twice_the_work_raises_the_bill_by_the_part_that_follows_it(tmp_path: Path) -> None:
    """The split is what the split says: at a rate found at the log's work, twice the work costs the work's part more."""
    study, values, lines = invoiced(tmp_path, "")
    modelled = [lines["Activator, money"], lines["Stabiliser, money"]]
    once = sum(values[x][1, 0] for x in modelled)
    twice = sum(study.evaluate({"work.volume": 2.0})[x][1, 0] for x in modelled)
    assert twice / once - 1 == pytest.approx(292.248 / 532.248)


def test_waste_splits_by_litres_with_its_fees_on_time(tmp_path: Path) -> None:
    """90 % leave: 216 L by time, 263.0232 L by work at 2 a litre, and 60 a year.

    By time 432 + 60 = 492 of 1,018.0464; an invoice of 700: 338.29 by time, 361.71 by work.
    """
    _, values, lines = invoiced(tmp_path, 'waste = "700 USD/year"')
    time = values[lines["Waste disposal as invoiced, part that follows time"]][0]
    assert time == pytest.approx(700 * 492 / 1018.0464) == pytest.approx(338.29, abs=0.01)
    work = values[lines["Waste disposal as invoiced, part that follows the work"]][0]
    assert work == pytest.approx(361.71, abs=0.01)


def test_a_pickup_for_keeping_time_follows_time(tmp_path: Path) -> None:
    """479.0232 L in pickups of 100 L are 5; a keeping time of 3 months wants 4 of them: larger than 5 x 216 / 479.0232.

    By time 4 x (50 + 10) + 432 + 60 = 732 of 5 x 60 + 958.0464 + 60 = 1,318.0464.
    """
    stream = PRICED.replace("pickup_fee = false", 'pickup_fee = "50 USD/pickup"').replace(
        "pickup_capacity = false", 'pickup_capacity = "100 L/pickup"'
    )
    stream += 'manifest = "10 USD/pickup"\nkeeping = "3 month/pickup"\n'
    _, values, lines = invoiced(tmp_path, 'waste = "1318.0464 USD/year"', stream)
    time = values[lines["Waste disposal as invoiced, part that follows time"]][0]
    assert time == pytest.approx(732)


def test_without_an_invoice_nothing_is_split(tmp_path: Path) -> None:
    _, _, lines = invoiced(tmp_path, "")
    assert not any("invoice" in label or "without any work" in label for label in lines)


def test_plates_as_invoiced_scale_their_price(tmp_path: Path) -> None:
    """584.496 m2 at 13 a m2 are 7,598.448; an invoice of 9,000 sets the price of a plate of 0.16236 m2 at 2.50."""
    _, values, lines = invoiced(
        tmp_path, 'plates = "9000 USD/year"\n[methods.polyester.plates]\nprice_per_area = "13 USD/m2"'
    )
    assert values[lines["Plates as modelled"]][0] == pytest.approx(13 * AREA) == pytest.approx(7598.448)
    assert values[lines["Plates, money"]][0] == pytest.approx(9000)
    assert values[lines["Price of a plate, level of the invoice"]][0, 0] == pytest.approx(9000 / 3600)
    assert values[lines["Mean price of a plate"]][0] == pytest.approx(2.5)


def test_sentences_name_share_and_litres(tmp_path: Path) -> None:
    study, values, _ = invoiced(tmp_path, 'chemistry = "3000 USD/year"\nwaste = "700 USD/year"')
    assert told(study, values) == [
        "Polyester: of chemistry as invoiced, 3,000 USD a year, 45 % follows time and the rest the work.",
        "Polyester: of waste disposal as invoiced, 700 USD a year, 48 % follows time and the rest the work.",
        "Polyester: as invoiced, 1.28 L of chemistry a square metre; usual 0.16 to 1 (common practice, no source).",
    ]
    assert told(*invoiced(tmp_path, "")[:2]) == []


# --- what is said of them as mistakes

BILL = '\n[methods.polyester.last_year]\nchemistry = "%s"'


def test_the_rule_on_chemistry_goes_by_the_invoice(tmp_path: Path) -> None:
    """One figure for both; the small shop's shipped baths stay below it until an invoice says otherwise."""
    assert USUAL_CHEMISTRY[1] == MOST_CHEMISTRY == 1.0
    assert told_by(tmp_path, chemistry_by_time, BILL % "1000 USD/year") == []
    (said,) = told_by(tmp_path, chemistry_by_time, BILL % "20000 USD/year")
    assert "you pay for time, not area" in said


def test_plates_invoiced_to_a_method_that_makes_none(tmp_path: Path) -> None:
    bought = '\n[methods.bought_in]\n[methods.bought_in.last_year]\nplates = "900 USD/year"'
    (said,) = told_by(tmp_path, invoice_not_counted, bought)
    assert "Bought in makes no plates" in said and "bought_in.price" in said
    assert (
        told_by(tmp_path, invoice_not_counted, '\n[methods.direct.last_year]\nplates = "900 USD/year"') == []
    )


def test_a_demand_charge_wants_the_tariff_said(tmp_path: Path) -> None:
    charge = '\n[shop]\ndemand_charge = "12 USD/kW/month"\n'
    (said,) = told_by(tmp_path, demand_charge_twice, charge)
    assert "isn't said to be energy-only" in said and 'tariff = "energy-only"' in said
    assert told_by(tmp_path, demand_charge_twice, charge + 'tariff = "energy-only"') == []
