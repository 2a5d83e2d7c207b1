"""The demo's finished workbook against the project's own rules and the file format's schema; hostile text stays text."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest
from openpyxl import load_workbook

from roi.model.study import build
from roi.scenario.problems import BadInput
from roi.scenario.scenario import read
from roi.workbook.template import Template
from roi.workbook.write import write_workbook
from tests.small_shop import LEAN, SHOP
from tests.workbook.formula_rules import formulas_are_short
from tests.workbook.opened import Opened
from tests.workbook.rules import broken_rules

SCENARIOS = Path(__file__).parents[2] / "scenarios"


def written(scenario: Path, target: Path, template: Template | None = None) -> Path:
    study = build(read(scenario))
    write_workbook(study, study.evaluate(), target, template)
    return target


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written(
        SCENARIOS / "us_two_press" / "shop.toml", tmp_path_factory.mktemp("demo") / "decision.xlsx"
    )


def test_the_demo_breaks_no_rule(demo: Path) -> None:
    assert broken_rules(demo) == []


def test_ten_answers_make_a_workbook_that_breaks_no_rule(tmp_path: Path) -> None:
    assert broken_rules(written(SCENARIOS / "ten_answers" / "shop.toml", tmp_path / "ten.xlsx", LEAN)) == []


def test_names_of_twenty_letters_make_no_formula_too_long(tmp_path: Path) -> None:
    """A sheet's name stands in every reference to it; twenty letters with spaces are what is allowed."""
    names = {
        "polyester": "Plates with two bath",
        "direct": "Straight to the film",
        "processed": "Third hand old metal",
    }
    assert {len(name) for name in names.values()} == {20}
    text = SHOP
    for method, name in names.items():
        head = f"\n[methods.{method}]\n"
        stated = f'{head}short = "{name}"\n'
        text = text.replace(head, stated) if head in text else text + stated
    (tmp_path / "shop.toml").write_text(text, "utf-8")
    opened = Opened(written(tmp_path / "shop.toml", tmp_path / "out.xlsx"))
    assert list(formulas_are_short(opened)) == []


def test_the_package_keeps_the_schema_of_the_format(tmp_path: Path) -> None:
    """ECMA-376 as checked by openxml-audit.

    Two findings are openpyxl's own and harmless: the order of a font's children, and texts kept in their cells
    (inline strings), which spreadsheet programs move to a shared list when they save.
    """
    from openxml_audit import OpenXmlValidator

    (tmp_path / "shop.toml").write_text(SHOP, "utf-8")
    workbook = written(tmp_path / "shop.toml", tmp_path / "decision.xlsx")
    found = [str(error)[:200] for error in OpenXmlValidator().validate(workbook).errors]
    assert [e for e in found if "font" not in e.lower() and "inline-string" not in e] == []


def test_same_scenario_same_bytes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1790000000")
    scenario = SCENARIOS / "ten_answers" / "shop.toml"
    first, second = written(scenario, tmp_path / "a.xlsx"), written(scenario, tmp_path / "b.xlsx")
    assert first.read_bytes() == second.read_bytes()


@pytest.mark.parametrize("start", ["=", "+", "-", "@"])
def test_text_that_looks_like_a_formula_lands_as_text(tmp_path: Path, start: str) -> None:
    """OWASP, CSV injection: cells that begin with = + - @ must not act as formulas."""
    hostile = f"{start}HYPERLINK(1)"
    shop = (SCENARIOS / "ten_answers" / "shop.toml").read_text("utf-8")
    shop = shop.replace('name = "Ten answers, invented shop"', f'name = "{hostile}"')
    shop = shop.replace('label = "14 x 20 two-colour"', f'label = "{hostile}"')
    shop = shop.replace('status = "quote", source = "invented"', f'status = "quote", source = "{hostile}"')
    scenario = tmp_path / "shop.toml"
    scenario.write_text(shop, "utf-8")
    book = load_workbook(written(scenario, tmp_path / "out.xlsx", LEAN if start != "=" else None))
    found = [
        cell
        for sheet in book.worksheets
        for row in sheet.iter_rows()
        for cell in row
        if isinstance(cell.value, str) and cell.value.startswith(hostile)
    ]
    assert len(found) >= 3
    assert all(cell.data_type == "s" and cell.quotePrefix for cell in found)


def test_an_output_that_may_not_be_written_stays_as_it_was(tmp_path: Path) -> None:
    target = tmp_path / "out.xlsx"
    target.write_bytes(b"old")
    target.chmod(stat.S_IREAD)
    with pytest.raises(OSError):
        written(SCENARIOS / "ten_answers" / "shop.toml", target)
    assert target.read_bytes() == b"old"
    assert [p.name for p in tmp_path.iterdir()] == ["out.xlsx"]


def test_a_scenario_without_work_is_refused_by_name(tmp_path: Path) -> None:
    scenario = tmp_path / "shop.toml"
    scenario.write_text('schema = 1\ncurrency = "USD"\ncurrent = "direct"\n', "utf-8")
    with pytest.raises(BadInput, match="no work is stated"):
        read(scenario)
