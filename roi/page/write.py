"""The page made whole: texts, figures and charts put into its template, and the charts as files.

The page needs no network, no fonts and no scripts; it says so itself, so that a browser keeps to it. All text from outside
is escaped.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Mapping
from dataclasses import dataclass
from html import escape, unescape
from pathlib import Path

import roi
from roi.answers.breakeven import break_even
from roi.answers.sensitivity import sensitivity
from roi.engine.evaluate import Values
from roi.model.study import Study
from roi.page.charts import BARS, break_even_chart, sensitivity_chart
from roi.page.content import content
from roi.page.curves import MOST, Curves, curves
from roi.page.drawing import Chart, fonts_of
from roi.page.fit import letters_and_charts
from roi.page.money_charts import money_charts
from roi.page.needs import need_libraries
from roi.page.voice import Voice
from roi.workbook.house import AUTO
from roi.workbook.kept_out import KeptOut
from roi.workbook.made import now
from roi.workbook.say_the_rest import names_of
from roi.workbook.template import Template

_SHOWN = re.compile(r"(>)([^<>]*\w[^<>]*)(<)")
_SAID = re.compile(r"""((?:aria-label|alt|content|title)=")([^"]*)(")""")
CHARTS = ("break-even", "sensitivity", "cumulative-cost", "cost-by-family")  # names of files


@dataclass(frozen=True)
class Page:
    """The page as HTML, and its charts by the names of their files, SVG and PNG."""

    html: str
    files: Mapping[str, bytes]


def make_page(study: Study, values: Values, look: Template, *, charts: bool = False) -> Page:
    """The page of a study; `values` are its lines at the best values, `look` gives heading, colours, font, logo and paper.

    charts : whether to make the files of charts too
    Raises BadInput where a library that this needs is missing.
    """
    need_libraries()
    voice = Voice(look.tongue, names_of(study.scenario))
    cost = curves(study, values, break_even(study), voice)
    ranked = sensitivity(study, values, voice.tell)
    house = look.house
    # Without a method that can do the work there is nothing to draw.
    drawn = [break_even_chart(study, cost, house, voice)] if cost.curves else []
    if (bars := sensitivity_chart(study, ranked, house, voice)) is not None:
        drawn.append(bars)
    html = _filled(study, values, look, voice, drawn, cost, ranked.left_out + len(ranked.inputs))
    files: dict[str, bytes] = {}
    if charts:
        for chart in [*drawn, *money_charts(study, values, house, voice)]:
            files |= {f"{chart.name}.svg": chart.svg_file(), f"{chart.name}.png": chart.png_file()}
    return Page(html, files)


def _filled(
    study: Study,
    values: Values,
    look: Template,
    voice: Voice,
    drawn: list[Chart],
    cost: Curves,
    inputs: int,
) -> str:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined
    from markupsafe import Markup

    house, scenario = look.house, study.scenario
    facts = look.facts(scenario.name, scenario.currency, now())
    title = voice.say(look.title("Summary", facts, False) or f"{scenario.name}: how should plates be made?")
    told = content(study, values, voice)
    size, height = letters_and_charts(title, told, drawn)
    by_name = {chart.name: chart for chart in drawn}
    environment = Environment(
        loader=FileSystemLoader(Path(__file__).parent), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip
    logo = None
    if house.logo is not None:
        logo = f"data:image/{house.logo.kind};base64,{base64.b64encode(house.logo.content).decode()}"
    page = environment.get_template("brief.html").render(
        title=title,
        facts=facts,
        stated={"for": look.prepared_for, "by": look.prepared_by},
        version=roi.__version__,
        told=told,
        charts=by_name,
        svg={name: Markup(chart.svg()) for name, chart in by_name.items()},
        cost=cost,
        most=MOST,
        bars=BARS,
        inputs=inputs,
        voice=voice,
        say=voice.say,
        house=house,
        fonts=Markup(fonts_of(house)),
        paper="" if house.paper == AUTO else house.paper,
        logo=logo,
        size=size,
        height=height,
    )
    return _kept_out(page, KeptOut([scenario], look))


def _kept_out(page: str, kept: KeptOut) -> str:
    """The page without the names and words that its template keeps out, in texts and in what describes pictures."""
    head, style, rest = page.partition("<style")
    rules, end, body = rest.partition("</style>")

    def without(found: re.Match[str]) -> str:
        said = unescape(found[2])
        bare = kept.without(said)
        return found[0] if bare == said else found[1] + escape(bare, quote=True) + found[3]

    def told(html: str) -> str:
        return _SAID.sub(without, _SHOWN.sub(without, html))

    return told(head) + style + rules + end + told(body)


__all__ = ["CHARTS", "Page", "make_page"]
