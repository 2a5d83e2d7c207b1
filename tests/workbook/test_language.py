"""A workbook in another language: what a file of entries says, what stays, its errors by line, and German over the demo.

Formulas are recalculated by IronCalc after stored results are stripped; |a - b| <= 1e-9 x max(|a|, |b|) + 1e-6, texts equal.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from openpyxl import load_workbook
from openpyxl.chart._chart import ChartBase

import roi
from roi.model.study import Study, build
from roi.scenario.problems import BadInput
from roi.scenario.scenario import read
from roi.workbook.compose import compose
from roi.workbook.kept_out import KeptOut
from roi.workbook.made import now
from roi.workbook.read_back import read_workbook
from roi.workbook.read_language import load_language, read_language, shipped_languages
from roi.workbook.read_template import load_template, read_template
from roi.workbook.template import Template
from roi.workbook.tongue import Marks, Tongue
from roi.workbook.write import results_of, write_workbook
from tests.parity.recalculate import IronCalcBook, differences
from tests.small_shop import LEAN, SHOP
from tests.workbook.rules import broken_rules

DEMO = Path(__file__).parents[2] / "scenarios" / "us_two_press" / "shop.toml"
DATA = Path(roi.__file__).parent / "data"
# Sheets that a reader of another language must be able to read whole.
WHOLE = ("Summary", "About", "Break-even", "Sensitivity", "Risk", "Comparison")


def german() -> Tongue:
    tongue = load_language("de")
    assert tongue is not None
    return tongue


def lacking(tongue: Tongue, texts: list[str]) -> list[str]:
    """The texts that the language has no words for."""
    for text in texts:
        tongue.say(text, "here")
    return [text for text, known in tongue.heard["here"].items() if not known]


# What entries say


@pytest.fixture
def small() -> Tongue:
    tongue = Tongue(
        "Test",
        {
            "cost": "Kosten",
            "water": "Wasser",
            "{a}, present worth": "Barwert: {a}",
            "{a}, {b}: price": "Preis von {b} ({a})",
            "after {n} years": "nach {n} Jahren",
            "{c} a year": "{c} im Jahr",
            "see {k} below": "siehe {k} unten",
            "year": "Jahr",
            "It holds.": "Es gilt.",
            "and": "und",
        },
        {"and": "sowie"},
        Marks(".", ","),
    )
    tongue.keep({"Water"})
    return tongue


@pytest.mark.parametrize(
    ("english", "said"),
    [
        ("cost", "Kosten"),
        (" cost ", " Kosten "),  # spaces at the ends stay
        ("Cost", "Kosten"),
        ("water, present worth", "Barwert: Wasser"),
        ("Presses, cost: price", "Preis von Kosten (Presses)"),  # a name without words stays as it is
        ("after 1,250.5 years", "nach 1.250,5 Jahren"),
        ("after some years", "after some years"),  # n takes a number
        ("USD a year", "USD im Jahr"),
        ("once a year", "once a year"),  # c takes a currency's code
        ("see cost below", "siehe cost unten"),  # k stays as it is
        ("USD/year", "USD/Jahr"),
        ("It holds. It holds.", "Es gilt. Es gilt."),
        ("cost: water", "Kosten: Wasser"),
        ("Water", "Water"),  # kept: the shop named it so
        ("version 0.1.0", "version 0.1.0"),  # no number
        ("1,250", "1.250"),
        ("cost of everything that nobody has named", "cost of everything that nobody has named"),
    ],
)
def test_a_text_is_said_by_its_entry_by_a_pattern_or_by_its_parts(
    small: Tongue, english: str, said: str
) -> None:
    assert small.say(english) == said
    assert small.say(small.say(english)) == said


def test_a_piece_of_a_sentence_has_words_of_its_own(small: Tongue) -> None:
    assert (small.say("and"), small.say("and", piece=True), small.say("cost", piece=True)) == (
        "und",
        "sowie",
        "Kosten",
    )


def test_what_has_no_words_is_counted_by_sheet(small: Tongue) -> None:
    small.say("cost", "A"), small.say("nothing of it", "A"), small.say("12.5", "A"), small.say("cost", "B")
    assert small.heard == {"A": {"cost": True, "nothing of it": False}, "B": {"cost": True}}


# Files


def test_errors_are_told_by_line_and_all_at_once(tmp_path: Path) -> None:
    file = tmp_path / "xx.toml"
    file.write_text(
        'schema = 1\nlanguage = "X"\n[numbers]\ndecimal = ";"\n[texts]\n"{a}, cost" = "Kosten"\n'
        '"cost of {a}" = "Kosten von {b}"\n"year" = ""\n"{A} day" = "{A} Tag"\n"a{a}{b}" = "{a} {b}"\n'
        '"month" = "Monat"\n[more]\n"month" = "Mond"\n"week" = 7\n',
        "utf-8",
    )
    with pytest.raises(BadInput) as bad:
        read_language(file)
    told = [f"{p.where}: {p.what}" for p in bad.value.problems]
    assert told == [
        'xx.toml, line 4, "decimal": ";" is not taken',
        'xx.toml, line 6, "{a}, cost": the translation lacks {a}',
        'xx.toml, line 7, "cost of {a}": the translation lacks {a}',
        'xx.toml, line 7, "cost of {a}": {b} in the translation is not in the English text',
        'xx.toml, line 8, "year": has an empty translation',
        'xx.toml, line 9, "{A} day": has a hole {A} that is no name',
        'xx.toml, line 10, "a{a}{b}": has two holes with nothing between them',
        'xx.toml, line 13, "month": stands in two tables, with two translations',
        'xx.toml, line 14, "week": has no text as its translation',
    ]
    assert all(p.mend for p in bad.value.problems)


def test_a_file_that_is_none_and_a_name_nobody_knows_are_refused(tmp_path: Path) -> None:
    (tmp_path / "xx.toml").write_text('schema = 1\nlanguage = "X"\n[texts]\n"a" = "b\n', "utf-8")
    for name, words in (
        (str(tmp_path / "xx.toml"), "line 4.*is not TOML"),
        (str(tmp_path / "yy.toml"), "can't be read"),
        ("dee", 'was "de" meant'),
    ):
        with pytest.raises(BadInput, match=words):
            load_language(name)
    assert load_language("en") is load_language("") is None


def test_a_template_names_its_language(tmp_path: Path) -> None:
    (tmp_path / "own.toml").write_text('schema = 1\nlanguage = "Own"\n[texts]\n"Measure" = "Maß"\n', "utf-8")
    for name, called in (("de", "Deutsch"), ("own.toml", "Own"), ("en", None)):
        (tmp_path / "look.toml").write_text(f'schema = 1\n[workbook]\nlanguage = "{name}"\n', "utf-8")
        tongue = read_template(tmp_path / "look.toml").tongue
        assert (tongue and tongue.name) == called
    (tmp_path / "look.toml").write_text('schema = 1\n[workbook]\nlanguage = "du"\n', "utf-8")
    with pytest.raises(BadInput, match=r'line 3, workbook.language: "du" is no language known here'):
        read_template(tmp_path / "look.toml")


@pytest.mark.parametrize("name", list(shipped_languages()))
def test_shipped_languages_have_words_for_all_that_data_files_say(name: str) -> None:
    tongue = load_language(name)
    assert tongue is not None

    def texts(file: Path, *keys: str) -> list[str]:
        def walk(part: object) -> list[str]:
            if isinstance(part, list):
                return [text for each in part for text in walk(each)]
            if not isinstance(part, dict):
                return []
            here = [value for key, value in part.items() if key in keys and isinstance(value, str)]
            return here + [text for value in part.values() for text in walk(value)]

        return walk(tomllib.loads(file.read_text("utf-8")))

    labels = [text.format("Direct", "Large") for text in texts(DATA / "catalogue.toml", "label")]
    tongue.keep({"Direct", "Large"})
    methods = [text for file in sorted((DATA / "methods").glob("*.toml")) for text in texts(file, "label")]
    ways = texts(DATA / "confirming.toml", "label", "where", "words")
    cautions = texts(DATA / "cautions.toml", "text")
    assert min(len(labels), len(methods), len(ways), len(cautions)) > 10
    assert lacking(tongue, [*labels, *methods, *ways, *cautions]) == []
    # A kind and a place are said together, whatever a shop calls its sizes.
    told = tomllib.loads((DATA / "confirming.toml").read_text("utf-8"))
    kinds = {kind: row["label"] for kind, row in told.pop("kinds").items()}
    pairs = {f"{kinds[row['how']]}, {row['where']}" for row in told.values()}
    before = {pair: tongue.say(pair) for pair in pairs}
    tongue.keep(set(kinds.values()))
    assert len(pairs) > 10 and {pair: tongue.say(pair) for pair in pairs} == before


# A workbook


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Study:
    path = tmp_path_factory.mktemp("shop") / "shop.toml"
    path.write_text(SHOP, "utf-8")
    return build(read(path))


@pytest.fixture(scope="module")
def look() -> Template:
    return replace(load_template("owner"), tongue=german())


@pytest.fixture(scope="module")
def written(shop: Study, look: Template, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """All sheets but those of many cases, whose texts the demo's below hold too."""
    path = tmp_path_factory.mktemp("german") / "german.xlsx"
    sheets = tuple(sheet for sheet in look.sheets if sheet not in ("Sensitivity", "Stresses"))
    write_workbook(shop, shop.evaluate(), path, replace(look, sheets=sheets))
    return path


@pytest.fixture(scope="module")
def lean(shop: Study, look: Template, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("german") / "lean.xlsx"
    write_workbook(shop, shop.evaluate(), path, replace(LEAN, tongue=look.tongue))
    return path


def test_a_german_workbook_breaks_no_rule(written: Path) -> None:
    assert broken_rules(written, german().say) == []


def test_its_words_follow_its_figures_as_the_engine_says_them(
    shop: Study, look: Template, lean: Path
) -> None:
    template = replace(LEAN, tongue=look.tongue)
    before = results_of(shop, {}, template)
    book = IronCalcBook(lean)
    assert differences(before, book.values()) == []
    rows = {cell.value: cell.row for cell in load_workbook(lean)["Inputs"]["I"]}
    known = {s.key: s for s in shop.scenario.inputs.values()}
    verdicts = {before["Words"][cell] for cell in before["Words"]}
    for key, value in {
        "methods.direct.equipment.line.price": 400000.0,
        "money.horizon": 1.0,
        "work.volume": 4.0,
    }.items():
        book.set("Inputs", f"C{rows[key]}", value)
        book.evaluate()
        after = results_of(shop, {key: value * known[key].factor}, template)
        assert differences(after, book.values()) == [], key
        said = {text for text in after["Words"].values() if isinstance(text, str)}
        assert said - verdicts, key  # some sentence turned
        book.set("Inputs", f"C{rows[key]}", known[key].best)


def test_labels_charts_prompts_and_the_file_itself_are_german(lean: Path) -> None:
    book = load_workbook(lean)

    def axes(chart: ChartBase) -> set[str]:
        titles = [axis.title.tx.rich for axis in (chart.x_axis, chart.y_axis)]
        return {run.t for rich in titles for paragraph in rich.p for run in paragraph.r}

    summary, inputs = book["Summary"], book["Inputs"]
    labels = {cell.value for cell in summary["A"]}
    assert {"Maß", "Prüfungen", "Zinsfüße und Vollkosten", "Wahrscheinliche Fehler (wie geliefert)"} <= labels
    assert "Jahre nach dem Wechsel, wie geliefert bis 7" in set().union(*map(axes, summary._charts))
    assert summary["A1"].value == "Invented shop: Wie sollen Druckplatten entstehen?"
    assert summary.oddFooter.right.text == "Seite &P von &N"
    prompts = {guard.prompt for guard in inputs.data_validations.dataValidation}
    assert "Geben Sie eine ganze Zahl ein, 1 bis 40 Jahr." in prompts
    assert [cell.value for cell in inputs[3]][:5] == ["Eingabe", "Einheit", "Wert", "Niedrig", "Hoch"]
    assert [cell.value for cell in inputs[4]][:5] == ["Input", "Unit", "Value", "Low", "High"]
    assert book.properties.title == "Invented shop: Verfahren der Plattenherstellung im Vergleich"
    assert any(str(cell.value).startswith("Deutsch. Namen der Blätter") for cell in book["About"]["B"])


def test_tabs_and_what_is_read_back_stay_as_in_english(shop: Study, lean: Path, tmp_path: Path) -> None:
    write_workbook(shop, shop.evaluate(), tmp_path / "english.xlsx", LEAN)
    english, other = (
        load_workbook(tmp_path / "english.xlsx", read_only=True),
        load_workbook(lean, read_only=True),
    )
    assert english.sheetnames == other.sheetnames
    first, second = read_workbook(tmp_path / "english.xlsx"), read_workbook(lean)
    assert {k: (s.best, s.low, s.high, s.shown, s.status, s.source) for k, s in first.inputs.items()} == {
        k: (s.best, s.low, s.high, s.shown, s.status, s.source) for k, s in second.inputs.items()
    }
    assert {k: raw.value for k, raw in first.raw.items()} == {k: raw.value for k, raw in second.raw.items()}


def test_a_language_without_words_changes_nothing_but_the_line_that_names_it(shop: Study) -> None:
    def told(tongue: Tongue | None) -> dict[tuple[str, str], object]:
        book, front = compose(shop, shop.evaluate(), now(), replace(LEAN, tongue=tongue))
        cells = {
            (sheet.title, cell.coordinate): cell.value
            for sheet in book.worksheets
            for row in sheet.iter_rows()
            for cell in row
            if sheet.title != "About" and not (sheet.title == "Inputs" and cell.row == 3)
        }
        return cells | {(s, c): value for s, held in front.results.items() for c, value in held.items()}

    assert told(Tongue("Nothing", {})) == told(None)


def test_german_covers_the_sheets_a_reader_reads_in_formulas_that_stay_short(look: Template) -> None:
    study, tongue = build(read(DEMO)), german()
    book, _ = compose(study, study.evaluate(), now(), replace(look, tongue=tongue))
    formulas = [
        cell.value
        for sheet in book.worksheets
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f"
    ]
    assert max(len(text) for text in formulas if '"' in text) <= 150
    for sheet, heard in sorted(tongue.heard.items()):
        share = sum(heard.values()) / len(heard)
        print(f"{sheet:24} {share:7.1%} of {len(heard)} texts")
        assert sheet not in WHOLE or [text for text, known in heard.items() if not known] == [], sheet
    assert set(WHOLE) <= set(tongue.heard)
    # What cells of the log say stays out of a client's workbook in this language too.
    kept_out = KeptOut([study.scenario], replace(load_template("consultant"), tongue=tongue))
    for problem in study.scenario.work.skipped:
        cells = re.findall(r'"[^"]+"', problem.what)[1:]  # the first is the column's name
        said = tongue.say(str(problem))
        assert all(cell in said and cell not in kept_out.without(said) for cell in cells), said
    assert tongue.missing() == []
