"""A workbook read as a scenario: the same to the last digit, with exactly the edits; what can't be read told by cell.

The judge of results is the engine on the scenario file itself, and for edits the engine with that one input changed, which
is what the parity tests hold the live workbook to.
"""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest
from openpyxl import load_workbook

from roi.answers.compare import as_json
from roi.model.alike import put_alike_together
from roi.model.study import build
from roi.scenario.problems import BadInput
from roi.scenario.scenario import read
from roi.scenario.stated import StatedInput
from roi.workbook.kept import key_of, key_text
from roi.workbook.read_back import read_workbook
from roi.workbook.write import write_side_by_side, write_workbook
from tests.parity.recalculate import libreoffice_missing
from tests.small_shop import LEAN, SHOP
from tests.workbook.edited import cell_of, differing, edited

SCENARIOS = Path(__file__).parents[2] / "scenarios"
SHOPS = ("us_two_press", "uk_print_room", "euro_trade", "ten_answers")
LIFE = "methods.direct.life.coated"
# A summary has no job numbers; this log has: two jobs of two forms and one of one.
LOG = """Job,Printed,Plates,Impressions,Stock
A,2026-01-05,1,900,coated
A,2026-01-06,1,1100,coated
B,2026-01-07,1,1000,coated
B,2026-03-02,2,5000,uncoated
C,2026-12-31,4,15000,coated
"""
LOGGED = """
[log]
file = "jobs.csv"
date_order = "year-first"
columns = { job = "Job", date = "Printed", plates = "Plates", impressions = "Impressions", stock = "Stock" }
"""


def written(scenario: Path, target: Path) -> Path:
    study = build(read(scenario))
    write_workbook(study, study.evaluate(), target, LEAN)
    return target


def results(scenario, changes=None):
    study = build(scenario)
    return as_json(study, study.evaluate(changes))


@pytest.fixture(scope="module")
def books(tmp_path_factory):
    folder = tmp_path_factory.mktemp("books")
    return {name: written(SCENARIOS / name / "shop.toml", folder / f"{name}.xlsx") for name in SHOPS}


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    folder = tmp_path_factory.mktemp("small")
    (folder / "shop.toml").write_text(SHOP, "utf-8")
    return written(folder / "shop.toml", folder / "book.xlsx")


@pytest.fixture(scope="module")
def both(books):
    """Each shop as stated and as its workbook gives it, read from a folder without its log and method files."""
    return {name: (read(SCENARIOS / name / "shop.toml"), read_workbook(path)) for name, path in books.items()}


def problems(path):
    with pytest.raises(BadInput) as raised:
        read_workbook(path)
    return {p.where.removeprefix(f"{path.name}, "): f"{p.what}; {p.mend}" for p in raised.value.problems}


@pytest.mark.parametrize("name", SHOPS)
def test_a_workbook_alone_gives_the_same_results_to_twelve_digits(both, name):
    stated, found = both[name]
    assert differing(results(stated), results(found), 1e-12) == []


@pytest.mark.parametrize("name", SHOPS)
def test_every_input_comes_back_as_it_was_stated(both, name):
    stated, found = both[name]
    assert list(found.inputs) and set(found.inputs) == set(stated.inputs)
    for key, was in stated.inputs.items():
        now = found.inputs[key]
        for part in fields(StatedInput):
            one, other = getattr(was, part.name), getattr(now, part.name)
            if part.name == "where":  # in the workbook, its cell
                assert other.startswith(f"{name}.xlsx, Inputs!") or other.startswith(
                    f"{name}.xlsx, Scenario!"
                )
            elif part.name == "source":  # a cell on Inputs is never empty
                assert (one or "not stated") == (other or "not stated"), key
            elif isinstance(one, float):
                assert other == pytest.approx(one, rel=1e-14), (key, part.name)
            else:
                assert other == one, (key, part.name)
    assert [m.id for m in found.methods] == [m.id for m in stated.methods]
    assert (found.presses, found.sizes, found.grades) == (stated.presses, stated.sizes, stated.grades)
    assert found.work.notes == stated.work.notes and found.work.rows_skipped == stated.work.rows_skipped
    # What the cells of rows left out say stays in the log; which rows they are comes back.
    assert [p.where for p in found.work.skipped] == [p.where for p in stated.work.skipped]


def test_a_small_shop_with_a_log_and_odd_names(tmp_path):
    """Names with points and signs of formulas are texts; forms of one job share it."""
    text = SHOP[: SHOP.index("[summary]")].replace("Two-colour", "=HYPERLINK(1)") + LOGGED
    (tmp_path / "shop.toml").write_text(text.replace("small = ", '"a.b" = '), "utf-8")
    (tmp_path / "jobs.csv").write_text(LOG, "utf-8")
    book = written(tmp_path / "shop.toml", tmp_path / "book.xlsx")
    stated, found = read(tmp_path / "shop.toml"), read_workbook(book)
    assert [size.id for size in found.sizes] == ["a.b"] and found.presses[0].label == "=HYPERLINK(1)"
    assert differing(results(stated), results(found), 1e-12) == []
    assert not {"A", "B", "C"} & {
        str(c.value) for row in load_workbook(book)["Forms"].iter_rows() for c in row
    }


def test_forms_alike_are_put_together_as_by_hand(tmp_path):
    (tmp_path / "shop.toml").write_text(SHOP[: SHOP.index("[summary]")] + LOGGED, "utf-8")
    (tmp_path / "jobs.csv").write_text(LOG, "utf-8")
    work = put_alike_together(read(tmp_path / "shop.toml"))
    rows = sorted(zip(work.plates, work.weight, work.good, work.jobs, strict=True))
    # One colour, coated: A, A and B, of 900, 1,100 and 1,000 impressions: 3 forms of 1,000 on average. Job A lies wholly
    # in this row (2 x 1/2), job B by half. Two colours: the other half of B. Four colours: C.
    assert [tuple(map(float, row)) for row in rows] == [
        (1, 3, 1000, 1.5),
        (2, 1, 5000, 0.5),
        (4, 1, 15000, 1),
    ]
    assert (work.job == "").all() and np.isnat(work.day).all()


def test_an_edit_is_the_only_thing_that_changes(small, tmp_path):
    """Of a price whose range stays, of a life, whose bins stay as the live workbook's do, and of status, source and date."""
    price, was = "methods.direct.equipment.line.price", read_workbook(small)
    stated = {key: was.inputs[tuple(key.split("."))] for key in (price, LIFE)}
    wanted = {price: stated[price].best * 1.07, LIFE: round(stated[LIFE].best * 0.9)}
    changes = {cell_of(small, key): value for key, value in wanted.items()}
    changes |= {cell_of(small, price, "Status"): "quote", cell_of(small, price, "Source"): "a letter"}
    changes |= {cell_of(small, price, "Date"): "2026-10-12"}
    now = read_workbook(edited(small, tmp_path / "edited.xlsx", changes))
    for key, one in was.inputs.items():
        other, name = now.inputs[key], ".".join(key)
        expected = replace(one, best=wanted.get(name, one.best), unusual=other.unusual, where=other.where)
        if name == price:
            expected = replace(expected, status="quote", source="a letter", date="2026-10-12")
        if name == LIFE:  # stated with a status of "default" still, since nobody changed it
            assert other.status == "default"
        assert other == expected
    live = results(was, {key: wanted[key] * stated[key].factor for key in wanted})
    # The draws of a live workbook are as delivered, and it counts its changes itself.
    left_out = ("scenario", "defaults_in_use", "chance_of_cheapest")
    assert differing(
        *({n: v for n, v in one.items() if n not in left_out} for one in (live, results(now))), 1e-12
    ) == []  # fmt: skip


def test_a_workbook_saved_by_libreoffice_reads_back_equal(books, both, tmp_path):
    if missing := libreoffice_missing():
        pytest.skip(missing)
    made = tmp_path / "uk_print_room.xlsx"
    run = subprocess.run(
        ["soffice", "--headless", f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}", "--convert-to", "xlsx",
         "--outdir", str(tmp_path), str(books["uk_print_room"])], capture_output=True, text=True, timeout=300,
    )  # fmt: skip
    assert made.is_file(), run.stderr
    was, now = both["uk_print_room"][1], read_workbook(made)
    for key, one in was.inputs.items():
        other = now.inputs[key]
        assert (other.status, other.source, other.date, other.shown) == (
            one.status,
            one.source,
            one.date,
            one.shown,
        )
        # It stores fifteen digits of a number.
        assert [other.best, other.low, other.high] == pytest.approx([one.best, one.low, one.high], rel=1e-14)
    assert differing(results(was), results(now), 1e-12) == []


def test_a_workbook_written_from_a_workbook_is_the_same_again(small, tmp_path):
    again = build(read_workbook(small))
    write_workbook(again, again.evaluate(), tmp_path / "again.xlsx", LEAN)
    assert (
        differing(results(read_workbook(small)), results(read_workbook(tmp_path / "again.xlsx")), 1e-12) == []
    )


def test_all_that_cannot_be_read_is_told_at_once_by_sheet_and_cell(small, tmp_path):
    def at(key, head="Value"):
        return cell_of(small, key, head)

    def named(cell, key):
        return f"{'!'.join(cell)} ({key})"

    wrong = {
        at("shop.base_remakes"): "four",
        at("shop.paper"): "",
        at("shop.rent", "Unit"): "USD/kg",
        at("shop.electricity", "Status"): "gessed",
        at("shop.work_days", "Date"): "last week",
        at("shop.stretch", "Low"): "",
        at("money.tax_rate"): 0.9,
        at("shop.running_waste", "Key"): "shop.pull_job",
        at("shop.pull_job", "Key"): "",
        at("shop.shifts", "High"): 1.5,
        ("Scenario", "B9"): "txt",
    }
    found = problems(edited(small, tmp_path / "wrong.xlsx", wrong))
    expected = {
        named(at("shop.base_remakes"), "shop.base_remakes"): "'four' is text, not a number",
        named(at("shop.paper"), "shop.paper"): "is empty, or holds a formula without a stored result",
        named(at("shop.rent", "Unit"), "shop.rent"): "is now USD/kg; write the unit back",
        named(at("shop.electricity", "Status"), "shop.electricity"): "'gessed' is not known here",
        named(at("shop.work_days", "Date"), "shop.work_days"): "'last week' is not a date",
        named(at("shop.stretch", "Low"), "shop.stretch"): "is empty",
        named(
            at("money.tax_rate"), "money.tax_rate"
        ): "high 32 % is below best 90 %; put low <= best <= high",
        "!".join(at("shop.pull_job", "Key")): "the key of this row is gone",
        "Inputs": 'the row of "shop.running_waste" is missing',
        named(at("shop.shifts", "High"), "shop.shifts"): "is not a whole number",
        # The row that now bears another's key has its own unit still.
        named(at("shop.running_waste", "Unit"), "shop.pull_job"): "the unit was min/remake and is now %",
    }
    for where, words in expected.items():
        assert words in found[where], (where, found)
    assert {where.split(" ")[0] for where in set(found) - set(expected)} == {"Scenario!B9"}


@pytest.mark.parametrize(
    ("changes", "where", "words"),
    [
        ({("Forms", "B9"): "many"}, "Forms!B9", "'many' is text, not a number"),
        ({("Scenario", "A12"): "name"}, "Scenario!A12", '"name" stands in row'),
        ({("Scenario", "D5"): 99}, "Scenario!D5", "schema 99 is newer than this version reads"),
        ({("Work", "B8"): 0.75}, "Work or Units", "a number there was changed"),
        ({("Inputs", "C4"): "Best"}, "Inputs row 4", 'the heading "Value" is missing'),
    ],
)
def test_what_was_fixed_and_is_changed_is_told(small, tmp_path, changes, where, words):
    found = problems(edited(small, tmp_path / "changed.xlsx", changes))
    assert words in found[where], found


def forms_of(sheet):
    """The rows of forms, down to the next empty one."""
    column = [sheet.cell(row, 1).value for row in range(1, sheet.max_row + 1)]
    first = column.index("Forms alike") + 2
    return range(first, column.index(None, first) + 1)


def test_a_row_of_forms_that_is_gone_is_told_by_the_sum(small, tmp_path):
    book = load_workbook(small)
    sheet = book["Forms"]
    sheet.delete_rows(forms_of(sheet)[-1])
    book.save(tmp_path / "fewer.xlsx")
    told = problems(tmp_path / "fewer.xlsx")
    assert any("the rows add up to" in words for words in told.values()), told


def test_many_cells_of_one_column_are_told_as_one(books, tmp_path):
    book = load_workbook(books["ten_answers"])
    sheet = book["Forms"]
    rows = forms_of(sheet)
    first, count = rows[0], len(rows)
    assert count > 3
    for row in rows:
        sheet.cell(row, 3).value = "other"
    book.save(tmp_path / "presses.xlsx")
    found = problems(tmp_path / "presses.xlsx")
    assert len(found) == 3 and f"and {count - 3} more in this column" in found[f"Forms!C{first + 2}"]


def test_a_sheet_renamed_is_told_with_the_one_that_it_may_be(small, tmp_path):
    book = load_workbook(small)
    book["Scenario"].title = "Scenario (2)"
    book.save(tmp_path / "renamed.xlsx")
    with pytest.raises(
        BadInput, match=r'has no sheet "Scenario".*was "Scenario \(2\)" it\?|Name it Scenario again'
    ):
        read_workbook(tmp_path / "renamed.xlsx")


def test_other_workbooks_are_refused_with_what_to_give(small, tmp_path):
    study = build(read_workbook(small))
    values = study.evaluate()
    write_side_by_side([study, study], [values, values], tmp_path / "both.xlsx")
    with pytest.raises(BadInput, match="holds several scenarios side by side"):
        read_workbook(tmp_path / "both.xlsx")
    with pytest.raises(BadInput, match="is no workbook of this program"):
        read_workbook(SCENARIOS / "uk_print_room" / "job_log.xlsx")
    (tmp_path / "text.xlsx").write_text("no package", "utf-8")
    with pytest.raises(BadInput, match=r"is not a readable \.xlsx workbook"):
        read_workbook(tmp_path / "text.xlsx")
    with pytest.raises(BadInput, match=r"a \.ods file isn't read.*save it as \.xlsx|save it as \.xlsx"):
        read_workbook(Path(shutil.copy(small, tmp_path / "book.ods")))
    with pytest.raises(BadInput, match="does not exist"):
        read_workbook(tmp_path / "boook.xlsx")


@pytest.mark.parametrize(
    "key", [("shop", "rent"), ("sizes", "a.b", "label"), ("methods", 'say "x"', "note"), ("name",)]
)
def test_a_key_is_read_from_its_cell(key):
    assert key_of(key_text(key)) == key


def test_a_formula_that_something_was_typed_over_is_told_by_its_sheet(small, tmp_path):
    """Only the sheet that lost one; the workbook as written holds as many as it says."""
    workbook = load_workbook(small)
    cell = next(c for row in workbook["Comparison"].iter_rows() for c in row if str(c.value).startswith("="))
    cell.value = 1
    target = tmp_path / "over.xlsx"
    workbook.save(target)
    told = problems(target)
    assert list(told) == ["Comparison"]
    assert told["Comparison"].startswith("1 of ") and "formulas are gone" in told["Comparison"]
    assert read_workbook(small).name == "Invented shop"
