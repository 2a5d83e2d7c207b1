"""Templates: shipped ones keep the workbook's rules, a restyled copy shows in the workbook, a bad one is named by line."""

from __future__ import annotations

import base64
import struct
import zipfile
import zlib
from dataclasses import replace
from itertools import combinations, pairwise
from pathlib import Path

import pytest
from openpyxl import load_workbook

from roi.answers.firmness import DELIVERED
from roi.answers.ranked import FIRM
from roi.answers.undoing import GOING_BACK
from roi.answers.verdict import TITLES, verdict
from roi.answers.volumes import TURN
from roi.answers.worst_month import DEEPEST
from roi.model.study import Study, build
from roi.scenario.problems import BadInput
from roi.scenario.scenario import read
from roi.scenario.things import CASES
from roi.workbook.blocks import BLOCKS as WRITTEN_BLOCKS
from roi.workbook.house import OWN, House
from roi.workbook.logo import Logo, read_logo
from roi.workbook.palette import contrast, how_far_apart
from roi.workbook.read_template import load_template, read_template
from roi.workbook.template import BLOCKS, OPTIONAL, SENTENCES, SHEETS, Template, fill, shipped
from roi.workbook.write import results_of, write_workbook
from tests.parity.recalculate import IronCalcBook, differences
from tests.small_shop import LEAN, SHOP
from tests.workbook.rules import broken_rules

NAMES = ("budget_holder", "consultant", "owner")
# 24 x 8 pixels, saved by Pillow 12 at quality 10.
JPEG = base64.b64decode(
    "/9j/4AAQSkZJRgABAQAAAQABAAD/2wBDAFA3PEY8MlBGQUZaVVBfeMiCeG5uePWvuZHI////////////////////////////////////"
    "////////////////wAALCAAIABgBAREA/8QAHwAAAQUBAQEBAQEAAAAAAAAAAAECAwQFBgcICQoL/8QAtRAAAgEDAwIEAwUFBAQAAAF9"
    "AQIDAAQRBRIhMUEGE1FhByJxFDKBkaEII0KxwRVS0fAkM2JyggkKFhcYGRolJicoKSo0NTY3ODk6Q0RFRkdISUpTVFVWV1hZWmNkZWZn"
    "aGlqc3R1dnd4eXqDhIWGh4iJipKTlJWWl5iZmqKjpKWmp6ipqrKztLW2t7i5usLDxMXGx8jJytLT1NXW19jZ2uHi4+Tl5ufo6erx8vP0"
    "9fb3+Pn6/9oACAEBAAA/AI6KK//Z"
)


def png(width: int, height: int) -> bytes:
    """A grey picture, put together after ISO/IEC 15948."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    rows = zlib.compress((b"\0" + b"\x80" * width) * height)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Study:
    path = tmp_path_factory.mktemp("shop") / "shop.toml"
    path.write_text(SHOP, "utf-8")
    return build(read(path))


def written(study: Study, template: Template | None, folder: Path) -> Path:
    path = folder / "out.xlsx"
    write_workbook(study, study.evaluate(), path, template)
    return path


def stated(folder: Path, text: str, head: str = "schema = 1\n") -> Template:
    path = folder / "mine.toml"
    path.write_text(head + text, "utf-8")
    return read_template(path)


# Shipped ones


def test_three_are_shipped_and_are_found_by_name_or_file() -> None:
    assert tuple(shipped()) == NAMES
    for name, file in shipped().items():
        assert load_template(name) == load_template(str(file)) != Template()


@pytest.mark.parametrize("name", NAMES)
def test_a_shipped_template_breaks_no_rule(study: Study, tmp_path: Path, name: str) -> None:
    whole = load_template(name)
    # The sheets of cases are the same in every layout; `test_decision` looks at them.
    template = replace(
        whole, sheets=tuple(s for s in whole.sheets if s not in ("Break-even", "Sensitivity", "Stresses"))
    )
    path = written(study, template, tmp_path)
    assert broken_rules(path) == []
    book = load_workbook(path)
    there = [sheet for sheet in template.sheets if sheet in book.sheetnames]
    assert [title for title in book.sheetnames if title in there] == there
    assert book.active.title == "Summary"


@pytest.mark.parametrize("name", NAMES)
def test_shipped_colours_read_and_are_told_apart(name: str) -> None:
    """WCAG 2.2: 4.5 : 1 for text, 3 : 1 for series; ten times the just noticeable difference (2.3) between series."""
    house = load_template(name).house
    grounds = ("FFFFFF", house.inputs, house.data, house.section)
    assert min(contrast(house.ink, ground) for ground in grounds) >= 4.5
    assert min(contrast(house.heading, "FFFFFF"), contrast(house.quiet, "FFFFFF")) >= 4.5
    assert min(contrast(colour, "FFFFFF") for colour in house.series) >= 3
    assert min(d for pair in combinations(house.series, 2) for _, d in how_far_apart(*pair)) >= 23
    # Neighbours in a stacked bar also differ in lightness, the difference that a grey print keeps.
    greys = [contrast(colour, "FFFFFF") for colour in house.series]
    assert min(max(one, other) / min(one, other) for one, other in pairwise(greys)) > 1.3


def test_the_shipped_ones_look_different() -> None:
    houses = [load_template(name).house for name in NAMES]
    for value in ("font", "heading", "inputs", "series"):
        assert len({getattr(house, value) for house in houses}) == len(NAMES)


def test_names_known_to_templates_are_those_of_the_workbook(study: Study, tmp_path: Path) -> None:
    """A sheet, sentence or block that is added must be made known to templates too."""
    said = [sentence.label for sentence in verdict(study)[1] if sentence.label not in TITLES]
    # What is said of going back depends on what is stated.
    assert sorted(SENTENCES) == sorted([*DELIVERED, FIRM, TURN, DEEPEST, GOING_BACK, *said])
    assert set(WRITTEN_BLOCKS) == set(BLOCKS)
    methods = {method.short for method in study.scenario.methods}
    unknown = set(load_workbook(written(study, None, tmp_path)).sheetnames) - set(SHEETS) - methods
    unknown = {title for title in unknown if not title.endswith(CASES)}  # these always follow the others
    assert unknown == set()


@pytest.mark.parametrize("name", NAMES)
def test_every_layout_follows_a_change(study: Study, tmp_path: Path, name: str) -> None:
    """IronCalc against the engine, as written and with dear plates; stored results are stripped first."""
    # Without the sheets of cases, which have a test of their own.
    template = load_template(name)
    template = replace(template, sheets=tuple(s for s in template.sheets if s not in OPTIONAL))
    path = written(study, template, tmp_path)
    key = "methods.polyester.plates.price_per_area"
    stated = next(s for s in study.scenario.inputs.values() if s.key == key)
    sheet = load_workbook(path)["Inputs"]
    row = next(cell.row for cell in sheet["I"] if cell.value == key)
    book, before = IronCalcBook(path), results_of(study, {}, template)
    assert differences(before, book.values()) == []
    book.set("Inputs", f"C{row}", 150.0)
    book.evaluate()
    after = results_of(study, {key: 150.0 * stated.factor}, template)
    assert sum(after["Summary"][cell] != value for cell, value in before["Summary"].items()) > 20
    assert differences(after, book.values()) == []


# A copy, restyled


def test_a_restyled_copy_shows_in_the_workbook(
    study: Study, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = shipped()["consultant"].read_text("utf-8")
    for old, new in (
        ('"Cambria"', '"Verdana"'),
        ('"472A55"', '"7A1F1F"'),
        ('"FBF3CF"', '"E3F1FF"'),
        ('"0B475A"', '"0B2A5A"'),
        ('paper = "auto"', 'paper = "A4"\nlogo = "mark.png"'),
        ('prepared_for = ""', 'prepared_for = "An invented client"'),
        ('"title block", "scope", "opening", "verdict"', '"verdict", "title block", "scope", "opening"'),
        ('{ sheet = "Checks" },', '{ sheet = "Checks", title = "Proof for {prepared_for}" },'),
    ):
        assert old in text
        text = text.replace(old, new)
    (tmp_path / "mark.png").write_bytes(png(300, 90))
    (tmp_path / "mine.toml").write_text(text, "utf-8")
    with monkeypatch.context() as without:
        # The library's own pictures need an imaging library; ours must not.
        without.setattr("openpyxl.drawing.image.PILImage", False)
        path = written(study, load_template(str(tmp_path / "mine.toml")), tmp_path)
    book = load_workbook(path)
    assert book.sheetnames[:2] == ["Summary", "About"] and book.active.title == "Summary"
    assert {sheet.page_setup.paperSize for sheet in book.worksheets} == {9}
    summary = book["Summary"]
    assert summary["A1"].value == "Ways of making plates compared, for An invented client"
    assert book["Checks"]["A1"].value == "Proof for An invented client"
    assert book["Direct"]["A1"].value == "Direct: worked line by line"
    assert summary["A4"].value.startswith("=Words!")  # the verdict, now first
    head = book["Inputs"]["A4"]
    assert (head.font.name, head.fill.fgColor.rgb[-6:]) == ("Verdana", "7A1F1F")
    inputs = [c for c in book["Inputs"]["C"] if c.style == "Input"]
    assert {c.fill.fgColor.rgb[-6:] for c in inputs} == {"E3F1FF"}
    assert all(c.border.left.style == "thin" for c in inputs)  # the second cue
    with zipfile.ZipFile(path) as package:
        chart = package.read("xl/charts/chart1.xml").decode()
        drawing = package.read("xl/drawings/drawing1.xml").decode()
        assert package.read("xl/media/image1.png") == png(300, 90)
    assert "0B2A5A" in chart and 'typeface="Verdana"' in chart
    assert 'descr="Logo"' in drawing and drawing.count("descr=") == 3  # two charts and the logo


def test_a_logo_keeps_its_shape_and_the_package_its_schema(study: Study, tmp_path: Path) -> None:
    """Schema of ECMA-376 as checked by openxml-audit: with a logo nothing is found that isn't found without."""
    from openxml_audit import OpenXmlValidator

    found = []
    for logo in (None, read_logo(JPEG)):
        path = written(study, replace(LEAN, house=House(logo=logo)), tmp_path)
        found.append({str(error)[:200] for error in OpenXmlValidator().validate(path).errors})
    assert found[1] <= found[0]
    with zipfile.ZipFile(path) as package:
        drawing = package.read("xl/drawings/drawing1.xml").decode()
        assert package.read("xl/media/image1.jpeg") == JPEG
    size = drawing.partition("<pic>")[0].rpartition("<ext ")[2]
    width, height = (int(size.split(f'{side}="')[1].split('"')[0]) for side in ("cx", "cy"))
    assert width / height == pytest.approx(24 / 8, rel=0.001)  # 24 x 8 pixels


def test_an_optional_sheet_is_wanted_when_listed_or_when_nothing_is(tmp_path: Path) -> None:
    nothing, without = Template(), Template(sheets=("Summary", "Inputs"))
    for sheet in OPTIONAL:
        assert nothing.wants(sheet) and not without.wants(sheet)
        assert Template(sheets=("Summary", sheet)).wants(sheet)
    assert without.wants("Cash flow")


def test_unlisted_sheets_follow_and_methods_stand_together() -> None:
    written = ["About", "Summary", "Words", "Inputs", "Direct", "Dry", "Checks"]
    order = Template(sheets=("Inputs", "Methods", "Sensitivity")).order(written, {"Dry", "Direct"})
    assert order == ["About", "Summary", "Inputs", "Direct", "Dry", "Words", "Checks"]


@pytest.mark.parametrize(
    "paper, currency, system, code",
    [
        ("auto", "USD", "us", 1),
        ("auto", "CAD", "us", 1),
        ("auto", "USD", "metric", 9),
        ("auto", "GBP", "us", 9),
        ("Letter", "EUR", "metric", 1),
        ("A4", "USD", "us", 9),
    ],
)
def test_paper(paper: str, currency: str, system: str, code: int) -> None:
    """ECMA-376, pageSetup: 1 is Letter, 9 is A4."""
    assert House(paper=paper).paper_code(currency, system) == code


def test_only_placeholders_are_filled() -> None:
    assert (
        fill("{shop} in {currency}, {set}", {"shop": "A {date}", "currency": "USD"})
        == "A {date} in USD, {set}"
    )


def test_what_is_left_out_is_as_usual(tmp_path: Path) -> None:
    assert stated(tmp_path, "") == Template()


def test_the_readmes_template_is_a_whole_one(tmp_path: Path) -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
    text = readme.partition("<!-- template -->\n```toml\n")[2].partition("```")[0]
    (tmp_path / "logo.png").write_bytes(png(120, 40))
    template = stated(tmp_path, text, head="")
    assert template.house.font == "Verdana" and template.house.logo is not None
    assert template.titles["Inputs"] == "Assumptions"


# Bad ones: what is written below "schema = 1", the line and the words that name it, the mend

STYLE = "[style]\n"
GOOD_SERIES = '"381871", "B28C01", "AF5148", "2C9AB3", "580E30"'
BAD = [
    ("[stile]\n", "line 2, stile: is not a key", 'was "style" meant?'),
    ('[style]\nfount = "Arial"\n', "line 3, style.fount: is not a key", 'was "font" meant?'),
    ("style = 3\n", "line 2, style: is not a table", "write [style]"),
    ('[workbook]\nsheets = "Inputs"\n', "line 3, workbook.sheets: is not a list", "write sheets = ["),
    ('[workbook]\nsheets = [\n{ sheet = "Imputs" },\n]\n', 'line 4, workbook.sheets: "Imputs" is no sheet', '"Inputs"'),
    ('[workbook]\nsheets = [\n"Inputs",\n]\n', "line 4, workbook.sheets: entry 1 names no", "write { sheet"),
    (
        '[workbook]\nsheets = [\n{ sheet = "Work", title = "Units" },\n{ sheet = "Units" },\n{ sheet = "Units" },\n]\n',
        'line 6, workbook.sheets: "Units" is listed twice',
        "keep one",
    ),
    (
        '[[workbook.sheets]]\nsheet = "Units"\n[[workbook.sheets]]\nsheet = "Units"\n',
        'line 5, workbook.sheets: "Units" is listed twice',
        "keep one",
    ),
    ('[workbook]\nsheets = [\n{ sheet = "Work", tilte = "x" }]\n', 'line 4, workbook.sheets: "tilte" is not', '"title"'),
    ('[workbook]\nsheets = [\n{ sheet = "Work", title = 3 }]\n', 'line 4, workbook.sheets: the title of "Work"', "title ="),
    (
        '[workbook]\nsheets = [{ sheet = "Work" }, { sheet = "Units" },\n{ sheet = "About" }]\n',
        'line 4, workbook.sheets: "About" stands too far back',
        "first or second",
    ),
    (
        '[workbook]\nsheets = [\n{ sheet = "Work", title = "{shoop}" }]\n',
        "line 4, workbook.sheets: {shoop} is not filled in",
        'was "shop" meant?',
    ),
    ("[workbook]\nreader = 3\n", "line 3, workbook.reader: is not a short text", 'write reader = "..."'),
    ('[summary]\nsentences = ["Verdict",\n"A plade"]\n', 'line 4, summary.sentences: "A plade" is no', 'was "A plate"'),
    ('[summary]\nsentences = ["A plate"]\n', 'line 3, summary.sentences: "Verdict" is missing', 'add "Verdict"'),
    ('[summary]\nblocks = ["verdict", "checks"]\n', 'summary.blocks: "rests on" is missing', 'add "rests on"'),
    (
        '[summary]\nblocks = ["verdict", "checks", "rests on",\n"checks"]\n',
        'line 4, summary.blocks: "checks" is listed twice',
        "keep one",
    ),
    ('[summary]\nopening = ["{today}"]\n', "line 3, summary.opening: {today} is not filled in", "known here: {shop}"),
    ("[summary]\nclosing = [5]\n", 'line 3, summary.closing: "5" is no line', "quotation marks"),
    ("[summary]\nclosing = [" + '"x",' * 13 + "]\n", "line 3, summary.closing: has 13 lines", "keep to 12"),
    (
        '[summary]\nblocks = ["verdict", "checks", "rests on"]\nclosing = ["x"]\n',
        "line 4, summary.closing: has lines that no block shows",
        'put "closing" into blocks',
    ),
    (STYLE + 'heading = "#23404f"\n', 'line 3, style.heading: "#23404f" is not a colour', 'write "23404F"'),
    (STYLE + 'ink = "black"\n', 'line 3, style.ink: "black" is not a colour', "red, green, blue"),
    (STYLE + 'data = "777777"\n', "line 3, style.data: ink 1F2430 on data 777777", "letters need 4.5 : 1"),
    (STYLE + 'heading = "99AABB"\n', "line 3, style.heading: heading 99AABB on white", "letters need 4.5 : 1"),
    (STYLE + 'inputs = "FFFFFE"\n', "line 3, style.inputs: FFFFFE can't be told from white", "farther away"),
    (STYLE + 'series = ["381871"]\n', "line 3, style.series: does not hold 6", "with 6 colours"),
    (STYLE + f'series = [{GOOD_SERIES},\n"FFDD00"]\n', "line 4, style.series: FFDD00 has 1.3 : 1", "darker"),
    (STYLE + f'series = [{GOOD_SERIES},\n"B08A03"]\n', "line 4, style.series: B28C01 and B08A03", "lightness"),
    (STYLE + f'series = [{GOOD_SERIES},\n"red"]\n', 'line 4, style.series: "red" is not a colour', "write six"),
    (STYLE + 'paper = "Leter"\n', 'line 3, style.paper: "Leter" is no paper', 'was "Letter" meant?'),
    (STYLE + "font = ''\n", 'line 3, style.font: "" is no font', 'font = "Arial"'),
    (STYLE + 'logo = "../mark.png"\n', 'line 3, style.logo: "../mark.png" leaves the folder', "beside"),
    (STYLE + 'logo = "none.png"\n', 'line 3, style.logo: "none.png" can\'t be read', "beside"),
    (STYLE + 'logo = "mine.toml"\n', 'line 3, style.logo: "mine.toml" is neither PNG nor JPEG', "as PNG"),
    (STYLE + 'logo = "big.png"\n', 'line 3, style.logo: "big.png" is too large', "smaller"),
    (STYLE + 'logo = "wide.png"\n', 'line 3, style.logo: "wide.png" is too large: 6000 x 1', "fair size"),
    (STYLE + 'logo = "half.png"\n', 'line 3, style.logo: "half.png" is a PNG that breaks off', "fair size"),
    ("logo = \"x\n[style]\n", "line 2: is not TOML", "quotation mark"),
    ("[style\n", "line 2: is not TOML", "bracket"),
]  # fmt: skip


@pytest.mark.parametrize("text, says, mend", BAD, ids=[says for _, says, _ in BAD])
def test_a_bad_template_is_named_with_line_and_mend(tmp_path: Path, text: str, says: str, mend: str) -> None:
    (tmp_path / "big.png").write_bytes(png(10, 10) + b"\0" * 500_000)
    (tmp_path / "wide.png").write_bytes(png(6000, 1))
    (tmp_path / "half.png").write_bytes(png(10, 10)[:40])
    with pytest.raises(BadInput) as refused:
        stated(tmp_path, text)
    problem = refused.value.problems[0]
    assert str(problem).startswith("mine.toml, ") and says in str(problem)
    assert mend in problem.mend
    assert len(refused.value.problems) == 1


@pytest.mark.parametrize("head, says", [("", "is missing"), ("schema = 2\n", "2 is not read")])
def test_the_schema_is_stated_and_known(tmp_path: Path, head: str, says: str) -> None:
    with pytest.raises(BadInput, match=f"schema: {says}"):
        stated(tmp_path, "", head)


def test_all_problems_are_told_at_once_by_line(tmp_path: Path) -> None:
    with pytest.raises(BadInput) as refused:
        stated(
            tmp_path,
            '[workbook]\nsheets = [{ sheet = "Imputs" }]\n'
            + STYLE
            + 'paper = "A3"\nfont = 3\n'
            + 'ink = "x"\n',
        )
    assert [p.where.split(", ")[1] for p in refused.value.problems] == [
        "line 3",
        "line 5",
        "line 6",
        "line 7",
    ]


def test_a_file_that_is_none_is_refused_by_name(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text("schema = 1\n", "utf-8")
    (tmp_path / "latin.toml").write_bytes('schema = 1 # "é"'.encode("latin-1"))
    (tmp_path / "long.toml").write_text("#" * 200_000, "utf-8")
    (tmp_path / "folder.toml").mkdir()
    for name, says in (
        (str(tmp_path / "mien.toml"), 'does not exist\n  mend: was "mine.toml" meant?'),
        (str(tmp_path / "latin.toml"), "is not UTF-8"),
        (str(tmp_path / "long.toml"), "is larger than"),
        (str(tmp_path / "folder.toml"), "can't be read"),
        ("onwer", 'is no template known here\n  mend: was "owner" meant?'),
        ("zzz", "shipped are budget_holder, consultant, owner"),
    ):
        with pytest.raises(BadInput) as refused:
            load_template(name)
        assert says in str(refused.value)


# Logos and colours


def test_sizes_of_pictures() -> None:
    """PNG put together after ISO/IEC 15948; the JPEG was saved by a general imaging library as 24 x 8 pixels."""
    assert read_logo(png(300, 90)) == Logo(png(300, 90), "png", 300, 90)
    assert (read_logo(JPEG).width, read_logo(JPEG).height, read_logo(JPEG).kind) == (24, 8, "jpeg")


@pytest.mark.parametrize("content", [b"", b"GIF89a", JPEG[:20], png(0, 5), b"\xff\xd8\xff\xff\xff"])
def test_what_is_no_picture_is_refused(content: bytes) -> None:
    with pytest.raises(ValueError, match=r"is neither|breaks off"):
        read_logo(content)


def test_differences_of_colours() -> None:
    """CIE 1976: white and black are 100 apart in lightness; sRGB red is L*a*b* 53.24, 80.09, 67.20 (white D65)."""
    assert dict(how_far_apart("FFFFFF", "000000")) == {
        sight: pytest.approx(100, abs=0.01)
        for sight in ("usual sight", "protanopia", "deuteranopia", "tritanopia")
    }
    red = (53.24**2 + 80.09**2 + 67.20**2) ** 0.5
    assert dict(how_far_apart("FF0000", "000000"))["usual sight"] == pytest.approx(red, abs=0.05)
    # The red and green of the palette's test: far apart for most, alike in deuteranopia.
    seen = dict(how_far_apart("B5453C", "6E7B22"))
    assert seen["usual sight"] > 60 and seen["deuteranopia"] < 15


def test_the_usual_look_reads_as_the_default() -> None:
    assert load_template("owner").house == OWN
