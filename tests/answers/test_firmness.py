"""How firmly the verdict stands: the words must never be stronger than the figures they speak of."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from roi.answers.cases import inputs_in_use
from roi.answers.compare import as_json
from roi.answers.firmness import how_close, how_sure, too_close, what_to_check
from roi.answers.risk import chance_of_the_best, usual_risk
from roi.answers.switching import could_turn, switching_values
from roi.answers.verdict import sentences
from roi.model.study import Study, build
from roi.scenario.scenario import read
from tests.small_shop import SHOP


def study(folder: Path, more: str = "") -> Study:
    (folder / "shop.toml").write_text(SHOP + more, "utf-8")
    return build(read(folder / "shop.toml"))


def priced(direct: float, spread: float) -> str:
    """A price of direct plates, with a range of so much to either side."""
    low, high = direct * (1 - spread), direct * (1 + spread)
    return (
        f'\n[methods.direct.plates]\nprice_per_area = {{ best = "{direct} USD/m2", low = "{low} USD/m2", '
        f'high = "{high} USD/m2" }}\n'
    )


def test_four_draws_of_five_are_the_edge(tmp_path: Path) -> None:
    """Prices from far too dear down to far cheaper: close is said exactly where the chance is below 0.8, and both occur."""
    seen = set()
    for price in (2, 4, 6, 8, 10, 12, 14, 40):
        made = study(tmp_path, priced(price, 0.5))
        chance = chance_of_the_best(made)
        assert chance is not None
        best = usual_risk(made).methods[chance.method]
        assert best.chance == chance.cash and 0 <= chance.cash <= 1
        said = how_sure(made)
        assert said.startswith("Too close to call: ") == (chance.cash < 0.8) == too_close(made)
        short = made.methods[chance.method].method.short
        assert f"{short} is the cheapest in " in said and "4,096 times" in said
        if chance.close not in seen:
            # What is too close to call isn't then said as if it were decided.
            told = sentences(made, made.evaluate())
            assert chance.close == any(text.startswith(f"On best figures {short} costs") for text in told)
            assert chance.close != any(
                text.startswith(("Changing is cheaper", "Stay as you")) for text in told
            )
        seen.add(chance.close)
    assert seen == {True, False}


def test_what_turns_it_is_named_where_it_lies_in_range(tmp_path: Path) -> None:
    made = study(tmp_path, priced(6, 0.9))
    found = could_turn(switching_values(made), 99)
    said = how_close(made)
    assert bool(found) == ("turn the answer: " in said)
    for stated, _ in found[:1]:
        assert stated.stated.label in said
    fine = '\n[methods.polyester]\nruling_limit = { best = "150 lpi", sure = "sure" }\n'
    quiet = study(tmp_path, priced(60, 0.01) + fine)
    assert could_turn(switching_values(quiet), 1) == []
    said = how_close(quiet).lower()
    assert said.startswith(
        ("in cash no single input, within its range,", "no single input, within its range,")
    )


def test_what_is_left_to_check_is_counted(tmp_path: Path) -> None:
    made = study(tmp_path)
    used = inputs_in_use(made)
    defaults = sum(stated.status == "default" for stated in used)
    estimates = sum(stated.status == "estimate" for stated in used)
    said = what_to_check(made)
    assert said.startswith(
        f"Of {len(used)} inputs in use {defaults} are still at a default, {estimates} an estimate."
    )
    # The same as the JSON counts.
    assert defaults == len(as_json(made, made.evaluate())["defaults_in_use"])


def test_the_verdict_says_all_of_it_in_order(tmp_path: Path) -> None:
    """Best, what it comes to, the chance, what turns it, today's volume against where it turns, what is unconfirmed."""
    made = study(tmp_path)
    said = sentences(made, made.evaluate())
    starts = ("costs least", "over ", "is the cheapest in", "in cash", "the shop calls for", "at full cost")
    found = [
        next(i for i, text in enumerate(said) if part in text.lower() and i >= n)
        for n, part in enumerate(starts[:5])
    ]
    assert found == [0, 1, 2, 3, 4]
    assert said[-1] == what_to_check(made)


def test_one_method_that_can_do_the_work_is_not_called_sure(tmp_path: Path) -> None:
    made = study(tmp_path, '\n[methods.polyester]\nlargest_format = "5 in x 5 in"\n')
    values = made.evaluate()
    able = values[made.comparison.rows["feasible"]][:, 0]
    if np.count_nonzero(able) > 1:
        pytest.fail("the shop was meant to leave one method")
    assert how_sure(made) == ""
