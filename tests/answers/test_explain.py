"""A figure's tree says what was reckoned: its words, read by Python's precedence, give the figure again."""

import re
from pathlib import Path

import numpy as np
import pytest

from roi.answers.explain import explain, find, name, number, stated_text, words
from roi.engine.column import leaves, parts
from roi.engine.expression import Apply, Axis, Input, Row
from roi.engine.operations import at_least, gather, when
from roi.model.study import build
from roi.scenario.problems import BadInput
from roi.scenario.scenario import read

DEMO = Path(__file__).parents[2] / "scenarios" / "us_two_press" / "shop.toml"
OPERATORS = {"add", "subtract", "multiply", "divide", "negate", "power", "compound", "root"}
A, B, C = (Input(name, name, "1", 1.0) for name in "abc")


@pytest.fixture(scope="module")
def demo():
    """The demonstration and every line's value."""
    study = build(read(DEMO))
    return study, study.evaluate()


def test_words_give_the_figure_again(demo):
    """Every line of operators alone, labels replaced by their values and evaluated by Python."""
    study, values = demo
    checked = 0
    for line in study.book.lines:
        said = words(line.formula, home=line.column)
        below = list(leaves(line.formula))
        if line.is_input or line.axis or any(p.axis for p in below) or not re.search(r" [-+x/^] ", said):
            continue
        if not functions(line.formula) <= OPERATORS:
            continue
        text = said
        for part in set(below):
            text = text.replace(f'"{name(part, line.column)}"', repr(float(values[part].flat[0])))
        result = eval(text.replace(" x ", " * ").replace("^", "**").replace(",", ""), {"__builtins__": {}})
        assert result == pytest.approx(float(values[line].flat[0]), rel=1e-12, abs=1e-12), said
        checked += 1
    assert checked > 200


def functions(body):
    """Names of the functions in an expression."""
    own = {body.function} if isinstance(body, Apply) else {"row"} if isinstance(body, Row) else set()
    return own.union(*(functions(part) for part in parts(body)))


@pytest.mark.parametrize(
    ("body", "said"),
    [
        (A - (B - C), '"a" - ("b" - "c")'),
        (A - B - C, '"a" - "b" - "c"'),
        (A / (B * C), '"a" / ("b" x "c")'),
        (when(at_least(A, B), A, B), '"a" if "a" >= "b", else "b"'),
        (when(at_least(A, B), A, B) * C, '("a" if "a" >= "b", else "b") x "c"'),
        (gather(Axis("presses", ("one", "two")), [A, B]), 'row by row of presses: "a"; "b"'),
    ],
)
def test_words_keep_the_order_of_reckoning(body, said):
    assert words(body) == said


def test_depth_is_how_many_steps_are_followed(demo):
    study, values = demo
    line = study.book.line("shop.Prepress, loaded rate")
    none, one = (" ".join(explain(study, values, line, depth)) for depth in (0, 1))
    assert "key: grades.prepress.wage" not in none and "larger --depth" in none
    assert "key: grades.prepress.wage" in one and "larger --depth" not in one


def test_what_was_told_once_is_not_followed_again(demo):
    study, values = demo
    text = explain(study, values, study.book.line("direct.Present cost"), 20)
    keys = [line.strip() for line in text if line.strip().startswith("key: ")]
    assert len(keys) == len(set(keys)) > 60


def test_a_row_is_followed_through_blocks_of_the_same_axis(demo):
    """Year 1 of a flow is made of year 1 of its parts: the values told add up."""
    study, values = demo
    line = study.book.line("direct.Flow after tax")
    text = explain(study, values, line, 1, 2)
    told = [
        float(m[1].replace(",", "")) for t in text if (m := re.search(r": (-?[\d,.]+) USD \(year 1\)$", t))
    ]
    assert len(told) == 3
    assert told[0] == pytest.approx(told[1] + told[2], abs=0.02)
    assert told[0] == pytest.approx(float(np.ravel(values[line])[1]), abs=0.005)


def test_a_sum_over_rows_follows_all_of_them(demo):
    study, values = demo
    line = study.book.line("shop.Plates called for, all sizes")
    assert words(line.formula) == 'the sum of "Plates called for"'
    text = explain(study, values, line, 1)
    start = text.index("  Plates called for: by sizes")
    told = [
        float(m[1].replace(",", "")) for t in text[start:] if (m := re.search(r": ([\d,.]+) plate/year$", t))
    ]
    # Five sizes: the first three and the last are told, so their sum stays below the whole.
    assert len(told) == 4 and sum(told) < float(values[line].flat[0])


@pytest.mark.parametrize("row", [0, 12])
def test_a_row_that_is_not_there_is_refused(demo, row):
    study, values = demo
    with pytest.raises(BadInput, match="give a row from 1 to 11"):
        explain(study, values, study.book.line("shop.Discount factor"), 0, row)
    with pytest.raises(BadInput, match="leave --row away"):
        explain(study, values, study.book.line("shop.Forms"), 0, 1)


def test_an_input_is_found_by_its_key_and_by_its_label(demo):
    study, _ = demo
    by_key = find(study, "shop.work_days")
    assert by_key.formula.key == "shop.work_days"
    assert find(study, " days WORKED ").formula is by_key.formula


def test_a_line_that_is_not_there_is_answered_with_the_nearest(demo):
    study, _ = demo
    with pytest.raises(BadInput, match=r'"direct\.First cost"'):
        find(study, "direct.Frist cost")
    with pytest.raises(BadInput, match="write a key such as"):
        find(study, "zzzzzzzz")
    with pytest.raises(BadInput, match="no line of this scenario"):
        find(study, "")


def test_stated_numbers_are_told_as_stated(demo):
    study, _ = demo
    stated = study.scenario.stated
    # As written in the scenario's file and in the shipped defaults.
    assert stated_text(stated("shop", "work_days")) == "254 day/year (250 to 258)"
    assert stated_text(stated("grades", "prepress", "on_cost")) == "25 % (10 to 42)"


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (0.0, "0"),
        (12.3456789, "12.3457"),
        (1234567.891, "1,234,567.89"),
        (-20135.0, "-20,135"),
        (np.inf, "not defined"),
    ],
)
def test_numbers_are_told_shortly(value, said):
    assert number(value) == said
