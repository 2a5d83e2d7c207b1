"""The input workbook's few formulas, recalculated by IronCalc: as stored, and after cells are filled in."""

from __future__ import annotations

import pytest

from roi.workbook.write import write_input_book
from tests.cli.test_new import ANSWERS
from tests.parity.recalculate import IronCalcBook, differences
from tests.workbook.edited import cell_of


@pytest.mark.parametrize("answers", [{}, ANSWERS])
def test_what_is_stored_is_what_is_recalculated(tmp_path, answers):
    path = tmp_path / "shop.xlsx"
    results = write_input_book(answers, path)
    assert {sheet: len(cells) for sheet, cells in results.items()} == {"Checks": 5, "Summary": 2}
    assert differences(results, IronCalcBook(path).values()) == []


def test_the_checks_follow_what_is_filled_in(tmp_path):
    path = tmp_path / "shop.xlsx"
    results = write_input_book(ANSWERS, path)
    book = IronCalcBook(path)
    summary = dict(zip(("runs", "checks"), results["Summary"], strict=True))
    book.set(*cell_of(path, "summary.runs.more", sheet="Plates a month"), 0.1)
    book.evaluate()
    was = {name: results["Summary"][cell] for name, cell in summary.items()}
    now = {name: book.value("Summary", cell) for name, cell in summary.items()}
    # 48 + 40 + 9 + 3 + 10 of 100: the sum of shares no longer is 1.
    assert now["runs"] == pytest.approx(1.1) and (was["checks"], now["checks"]) == (
        "all pass",
        "look at Checks",
    )
