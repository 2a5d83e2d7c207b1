"""The Mixed plan sheet: keeps the workbook's rules, holds what the library found, and says when it has grown old."""

from __future__ import annotations

from pathlib import Path

import pytest
from openpyxl import load_workbook

from roi.answers.mixed import mixed
from roi.answers.mixed_words import sentences
from roi.model.parts import CASH
from roi.model.study import Study, build
from roi.scenario.scenario import read
from roi.workbook.template import Template
from roi.workbook.write import results_of, write_workbook
from tests.answers.bare_shop import HEAD, WORK, method
from tests.parity.recalculate import IronCalcBook, differences
from tests.workbook.rules import broken_rules

WITH_IT = Template(sheets=("Summary", "Inputs", "Mixed plan"))
# A tenth is too fine for a, so that forms move, and b is worth having beside it.
METHODS = method("a", 1, 5, 100, 150) + method("b", 9, 2, 300)
FINE = WORK + "above_150_lpi = 0.1\n"


def shop(folder: Path, work: str = FINE) -> Study:
    path = folder / "shop.toml"
    path.write_text(HEAD + METHODS + work, encoding="utf-8")
    return build(read(path))


def written(study: Study, folder: Path, template: Template = WITH_IT) -> Path:
    path = folder / "out.xlsx"
    write_workbook(study, study.evaluate(), path, template)
    return path


def test_it_keeps_the_rules_and_holds_what_was_found(tmp_path: Path) -> None:
    study = shop(tmp_path)
    path = written(study, tmp_path)
    assert broken_rules(path) == []
    found = mixed(study, study.evaluate())
    rows = [
        [cell.value for cell in row if cell.value is not None]
        for row in load_workbook(path)["Mixed plan"].iter_rows()
    ]
    mix = found.best[CASH]
    assert mix is not None
    costs = next(row for row in rows if row and str(row[0]).startswith("Cheapest mix: A and B"))
    assert costs[2:4] == pytest.approx([mix.present[CASH], mix.switching[CASH]])
    moved = next(row for row in rows if row and row[0] == "First, out of reach")
    assert moved[2:4] == pytest.approx([120, 120]) and moved[-1] == "B"
    assert " ".join(sentences(found)).split() == " ".join(_said(rows)).split()


def _said(rows: list[list[object]]) -> list[str]:
    """The sentences, line by line: what stands alone in a row, from below the live one to the first table."""
    head = next(i for i, row in enumerate(rows) if row and row[0] == "One method for every press, and mixes")
    return [str(row[0]) for row in rows[4:head] if row]


def test_it_says_when_a_cost_has_moved_since(tmp_path: Path) -> None:
    """IronCalc against the engine, as written and with dearer plates; stored results are stripped first."""
    study = shop(tmp_path)
    path = written(study, tmp_path)
    book, before = IronCalcBook(path), results_of(study, {}, WITH_IT)
    assert differences(before, book.values()) == []
    assert str(book.value("Mixed plan", "A4")).startswith("Still so: no cost has moved since")
    key = "methods.a.plates.price.big"
    row = next(cell.row for cell in load_workbook(path)["Inputs"]["I"] if cell.value == key)
    book.set("Inputs", f"C{row}", 3.0)
    book.evaluate()
    # Of the two methods only a's cost moves, in both views.
    assert book.value("Mixed plan", "A4") == "2 costs have moved since then: run roi mix again."
    after = results_of(study, {key: 3.0}, WITH_IT)
    assert [d for d in differences(after, book.values()) if d.startswith("Mixed plan")] == []


def test_it_is_there_only_where_there_is_something_to_split(tmp_path: Path) -> None:
    one_press = FINE.replace('small = "second"', 'small = "first"')
    assert "Mixed plan" not in load_workbook(written(shop(tmp_path, one_press), tmp_path)).sheetnames
    without = Template(sheets=("Summary", "Inputs"))
    assert "Mixed plan" not in load_workbook(written(shop(tmp_path), tmp_path, without)).sheetnames


def test_switching_counted_in_every_column_recalculates(tmp_path: Path) -> None:
    """IronCalc against the engine where the shop counts switches, as written and with longer ones."""
    path = tmp_path / "shop.toml"
    path.write_text(
        HEAD.replace("[shop]", "[shop]\ncount_switches = true") + METHODS + FINE, encoding="utf-8"
    )
    study = build(read(path))
    template = Template(sheets=("Summary", "Inputs"))
    out = written(study, tmp_path, template)
    book = IronCalcBook(out)
    assert differences(results_of(study, {}, template), book.values()) == []
    row = next(cell.row for cell in load_workbook(out)["Inputs"]["I"] if cell.value == "shop.switch_fountain")
    book.set("Inputs", f"C{row}", 40.0)
    book.evaluate()
    after = results_of(study, {"shop.switch_fountain": 40.0}, template)
    assert differences(after, book.values()) == []
