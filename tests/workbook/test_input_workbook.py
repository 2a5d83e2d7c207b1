"""The input workbook: keeps the rules, reads as the starter of the same answers does, takes a pasted log, tells by cell."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest
from openpyxl import load_workbook

from roi.answers.compare import as_json
from roi.answers.differences import differences
from roi.model.study import build
from roi.scenario.problems import BadInput
from roi.scenario.starter import checked, write
from roi.workbook.input_ledger import BOOKS
from roi.workbook.made import now
from roi.workbook.read_back import read_workbook
from roi.workbook.write import write_input_book, write_workbook
from tests.cli.test_new import ANSWERS
from tests.small_shop import LEAN
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
        # A press that may be added starts as the first one does.
        default = defaults.get(re.sub(r"^presses\.press_\d\.", "presses.press.", key))
        assert shown == (pytest.approx(default.best) if default else "none"), key
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


def test_the_year_that_log_columns_states_is_the_ledgers(answered, tmp_path):
    """As [log] from and to are in a file; the decision workbook keeps it, and is no different from what it was made of."""
    rows = [(job, day, None, size, plates, good, None, stock) for job, day, size, plates, good, stock in ROWS]
    days = {"log.from": dt.datetime(2026, 1, 1), "log.to": dt.datetime(2026, 12, 31)}
    book = pasted(answered, tmp_path / "log.xlsx", (), rows, days, row=6)
    place = cell_of(book, "ledger.account.1", "In your books", BOOKS)
    stands = cell_of(book, "ledger.account.1", "Stands for", BOOKS)
    filled = edited(book, tmp_path / "filled.xlsx", {place: "5010", stands: "Consumables: plates"})
    found = read_workbook(filled)
    assert (
        found.ledger.year == (dt.date(2026, 1, 1), dt.date(2026, 12, 31)) and "from" not in found.ledger_table
    )
    study = build(found)
    write_workbook(study, study.evaluate(), tmp_path / "decision.xlsx", LEAN)
    again = read_workbook(tmp_path / "decision.xlsx")
    assert again.ledger.year == found.ledger.year
    assert [t for t in differences([study, build(again)]).texts if t.label.startswith("ledger")] == []


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
    assert where == "Job log!C9"
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
    assert told[0] == cells["runs"] and "the shares add up to 70 %, not 100 %" in told[1]


def test_further_plate_sizes_are_named_priced_and_counted(answered, tmp_path):
    def at(key, head="Format", sheet="Plate sizes"):
        return cell_of(answered, key, head, sheet)

    named = {at("size_3", "Plate size"): "Envelope", at("size_3"): "8 in x 10 in"}
    rows = [("J5", dt.date(2026, 2, 2), None, "Envelope", 2, 700)]
    rows += [(job, day, None, size, plates, good) for job, day, size, plates, good, _ in ROWS]
    log = read_workbook(
        pasted(edited(answered, tmp_path / "named.xlsx", named), tmp_path / "log.xlsx", (), rows, row=6)
    )
    assert [size.name for size in log.sizes] == ["Small", "Large", "Envelope"]
    assert log.work.plates[log.work.size == 2].tolist() == [2]
    priced = {**named, at("summary.plates_per_month.size_3", "Value", "Plates a month"): 60,
              at("methods.direct.plates.price.size_3", "Value", "Inputs"): 1.5}  # fmt: skip
    found = read_workbook(edited(answered, tmp_path / "priced.xlsx", priced))
    # A month's 220 and 180 of the answers, and 60 more.
    assert (found.work.weight * found.work.plates).sum() / 12 == pytest.approx(460)
    assert found.inputs["methods", "direct", "plates", "price", "size_3"].best == 1.5
    wrong = {**named, at("size_3"): "8 x 10", at("size_4", "Plate size"): "Large", at("size_4"): "9 in x 9 in",
             at("size_5"): "9 in x 9 in"}  # fmt: skip
    told = problems(edited(answered, tmp_path / "wrong.xlsx", wrong))
    assert "has no unit" in told["!".join(at("size_3"))]
    assert "names two plate sizes" in told["!".join(at("size_4", "Plate size"))]
    assert "is empty" in told["!".join(at("size_5", "Plate size"))] and len(told) == 3


def test_a_dated_rise_in_price_is_stated_and_a_quote_has_its_parts_below_it(answered, tmp_path):
    def at(name, head="Value"):
        return cell_of(answered, f"price_steps.plates.{name}", head)

    rise = {at("change"): 0.1, at("year"): 2, at("month"): 4}
    found = read_workbook(edited(answered, tmp_path / "rise.xlsx", rise)).inputs
    assert [found["price_steps", "plates", name].best for name in ("change", "year", "month")] == [0.1, 2, 4]
    alone = problems(edited(answered, tmp_path / "alone.xlsx", {at("change"): 0.1}))
    assert alone == {
        f"{'!'.join(at('year'))} (price_steps.plates.year)": "is missing; type the first year it holds"
    }
    here = "methods.direct.equipment.line"
    rows = [
        cell_of(answered, f"{here}.{name}")[1] for name in ("price", "freight", "installation", "training")
    ]
    assert [int(cell[1:]) - int(rows[0][1:]) for cell in rows] == [0, 1, 2, 3]


def test_a_switch_that_a_mend_asks_for_is_read_from_scenario(answered, tmp_path):
    """As the mend says in a workbook: Key shop.count_switches, Kind switch, Stated by shop, Content yes."""
    book = load_workbook(answered)
    book["Scenario"].append(["shop.count_switches", "switch", "shop", "yes"])
    book.save(tmp_path / "switch.xlsx")
    assert read_workbook(tmp_path / "switch.xlsx").raw["shop", "count_switches"].value is True


def test_a_key_of_plates_a_month_that_is_none_is_told(answered, tmp_path):
    """Found by mutation: such keys went by the name before the dot, or by none."""
    sheet, cell = cell_of(answered, "summary.uncoated", "Key", "Plates a month")
    for key in (
        "2",
        "summary",
        "summary.runs",
        "summary.month_share.13",
        "other.uncoated",
        "summary.press",
        "a.b.c.d",
    ):
        found = problems(edited(answered, tmp_path / "key.xlsx", {(sheet, cell): key}))
        assert f'"{key}" is not a key known here' in found[f"{sheet}!{cell}"], key


def test_without_plates_it_says_where_to_put_them(tmp_path):
    write_input_book({}, tmp_path / "empty.xlsx")
    (told,) = problems(tmp_path / "empty.xlsx").items()
    assert told[0] == "!".join(
        cell_of(tmp_path / "empty.xlsx", "summary.plates_per_month.small", sheet="Plates a month")
    )
    assert "no plates a month are stated, and there is no job log" in told[1]
