"""A small shop that states every key of room, orders, backup and refusals: IronCalc gives what the engine gives, at delivery
and after each of them is changed. Stored results are stripped before it computes. |a - b| <= 1e-9 x max(|a|, |b|) + 1e-6.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from openpyxl import load_workbook

from roi.model.study import Study, build
from roi.scenario.scenario import read
from roi.workbook.write import results_of, write_workbook
from tests.parity.recalculate import IronCalcBook, differences
from tests.small_shop import LEAN, SHOP
from tests.workbook.rules import broken_rules

KEYS = """
[shop]
count_plate_overtime = true
shift_hours = "2 h/day"
[methods.direct.stations.imager]
touches = "3 touch/plate"
fixed = "6 min/plate"
unit_price = "9000 USD"
unit_life = "5 year"
[methods.direct.stations.curing]
unit_price = "3000 USD"
unit_life = "5 year"
[methods.direct.plates]
pack = "50 plate"
minimum_order = "1500 USD/order"
hazardous_freight = "35 USD/order"
[methods.direct.press]
refusals = "2 %"
[methods.direct.backup]
resale = "1200 USD"
yearly = "150 USD/year"
price = "0.40 USD/plate"
[methods.polyester.stations.imager]
touches = false
[methods.polyester.plates]
pack.small = "100 plate"
"""
# Changed value in the unit shown; those at the end change the count of orders, packs and the way of keeping up.
CHANGED = {
    "methods.direct.stations.imager.touches": 1.0,
    "methods.direct.plates.pack": 150,
    "methods.polyester.plates.pack.small": 25,
    "methods.direct.plates.minimum_order": 300.0,
    "methods.direct.plates.hazardous_freight": 70.0,
    "methods.direct.plates.orders": 0.0,
    "methods.direct.press.refusals": 0.1,
    "methods.direct.backup.resale": 5000.0,
    "methods.direct.backup.yearly": 900.0,
    "methods.direct.backup.price": 3.0,
    "methods.direct.stations.imager.unit_price": 90000.0,
    "shop.overtime_premium": 2.5,
    "shop.shift_hours": 8.0,
    "work.volume": 3.0,
}


@pytest.fixture(scope="module")
def stated(tmp_path_factory: pytest.TempPathFactory) -> tuple[Study, Path]:
    folder = tmp_path_factory.mktemp("shop")
    text = SHOP.replace("[methods.direct]\n", "").replace("[summary]\n", KEYS + "[summary]\ntight = 0.15\n")
    (folder / "shop.toml").write_text(text, "utf-8")
    study = build(read(folder / "shop.toml"))
    path = folder / "decision.xlsx"
    write_workbook(study, study.evaluate(), path, LEAN)
    return study, path


def test_every_key_is_used_and_the_workbook_breaks_no_rule(stated: tuple[Study, Path]) -> None:
    study, path = stated
    assert set(CHANGED) <= set(study.book.inputs)
    assert broken_rules(path) == []
    labels = [str(cell.value) for cell in load_workbook(path)["Capacity"]["A"]]
    assert any("interrupt the operator" in label for label in labels)
    assert any("is counted in labour at year 1's hours" in label for label in labels)


def test_ironcalc_gives_what_is_stored_and_follows_each_key(stated: tuple[Study, Path]) -> None:
    study, path = stated
    before = results_of(study, {}, LEAN)
    book = IronCalcBook(path)
    assert differences(before, book.values()) == []
    known = {s.key: s for s in study.scenario.inputs.values()}
    rows = {cell.value: cell.row for cell in load_workbook(path)["Inputs"]["I"]}
    for key, value in CHANGED.items():
        book.set("Inputs", f"C{rows[key]}", value)
        book.evaluate()
        after = results_of(study, {key: value * known[key].factor}, LEAN)
        assert differences(after, book.values()) == [], key
        moved = {sheet for sheet in after if after[sheet] != before.get(sheet)}
        wanted = "Capacity" if key.endswith("touches") else "Comparison"
        assert wanted in moved, key
        book.set("Inputs", f"C{rows[key]}", known[key].best)
