"""The finishing pass over a saved workbook: stored results, chart caches, alternative texts, dates.

The library that writes the workbook leaves formula cells without results, so previews and data readers
show blanks. This pass copies the package part by part, fills in what is missing and moves the whole file into
place. It computes nothing: every number comes from the caller or stands typed in a cell. It reads only the
plain form in which openpyxl 3.1 saves parts (with or without lxml), and refuses formulas in any other form.
"""

from __future__ import annotations

import io
import math
import posixpath
import re
import zipfile
from collections.abc import Collection, Mapping
from datetime import UTC, datetime
from html import escape  # that of xml.sax loads all of HTTP
from numbers import Real
from pathlib import Path
from typing import BinaryIO, Protocol
from xml.etree import ElementTree

from openpyxl.utils.cell import rows_from_range

from roi.workbook.in_place import put_in_place

Result = float | int | str | bool
Results = Mapping[str, Mapping[str, Result]]
AltTexts = Mapping[tuple[str, int], str]


class Rows(Protocol):
    """Rows that are put into a saved sheet, results and all."""

    @property
    def formulas(self) -> Collection[str]:
        """The cells in them that hold a formula."""
        ...

    def put_into(self, xml: str) -> str:
        """The sheet's part with the rows in it."""
        ...


ERROR_VALUES = frozenset({"#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!"})
PROBLEMS_NAMED = 5
PACKED = 4  # of 9: an eighth larger than the usual 6, in a third less of this pass's time

# lxml writes "<v></v>", the standard library "<v />"; text can't match, its "<" is escaped.
FORMULA_CELL = re.compile(r'<c r="([A-Z]+[0-9]+)"((?: s="[0-9]+")?)>(<f>[^<]*</f>)<v(?: ?/>|></v>)</c>')
ANY_FORMULA = re.compile(r"<f[ />]")
CHART_REFERENCE = re.compile(r"<(cat|xVal|val|yVal|tx)><(?:num|str)Ref><f>([^<]*)</f></(?:num|str)Ref></\1>")
CHART_FRAME = re.compile(r'<cNvPr id="([0-9]+)" name="Chart \1"')
DOCUMENT_DATE = re.compile(r"(<dcterms:(?:created|modified)\b[^>]*>)[^<]*")
SHEET_AND_CELLS = re.compile(r"(?:'((?:[^']|'')+)'|([^'!]+))!([A-Z]+[0-9]+(?::[A-Z]+[0-9]+)?)")

# The earliest date a zip archive can hold: the same input gives the same bytes on any day.
MEMBER_DATE = (1980, 1, 1, 0, 0, 0)


def finish(
    source: Path | BinaryIO,
    target: Path | BinaryIO,
    results: Results,
    *,
    alt_text: AltTexts | None = None,
    ready: Mapping[str, Rows] | None = None,
    made: datetime | None = None,
) -> None:
    """Copy the workbook `source` to `target`, with results, chart caches, descriptions and dates filled in.

    Parameters
    ----------
    source : a workbook saved by openpyxl, as a path or an open binary file; may be the same file as `target`
    target : where the finished workbook goes, whole or not at all; or an open binary file
    results : sheet title -> cell ("B7") -> result of that formula cell, in the unit the cell shows
    alt_text : (sheet title, position of the chart on that sheet, from 0 in the order added) -> description
    ready : sheet title -> rows to put into that sheet, with their results; those are in `results` too, for whoever refers to them
    made : date the document says it was created and modified, without time zone meaning UTC; None: as saved

    Raises
    ------
    ValueError
        A formula cell without a result, a result without a formula cell, a result that is NaN, infinite,
        empty or an error value; a chart reference or an alternative text that leads nowhere.
    OSError
        `source` can't be read, or `target` or its folder can't be written; an old `target` stays whole.
    """
    finished = io.BytesIO()
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(finished, "w") as new:
        _copy(_Book(old, results, ready or {}), new, alt_text or {}, made)
    if isinstance(target, Path):
        put_in_place([(target, finished.getvalue())])
    else:
        target.write(finished.getvalue())


def _copy(
    book: _Book,
    new: zipfile.ZipFile,
    alt_text: AltTexts,
    made: datetime | None,
) -> None:
    """Every part in its old order, finished on the way; refuses at the end with all problems found."""
    sheets = {part: title for title, part in book.parts.items()}
    drawings = {drawing: title for title in book.parts if (drawing := book.drawing_of(title))}
    problems = [
        f"{title}: results for a sheet that is not there" for title in book.results if title not in book.parts
    ]
    described = {(title, place) for title in drawings.values() for place in book.charts_on(title)}
    problems += [
        f"{title}: description of chart {place}, which is not there"
        for title, place in alt_text
        if (title, place) not in described
    ]
    for name in book.package.namelist():
        content = book.package.read(name)
        if name in sheets:
            content = _sheet(content.decode(), sheets[name], book, problems).encode()
        elif name.startswith("xl/charts/"):
            content = _with_caches(content.decode(), name, book, problems).encode()
        elif name in drawings:
            content = _with_descriptions(content.decode(), drawings[name], alt_text).encode()
        elif name == "docProps/core.xml" and made is not None:
            content = DOCUMENT_DATE.sub(rf"\g<1>{_zulu(made)}", content.decode()).encode()
        new.writestr(_member(name), content, zipfile.ZIP_DEFLATED, PACKED)
    if problems:
        rest = len(problems) - PROBLEMS_NAMED
        raise ValueError("\n".join(problems[:PROBLEMS_NAMED] + [f"... and {rest} more"] * (rest > 0)))


def _member(name: str) -> zipfile.ZipInfo:
    member = zipfile.ZipInfo(name, MEMBER_DATE)
    member.create_system = 0  # otherwise the bytes tell on which system they were written
    return member


def _zulu(made: datetime) -> str:
    if made.tzinfo is not None:
        made = made.astimezone(UTC)
    return f"{made:%Y-%m-%dT%H:%M:%SZ}"


def stored(value: Result) -> tuple[str, str]:
    """A result as a cell holds it: the type attribute (empty for a number) and the text, escaped for XML.

    Raises ValueError for NaN, infinity, empty text, an error value and any other type; the caller adds where.
    """
    if isinstance(value, bool):
        return ' t="b"', "1" if value else "0"
    if isinstance(value, str):
        if not value or value in ERROR_VALUES:
            raise ValueError(f"{value!r} can't be stored as a result")
        return ' t="str"', escape(value, quote=False)
    if isinstance(value, Real) and math.isfinite(value):
        # 13 digits hide the last digit, in which machines differ; + 0.0 turns -0.0 into 0.
        return "", format(value + 0.0, ".13g")
    raise ValueError(f"{value!r} can't be stored as a result")


def _sheet(xml: str, title: str, book: _Book, problems: list[str]) -> str:
    """A sheet's part with its results, and with the rows kept for it."""
    given, rows = book.results.get(title, {}), book.ready.get(title)
    if rows is None:
        return _with_results(xml, title, given, problems)
    saved = {cell: given[cell] for cell in given.keys() - rows.formulas}
    return rows.put_into(_with_results(xml, title, saved, problems))


def _with_results(xml: str, title: str, given: Mapping[str, Result], problems: list[str]) -> str:
    met: set[str] = set()

    def fill(found: re.Match[str]) -> str:
        cell, style, formula = found.groups()
        met.add(cell)
        value = given.get(cell)
        if type(value) is float and -math.inf < value < math.inf:  # nearly all of them
            return f'<c r="{cell}"{style}>{formula}<v>{value + 0.0:.13g}</v></c>'
        try:
            kind, text = stored(given[cell])
        except KeyError:
            problems.append(f"{title}!{cell}: a formula without a result")
            return found[0]
        except ValueError as problem:
            problems.append(f"{title}!{cell}: {problem}")
            return found[0]
        return f'<c r="{cell}"{style}{kind}>{formula}<v>{text}</v></c>'

    filled = FORMULA_CELL.sub(fill, xml)
    if len(met) != len(ANY_FORMULA.findall(xml)):
        problems.append(f"{title}: a formula that is not plain (array, shared, or with a result already)")
    problems += [f"{title}!{cell}: a result without a formula" for cell in given if cell not in met]
    return filled


def _with_caches(xml: str, name: str, book: _Book, problems: list[str]) -> str:
    def fill(found: re.Match[str]) -> str:
        role, reference = found.groups()
        try:
            values = book.values_at(ElementTree.fromstring(f"<f>{reference}</f>").text or "")
            points = "".join(
                f'<pt idx="{place}"><v>{stored(value)[1]}</v></pt>'
                for place, value in enumerate(values)
                if value is not None
            )
        except ValueError as problem:
            problems.append(f"{name}: {problem}")
            return found[0]
        texts = any(isinstance(value, str) for value in values)
        if texts and role in ("val", "yVal", "xVal"):
            problems.append(f"{name}: {reference}: text among the numbers to draw")
            return found[0]
        # The library writes all categories as numbers; a name is text even when its cell holds a number.
        kind = "str" if texts or role == "tx" else "num"
        code = "<formatCode>General</formatCode>" if kind == "num" else ""
        cache = f'<{kind}Cache>{code}<ptCount val="{len(values)}"/>{points}</{kind}Cache>'
        return f"<{role}><{kind}Ref><f>{reference}</f>{cache}</{kind}Ref></{role}>"

    filled = CHART_REFERENCE.sub(fill, xml)
    if len(CHART_REFERENCE.findall(xml)) != len(ANY_FORMULA.findall(xml)):
        problems.append(f"{name}: a reference that is not plain (several levels, or with a cache already)")
    return filled


def _with_descriptions(xml: str, title: str, alt_text: AltTexts) -> str:
    def describe(found: re.Match[str]) -> str:
        text = alt_text.get((title, int(found[1]) - 1))
        return found[0] if text is None else f"{found[0]} descr={_attribute(text)}"

    return CHART_FRAME.sub(describe, xml)


def _attribute(text: str) -> str:
    return '"' + escape(text).replace("\n", "&#10;") + '"'


class _Book:
    """Where the parts of each sheet lie, and the value of any cell: a result, or what is typed there."""

    def __init__(self, package: zipfile.ZipFile, results: Results, ready: Mapping[str, Rows]) -> None:
        self.package, self.results, self.ready = package, results, ready
        related = self._related("xl/workbook.xml")
        tree = ElementTree.fromstring(package.read("xl/workbook.xml"))
        self.parts = {
            sheet.attrib["name"]: related[rid][1]
            for sheet in tree.iterfind("{*}sheets/{*}sheet")
            for key, rid in sheet.attrib.items()
            if key.endswith("}id")
        }
        self._xml: dict[str, str] = {}

    def _related(self, part: str) -> dict[str, tuple[str, str]]:
        """Relationship id -> (last word of its type, name of the part it leads to)."""
        folder, name = posixpath.split(part)
        rels = f"{folder}/_rels/{name}.rels"
        if rels not in self.package.namelist():
            return {}
        return {
            link.attrib["Id"]: (
                posixpath.basename(link.attrib["Type"]),
                posixpath.normpath(posixpath.join("/", folder, link.attrib["Target"])).lstrip("/"),
            )
            for link in ElementTree.fromstring(self.package.read(rels))
        }

    def drawing_of(self, title: str) -> str | None:
        related = self._related(self.parts[title]).values()
        return next((part for kind, part in related if kind == "drawing"), None)

    def charts_on(self, title: str) -> list[int]:
        drawing = self.drawing_of(title)
        frames = CHART_FRAME.findall(self.package.read(drawing).decode()) if drawing else []
        return [int(number) - 1 for number in frames]

    def values_at(self, reference: str) -> list[Result | None]:
        """The values of the cells of a reference such as 'Cash flow'!$B$4:$I$4, None for an empty cell.

        Raises ValueError when the reference leads to no sheet, or to nothing but empty cells.
        """
        plain = SHEET_AND_CELLS.fullmatch(reference.replace("$", ""))
        title = (plain[1] or plain[2]).replace("''", "'") if plain else ""
        if plain is None or title not in self.parts:
            raise ValueError(f"{reference}: no such cells")
        values = [self._value(title, cell) for row in rows_from_range(plain[3]) for cell in row]
        if all(value is None for value in values):
            raise ValueError(f"{reference}: nothing but empty cells")
        return values

    def _value(self, title: str, cell: str) -> Result | None:
        result = self.results.get(title, {}).get(cell)
        return self._typed(title, cell) if result is None else result

    def _typed(self, title: str, cell: str) -> Result | None:
        if title not in self._xml:
            saved = self.package.read(self.parts[title]).decode()
            self._xml[title] = self.ready[title].put_into(saved) if title in self.ready else saved
        xml = self._xml[title]
        start = xml.find(f'<c r="{cell}"')
        if start < 0:
            return None
        head = xml.index(">", start)
        end = head + 1 if xml[head - 1] == "/" else xml.index("</c>", start) + len("</c>")
        element = ElementTree.fromstring(xml[start:end])
        text = "".join(element.itertext())
        kind = element.get("t", "n")
        if not text or element.find("f") is not None:
            return None
        return float(text) if kind == "n" else text == "1" if kind == "b" else text
