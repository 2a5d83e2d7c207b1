"""The two witnesses agree with plain arithmetic, are not fooled by stored results, and see one wrong cell."""

from datetime import date

import pytest
from openpyxl import Workbook

from roi.workbook.finish import finish
from tests.parity.recalculate import (
    IronCalcBook,
    differences,
    ironcalc_values,
    libreoffice_missing,
    libreoffice_values,
    stripped,
)

needs_libreoffice = pytest.mark.skipif(libreoffice_missing() is not None, reason=str(libreoffice_missing()))

# By hand: 600 plates a month at 2.10 for 12 months are 15,120 a year. Day 45,658 is checked below.
BY_HAND = {
    "Work": {"B1": 15120.0, "B2": 15120.0 / 7, "B3": "dear & more", "B4": True, "B5": 45658.0},
}
WRONG = {"Work": {"B1": 1, "B2": 2, "B3": "wrong", "B4": False, "B5": 3}}
INPUT = ("The shop's inputs", "B1")


@pytest.fixture(scope="module")
def workbook(tmp_path_factory):
    """A finished workbook in which every stored result is wrong."""
    folder = tmp_path_factory.mktemp("books")
    book = Workbook()
    inputs, work = book.active, book.create_sheet("Work")
    inputs.title = INPUT[0]
    inputs["A1"], inputs["B1"], inputs["B2"], inputs["B3"] = "plates a month", 600, 2.10, "more"
    work["B1"] = "='The shop''s inputs'!B1*'The shop''s inputs'!B2*12"
    work["B2"] = "=B1/7"
    work["B3"] = "=IF(B1>1000,\"dear & \",\"cheap & \")&'The shop''s inputs'!B3"
    work["B4"] = "=B2<B1"
    work["B5"] = "=DATE(2025,1,1)"
    work["B5"].number_format = "yyyy-mm-dd"
    book.save(folder / "saved.xlsx")
    finish(folder / "saved.xlsx", folder / "finished.xlsx", WRONG)
    return folder / "finished.xlsx"


def test_ironcalc_gives_what_arithmetic_gives_and_not_what_is_stored(workbook):
    values = ironcalc_values(workbook)

    assert differences(BY_HAND, values) == []
    assert (date(2025, 1, 1) - date(1899, 12, 30)).days == values["Work"]["B5"]
    assert len(differences(WRONG, values)) == 5


@needs_libreoffice
def test_libreoffice_gives_what_arithmetic_gives_in_one_batch_with_changes(workbook):
    plain, cheap = libreoffice_values([workbook, workbook], [{}, {INPUT: 6, (INPUT[0], "B3"): "less & less"}])

    assert differences(BY_HAND, plain) == []
    assert differences(plain, ironcalc_values(workbook)) == []
    assert cheap["Work"]["B1"] == pytest.approx(6 * 2.10 * 12)
    assert cheap["Work"]["B3"] == "cheap & less & less"


def test_ironcalc_changes_and_restores(workbook):
    book = IronCalcBook(workbook)
    for plates in (0, 1, 750.5, 600):
        book.set(*INPUT, plates)
        book.evaluate()
        assert book.value("Work", "B1") == pytest.approx(plates * 2.10 * 12)
    assert differences(BY_HAND, book.values()) == []
    assert ironcalc_values(workbook, {INPUT: 6})["Work"]["B3"] == "cheap & more"


def test_one_wrong_cell_is_named_with_both_values(workbook):
    engine = {"Work": {**BY_HAND["Work"], "B2": 2160.00001}}
    assert differences(engine, ironcalc_values(workbook)) == ["Work!B2: engine 2160.00001, other 2160.0"]
    assert differences({"Work": {"B9": 1.0}, "Gone": {"A1": "x"}}, ironcalc_values(workbook)) == [
        "Work!B9: engine 1.0, other None",
        "Gone!A1: engine 'x', other None",
    ]


@pytest.mark.parametrize(
    "one, two, agree",
    [
        (0.0, 9e-7, True),
        (0.0, 1.1e-6, False),  # 1e-6 of currency at zero
        (1e6, 1e6 + 1.0e-3, True),
        (1e6, 1e6 + 1.1e-3, False),  # 1e-9 of a million, and 1e-6
        ("a", "a", True),
        ("a", "b", False),
        ("1", 1.0, False),
        (True, 1.0, False),
        (1.0, "#N/A", False),
    ],
)
def test_the_tolerance_is_the_stated_one(one, two, agree):
    assert (differences({"S": {"A1": one}}, {"S": {"A1": two}}) == []) is agree


@pytest.mark.parametrize(
    "key, says",
    [
        (("Work", "B1"), "B1: no typed value"),
        (("Work", "Z9"), "Z9: no typed value"),
        (("Gone", "A1"), "no such sheet"),
    ],
)
def test_only_a_typed_cell_can_be_changed(workbook, tmp_path, key, says):
    with pytest.raises(ValueError, match=says):
        stripped(workbook, tmp_path / "copy.xlsx", {key: 1.0})
