"""The Capacity sheet: keeps the workbook's rules, says and shows what the figures say, follows changes in IronCalc."""

from __future__ import annotations

from pathlib import Path

import pytest
from openpyxl import load_workbook

from roi.model.study import Study, build
from roi.scenario.scenario import read
from roi.workbook.template import Template
from roi.workbook.write import results_of, write_workbook
from tests.parity.recalculate import IronCalcBook, differences
from tests.small_shop import LEAN, SHOP
from tests.workbook.rules import broken_rules

PRICED = """
[methods.direct.stations.imager]
units = 1
unit_price = "9000 USD"
unit_life = "5 year"
"""
KEYS = {  # changed value in the unit shown; together they turn every kind of sentence
    "shop.shift_hours": 2.0,
    "shop.shifts": 2,
    "shop.early_share": 0.9,
    "shop.tight_above": 0.2,
    "shop.overtime_premium": 2.0,
    "work.volume": 8.0,
    "methods.direct.stations.imager.units": 3,
    "methods.direct.stations.curing.units": 2,
    "methods.direct.stations.curing.warm_up_time": 90.0,
    "methods.direct.stations.imager.fixed": 200.0,
    "methods.direct.stations.imager.unit_price": 12000.0,
}
# Alone they move only the method's own sheet: no overtime as delivered; curing takes as long as imaging.
STILL = (
    "shop.overtime_premium",
    "methods.direct.stations.imager.units",
    "methods.direct.stations.curing.units",
)


def study_of(folder: Path, text: str) -> Study:
    (folder / "shop.toml").write_text(text, "utf-8")
    return build(read(folder / "shop.toml"))


def written(study: Study, folder: Path, template: Template | None = None) -> Path:
    path = folder / "decision.xlsx"
    write_workbook(study, study.evaluate(), path, template)
    return path


@pytest.mark.parametrize("more", ["", PRICED])
def test_the_sheet_breaks_no_rule(tmp_path: Path, more: str) -> None:
    path = written(study_of(tmp_path, SHOP + more), tmp_path, LEAN)
    assert broken_rules(path) == []
    sheet = load_workbook(path)["Capacity"]
    labels = [str(cell.value) for cell in sheet["A"]]
    assert any("not stated" in label for label in labels) == (more == "")
    assert any("overtime spared less its cost" in label for label in labels) == (more != "")
    assert len(sheet._charts) == 1


def test_ironcalc_follows_each_change_and_all_together(tmp_path: Path) -> None:
    """Stored results are stripped first; every cell of every sheet compared, and the Capacity sheet must move."""
    study = study_of(tmp_path, SHOP + PRICED)
    path = written(study, tmp_path, LEAN)
    before = results_of(study, {}, LEAN)
    book = IronCalcBook(path)
    assert differences(before, book.values()) == []
    stated = {s.key: s for s in study.scenario.inputs.values()}
    rows = {cell.value: cell.row for cell in load_workbook(path)["Inputs"]["I"]}
    for key, value in KEYS.items():
        book.set("Inputs", f"C{rows[key]}", value)
        book.evaluate()
        after = results_of(study, {key: value * stated[key].factor}, LEAN)
        assert differences(after, book.values()) == [], key
        if key not in STILL:
            assert after["Capacity"] != before["Capacity"], key
        book.set("Inputs", f"C{rows[key]}", stated[key].best)
    together = {key: value * stated[key].factor for key, value in KEYS.items()}
    for key, value in KEYS.items():
        book.set("Inputs", f"C{rows[key]}", value)
    book.evaluate()
    after = results_of(study, together, LEAN)
    assert differences(after, book.values()) == []
    assert "can't do this work even around the clock" in str(book.value("Capacity", "A5"))


def test_the_sentences_of_the_sheet_are_those_told(tmp_path: Path) -> None:
    from roi.answers.capacity import told

    study = study_of(tmp_path, SHOP)
    sheet = results_of(study, {}, LEAN)["Capacity"]
    shown = [" ".join(str(sheet[f"A{row}"]).split()) for row in (4, 5)]
    assert shown == told(study, study.evaluate())


def test_where_nobody_makes_plates_the_sheet_says_so(tmp_path: Path) -> None:
    """Two methods that buy in: no chart, nothing against a shift."""
    text = SHOP.split("[methods.polyester")[0].replace('current = "polyester"', 'current = "bought_in"')
    text += '[methods.bought_in]\n[methods.other]\nuse = "bought_in"\nshort = "Other"\nlabel = "Another supplier"\n'
    text += "[summary]" + SHOP.split("[summary]")[1]
    path = written(study_of(tmp_path, text), tmp_path, LEAN)
    sheet = load_workbook(path)["Capacity"]
    assert broken_rules(path) == []
    assert sheet._charts == []
    assert sheet["A4"].value.startswith("=Words!")
