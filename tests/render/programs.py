"""A workbook on paper: LibreOffice lays it out as a PDF, poppler reads its pages and draws them.

Lengths are points (1/72 inch) from the top left corner of a page. A page belongs to the sheet its footer names;
what is wrong with a page is told elsewhere.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import unicodedata
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory
from xml.etree import ElementTree

SECONDS = 600
PROGRAMS = {
    "soffice": "libreoffice-calc",
    "pdftotext": "poppler-utils",
    "pdftoppm": "poppler-utils",
    "pdftocairo": "poppler-utils",
    "pdffonts": "poppler-utils",
}


@dataclass(frozen=True)
class Word:
    """A word in the box it was set in."""

    text: str
    left: float
    top: float
    right: float
    bottom: float


@dataclass(frozen=True)
class Page:
    """number : counted from 1 through the PDF; text : in the order it was drawn, without the footer"""

    number: int
    sheet: str
    text: str
    words: tuple[Word, ...]
    footer: tuple[Word, ...]


def missing() -> str | None:
    """Why nothing can be rendered and how to mend it, or None when all programs are there."""
    absent = [program for program in PROGRAMS if shutil.which(program) is None]
    if not absent:
        return None
    packages = " ".join(dict.fromkeys(PROGRAMS[program] for program in absent))
    return f"not on the path: {', '.join(absent)}. Mend: apt-get install {packages}, or the like elsewhere"


def to_pdf(workbook: Path, folder: Path) -> Path:
    """Print a workbook into `folder` with LibreOffice.

    A private profile keeps the run apart from an open LibreOffice and its settings. Raises RuntimeError with
    LibreOffice's own words when it writes no file.
    """
    with TemporaryDirectory() as profile:
        place = f"-env:UserInstallation={Path(profile).as_uri()}"
        command = [
            "soffice",
            "--headless",
            place,
            "--convert-to",
            "pdf",
            "--outdir",
            str(folder),
            str(workbook),
        ]
        done = subprocess.run(command, capture_output=True, text=True, timeout=SECONDS)
    pdf = folder / f"{workbook.stem}.pdf"
    if done.returncode or not pdf.exists():
        raise RuntimeError(f"LibreOffice wrote no {pdf.name}: {done.stdout} {done.stderr}")
    return pdf


def pages_of(pdf: Path, titles: list[str]) -> list[Page]:
    """The pages of a PDF, each under the title of the sheet that its footer names.

    Raises ValueError for a page whose footer doesn't begin with one of `titles`.
    """
    drawn = _run("pdftotext", "-raw", "-enc", "UTF-8", pdf, "-").split("\f")[:-1]
    boxes = [*ElementTree.fromstring(_run("pdftotext", "-bbox", pdf, "-")).iterfind(".//{*}page")]
    pages = []
    for number, (text, box) in enumerate(zip(drawn, boxes, strict=True), 1):
        words = tuple(_word(word) for word in box.iterfind(".//{*}word"))
        last = _footer(words, number)
        footer = " ".join(word.text for word in last)
        held = [title for title in titles if squeezed(footer).startswith(squeezed(title))]
        if not held:
            raise ValueError(
                f"{pdf.name}, page {number}: its footer, {footer!r}, begins with no sheet's title"
            )
        body = tuple(word for word in words if word not in last)
        pages.append(Page(number, max(held, key=len), _without(text, footer), body, last))
    return pages


def pictures(pdf: Path, pages: list[Page], folder: Path, dpi: int) -> dict[int, Path]:
    """Draw every page as a PNG named by place, sheet and page of the sheet; the file of each page number."""
    _run("pdftoppm", "-r", str(dpi), "-png", pdf, folder / "page")
    drawn = sorted(folder.glob("page-*.png"), key=lambda file: int(file.stem.split("-")[1]))
    seen: dict[str, int] = {}
    files = {}
    for page, file in zip(pages, drawn, strict=True):
        place = seen[page.sheet] = seen.get(page.sheet, 0) + 1
        sheet = f"{[*seen].index(page.sheet) + 1:02}-{re.sub(r'[^a-z0-9]+', '-', page.sheet.lower())}"
        files[page.number] = file.rename(folder / f"{sheet}-{place:02}.png")
    return files


def outlines(pdf: Path, page: int) -> str:
    """One page as SVG, where each glyph is an outline with the area it is clipped to."""
    return _run("pdftocairo", "-svg", "-f", str(page), "-l", str(page), pdf, "-")


def fonts_of(pdf: Path) -> set[str]:
    """Names of the fonts a PDF is drawn with, without the styles after a hyphen: "DejaVuSans"."""
    rows = _run("pdffonts", pdf).splitlines()[2:]
    return {row.split()[0].split("+")[-1].split("-")[0] for row in rows if row.strip()}


def squeezed(text: str) -> str:
    """Text without blanks and line ends, ligatures taken apart: what stays the same however a text is wrapped."""
    return "".join(unicodedata.normalize("NFKC", text).split())


def _run(*command: object) -> str:
    done = subprocess.run([str(word) for word in command], capture_output=True, timeout=SECONDS)
    if done.returncode:
        raise RuntimeError(f"{command[0]}: {done.stderr.decode(errors='replace')}")
    return done.stdout.decode("utf-8")


def _word(element: ElementTree.Element) -> Word:
    edges = (float(element.attrib[name]) for name in ("xMin", "yMin", "xMax", "yMax"))
    return Word(element.text or "", *edges)


def _footer(words: tuple[Word, ...], number: int) -> tuple[Word, ...]:
    """The line that ends in "Page 3 of 12". A chart over the edge of a page leaves text below it that nobody sees."""
    for word, after in pairwise(words):
        if (word.text, after.text) == ("Page", str(number)):
            line = [other for other in words if abs(other.bottom - word.bottom) < 1]
            return tuple(sorted(line, key=lambda other: other.left))
    return ()


def _without(text: str, footer: str) -> str:
    """LibreOffice draws the footer first; it isn't part of the sheet."""
    lines = text.splitlines()
    return "\n".join(lines[1:] if lines and squeezed(lines[0]) == squeezed(footer) else lines)
