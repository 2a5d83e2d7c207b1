"""Which words of a page are drawn only in part, because the cell or chart they stand in is too small.

What lies wholly outside its cell LibreOffice leaves out of the PDF, so it is missed in the text; what is cut
in the middle is drawn whole and clipped, so the text has it and only the outlines show it. Lengths are points.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from xml.etree import ElementTree

from tests.render.programs import Page, Word

# Of a letter's height: less is the soft edge of a letter, such as the foot of a g on a cell's rim.
TOLERATED = 0.15
SVG = "{http://www.w3.org/2000/svg}"
HREF = "{http://www.w3.org/1999/xlink}href"
NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e-?\d+)?")

Box = tuple[float, float, float, float]


def clipped_words(page: Page, svg: str) -> list[Word]:
    """The words of a page that are cut in part, those of the footer last; `svg` is the page from `outlines`."""
    cut = [*_cut_letters(ElementTree.fromstring(svg))]
    return [
        word
        for word in (*page.words, *page.footer)
        if any(word.left <= x <= word.right and word.top <= y <= word.bottom for x, y in cut)
    ]


def _cut_letters(root: ElementTree.Element) -> Iterator[tuple[float, float]]:
    """The middle of each letter that sticks out of an area it is clipped to."""
    named = {element.get("id"): element for element in root.iter() if "id" in element.attrib}
    letters: dict[str, Box | None] = {}
    for group in root.iter(f"{SVG}g"):
        if "clip-path" not in group.attrib:
            continue
        area = _box(named[group.attrib["clip-path"].removeprefix("url(#").removesuffix(")")])
        for use in group.iter(f"{SVG}use"):
            name = use.attrib[HREF][1:]
            if name not in letters:
                letters[name] = _box(named[name])
            letter = letters[name]
            # An image is placed by a transform, a letter by x and y.
            if area is None or letter is None or "x" not in use.attrib:
                continue
            x, y = float(use.attrib["x"]), float(use.attrib["y"])
            left, top, right, bottom = letter[0] + x, letter[1] + y, letter[2] + x, letter[3] + y
            out = max(area[0] - left, area[1] - top, right - area[2], bottom - area[3])
            if out > TOLERATED * max(right - left, bottom - top):
                yield (left + right) / 2, (top + bottom) / 2


def _box(element: ElementTree.Element) -> Box | None:
    """The box around the outline of a letter or an area; None for a blank."""
    path = element.find(f"{SVG}path")
    numbers = [float(n) for n in NUMBER.findall(path.get("d", ""))] if path is not None else []
    xs, ys = numbers[::2], numbers[1::2]
    return (min(xs), min(ys), max(xs), max(ys)) if xs and ys else None
