"""The workbook of a budget: its rules, its figures against IronCalc at delivery and after changes, what is typed on Actuals.

Stored results are stripped beforehand, so that IronCalc is the outside reference. |a - b| <= 1e-9 x max(|a|, |b|) + 1e-6.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from pathlib import Path

import numpy as np
import pytest
from openpyxl import Workbook, load_workbook
from openpyxl.utils import get_column_letter

from roi.answers.budget import Budget, as_json
from roi.engine.expression import Leaf
from roi.engine.functions import Array
from roi.workbook.budget_book import compose_budget
from roi.workbook.budget_sheets import ACTUALS, BUDGET, CLOSED, FIRST, PROFIT, TYPED, WHICH
from roi.workbook.inputs import HEADS, KEY
from roi.workbook.placing import HEAD
from roi.workbook.template import Template
from roi.workbook.write import write_budget
from tests.budget_shop import FULL, budgeted
from tests.parity.recalculate import IronCalcBook, differences
from tests.workbook.rules import broken_rules

WHEN = datetime(2026, 11, 25)
# Input and its new value in the unit shown; together, then one kind at a time.
CHANGES = [
    {"leaving.month": 9.0, "money.capitalise_above": 50000.0, "stress.less_work": 0.3},
    {"money.year_begins": 11.0, "price_steps.plates.month": 7.0, "price_steps.plates.change": 0.4},
    {
        "work.volume": 1.4,
        "money.vat_rate": 0.25,
        "methods.direct.changeover.parallel": 5.0,
        "leaving.sale": 0.0,
    },
]


@dataclass
class Made:
    budget: Budget
    path: Path
    results: dict[str, dict[str, float | str]]

    @cached_property
    def book(self) -> Workbook:
        return load_workbook(self.path)

    def results_of(
        self, changes: dict[str, float], typed: dict[Leaf, Array] | None = None
    ) -> dict[str, dict[str, float | str]]:
        factors = {s.key: s.factor for s in self.budget.study.scenario.inputs.values()}
        engine = {key: value * factors[key] for key, value in changes.items()}
        return compose_budget(self.budget, WHEN, Template(), engine, typed or {}).results

    def row(self, sheet: str, label: str, after: str = "") -> int:
        """The row of a label on a sheet, below another one if that is given."""
        begun = not after
        for (cell,) in self.book[sheet].iter_rows(min_col=1, max_col=1):
            if begun and cell.value == label:
                return int(cell.row)
            begun = begun or cell.value == after
        raise AssertionError(f"{sheet}: no row {label}")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    folder = tmp_path_factory.mktemp("budget")
    budget = budgeted(folder, FULL, month=5)
    path = folder / "budget.xlsx"
    return Made(budget, path, write_budget(budget, path))


@pytest.fixture(scope="module")
def book(made: Made) -> IronCalcBook:
    return IronCalcBook(made.path)


def test_the_workbook_keeps_the_rules(made: Made) -> None:
    assert broken_rules(made.path) == []


def test_sheets_in_order(made: Made) -> None:
    names = made.book.sheetnames
    assert names[:6] == ["Summary", "About", "Budget", "Budget profit and loss", "Actuals", "Dates"]
    assert made.book.active.title == "Summary"
    assert {"Inputs", "Shop", "Polyester", "Direct", "Checks", "Sources and cautions"} <= set(names)
    for title in (BUDGET, PROFIT, ACTUALS):
        assert made.book[title].page_setup.orientation == "landscape"


def test_ironcalc_gives_what_is_stored(made: Made, book: IronCalcBook) -> None:
    assert differences(made.results, book.values()) == []


def test_ironcalc_follows_changed_inputs(made: Made, book: IronCalcBook) -> None:
    sheet = made.book["Inputs"]
    assert HEADS[KEY - 1] == "Key"
    cells = {
        str(key.value): f"C{key.row}"
        for (key,) in sheet.iter_rows(min_row=HEAD + 1, min_col=KEY, max_col=KEY)
    }
    for changes in CHANGES:
        was = {key: book.value("Inputs", cells[key]) for key in changes}
        for key, value in changes.items():
            book.set("Inputs", cells[key], value)
        book.evaluate()
        assert differences(made.results_of(changes), book.values()) == []
        assert book.value("Summary", "A4") != made.results["Summary"]["A4"]
        for key, before in was.items():
            assert isinstance(before, float)
            book.set("Inputs", cells[key], before)
    book.evaluate()
    assert differences(made.results, book.values()) == []


def test_what_is_typed_is_set_against_the_plan(made: Made, book: IronCalcBook) -> None:
    """Three months closed of the plan of switching; 500, 600 and 700 paid in the second row, 99 in a month not closed."""
    typed = [500.0, 600.0, 700.0, 99.0]
    row, second = TYPED + 1, made.budget.actuals.rows[1]
    assert second.label == "Consumables" and made.book[ACTUALS].cell(row, 1).value == "Consumables"
    for i, value in enumerate(typed):
        book.set(ACTUALS, f"{get_column_letter(FIRST + i)}{row}", value)
    book.set(ACTUALS, f"D{CLOSED}", 3)
    book.set(ACTUALS, f"D{WHICH}", 2)
    book.evaluate()
    held = book.values()
    assert second.actual is not None
    known: dict[Leaf, Array] = {
        second.actual: np.array([*typed, *[0.0] * 8]),
        made.budget.actuals.closed: np.array([3.0]),
        made.budget.actuals.which: np.array([2.0]),
    }
    assert differences(made.results_of({}, known), held) == []
    end = made.row(ACTUALS, "Consumables", "To date, and forecast to the year's end")
    plan_to_date, paid, apart, rest, forecast, plan, variance = (
        held[ACTUALS][f"{c}{end}"] for c in "DEFGHIJ"
    )
    cash = as_json(made.budget, made.budget.evaluate()[0])["switching"]["cash"]
    consumables = next(row for row in cash if row["key"] == "consumables")
    assert paid == 1800 and plan_to_date == pytest.approx(sum(consumables["months"][:3]))
    assert rest == pytest.approx(sum(consumables["months"][3:])) and plan == pytest.approx(
        consumables["year"]
    )
    assert apart == pytest.approx(1800 - plan_to_date) and forecast == pytest.approx(1800 + rest)
    assert variance == pytest.approx(forecast - plan)
    for i in range(len(typed)):
        book.set(ACTUALS, f"{get_column_letter(FIRST + i)}{row}", 0.0)
    book.set(ACTUALS, f"D{CLOSED}", 0)
    book.set(ACTUALS, f"D{WHICH}", float(made.budget.actuals.which.values[0]))
    book.evaluate()
    assert differences(made.results, book.values()) == []


def test_the_budget_shows_the_months_their_quarters_and_the_year(made: Made) -> None:
    """Of cash paid when switching: each month as the JSON has it, each quarter and the year their sum."""
    stored, sheet = made.results[BUDGET], made.book[BUDGET]
    cash = as_json(made.budget, made.budget.evaluate()[0])["switching"]["cash"][-1]
    row = made.row(BUDGET, "Cash paid", "Switching to Direct")
    months = "DEFHIJLMNPQR"
    assert [stored[f"{c}{HEAD}"] for c in months][::11] == ["Aug 2027", "Jul 2028"]
    assert [stored[f"{c}{row}"] for c in months] == pytest.approx(cash["months"])
    quarters = [sum(cash["months"][q : q + 3]) for q in range(0, 12, 3)]
    assert [stored[f"{c}{row}"] for c in "GKOS"] == pytest.approx(quarters)
    assert stored[f"T{row}"] == pytest.approx(cash["year"])
    assert stored[f"U{row}"] == pytest.approx(cash["year_with_less_work"])
    assert str(sheet[f"G{row}"].value) == f"=SUM(D{row}:F{row})"


def test_account_codes_stand_beside_their_lines_as_text(made: Made) -> None:
    """One of them begins like a formula: it must stay a text."""
    sheet = made.book[BUDGET]
    assert sheet.cell(made.row(BUDGET, "Consumables"), 2).value == "4100"
    code = sheet.cell(made.row(BUDGET, "Equipment bought", "Switching to Direct"), 2)
    assert (code.value, code.data_type, code.quotePrefix) == ("=0200", "s", True)


def test_the_summary_says_the_year_and_the_worst_month_first(made: Made) -> None:
    stored = made.results["Summary"]
    assert str(stored["A4"]).startswith("Aug 2027 to Jul 2028, cash paid: USD ")
    assert str(stored["A5"]).startswith("Most is paid in Jan 2028 when staying (USD ")
    said = [str(cell.value) for cell in made.book["Summary"]["A"]]
    assert any("not tax or accounting advice" in text for text in said)
    for title in (BUDGET, PROFIT, ACTUALS):
        texts = [str(cell.value) for cell in made.book[title]["A"]]
        assert any("not tax or accounting advice" in text for text in texts), title


def test_paid_once_and_first_cost_stand_together_and_their_difference_is_told(made: Made) -> None:
    """What the two count differently, added up: running both, learning and tax more, stock written off less, and what is
    bought, sold or topped up at the year's end."""
    sheet = load_workbook(made.path, data_only=True)["Summary"]
    rows = {str(row[0].value): [cell.value for cell in row] for row in sheet.iter_rows(max_row=60)}
    first, paid = rows["First cost, as on Comparison"][3], rows["Paid once"][3]
    comparison = made.budget.study.comparison.rows["first_cost"]
    at = list(made.budget.study.methods).index("direct")
    assert first == pytest.approx(float(made.budget.study.evaluate()[comparison][at, 0]))
    more = sum(
        rows[name][3]
        for name in ("Both methods running", "Learning", "VAT or sales tax not recovered: equipment")
    )
    written_off = rows["Stock of the old method written off"][3]
    ends = load_workbook(made.path, data_only=True)["Budget year"]
    later = sum(
        row[2].value
        for row in ends.iter_rows()
        if isinstance(row[2].value, (int, float))
        and str(row[0].value).startswith(("Switching to Direct", "Working"))
        and "end of year 1" in str(row[0].value)
        and "VAT" not in str(row[0].value)
    )
    assert paid == pytest.approx(first + more - written_off + later, abs=0.01)
    said = " ".join(rows)
    assert (
        "Paid once also counts both methods running, learning, VAT or sales tax not recovered and what is"
        in said
    )
    assert "First cost also counts stock of the old method written off, which is not paid." in said


def test_dates_are_listed_as_delivered(made: Made) -> None:
    rows = list(made.book["Dates"].iter_rows(min_row=HEAD + 1, max_row=HEAD + 3, values_only=True))
    assert [(row[0], row[1]) for row in rows] == [
        ("Quote", "2027-09-30"),
        ("Price", "Nov 2027"),
        ("Notice", "Sep 2027"),
    ]


def test_the_same_budget_gives_the_same_bytes(
    made: Made, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1795000000")
    for name in ("one.xlsx", "two.xlsx"):
        write_budget(made.budget, tmp_path / name)
    assert (tmp_path / "one.xlsx").read_bytes() == (tmp_path / "two.xlsx").read_bytes()
