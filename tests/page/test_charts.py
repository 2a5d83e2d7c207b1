"""Charts: the figures they are drawn from, where their marks stand, files that are the same bytes again.

Outside references: the crossings that `roi breakeven` finds (checked elsewhere against published examples), the JSON of
`roi compare`, and the file formats (SVG as XML, PNG's signature in ISO/IEC 15948).
"""

import os
import subprocess
import sys
from xml.etree import ElementTree

import numpy as np
import pytest

from roi.answers.breakeven import break_even
from roi.answers.compare import as_json
from roi.answers.sensitivity import sensitivity
from roi.page.charts import BARS, break_even_chart, sensitivity_chart
from roi.page.curves import curves
from roi.page.drawing import DPI, Chart
from roi.page.money_charts import money_charts
from roi.page.voice import Voice
from roi.page.write import CHARTS, make_page
from roi.workbook.house import OWN
from roi.workbook.read_language import load_language
from roi.workbook.template import Template
from tests.page.pages import DEMO, worked

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def demo():
    return worked("demo")


@pytest.fixture(scope="module")
def turns(demo):
    return break_even(demo[0])


@pytest.fixture(scope="module")
def found(demo, turns):
    return curves(*demo, turns)


def test_curves_pass_through_what_each_method_costs_at_the_shops_own_volume(demo, found):
    methods = as_json(*demo)["methods"]
    assert {curve.method for curve in found.curves} == set(methods)
    for curve in found.curves:
        assert found.own in found.volumes
        at = found.volumes.index(found.own)
        assert curve.looked_at[at] == pytest.approx(methods[curve.method]["equivalent_annual_cost"], rel=1e-9)
        assert found.own == pytest.approx(methods[curve.method]["plates_called_for_per_year"] / 12)


def test_every_crossing_has_a_mark_where_its_two_curves_meet(turns, found):
    crossings = [(pair.between, turn) for pair in turns for turn in pair.crossings]
    assert len(crossings) == len(found.marks) > 1
    by_method = {curve.method: curve for curve in found.curves}
    for between, turn in crossings:
        (mark,) = [mark for mark in found.marks if mark.at == turn.at]
        heights = []
        for name in between:
            curve = by_method[name]
            heights += [cost for at, cost in zip(curve.volumes, curve.costs, strict=True) if at == turn.at]
        # Each curve has a point below and one above the crossing; a tie has all four at one height.
        assert len(heights) == 4
        assert min(heights) <= mark.cost <= max(heights)
        if turn.kind == "tie":
            assert np.ptp(heights) < 0.01


def test_marks_are_full_where_the_cheapest_of_all_changes(found):
    """Told by the cheapest of the curves drawn, half a plate below and above."""
    for mark in found.marks:
        below, above = (
            min(found.curves, key=lambda c: np.interp(at, c.volumes, c.costs)).method
            for at in (mark.at - 0.5, mark.at + 0.5)
        )
        assert mark.decides == (below != above)
    assert {mark.decides for mark in found.marks} == {True, False}


def test_bars_go_from_the_lead_at_best_to_that_at_each_end(demo):
    study, values = demo
    told = sensitivity(study, values)
    chart = sensitivity_chart(study, told, OWN)
    (axes,) = chart.figure.axes
    bars = [(bar.get_x(), bar.get_x() + bar.get_width()) for bar in axes.patches]
    ends = [end.lead for tried in told.inputs[:BARS] for end in (tried.at_low, tried.at_high)]
    assert None not in ends and len(bars) == len(ends) == 2 * BARS
    for (start, stop), lead in zip(bars, ends, strict=True):
        assert start == pytest.approx(told.best.lead) and stop == pytest.approx(lead)


def test_no_line_of_the_grid_runs_through_a_label(demo):
    """Each label stands on a ground that lets nothing through, above the grid and the line of the lead."""
    study, values = demo
    (axes,) = sensitivity_chart(study, sensitivity(study, values), OWN).figure.axes
    labels = [text for text in axes.texts if ": " in text.get_text()]
    lines = [*axes.get_xgridlines(), *axes.lines]
    assert len(labels) == BARS and lines
    for label in labels:
        ground = label.get_bbox_patch()
        assert ground.get_alpha() == 1 and label.get_zorder() > max(line.get_zorder() for line in lines)


def test_letters_of_charts_stand_inside(demo, found):
    """By the library's own measure of each text, in the widest font."""
    study, values = demo
    for chart in (
        break_even_chart(study, found, OWN),
        sensitivity_chart(study, sensitivity(study, values), OWN),
    ):
        # Numbers beyond the ends of an axis are there, and not drawn.
        drawn = {"".join(text.itertext()) for text in ElementTree.fromstring(chart.svg()).iter(f"{SVG}text")}
        texts = [
            t
            for t in chart.figure.findobj(lambda a: hasattr(a, "get_text"))
            if drawn & set(t.get_text().split("\n"))
        ]
        assert len(texts) > 8
        box = chart.figure.bbox
        for text in texts:
            extent = text.get_window_extent()
            assert extent.x0 >= box.x0 - 1 and extent.x1 <= box.x1 + 1, text.get_text()


@pytest.mark.parametrize("language", ["en", "de"])
def test_titles_stand_apart_from_the_axes_and_every_letter_inside(demo, found, language, monkeypatch):
    """As the library laid out each file, after the page's own drawing; boxes are its own measure, in the widest font."""
    study, values = demo
    voice = Voice(load_language(language))
    measured = []

    def save_and_measure(chart, kind, **more):
        content = saved(chart, kind, **more)
        figure, ((axes,), title) = chart.figure, (chart.figure.axes, chart.figure._suptitle)
        dpi, figure.dpi = (
            figure.dpi,
            DPI if kind == "png" else 72,
        )  # in the dots of the file, where everything stands now
        if title is not None and title.get_text():
            measured.append(kind)
            assert title.get_window_extent().y0 >= axes.get_tightbbox().y1 - 1, (chart.name, kind)
        low, high = sorted(axes.get_xlim())
        ticks = [*axes.xaxis.get_major_ticks(), *axes.yaxis.get_major_ticks()]
        # Numbers beyond the ends of an axis are there, and not drawn.
        beyond = {t.label1 for t in ticks[: len(axes.get_xticks())] if not low <= t.get_loc() <= high}
        beyond |= {t.label1 for t in ticks[len(axes.get_xticks()) :]}
        texts = [
            t for t in figure.findobj(lambda a: hasattr(a, "get_text")) if t.get_text() and t not in beyond
        ]
        assert len(texts) > 8
        for box, text in ((t.get_window_extent(), t.get_text()) for t in texts):
            assert box.x0 >= -1 and box.x1 <= figure.bbox.x1 + 1, (chart.name, kind, text)
            assert box.y0 >= -1 and box.y1 <= figure.bbox.y1 + 1, (chart.name, kind, text)
        if chart.name == "sensitivity":
            grounds = [t.get_bbox_patch().get_window_extent() for t in axes.texts if t.get_bbox_patch()]
            for bar in (
                bar.get_window_extent()
                for bar in axes.patches
                if bar.get_width() and bar.get_hatch() is not None
            ):
                assert not any(g.y0 < bar.y1 - 0.5 and g.y1 > bar.y0 + 0.5 for g in grounds), kind
        figure.dpi = dpi
        return content

    saved = Chart._saved
    monkeypatch.setattr(Chart, "_saved", save_and_measure)
    for chart in (
        break_even_chart(study, found, OWN, voice),
        sensitivity_chart(study, sensitivity(study, values), OWN, voice),
        *money_charts(study, values, OWN, voice),
    ):
        chart.svg(), chart.svg_file(), chart.png_file()
    assert measured == ["svg", "png"] * 4


def test_files_are_svg_and_png_and_the_same_again(demo, tmp_path, monkeypatch):
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1790000000")
    page = make_page(*demo, Template(), charts=True)
    assert sorted(page.files) == sorted(f"{name}.{kind}" for name in CHARTS for kind in ("svg", "png"))
    for name, content in page.files.items():
        if name.endswith("png"):
            assert content.startswith(b"\x89PNG\r\n\x1a\n")
            continue
        root = ElementTree.fromstring(content)
        assert root.tag == f"{SVG}svg" and root.get("role") == "img"
        assert root.findtext(f"{SVG}title") and len(root.findtext(f"{SVG}desc")) > 100
        # The finding stands above the chart too.
        drawn = " ".join(" ".join(text.itertext()) for text in root.iter(f"{SVG}text"))
        assert root.findtext(f"{SVG}title").split()[0] in drawn
        assert b"matplotlib" not in content.lower() and b"2026" not in content
    # Another run of the program, with another seed for the order of sets and settings of the user's own.
    (tmp_path / "matplotlibrc").write_text("font.size: 30\nsvg.fonttype: path\n", encoding="utf-8")
    command = [
        sys.executable,
        "-c",
        "from roi.cli import main; main()",
        "brief",
        str(DEMO),
        "-o",
        str(tmp_path / "b.html"),
    ]
    done = subprocess.run(
        [*command, "--charts", str(tmp_path / "charts")],
        env={**os.environ, "PYTHONHASHSEED": "1", "MATPLOTLIBRC": str(tmp_path), "PYTHONPATH": str(DEMO.parents[2])},
        capture_output=True, text=True, timeout=120,
    )  # fmt: skip
    assert done.returncode == 0 and done.stderr == "", done.stderr
    assert (tmp_path / "b.html").read_text(encoding="utf-8") == page.html
    assert {file.name: file.read_bytes() for file in (tmp_path / "charts").iterdir()} == page.files
