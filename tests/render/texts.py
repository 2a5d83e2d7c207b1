"""What must be legible on each sheet: texts of cells, and the titles and legends of charts, from the saved file.

Results of formulas are those stored in the file. Numbers aren't listed: a number that doesn't fit is shown as
"###", never in part.
"""

from __future__ import annotations

import posixpath
import zipfile
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree

from openpyxl import load_workbook

from roi.workbook.paper import FIRST_PAGE, workings


@dataclass(frozen=True)
class Text:
    """where : a cell, or a chart and its part: "B7" or "chart 1, title"."""

    where: str
    text: str


@dataclass(frozen=True)
class Texts:
    """of : sheet title -> its texts, in the order of the workbook; opens_on : the sheet a reader sees first

    fonts : the families the workbook asks for
    """

    of: dict[str, list[Text]]
    opens_on: str
    fonts: set[str]


def texts_of(workbook: Path) -> Texts:
    """Every text a reader should find. Raises openpyxl's errors for a file that is no workbook."""
    book = load_workbook(workbook, data_only=True)
    # Workings print their first page alone, and say so; what a print area leaves out elsewhere is lost.
    traced = workings(book.sheetnames)
    of = {
        sheet.title: [
            Text(cell.coordinate, cell.value)
            for row in sheet.iter_rows(max_row=FIRST_PAGE if sheet.title in traced else None)
            for cell in row
            if isinstance(cell.value, str) and cell.data_type != "e" and cell.value.strip()
        ]
        for sheet in book.worksheets
    }
    with zipfile.ZipFile(workbook) as package:
        styles = ElementTree.fromstring(package.read("xl/styles.xml"))
        fonts = {name.attrib["val"] for name in styles.iterfind("{*}fonts/{*}font/{*}name")}
        for title, part in _sheets(package).items():
            for drawing in _linked(package, part, "drawing"):
                for number, chart in enumerate(_linked(package, drawing, "chart"), 1):
                    of[title] += _chart_texts(ElementTree.fromstring(package.read(chart)), number)
    return Texts(of, book.active.title, fonts)


def _chart_texts(chart: ElementTree.Element, number: int) -> list[Text]:
    found = [Text(f"chart {number}, title", _plain(title)) for title in chart.iterfind(".//{*}title")]
    legend = chart.find(".//{*}legend")
    if legend is not None and legend.find("{*}legendEntry") is None:
        found += [Text(f"chart {number}, legend", _plain(name)) for name in chart.iterfind(".//{*}ser/{*}tx")]
    return [text for text in found if text.text.strip()]


def _plain(element: ElementTree.Element) -> str:
    """The words typed into a title, or those stored for the cell it is linked to."""
    parts = (*element.iterfind(".//{*}t"), *element.iterfind(".//{*}v"))
    return "".join(part.text or "" for part in parts)


def _sheets(package: zipfile.ZipFile) -> dict[str, str]:
    links = _links(package, "xl/workbook.xml")
    sheets = ElementTree.fromstring(package.read("xl/workbook.xml")).iterfind("{*}sheets/{*}sheet")
    return {
        sheet.attrib["name"]: links[value][1]
        for sheet in sheets
        for key, value in sheet.attrib.items()
        if key.endswith("}id")
    }


def _linked(package: zipfile.ZipFile, part: str, kind: str) -> list[str]:
    return [target for found, target in _links(package, part).values() if found == kind]


def _links(package: zipfile.ZipFile, part: str) -> dict[str, tuple[str, str]]:
    """The parts one part refers to: id -> (kind, name in the package)."""
    folder, name = posixpath.split(part)
    listed = f"{folder}/_rels/{name}.rels"
    if listed not in package.namelist():
        return {}
    return {
        link.attrib["Id"]: (
            posixpath.basename(link.attrib["Type"]),
            posixpath.normpath(posixpath.join("/", folder, link.attrib["Target"])).lstrip("/"),
        )
        for link in ElementTree.fromstring(package.read(listed))
        if link.get("TargetMode") != "External"
    }
