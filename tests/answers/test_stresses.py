"""Stresses: each must give what the reckoning gives when its inputs are changed by hand and everything worked anew."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from roi.answers.ranges import try_ranges
from roi.answers.stresses import Outcome, Stresses, as_json, stresses
from roi.answers.workings import workings
from roi.cli import main
from roi.engine.evaluate import Values
from roi.model.sheet import LABELS
from roi.model.study import Study, build
from roi.scenario.scenario import read
from tests.small_shop import SHOP

SUPPLIER = """
[methods.direct.supplier]
stops = "0 year"
weeks = "6 week"
new_line = "20000 USD"
"""


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Study:
    path = tmp_path_factory.mktemp("shop") / "shop.toml"
    long_runs = SHOP.replace("to_5000 = 0.6", "to_50000 = 0.6")  # where a plate's life matters
    path.write_text(long_runs + SUPPLIER, "utf-8")
    return build(read(path))


@pytest.fixture(scope="module")
def found(study: Study) -> Stresses:
    return stresses(study, study.evaluate())


def by_label(found: Stresses, label: str) -> Outcome:
    return next(outcome for outcome in found.outcomes if outcome.label == label)


def costs(study: Study, values: Values) -> dict[str, float]:
    return dict(zip(study.methods, values[study.comparison.rows["equivalent"]][:, 0].tolist(), strict=True))


def by_hand(study: Study) -> dict[str, dict[str, float]]:
    """The inputs each stress changes, and what to, written out: a quarter dearer, 15 % less and more, state 1 and 3."""
    lives = {
        stated.key: stated.low * stated.factor
        for stated in study.scenario.inputs.values()
        if (stated.key.split(".")[-2:-1] == ["life"] and stated.key.endswith(("coated", "tight")))
        or stated.key == "bought_in.life"
    }  # fmt: skip
    return {
        "Dearer: plates": {"prices.plates": 1.25},
        "Dearer: equipment": {"prices.equipment": 1.25},
        "Less work": {"work.volume": 0.85},
        "More work": {"work.volume": 1.15},
        "All plates wear out as early as stated": lives,
        "Every press has hours to spare": {"presses.main.state": 1.0},
        "Every press is sold out": {"presses.main.state": 3.0},
        "Sole supplier stops: Direct, in year": {"methods.direct.supplier.stops": 3.0},
    }


def test_each_stress_is_the_study_with_those_inputs_changed(study: Study, found: Stresses) -> None:
    moved = 0
    before = costs(study, study.evaluate())
    for label, changes in by_hand(study).items():
        values = study.evaluate(changes)
        expected = costs(study, values)
        assert by_label(found, label).costs == pytest.approx(expected), label
        winner = round(float(values[study.comparison.rows["winner"]].flat[0])) - 1
        assert by_label(found, label).cheapest == list(study.methods)[winner]
        moved += expected != pytest.approx(before)
    assert moved >= len(by_hand(study)) - 1  # the press is in one of its two states already


def test_what_staying_costs_above_the_cheapest(study: Study, found: Stresses) -> None:
    """By hand: the current method's yearly cost less the cheapest's."""
    for outcome in found.outcomes:
        dearer = outcome.costs["polyester"] - min(c for c in outcome.costs.values() if c is not None)
        assert outcome.behind == pytest.approx(dearer, abs=0.02), (
            outcome.label
        )  # ties within 0.01 go to staying


def test_what_the_cheapest_is_ahead_of_the_next(study: Study, found: Stresses) -> None:
    """By hand: the second lowest yearly cost less the lowest; so a shop that stays sees how near each stress brings it."""
    for outcome in found.outcomes:
        least, next_least = sorted(c for c in outcome.costs.values() if c is not None)[:2]
        assert outcome.ahead == pytest.approx(next_least - least, abs=0.02), outcome.label
    assert len({round(outcome.ahead or 0) for outcome in found.outcomes}) > 3


def test_staying_that_can_not_do_the_work_costs_no_amount(tmp_path: Path) -> None:
    """The work is at 133 lpi, may not leave the building, and today's plates hold 110: direct alone can do it."""
    ruling = '[methods.polyester]\nruling_limit = "110 lpi"\n\n[methods.direct]'
    path = tmp_path / "shop.toml"
    path.write_text(SHOP.replace("[methods.direct]", ruling) + "confined = 1.0\n", "utf-8")
    study = build(read(path))
    found = stresses(study, study.evaluate())
    assert {(o.cheapest, o.behind, o.ahead) for o in found.outcomes} == {("direct", None, None)}
    said = CliRunner().invoke(main, ["stress", str(path)]).output
    rows = [line.split() for line in said.splitlines() if "holds" in line]
    assert len(rows) == len(found.outcomes) and {tuple(row[-2:]) for row in rows} == {("can't", "none")}


def test_every_group_of_prices_is_stressed_and_words_follow_the_figures(
    study: Study, found: Stresses
) -> None:
    groups = {o.label.removeprefix("Dearer: ") for o in found.outcomes if o.label.startswith("Dearer: ")}
    assert groups == {name.replace("_", " ") for name in study.shop.price_share}
    turning = sum(outcome.turns for outcome in found.outcomes)
    number = {0: "None", 1: "One"}.get(turning, str(turning))
    assert found.sentence.startswith(f"{number} of these {len(found.outcomes)} stresses")
    assert as_json(study, found)["stresses"][0]["costs"].keys() == set(study.methods)


def test_the_worst_month_by_adding_up_months(study: Study, found: Stresses) -> None:
    """In plain Python: month by month, a twelfth of what follows time and the month's share of what follows the work."""
    values = study.evaluate()

    def year_one(method: str, follows: str) -> float:
        lines = study.methods[method].lines
        keys = [f"year_1.{family}.{follows}" for family in LABELS]
        return sum(float(values[lines[key]].flat[0]) for key in keys if key in lines)

    cash = -float(values[study.methods["direct"].lines["first_cost"]].flat[0])
    path = [cash]
    for share in study.scenario.work.month_share:
        cash += (year_one("polyester", "work") - year_one("direct", "work")) * share
        cash += (year_one("polyester", "time") - year_one("direct", "time")) / 12
        path.append(cash)
    (deepest,) = found.deepest
    assert deepest.in_year_1 == pytest.approx(min(path)) and deepest.month == path.index(min(path))
    flows = values[study.cash_flow.savings["direct"]["cash"].flows].ravel()
    running = [float(flows[: i + 1].sum()) for i in range(len(flows))]
    assert deepest.over_years == pytest.approx(min(running)) and deepest.year == running.index(min(running))


def test_by_how_much_is_an_input(study: Study) -> None:
    changed = study.evaluate({"prices.plates": 1.5})
    made = workings(study, try_ranges(study), break_even=False, sensitivity=False)
    change = {"stress.price_rise": 0.5}
    known, _ = made.evaluate(study.evaluate(change), change)
    at = [stress.label for stress in made.stressed.stresses].index("Dearer: plates")
    got = {name: float(known[line].flat[at]) for name, line in made.stressed.costs.items()}
    assert got == pytest.approx(costs(study, changed))
