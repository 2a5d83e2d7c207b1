"""The Switching, To check and Claims sheets: rules kept, delivered values those of the library, what is live followed.

IronCalc recalculates; stored results are stripped first.
"""

import pytest
from click.testing import CliRunner
from openpyxl import load_workbook

from roi.answers.claim_words import sentences
from roi.answers.claims import needed
from roi.answers.claims import read as read_claim
from roi.answers.confirming import to_confirm
from roi.answers.switching import switching_values
from roi.cli import main
from roi.model.study import build
from roi.scenario.problems import BadInput
from roi.scenario.scenario import read
from roi.workbook.switching import DELIVERED
from roi.workbook.template import Template
from roi.workbook.to_check import MOST
from roi.workbook.write import results_of, write_workbook
from tests.parity.recalculate import IronCalcBook, differences
from tests.small_shop import SHOP
from tests.workbook.rules import broken_rules

SHEETS = Template(sheets=("Summary", "Inputs", "Switching", "To check", "Claims"))
CLAIMS = ("direct saves 1,000 a year", "direct costs no more than 12 a plate")
STATED = SHOP.replace("schema = 1\n", f"schema = 1\nclaims = {list(CLAIMS)}\n")
KEY = "methods.polyester.plates.price_per_area"


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    folder = tmp_path_factory.mktemp("shop")
    (folder / "shop.toml").write_text(STATED, "utf-8")
    study = build(read(folder / "shop.toml"))
    return study, write_workbook(study, study.evaluate(), folder / "out.xlsx", SHEETS), folder / "out.xlsx"


def rows_of(sheet, head):
    """Row by row below the row whose first cell is `head`, up to the first without a number in the third column."""
    first = next(cell.row for cell in sheet["A"] if cell.value == head) + 1
    rows = []
    for row in sheet.iter_rows(min_row=first):
        if row[2].value is None:
            return rows
        rows.append(row)
    return rows


def test_no_rule_is_broken(written):
    assert broken_rules(written[2]) == []


def test_switching_values_are_those_of_the_library(written):
    study, results, path = written
    rows = rows_of(load_workbook(path)["Switching"], "Input")
    found = switching_values(study).switching
    assert len(rows) == len(found) > 0
    for row, each in zip(rows, found, strict=True):
        scale = 100 if each.stated.percent else 1
        assert (row[0].value, row[2].style, row[4].style) == (each.stated.label, "Data", "Data")
        assert row[4].value * scale == pytest.approx(each.nearest.told, rel=1e-12)
        stored = [results["Switching"][row[i].coordinate] for i in (7, 8)]
        moved = each.nearest.told - each.best
        change = 100 * moved / abs(each.best) if each.best else None
        share = abs(moved) / (each.high - each.low) if each.high > each.low else None
        assert stored[0] == ("none" if change is None else pytest.approx(change / 100, rel=1e-9))
        assert stored[1] == ("none" if share is None else pytest.approx(share, rel=1e-9))


def test_values_are_printed_in_full(written):
    """What the format of the cell shows is the value told, which turns the answer: nothing is rounded again."""
    study, _, path = written
    book = load_workbook(path)
    claimed = needed(study, read_claim(CLAIMS[0], "USD")).met[:8]
    cells = [row[4] for row in rows_of(book["Switching"], "Input")]
    cells += [row[3] for row in rows_of(book["Claims"], "Input")[: len(claimed)]]
    for cell in cells:
        figure = cell.number_format.split(";")[0]
        places = len(figure.rstrip("%").partition(".")[2]) + (2 if figure.endswith("%") else 0)
        assert round(cell.value, places) == pytest.approx(cell.value, rel=1e-14), cell.coordinate


def test_what_is_to_be_checked_is_ranked_with_a_box_each(written):
    study, _, path = written
    rows = rows_of(load_workbook(path)["To check"], "What to check")
    found = to_confirm(study)[:MOST]
    assert [row[5].value for row in rows] == [one.stated.key for one in found]
    for row, one in zip(rows, found, strict=True):
        assert row[2].value.startswith("=Inputs!") and one.way.words in row[4].value
        assert row[3].value is None and row[3].border.left.style and row[3].border.bottom.style


def test_a_change_is_followed_and_makes_the_delivered_values_old(written):
    study, results, path = written
    book = IronCalcBook(path)
    assert differences(results, book.values()) == []
    stated = next(s for s in study.scenario.inputs.values() if s.key == KEY)
    sheet = load_workbook(path)["Inputs"]
    row = next(cell.row for cell in sheet["I"] if cell.value == KEY)
    book.set("Inputs", f"C{row}", stated.best * 1.1)
    book.evaluate()
    after = results_of(study, {KEY: stated.best * 1.1 * stated.factor}, SHEETS)
    assert differences(after, book.values()) == []
    at = next(cell.row for cell in load_workbook(path)["Switching"]["A"] if cell.value == DELIVERED)
    assert book.value("Switching", f"C{at}") == 1
    assert str(book.value("Switching", f"D{at}")).startswith("Work them out again")
    sheet = load_workbook(path)["To check"]
    at = next(cell.row for cell in sheet["A"] if cell.value == DELIVERED)
    assert book.value("To check", f"C{at}") == 1
    assert book.value("To check", f"D{at}") == "Work them out again: roi confirm."
    assert results["To check"][f"C{at}"] == 0
    assert any(after["Switching"][cell] != value for cell, value in results["Switching"].items())


def test_claims_stated_are_those_of_the_library(written):
    study, _, path = written
    sheet = load_workbook(path)["Claims"]
    texts = " ".join(str(cell.value) for cell in sheet["A"] if cell.value)
    data = [cell.value for row in sheet.iter_rows() for cell in row if cell.style == "Data"]
    for claim in CLAIMS:
        found = needed(study, read_claim(claim, "USD"))
        for sentence in sentences(study, found):
            assert sentence in texts
        for each in found.met[:3]:
            scale = 100 if each.stated.percent else 1
            assert any(value == pytest.approx(each.told / scale, rel=1e-12) for value in data)


def test_without_claims_there_is_no_such_sheet_and_bad_ones_are_refused(tmp_path):
    path = tmp_path / "shop.toml"
    path.write_text(
        SHOP.replace("schema = 1\n", 'schema = 1\nclaims = ["is lovely", "polyester saves 5 a year"]\n')
    )
    with pytest.raises(BadInput) as caught:
        read(path)
    assert [p.what.split(",")[0] for p in caught.value.problems] == [
        "is not understood",
        "is about polyester",
    ]
    out = tmp_path / "out.html"
    for command in (["check", path], ["batch", tmp_path], ["risk", path], ["brief", path, "-o", out]):
        refused = CliRunner().invoke(main, [str(word) for word in command])
        assert refused.exit_code == 2 and "is lovely" in refused.output, command
    path.write_text(SHOP.replace("schema = 1\n", 'schema = 1\nclaims = "is the cheapest"\n'))
    with pytest.raises(BadInput, match="is not a list of texts"):
        read(path)
    path.write_text(SHOP)
    study = build(read(path))
    write_workbook(study, study.evaluate(), tmp_path / "out.xlsx", Template(sheets=("Summary", "Claims")))
    assert "Claims" not in load_workbook(tmp_path / "out.xlsx").sheetnames
