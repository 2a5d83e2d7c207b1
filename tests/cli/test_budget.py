"""`roi budget` as a user runs it: words first, then both ways by quarter; the workbook, JSON, and what it refuses."""

import json

import pytest
from click.testing import CliRunner
from openpyxl import load_workbook

from roi.cli import main
from tests.budget_shop import FULL
from tests.small_shop import SHOP

# 25 November 2026, so that years in the past stay in the past.
ENV = {"COLUMNS": "80", "SOURCE_DATE_EPOCH": "1795564800"}


def run(*words):
    return CliRunner().invoke(main, ["budget", *(str(w) for w in words)], env=ENV)


@pytest.fixture
def shop(tmp_path):
    path = tmp_path / "shop.toml"
    path.write_text(FULL, "utf-8")
    return path


def test_words_first_then_a_table_as_in_the_json(shop, tmp_path):
    book, out = tmp_path / "budget.xlsx", tmp_path / "budget.json"
    done = run(shop, "--year", 2027, "--switch-month", 5, "-o", book, "--json", out)
    assert done.exit_code == 0, done.output
    found = json.loads(out.read_text(encoding="utf-8"))
    said = " ".join(done.output.split())
    assert said.startswith(f"Invented shop {found['sentences'][0]} {found['sentences'][1]}")
    assert all(len(line) <= 80 for line in done.output.splitlines() if str(tmp_path) not in line)
    assert found["months"][0] == "Aug 2027" and found["switch_month"] == 5 and found["year"] == 2027
    cash = {row["key"]: row for row in found["switching"]["cash"]}
    quarters = [f"{sum(cash['cash']['months'][q : q + 3]):,.0f}" for q in range(0, 12, 3)]
    assert " ".join(["all", *quarters, f"{cash['cash']['year']:,.0f}"]) in said
    assert "Aug-Oct Nov-Jan Feb-Apr May-Jul Year Charged" in said
    assert (
        "- 2027-09-30: Direct, plate, Small: runs out before the switch at the start of Jan 2028" in said
        and "not tax or accounting advice" in said
    )
    assert f"Checks: {len(found['checks'])} of {len(found['checks'])} pass." in said
    assert load_workbook(book, read_only=True).sheetnames[0] == "Summary"


def test_what_can_not_be_is_refused_all_at_once(shop, tmp_path):
    book = tmp_path / "budget.xlsx"
    done = run(shop, "--year", 2020, "--switch-month", 12, "--method", "laser", "-o", book)
    said = " ".join(done.stderr.split())
    assert done.exit_code == 2 and "3 problems to mend." in said and not book.exists()
    assert "--year 2020: is over" in said and "write --year 2026 (begins in Aug 2026) to --year 2027" in said
    assert "--switch-month 12: is not a month of the year" in said
    assert "--method laser: is not among the methods" in said and "mend: one of direct" in said


def test_a_scenario_or_a_file_that_can_not_be_used_is_refused(tmp_path):
    shop = tmp_path / "shop.toml"
    shop.write_text(SHOP + '[money]\nvat_rate = "20 %"\n', "utf-8")
    done = run(shop, "--year", 2027, "-o", tmp_path / "out.xlsx")
    assert done.exit_code == 2 and "money.vat_unrecovered" in done.stderr
    assert run(shop, "--year", 2027, "-o", tmp_path / "out.csv").exit_code == 2
    assert run(tmp_path / "none.toml", "--year", 2027, "-o", tmp_path / "out.xlsx").exit_code == 2
    assert run(shop, "-o", tmp_path / "out.xlsx").exit_code == 2  # no year
