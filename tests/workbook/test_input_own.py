"""What a spreadsheet user states beside the ten questions: presses, own costs, ledger, account codes, dates and who says so.

Filled in by cell, read, written as a decision workbook, edited there, saved by LibreOffice: always what was typed, and no more.
"""

from __future__ import annotations

import datetime as dt
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest
from openpyxl import Workbook, load_workbook

from roi.answers.what_changed import what_changed
from roi.model.study import build
from roi.scenario.problems import BadInput, Problem
from roi.workbook.input_ledger import BOOKS
from roi.workbook.input_own import OWN_COSTS, PRESSES
from roi.workbook.read_back import read_workbook
from roi.workbook.read_books import told_by_cell, where_to_say
from roi.workbook.write import write_input_book, write_workbook
from tests.parity.recalculate import libreoffice_missing
from tests.small_shop import LEAN
from tests.workbook.edited import cell_of

ANSWERS = {"plates": "10 in x 15 in: 220; 13 in x 19 3/8 in: 180", "runs": "48 40 9 3 0"}
PRICE, LIFE_LEFT = "methods.direct.equipment.line.price", "methods.polyester.equipment.line.years_left"
BOOKED = {1: ("5010", "Consumables: plates"), 2: (5020, "Consumables: chemistry"), 3: ("5040", "Left out")}
# By sheet, key and heading, as typed.
TYPED = {
    ("Inputs", PRICE): {
        "Value": "18,500", "Low": 17000, "High": "$20,000.00", "Status": "quote", "Date": dt.datetime(2026, 10, 1),
        "Valid until": dt.datetime(2027, 1, 31), "Stated by": "Bob",
    },
    ("Inputs", LIFE_LEFT): {"Value": 3, "How sure": "guess", "Valid until": "2026-12-31"},
    ("Inputs", "money.year_begins"): {"Value": 8},
    ("Inputs", "money.capitalise_above"): {"Value": 2500},
    ("Inputs", "money.vat_rate"): {"Value": "20 %"},
    ("Inputs", "money.vat_unrecovered"): {"Value": 0.9},
    ("Inputs", "leaving.notice"): {"Value": 3},
    ("Inputs", "leaving.notice_cost"): {"Value": 45},
    ("Inputs", "presses.press_2.speed"): {"Value": 8000, "Stated by": "Ann"},
    (PRESSES, "press"): {"Press": "The old one"},
    (PRESSES, "press_2"): {"Press": "The new one", "Printing units": 4},
    ("Plates a month", "summary.press.large"): {"Value": "the new one"},
    (OWN_COSTS, "own_1"): {
        "What it is": "Gloves and wipes", "Method": "Polyester plates with baths", "Kind of cost": "Consumables",
        "Counted by": "Month", "Amount": 25, "Stated by": "Ann",
    },
    (OWN_COSTS, "own_2"): {
        "What it is": "Emptying the bucket", "Method": "polyester", "Kind of cost": "Working time, in minutes",
        "Counted by": "Week", "Amount": 15, "Low": 10, "High": 30,
    },
    (BOOKS, "ledger.pattern.1"): {"In your books": "internal recharge", "Stands for": "Left out"},
    (BOOKS, "ledger.from"): {"In your books": dt.datetime(2025, 8, 1)},
    (BOOKS, "ledger.to"): {"In your books": dt.datetime(2026, 7, 31)},
    (BOOKS, "ledger.tolerance"): {"In your books": 0.15},
    (BOOKS, "accounts.consumables"): {"In your books": "5000-PLT"},
    (BOOKS, "accounts.capital"): {"In your books": 1500},
    **{(BOOKS, f"ledger.account.{n}"): {"In your books": a, "Stands for": s} for n, (a, s) in BOOKED.items()},
}  # fmt: skip


def fill(source: Path, target: Path, typed) -> Path:
    book = load_workbook(source)
    for (sheet, key), cells in typed.items():
        for head, value in cells.items():
            place = cell_of(source, key, head, sheet)
            book[place[0]][place[1]].value = value
    book.save(target)
    return target


@pytest.fixture(scope="module")
def empty(tmp_path_factory):
    path = tmp_path_factory.mktemp("own") / "shop.xlsx"
    write_input_book(ANSWERS, path)
    return path


@pytest.fixture(scope="module")
def filled(empty):
    return fill(empty, empty.with_name("filled.xlsx"), TYPED)


@pytest.fixture(scope="module")
def stated(filled):
    return read_workbook(filled)


@pytest.fixture(scope="module")
def decision(stated, empty):
    study = build(stated)
    write_workbook(study, study.evaluate(), empty.with_name("decision.xlsx"), LEAN)
    return empty.with_name("decision.xlsx")


def problems(path):
    with pytest.raises(BadInput) as raised:
        read_workbook(path)
    return {p.where.removeprefix(f"{path.name}, "): f"{p.what}; {p.mend}" for p in raised.value.problems}


def at(path, key, head, sheet):
    return "!".join(cell_of(path, key, head, sheet))


def evaluated(scenario):
    study = build(scenario)
    return study, study.evaluate()


def test_everything_typed_is_stated(stated):
    price, left = stated.inputs[tuple(PRICE.split("."))], stated.inputs[tuple(LIFE_LEFT.split("."))]
    assert (price.best, price.low, price.high, price.status) == (18500, 17000, 20000, "quote")
    assert (price.date, price.valid_until, price.by) == ("2026-10-01", "2027-01-31", "Bob")
    # A guess may be 40 % off: 3 years less 1.2.
    assert (left.best, left.low, left.valid_until) == (3, pytest.approx(1.8), "2026-12-31")
    money = {
        name: stated.inputs["money", name].best
        for name in ("year_begins", "capitalise_above", "vat_rate", "vat_unrecovered")
    }
    assert money == {"year_begins": 8, "capitalise_above": 2500, "vat_rate": 0.2, "vat_unrecovered": 0.9}
    assert stated.inputs["leaving", "notice"].best == 3 and stated.inputs["leaving", "notice_cost"].best == 45
    assert [(p.label, p.units) for p in stated.presses] == [("The old one", 2), ("The new one", 4)]
    speed, first = (stated.inputs["presses", press, "speed"] for press in ("press_2", "press"))
    assert (speed.best, speed.by, first.default) == (8000, "Ann", True)
    on = {
        stated.sizes[s].id: stated.presses[p].label
        for s, p in zip(stated.work.size, stated.work.press, strict=True)
    }
    assert on == {"small": "The old one", "large": "The new one"}
    assert (stated.text("accounts", "consumables"), stated.text("accounts", "capital")) == (
        "5000-PLT",
        "1500",
    )
    ledger = stated.ledger
    assert {name: meaning.head for name, meaning in ledger.accounts.items()} == {
        "5010": "consumables.plates", "5020": "consumables.chemistry", "5040": "",
    }  # fmt: skip
    assert (ledger.year, ledger.tolerance) == ((dt.date(2025, 8, 1), dt.date(2026, 7, 31)), 0.15)
    assert [words for words, _ in ledger.patterns] == ["internal recharge"]


def test_own_costs_are_reckoned_with_as_by_hand(stated):
    """25 USD a month are 12 x 25 = 300 a year, and nothing else of polyester's consumables goes by general prices."""
    study, values = evaluated(stated)
    (general,) = (
        line for name, line in study.methods["polyester"].todays["consumables"] if name == "general"
    )
    assert float(values[general][..., 0].sum()) == pytest.approx(300)
    minutes = stated.inputs["methods", "polyester", "tasks", "own_2", "minutes"]
    assert (minutes.shown, minutes.best, minutes.low, minutes.high) == ("min/week", 15, 10, 30)
    assert stated.inputs["methods", "polyester", "items", "own_1", "cost"].by == "Ann"


def test_a_decision_workbook_gives_the_same_again(stated, decision):
    again = read_workbook(decision)
    assert what_changed(evaluated(stated), evaluated(again)).same
    # What no figure rests on is compared here: `what_changed` looks at inputs in use.
    for key, one in stated.inputs.items():
        other = again.inputs[key]
        parts = ("best", "low", "high", "status", "date", "valid_until", "by", "shown")
        assert [getattr(other, p) for p in parts] == pytest.approx([getattr(one, p) for p in parts]), key
    assert replace(again.ledger, where="", year_said="") == replace(stated.ledger, where="", year_said="")


def test_edits_of_it_are_all_that_changes_and_libreoffice_keeps_them(decision, tmp_path):
    edits = {
        ("Inputs", PRICE): {"Valid until": dt.datetime(2027, 2, 28), "Stated by": "Cleo"},
        ("Inputs", LIFE_LEFT): {"Valid until": None},
        ("Inputs", "presses.press_2.speed"): {"Value": 8300},
        ("Scenario", "presses.press_2.label"): {"Content": "The big one"},
        ("Scenario", "accounts.consumables"): {"Content": "5001-PLT"},
        ("Scenario", "ledger.accounts.5040"): {"Content": "waste"},
        ("Scenario", "ledger.tolerance"): {"Content": 0.2},
    }
    book = fill(decision, tmp_path / "edited.xlsx", edits)
    found = what_changed(evaluated(read_workbook(decision)), evaluated(read_workbook(book)))
    assert {(row.key, part, was, now) for row in found.inputs for part, was, now in row.told()} == {
        (PRICE, "valid until", "2027-01-31", "2027-02-28"),
        (PRICE, "stated by", "Bob", "Cleo"),
        (LIFE_LEFT, "valid until", "2026-12-31", "not stated"),
        ("presses.press_2.speed", "value", "8,000 impression/h", "8,300 impression/h"),
    }
    assert {(one.label, *one.texts) for one in found.texts} == {
        ("Press press_2", "The new one, printing units: 4", "The big one, printing units: 4"),
        ("accounts.consumables", "5000-PLT", "5001-PLT"),
        ("ledger.accounts.5040", "leave out", "waste"),
        ("ledger.tolerance", "0.15", "0.2"),
    }
    if missing := libreoffice_missing():
        pytest.skip(missing)
    run = subprocess.run(
        ["soffice", "--headless", f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}", "--convert-to", "xlsx",
         "--outdir", str(tmp_path / "saved"), str(book)], capture_output=True, text=True, timeout=300,
    )  # fmt: skip
    assert (tmp_path / "saved" / "edited.xlsx").is_file(), run.stderr
    saved = read_workbook(tmp_path / "saved" / "edited.xlsx")
    assert what_changed(evaluated(read_workbook(book)), evaluated(saved)).same


# Sheet, key, what is typed there, the heading (or another cell) it is told at, and words of it.
MISTAKES = [
    (PRESSES, "press_3", {"Printing units": 2}, "Press", 'is empty, and "Printing units" is filled in'),
    ("Inputs", "presses.press_4.speed", {"Value": 9}, (PRESSES, "press_4", "Press"), "states a number of this press"),
    (PRESSES, "press_4", {"Press": "the OLD one"}, "Press", "names two presses"),
    (PRESSES, "press_2", {"Printing units": 40}, "Printing units", "is not a count of printing units"),
    ("Plates a month", "summary.press.small", {"Value": "new"}, "Value", "is not a press that Presses names"),
    ("Plates a month", "summary.runs.under_1000", {"Value": 48}, "Value", "48 is 4800 %; type 48 % or 0.48"),
    ("Inputs", "shop.base_remakes", {"Value": 4}, "Value", "4 is 400 %; type 4 % or 0.04"),
    ("Inputs", "shop.paper", {"Value": "€0.05"}, "Value", "is not in USD"),
    ("Inputs", "money.vat_rate", {"Value": None}, "Value", "is missing beside vat_unrecovered; type the rate too, like 20 %"),
    ("Inputs", "leaving.notice_cost", {"Value": None}, "Value", "is missing; type as its Value what a month"),
    ("Inputs", "shop.rent", {"Stated by": "Ann"}, "Value", "is empty, and Stated by says Ann"),
    ("Inputs", "methods.polyester.tasks.daily.minutes", {"Value": -1}, "Value", "is below 0 min/day; type 0 min/day or more"),
    (OWN_COSTS, "own_1", {"Counted by": "Moon"}, "Counted by", "'Moon' is not in the list"),
    (OWN_COSTS, "own_1", {"What it is": None}, "What it is", 'is empty, and "Method" is filled in'),
    (OWN_COSTS, "own_2", {"Amount": "a lot"}, "Amount", "is text, not a number"),
    (BOOKS, "ledger.account.2", {"Stands for": None}, "Stands for", "is empty; choose from the list"),
    (BOOKS, "ledger.account.2", {"In your books": "5010"}, "In your books", "stands there twice"),
    (BOOKS, "ledger.columns.date", {"In your books": None}, (BOOKS, "ledger.columns.date", "In your books"), "heading"),
    (BOOKS, "ledger.from", {"In your books": "soon"}, "In your books", "is not a date"),
]  # fmt: skip
# These stop more from being judged, or touch the same rows: each alone.
ALONE = ("leaving.notice_cost", "money.vat_rate", "presses.press_4.speed", "ledger.columns.date")


def groups():
    apart = [[one] for one in MISTAKES if one[1] in ALONE]
    rows = {(one[0], one[1]): [] for one in MISTAKES}
    for one in MISTAKES:
        if one[1] not in ALONE:
            rows[one[0], one[1]].append(one)
    return [*apart, *([each[n] for each in rows.values() if len(each) > n] for n in range(2))]


@pytest.mark.parametrize("group", groups(), ids=len)
def test_one_mistake_is_one_message_with_its_cell(filled, tmp_path, group):
    """Several mistakes at once give as many messages, each at its own cell."""
    found = problems(
        fill(filled, tmp_path / "wrong.xlsx", {(sheet, key): cells for sheet, key, cells, *_ in group})
    )
    told = {where.split(" (")[0]: words for where, words in found.items()}
    expected = {}
    for sheet, key, _, head, words in group:
        place = (sheet, key, head) if isinstance(head, str) else head
        expected[at(filled, place[1], place[2], place[0])] = words
    assert set(told) == set(expected) and len(found) == len(group)
    for cell, words in expected.items():
        assert words in told[cell] and " = " not in told[cell]


def test_a_workbook_without_a_ledger_says_where_to_state_one(empty, decision, tmp_path):
    first = at(empty, "ledger.account.1", "In your books", BOOKS)
    assert where_to_say(empty).where == f"shop.xlsx, {first}"
    assert "[" not in where_to_say(empty).mend and "Scenario!A" in where_to_say(decision).where


@pytest.mark.parametrize("kind", ["input", "decision"])
def test_problems_of_a_ledger_name_the_cell(filled, decision, stated, kind):
    book, sheet, head = {
        "input": (filled, BOOKS, "In your books"),
        "decision": (decision, "Scenario", "Content"),
    }[kind]
    where = read_workbook(book).ledger.where
    (found,) = told_by_cell(
        book, [Problem(f"{where} columns.amount", 'ledger.csv has no column "amount"', "known: Netto")]
    )
    assert found.where == f"{book.name}, {at(book, 'ledger.columns.amount', head, sheet)}"


def test_a_budget_is_refused_with_what_to_give_instead(tmp_path):
    book = Workbook()
    book.active.title = "Budget"
    for title in ("Actuals", "Inputs", "Summary"):
        book.create_sheet(title)
    book.save(tmp_path / "budget.xlsx")
    assert problems(tmp_path / "budget.xlsx") == {
        "budget.xlsx": "is a budget, which holds no scenario; give the scenario that it was made from: a file, or the workbook "
        "of roi new --workbook or roi compare"
    }


def test_a_default_whose_row_is_gone_is_told(filled, tmp_path):
    sheet, place = cell_of(filled, "money.rate_is_real", "Key", "Scenario")
    book = load_workbook(filled)
    for cell in book[sheet][book[sheet][place].row]:
        cell.value = None
    book.save(tmp_path / "shop.xlsx")
    ((where, said),) = problems(tmp_path / "shop.xlsx").items()
    assert where == "Scenario, money.rate_is_real"
    assert said.startswith("is left out, and nothing can be reckoned without it; write its row back")
