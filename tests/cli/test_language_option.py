"""`roi compare --language`: by name or file, before the template's own, refused with everything else that is wrong."""

import pytest
from click.testing import CliRunner
from openpyxl import load_workbook

from roi.cli import main
from tests.small_shop import SHOP

LOOK = 'schema = 1\n[workbook]\nlanguage = "de"\nsheets = [{ sheet = "Summary" }, { sheet = "Inputs" }]\n'


@pytest.fixture
def shop(tmp_path):
    path = tmp_path / "shop.toml"
    path.write_text(SHOP, encoding="utf-8")
    (tmp_path / "look.toml").write_text(LOOK, encoding="utf-8")
    return path


def run(*words):
    return CliRunner().invoke(main, [str(w) for w in words])


def headline(shop, *words):
    target = shop.parent / "out.xlsx"
    done = run("compare", shop, "-o", target, "--template", shop.parent / "look.toml", *words)
    assert done.exit_code == 0, done.output
    return load_workbook(target, read_only=True)["Summary"]["A1"].value


def test_the_template_names_the_language_and_the_option_goes_before_it(shop, tmp_path):
    assert headline(shop) == "Invented shop: Wie sollen Druckplatten entstehen?"
    assert headline(shop, "--language", "en") == "Invented shop: how should plates be made?"
    own = 'schema = 1\nlanguage = "Own"\n[texts]\n"{a}: how should plates be made?" = "Plates at {a}"\n'
    (tmp_path / "own.toml").write_text(own, encoding="utf-8")
    assert headline(shop, "--language", tmp_path / "own.toml") == "Plates at Invented shop"


def test_a_bad_language_is_told_with_other_problems_and_nothing_is_written(shop, tmp_path):
    bad = tmp_path / "bad.toml"
    bad.write_text('schema = 1\nlanguage = "Own"\n[texts]\n"{a} plates" = "plates"\n', encoding="utf-8")
    done = run("compare", shop, "-o", tmp_path / "out.xls", "--template", "owned", "--language", bad)
    assert done.exit_code == 2
    said = " ".join(done.stderr.split())
    assert "does not end in .xlsx" in said
    assert "--template owned" in said
    assert 'bad.toml, line 4, "{a} plates": the translation lacks {a}' in said
    assert "3 problems to mend." in said
    assert not list(tmp_path.glob("*.xls*"))


def test_several_scenarios_are_put_side_by_side_in_a_language(shop, tmp_path):
    other = tmp_path / "other.toml"
    other.write_text(SHOP.replace("Invented shop", "Another shop"), encoding="utf-8")
    done = run("compare", shop, other, "-o", tmp_path / "out.xlsx", "--language", "de")
    assert done.exit_code == 0, done.output
    book = load_workbook(tmp_path / "out.xlsx", read_only=True)
    assert book["Side by side"]["A1"].value == "2 Szenarien nebeneinander"
    assert book["A_Comparison"]["A4"].value == "Zeile"
