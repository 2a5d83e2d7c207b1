"""Commands given a workbook in place of a scenario file: read, never written over, and refused where a file is needed."""

import pytest
from click.testing import CliRunner

from roi.cli import main
from roi.model.study import build
from roi.scenario.scenario import read
from roi.workbook.write import write_workbook
from tests.small_shop import LEAN, SHOP
from tests.workbook.edited import cell_of, edited


def run(*words):
    return CliRunner().invoke(main, [str(w) for w in words], env={"COLUMNS": "80"})


def said(done):
    return " ".join(done.output.split())


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    folder = tmp_path_factory.mktemp("shop")
    (folder / "shop.toml").write_text(SHOP, "utf-8")
    study = build(read(folder / "shop.toml"))
    write_workbook(study, study.evaluate(), folder / "book.xlsx", LEAN)
    return folder / "book.xlsx"


def test_check_explain_and_claim_say_of_it_what_they_say_of_the_file(book):
    for words in (("check",), ("explain", "Equivalent annual cost"), ("claim", "is the cheapest")):
        command, *more = words
        of_file, of_book = (run(command, book.with_name(name), *more) for name in ("shop.toml", "book.xlsx"))
        assert of_book.exit_code == of_file.exit_code, of_book.output
        if command != "check":  # which names where numbers stand
            assert of_book.output == of_file.output


def test_check_names_the_cell(book, tmp_path):
    """A plate at the price of a box: outside ten times the usual range, told at the cell where it stands."""
    key = "methods.direct.plates.price_per_area"
    sheet, cell = cell_of(book, key)
    was = read(book.with_name("shop.toml")).inputs[tuple(key.split("."))]
    wrong = {(sheet, cell): was.best * 1000, (sheet, cell_of(book, key, "High")[1]): was.best * 1000}
    done = run("check", edited(book, tmp_path / "wrong.xlsx", wrong))
    assert done.exit_code == 1 and f"wrong.xlsx, {sheet}!{cell} ({key})" in said(done), done.output


def test_what_needs_a_file_is_refused_with_a_mend(book):
    done = run("confirm", book, "-o", book.with_name("to_check.toml"))
    assert done.exit_code == 2 and "builds on a scenario file, not on a workbook" in said(done)
    variant = book.with_name("variant.toml")
    variant.write_text('schema = 1\nbased_on = "book.xlsx"\n', "utf-8")
    done = run("check", variant)
    assert done.exit_code == 2 and "give the workbook by itself" in said(done)


def test_it_is_never_written_over(book):
    done = run("compare", book, "-o", book)
    assert done.exit_code == 2 and "is a file the scenario is read from" in said(done)
