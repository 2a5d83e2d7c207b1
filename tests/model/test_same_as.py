"""A method that is the same as the current one: what it keeps, what it pays, and that it can't differ by itself, by hand."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from roi.answers.checks import results
from roi.model.study import Study, build
from roi.scenario.scenario import read
from roi.workbook.read_back import read_workbook
from roi.workbook.write import write_workbook
from tests.parity.recalculate import differences, ironcalc_values
from tests.scenario.test_same_as import METAL, NAMED, OWN
from tests.small_shop import LEAN, STILL
from tests.workbook.rules import broken_rules

RATE, TAX = 0.10, 0.25
MONEY = """
[money]
horizon = "5 year"
discount_rate = "10 %/year"
tax_rate = "25 %"
contingency = "0 %"
"""
LEAVING = """
[leaving]
stock = "400 USD"
drain = "250 USD"
dues = "900 USD"
sale = "2000 USD"
"""
OURS = f'[methods.ours]\nsame_as = "processed"\n{NAMED}'
TUNED = '[methods.processed_tuned]\nsame_as = "processed"\n'
NEW = '[methods.processed_new]\nsame_as = "processed"\n'


def study(folder: Path, more: str, shop: str = METAL) -> Study:
    (folder / "shop.toml").write_text(shop + MONEY + OWN + more, encoding="utf-8")
    return build(read(folder / "shop.toml"))


def figure(made: Study, method: str, key: str, row: int = 0, **changes: float) -> float:
    return float(made.evaluate(changes or None)[made.methods[method].lines[key]].ravel()[row])


def test_a_copy_of_what_is_in_use_saves_exactly_nothing(tmp_path: Path) -> None:
    """Nothing of it is left, sold or owed; nor does it differ once the shop's own numbers do."""
    made = study(tmp_path, LEAVING + OURS)
    prices = "methods.processed.plates.price.small"
    for changes in (None, {prices: 9.0}, {"methods.processed.equipment.setter.years_left": 1.0}):
        values = made.evaluate(changes)
        for key in ("present", "present_full", "first_cost", "running_1", "equivalent"):
            both = [values[made.methods[m].lines[key]] for m in ("processed", "ours")]
            assert (both[0] == both[1]).all(), key
    assert not any(key.startswith("methods.ours.") for key in made.book.inputs)
    assert all(ok for _, ok in results(made, made.evaluate()))


def test_only_what_differs_is_paid(tmp_path: Path) -> None:
    """A contract of 500 in place of the shop's 900: 400 a year less, taxed; 1.1^-1 + ... + 1.1^-5 = 3.7907868."""
    contract = '[methods.{}.equipment.setter]\ncontract = "{} USD/year"\n'
    shop = METAL.replace('years_left = "4 year"\n', 'years_left = "4 year"\ncontract = "900 USD/year"\n')
    made = study(tmp_path, LEAVING + STILL + OURS + contract.format("ours", 500), shop)
    assert figure(made, "processed", "running_1") - figure(made, "ours", "running_1") == pytest.approx(400)
    less = figure(made, "processed", "present") - figure(made, "ours", "present")
    assert less == pytest.approx(400 * 0.75 * 3.7907868, rel=1e-7)
    assert figure(made, "ours", "first_cost") == 0


def test_tuned_buys_nothing_and_its_like_pays_for_leaving_the_machine(tmp_path: Path) -> None:
    """A new line: 60,000 and 700 freight, 500 installation, 1,500 commissioning; 900 of dues, and 2,000 for the old one.

    Plates and baths go on: no stock is written off, no tank drained. Another method pays those too: 400 + 250.
    """
    setter = '[methods.processed_new.equipment.setter]\nprice = "60000 USD"\nfreight = "700 USD"\n'
    made = study(tmp_path, LEAVING + TUNED + NEW + setter)
    assert figure(made, "processed_tuned", "first_cost") == 0
    assert figure(made, "processed_new", "first_cost") == pytest.approx(60000 + 700 + 500 + 1500 + 900 - 2000)
    assert figure(made, "direct", "change_cost") == pytest.approx(400 + 250 + 900)
    assert figure(made, "processed_new", "change_cost") == pytest.approx(900)
    assert "change_cost" not in made.methods["processed_tuned"].lines
    # Smaller baths, less standing by, and half an hour of starting up: cheaper to run, at the shop's own prices.
    assert figure(made, "processed_tuned", "running_1") < figure(made, "processed", "running_1")
    # The same without same_as pays for leaving itself, and buys.
    apart = study(tmp_path, LEAVING + "[methods.processed_tuned]\n")
    assert figure(apart, "processed_tuned", "first_cost") > 400 + 250 + 900 + 20000


def test_a_rented_machine_that_stays_owes_nothing(tmp_path: Path) -> None:
    """Eight months at 300 are due only where the rented line goes; who keeps it pays rental as who stays does."""
    rented = METAL.replace('years_left = "4 year"\n', 'rental = "300 USD/month"\nrental_left = "8 month"\n')
    made = study(tmp_path, OURS + NEW, rented)
    assert figure(made, "ours", "present") == figure(made, "processed", "present")
    assert figure(made, "processed_new", "change_cost") == pytest.approx(2400)


def test_of_two_machines_the_one_replaced_is_sold(tmp_path: Path) -> None:
    """The punch of 300 goes and brings 80, against a tax book value of 20; the setter stays."""
    punch = '[methods.processed.equipment.punch]\nlabel = "Punch"\nprice = "300 USD"\nlife = "9 year"\nyears_left = "2 year"\n'
    punch += 'resale_now = "80 USD"\ntax_book = "20 USD"\ntax_years_left = "1 year"\n'
    gone = "years_left = false\nresale_now = false\ntax_book = false\ntax_years_left = false\n"
    made = study(tmp_path, punch + OURS + f"[methods.ours.equipment.punch]\n{gone}")
    assert figure(made, "ours", "first_cost") == pytest.approx(300 - 80)
    assert figure(made, "ours", "after") == pytest.approx(-300 + 80 - TAX * (80 - 20))


def test_invoices_set_the_level_of_both(tmp_path: Path) -> None:
    """1,200 of chemistry and 9,000 of plates were invoiced for the line as it is: the tuned one stands where it stands
    against that in the model."""
    bills = '[methods.processed.last_year]\nchemistry = "1200 USD/year"\nplates = "9000 USD/year"\nwaste = "700 USD/year"\n'
    plain, made = study(tmp_path, STILL + TUNED), study(tmp_path, STILL + TUNED + bills)

    def parts(s: Study, method: str, family: str, group: str) -> float:
        values = s.evaluate()
        return sum(float(values[line][0]) for g, line in s.methods[method].todays[family] if g == group)

    for family, group, invoice in (("consumables", "chemistry", 1200), ("waste", "waste", 700)):
        modelled = [parts(plain, m, family, group) for m in ("processed", "processed_tuned")]
        scaled = [parts(made, m, family, group) for m in ("processed", "processed_tuned")]
        other = 140 if group == "chemistry" else 0  # freight of chemistry stands apart from the invoice
        assert scaled[0] == pytest.approx(invoice + other)
        ratio = (modelled[1] - other) / (modelled[0] - other)
        assert scaled[1] - other == pytest.approx(invoice * ratio) and ratio < 1
    assert all(ok for _, ok in results(made, made.evaluate()))


def test_the_replacement_sheet_keeps_what_the_rival_keeps(tmp_path: Path) -> None:
    """Changed at once, each way costs what the method itself does; at the end of the years left, like for like as staying."""
    owned = (
        'years_left = "3 year"\nresale_now = "4000 USD"\nresale_fall = "30 %/year"\ntax_book = "900 USD"\n'
    )
    shop = METAL.replace('years_left = "4 year"\n', owned + 'tax_years_left = "3 year"\n')
    made = study(tmp_path, TUNED + NEW, shop)
    values, found = made.evaluate(), made.replacement
    assert found is not None
    for name in ("processed_tuned", "processed_new", "direct"):
        cost = float(values[found.ways[name].cost].ravel()[0])
        assert cost == pytest.approx(figure(made, name, "present"), rel=1e-12), name
    assert values[found.ways["processed"].cost].ravel()[3] == pytest.approx(
        figure(made, "processed", "present"), rel=1e-12
    )


def test_the_workbook_follows_and_can_be_read_back(tmp_path: Path) -> None:
    """Recalculated by IronCalc; and read as a scenario, with the base's price changed in its cell, both move."""
    made = study(tmp_path, LEAVING + TUNED + NEW)
    path = tmp_path / "out.xlsx"
    found = write_workbook(made, made.evaluate(), path, LEAN)
    assert differences(found, ironcalc_values(path)) == []
    assert [b for b in broken_rules(path) if "Summary" not in b] == []
    again = build(read_workbook(path))
    for name in made.methods:
        assert figure(again, name, "present") == pytest.approx(figure(made, name, "present"), rel=1e-12)
    book = openpyxl.load_workbook(path)
    key = "methods.processed.plates.price.small"
    cells = [row for row in book["Inputs"].iter_rows() if any(cell.value == key for cell in row)]
    assert len(cells) == 1 and cells[0][2].value == 3
    cells[0][2].value = 3.5
    book.save(path)
    changed = build(read_workbook(path))
    for name in ("processed", "processed_tuned", "processed_new"):
        wanted = float(made.evaluate({key: 3.5})[made.methods[name].lines["present"]][0])
        assert figure(changed, name, "present") == pytest.approx(wanted, rel=1e-9)
        assert figure(changed, name, "present") != pytest.approx(figure(made, name, "present"), rel=1e-6)
