"""Shops and their pages: the demo, a small one, a crowd of nine methods, and one whose work nobody can do.

The crowd's names are as bad as names can be.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from roi.model.study import build
from roi.page.write import make_page
from roi.scenario.scenario import read
from roi.workbook.house import House
from roi.workbook.template import Template
from tests.small_shop import SHOP

DEMO = Path(__file__).parents[2] / "scenarios" / "us_two_press" / "shop.toml"
# What would run, break out of an element, an attribute, a comment or a style, or be a formula to a plotting library.
HOSTILE = """<script>alert(1)</script><img src=x onerror=alert(2)> "quoted" &amp; --> ]]></style> $x_1$"""
# A label that a chart shows, since no input moves the answer more than the price of that plate.
LABEL = """_<b>$x_1$</b> "&amp;" -->"""
PRICE = '[methods.polyester.plates.price]\nsmall = { best = "1.5 USD/plate", low = "0.5 USD/plate", high = "9 USD/plate" }\n'
RIVALS = (
    "processed",
    "bought_in",
    "gum_only",
    "on_press",
    "polyester_new",
    "processed_new",
    "processed_used",
)
CROWD = SHOP.replace('name = "Invented shop"', f"name = '{HOSTILE}'")
CROWD = CROWD.replace(
    'small = "330 mm x 492 mm"', f"small = {{ label = '{LABEL}', format = '330 mm x 492 mm' }}"
)
CROWD = CROWD.replace("small = 300", "small = 700").replace("[methods.direct]", f"{PRICE}\n[methods.direct]")
CROWD += "".join(f"\n[methods.{name}]\n" for name in RIVALS)
# Everything must stay in the building, and no method that makes plates reaches its ruling.
COARSE = 'ruling_limit = { best = "60 lpi", low = "50 lpi", high = "70 lpi" }\n'
NOBODY = SHOP.replace("[methods.polyester.", f"[methods.polyester]\n{COARSE}[methods.polyester.")
NOBODY = NOBODY.replace("[methods.direct]", f"[methods.direct]\n{COARSE}") + "confined = 1.0\n"

TEXTS = {"small": SHOP, "crowd": CROWD, "nobody": NOBODY}


@cache
def worked(which: str):
    """The study of "demo" or one of TEXTS, and its values; worked once for all who ask."""
    with TemporaryDirectory() as folder:
        path = DEMO
        if which != "demo":
            path = Path(folder) / "shop.toml"
            path.write_text(TEXTS[which], encoding="utf-8")
        study = build(read(path))
        return study, study.evaluate()


@cache
def page(which: str) -> str:
    """Its page, on A4."""
    return make_page(*worked(which), Template(house=House(paper="A4"))).html
