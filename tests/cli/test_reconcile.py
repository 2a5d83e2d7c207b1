"""`roi reconcile` as a user runs it, and where an unreconciled baseline is said: check, compare and page one."""

import json
import shutil
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from roi.cli import main
from tests.answers.bare_shop import HEAD, WORK, method
from tests.small_shop import SHOP

ROOM = Path(__file__).parents[2] / "scenarios" / "uk_print_room"
SHEETS = 'schema = 1\n[workbook]\nsheets = [{ sheet = "Summary" }]\n'
MAPPED = '\n[ledger]\n[ledger.accounts]\nplates = "consumables"\n'


def run(*words):
    return CliRunner().invoke(main, [str(w) for w in words], env={"COLUMNS": "80"})


def flat(text):
    return " ".join(text.split())


@pytest.fixture
def shop(tmp_path):
    """Plates of 3,000 USD a year by hand (see tests/answers/test_reconcile.py), books of 3,600 of them."""
    text = HEAD + WORK + method("a", 2, 1, 80) + method("b", 3, 2, 10) + MAPPED
    (tmp_path / "shop.toml").write_text(text, "utf-8")
    rows = ("2025-01-15,plates,Merchant,3600", "2025-11-20,paint,Painter,75", "2025-12-20,paint,Painter,25")
    (tmp_path / "ledger.csv").write_text("\n".join(["date,account,supplier,amount", *rows]), "utf-8")
    return tmp_path / "shop.toml"


def test_the_print_room_runs_as_written_in_its_scenario(tmp_path):
    out = tmp_path / "out.json"
    done = run("reconcile", ROOM / "shop.toml", ROOM / "ledger.csv", "--json", out)
    assert done.exit_code == 1, done.output
    found, said = json.loads(out.read_text("utf-8")), flat(done.output)
    assert not found["reconciles"] and found["ledger"] == "ledger.csv" and found["method"] == "processed"
    for part in (*found["parts"], found["whole"]):
        row = f"{part['label']} {part['books']:,.0f} {part['model']:,.0f} {part['unexplained']:,.0f}"
        assert row in said
    assert (
        f"this reckoning {found['whole']['model']:,.0f}: {-found['whole']['unexplained_percent']:.0f} %"
        in said
    )
    assert "Equipment: can't close." in said and "Consumables: chemistry: closes with" in said
    assert "Other year: row" in said and "2025-07-10" in said and "9 rows are internal" in said
    assert max(len(line) for line in done.output.splitlines() if not line.startswith("Written")) <= 80
    # The scenario names the file, so that it can be left out.
    assert run("reconcile", ROOM / "shop.toml").output == done.output.replace(f"Written: {out}\n", "")


def test_unmapped_rows_are_grouped_and_a_year_can_be_given(shop, tmp_path):
    done = run("reconcile", shop, tmp_path / "ledger.csv")
    said = flat(done.output)
    assert done.exit_code == 1 and "600" in said and "17 % is not explained" in said
    assert (
        "paint, Painter 2 100.00" in said and "2 rows are mapped to nothing and not compared: 100.00" in said
    )
    half = run("reconcile", shop, tmp_path / "ledger.csv", "--year", "2025-01..2025-06")
    assert "181 days are scaled to a year" in flat(half.output) and "as --year says" in flat(half.output)


def test_books_that_agree_exit_with_0(shop, tmp_path):
    (tmp_path / "ledger.csv").write_text(
        "date,account,supplier,amount\n2025-01-15,plates,M,3100\n2025-12-15,plates,M,1\n"
    )
    done = run("reconcile", shop, tmp_path / "ledger.csv")
    assert done.exit_code == 0 and "It reconciles: the books of 2025 show USD 3,101" in flat(done.output)


def test_what_is_refused_is_told_with_its_mend(shop, tmp_path):
    for words, told in (
        ((tmp_path / "none.csv",), "there is no such file"),
        ((shop,), "neither .csv nor .xlsx"),
        ((tmp_path / "ledger.csv", "--year", "2025"), "write it like 2025-08..2026-07"),
        ((tmp_path / "ledger.csv", "--json", tmp_path / "ledger.csv"), "does not end in .json"),
        ((), "no ledger is named"),
    ):
        done = run("reconcile", shop, *words)
        assert done.exit_code == 2 and told in flat(done.stderr), done.output
    (tmp_path / "plain.toml").write_text(SHOP, "utf-8")
    done = run("reconcile", tmp_path / "plain.toml", tmp_path / "ledger.csv")
    assert done.exit_code == 2 and '[ledger.accounts] "5010" = "consumables"' in flat(done.stderr)
    (tmp_path / "ledger.csv").write_text("date,account,supplier,amount\nnever,plates,M,1\n,plates,M,2\n")
    done = run("reconcile", shop, tmp_path / "ledger.csv")
    assert done.exit_code == 2 and "2 problems to mend" in flat(done.stderr)


def test_a_ledger_is_never_written_over(shop, tmp_path):
    text = shop.read_text("utf-8").replace("[ledger]\n", '[ledger]\nfile = "ledger.xlsx"\n')
    shop.write_text(text, "utf-8")
    done = run("compare", shop, "-o", tmp_path / "ledger.xlsx")
    assert done.exit_code == 2 and "is a file the scenario is read from" in flat(done.stderr)


def test_a_baseline_that_does_not_reconcile_is_said_everywhere(shop, tmp_path):
    sentence = "The books of 2025 show USD 3,600 for consumables; this reckoning 3,000: 17 % is not explained"
    (tmp_path / "look.toml").write_text(SHEETS, "utf-8")
    silent = run("compare", shop, "-o", tmp_path / "a.xlsx", "--template", tmp_path / "look.toml")
    assert silent.exit_code == 0 and "The books of" not in silent.output
    named = shop.read_text("utf-8").replace("[ledger]\n", '[ledger]\nfile = "ledger.csv"\n')
    shop.write_text(named, "utf-8")
    checked = run("check", shop)
    assert (
        checked.exit_code == 1 and sentence in flat(checked.output) and "shop.toml, ledger" in checked.output
    )
    said = run("compare", shop, "-o", tmp_path / "b.xlsx", "--template", tmp_path / "look.toml")
    assert flat(said.output).count(sentence) == 1

    def page(name):
        rows = openpyxl.load_workbook(tmp_path / name, read_only=True)["Summary"].iter_rows(
            max_col=1, values_only=True
        )
        return flat(" ".join(str(row[0]) for row in rows))

    assert page("b.xlsx").count(sentence + ". *") == 1
    assert "The books of" not in page("a.xlsx")


def test_the_books_themselves_never_reach_the_workbook(shop, tmp_path):
    """A supplier's text that a spreadsheet would take for a formula stays out of every cell."""
    shutil.copy(tmp_path / "ledger.csv", tmp_path / "evil.csv")
    with open(tmp_path / "evil.csv", "a", encoding="utf-8") as file:
        file.write('\n2025-06-01,plates,"=HYPERLINK(""x"")\x1b[31m",900\n2025-06-02,=1+1,@SUM,5\n')
    shop.write_text(shop.read_text("utf-8").replace("[ledger]\n", '[ledger]\nfile = "evil.csv"\n'), "utf-8")
    (tmp_path / "look.toml").write_text(SHEETS, "utf-8")
    assert (
        run("compare", shop, "-o", tmp_path / "c.xlsx", "--template", tmp_path / "look.toml").exit_code == 0
    )
    book = openpyxl.load_workbook(tmp_path / "c.xlsx", read_only=True)
    for sheet in book:
        for row in sheet.iter_rows(values_only=True):
            assert not any('HYPERLINK("x"' in str(cell) or str(cell) in ("=1+1", "@SUM") for cell in row)
    done = run("reconcile", shop)
    assert "\x1b" not in done.output and "=1+1, @SUM" in done.output
