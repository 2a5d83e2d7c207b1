"""The seeking of crossings against published break-even volumes, target volumes and a bearable fixed cost.

Each example becomes a book of two lines, sales against cost and target, and the same function that compares methods finds
where one overtakes the other. Sources stand in breakeven_examples.toml. Money in currency, volumes in units.
"""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from roi.engine.column import Book, Column
from roi.engine.expression import Expr, Input
from roi.engine.steps import crossings

PUBLISHED: dict[str, Any] = tomllib.loads(
    Path(__file__).with_name("breakeven_examples.toml").read_text("utf-8")
)


@pytest.mark.parametrize("example", PUBLISHED["volume"], ids=lambda e: f"{e['price']} {e['target']}")
def test_volumes_at_which_sales_cover_cost_and_target(example):
    column = Column("Product", "product")

    def stated(name: str, unit: str) -> Expr:
        return column.input(Input(name, name, unit, example.get(name, 100.0)))

    volume = stated("volume", "unit")
    sales = column.line("Sales", "currency", volume * stated("price", "currency/unit"))
    needed = volume * stated("variable", "currency/unit") + stated("fixed", "currency")
    outlay = column.line("Cost and target", "currency", needed + stated("target", "currency"))
    (found,) = crossings(Book([column]), sales, outlay, "volume", 1.0, 5000.0)
    assert (found.kind, found.below, found.above) == ("tie", 0, 1)
    exact = {"units": found.at, "sales": found.at * example["price"]}
    compared = [name for name in exact if name in example]
    assert compared
    for name in compared:
        assert exact[name] == pytest.approx(example[name]["value"], rel=0, abs=example[name]["within"])


@pytest.mark.parametrize("example", PUBLISHED["mix"])
def test_fixed_cost_that_a_mix_of_products_bears(example):
    column = Column("Products", "products")
    margin: Expr | int = 0
    for n, (price, variable, units) in enumerate(
        zip(example["price"], example["variable"], example["units"], strict=True)
    ):
        each = [
            column.input(Input(f"{name}{n}", f"{name}{n}", unit, value))
            for name, unit, value in (
                ("price", "currency/unit", price),
                ("variable", "currency/unit", variable),
                ("units", "unit", units),
            )
        ]
        margin = margin + (each[0] - each[1]) * each[2]
    assert isinstance(margin, Expr)
    contribution = column.line("Contribution", "currency", margin)
    fixed_cost = column.line(
        "Fixed", "currency", column.input(Input("fixed", "fixed", "currency", example["fixed"])) + 0
    )
    (found,) = crossings(Book([column]), contribution, fixed_cost, "fixed", 1e5, 1e7)
    # Below it the fixed cost is the smaller.
    assert (found.kind, found.below, found.above) == ("tie", 1, 0)
    assert found.at == pytest.approx(example["fixed"] + example["profit"], rel=0, abs=0.01)
