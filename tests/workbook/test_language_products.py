"""German in every product: nothing left without words, figures untouched, workbooks that read back, what is told on stderr.

Formulas are recalculated by IronCalc after stored results are stripped; |a - b| <= 1e-9 x max(|a|, |b|) + 1e-6, texts equal.
How many texts may lack words is what has been reached: none. `python -m tests.language_gaps de` lists them.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from openpyxl import load_workbook
from openpyxl.worksheet.worksheet import Worksheet

from roi.cli import main
from roi.model.study import build
from roi.page.voice import Voice
from roi.page.write import make_page
from roi.scenario.problems import BadInput
from roi.scenario.scenario import read
from roi.workbook.cells import Results
from roi.workbook.house import House
from roi.workbook.inputs import HEADS
from roi.workbook.read_back import read_workbook
from roi.workbook.read_language import load_language, read_language
from roi.workbook.read_template import load_template
from roi.workbook.say_the_rest import names_of
from roi.workbook.template import SHEETS, Template
from roi.workbook.tongue import Marks, Tongue
from roi.workbook.write import write_budget, write_input_book, write_workbook
from tests.budget_shop import FULL, budgeted
from tests.language_gaps import DEMO, gaps
from tests.page import browser
from tests.page.pages import worked
from tests.parity.recalculate import IronCalcBook, differences
from tests.small_shop import LEAN, SHOP
from tests.workbook.edited import HEAD_ROW
from tests.workbook.rules import broken_rules


def german() -> Tongue:
    tongue = load_language("de")
    assert tongue is not None
    return tongue


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words], env={"COLUMNS": "80"})


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop, a language with hardly a word, and a template in German."""
    folder = tmp_path_factory.mktemp("shop")
    (folder / "shop.toml").write_text(SHOP, "utf-8")
    (folder / "own.toml").write_text('schema = 1\nlanguage = "Own"\n[texts]\n"Method" = "Way"\n', "utf-8")
    sheets = 'sheets = [{ sheet = "Summary" }, { sheet = "Inputs" }]\n'
    (folder / "look.toml").write_text(f'schema = 1\n[workbook]\nlanguage = "de"\n{sheets}', "utf-8")
    return folder


# What has no words

# Words that no German text holds. A pattern with a hole that takes anything might let an English end of a sentence through.
ENGLISH = re.compile(r"\b(the|of|and|which|what|is|are|from|by|above|below|each|to)\b")
AS_IT_IS = ("Scenario", "Forms")  # sheets that stay English


def english_in(path: Path, sources: Collection[str]) -> list[str]:
    """Texts with English words, but for tab names, headings by which sheets are read, and what was stated as a source."""
    book = load_workbook(path)
    names = re.compile("|".join(re.escape(name) for name in sorted(book.sheetnames, key=len, reverse=True)))
    found = []
    for sheet in book.worksheets:
        for cell in (cell for row in sheet.iter_rows() for cell in row if sheet.title not in AS_IT_IS):
            if isinstance(cell.value, str) and cell.data_type == "s" and cell.value not in sources:
                read = sheet.title == "Choices" and cell.column > 1  # the keys of words
                heading = cell.row == HEAD_ROW and cell.value in HEADS  # with another language's above it
                text = (
                    ""
                    if read or heading
                    else cell.value.split("\n")[0]
                    if cell.row == HEAD_ROW
                    else cell.value
                )
                if ENGLISH.search(re.sub(r"'[^']*'|[a-z_]+\.[a-z_.]+", "", names.sub("", text))):
                    found.append(f"{sheet.title}!{cell.coordinate}: {text}")
    return found


def test_german_has_words_for_all_of_the_demos_page() -> None:
    assert gaps("de", read(DEMO), "page") == []


def test_german_has_words_for_a_budget_that_states_everything(tmp_path: Path) -> None:
    """And its figures, sentences and checks are those that a recalculation gives."""
    look = replace(load_template("owner"), tongue=german())
    results = write_budget(budgeted(tmp_path, FULL, month=5), tmp_path / "budget.xlsx", look)
    assert look.tongue is not None and look.tongue.missing() == []
    assert look.tongue.asked() > 1000
    sources = {stated.source for stated in budgeted(tmp_path, FULL).study.scenario.inputs.values()}
    assert english_in(tmp_path / "budget.xlsx", sources) == []
    assert broken_rules(tmp_path / "budget.xlsx", german().say) == []
    assert differences(results, IronCalcBook(tmp_path / "budget.xlsx").values()) == []
    summary = load_workbook(tmp_path / "budget.xlsx")["Summary"]
    assert summary["A1"].value == "Invented shop: Budget der Plattenherstellung"
    assert {"Laufende Kosten", "Einmalig gezahlt", "Zahlungen"} <= {cell.value for cell in summary["A"]}


@pytest.mark.parametrize(
    ("words", "made"),
    [
        (("brief", "-o", "out.html"), "out.html"),
        (("budget", "--year", "2026", "-o", "budget.xlsx"), "budget.xlsx"),
    ],
)
def test_what_stays_english_is_counted_once_on_stderr(
    folder: Path, tmp_path: Path, words: tuple[str, ...], made: str
) -> None:
    name, *more = words
    more[-1] = str(tmp_path / made)
    done = run(
        name,
        folder / "shop.toml",
        *more,
        "--template",
        folder / "look.toml",
        "--language",
        folder / "own.toml",
    )
    assert done.exit_code == 0, done.output
    said = " ".join(done.stderr.split())
    found = re.fullmatch(r"Own has no words for ([\d,]+) phrases of ([\d,]+): they stay English\.", said)
    assert found is not None, said
    missing, asked = (int(number.replace(",", "")) for number in found.groups())
    assert 50 < missing < asked
    # The template's own language has all of them, and nothing is told.
    other = tmp_path / f"de_{made}"
    done = run(name, folder / "shop.toml", *more[:-1], other, "--template", folder / "look.toml")
    assert (done.exit_code, done.stderr) == (0, ""), done.output
    if made.endswith(".html"):
        assert '<html lang="de">' in other.read_text("utf-8")
    else:
        assert str(load_workbook(other, read_only=True)["About"]["A1"].value) == "Über diese Arbeitsmappe"


def test_the_count_is_that_of_texts_without_words() -> None:
    """By hand: of four texts asked for, on two sheets, "two" and "four" have none."""
    tongue = Tongue("Test", {"one": "eins", "three": "drei"})
    for text, place in (("one", "A"), ("two", "A"), ("two", "B"), ("three", "B"), ("four", "B"), ("5", "B")):
        tongue.say(text, place)
    assert (tongue.missing(), tongue.asked()) == (["two", "four"], 4)


# The page


def figures(html: str) -> list[str]:
    return re.findall(r'<data value="([^"]*)">', html)


def test_a_german_page_has_german_words_numbers_and_dates_and_the_same_figures(
    folder: Path, tmp_path: Path
) -> None:
    made: dict[str, str] = {}
    for language in ("en", "de"):
        target, charts = tmp_path / f"{language}.html", tmp_path / language
        words = ("brief", folder / "shop.toml", "-o", target, "--language", language, "--charts", charts)
        assert run(*words).exit_code == 0
        made[language] = target.read_text("utf-8")
    english, other = made["en"], made["de"]
    assert figures(english) == figures(other) and len(figures(other)) > 10
    assert '<html lang="en">' in english and '<html lang="de">' in other
    day = re.search(r'<time datetime="(\d+)-(\d+)-(\d+)">([\d.]+)</time>', other)
    assert day is not None and day[4] == f"{day[3]}.{day[2]}.{day[1]}"
    # 1,234.5 in English is 1.234,5 here: each shown figure holds the same digits, its marks exchanged.
    pairs = [re.findall(r"<data value=[^>]*>([^<]*)</data>", html) for html in (english, other)]
    exchange = str.maketrans({",": ".", ".": ","})
    assert [text.translate(exchange) for text in pairs[0]] == pairs[1]
    assert any("." in text for text in pairs[1]) and any("," in text for text in pairs[1])
    drawn = " ".join(re.findall(r"<(?:text|title|desc)[^>]*>([^<]*)<", other))
    assert "Platten im Monat" in drawn and "USD im Jahr, zahlungswirksam, nach Steuern" in drawn
    for words in ("plates a month", "a year", "input at its", "after tax", "the shop"):
        assert words not in drawn, words
    files = {file.name for file in (tmp_path / "de").iterdir()}
    assert files == {file.name for file in (tmp_path / "en").iterdir()}
    assert "Jahre nach dem Wechsel" in (tmp_path / "de" / "cumulative-cost.svg").read_text("utf-8")


def test_a_language_writes_dates_its_way_and_says_names_once(tmp_path: Path) -> None:
    assert Marks(date="{d}.{m}.{y}").day("2026-03-31") == "31.03.2026"
    assert Voice().day("2026-03-31") == "2026-03-31" and Voice().code == "en"
    assert Voice(Tongue("Own", {})).code == "und"
    assert Voice(german()).number(1234.5, 1) == "1.234,5"
    file = tmp_path / "xx.toml"
    file.write_text('schema = 1\nlanguage = "X"\ncode = "Deutsch"\n[numbers]\ndate = "{d}.{m}"\n', "utf-8")
    with pytest.raises(BadInput) as bad:
        read_language(file)
    assert [f"{p.where}: {p.what}" for p in bad.value.problems] == [
        'xx.toml, line 3, "code": "Deutsch" is no language\'s code',
        'xx.toml, line 5, "date": "{d}.{m}" is not taken',
    ]


@pytest.mark.skipif(browser.missing() is not None, reason=str(browser.missing()))
def test_a_german_page_fits_a_telephone_and_a_sheet(tmp_path: Path) -> None:
    """The crowd's: nine methods, the longest names; in the widest font, on Letter."""
    look = Template(house=House(paper="A4"), tongue=german())
    html = make_page(*worked("crowd"), look).html
    (measured,) = browser.measured(html, tmp_path, [360])
    assert measured.scroll <= measured.client and measured.wide == []
    styled = html.replace("size: A4", "size: Letter").replace("'Calibri'", "'DejaVu Sans'")
    assert browser.printed(styled, tmp_path)[0] == 1


# Names


def test_names_of_shipped_methods_are_said_and_the_shops_stay(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    path.write_text(
        SHOP.replace("[methods.direct]", '[methods.direct]\nshort = "New plates"\n[methods.bought_in]'),
        "utf-8",
    )
    tongue = german()
    tongue.keep(names_of(read(path)))
    assert [tongue.say(text) for text in ("Bought in", "New plates", "Two-colour")] == [
        "Zukauf", "New plates", "Two-colour",
    ]  # fmt: skip
    # Inside an English sentence a name begins with a small letter.
    said = "Below 333 plates a month bought in costs less, above it new plates; the shop's own volume is 614."
    assert tongue.say(said) == (
        "Unter 333 Platten im Monat kostet Zukauf weniger, darüber New plates; der Betrieb selbst hat 614."
    )


def test_a_german_workbook_says_its_own_words_whatever_sizes_are_called(
    tmp_path: Path,
) -> None:
    """A size called Letter leaves the word for a letter alone; what stays as delivered writes numbers the German way."""
    named = SHOP.replace('"330 mm x 492 mm"', '{ label = "Letter", format = "330 mm x 492 mm" }')
    price = '\n[methods.polyester.plates.price]\nsmall = "1.5 USD/plate"\n'
    (tmp_path / "shop.toml").write_text(named + price, "utf-8")
    study, path = build(read(tmp_path / "shop.toml")), tmp_path / "german.xlsx"
    look = Template(sheets=("Summary", "To check", "Inputs"), tongue=german())
    write_workbook(study, study.evaluate(), path, look)
    book = load_workbook(path, data_only=True)
    how = [cell.value for cell in book["To check"]["E"] if cell.value]
    assert [text for text in how if text.startswith("Brief, im Büro: ")]
    assert not [text for text in how if text.startswith("Letter")]
    assert [cell.value for cell in book["Inputs"]["A"] if str(cell.value).endswith("Letter")]  # the size
    texts = [
        cell.value
        for sheet in book.worksheets
        for row in sheet.iter_rows()
        for cell in row
        if sheet.title not in ("Inputs", *AS_IT_IS) and isinstance(cell.value, str)
    ]
    assert [text for text in texts if "4.096-mal" in text]
    assert Voice(look.tongue).number(1234.5, 1) == "1.234,5"


# Workbooks as scenarios


@pytest.fixture(scope="module")
def decided(folder: Path) -> Path:
    study = build(read(folder / "shop.toml"))
    write_workbook(study, study.evaluate(), folder / "german.xlsx", replace(LEAN, tongue=german()))
    return folder / "german.xlsx"


def test_a_german_decision_workbook_is_the_same_scenario_as_its_file(folder: Path, decided: Path) -> None:
    done = run("diff", folder / "shop.toml", decided)
    assert done.exit_code == 0, done.output
    assert "The two are the same: every input, every text and every result." in " ".join(done.output.split())


def test_sheets_that_german_texts_name_are_there(decided: Path) -> None:
    book = load_workbook(decided, read_only=True)
    texts = [
        cell
        for sheet in book
        for row in sheet.iter_rows(values_only=True)
        for cell in row
        if isinstance(cell, str)
    ]
    named = {name for text in texts for name in re.findall("„([^“]*)“", text) if name in SHEETS}
    assert {"Sources and cautions", "Inputs"} <= named
    assert named <= set(book.sheetnames)


def columns_of(sheet: Worksheet) -> dict[str, int]:
    """Columns by the English heading, which stands in the last line."""
    return {str(cell.value).splitlines()[-1]: cell.column for cell in sheet[HEAD_ROW] if cell.value}


def rows_of(sheet: Worksheet) -> dict[str, int]:
    at = columns_of(sheet)["Key"]
    return {str(sheet.cell(row, at).value): row for row in range(HEAD_ROW + 1, sheet.max_row + 1)}


def filled_in(path: Path, log: bool) -> Path:
    """An input workbook filled in, with the words that its own lists offer."""
    book = load_workbook(path)
    words: dict[tuple[str, str], str] = {}
    choices = book["Choices"]
    for row in range(HEAD_ROW + 1, choices.max_row + 1):
        word, name, key = (str(choices.cell(row, column).value) for column in (1, 2, 3))
        assert (name, word) not in {(n, w) for (n, _), w in words.items()} or name == "None", word
        words[name, key] = word

    def put(sheet: str, key: str, values: Mapping[str, object]) -> None:
        page = book[sheet]
        heads, row = columns_of(page), rows_of(page)[key]
        for head, value in values.items():
            page.cell(row, heads[head]).value = value  # type: ignore[assignment]

    put("Plates a month", "summary.plates_per_month.small", {"Value": 220})
    put("Plates a month", "summary.runs.under_1000", {"Value": 1.0})
    put("Inputs", "shop.paper", {"Value": 0.05, "How sure": "guess", "Status": "invoice", "Source": "cost"})
    put("Presses", "press_2", {"Press": "Zweite", "Printing units": 1})
    own = {
        "What it is": "Tücher",
        "Method": words["method", "polyester"],
        "Kind of cost": words["kind", "consumables"],
    }
    put("Own costs", "own_1", {**own, "Counted by": words["counted by", "month"], "Amount": 120})
    put(
        "Ledger and accounts",
        "ledger.account.1",
        {"In your books": "5010", "Stands for": words["stands for", "energy"]},
    )
    if log:
        page = book["Job log"]
        heads = columns_of(page)
        asked = {str(book["Log columns"].cell(row, 6).value): book["Log columns"].cell(row, 2).value
                 for row in range(HEAD_ROW + 1, book["Log columns"].max_row + 1)}  # fmt: skip
        for row, (job, day, plates, good) in enumerate(
            [(1, "2026-01-05", 2, 900), (2, "2026-12-30", 4, 5000)], 5
        ):
            told = {
                "job": job,
                "date": day,
                "size": "small",
                "press": "Zweite",
                "plates": plates,
                "impressions": good,
            }
            for name, value in told.items():
                page.cell(row, heads[str(asked[f"log.columns.{name}"])]).value = value
    target = path.with_name(f"filled_{log}_{path.name}")
    book.save(target)
    return target


@pytest.fixture(scope="module")
def blank(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, Tongue, Results]:
    """An input workbook in English and in German, with the language it was written in, and what its formulas give."""
    folder, tongue = tmp_path_factory.mktemp("blank"), german()
    write_input_book({}, folder / "english.xlsx")
    results = write_input_book({}, folder / "german.xlsx", tongue)
    return folder / "english.xlsx", folder / "german.xlsx", tongue, results


@pytest.mark.parametrize("log", [False, True], ids=["plates a month", "job log"])
def test_a_german_input_workbook_reads_back_as_the_english_one(
    blank: tuple[Path, Path, Tongue, Results], log: bool
) -> None:
    one, other = (read_workbook(filled_in(path, log)) for path in blank[:2])
    assert {k: replace(s, where="") for k, s in one.inputs.items()} == {
        k: replace(s, where="") for k, s in other.inputs.items()
    }
    assert {k: raw.value for k, raw in one.raw.items()} == {k: raw.value for k, raw in other.raw.items()}
    assert other.inputs["shop", "paper"].source == "cost"  # what somebody typed is nobody's to translate
    assert [press.label for press in other.presses] == ["Press", "Zweite"]
    assert other.work.weight.sum() == one.work.weight.sum() > 0
    assert len(other.work.weight) == (2 if log else len(one.work.weight))
    if not log:
        sources = {stated.source for stated in other.inputs.values()}
        left = [text for text in english_in(blank[1], sources) if "work-and-turn" not in text]
        assert left == []


def test_a_german_input_workbook_has_words_for_all_of_it_and_breaks_no_rule(
    blank: tuple[Path, Path, Tongue, Results],
) -> None:
    _, path, tongue, results = blank
    assert tongue.missing() == [] and tongue.asked() > 500
    assert broken_rules(path, german().say) == []
    assert differences(results, IronCalcBook(path).values()) == []
    heads = [cell.value for cell in load_workbook(path, read_only=True)["Inputs"][HEAD_ROW]]
    assert heads[:4] == ["Eingabe\nInput", "Einheit\nUnit", "Vorgabe\nDefault", "Wert\nValue"]


def test_only_a_workbook_has_a_language_in_roi_new(tmp_path: Path) -> None:
    done = run("new", tmp_path / "one", "--no-ask", "--language", "de")
    assert done.exit_code == 2 and "add --workbook" in " ".join(done.stderr.split())
    assert not (tmp_path / "one").exists()
    done = run("new", tmp_path / "two", "--no-ask", "--workbook", "--language", "de")
    assert (done.exit_code, done.stderr) == (0, ""), done.output
    book = load_workbook(tmp_path / "two" / "shop.xlsx", read_only=True)
    assert str(book["Summary"]["A1"].value).endswith(": was auszufüllen ist")


def test_templates_keep_out_of_a_budget_what_they_keep_out_of_a_workbook(tmp_path: Path) -> None:
    look = Template(names=False, prepared_for="Kunde 12", tongue=german())
    write_budget(budgeted(tmp_path, SHOP), tmp_path / "budget.xlsx", look)
    book = load_workbook(tmp_path / "budget.xlsx", read_only=True)
    texts = [
        cell
        for sheet in book
        for row in sheet.iter_rows(values_only=True)
        for cell in row
        if isinstance(cell, str)
    ]
    assert any("Kunde 12" in text for text in texts)
    assert not [text for text in texts if "Invented shop" in text or "shop.toml" in text]
