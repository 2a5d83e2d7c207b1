"""Workbooks made to do harm, and files that only say they are workbooks: each refused in a second, in words that can be acted on.

A package is made by Python's zipfile and openpyxl, then spoilt by hand. Entities: the "billion laughs" and the external
entity of OWASP's "XML External Entity Prevention"; limits of a sheet: 1,048,576 rows of 16,384 cells (ECMA-376's programs).
"""

from __future__ import annotations

import io
import os
import re
import struct
import subprocess
import sys
import time
import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from roi.cli import main
from roi.model.study import build
from roi.scenario import package
from roi.scenario.package import unread
from roi.scenario.problems import BadInput
from roi.scenario.scenario import read
from roi.scenario.tables import read_table
from roi.workbook.read_back import read_workbook
from roi.workbook.write import write_workbook
from tests.parity.recalculate import sheet_parts
from tests.small_shop import LEAN, SHOP

SHEET, BOOK, TYPES = "xl/worksheets/sheet1.xml", "xl/workbook.xml", "[Content_Types].xml"
SECONDS = 5.0  # of the processor: none of these may take longer, and each takes a fraction
LAUGHS = (
    "<!DOCTYPE x [<!ENTITY a '"
    + "ha" * 50
    + "'>"
    + "".join(f"<!ENTITY {b} '{f'&{a};' * 10}'>" for a, b in zip("abcdefgh", "bcdefghi", strict=True))
    + "]>"
)


@pytest.fixture(scope="module")
def good(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log of two rows, as openpyxl saves it."""
    path = tmp_path_factory.mktemp("good") / "log.xlsx"
    book = openpyxl.Workbook()
    for row in (["Job", "Plates"], ["a", 1], ["b", 2]):
        book.active.append(row)
    book.save(path)
    return path


def spoilt(
    good: Path, path: Path, parts: dict[str, Callable[[bytes], bytes]], more: dict[str, bytes] | None = None
) -> Path:
    """A copy with some parts changed and others added."""
    with (
        zipfile.ZipFile(good) as old,
        zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as new,
    ):
        assert parts.keys() <= set(old.namelist())
        for name in old.namelist():
            new.writestr(name, parts.get(name, bytes)(old.read(name)))
        for name, content in (more or {}).items():
            new.writestr(name, content)
    return path


def log_of(path: Path) -> list[object]:
    table = read_table(path, {"job": "Job", "plates": "Plates"}, sheet=None, where="[log]")
    return [table.columns["job"].cells[code] for code in table.columns["job"].codes]


def refusal(path: Path) -> str:
    """How the file is refused as a log and as a scenario, both in good time."""
    told = []
    for reader in (log_of, read_workbook):
        began = time.process_time()
        with pytest.raises(BadInput) as bad:
            reader(path)
        assert time.process_time() - began < SECONDS
        told.append(str(bad.value))
    assert told[0].partition("\n")[0] == told[1].partition("\n")[0]
    assert all("mend: " in text for text in told)
    return told[0]


def before_the_root(text: str) -> Callable[[bytes], bytes]:
    """Puts text between a part's declaration and its first element."""

    def put(part: bytes) -> bytes:
        declared, ended, rest = part.partition(b"?>")
        return declared + ended + text.encode() + rest if ended else text.encode() + part

    return put


def test_the_package_they_are_made_of_is_read(good: Path) -> None:
    assert log_of(good) == ["a", "b"]
    assert unread(good) == ""


# Document types


@pytest.mark.parametrize("part", [SHEET, BOOK, TYPES, "xl/styles.xml", "xl/_rels/workbook.xml.rels"])
def test_entities_are_refused_in_every_part_that_is_read(good: Path, tmp_path: Path, part: str) -> None:
    path = spoilt(good, tmp_path / "log.xlsx", {part: before_the_root(LAUGHS)})
    assert f"declares a document type in '{part}'" in refusal(path)


@pytest.mark.parametrize(
    "text",
    [
        "<!DOCTYPE x SYSTEM 'file:///etc/hostname'>",
        "<!DOCTYPE x [<!ENTITY e SYSTEM 'file:///etc/hostname'>]>",
        "<!DOCTYPE x [<!ENTITY % e SYSTEM 'http://x.invalid/e.dtd'> %e;]>",
        "<!-- " + "-" * 40 + "--><!DOCTYPE x>".replace("---", "- -"),
    ],
)
def test_external_entities_are_refused(good: Path, tmp_path: Path, text: str) -> None:
    text = text.replace("-" * 40, ". " * 2_000)
    path = spoilt(good, tmp_path / "log.xlsx", {SHEET: before_the_root(text)})
    assert "declares a document type" in refusal(path)


def test_a_document_type_in_another_coding_is_seen(good: Path, tmp_path: Path) -> None:
    def recoded(part: bytes) -> bytes:
        text = '<?xml version="1.0" encoding="UTF-16"?>' + LAUGHS + part.decode().partition("?>")[2]
        return text.encode("utf-16")

    path = spoilt(good, tmp_path / "log.xlsx", {BOOK: recoded})
    assert "declares a document type" in refusal(path)


def test_they_are_refused_without_any_library_that_helps(good: Path, tmp_path: Path) -> None:
    """In a process where neither defusedxml nor lxml can be loaded: only openpyxl is promised."""
    path = spoilt(good, tmp_path / "log.xlsx", {SHEET: before_the_root(LAUGHS)})
    code = (
        "import sys; sys.modules['defusedxml'] = sys.modules['lxml'] = None\n"
        "import openpyxl; assert not openpyxl.DEFUSEDXML and not openpyxl.LXML\n"
        "from pathlib import Path; from roi.scenario.tables import read_table\n"
        "try: print(read_table(Path(sys.argv[1]), {'job': 'Job'}, sheet=None, where='[log]').columns['job'].cells)\n"
        "except Exception as bad: print(type(bad).__name__, bad)\n"
    )
    for file, said in ((path, "BadInput log.xlsx: declares a document type"), (good, "('a', 'b')")):
        done = subprocess.run([sys.executable, "-c", code, str(file)], capture_output=True, text=True)
        assert done.stdout.startswith(said), done


# Bombs


def test_a_part_that_unpacks_to_far_more_than_it_weighs_is_refused(good: Path, tmp_path: Path) -> None:
    path = spoilt(good, tmp_path / "log.xlsx", {SHEET: lambda part: part + b" " * 30_000_000})
    assert path.stat().st_size < 100_000
    assert "unpacks to more than 200 times its size" in refusal(path)


@pytest.mark.parametrize("part", [BOOK, TYPES, SHEET])
def test_a_size_that_lies_changes_nothing(good: Path, tmp_path: Path, part: str) -> None:
    """The sizes in both headers say 5,000 bytes; what comes out is counted, and cut there."""
    path = spoilt(good, tmp_path / "log.xlsx", {part: lambda content: content + b" " * 30_000_000})
    with zipfile.ZipFile(path) as parts:
        true = parts.getinfo(part).file_size
    content = path.read_bytes()
    assert content.count(struct.pack("<I", true)) == 2
    path.write_bytes(content.replace(struct.pack("<I", true), struct.pack("<I", 5_000)))
    assert "is not a readable .xlsx workbook" in refusal(path)


def test_what_is_read_is_counted_over_all_parts(
    good: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Thirty sheets that are one part: it weighs once in the package, and is unpacked each time."""
    sheets = b"".join(
        b'<sheet name="s%d" sheetId="%d" r:id="rId1" xmlns:r='
        b'"http://schemas.openxmlformats.org/officeDocument/2006/relationships"/>' % (n, n)
        for n in range(2, 32)
    )
    path = spoilt(
        good,
        tmp_path / "log.xlsx",
        {
            BOOK: lambda part: part.replace(b"</sheets>", sheets + b"</sheets>"),
            # Without data the library looks for the extent up to the end.
            SHEET: lambda part: (
                part.replace(b"sheetData", b"sheetDate").replace(b"<dimension", b"<demension")
                + b" " * 100_000
            ),
        },
    )
    monkeypatch.setattr(package, "LARGEST_BEFORE_SHEETS", 2_000_000)
    assert "unpacks to more than 2 MB" in refusal(path)


def test_a_package_of_very_many_parts_is_refused(good: Path, tmp_path: Path) -> None:
    path = spoilt(good, tmp_path / "log.xlsx", {}, {f"xl/x{n}.xml": b"" for n in range(package.MOST_PARTS)})
    assert f"has more than {package.MOST_PARTS:,} parts" in refusal(path)


def test_looks_without_end_are_refused(good: Path, tmp_path: Path) -> None:
    """A program lets a workbook have some 65,000; each costs the library far more than its five letters."""
    path = spoilt(
        good,
        tmp_path / "log.xlsx",
        {"xl/styles.xml": lambda part: part.replace(b"</cellXfs>", b"<xf/>" * 200_000 + b"</cellXfs>")},
    )
    assert "holds 'xl/styles.xml' of more than 200,000 elements" in refusal(path)


@pytest.mark.parametrize("part", [BOOK, TYPES, "xl/styles.xml"])
def test_a_part_taken_whole_is_to_be_small(
    good: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, part: str
) -> None:
    monkeypatch.setattr(package, "LARGEST_WHOLE", 1_000_000)
    junk = os.urandom(600_000).hex().encode()
    path = spoilt(good, tmp_path / "log.xlsx", {part: lambda content: content + b"<!--" + junk + b"-->"})
    assert "unpacks to more than 1,000,000 bytes" in refusal(path)


def test_two_parts_of_one_name_are_refused(good: Path, tmp_path: Path) -> None:
    """Programs differ in which of the two they show, so that one could be seen and another read."""
    path = tmp_path / "log.xlsx"
    path.write_bytes(good.read_bytes())
    with zipfile.ZipFile(path, "a") as parts:
        parts.writestr("XL/worksheets/sheet1.xml", b"<worksheet/>")
    assert "holds the part 'xl/worksheets/sheet1.xml' twice" in refusal(path)


def test_parts_that_lie_over_one_another_are_refused(good: Path, tmp_path: Path) -> None:
    """Each entry of the directory claims the same packed bytes, so that the package weighs little."""
    content = io.BytesIO(good.read_bytes())
    with zipfile.ZipFile(content, "a") as parts:
        whole = parts.getinfo(SHEET)
        for number in range(200):
            again = zipfile.ZipInfo(f"xl/worksheets/again{number}.xml")
            again.header_offset, again.CRC = whole.header_offset, whole.CRC
            again.compress_type = whole.compress_type
            again.compress_size, again.file_size = whole.compress_size, whole.file_size
            parts.filelist.append(again)
        parts._didModify = True  # type: ignore[attr-defined]
    (tmp_path / "log.xlsx").write_bytes(content.getvalue())
    assert "has parts that lie over one another" in refusal(tmp_path / "log.xlsx")


@pytest.mark.parametrize("method", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_other_ways_of_packing_are_refused(good: Path, tmp_path: Path, method: int) -> None:
    """They unpack a piece to any size at once, so that counting comes too late; workbooks don't use them."""
    path = tmp_path / "log.xlsx"
    path.write_bytes(good.read_bytes())
    with zipfile.ZipFile(path, "a") as parts:
        parts.writestr("xl/more.xml", b" " * 1_000, method)
    assert "packed in a way that workbooks don't use" in refusal(path)


# Sheets


def rows_put(rows: bytes, extent: bytes = b"A1:B3") -> Callable[[bytes], bytes]:
    def put(part: bytes) -> bytes:
        assert b"A1:B3" in part
        return part.replace(b"A1:B3", extent).replace(b"</sheetData>", rows + b"</sheetData>")

    return put


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (b'<row r="3"', b'<row r="2"', "has row 2 where a row below 2 belongs, on the sheet 'Sheet'"),
        (b'<row r="2"', b'<row r="1"', "has row 1 where a row below 1 belongs"),
        (b'<row r="2"', b'<row r="0"', "has row 0 where"),
        (b'r="B3"', b'r="A3"', "has a cell out of its place in row 3"),
        (b'r="B3"', b'r="B2"', "has a cell out of its place in row 3"),
        (b'r="A3"', b'r="C3"', "has a cell out of its place in row 3"),
    ],
)
def test_a_row_or_cell_whose_place_is_taken_is_refused(
    good: Path, tmp_path: Path, old: bytes, new: bytes, said: str
) -> None:
    """The library drops such a row, or one of the two cells, without a word."""
    path = spoilt(good, tmp_path / "log.xlsx", {SHEET: lambda part: part.replace(old, new)})
    with pytest.raises(BadInput, match=said):
        log_of(path)


def test_workbooks_of_this_program_are_refused_for_it_too(tmp_path: Path) -> None:
    """Every row of Inputs below the third says it is the third."""
    shop, decision = tmp_path / "shop.toml", tmp_path / "decision.xlsx"
    shop.write_text(SHOP, "utf-8")
    study = build(read(shop))
    write_workbook(study, study.evaluate(), decision, LEAN)
    with zipfile.ZipFile(decision) as parts:
        part = sheet_parts(parts)["Inputs"]
    third = {part: lambda xml: re.sub(rb'<row r="[0-9]{2,}"', b'<row r="3"', xml)}
    with pytest.raises(BadInput, match="has row 3 where a row below"):
        read_workbook(spoilt(decision, tmp_path / "edited.xlsx", third))


def test_rows_and_cells_that_state_no_place_follow_one_another(good: Path, tmp_path: Path) -> None:
    """ECMA-376 lets both be left out; a row may also leave some out above it."""
    bare = b'<row><c t="inlineStr"><is><t>c</t></is></c><c><v>3</v></c></row>'
    far = b'<row r="9"><c r="A9" t="inlineStr"><is><t>d</t></is></c><c r="B9"><v>3</v></c></row>'
    path = spoilt(good, tmp_path / "log.xlsx", {SHEET: rows_put(bare + far + bare)})
    table = read_table(path, {"job": "Job"}, sheet=None, where="[log]")
    assert table.rows.tolist() == [2, 3, 4, 9, 10]


def test_a_number_that_is_none_is_told_with_its_cell(good: Path, tmp_path: Path) -> None:
    assert b"<v>2</v>" in zipfile.ZipFile(good).read(SHEET)
    path = spoilt(good, tmp_path / "log.xlsx", {SHEET: lambda part: part.replace(b"<v>2</v>", b"<v>nan</v>")})
    with pytest.raises(
        BadInput, match="its cell B3 on the sheet 'Sheet' is to hold a number, and holds 'nan'"
    ):
        log_of(path)


def test_a_sheet_whose_part_is_missing_is_named(good: Path, tmp_path: Path) -> None:
    path = tmp_path / "log.xlsx"
    with zipfile.ZipFile(good) as old, zipfile.ZipFile(path, "w") as new:
        for name in old.namelist():
            if name != SHEET:
                new.writestr(name, old.read(name))
    assert "lists the sheet 'Sheet', which is missing in it" in refusal(path)


def test_a_stated_extent_of_the_whole_sheet_costs_nothing(good: Path, tmp_path: Path) -> None:
    path = spoilt(good, tmp_path / "log.xlsx", {SHEET: rows_put(b"", b"A1:XFD1048576")})
    began = time.process_time()
    assert log_of(path) == ["a", "b"]
    assert time.process_time() - began < SECONDS


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (b'<row r="99999999999"><c r="A99999999999"><v>1</v></c></row>', "more than 100,000 rows"),
        (b'<row r="4"><c r="XFD4"><v>1</v></c></row>', "more than 1,000 cells in row 4"),
        (
            b"".join(b'<row r="%d"><c r="XFD%d"/></row>' % (n, n) for n in range(4, 400)),
            "more than 5,000,000 cells",
        ),
        (b'<row r="4"><c r="' + b"Z" * 30 + b'4"><v>1</v></c></row>', "is not a readable .xlsx workbook"),
        (b'<row r="' + b"9" * 9_000 + b'"/>', "is not a readable .xlsx workbook"),
    ],
)  # fmt: skip
def test_cells_far_out_are_refused(
    good: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, rows: bytes, said: str
) -> None:
    monkeypatch.setattr(package, "MOST_CELLS", 5_000_000)
    monkeypatch.setattr(package, "MOST_ROWS", 100_000)
    path = spoilt(good, tmp_path / "log.xlsx", {SHEET: rows_put(rows)})
    began = time.process_time()
    with pytest.raises(BadInput, match=said):
        log_of(path)
    assert time.process_time() - began < SECONDS


@pytest.mark.parametrize("junk", [b"<a/>", b"<c/>", b"<row><c/></row>".replace(b"row", b"raw")])
def test_a_sheet_of_elements_that_are_no_cells_is_refused(
    good: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, junk: bytes
) -> None:
    """The library keeps them all; a package of some megabytes could hold hundreds of millions."""
    monkeypatch.setattr(package, "MOST_ELEMENTS", 50_000)
    path = spoilt(good, tmp_path / "log.xlsx", {SHEET: rows_put(junk * 100_000)})
    with pytest.raises(BadInput, match="elements that are no cells"):
        log_of(path)


def test_rows_answer_for_their_own_elements(
    good: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Five values and fifty dressed cells a row, for ten times as many rows as the limit alone would let pass."""
    monkeypatch.setattr(package, "MOST_ELEMENTS", 12_000)
    values = b"".join(b'<c t="inlineStr"><is><t>x</t></is></c>' for _ in range(5))
    rows = b"".join(b'<row r="%d">' % n + values + b'<c s="0"/>' * 50 + b"</row>" for n in range(4, 2_004))
    assert len(log_of(spoilt(good, tmp_path / "log.xlsx", {SHEET: rows_put(rows)}))) == 2_002


def test_rows_dressed_to_the_last_column_are_read(good: Path, tmp_path: Path) -> None:
    """As programs save a row whose cells were given a look, all 16,384 of them."""
    dressed = (
        b'<row r="4"><c r="A4" t="inlineStr"><is><t>c</t></is></c><c r="B4"><v>3</v></c><c r="XFD4"/></row>'
    )
    assert log_of(spoilt(good, tmp_path / "log.xlsx", {SHEET: rows_put(dressed)})) == ["a", "b", "c"]


# What is no workbook


def old_kind(stream: str) -> bytes:
    """The beginning of a compound file (MS-CFB) and the name of a stream as its directory holds it."""
    return b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1".ljust(512, b"\0") + stream.encode("utf-16-le").ljust(64, b"\0")


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (old_kind("EncryptedPackage"), "it is locked by a password"),
        (old_kind("Workbook"), "it is a workbook of the old kind, .xls"),
        (b"Job,Plates\na,1\n", "it is a text file"),
        (b"<html><table><tr><td>Job</td></tr></table></html>", "it is a web page or XML"),
        (b"", "it is empty"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "File is not a zip file"),
    ],
)
def test_a_file_that_is_no_package_is_called_what_it_is(tmp_path: Path, content: bytes, said: str) -> None:
    path = tmp_path / "log.xlsx"
    path.write_bytes(content)
    assert f"is not a readable .xlsx workbook: {said}" in refusal(path)


@pytest.mark.parametrize(
    ("parts", "said"),
    [
        ({"mimetype": b"application/vnd.oasis.opendocument.spreadsheet", "content.xml": b"<x/>"}, "(.ods)"),
        ({"[Content_Types].xml": b"<Types/>", "xl/workbook.bin": b"\x83\x01"}, "(.xlsb)"),
        ({"hello.txt": b"no workbook"}, "save it as .xlsx"),
    ],
)
def test_a_package_of_another_kind_is_called_what_it_is(
    tmp_path: Path, parts: dict[str, bytes], said: str
) -> None:
    path = tmp_path / "log.xlsx"
    with zipfile.ZipFile(path, "w") as made:
        for name, content in parts.items():
            made.writestr(name, content)
    assert said in refusal(path)


def test_a_part_under_a_password_is_refused(good: Path, tmp_path: Path) -> None:
    content = bytearray(good.read_bytes())
    content[content.index(b"PK\x01\x02") + 8] |= 1  # the first entry of the directory says it is locked
    path = tmp_path / "log.xlsx"
    path.write_bytes(bytes(content))
    assert "locked by a password" in refusal(path)


# What is left unread


def hidden(part: bytes) -> bytes:
    assert b'state="visible"' in part
    return part.replace(b'state="visible"', b'state="veryHidden"')


@pytest.mark.parametrize(
    ("parts", "more", "said"),
    [
        ({}, {"xl/vbaProject.bin": b"\xd0\xcf"}, "holds macros."),
        ({}, {"xl/macrosheets/sheet1.xml": b"<x/>"}, "holds macros."),
        (
            {},
            {"xl/externalLinks/externalLink1.xml": b"<ddeLink/>"},
            "holds links to other files or programs.",
        ),
        ({}, {"xl/connections.xml": b"<connections/>"}, "holds data connections."),
        ({}, {"xl/embeddings/oleObject1.bin": b"\xd0\xcf"}, "holds embedded objects."),
        ({BOOK: hidden}, {}, "holds hidden sheets."),
        (
            {BOOK: hidden},
            {"xl/vbaProject.bin": b"\xd0\xcf", "xl/connections.xml": b"<connections/>"},
            "holds macros, data connections and hidden sheets.",
        ),
    ],
)
def test_what_a_workbook_holds_beside_values_is_said_and_left(
    good: Path, tmp_path: Path, parts: dict[str, Callable[[bytes], bytes]], more: dict[str, bytes], said: str
) -> None:
    path = spoilt(good, tmp_path / "log.xlsx", parts, more)
    sentence = unread(path)
    assert said in sentence and "not run or followed, and are not in what is written" in sentence
    assert log_of(path) == ["a", "b"]


def test_the_command_says_it_on_stderr_and_goes_on(tmp_path: Path) -> None:
    """A decision workbook saved with macros and a link, given back: the same answer, and one sentence more."""
    shop, decision, again = tmp_path / "shop.toml", tmp_path / "decision.xlsx", tmp_path / "again.xlsx"
    shop.write_text(SHOP, "utf-8")
    (tmp_path / "lean.toml").write_text(
        'schema = 1\n[workbook]\nsheets = [{ sheet = "Summary" }, { sheet = "Inputs" }]\n', "utf-8"
    )
    lean = ["--template", str(tmp_path / "lean.toml")]
    made = CliRunner().invoke(main, ["compare", str(shop), "-o", str(decision), *lean])
    assert made.exit_code == 0 and made.stderr == ""
    more = {"xl/vbaProject.bin": b"\xd0\xcf", "xl/externalLinks/externalLink1.xml": b"<x/>"}
    spoilt(decision, tmp_path / "edited.xlsm", {}, more)
    done = CliRunner().invoke(main, ["compare", str(tmp_path / "edited.xlsm"), "-o", str(again), *lean])
    assert done.exit_code == 0
    assert "edited.xlsm holds macros and links to other files or programs." in " ".join(done.stderr.split())
    with zipfile.ZipFile(again) as parts:
        assert not [name for name in parts.namelist() if "vba" in name.lower() or "external" in name.lower()]
    checked = CliRunner().invoke(main, ["check", str(tmp_path / "edited.xlsm")])
    assert "not run or followed" in " ".join(checked.stderr.split())


def test_a_part_of_a_later_kind_of_package_is_told(good: Path, tmp_path: Path) -> None:
    """Found by mutation: the version that a part needs (APPNOTE 4.4.3) stands in the byte 6 into its entry of the directory."""
    content = bytearray(good.read_bytes())
    content[content.index(b"PK\x01\x02") + 6] = 99
    (tmp_path / "log.xlsx").write_bytes(content)
    with pytest.raises(BadInput) as bad:
        read_table(tmp_path / "log.xlsx", {"job": "Job"}, sheet=None, where="[log]")
    (problem,) = bad.value.problems
    assert "is not a readable .xlsx workbook (zip file version 9.9)" in problem.what and problem.mend
