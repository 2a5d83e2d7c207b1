"""The demo's whole workbook, cases and all, recalculated by two programs that know nothing of the engine.

IronCalc and LibreOffice are the outside references: stored results are stripped before either of them computes.
|a - b| <= 1e-9 x max(|a|, |b|) + 1e-6.
"""

from __future__ import annotations

import pytest
from openpyxl import load_workbook

from roi.workbook.inputs import HEADS, HIGH, KEY, LOW, VALUE
from roi.workbook.placing import HEAD
from roi.workbook.write import results_of
from tests.parity.recalculate import IronCalcBook, differences, libreoffice_missing, libreoffice_values

# Input, column and the new value in the unit shown: of each kind of trial's own inputs and bounds, of what all cases
# share, and one that makes another method the cheapest, so that the lead followed is another's.
CHANGES = [
    ("methods.polyester.press.tight_minutes", HIGH, 20.0),
    ("methods.processed.equipment.setter.life", LOW, 2.0),
    ("work.volume", VALUE, 1.4),
    ("money.horizon", VALUE, 5.0),
    ("prices.plates", VALUE, 1.2),
    ("methods.processed.equipment.setter.contract", VALUE, 20000.0),
]
NAMES = {LOW: " (low)", HIGH: " (high)", VALUE: ""}


@pytest.fixture(scope="module")
def rows(whole) -> dict[str, int]:
    """The row of each input on the Inputs sheet, by its key."""
    sheet = load_workbook(whole.path, read_only=True)["Inputs"]
    assert HEADS[KEY - 1] == "Key"
    keys = [row[0] for row in sheet.iter_rows(min_row=HEAD + 1, min_col=KEY, max_col=KEY, values_only=True)]
    return {key: HEAD + 1 + i for i, key in enumerate(keys) if key}


def cell(rows: dict[str, int], key: str, column: int) -> str:
    return f"{'ABCDEFGHI'[column - 1]}{rows[key]}"


def engine_results(whole, key: str, column: int, value: float) -> dict[str, dict[str, float | str]]:
    factor = next(s.factor for s in whole.study.scenario.inputs.values() if s.key == key)
    return results_of(whole.study, {key + NAMES[column]: value * factor})


def test_ironcalc_gives_what_is_stored_and_follows_changes(whole, rows) -> None:
    assert 100_000 < sum(len(sheet) for sheet in whole.results.values()) < 150_000
    book = IronCalcBook(whole.path)
    assert differences(whole.results, book.values()) == []
    for key, column, value in CHANGES:
        was = book.value("Inputs", cell(rows, key, column))
        book.set("Inputs", cell(rows, key, column), value)
        book.evaluate()
        after = engine_results(whole, key, column, value)
        assert differences(after, book.values()) == [], key
        moved = [title for title in after if after[title] != whole.results[title]]
        assert {"Cases", "Sensitivity"} & set(moved) and any(title.endswith(" cases") for title in moved), key
        book.set("Inputs", cell(rows, key, column), was)


@pytest.mark.skipif(libreoffice_missing() is not None, reason=str(libreoffice_missing()))
def test_libreoffice_follows_a_change_through_all_sheets(whole, rows) -> None:
    key, column, value = CHANGES[-1]
    (changed,) = libreoffice_values([whole.path], [{("Inputs", cell(rows, key, column)): value}])
    assert differences(engine_results(whole, key, column, value), changed) == [], key
