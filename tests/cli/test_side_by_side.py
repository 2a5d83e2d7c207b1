"""`roi compare` with several scenarios: what is printed, written and refused."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from openpyxl import load_workbook

from roi.cli import main
from tests.small_shop import SHOP

CHEAP = """
schema = 1
based_on = "shop.toml"
name = "Cheap plates, invented"

[methods.direct.plates.price]
small = "0.10 USD/plate"
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "shop.toml").write_text(SHOP, "utf-8")
    (tmp_path / "cheap.toml").write_text(CHEAP, "utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(*words: str) -> Result:
    return CliRunner().invoke(main, ["compare", *words])


def told(done: Result) -> str:
    return " ".join(done.stderr.split())


def test_without_a_workbook_words_and_a_table_are_printed(folder: Path) -> None:
    done = run("shop.toml", "cheap.toml", "--json", "out.json")
    assert done.exit_code == 0, done.output
    found = json.loads(Path("out.json").read_text("utf-8"))
    assert [one["letter"] for one in found["scenarios"]] == ["A", "B"]
    text = " ".join(done.output.split())
    for one in found["scenarios"]:
        assert f"{one['letter']}: {one['name']}" in text
        cheapest = one["methods"][one["cheapest"]]
        row = next(line for line in done.output.splitlines() if line.startswith(f"{one['letter']}  "))
        assert f"{cheapest['cost_per_plate']:,.2f}" in row and row.endswith(one["currency"])
        assert f"  {one['saving_a_year']['cash']:,.0f}  " in row
    assert "answer differs" in text
    differing = found["differences"]
    assert (
        f"{len(differing['inputs'])} input" in text and f"{differing['inputs_equal']} inputs the same" in text
    )
    assert all(len(line) <= 80 for line in done.output.splitlines())
    assert sorted(path.name for path in folder.iterdir()) == ["cheap.toml", "out.json", "shop.toml"]


def test_the_json_holds_each_one_as_compare_alone_gives_it(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(
        "roi.workbook.write.write_workbook", lambda study, values, file, template: file.write(b"book")
    )
    assert run("shop.toml", "cheap.toml", "--json", "both.json").exit_code == 0
    both = json.loads(Path("both.json").read_text("utf-8"))
    for one, file in zip(both["scenarios"], ("shop", "cheap"), strict=True):
        assert run(f"{file}.toml", "-o", "one.xlsx", "--json", "one.json").exit_code == 0
        alone = json.loads(Path("one.json").read_text("utf-8"))
        assert {key: one[key] for key in alone} == alone
    (price,) = [one for one in both["differences"]["inputs"] if one["key"].endswith("plates.price.small")]
    assert price["stated"][0] is None and price["in_all"] is False
    assert (price["stated"][1]["best"], price["stated"][1]["unit"]) == (0.10, "USD/plate")


def test_the_workbook_is_written_whole(folder: Path) -> None:
    done = run("shop.toml", "cheap.toml", "-o", "out.xlsx")
    assert done.exit_code == 0, done.output
    names = load_workbook("out.xlsx", read_only=True).sheetnames
    assert names[:3] == ["About", "Side by side", "What differs"]
    assert {"A_Summary", "B_Summary", "A_Inputs", "B_Inputs"} < set(names)
    assert "Written: out.xlsx" in done.output


def test_every_problem_of_every_file_is_told_at_once(folder: Path) -> None:
    Path("one.toml").write_text(SHOP.replace("USD", "USX"), "utf-8")
    Path("two.toml").write_text(SHOP + "\n[shop]\npapr = 3\n", "utf-8")
    done = run("one.toml", "shop.toml", "two.toml", "none.toml", "-o", "out.xls", "--template", "nobody")
    assert done.exit_code == 2
    for said in ("USX", "papr", "none.toml: does not exist", "does not end in .xlsx", "nobody", "mend: "):
        assert said in told(done), said
    assert not Path("out.xls").exists()


def test_a_problem_that_variants_share_is_told_once_and_files_of_one_name_are_told_apart(
    folder: Path,
) -> None:
    Path("shop.toml").write_text(SHOP + "\n[shop]\npapr = 3\n", "utf-8")
    Path("other.toml").write_text(CHEAP, "utf-8")
    shared = run("cheap.toml", "other.toml")
    assert shared.exit_code == 2 and "1 problem to mend" in told(shared)
    for place in ("north", "south"):
        Path(place).mkdir()
        Path(place, "shop.toml").write_text(SHOP + "\n[shop]\npapr = 3\n", "utf-8")
    apart = told(run("north/shop.toml", "south/shop.toml"))
    assert "north/shop.toml" in apart and "south/shop.toml" in apart and "2 problems" in apart


def test_a_file_twice_too_many_files_and_an_input_as_output_are_refused(folder: Path) -> None:
    twice = run("shop.toml", "./shop.toml")
    assert twice.exit_code == 2 and "is named twice" in told(twice) and "mend: " in told(twice)
    many = run(*(f"{i}.toml" for i in range(11)))
    assert many.exit_code == 2 and "11 files are too many" in told(many)
    over = run("shop.toml", "cheap.toml", "--json", "shop.toml")
    assert over.exit_code == 2 and "is a file the scenario is read from" in told(over)
    assert Path("shop.toml").read_text("utf-8") == SHOP


def test_one_scenario_still_needs_its_workbook(folder: Path) -> None:
    done = run("shop.toml")
    assert done.exit_code == 2 and "Missing option '-o'" in done.stderr
