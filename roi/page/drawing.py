"""Drawing in a house style with matplotlib, and what comes of it: SVG that can be read out, PNG.

Text stays text in SVG and is measured in the font that comes with the library, among the widest there are, so that any
font of the reader's fits. Nothing of the user's own settings, of the day or of the machine gets into a drawing: the same
chart gives the same bytes. Lengths are inches, sizes of letters points.
"""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree

from roi.workbook.house import House
from roi.workbook.palette import GRID, PAPER

if TYPE_CHECKING:
    from matplotlib.figure import Figure

WIDTH = 4.4  # inches: drawn at the size it has on a telephone, so that letters can be read there
SMALL, SMALLER, TALL = 9.5, 8.6, 11.0  # points
DPI = 200  # of PNG
_MEASURED = "DejaVu Sans"  # comes with the library
_SVG, _XLINK = "http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"


@dataclass(frozen=True)
class Chart:
    """A drawing. `name`: that of its files, without ending; `title`: the finding; `text`: what it shows, for who can't see it."""

    name: str
    title: str
    text: str
    figure: Figure
    house: House

    def svg(self) -> str:
        """The SVG element, without a size of its own, as it stands in a page."""
        root = self._drawn()
        for size in ("width", "height"):
            root.attrib.pop(size, None)
        return ElementTree.tostring(root, encoding="unicode")

    def svg_file(self) -> bytes:
        """The SVG as a file."""
        with self._titled():
            text = ElementTree.tostring(self._drawn(), encoding="unicode")
        return f'<?xml version="1.0" encoding="utf-8"?>\n{text}\n'.encode()

    def png_file(self) -> bytes:
        """The PNG as a file."""
        facts = {"Software": None, "Title": self.title, "Description": self.text}
        with self._titled():
            return self._saved("png", dpi=DPI, metadata=facts)

    @contextmanager
    def _titled(self) -> Iterator[None]:
        """The title drawn above, in room of its own: beside a page's heading it would stand twice."""
        height = self.figure.get_figheight()
        lines = fitted(self.title, TALL, WIDTH * 0.97, bold=True)
        with style(self.house):
            title = self.figure.suptitle(
                "\n".join(lines), x=0.01, ha="left", fontsize=TALL, fontweight="bold"
            )
        # The library hands out the same title again, left out of the layout by the drawing before.
        title.set_in_layout(True)
        self.figure.set_figheight(height + TALL * 1.4 / 72 * len(lines))
        yield
        title.set_text("")
        title.set_in_layout(False)
        self.figure.set_figheight(height)

    def _saved(self, kind: str, **more: Any) -> bytes:
        content = io.BytesIO()
        with style(self.house), warnings.catch_warnings():
            # A sign that the measuring font lacks takes a box's width; the reader's own font draws it.
            warnings.filterwarnings("ignore", r"Glyph \d+")
            self.figure.savefig(content, format=kind, **more)
        return content.getvalue()

    def _drawn(self) -> ElementTree.Element:
        """The library's SVG with a title and a description, ids of its own, and without what names the library."""
        ElementTree.register_namespace("", _SVG)
        ElementTree.register_namespace("xlink", _XLINK)
        root = ElementTree.fromstring(self._saved("svg", metadata={"Date": None}))
        for useless in (f"{{{_SVG}}}metadata", f"{{{_SVG}}}defs"):
            for child in root.findall(useless):
                if useless.endswith("metadata") or child.find(f"{{{_SVG}}}style") is not None:
                    root.remove(child)
        self._name(root)
        fonts = fonts_of(self.house)
        for element in root.iter():
            if element.tag == f"{{{_SVG}}}text":
                element.set("style", element.get("style", "").replace(f"'{_MEASURED}'", fonts))
        root.set("style", "stroke-linejoin: round; stroke-linecap: butt")
        root.set("role", "img")
        root.set("aria-labelledby", f"{self.name}-title {self.name}-text")
        for place, (tag, text) in enumerate((("title", self.title), ("desc", self.text))):
            element = ElementTree.Element(f"{{{_SVG}}}{tag}")
            element.set("id", f"{self.name}-{'title' if tag == 'title' else 'text'}")
            element.text = text
            root.insert(place, element)
        return root

    def _name(self, root: ElementTree.Element) -> None:
        """Ids that only this chart has, and none that nothing refers to: several charts stand in one page."""
        link = f"{{{_XLINK}}}href"
        used = {element.get(link, "")[1:] for element in root.iter()}
        for element in root.iter():
            used |= {
                found for value in element.attrib.values() for found in re.findall(r"url\(#([^)]*)\)", value)
            }
        for element in root.iter():
            for key, value in list(element.attrib.items()):
                if key == "id":
                    if value in used:
                        element.set(key, f"{self.name}-{value}")
                    else:
                        del element.attrib[key]
                elif key == link:
                    element.set(key, f"#{self.name}-{value[1:]}")
                elif "url(#" in value:
                    element.set(key, value.replace("url(#", f"url(#{self.name}-"))


def fonts_of(house: House) -> str:
    """The fonts to set letters in, the first there is; in single quotation marks where a name has blanks."""
    return f"'{house.font}', Carlito, Candara, 'Segoe UI', 'Liberation Sans', Arial, sans-serif"


@contextmanager
def style(house: House) -> Iterator[None]:
    """The library's settings while something is drawn or saved, whatever the user has set."""
    import matplotlib

    ink, grid = f"#{house.ink}", f"#{GRID}"
    with matplotlib.rc_context():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(
            {
                "svg.fonttype": "none",
                "svg.hashsalt": "plate-roi",
                # A name may hold dollar signs; nothing here is a formula.
                "text.parse_math": False,
                "font.family": [_MEASURED],
                "font.size": SMALL,
                "text.color": ink,
                "axes.labelcolor": ink,
                "axes.edgecolor": ink,
                "axes.linewidth": 0.7,
                "axes.spines.top": False,
                "axes.spines.right": False,
                "axes.labelsize": SMALL,
                "axes.titlesize": SMALL,
                "axes.titleweight": "normal",
                "axes.axisbelow": True,
                "xtick.color": ink,
                "ytick.color": ink,
                "xtick.labelsize": SMALL,
                "ytick.labelsize": SMALL,
                "grid.color": grid,
                "grid.linewidth": 0.7,
                "legend.frameon": False,
                "legend.fontsize": SMALL,
                "legend.handlelength": 2.6,
                "hatch.linewidth": 0.6,
                "figure.facecolor": f"#{PAPER}",
                "axes.facecolor": f"#{PAPER}",
                "path.simplify": False,
            }
        )
        yield


def fitted(text: str, points: float, inches: float, *, bold: bool = False) -> list[str]:
    """A text cut between words into lines of at most a width, measured in the library's own font; a longer word stays whole."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(family=_MEASURED, size=points, weight="bold" if bold else "normal")
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        with warnings.catch_warnings():
            warnings.filterwarnings("ignore", r"Glyph \d+")
            width = text_to_path.get_text_width_height_descent(longer, font, ismath=False)[0] / 72
        if lines and width <= inches:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def blank(height: float) -> Figure:
    """An empty figure of the usual width."""
    from matplotlib.figure import Figure

    return Figure(figsize=(WIDTH, height), layout="constrained")


__all__ = ["SMALL", "SMALLER", "WIDTH", "Chart", "blank", "fitted", "fonts_of", "style"]
