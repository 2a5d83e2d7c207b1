"""`roi diff` as a user runs it: the same, an edit, other methods; words, JSON and exit codes."""

import json

import pytest
from click.testing import CliRunner

from roi.cli import main
from roi.model.study import build
from roi.scenario.scenario import read
from roi.workbook.write import write_workbook
from tests.small_shop import LEAN, SHOP
from tests.workbook.edited import cell_of, edited

PRICE = "methods.direct.equipment.line.price"


def run(*words):
    return CliRunner().invoke(main, [str(w) for w in words], env={"COLUMNS": "80"})


def said(done):
    return " ".join(done.output.split())


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("shop")
    text = SHOP.replace("[methods.direct]", '[methods.direct.equipment.line]\nprice = "16000 USD"')
    (folder / "shop.toml").write_text(text, "utf-8")
    study = build(read(folder / "shop.toml"))
    write_workbook(study, study.evaluate(), folder / "book.xlsx", LEAN)
    return folder


def test_a_file_and_its_workbook_are_the_same(folder):
    done = run("diff", folder / "shop.toml", folder / "book.xlsx")
    assert done.exit_code == 0, done.output
    assert "The two are the same: every input, every text and every result." in said(done)


def test_an_edit_is_told_with_what_comes_of_it(folder, tmp_path):
    """1,500 more for the line is 1,500 more to begin with, since the contingency on first cost is nought until stated."""
    book, out = folder / "book.xlsx", tmp_path / "diff.json"
    changes = {cell_of(book, PRICE): 17500.0, cell_of(book, PRICE, "Status"): "quote"}
    changes |= {cell_of(book, PRICE, "Source"): "a letter"}
    other = edited(book, tmp_path / "edited.xlsx", changes)
    done = run("diff", folder / "shop.toml", other, "--json", out)
    assert done.exit_code == 1, done.output
    words = said(done)
    assert f"Direct, Imager and curing unit: price [{PRICE}]" in words
    assert "value: 16,000 USD -> 17,500 USD" in words and "low:" not in words
    assert "status: estimate -> quote" in words and "source: not stated -> a letter" in words
    assert "(+1,500.00, +" in words
    found = json.loads(out.read_text("utf-8"))
    (row,) = found["inputs"]
    assert (row["key"], row["differs_in"]) == (PRICE, ["value", "status", "source"])
    assert (row["a"]["best"], row["b"]["best"], row["b"]["source"]) == (16000, 17500, "a letter")
    first = {(r["method"], r["measure"]): r["b"] - r["a"] for r in found["results"]}
    assert first["direct", "first_cost"] == pytest.approx(1500, abs=1e-6)
    assert all(method == "direct" for method, _ in first) and not found["same"] and not found["texts"]


def test_what_only_one_of_them_has(folder, tmp_path):
    more = (folder / "shop.toml").read_text("utf-8") + '\n[methods.bought_in]\n[leaving]\nstock = "400 USD"\n'
    (tmp_path / "more.toml").write_text(more.replace("Invented shop", "Another shop"), "utf-8")
    done = run("diff", folder / "shop.toml", tmp_path / "more.toml")
    words = said(done)
    assert done.exit_code == 1 and "Name: Invented shop -> Another shop" in words
    assert "[leaving.stock] value: - -> 400 USD" in words
    assert "Method bought_in: - -> Plates bought in" in words and "Present cost: none -> " in words


def test_problems_of_either_are_told_and_results_never_written_over(folder, tmp_path):
    (tmp_path / "bad.toml").write_text("schema = 1\n", "utf-8")
    done = run("diff", folder / "shop.toml", tmp_path / "bad.toml")
    assert done.exit_code == 2 and f"{tmp_path.name}/bad.toml" in said(done)
    (tmp_path / "b.json").write_text("{}", "utf-8")
    done = run("diff", folder / "shop.toml", folder / "book.xlsx", "--json", tmp_path / "b.txt")
    assert done.exit_code == 2 and "does not end in .json" in said(done)


def test_the_order_in_which_things_are_stated_is_no_difference(folder, tmp_path):
    """Found by mutation: shares of runs in another order were told as another year's work."""
    text = (folder / "shop.toml").read_text("utf-8")
    text = text.replace("{ under_1000 = 0.4, to_5000 = 0.6 }", "{ to_5000 = 0.6, under_1000 = 0.4 }")
    text = text.replace('small = "330 mm x 492 mm"', 'small = "330 mm x 492 mm"\nlarge = "400 mm x 510 mm"')
    # 0.1024 + 2 x 0.1435 + 4 x 0.7541 plates a form: added in another order the last digit is another.
    colours = (
        "colours = { 1 = 0.1024, 2 = 0.1435, 4 = 0.7541 }",
        "colours = { 1 = 0.1024, 4 = 0.7541, 2 = 0.1435 }",
    )
    text = text.replace("small = 300 }", "small = 300, large = 50 }\n" + colours[0])
    (tmp_path / "a.toml").write_text(text, "utf-8")
    sizes = (
        'small = "330 mm x 492 mm"\nlarge = "400 mm x 510 mm"',
        'large = "400 mm x 510 mm"\nsmall = "330 mm x 492 mm"',
    )
    runs = ("{ to_5000 = 0.6, under_1000 = 0.4 }", "{ under_1000 = 0.4, to_5000 = 0.6 }")
    (tmp_path / "b.toml").write_text(text.replace(*sizes).replace(*runs).replace(*colours), "utf-8")
    done = run("diff", tmp_path / "a.toml", tmp_path / "b.toml")
    assert done.exit_code == 0, done.output
    (tmp_path / "c.toml").write_text(text.replace("large = 50", "large = 51"), "utf-8")
    assert "Work of a year" in said(run("diff", tmp_path / "a.toml", tmp_path / "c.toml"))
