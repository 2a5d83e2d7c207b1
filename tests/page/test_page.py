"""The page as a text: whole in itself, well built, its figures those of the JSON, the same bytes again.

Outside references: HTML (one h1, headings that skip no level, unique ids, lang), WCAG 2.2 (1.1.1 text alternatives, 1.3.1
relations), and the JSON of `roi compare`, whose figures are checked elsewhere.
"""

import re
from html.parser import HTMLParser
from itertools import pairwise

import pytest

from roi.answers.compare import as_json
from roi.page.content import MOST_MISTAKES
from roi.page.write import make_page
from roi.workbook.house import House
from roi.workbook.logo import read_logo
from roi.workbook.template import Template
from tests.page.pages import HOSTILE, LABEL, RIVALS, page, worked

VOID = {"meta", "img", "br", "link"}
SOURCES = {"src", "href", "xlink:href", "data", "poster", "srcset", "action", "background", "formaction"}
# Columns of the table, and where their figures stand in the JSON of a method.
FIGURES = {
    "Up front": ("first_cost",),
    "To run, year 1": ("running_cost_year_1",),
    "Cost a year": ("equivalent_annual_cost",),
    "Over 7 years": ("present_cost",),
    "The same at full cost": ("present_cost_full",),
    "A plate": ("cost_per_plate",),
    "Saves in 7 years": ("against_current", "npv_of_savings"),
    "Paid back, years": ("against_current", "simple_payback_years"),
}


class Tree(HTMLParser):
    """Every start tag with its attributes, every text with the elements it stands in."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.texts, self.open = [], [], []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        assert len({name for name, _ in attrs}) == len(attrs), attrs
        self.tags.append((tag, dict(attrs), tuple(self.open)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append((tag, dict(attrs), tuple(self.open)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.texts.append((data, tuple(self.open)))

    def all(self, name):
        return [attrs for tag, attrs, _ in self.tags if tag == name]

    def said(self, *inside):
        return " ".join("".join(text for text, where in self.texts if not set(inside) & set(where)).split())


both = pytest.mark.parametrize("which", ["demo", "crowd"])


@both
def test_nothing_comes_from_elsewhere_and_nothing_runs(which):
    tree = Tree(page(which))
    assert (
        not tree.all("script") and not tree.all("link") and not tree.all("iframe") and not tree.all("object")
    )
    for tag, attrs, _ in tree.tags:
        assert not [name for name in attrs if name.startswith("on")], (tag, attrs)
        for name in SOURCES & set(attrs):
            value = attrs[name]
            assert value.startswith("#") or ((tag, name) == ("img", "src") and value.startswith("data:"))
    styles = " ".join(
        [text for text, where in tree.texts if "style" in where]
        + [a.get("style", "") for _, a, _ in tree.tags]
    )
    assert "@import" not in styles and "@font-face" not in styles
    assert all(found.startswith("#") for found in re.findall(r"url\(([^)]*)\)", styles))
    (policy,) = [a["content"] for a in tree.all("meta") if a.get("http-equiv") == "Content-Security-Policy"]
    assert policy.startswith("default-src 'none';")


@both
def test_headings_ids_and_names_are_in_order(which):
    tree = Tree(page(which))
    assert tree.all("html") == [{"lang": "en"}]
    levels = [int(tag[1]) for tag, _, _ in tree.tags if re.fullmatch("h[1-6]", tag)]
    assert levels[0] == 1 and levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    ids = [attrs["id"] for _, attrs, _ in tree.tags if "id" in attrs]
    assert len(ids) == len(set(ids))
    for _, attrs, _ in tree.tags:
        assert set(attrs.get("aria-labelledby", "").split()) <= set(ids)
        assert attrs.get("href", attrs.get("xlink:href", "#"))[1:] in ["", *ids]
    assert {tag for tag, _, _ in tree.tags} >= {"header", "main", "footer", "title", "time"}
    for attrs in tree.all("th"):
        assert attrs["scope"] in ("col", "row")


def test_every_chart_has_a_text_that_says_what_it_shows():
    study, _ = worked("demo")
    tree = Tree(page("demo"))
    charts = tree.all("svg")
    assert len(charts) == 2 and all(chart["role"] == "img" for chart in charts)
    assert len([1 for tag, _, _ in tree.tags if tag == "desc"]) == 2
    said = " ".join(text for text, where in tree.texts if where[-1:] == ("desc",))
    for sheet in study.methods.values():
        assert f"{sheet.method.short}: USD " in said
    assert "the shop's own are 614" in said
    # Every picture that is no chart is the logo.
    assert not tree.all("img")


@both
def test_figures_are_those_of_the_json(which):
    found, html = as_json(*worked(which)), page(which)
    rows = re.findall(r'<tr role="row" id="method-\d+".*?</tr>', html)
    assert len(rows) == len(found["methods"]) > 1
    compared = 0
    for row, method in zip(rows, found["methods"].values(), strict=True):
        cells = dict(re.findall(r'data-head="([^"]*)">(.*?)</td>', row))
        assert set(FIGURES) < set(cells)
        for head, path in FIGURES.items():
            figure = method
            for step in path:
                figure = None if figure is None else figure[step]
            shown = re.fullmatch(r'<data value="([^"]*)">([^<]*)</data>', cells[head])
            if figure is None:
                assert shown is None, (head, cells[head])
                continue
            assert float(shown[1]) == figure
            # What is shown is the figure to its last place shown.
            places = len(shown[2].partition(".")[2])
            assert float(shown[2].replace(",", "")) == pytest.approx(figure, abs=0.5000001 * 10**-places)
            compared += 1
    assert compared > 6 * len(rows)


def test_the_worst_cash_point_and_going_back_are_told_of_a_change():
    """The demo's change costs most at once: what is paid at first above staying, which the JSON holds."""
    found, said = as_json(*worked("demo")), Tree(page("demo")).said("style", "desc")
    methods = found["methods"]
    first = methods[found["cheapest"]]["first_cost"] - methods[found["current"]]["first_cost"]
    assert found["cheapest"] != found["current"]
    assert (
        f"Worst cash point: At its deepest, at the switch, the change has cost USD {first:,.0f} more" in said
    )
    assert "Can it be undone? What going back would cost is not stated." in said
    # Where nothing is changed there is nothing to undo.
    (stays,) = [
        which for which in ("small", "crowd") if (j := as_json(*worked(which)))["cheapest"] == j["current"]
    ][:1]
    assert "Worst cash point" not in page(stays) and "Can it be undone" not in page(stays)


def test_the_chance_is_that_of_the_json():
    found, html = as_json(*worked("demo")), page("demo")
    (best,) = re.findall(r'<tr role="row" id="method-\d+" class="best">.*?</tr>', html)
    assert f'data-head="Cheapest in draws"><data value="{found["chance_of_cheapest"]["cash"]}">' in best


def test_it_says_date_version_currency_basis_defaults_and_cautions(monkeypatch):
    study, values = worked("small")
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1790000000")  # 2026-09-21, by the date command
    said = Tree(make_page(study, values, Template()).html).said("style", "desc")
    found = as_json(study, values)
    for text in (
        "2026-09-21", f"roi version {found['version']}", "Amounts in USD", "7 years looked ahead, after tax and in cash",
        f"Still at a default: {len(found['defaults_in_use'])} inputs", "Follow the safety data sheet", "licensed electrician",
        "Polyester never goes into it", "Your accountant decides", f"All {len(found['checks'])} checks",
    ):  # fmt: skip
        assert text in said


def test_mistakes_are_told_up_to_a_few_and_the_rest_counted(monkeypatch):
    from roi.scenario.problems import Problem

    study, values = worked("small")
    doubts = [Problem("here", f"doubt {i} is odd", f"mend {i}") for i in range(MOST_MISTAKES + 3)]
    monkeypatch.setattr("roi.page.content.beside_the_verdict", lambda study, values: doubts)
    said = Tree(make_page(study, values, Template()).html).said("style")
    assert said.count("is odd: mend") == MOST_MISTAKES
    assert "3 more: roi check tells them." in said


def test_a_failing_check_is_said_before_the_answer(monkeypatch):
    study, values = worked("small")
    monkeypatch.setattr(
        "roi.answers.compare.results", lambda study, values: [("sums", True), ("plates <", False)]
    )
    said = Tree(make_page(study, values, Template()).html).said("style")
    assert "1 of 2 checks of the figures against each other fail: plates <. Don't rely on this page." in said
    assert (
        said.index("Don't rely") < said.index("The answer")
        and "checks of the figures against each other pass" not in said
    )


def test_names_are_shown_as_they_are_and_do_nothing():
    study, _ = worked("crowd")
    tree = Tree(page("crowd"))
    assert study.scenario.name == " ".join(HOSTILE.split())
    (heading,) = [text for text, where in tree.texts if where[-1:] == ("h1",)]
    assert study.scenario.name in heading
    # In a chart too, where dollar signs would make it a formula.
    drawn = " ".join(text.strip() for text, where in tree.texts if where[-1:] == ("text",))
    assert LABEL in drawn
    assert not tree.all("b") and not tree.all("img")


def test_more_methods_than_a_chart_holds_are_counted():
    study, html = worked("crowd")[0], page("crowd")
    assert len(study.methods) == len(RIVALS) + 2
    assert re.search(r"The 5 cheapest of \d+ methods\.", html)


def test_the_template_gives_heading_colours_font_logo_and_paper():
    study, values = worked("small")
    # The smallest PNG: one grey pixel.
    pixel = bytes.fromhex(
        "89504e470d0a1a0a0000000d4948445200000001000000010800000000 3a7e9b55 0000000a49444154789c6360000000020001 48afa471"
        "0000000049454e44ae426082".replace(" ", "")
    )
    house = House(font="Georgia", heading="5A1E2B", paper="A4", logo=read_logo(pixel))
    look = Template(
        titles={"Summary": "Plates at {shop}, for {prepared_for}"}, prepared_for="A <client>", house=house
    )
    html = make_page(study, values, look).html
    assert "<h1>Plates at Invented shop, for A &lt;client&gt;</h1>" in html
    assert "--deep: #5A1E2B" in html and "size: A4" in html and "font: 16px/1.45 'Georgia'," in html
    (logo,) = Tree(html).all("img")
    assert logo["src"].startswith("data:image/png;base64,iVBOR") and logo["alt"] == "Logo"


def test_nothing_to_draw_is_said_where_no_method_can_do_the_work():
    html = page("nobody")
    assert "No method can do the work as stated, so there is nothing to draw." in html
    assert html.count("can&#39;t do the work</small>") == 2
    assert not Tree(html).all("svg")


def test_names_are_kept_out_as_the_template_says():
    study, values = worked("demo")
    names = (study.scenario.name, study.scenario.path.name, "job_log.csv")
    shown = make_page(study, values, Template(names=True)).html
    kept = make_page(study, values, Template(names=False)).html
    assert study.scenario.name in shown
    assert [name for name in names if name in kept] == []
    assert "The client" in kept
