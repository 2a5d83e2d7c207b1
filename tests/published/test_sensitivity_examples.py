"""Trials against published one-way examples: each becomes a small book whose inputs are tried as the product tries them.

Figures, sources and tolerances stand in sensitivity_examples.toml. Money in currency, units counted, shares as fractions.
"""

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from roi.engine.cases import Cases, Reading, Trial, read
from roi.engine.column import Book, Column, Line
from roi.engine.evaluate import evaluate, extend
from roi.engine.expression import Axis, Data, Expr, Input
from roi.engine.operations import compound, gather, product_sum

PUBLISHED: dict[str, Any] = tomllib.loads(
    Path(__file__).with_name("sensitivity_examples.toml").read_text("utf-8")
)


class Tried:
    """A book, and what one of its lines comes to for lists of changed inputs: a trial an example, a case a change."""

    def __init__(self, column: Column, outcome: Line) -> None:
        self.book, self.outcome = Book([column]), outcome
        self.base = float(evaluate(self.book)[outcome][0])

    def at(self, changes: list[dict[str, float]]) -> list[float]:
        inputs = self.book.inputs
        axis = Axis("steps", tuple(f"step {i + 1}" for i in range(len(changes))))
        cases = Column("Cases", "cases", across=True)
        blocks: dict[Input, Line] = {}
        for key in dict.fromkeys(key for change in changes for key in change):
            leaf = inputs[key]
            values = [change.get(key, leaf.best) for change in changes]
            parts = [
                cases.input(Input(f"{key} {i}", f"{key} {i}", leaf.unit, value))
                for i, value in enumerate(values)
            ]
            blocks[leaf] = cases.line(f"{key}, by step", str(leaf.unit), gather(axis, parts))
        trial = Trial("steps", axis, blocks)
        reading = Reading(trial, self.outcome)
        worked = Cases(self.book, [trial], [reading]).evaluate(extend(evaluate(self.book), [cases]))
        return read(reading, worked[trial]).ravel().tolist()


def close(found: float, printed: dict[str, float]) -> bool:
    # A figure printed with half a digit's room may lie on the very edge of it.
    return found == pytest.approx(printed["value"], rel=1e-12, abs=printed["within"])


@pytest.mark.parametrize("example", PUBLISHED["growing"], ids=lambda e: e["vary"])
def test_one_input_at_both_ends(example):
    column = Column("Sales", "sales")
    units = {"sales": "currency", "growth": "1/year", "margin": "1", "rate": "1/year"}
    stated = {
        name: column.input(Input(name, name, unit, example["base"][name])) for name, unit in units.items()
    }
    years = Axis("years", tuple(str(1 + i) for i in range(example["years"])))
    year = column.data(Data("year", "Year", "year", years, range(1, len(years) + 1)))
    cash = column.line(
        "Cash", "currency", stated["sales"] * compound(stated["growth"], year) * stated["margin"]
    )
    worth = column.line("Worth today of 1", "1", 1 / compound(stated["rate"], year))
    tried = Tried(column, column.line("Present value", "currency", product_sum(cash, worth)))
    low, high = tried.at([{example["vary"]: example[end]["at"]} for end in ("low", "high")])
    assert close(tried.base, example["present"])
    assert close(low, example["low"]) and close(high, example["high"])
    assert close(high - low, example["swing"])


@pytest.mark.parametrize("example", PUBLISHED["profit"], ids=lambda e: e["source"])
def test_steps_of_one_and_of_two_inputs(example):
    column = Column("Product", "product")
    units = {"price": "currency/unit", "variable": "currency/unit", "fixed": "currency", "units": "unit"}
    stated = {
        name: column.input(Input(name, name, unit, example["base"][name])) for name, unit in units.items()
    }
    margin = (stated["price"] - stated["variable"]) * stated["units"]
    tried = Tried(column, column.line("Profit", "currency", margin - stated["fixed"]))
    assert close(tried.base, example["profit"])
    found = tried.at([step["changes"] for step in example["steps"]])
    for profit, step in zip(found, example["steps"], strict=True):
        assert close(profit, step["profit"])
        assert close(profit / tried.base - 1, step["change"])


@pytest.mark.parametrize("example", PUBLISHED["products"], ids=lambda e: e["source"])
def test_steps_of_a_mix_of_products(example):
    column = Column("Products", "products")
    total: Expr = 0 - column.input(Input("fixed", "fixed", "currency", example["fixed"]))
    for n, figures in enumerate(zip(example["price"], example["variable"], example["units"], strict=True)):
        price, variable, units = (
            column.input(Input(f"{name}{n}", f"{name}{n}", unit, value))
            for name, unit, value in zip(
                ("price", "variable", "units"),
                ("currency/unit", "currency/unit", "unit"),
                figures,
                strict=True,
            )
        )
        total = total + (price - variable) * units
    tried = Tried(column, column.line("Profit", "currency", total))
    assert close(tried.base, example["profit"])
    found = np.array(tried.at([{step["input"]: step["at"]} for step in example["steps"]])) - tried.base
    for change, step in zip(found, example["steps"], strict=True):
        assert close(float(change), step["change"])
