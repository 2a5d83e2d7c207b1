"""Faults in a workbook: parts missing or damaged, sheets renamed, cells of other types, far away, merged, without end.

The package is taken apart and cells are changed in the sheets' XML, since loading and saving would mend what is wrong. A base's
notes may say which sheets are read (`sheets`: name -> part) and which cells hold inputs (`inputs`: (sheet, cell, key, value)).
"""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from functools import lru_cache
from random import Random
from typing import Any
from xml.sax.saxutils import escape

from tests.fuzz import mutate_bytes
from tests.fuzz.mutant import NOTHING, Base, Change, Claim, Operation

CELL = re.compile(rb'<c r="([A-Z]+)([0-9]+)"([^>]*?)(?:/>|>(.*?)</c>)', re.S)
ROW = re.compile(rb"<row [^>]*?(?:/>|>.*?</row>)", re.S)
_STATED = re.compile(rb'(?<= )r="[0-9]+"')
_STRING = re.compile(rb't="inlineStr"><is><t(?: xml:space="preserve")?>(.*?)</t></is></c>', re.S)
VALUES = (
    b"<v>1e308</v>", b"<v>1e999</v>", b"<v>NaN</v>", b"<v>INF</v>", b"<v>-1</v>", b"<v>0</v>", b"<v></v>",
    b"<v/>", b"<v>1,5</v>", b"<v>abc</v>",
    b"<v> 7 </v>", b"<v>0x10</v>", b"<v>99999999999999999999999999</v>", b"<v>1e-320</v>", b"<v>2958466</v>",
    b"<v>-693595</v>",
    b"<v>1.5</v>", b"<v>45000</v>", b"<v>1_000</v>", b"<f>1/0</f>", b"<f>A1</f><v>3</v>", b"<f></f><v>x</v>",
    b"<is><t>3</t></is>",
    b"<is><r><t>1</t></r><r><t>2</t></r></is>", b"<v>TRUE</v>", b"<v>2026-01-01</v>",
)  # fmt: skip
TYPES = (
    b"", b' t="n"', b' t="s"', b' t="b"', b' t="e"', b' t="d"', b' t="str"', b' t="inlineStr"', b' t="zz"',
    b' s="99999"', b' s="-1"', b' s="x"',
)  # fmt: skip

Parts = dict[str, bytes]


@lru_cache(maxsize=16)
def _unpacked(content: bytes) -> tuple[tuple[str, bytes], ...]:
    with zipfile.ZipFile(io.BytesIO(content)) as package:
        return tuple((name, package.read(name)) for name in package.namelist())


def parts_of(base: Base) -> Parts:
    return dict(_unpacked(base.content))


def packed(parts: list[tuple[str, bytes]], how: int = zipfile.ZIP_STORED) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", how) as package, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of names that stand there twice, which is what is wanted
        for name, content in parts:
            package.writestr(name, content)
    return out.getvalue()


def _sheets(base: Base) -> dict[str, str]:
    found = base.notes["sheets"]
    assert isinstance(found, dict)
    return found


def _with(base: Base, changed: Parts, claim: Claim = NOTHING) -> Change:
    return packed([*{**parts_of(base), **changed}.items()]), claim


def _a_sheet(draw: Random, base: Base) -> tuple[str, bytes]:
    part = draw.choice([*_sheets(base).values()])
    return part, parts_of(base)[part]


def part_gone(draw: Random, base: Base) -> Change:
    parts = parts_of(base)
    del parts[draw.choice([*parts])]
    return packed([*parts.items()]), NOTHING


def part_damaged(draw: Random, base: Base) -> Change:
    """Noise, a cut or a lost piece in one part, packed soundly again."""
    parts = parts_of(base)
    name = draw.choice([*parts, *_sheets(base).values()])
    if not parts[name]:
        return None
    faults = (
        "bytes replaced",
        "one bit turned",
        "cut off",
        "a piece gone",
        "a piece doubled",
        "next to nothing",
    )
    fault = mutate_bytes.OPERATIONS[draw.choice(faults)][1]
    change = fault(draw, Base(name, {name: parts[name]}, name, name))
    assert change is not None
    return _with(base, {name: change[0]})


def parts_swapped(draw: Random, base: Base) -> Change:
    parts = parts_of(base)
    a, b = draw.sample([*parts], 2)
    return _with(base, {a: parts[b], b: parts[a]})


def part_doubled(draw: Random, base: Base) -> Change:
    parts = [*parts_of(base).items()]
    return packed([*parts, (draw.choice(parts)[0], draw.choice(parts)[1])]), NOTHING


def _in_book(base: Base, old: str, new: str, claim: Claim = NOTHING, times: int = -1) -> Change:
    book = parts_of(base)["xl/workbook.xml"].decode()
    if old not in book:
        return None
    return _with(base, {"xl/workbook.xml": book.replace(old, new, times).encode()}, claim)


def sheet_renamed(draw: Random, base: Base) -> Change:
    name = draw.choice([*_sheets(base)])
    new = draw.choice(
        [
            name.lower(),
            name + " ",
            name[:-1],
            "Sheet1",
            "",
            "A_Inputs",
            name + "2",
            "\u200b" + name,
            "x" * 40,
            "&lt;",
            "Inputs",
        ]
    )
    return _in_book(base, f'name="{name}"', f'name="{new}"')


def sheets_exchanged(draw: Random, base: Base) -> Change:
    names = [*_sheets(base)]
    if len(names) < 2:
        return None
    a, b = draw.sample(names, 2)
    book = parts_of(base)["xl/workbook.xml"].decode()
    book = (
        book.replace(f'name="{a}"', "name=\0")
        .replace(f'name="{b}"', f'name="{a}"')
        .replace("name=\0", f'name="{b}"')
    )
    return _with(base, {"xl/workbook.xml": book.encode()})


def sheet_hidden(draw: Random, base: Base) -> Change:
    return _in_book(
        base, 'state="visible"', f'state="{draw.choice(["hidden", "veryHidden"])}"', Claim(same=True), 3
    )


def other_epoch(draw: Random, base: Base) -> Change:
    return _in_book(base, "<workbookPr", '<workbookPr date1904="1"')


def _changed_cell(draw: Random, base: Base, change: Any) -> Change:
    part, xml = _a_sheet(draw, base)
    cells = list(CELL.finditer(xml))
    if not cells:
        return None
    cell = draw.choice(cells)
    return _with(base, {part: xml[: cell.start()] + change(cell) + xml[cell.end() :]})


def cell_emptied(draw: Random, base: Base) -> Change:
    return _changed_cell(draw, base, lambda cell: b"")


def cell_odd(draw: Random, base: Base) -> Change:
    """Text that XML can hold, in any cell."""
    text = "".join(c for c in draw.choice(mutate_bytes.ODD_TEXTS) if c in "\t\n\r" or c >= " ")
    said = b"<is><t>" + escape(text).encode() + b"</t></is>"
    return _changed_cell(draw, base, lambda c: b'<c r="%s%s" t="inlineStr">%s</c>' % (c[1], c[2], said))


def cell_of_another_type(draw: Random, base: Base) -> Change:
    """Any pair of type and value, most of which belong to no sound file."""
    kind, value = draw.choice(TYPES), draw.choice(VALUES)
    return _changed_cell(draw, base, lambda c: b'<c r="%s%s"%s>%s</c>' % (c[1], c[2], kind, value))


def cell_far(draw: Random, base: Base) -> Change:
    at = draw.choice(
        [
            b"XFD1",
            b"A1048576",
            b"XFD1048576",
            b"ZZZZ9",
            b"A0",
            b"1A",
            b"A99999999",
            b"a1",
            b"",
            b"A1:B2",
            b"$A$1",
            b"ZZ200001",
        ]
    )
    return _changed_cell(draw, base, lambda c: b'<c r="%s"%s>%s</c>' % (at, c[3], c[4] or b""))


def cells_swapped(draw: Random, base: Base) -> Change:
    part, xml = _a_sheet(draw, base)
    cells = list(CELL.finditer(xml))
    if len(cells) < 2:
        return None
    a, b = sorted(draw.sample(cells, 2), key=lambda c: c.start())
    one = b'<c r="%s%s"%s>%s</c>' % (a[1], a[2], b[3], b[4] or b"")
    two = b'<c r="%s%s"%s>%s</c>' % (b[1], b[2], a[3], a[4] or b"")
    return _with(base, {part: xml[: a.start()] + one + xml[a.end() : b.start()] + two + xml[b.end() :]})


def row_changed(draw: Random, base: Base) -> Change:
    """A row gone, doubled, far away, or two exchanged in the file's order."""
    part, xml = _a_sheet(draw, base)
    rows = list(ROW.finditer(xml))
    if len(rows) < 2:
        return None
    a, b = sorted(draw.sample(rows, 2), key=lambda r: r.start())
    places = (b'r="1048576"', b'r="0"', b'r="-1"', b'r="x"', b'r="300000"')
    far = re.sub(rb'r="[0-9]+"', lambda _: draw.choice(places), a[0], count=1)
    made = draw.choice([b"", a[0] * 2, far, b[0]])
    end = xml[b.start() : b.end()] if made != b[0] else a[0]
    return _with(base, {part: xml[: a.start()] + made + xml[a.end() : b.start()] + end + xml[b.end() :]})


def place_taken(draw: Random, base: Base) -> Change:
    """A row or cell that states the place of one further up or left, or every row below the header that of the first."""
    part, xml = _a_sheet(draw, base)
    rows = [row for row in ROW.finditer(xml) if CELL.search(row[0])]
    if len(rows) < 3:
        return None
    taken = Claim(refused=True)
    if draw.random() < 0.4:
        row = draw.choice([row for row in rows if len(CELL.findall(row[0])) > 1])
        one, other = draw.sample([*CELL.finditer(row[0])], 2)
        at = row.start() + max(one.start(1), other.start(1))
        name = min(one, other, key=lambda c: c.start())[1]
        late = max(one, other, key=lambda c: c.start())[1]
        return _with(base, {part: xml[:at] + name + xml[at + len(late) :]}, taken)
    first, *below = rows[1:]
    chosen = below if draw.random() < 0.3 else [draw.choice(below)]
    number = _STATED.search(first[0])
    assert number is not None
    for row in reversed(chosen):
        xml = xml[: row.start()] + _STATED.sub(number[0], row[0], count=1) + xml[row.end() :]
    return _with(base, {part: xml}, taken)


def merged(draw: Random, base: Base) -> Change:
    """Cells merged as a program would: what lies below the first is gone."""
    part, xml = _a_sheet(draw, base)
    rows = list(ROW.finditer(xml))
    if not rows:
        return None
    row = draw.choice(rows)
    cells = list(CELL.finditer(row[0]))
    if len(cells) < 2:
        return None
    start = draw.randrange(len(cells) - 1)
    end = draw.randrange(start + 1, len(cells))
    kept = row[0][: cells[start].end()] + row[0][cells[end].end() :]
    span = b'<mergeCells count="1"><mergeCell ref="%s%s:%s%s"/></mergeCells>' % (
        cells[start][1], cells[start][2], cells[end][1], cells[end][2],
    )  # fmt: skip
    xml = xml[: row.start()] + kept + xml[row.end() :]
    return _with(base, {part: xml.replace(b"</sheetData>", b"</sheetData>" + span, 1)})


def many_rows(draw: Random, base: Base) -> Change:
    part, xml = _a_sheet(draw, base)
    rows = list(ROW.finditer(xml))
    if not rows:
        return None
    row, times = draw.choice(rows), draw.choice([1000, 5000, 20000])
    first = 1 + len(rows) + 50
    body = re.sub(rb' r="[A-Z]*[0-9]+"', b"", row[0])
    more = b"".join(body.replace(b"<row", b'<row r="%d"' % (first + i), 1) for i in range(times))
    return _with(base, {part: xml.replace(b"</sheetData>", more + b"</sheetData>", 1)})


def wrong_extent(draw: Random, base: Base) -> Change:
    part, xml = _a_sheet(draw, base)
    other = draw.choice([b"A1", b"A1:XFD1048576", b"A1:A1", b"B2:C3"])
    return _with(
        base,
        {part: re.sub(rb'<dimension ref="[^"]*"', b'<dimension ref="%s"' % other, xml, count=1)},
        Claim(same=True),
    )


def input_changed(draw: Random, base: Base) -> Change:
    """A number on Inputs typed over: it alone may differ."""
    found = base.notes.get("inputs")
    if not found:
        return None
    assert isinstance(found, list)
    sheet, at, key, value = draw.choice(found)
    by = draw.choice([0.5, 0.9, 0.99, 1.01, 1.1, 2, 3])
    part = _sheets(base)[sheet]
    xml, count = re.subn(
        rb'<c r="%s"([^>]*?)>.*?</c>' % at.encode(),
        lambda c: (
            b'<c r="%s"%s><v>%r</v></c>' % (at.encode(), re.sub(rb' t="[a-zA-Z]+"', b"", c[1]), value * by)
        ),
        parts_of(base)[part],
        count=1,
    )
    assert count == 1
    return _with(base, {part: xml}, Claim(key=key, ratio=by if value else None))


def packed_again(draw: Random, base: Base) -> Change:
    """The same parts in another order, compressed."""
    parts = [*parts_of(base).items()]
    draw.shuffle(parts)
    return packed(parts, zipfile.ZIP_DEFLATED), Claim(same=True)


def shared_strings(draw: Random, base: Base) -> Change:
    """Texts kept once for the whole workbook, as most spreadsheet programs save them."""
    parts = parts_of(base)
    if "xl/sharedStrings.xml" in parts:
        return None
    texts: dict[bytes, int] = {}

    def shared(found: re.Match[bytes]) -> bytes:
        return b't="s"><v>%d</v></c>' % texts.setdefault(found[1], len(texts))

    for name in parts:
        if name.startswith("xl/worksheets/sheet"):
            parts[name] = _STRING.sub(shared, parts[name])
    items = b"".join(b'<si><t xml:space="preserve">%s</t></si>' % text for text in texts)
    parts["xl/sharedStrings.xml"] = (
        b'<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">' + items + b"</sst>"
    )
    kind = (
        b'<Override PartName="/xl/sharedStrings.xml" ContentType="application/vnd.openxmlformats-officedocument.'
        b'spreadsheetml.sharedStrings+xml"/></Types>'
    )
    types = parts["[Content_Types].xml"]
    if b"sharedStrings" not in types:
        parts["[Content_Types].xml"] = types.replace(b"</Types>", kind)
    return packed([*parts.items()]), Claim(same=True)


def saved_again(draw: Random, base: Base) -> Change:
    """Loaded and saved by a library that keeps no stored results."""
    from openpyxl import load_workbook

    out = io.BytesIO()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        load_workbook(io.BytesIO(base.content)).save(out)
    return out.getvalue(), Claim(same=True)


OPERATIONS: dict[str, tuple[float, Operation]] = {
    "part gone": (4, part_gone),
    "part damaged": (8, part_damaged),
    "parts swapped": (2, parts_swapped),
    "part doubled": (2, part_doubled),
    "sheet renamed": (4, sheet_renamed),
    "sheets exchanged": (2, sheets_exchanged),
    "sheet hidden": (1, sheet_hidden),
    "other day count": (1, other_epoch),
    "cell emptied": (6, cell_emptied),
    "cell odd": (10, cell_odd),
    "cell of another type": (14, cell_of_another_type),
    "cell far away": (4, cell_far),
    "cells swapped": (5, cells_swapped),
    "row gone, doubled, far": (6, row_changed),
    "place taken": (4, place_taken),
    "cells merged": (4, merged),
    "many rows": (1, many_rows),
    "wrong extent": (2, wrong_extent),
    "input changed": (8, input_changed),
    "packed again": (1, packed_again),
    "shared strings": (1, shared_strings),
    "saved again": (0.15, saved_again),
    **{f"package: {name}": (1, mutate_bytes.OPERATIONS[name][1]) for name in (
        "bytes replaced", "one bit turned", "cut off", "a piece gone", "a piece doubled", "next to nothing",
    )},
}  # fmt: skip
