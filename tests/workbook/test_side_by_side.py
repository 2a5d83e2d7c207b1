"""Several scenarios in one workbook: its rules, its numbers against each scenario's own, and changes of one only.

IronCalc recalculates after stored results are stripped.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from pathlib import Path

import pytest
from openpyxl import Workbook, load_workbook

from roi.answers.compare import as_json
from roi.engine.evaluate import Values
from roi.model.study import Study, build
from roi.scenario.scenario import read
from roi.workbook.grouping import prefixed
from roi.workbook.side_by_side import Joined, compose_side_by_side, small
from roi.workbook.template import OPTIONAL, Template
from roi.workbook.write import results_of, write_side_by_side
from tests.parity.recalculate import IronCalcBook, differences
from tests.small_shop import LEAN, SHOP
from tests.workbook import chart_rules
from tests.workbook.opened import Opened
from tests.workbook.rules import broken_rules

WHEN = datetime(2026, 1, 5)
EURO = Path(__file__).parents[2] / "scenarios" / "euro_trade"
# One cheap to change to, one with a method more that can't do the work, one in another currency.
TEXTS = {
    "shop": SHOP,
    "cheap": SHOP.replace("Invented shop", "Cheap = direct, invented")
    + '\n[methods.direct.plates.price]\nsmall = "0.10 USD/plate"\n',
    "barred": SHOP.replace("300 }", "200 }").replace("[summary]", "[summary]\nconfined = 1.0")
    + "\n[methods.bought_in]\n",
}


@pytest.fixture(scope="module", autouse=True)
def uncollected() -> Iterator[None]:
    """As the writer does: among so many cells garbage collection finds nothing, over and over."""
    gc.collect()
    gc.disable()
    yield
    gc.enable()


@dataclass
class Made:
    studies: list[Study]
    values: list[Values]
    path: Path
    results: dict[str, dict[str, float | str]]

    @cached_property
    def book(self) -> Workbook:
        return load_workbook(self.path)


def made(studies: list[Study], path: Path, **more: bool) -> Made:
    values = [study.evaluate() for study in studies]
    return Made(studies, values, path, write_side_by_side(studies, values, path, Template(), **more))


def studies_of(folder: Path, texts: dict[str, str]) -> list[Study]:
    for name, text in texts.items():
        (folder / f"{name}.toml").write_text(text, "utf-8")
    return [build(read(folder / f"{name}.toml")) for name in texts]


@pytest.fixture(scope="module")
def three(tmp_path_factory: pytest.TempPathFactory) -> Made:
    folder = tmp_path_factory.mktemp("three")
    return made(studies_of(folder, TEXTS), folder / "three.xlsx")


@pytest.fixture(scope="module")
def variants() -> Joined:
    """Composed, not written: what stands in its cells."""
    studies = [build(read(EURO / f"{name}.toml")) for name in ("cautious", "expected", "busy")]
    return compose_side_by_side(studies, [study.evaluate() for study in studies], WHEN, small(Template()))


@pytest.fixture(scope="module")
def book(three: Made) -> IronCalcBook:
    return IronCalcBook(three.path)


def test_the_workbook_keeps_the_rules(three: Made) -> None:
    assert broken_rules(three.path) == []


def test_ironcalc_gives_what_is_stored(three: Made, book: IronCalcBook) -> None:
    assert differences(three.results, book.values()) == []


def test_each_scenarios_sheets_hold_what_its_own_workbook_holds(three: Made) -> None:
    for letter, study in zip("ABC", three.studies, strict=True):
        alone = results_of(study, {}, LEAN)
        for title, cells in alone.items():
            assert three.results[f"{letter}_{title}"] == cells, title


def rows_of(made: Made) -> dict[str, list[object]]:
    """The rows of the table by section and label: what the columns of the scenarios hold, as IronCalc sees it."""
    sheet = made.book["Side by side"]
    found: dict[str, list[object]] = {}
    section = ""
    stored = made.results["Side by side"]
    for (label,) in sheet.iter_rows(min_col=1, max_col=1):
        if label.style == "Section":
            section = f"{label.value}: "
        cells = [sheet.cell(label.row, 3 + i) for i in range(len(made.studies))]
        if any(cell.value is not None for cell in cells):
            found[section + str(label.value)] = [stored.get(c.coordinate, c.value) for c in cells]
    return found


def test_the_table_shows_what_compare_finds_of_each_alone(three: Made) -> None:
    table = rows_of(three)
    for i, (study, values) in enumerate(zip(three.studies, three.values, strict=True)):
        alone = as_json(study, values)
        short = {name: sheet.method.short for name, sheet in study.methods.items()}
        methods = alone["methods"]
        assert table["Currency"][i] == alone["currency"]
        assert table["Method in use"][i] == short[alone["current"]]
        assert table["Cheapest in cash"][i] == short[alone["cheapest"]]
        assert table["Cheapest at full cost"][i] == short[alone["cheapest_full_cost"]]
        best, now = methods[alone["cheapest"]], methods[alone["current"]]
        saving = now["equivalent_annual_cost"] - best["equivalent_annual_cost"]
        assert table["Its saving against staying, in cash"][i] == pytest.approx(max(saving, 0), abs=1e-6)
        assert table["First cost of the cheapest in cash, before tax"][i] == best["first_cost"]
        assert table["Cost of a plate, cheapest in cash"][i] == best["cost_per_plate"]
        assert table["Cost of a plate, method in use"][i] == now["cost_per_plate"]
        assert table["Plates a month the work calls for"][i] == pytest.approx(
            best["plates_called_for_per_year"] / 12
        )
        payback = best["against_current"] and best["against_current"]["simple_payback_years"]
        late = f"not in {alone['horizon_years']}"
        told = "-" if alone["cheapest"] == alone["current"] else late if payback is None else payback
        assert table["Payback of the cheapest in cash"][i] == told
        for name in ("polyester", "direct", "bought_in"):
            label = {"polyester": "Polyester", "direct": "Direct", "bought_in": "Bought in"}[name]
            shown = table[f"Present cost in cash: {label}"][i]
            method = methods.get(name)
            wanted = (
                "-" if method is None else method["present_cost"] if method["feasible"] else "not feasible"
            )
            assert shown == wanted
        assert table["How far it can be relied on: Checks"][i] == "all pass"
    assert {table["Cheapest in cash"][0], table["Cheapest in cash"][1]} == {"Polyester", "Direct"}
    assert table["Present cost in cash: Bought in"] == ["-", "-", "not feasible"]


def test_a_changed_input_moves_only_its_own_scenarios_columns(three: Made, book: IronCalcBook) -> None:
    """Days worked in scenario B; then its work, so that words and the sheets of figures follow."""
    before = three.results
    inputs = three.book["B_Inputs"]
    cells = {str(key.value): f"C{key.row}" for (key,) in inputs.iter_rows(min_row=5, min_col=9, max_col=9)}
    for key, value in (("shop.work_days", 200.0), ("methods.direct.plates.price.small", 9.0)):
        stated = next(one for one in three.studies[1].scenario.inputs.values() if one.key == key)
        changes: list[dict[str, float]] = [{}, {key: value * stated.factor}, {}]
        after = compose_side_by_side(three.studies, three.values, WHEN, small(Template()), changes).results
        book.set("B_Inputs", cells[key], value)
        book.evaluate()
        assert differences(after, book.values()) == []
        book.set("B_Inputs", cells[key], stated.best)
        for title in before:
            if title[:2] in ("A_", "C_"):
                assert before[title] == after[title], title
        moved = {
            cell[0] for cell, value in after["Side by side"].items() if value != before["Side by side"][cell]
        }
        assert "D" in moved and moved <= {"A", "D"}, "A holds what they say together"
    book.evaluate()
    assert differences(before, book.values()) == []


def test_what_differs_links_to_each_ones_inputs(variants: Joined) -> None:
    book = variants.book
    sheet = book["What differs"]
    listed = {str(sheet.cell(row, 1).value): row for row in range(5, sheet.max_row + 1)}
    row = listed["Growth a year of volume"]
    for column, letter in zip("EFG", "ABC", strict=True):
        target, cell = str(sheet[f"{column}{row}"].value).lstrip("=").replace("$", "").split("!")
        assert target == f"{letter}_Inputs"
        assert book[target][f"A{cell[1:]}"].value == "Growth a year of volume"
    stored = variants.results["What differs"]
    # As the three files state it: -7, -2 and 1 % a year.
    assert [stored[f"{column}{row}"] for column in "EFG"] == [-0.07, -0.02, 0.01]
    low = listed["Growth a year of volume: low"]
    assert [stored[f"{column}{low}"] for column in "EFG"] == [-0.12, -0.06, -0.03]
    keys = [sheet.cell(row, 2).value for row in range(5, listed["Ranges and status that differ"])]
    assert sorted(filter(None, keys)) == [
        "growth.plates", "growth.volume", "methods.processed.equipment.setter.years_left", "work.volume",
    ]  # fmt: skip


def test_sheets_are_grouped_and_named(variants: Joined) -> None:
    book = variants.book
    names = book.sheetnames
    assert names[:4] == ["About", "Side by side", "What differs", "Side by side figures"]
    groups = [name[:2] for name in names[4:]]
    assert groups == sorted(groups) and set(groups) == {"A_", "B_", "C_"}
    colours = {name[:2]: set() for name in names[4:]}
    for name in names[4:]:
        colours[name[:2]].add(book[name].sheet_properties.tabColor.rgb)
    assert all(len(one) == 1 for one in colours.values()) and len(set.union(*colours.values())) == 3
    assert not any(name[2:] in OPTIONAL or name.endswith("cases") for name in names)
    assert book.active.title == "Side by side"


def test_two_currencies_stand_beside_each_other_and_say_so(tmp_path: Path) -> None:
    texts = {
        "a": SHOP,
        "b": "per_dollar = 2.0\n" + SHOP.replace("USD", "EUR").replace("Invented shop", "Euro shop"),
    }
    both = made(studies_of(tmp_path, texts), tmp_path / "both.xlsx")
    opened = Opened(both.path)
    both.book = opened.book
    assert [breach for rule in chart_rules.RULES for breach in rule(opened)] == []
    sheet = both.book["Side by side"]
    said = [str(cell.value) for cell in sheet["A"]]
    assert any("nothing is added or subtracted" in text for text in said)
    table = rows_of(both)
    assert table["Currency"] == ["USD", "EUR"]
    # A dollar was stated to be two euros.
    for label in ("Present cost in cash: Polyester", "Present cost in cash: Direct"):
        a, b = table[label]
        assert b == pytest.approx(2 * float(a), rel=1e-9)
    a, b = table["Present cost in cash, as a share of staying: Direct"]
    assert a == pytest.approx(b, rel=1e-9)


def test_where_staying_or_everything_is_impossible_the_table_says_so(tmp_path: Path) -> None:
    """B buys in plates for work that must not leave the building; C's plates are too large to be made as well."""
    must_stay = SHOP.replace("[summary]", "[summary]\nconfined = 1.0")
    texts = {
        "kept": SHOP,
        "must": must_stay.replace('current = "polyester"', 'current = "bought_in"')
        + "\n[methods.bought_in]\n",
        "none": must_stay.replace("330 mm x 492 mm", "1330 mm x 1492 mm"),
    }
    edge = made(studies_of(tmp_path, texts), tmp_path / "edge.xlsx")
    assert differences(edge.results, IronCalcBook(edge.path).values()) == []
    table = rows_of(edge)
    assert table["Cheapest in cash"] == ["Polyester", "Polyester", "none"]
    assert table["Its saving against staying, in cash"] == [0, "none", "none"]
    assert table["Payback of the cheapest in cash"] == ["-", "none", "none"]
    assert table["Cost of a plate, method in use"][1:] == ["not feasible", "not feasible"]
    assert table["Present cost in cash: Direct"][2] == "not feasible"
    assert table["Present cost in cash, as a share of staying: Direct"][1:] == ["none", "none"]


def test_all_sheets_keep_formulas_short(tmp_path: Path) -> None:
    """With sheets of cases, whose formulas are the longest, each still within the limit under its longer name."""
    study = studies_of(tmp_path, {"shop": SHOP})[0]
    template = Template(sheets=("Summary", "Break-even", "Sensitivity"))
    joined = compose_side_by_side([study], [study.evaluate()], WHEN, template)
    longest = (0, "", "", "")
    for sheet in joined.book.worksheets:
        for cell in sheet._cells.values():
            if cell.data_type == "f":
                longest = max(longest, (len(cell.value), sheet.title, cell.coordinate, cell.value))
    assert "A_Polyester cases" in joined.book.sheetnames
    assert 100 < longest[0] <= 150, longest


def test_more_scenarios_than_colours_of_series_each_have_a_column_and_a_colour(tmp_path: Path) -> None:
    texts = {f"shop{i}": SHOP.replace("small = 300", f"small = {300 + i}") for i in range(7)}
    studies = studies_of(tmp_path, texts)
    values = [study.evaluate() for study in studies]
    joined = compose_side_by_side(studies, values, WHEN, small(Template()))
    rows = joined.book["Side by side"].iter_rows()
    months = next(row for row in rows if row[0].value == "Plates a month the work calls for")
    stored = joined.results["Side by side"]
    assert [stored[cell.coordinate] for cell in months[2:9]] == pytest.approx([300 + i for i in range(7)])
    assert max(len(name) for name in joined.book.sheetnames) <= 31
    colours = [joined.book[f"{letter}_Inputs"].sheet_properties.tabColor.rgb for letter in "ABCDEFG"]
    assert len(set(colours)) == 7


@pytest.mark.parametrize(
    ("formula", "wanted"),
    [
        ("=Inputs!$C$5*Units!$C$6", "=A_Inputs!$C$5*A_Units!$C$6"),
        ("=SUM('Cash flow'!$C$5:$D$5)", "=SUM('A_Cash flow'!$C$5:$D$5)"),
        ('=IF(C5=1,"see Inputs!",Words!$C$9)', '=IF(C5=1,"see Inputs!",A_Words!$C$9)'),
        ('="Inputs!A1"&"a ""quoted"" Words!"', '="Inputs!A1"&"a ""quoted"" Words!"'),
        ("=C5+'Old metal'!C5", "=C5+'Old metal'!C5"),
    ],
)
def test_references_take_the_prefix_and_texts_do_not(formula: str, wanted: str) -> None:
    assert prefixed(formula, {"Inputs", "Units", "Cash flow", "Words"}, "A_") == wanted
