"""Texts from outside in every product: cells hold them as texts, pages and drawings as text, terminals see no commands.

What may begin a formula is OWASP's list ("CSV Injection"), with the full-width signs.
"""

from __future__ import annotations

import csv
import io
import json
import tomllib
from collections.abc import Iterator
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import openpyxl
import pytest
from click.testing import CliRunner, Result
from openpyxl.formula import Tokenizer
from openpyxl.formula.tokenizer import Token

from roi.cli import main
from roi.cli.reading import printable
from roi.workbook.read_language import shipped_languages
from tests.hostile.texts import STARTS, write_language, write_shop, write_template
from tests.small_shop import SHOP
from tests.workbook.formula_rules import PORTABLE

SUSPECT = (*STARTS, "\N{ZERO WIDTH SPACE}=")
STEERING = {chr(n) for n in (*range(9), *range(11, 32), *range(127, 160), 0x202E)}


def run(*words: object) -> Result:
    """A command's result; nothing it prints may steer a terminal."""
    done = CliRunner().invoke(main, [str(word) for word in words], env={"COLUMNS": "80"})
    assert done.exception is None or isinstance(done.exception, SystemExit), repr(done.exception)
    assert not STEERING & set(done.output), words
    return done


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the shop, its template and language, and everything made of it."""
    folder = tmp_path_factory.mktemp("hostile")
    shop, template = write_shop(folder), write_template(folder)
    language = write_language(folder, shipped_languages()["de"])
    look = ("--template", template, "--language", language)
    made = [
        run("compare", shop, "-o", folder / "decision.xlsx", "--json", folder / "decision.json", *look),
        # Read back from the workbook, beside the file.
        run("compare", shop, folder / "decision.xlsx", "-o", folder / "both.xlsx"),
        run("budget", shop, "--year", "2027", "-o", folder / "budget.xlsx", "--json", folder / "budget.json"),
        run("brief", shop, "-o", folder / "page.html", "--charts", folder / "charts", "--template", template),
        run("reconcile", shop, "--json", folder / "ledger.json"),
        run("confirm", shop, "-o", folder / "blanks.toml", "--json", folder / "confirm.json"),
        run("new", folder / "started", "--workbook", "--name", '=cmd|x"]\n[x]\n"\x1b[31m'),
        run("new", folder / "begun", "--name", '=cmd|x"]\n[x]\n"\x1b[31m'),
    ]
    assert [done.exit_code for done in made if done.exit_code == 2] == [], [
        d.output for d in made if d.exit_code == 2
    ]
    return folder


@cache
def opened(path: Path) -> openpyxl.Workbook:
    return openpyxl.load_workbook(path)


def cells(path: Path) -> Iterator[tuple[str, openpyxl.cell.Cell]]:
    for sheet in opened(path).worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.value is not None:
                    yield f"{path.name} {sheet.title}!{cell.coordinate}", cell


BOOKS = {
    # At least so many different signs must be met at the beginning of a cell, or the check has seen nothing. White space is
    # taken off when texts are read, so that tab, carriage return and line feed can't begin one.
    "decision.xlsx": 8,
    "both.xlsx": 6,
    "budget.xlsx": 5,
    "started/shop.xlsx": 1,
}


@pytest.mark.parametrize("name", BOOKS)
def test_no_cell_takes_a_text_for_a_formula(folder: Path, name: str) -> None:
    met, formulas = set(), 0
    for where, cell in cells(folder / name):
        if cell.data_type == "f":
            formulas += 1
            if '"' not in cell.value:
                continue
            # A text that got out of its quotation marks would show as a function of another kind, or as a name.
            tokens = Tokenizer(cell.value).items
            named = {t.value.rstrip("(") for t in tokens if t.type == Token.FUNC and t.subtype == Token.OPEN}
            assert named <= PORTABLE, (where, cell.value)
            assert not any("|" in t.value for t in tokens if t.subtype != Token.TEXT), where
        elif isinstance(cell.value, str):
            assert cell.data_type == "s", where
            if cell.value.startswith(SUSPECT):
                assert cell.quotePrefix, (where, cell.value)
                met.add(cell.value[0])
    assert len(met) >= BOOKS[name], met
    assert formulas or name == "started/shop.xlsx"


@pytest.mark.parametrize("name", BOOKS)
def test_nothing_beside_cells_holds_a_formula_of_theirs(folder: Path, name: str) -> None:
    book = opened(folder / name)
    assert not book.defined_names or all("cmd" not in n.attr_text for n in book.defined_names.values())
    for sheet in book.worksheets:
        rules = [
            f"{r.formula1} {r.formula2}" for r in sheet.data_validations.dataValidation if r.type != "list"
        ]
        lists = [r.formula1 for r in sheet.data_validations.dataValidation if r.type == "list"]
        assert not any("cmd" in rule or "HYPERLINK" in rule for rule in [*rules, *lists]), sheet.title
        links = [link.target or "" for link in sheet._hyperlinks]
        assert not any(target for target in links), sheet.title
        # "&" begins a command in headers and footers.
        footers = (sheet.oddFooter.left.text, sheet.oddFooter.center.text, sheet.oddFooter.right.text)
        assert not any("cmd" in (text or "") for text in footers), sheet.title


@pytest.mark.parametrize("start", STARTS)
def test_a_text_put_into_a_cell_is_marked_whatever_it_begins_with(start: str) -> None:
    from roi.workbook.cells import put_text
    from roi.workbook.styles import add_styles

    book = openpyxl.Workbook()
    add_styles(book)
    cell = put_text(book.active, 1, 1, f"{start}1+1", "Label")
    assert (cell.data_type, cell.quotePrefix, cell.value) == ("s", True, f"{start}1+1")


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str]] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += [(key, value or "") for key, value in attrs]

    def handle_data(self, data: str) -> None:
        self.text += data


def test_the_page_shows_texts_as_text_and_runs_nothing(folder: Path) -> None:
    page = _Page()
    page.feed((folder / "page.html").read_text("utf-8"))
    assert "<script>alert(1)</script>" in page.text and "<b>" in page.text
    assert not {"b", "script", "iframe", "object", "embed", "base", "form", "link"} & set(page.tags)
    assert page.tags.count("meta") == 4 and page.tags.count("body") == 1
    for key, value in page.attributes:
        assert not key.startswith("on")
        assert key.startswith("xmlns") or not value.strip().lower().startswith(("javascript:", "http"))


def test_drawings_hold_texts_as_text(folder: Path) -> None:
    drawings = sorted((folder / "charts").glob("*.svg"))
    assert drawings
    shown = ""
    for path in drawings:
        root = ElementTree.fromstring(path.read_text("utf-8"))
        assert not [
            e.tag for e in root.iter() if e.tag.rpartition("}")[2] in ("b", "script", "foreignObject", "a")
        ]
        assert not [k for e in root.iter() for k in e.attrib if k.startswith("on")]
        shown += "".join(root.itertext())
    assert "<b>" in shown


def _strings(found: object) -> Iterator[str]:
    if isinstance(found, str):
        yield found
    elif isinstance(found, dict):
        for key, value in found.items():
            yield from (key, *_strings(value))
    elif isinstance(found, list):
        for value in found:
            yield from _strings(value)


@pytest.mark.parametrize("name", ["decision.json", "budget.json", "ledger.json", "confirm.json"])
def test_json_holds_texts_in_one_printable_line(folder: Path, name: str) -> None:
    texts = list(_strings(json.loads((folder / name).read_text("utf-8"))))
    assert any("cmd" in text for text in texts)
    assert [text for text in texts if not text.isprintable()] == []


def test_toml_that_is_written_says_what_was_meant(folder: Path) -> None:
    """Python's own reader is the judge: a text that got out of its marks would show as a table."""
    begun = tomllib.loads((folder / "begun" / "shop.toml").read_text("utf-8"))
    assert "x" not in begun and begun["name"].startswith('=cmd|x"]')
    blanks = tomllib.loads((folder / "blanks.toml").read_text("utf-8"))
    assert blanks["name"].lstrip("=+-@＝＋－＠").startswith("H1<b>") and blanks["based_on"] == "shop.toml"


def test_csv_holds_no_cell_that_acts_wherever_a_program_parts_cells(tmp_path: Path) -> None:
    """The one product that is CSV has no marks for texts: an apostrophe stands before them, at semicolons too."""
    lines = SHOP.replace('"Invented shop"', '"=cmd;=HYPERLINK(1);@x"')
    (tmp_path / "=shop.toml").write_text(lines, "utf-8")
    (tmp_path / "+bad;-x.toml").write_text(lines.replace('"4 year"', '"\\u001b=1;＝2 year"'), "utf-8")
    run("batch", tmp_path, "-o", tmp_path / "all.csv")
    text = (tmp_path / "all.csv").read_text("utf-8-sig")
    assert "'=cmd;'=HYPERLINK(1);'@x" in text and "+bad;'-x.toml" in text
    for delimiter in ",;\t":
        for row in csv.reader(io.StringIO(text), delimiter=delimiter):
            assert not [cell for cell in row if cell.startswith(SUSPECT) and not _number(cell)]
    assert "\x1b" not in text


def _number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True


def test_a_problem_spells_out_what_would_steer_a_terminal(tmp_path: Path) -> None:
    shop = write_shop(tmp_path)
    text = shop.read_text("utf-8").replace('"300 USD/month"', '"\\u001b]0;x\\u0007 \\u202e12 USD/month"')
    shop.write_text(text, "utf-8")
    done = run("check", shop)
    assert done.exit_code == 2 and "\\x1b]0;x\\x07" in done.output and "\\u202e" in done.output


def test_halves_of_letters_can_be_printed() -> None:
    """A workbook can hold half of a pair of UTF-16, which no terminal's encoding knows."""
    assert printable("a\ud83d\tb\nc\u202f") == "a\\ud83d\tb\nc\u202f"
