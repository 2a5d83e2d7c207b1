"""What is wrong with a workbook on paper: numbers that don't fit, error values, texts cut, lost or over one another.

A text counts as legible when all of it, blanks left out since they move in wrapping, stands in one piece in what
was drawn of its sheet, at least as often as the sheet holds it, and no letter of it is clipped.
"""

from __future__ import annotations

import re
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tests.render.clipped import clipped_words
from tests.render.programs import Page, Word, outlines, squeezed
from tests.render.texts import Texts

NO_ROOM = re.compile(r"^[-(]?#{2,}\)?$")
ERROR = re.compile(r"#REF!|#VALUE!|#NAME\?|#DIV/0!|#N/A|#NUM!|#NULL!|Err:\d{3}")


@dataclass(frozen=True)
class Finding:
    """page : number in the PDF, or None where the sheet as a whole is meant"""

    sheet: str
    page: int | None
    what: str


def findings(pdf: Path, pages: list[Page], texts: Texts) -> list[Finding]:
    """All that is wrong, sheet by sheet in the order of the workbook, page by page."""
    with ThreadPoolExecutor() as pool:
        drawn = pool.map(lambda page: outlines(pdf, page.number), pages)
        cut = [clipped_words(page, svg) for page, svg in zip(pages, drawn, strict=True)]
    found = [finding for page, words in zip(pages, cut, strict=True) for finding in _on_page(page, words)]
    for sheet in texts.of:
        own = [(page, words) for page, words in zip(pages, cut, strict=True) if page.sheet == sheet]
        feet = sum(any(word in page.footer for word in words) for page, words in own)
        if feet:
            found.append(Finding(sheet, None, f"the footer is cut on {feet} of {len(own)} pages"))
        found += _lost(sheet, [page for page, _ in own], texts)
    order = [*texts.of]
    return sorted(found, key=lambda finding: (order.index(finding.sheet), finding.page or 0))


def _on_page(page: Page, cut: list[Word]) -> list[Finding]:
    narrow = sum(NO_ROOM.match(word.text) is not None for word in page.words)
    errors = Counter(error for word in page.words for error in ERROR.findall(word.text))
    clipped = [word.text for word in cut if word in page.words and not NO_ROOM.match(word.text)]
    said = [f"{narrow} x ### (the column is too narrow for the number)"] if narrow else []
    said += [f"{count} x {error}" for error, count in errors.items()]
    said += [f"cut in part: {' '.join(clipped)}"] if clipped else []
    # A cut word's box reaches into its neighbour, where nothing of it is drawn.
    over = overlapping(tuple(word for word in page.words if word not in cut))
    said += [f"over one another: {'; '.join(f'{one} and {two}' for one, two in over)}"] if over else []
    return [Finding(page.sheet, page.number, what) for what in said]


def overlapping(words: tuple[Word, ...]) -> list[tuple[str, str]]:
    """Pairs of words that share a quarter of the narrower one's width and half of the lower one's height.

    Boxes reach from the font's highest to its lowest point, so those of neighbouring lines overlap a little.
    """
    if not words:
        return []
    left, top, right, bottom = np.array([(w.left, w.top, w.right, w.bottom) for w in words]).T
    shared_width = np.minimum.outer(right, right) - np.maximum.outer(left, left)
    shared_height = np.minimum.outer(bottom, bottom) - np.maximum.outer(top, top)
    wide = shared_width > 0.25 * np.minimum.outer(right - left, right - left)
    high = shared_height > 0.5 * np.minimum.outer(bottom - top, bottom - top)
    return [(words[i].text, words[j].text) for i, j in np.argwhere(np.triu(wide & high, 1))]


def _lost(sheet: str, pages: list[Page], texts: Texts) -> list[Finding]:
    """Texts of a sheet that aren't on its pages, each with what is left of it."""
    if not pages:
        return [Finding(sheet, None, "no page")] if texts.of[sheet] else []
    drawn = squeezed("".join(page.text for page in pages))
    count = Counter(squeezed(text.text) for text in texts.of[sheet])
    found = []
    for text in texts.of[sheet]:
        wanted = squeezed(text.text)
        if drawn.count(wanted) < count.pop(wanted, 0):
            left = wanted[: _longest_start(wanted, drawn)]
            shown = _as_written(text.text, len(left))
            rest = "it less often than the sheet holds it" if left == wanted else f"no more than {shown!r}"
            page = next((p.number for p in pages if left and left in squeezed(p.text)), None)
            found.append(Finding(sheet, page, f"{text.where}: {text.text!r} is cut, the page has {rest}"))
    return found


def _as_written(text: str, letters: int) -> str:
    """The beginning of a text that holds so many letters, blanks not counted."""
    return next((text[:i] for i in range(len(text) + 1) if len(squeezed(text[:i])) >= letters), text)


def _longest_start(text: str, drawn: str) -> int:
    """How many letters of a text's beginning occur in what was drawn; found by halving, as every shorter one does too."""
    low, high = 0, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if text[:middle] in drawn else (low, middle - 1)
    return low
