"""What charts must be: titled, with named axes that show, in colours that stand out, holding their values."""

from __future__ import annotations

import posixpath
from collections.abc import Iterator
from xml.etree import ElementTree

from roi.workbook.palette import PAPER, contrast
from tests.workbook.opened import Opened

MOST_SERIES = 6
LEAST_CONTRAST = 3.0
PLOT = "{*}chart/{*}plotArea/*"


def drawings_have_alternative_text(opened: Opened) -> Iterator[str]:
    for name, tree in _trees(opened, "xl/drawings/"):
        for frame in tree.iterfind(".//{*}cNvPr"):
            if not frame.get("descr", "").strip():
                yield f"{name}: {frame.get('name')} has no alternative text"


def charts_say_what_they_show(opened: Opened) -> Iterator[str]:
    for name, tree in _trees(opened, "xl/charts/"):
        if not _text(tree.find("{*}chart/{*}title")):
            yield f"{name}: no title"
        for axis in _axes(tree):
            kind = axis.tag.partition("}")[2]
            if not _text(axis.find("{*}title")):
                yield f"{name}: {kind} without a title"
            if (gone := axis.find("{*}delete")) is None or gone.get("val") != "0":
                yield f"{name}: {kind} does not say that it shows"
        for title in tree.iterfind(".//{*}title"):
            if (over := title.find("{*}overlay")) is None or over.get("val") != "0":
                yield f"{name}: a title may lie over the plot"
        if any(_text(series.find("{*}tx")) == "" for series in tree.iterfind(".//{*}ser")):
            yield f"{name}: a series without a name"


def charts_are_simple(opened: Opened) -> Iterator[str]:
    for name, tree in _trees(opened, "xl/charts/"):
        kinds = [part.tag.partition("}")[2] for part in tree.findall(PLOT)]
        if any(kind.endswith("3DChart") or kind.startswith(("pie", "doughnut")) for kind in kinds):
            yield f"{name}: pie or three dimensions"
        if kinds.count("valAx") > (2 if "scatterChart" in kinds else 1):
            yield f"{name}: a second value axis"
        if not 1 <= len(tree.findall(".//{*}ser")) <= MOST_SERIES:
            yield f"{name}: {len(tree.findall('.//{*}ser'))} series, at most {MOST_SERIES}"
        if "barChart" in kinds:
            low = tree.find(".//{*}valAx/{*}scaling/{*}min")
            drawn = [float(point.text or "nan") for point in tree.iterfind(".//{*}val//{*}pt/{*}v")]
            # Bars to either side of zero can't begin with the axis; the program then crosses the axes at zero.
            if min(drawn, default=0) < 0 and low is None:
                continue
            if low is None or float(low.get("val", "nan")) != 0:
                yield f"{name}: bars are not set to start at zero"


def series_have_their_own_colours(opened: Opened) -> Iterator[str]:
    for name, tree in _trees(opened, "xl/charts/"):
        colours = []
        for series in tree.iterfind(".//{*}ser"):
            colour = series.find("{*}spPr//{*}srgbClr")
            colours.append("" if colour is None else colour.get("val", ""))
        if "" in colours:
            yield f"{name}: a series without its own colour"
        if len(set(colours)) != len(colours):
            yield f"{name}: two series of one colour"
        for given in filter(None, colours):
            if contrast(given, PAPER) < LEAST_CONTRAST:
                yield f"{name}: {given} has {contrast(given, PAPER):.1f} : 1 on white, at least 3"


def charts_hold_their_values(opened: Opened) -> Iterator[str]:
    """Each reference has a cache without gaps, and what is drawn are numbers."""
    for name, tree in _trees(opened, "xl/charts/"):
        for holder in tree.iter():
            reference = holder.find("{*}f")
            if reference is None:
                continue
            count, points = holder.find("*/{*}ptCount"), holder.findall("*/{*}pt")
            if count is None or not points:
                yield f"{name}: {reference.text} holds no values"
            elif int(count.get("val", "0")) != len(points):
                yield f"{name}: {reference.text} has empty cells"
        for numbers in (*tree.iterfind(".//{*}val"), *tree.iterfind(".//{*}yVal")):
            if numbers.find("{*}numRef") is None:
                yield f"{name}: a series draws something other than numbers in cells"


def _trees(opened: Opened, folder: str) -> Iterator[tuple[str, ElementTree.Element]]:
    for name, content in opened.parts.items():
        if posixpath.dirname(name) + "/" == folder and name.endswith(".xml"):
            yield posixpath.basename(name), ElementTree.fromstring(content)


def _axes(tree: ElementTree.Element) -> list[ElementTree.Element]:
    return [part for part in tree.findall(PLOT) if part.tag.endswith("Ax")]


def _text(element: ElementTree.Element | None) -> str:
    """A written text, or the reference of a linked one."""
    return "" if element is None else "".join(element.itertext()).strip()


RULES = (
    drawings_have_alternative_text,
    charts_say_what_they_show,
    charts_are_simple,
    series_have_their_own_colours,
    charts_hold_their_values,
)
