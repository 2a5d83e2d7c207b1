"""`roi compare --template`: chosen by name or file, refused with everything else that is wrong, in the help."""

import json

import pytest
from click.testing import CliRunner
from openpyxl import load_workbook

from roi.cli import main
from roi.workbook.template import shipped
from tests.small_shop import SHOP


@pytest.fixture
def shop(tmp_path):
    path = tmp_path / "shop.toml"
    path.write_text(SHOP, encoding="utf-8")
    return path


def run(*words):
    return CliRunner().invoke(main, [str(w) for w in words])


def test_a_name_and_a_copy_of_its_file_give_the_same_layout(shop, tmp_path):
    (tmp_path / "mine.toml").write_bytes(shipped()["budget_holder"].read_bytes())
    books = []
    for template in ("budget_holder", tmp_path / "mine.toml"):
        done = run("compare", shop, "-o", tmp_path / "out.xlsx", "--template", template)
        assert done.exit_code == 0, done.output
        books.append(load_workbook(tmp_path / "out.xlsx"))
    assert books[0].sheetnames == books[1].sheetnames
    assert books[0].sheetnames[:3] == ["Summary", "About", "Cash flow"]
    assert {book["Summary"]["A1"].value for book in books} == {
        "Invented shop: what making plates will cost, in USD"
    }


def test_without_the_option_the_owners_is_used(shop, tmp_path):
    assert run("compare", shop, "-o", tmp_path / "out.xlsx").exit_code == 0
    assert (
        load_workbook(tmp_path / "out.xlsx")["Summary"]["A1"].value
        == "Invented shop: how should plates be made?"
    )


def test_a_bad_template_is_told_with_other_problems_and_nothing_is_written(shop, tmp_path):
    bad = tmp_path / "bad.toml"
    bad.write_text('schema = 1\n[style]\npaper = "A5"\nfount = "Arial"\n', encoding="utf-8")
    done = run("compare", shop, "-o", tmp_path / "out.xls", "--template", bad)
    assert done.exit_code == 2
    said = " ".join(done.stderr.split())
    assert "does not end in .xlsx" in said
    assert 'bad.toml, line 3, style.paper: "A5" is no paper known here' in said
    assert 'bad.toml, line 4, style.fount: is not a key known here mend: was "font" meant?' in said
    assert "3 problems to mend." in said
    assert sorted(p.name for p in tmp_path.iterdir()) == ["bad.toml", "shop.toml"]


def test_help_names_every_shipped_template_and_the_default():
    said = " ".join(run("compare", "--help").output.split())
    assert all(name in said for name in shipped())
    assert "[default: owner]" in said


@pytest.mark.parametrize(("template", "named"), [("owner", True), ("consultant", False)])
@pytest.mark.parametrize("several", [False, True])
def test_json_keeps_out_what_its_template_keeps_out(shop, tmp_path, template, named, several):
    """One scenario or several; the screen is the consultant's own and shows the name."""
    other = tmp_path / "quillwort.toml"
    other.write_text(SHOP.replace("Invented shop", "Quillwort and daughters"), encoding="utf-8")
    files = [other, shop] if several else [other]
    output = [] if several else ["-o", tmp_path / "out.xlsx"]
    done = run("compare", *files, *output, "--json", tmp_path / "out.json", "--template", template)
    assert done.exit_code == 0, done.output
    written = (tmp_path / "out.json").read_text("utf-8")
    assert ("Quillwort and daughters" in written) is named and ("quillwort" in written.lower()) is named
    assert "Quillwort and daughters" in done.output
    found = json.loads(written)
    first = found["scenarios"][0] if several else found
    assert first["cheapest"] in first["methods"] and set(first["methods"]) == {"polyester", "direct"}
