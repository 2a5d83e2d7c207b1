"""A small shop that states everything about waste, cooling, water, plate material and invoices, recalculated by IronCalc.

Stored results are stripped beforehand, so that IronCalc is the outside reference. |a - b| <= 1e-9 x max(|a|, |b|) + 1e-6.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from openpyxl import load_workbook

from roi.workbook.inputs import HEADS, KEY
from roi.workbook.placing import HEAD
from roi.workbook.write import results_of, write_workbook
from tests.model.billed_shop import billed_whole
from tests.parity.recalculate import IronCalcBook, differences
from tests.small_shop import LEAN

POLYESTER, STREAM = "methods.polyester.", "methods.polyester.streams.spent."
# Input and its new value in the unit shown: over an edge where there is one.
CHANGES = [
    (STREAM + "ph", 13.0),
    (STREAM + "silver", 4.0),
    (STREAM + "silver_credit", 0.9),
    (STREAM + "registration", 90.0),
    (STREAM + "tests", 10.0),
    (STREAM + "manifest", 8.0),
    (STREAM + "hours", 9.0),
    (STREAM + "pickup_hours", 0.5),
    (STREAM + "keeping", 1.0),
    ("leaving.drain_volume", 900.0),
    ("shop.cooling_share", 0.9),
    ("shop.cooling_cop", 2.0),
    ("shop.water", 4.0),
    ("shop.sewer", 0.0),
    (POLYESTER + "plates.mass", 0.3),
    (POLYESTER + "last_year.chemistry", 3900.0),
    (POLYESTER + "last_year.waste", 300.0),
    (POLYESTER + "last_year.plates", 7000.0),
    ("work.volume", 1.7),
]


@pytest.mark.parametrize(("rules", "ways"), [("us", 3), ("eu", 1)])
def test_ironcalc_gives_what_is_stored_and_follows_changes(tmp_path: Path, rules: str, ways: int) -> None:
    """Every key is changed, several at once: each in one of `ways` sets."""
    study = billed_whole(tmp_path, rules)
    path = tmp_path / "decision.xlsx"
    stored = write_workbook(study, study.evaluate(), path, LEAN)
    book = IronCalcBook(path)
    assert differences(stored, book.values()) == []
    sheet = load_workbook(path, read_only=True)["Inputs"]
    assert HEADS[KEY - 1] == "Key"
    keys = [row[0] for row in sheet.iter_rows(min_row=HEAD + 1, min_col=KEY, max_col=KEY, values_only=True)]
    rows = {key: HEAD + 1 + i for i, key in enumerate(keys) if key}
    factors = {s.key: s.factor for s in study.scenario.inputs.values()}
    assert set(dict(CHANGES)) <= set(rows)
    for way in range(ways):
        some = CHANGES[way::ways]
        was = {key: book.value("Inputs", f"C{rows[key]}") for key, _ in some}
        for key, value in some:
            book.set("Inputs", f"C{rows[key]}", value)
        book.evaluate()
        after = results_of(study, {key: value * factors[key] for key, value in some}, LEAN)
        assert differences(after, book.values()) == []
        for key in was:
            book.set("Inputs", f"C{rows[key]}", was[key])


def test_each_key_moves_a_figure(tmp_path: Path) -> None:
    """One at a time: a key that the reckoning fetched in vain would move nothing."""
    study = billed_whole(tmp_path, "us")
    factors = {s.key: s.factor for s in study.scenario.inputs.values()}
    before = study.evaluate()
    kept = [line for line in study.book.lines if not line.is_input]
    for key, value in CHANGES:
        after = study.evaluate({key: value * factors[key]})
        assert any((after[line] != before[line]).any() for line in kept), key


def test_the_sentences_of_the_invoices_stand_on_the_summary(tmp_path: Path) -> None:
    study = billed_whole(tmp_path, "us")
    path = tmp_path / "decision.xlsx"
    write_workbook(study, study.evaluate(), path, LEAN)
    said = [
        row[0]
        for row in load_workbook(path, data_only=True)["Summary"].iter_rows(max_col=1, values_only=True)
    ]
    invoiced = [x for x in said if isinstance(x, str) and "as invoiced" in x]
    assert len(invoiced) == 3 and all(len(x) <= 112 for x in invoiced)
