"""Speed and memory of draws: `python -m tests.benchmarks.risk`. Nothing is asserted; seeds are stated.

The demo with three of its methods and its 40 most telling inputs drawn: 100,000 draws (expected 2 s) and a million (expected
15 s and 500 MB). Beside it a column of some hundred lines, worked by the engine and by hand in numpy over the same blocks
(expected: by hand no more than 1.3 times faster). All on one core.
"""

from __future__ import annotations

import resource
import statistics
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from roi.answers.cases import by_effect
from roi.answers.draws import Draws
from roi.answers.ranges import try_ranges
from roi.answers.risk import SHARE_POINTS, risk
from roi.answers.spread import Pert
from roi.engine.column import Book, Column, Line
from roi.engine.evaluate import BLOCK, Program
from roi.engine.expression import Axis, Data, Input
from roi.engine.functions import Array
from roi.engine.operations import at_least, compound, constant, larger, product_sum, up, when
from roi.model.study import Study, build
from roi.scenario.risk import risk_settings
from roi.scenario.scenario import Scenario, read
from roi.units.unit import Unit
from tests.benchmarks.one_core import keep_to_one_core

DEMO = Path(__file__).parents[2] / "scenarios" / "us_two_press" / "shop.toml"
METHODS = 3
DRAWN = 40
ITEMS = 12
DEAR = 1000  # currency
COMMON = ("amount", "growth", "interest", "less")
YEARS = Axis("years", tuple(f"year {i}" for i in range(8)))


def main() -> None:
    """Print every figure."""
    keep_to_one_core()
    study = narrowed(read(DEMO))
    settings = risk_settings(study.scenario)
    usual = median(lambda: risk(study, settings), 5)
    print(f"{settings.draws:>9,} draws, {METHODS} methods, {DRAWN} inputs: {usual:.2f} s")
    whole = build(read(DEMO))
    took = median(lambda: risk(whole, settings), 5)
    print(f"{settings.draws:>9,} draws of the whole demo: {took:.2f} s (expected 0.25)")
    took = median(lambda: risk(whole, settings, shares=SHARE_POINTS), 3)
    print(f"{settings.draws:>9,} draws of the whole demo with variance shares: {took:.2f} s")
    hundred = median(lambda: risk(study, replace(settings, draws=100_000)), 3)
    print(f"  100,000 draws, {METHODS} methods, {DRAWN} inputs: {hundred:.2f} s (expected 2)", flush=True)
    million = median(lambda: risk(study, replace(settings, draws=1_000_000)), 1)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"1,000,000 draws, {METHODS} methods, {DRAWN} inputs: {million:.2f} s (expected 15), peak {peak:,.0f} MB (expected 500)"
    )
    engine, hand, ratio, lines = against_hand()
    print(
        f"a column of {lines} lines, 100,000 cases: engine {engine:.3f} s, by hand {hand:.3f} s, "
        f"ratio {ratio:.2f} (expected 1.3)"
    )


def drawing(draws: int) -> tuple[float, float]:
    """Seconds for so many draws of the demo with three methods, and the most memory this process has held in MB."""
    study = narrowed(read(DEMO))
    took = median(lambda: risk(study, replace(risk_settings(study.scenario), draws=draws)), 1)
    return took, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def narrowed(scenario: Scenario) -> Study:
    """The demo with three methods, of which the 40 inputs that move the lead most have a range."""
    kept = tuple(m for m in scenario.methods if m.id != "bought_in")[:METHODS]
    few = replace(scenario, methods=kept, _engine={})
    telling = {s.key for s in by_effect(try_ranges(build(few)))[:DRAWN]}
    inputs = {
        key: s if s.key in telling else replace(s, low=s.best, high=s.best) for key, s in few.inputs.items()
    }
    return build(replace(few, inputs=inputs, _engine={}))


def median(work: Callable[[], object], times: int) -> float:
    """Median seconds of a piece of work."""
    found = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return statistics.median(found)


def against_hand(count: int = 100_000) -> tuple[float, float, float, int]:
    """Median seconds of the engine and of numpy by hand for one column, their ratio turn by turn, and its number of lines."""
    keys = [f"{name}{i}" for i in range(ITEMS) for name in ("rate", "price", "pack")] + list(COMMON)
    draws = Draws([Pert(*_RANGES[key.rstrip("0123456789")]) for key in keys], count, 1)
    blocks = [dict(zip(keys, values.copy(), strict=True)) for _, values in draws.blocks(BLOCK)]
    book, wanted = column()
    program = Program(book, [wanted])
    theirs = [program.run(block)[wanted] for block in blocks]
    mine = [by_hand(block) for block in blocks]
    np.testing.assert_allclose(np.concatenate(mine), np.concatenate(theirs), rtol=1e-12)
    # In turns, so that what else the machine does falls on both.
    engine, hand = [], []
    for _ in range(11):
        engine.append(median(lambda: [program.run(block) for block in blocks], 1))
        hand.append(median(lambda: [by_hand(block) for block in blocks], 1))
    ratio = statistics.median(e / h for e, h in zip(engine, hand, strict=True))
    return statistics.median(engine), statistics.median(hand), ratio, len(program.lines)


_RANGES = {
    "rate": (0.5, 1.0, 2.0),
    "price": (1.0, 3.0, 6.0),
    "pack": (20.0, 50.0, 80.0),
    "amount": (500.0, 800.0, 1500.0),
    "growth": (0.0, 0.03, 0.06),
    "interest": (0.04, 0.08, 0.12),
    "less": (0.0, 0.1, 0.2),
}


def column() -> tuple[Book, Line]:
    """Twelve items bought in whole packs, dear ones with something off, over seven years: their present cost."""
    c = Column("Items", "items")
    year = c.data(Data("items.year", "Year", "year", YEARS, range(8)))
    runs = c.data(Data("items.runs", "Running", "1", YEARS, [0.0, *[1.0] * 7]))

    def stated(key: str) -> Line:
        kind = key.rstrip("0123456789")
        unit = {"price": "currency", "growth": "1/year", "interest": "1/year"}.get(kind, "1")
        return c.input(Input(key, key, Unit.read(unit), _RANGES[kind][1]))

    amount, growth, interest, less = (stated(key) for key in COMMON)
    total: Line | None = None
    for i in range(ITEMS):
        rate, price, pack = (stated(f"{name}{i}") for name in ("rate", "price", "pack"))
        used = c.line(f"Item {i}, used", "1", amount * rate)
        packs = c.line(f"Item {i}, packs", "1", up(used / pack))
        bought = c.line(f"Item {i}, bought", "1", larger(packs * pack, used))
        cost = c.line(f"Item {i}, cost", "currency", bought * price)
        dear = c.line(f"Item {i}, dear", "1", at_least(cost, constant(DEAR, "currency")))
        paid = c.line(f"Item {i}, paid", "currency", when(dear, cost * (1 - less), cost))
        total = paid if total is None else c.line(f"Items up to {i}", "currency", total + paid)
    assert total is not None
    level = c.line("Price level", "1", compound(growth, year))
    grown = c.line("Money of today in a year's money", "1", compound(interest, year))
    worth = c.line("Worth of money", "1", 1 / grown)
    yearly = c.line("Cost by year", "currency", level * total * runs)
    return Book([c]), c.line("Present cost", "currency", product_sum(yearly, worth))


def by_hand(drawn: dict[str, Array]) -> Array:
    """The same arithmetic as one would write it in numpy, steps rounded first as a spreadsheet needs them."""
    amount, growth, interest, less = (drawn[key] for key in COMMON)
    total = np.zeros_like(amount)
    for i in range(ITEMS):
        rate, price, pack = drawn[f"rate{i}"], drawn[f"price{i}"], drawn[f"pack{i}"]
        used = amount * rate
        bought = np.maximum(np.ceil(np.round(used / pack, 9)) * pack, used)
        cost = bought * price
        total += np.where(np.round(cost - DEAR, 6) >= 0, cost * (1 - less), cost)
    level, worth = np.empty((8, amount.size)), np.empty((8, amount.size))
    level[0], worth[0] = 1.0, 1.0
    for year in range(1, 8):
        level[year] = level[year - 1] * (1 + growth)
        worth[year] = worth[year - 1] / (1 + interest)
    return np.einsum("ij,ij->j", level[1:] * total, worth[1:])


if __name__ == "__main__":
    main()
