"""What a language has no words for yet, product by product, for who translates and for the tests.

    python -m tests.language_gaps de            a shipped language, or a file such as mine.toml
    python -m tests.language_gaps de shop.toml  over a shop of one's own

prints each English text once, as a line to fill in and put into the language's file, below the product it stands in.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

from roi.answers.budget import budget_of
from roi.model.study import build
from roi.page.write import make_page
from roi.scenario.scenario import Scenario, read
from roi.workbook.made import now
from roi.workbook.read_language import load_language
from roi.workbook.read_template import load_template
from roi.workbook.template import Template
from roi.workbook.tongue import Tongue
from roi.workbook.write import write_budget, write_input_book, write_workbook

DEMO = Path(__file__).parents[1] / "scenarios" / "us_two_press" / "shop.toml"


def decision_workbook(scenario: Scenario, look: Template, folder: Path) -> None:
    study = build(scenario)
    write_workbook(study, study.evaluate(), folder / "decision.xlsx", look)


def budget(scenario: Scenario, look: Template, folder: Path) -> None:
    today = now().date()
    write_budget(budget_of(scenario, today.year, 3, None, today), folder / "budget.xlsx", look)


def page(scenario: Scenario, look: Template, folder: Path) -> None:
    study = build(scenario)
    make_page(study, study.evaluate(), look, charts=True)


def input_workbook(scenario: Scenario, look: Template, folder: Path) -> None:
    """The same whatever the scenario."""
    write_input_book({}, folder / "input.xlsx", look.tongue)


PRODUCTS: dict[str, Callable[[Scenario, Template, Path], None]] = {
    "decision workbook": decision_workbook,
    "budget": budget,
    "page": page,
    "input workbook": input_workbook,
}


def gaps(language: str, scenario: Scenario, product: str) -> list[str]:
    """The texts of a product that a language has no words for."""
    tongue = load_language(language)
    assert isinstance(tongue, Tongue), f"{language} is what the code writes"
    with TemporaryDirectory() as folder:
        PRODUCTS[product](scenario, replace(load_template("owner"), tongue=tongue), Path(folder))
    return tongue.missing()


def main(language: str, shop: str = "") -> int:
    scenario = read(Path(shop) if shop else DEMO)
    for product in PRODUCTS:
        missing = gaps(language, scenario, product)
        print(f"# {product}: {len(missing)} without words")
        for text in missing:
            quoted = text.replace("\\", "\\\\").replace('"', '\\"')
            print(f'"{quoted}" = ""')
    return 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
