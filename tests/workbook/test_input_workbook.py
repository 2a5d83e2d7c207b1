"""The input workbook: keeps the rules, reads as the starter of the same answers does, takes a pasted log, tells by cell."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from openpyxl import load_workbook

from roi.answers.compare import as_json
from roi.model.study import build
from roi.scenario.problems import BadInput
from roi.scenario.starter import checked, write
from roi.workbook.made import now
from roi.workbook.read_back import read_workbook
from roi.workbook.write import write_input_book
from tests.cli.test_new import ANSWERS
from tests.workbook.edited import cell_of, differing, edited
from tests.workbook.rules import broken_rules

# Forms by hand: 3 of the small size with 1, 2 and 4 plates, 2 of the large one with 1 and 2.
ROWS = [
    ("J1", dt.date(2026, 1, 5), "Small", 1, 900, "coated"), ("J1", dt.date(2026, 1, 5), "Small", 2, 1100, "uncoated"),
    ("J2", dt.date(2026, 4, 1), "Small", 4, 5000, "coated"), ("J3", dt.date(2026, 9, 30), "Large", 1, 20000, "coated"),
    ("J4", dt.date(2026, 12, 30), "Large", 2, 2500, "uncoated"),
]  # fmt: skip


@pytest.fixture(scope="module")
def answered(tmp_path_factory):
    path = tmp_path_factory.mktemp("answered") / "shop.xlsx"
    write_input_book(ANSWERS, path)
    return path


def problems(path):
    with pytest.raises(BadInput) as raised:
        read_workbook(path)
    return {p.where.removeprefix(f"{path.name}, "): f"{p.what}; {p.mend}" for p in raised.value.problems}


@pytest.mark.parametrize(
    "answers", [ANSWERS, {"today": "processed", "currency": "EUR", "per-dollar": "0.92"}]
)
def test_it_breaks_no_rule(tmp_path, answers):
    write_input_book(answers, tmp_path / "shop.xlsx")
    assert broken_rules(tmp_path / "shop.xlsx") == []


def test_it_reads_as_the_file_with_the_same_answers_does(answered):
    stated, found = checked(write(ANSWERS, today=now().date())), read_workbook(answered)
    assert {i.key: i.status for i in found.inputs.values()} == {
        i.key: i.status for i in stated.inputs.values()
    }
    one, other = (as_json(study, study.evaluate()) for study in (build(stated), build(found)))
    # Which draw an input gets goes by the order in which inputs stand, and here they stand in another one.
    drawn = [each.pop("chance_of_cheapest") for each in (one, other)]
    assert differing(one, other, 1e-12) == [] and differing(*drawn, 0.02) == []


def test_every_row_shows_its_default_and_only_answers_fill_value(answered):
    sheet = load_workbook(answered)["Inputs"]
    heads = {cell.value: cell.column for cell in sheet[4]}
    bare = checked(write({k: ANSWERS[k] for k in ("name", "today", "plates", "runs")}, today=now().date()))
    defaults = {one.key: one for one in bare.inputs.values()}
    filled = set()
    for row in range(5, sheet.max_row):
        key = sheet.cell(row, heads["Key"]).value
        if not key:
            continue
        shown = sheet.cell(row, heads["Default"]).value
        assert shown == (pytest.approx(defaults[key].best) if key in defaults else "none"), key
        assert sheet.cell(row, heads["How to find it out"]).value
        if sheet.cell(row, heads["Value"]).value is not None:
            filled.add(key)
    # Answers of one number each: 5 for chemistry to years left, 5 for minutes to press hour, 2 for remakes and days down; three
    # with a price for each of two sizes; and three that the all-in quote holds.
    assert filled == {one.key for one in read_workbook(answered).inputs.values() if not one.default}
    assert len(filled) == 5 + 5 + 2 + 3 * 2 + 3


def test_numbers_put_in_and_taken_out(answered, tmp_path):
    """A value with how sure; one with low alone; one cleared, which is its default again; a size renamed on Scenario."""

    def at(key, head="Value"):
        return cell_of(answered, key, head)

    changes = {
        at("shop.paper"): 0.05, at("shop.paper", "How sure"): "guess",
        at("shop.rent"): 10.0, at("shop.rent", "Low"): 9.5, at("shop.rent", "Status"): "measured",
        at("shop.base_remakes"): "", at("shop.base_remakes", "Status"): "",
        cell_of(answered, "sizes.small.label", "Content", "Scenario"): "Letter",
    }  # fmt: skip
    found = read_workbook(edited(answered, tmp_path / "edited.xlsx", changes))
    paper, rent, remakes = (found.inputs["shop", name] for name in ("paper", "rent", "base_remakes"))
    # How sure: a guess may be off by 40 %; measured by 5 % where nothing else is said.
    assert (paper.best, paper.low, paper.high, paper.status) == (
        0.05, pytest.approx(0.03), pytest.approx(0.07), "estimate",
    )  # fmt: skip
    assert (rent.best, rent.low, rent.high, rent.status) == (10, 9.5, pytest.approx(10.5), "measured")
    assert remakes.default and (remakes.best, remakes.low, remakes.high) == pytest.approx((0.04, 0.02, 0.08))
    assert found.sizes[0].label == "Letter (10 in x 15 in)"
    # A default is told where it would be stated.
    assert remakes.where == f"edited.xlsx, {'!'.join(at('shop.base_remakes'))} (shop.base_remakes)"


def pasted(source: Path, target: Path, heads, rows, mapping=(), row=4):
    """A log pasted over the headings, at a row, and Log columns filled in by key."""
    book = load_workbook(source)
    sheet, columns = book["Job log"], book["Log columns"]
    if heads:
        for cells in sheet.iter_rows(min_row=4, max_row=5):
            for cell in cells:
                cell.value = None
    start = row
    for number, values in enumerate([*([heads] if heads else []), *rows], start):
        for column, value in enumerate(values, 1):
            sheet.cell(number, column).value = value
    where = {columns.cell(r, 6).value: r for r in range(5, columns.max_row + 1)}
    for key, value in dict(mapping).items():
        columns.cell(where[key], 2).value = value
    book.save(target)
    return target


def test_a_log_pasted_below_the_headings_takes_the_place_of_plates_a_month(answered, tmp_path):
    rows = [(job, day, None, size, plates, good, None, stock) for job, day, size, plates, good, stock in ROWS]
    found = read_workbook(pasted(answered, tmp_path / "log.xlsx", (), rows, row=6))
    work = found.work
    assert found.work_source == "job log in log.xlsx"
    assert [(work.sizes[s], p, g) for s, p, g in zip(work.size, work.plates, work.good, strict=True)] == [
        (size.lower(), plates, good) for _, _, size, plates, good, _ in ROWS
    ]
    assert work.uncoated.tolist() == [stock == "uncoated" for *_, stock in ROWS]
    assert work.days == 360  # 5 January to 30 December 2026, both counted
    said = "; ".join(work.notes)
    assert "Plates a month isn't read, since Job log holds rows" in said
    assert "not in the job log, and so not known: Ruling, Tight register" in said


def test_a_log_with_its_own_headings_and_words(answered, tmp_path):
    heads = ("Ticket", "Day", "Format", "Films", "Sheets")
    words = {"Small": "klein", "Large": "GROSS"}
    rows = [(j, d.strftime("%d.%m.%Y"), words[s], p, g) for j, d, s, p, g, _ in ROWS]
    mapping = {
        "log.columns.job": "Ticket", "log.columns.date": "Day", "log.columns.size": "Format", "log.columns.plates": "Films",
        "log.columns.impressions": "Sheets", "log.words.size.small": "klein, k", "log.words.size.large": "gross",
        "log.date_order": "day-first",
    }  # fmt: skip
    work = read_workbook(pasted(answered, tmp_path / "own.xlsx", heads, rows, mapping)).work
    assert [work.sizes[s] for s in work.size] == ["small", "small", "small", "large", "large"]
    assert work.job.tolist() == ["J1", "J1", "J2", "J3", "J4"]
    wrong = [*rows[:4], ("J5", "30.12.2026", "mittel", 2, 100)]
    (where,) = problems(pasted(answered, tmp_path / "word.xlsx", heads, wrong, mapping))
    assert where == "Job log, row 9"
    told = problems(
        pasted(answered, tmp_path / "head.xlsx", heads, rows, {**mapping, "log.columns.plates": "Platten"})
    )
    row = next(r for r, *_ in _rows(tmp_path / "head.xlsx", "Log columns") if _[-1] == "log.columns.plates")
    assert 'has no column "Platten"' in told[f"Log columns!B{row}"]


def _rows(path, sheet):
    page = load_workbook(path)[sheet]
    return [(r, *(cell.value for cell in page[r])) for r in range(1, page.max_row + 1)]


def test_what_cannot_be_is_told_by_cell(answered, tmp_path):
    def at(key, head="Value", sheet="Inputs"):
        return cell_of(answered, key, head, sheet)

    shares = "Plates a month"
    changes = {
        at("shop.paper"): "five cents",
        at("shop.rent", "Low"): 3.0,
        at("summary.runs.to_5000", sheet=shares): 0.1,
        at("summary.uncoated", sheet=shares): "some",
    }
    found = problems(edited(answered, tmp_path / "wrong.xlsx", changes))
    cells = {key: "!".join(cell) for key, cell in {
        "paper": at("shop.paper"), "rent": at("shop.rent"), "uncoated": at("summary.uncoated", sheet=shares),
        "runs": at("summary.runs.under_1000", sheet=shares),
    }.items()}  # fmt: skip
    assert "is text, not a number" in found[f"{cells['paper']} (shop.paper)"]
    assert "is empty, and Low says 3" in found[f"{cells['rent']} (shop.rent)"]
    assert "is text, not a number" in found[cells["uncoated"]]
    only = {at("summary.runs.to_5000", sheet=shares): 0.1}
    (told,) = problems(edited(answered, tmp_path / "sum.xlsx", only)).items()
    # 48 + 10 + 9 + 3 + 0 of 100.
    assert told[0] == cells["runs"] and "the shares add up to 0.7, not 1" in told[1]


def test_without_plates_it_says_where_to_put_them(tmp_path):
    write_input_book({}, tmp_path / "empty.xlsx")
    (told,) = problems(tmp_path / "empty.xlsx").items()
    assert told[0] == "!".join(
        cell_of(tmp_path / "empty.xlsx", "summary.plates_per_month.small", sheet="Plates a month")
    )
    assert "no plates a month are stated, and there is no job log" in told[1]
