"""What the answer depends on, against plain arithmetic on present costs, one case of the whole book at a time.

A lead is the best other present cost less the leader's, over the annuity of that case. The comparison gives the current
method a head start of 0.01 of present cost in a tie, so leads agree to 0.01 / annuity.
"""

import functools
import json

import numpy as np
import pytest

from roi.answers.cases import MAP_PICKS, VOLUMES, case_set
from roi.answers.ranges import try_ranges
from roi.answers.sensitivity import as_json, sensitivity
from roi.engine.evaluate import Program
from roi.model.study import build
from roi.scenario.scenario import read
from tests.small_shop import SHOP

TIE = 0.01
THREE = SHOP.replace("[methods.direct]", "[methods.bought_in]\n\n[methods.direct]")
# Direct at its lowest price turns the answer; at its coarsest ruling it can make nothing and is no rival.
CLOSE = SHOP.replace(
    "[methods.direct]",
    "[methods.direct]\n"
    'ruling_limit = { best = "175 lpi", low = "60 lpi", high = "200 lpi" }\n'
    '[methods.direct.plates]\nprice_per_area = { best = "20 USD/m2", low = "2 USD/m2", high = "38 USD/m2" }',
)
OUNCES = SHOP.replace('units = "metric"', 'units = "us"')


def study_of(folder, text):
    path = folder / "shop.toml"
    path.write_text(text, encoding="utf-8")
    return build(read(path))


@pytest.fixture(scope="module", params=[SHOP, THREE, CLOSE, OUNCES], ids=["two", "three", "close", "us"])
def shop(request, tmp_path_factory):
    study = study_of(tmp_path_factory.mktemp("shop"), request.param)
    return study, sensitivity(study, study.evaluate())


@functools.cache
def program(book, *lines):
    """The whole book made ready to compute lines, as evaluate() does, but once."""
    return Program(book, lines)


def by_hand(study, leader, changes=None):
    """(cheapest, the leader's lead a year or None, annuity) for inputs by key in the engine's unit."""
    wanted = [sheet.lines[name] for sheet in study.methods.values() for name in ("present", "feasible")]
    ready = program(study.book, *wanted, study.shop.annuity)
    values = ready.run({key: np.array([value]) for key, value in (changes or {}).items()})
    cost = {
        name: float(values[sheet.lines["present"]][0])
        for name, sheet in study.methods.items()
        if values[sheet.lines["feasible"]][0] == 1
    }
    annuity = float(values[study.shop.annuity][0])
    judged = {name: amount - (TIE if name == study.scenario.current else 0) for name, amount in cost.items()}
    cheapest = min(judged, key=judged.__getitem__) if judged else None
    others = [amount for name, amount in cost.items() if name != leader]
    lead = (min(others) - cost[leader]) / annuity if others and leader in cost else None
    return cheapest, lead, annuity


def agrees(outcome, cheapest, lead, annuity):
    assert outcome.cheapest == cheapest
    assert outcome.lead == (None if lead is None else pytest.approx(lead, rel=1e-9, abs=TIE / annuity + 1e-9))


def engine(study, key, shown):
    """A value as told in the engine's unit."""
    stated = next(s for s in study.scenario.inputs.values() if s.key == key)
    return shown / (100 if stated.percent else 1) * stated.factor


def test_every_end_by_plain_arithmetic(shop):
    study, found = shop
    leader = found.best.cheapest
    agrees(found.best, *by_hand(study, leader))
    assert len(found.inputs) == 12
    for tried in found.inputs:
        stated = next(s for s in study.scenario.inputs.values() if s.key == tried.key)
        scale = 100 if stated.percent else 1
        assert (tried.low, tried.best, tried.high) == pytest.approx(
            [x * scale for x in (stated.low, stated.best, stated.high)]
        )
        for outcome, value in ((tried.at_low, tried.low), (tried.at_high, tried.high)):
            cheapest, lead, annuity = by_hand(study, leader, {tried.key: engine(study, tried.key, value)})
            agrees(outcome, cheapest, lead, annuity)


def test_leads_are_those_of_the_ranges(shop):
    study, found = shop
    ends = {(e.stated.key, e.end): e for e in try_ranges(study).ends}
    compared = 0
    for tried in found.inputs:
        for end, outcome in (("low", tried.at_low), ("high", tried.at_high)):
            one = ends[tried.key, end]
            assert study.methods[outcome.cheapest].method.short == one.winner
            if outcome.lead is not None:
                assert outcome.lead == pytest.approx(one.lead, rel=1e-9, abs=TIE)
                compared += 1
    assert compared >= 20


def test_inputs_are_ranked_by_swing_and_ties_by_order(shop):
    study, found = shop
    order = [stated.key for stated, _ in case_set(study, try_ranges(study)).ends]
    assert sorted(order) == sorted(tried.key for tried in found.inputs)
    for tried in found.inputs:
        leads = (tried.at_low.lead, found.best.lead, tried.at_high.lead)
        if None in leads:
            assert tried.swing is None
        else:
            assert tried.swing == pytest.approx(max(leads) - min(leads), abs=1e-6)
    for one, after in zip(found.inputs, found.inputs[1:], strict=False):
        if one.swing is None:
            continue
        # The tie-breaker is 0.0001 a place; nearer than twelve of them counts as a tie.
        assert after.swing is not None and one.swing > after.swing - 12e-4
        if abs(one.swing - after.swing) < 1e-6:
            assert order.index(one.key) < order.index(after.key)


def test_a_tie_stands_among_those_ranked(tmp_path):
    """Speed and staffed hours of the one press both only make its hours spare: their swings are the same."""
    study = study_of(tmp_path, SHOP)
    found = sensitivity(study, study.evaluate())
    swings = {tried.key: tried.swing for tried in found.inputs}
    assert swings["presses.main.speed"] == pytest.approx(swings["presses.main.staffed"], abs=1e-6)


def test_the_grid_by_plain_arithmetic(shop):
    study, found = shop
    grid = found.grid
    for side in (grid.down, grid.across):
        low, down, best, up, high = side.values
        assert (down, up) == pytest.approx(((low + best) / 2, (best + high) / 2))
    for i, one in enumerate(grid.down.values):
        for j, other in enumerate(grid.across.values):
            changes = {
                grid.down.key: engine(study, grid.down.key, one),
                grid.across.key: engine(study, grid.across.key, other),
            }
            agrees(grid.cells[i][j], *by_hand(study, found.best.cheapest, changes))
    assert grid.cells[2][2].lead == pytest.approx(found.best.lead)


def test_the_maps_by_plain_arithmetic(shop):
    """Impressions stay where the volume of forms falls as runs grow; forms stay where it doesn't."""
    study, found = shop
    stated = {s.key: s.best for s in study.scenario.inputs.values()}
    values = study.evaluate()
    plates = float(values[study.shop.plates_a_month][0])
    assert [each.held for each in found.maps] == ["forms", "impressions"]
    seen = set()
    for each in found.maps:
        assert (len(each.runs), len(each.plates)) == (7, 9)
        shortest, longest = stated["work.shortest_run"], stated["work.longest_run"]
        least, most = stated["work.least_volume"], stated["work.most_volume"]
        for i, names in enumerate(each.cheapest):
            run = shortest * (longest / shortest) ** (i / 6)
            assert each.shares[i] == pytest.approx(run)
            for j, (name, pick) in enumerate(zip(names, MAP_PICKS, strict=True)):
                volume = least + (most - least) * (pick - 1) / (VOLUMES - 1)
                assert each.plates[j] == pytest.approx(volume * plates)
                fewer = run if each.held == "impressions" else 1
                changes = {
                    "work.run_length": run * stated["work.run_length"],
                    "work.volume": volume * stated["work.volume"] / fewer,
                }
                assert name == by_hand(study, found.best.cheapest, changes)[0]
                seen.add(name)
        assert each.runs[3] == pytest.approx(each.shares[3] * each.runs[0] / each.shares[0])
    assert seen <= set(study.methods)


def test_an_end_without_a_rival_turns_nothing(tmp_path):
    study = study_of(tmp_path, CLOSE)
    found = sensitivity(study, study.evaluate())
    tried = {each.key: each for each in found.inputs}
    coarse = tried["methods.direct.ruling_limit"]
    assert (coarse.at_low.cheapest, coarse.at_low.lead) == ("polyester", None)
    cheap = tried["methods.direct.plates.price_per_area"]
    assert cheap.at_low.cheapest == "direct" and cheap.at_low.lead < 0
    turning = [
        each.key
        for each in found.inputs
        if {each.at_low.cheapest, each.at_high.cheapest} != {found.best.cheapest}
    ]
    assert found.turning == len(turning) and "methods.direct.ruling_limit" not in turning
    assert found.passes_nought and 0 < found.place(0.0) < 1
    assert (found.place(found.span[0]), found.place(found.span[1])) == (0, 1)


def test_one_method_alone(tmp_path):
    text = SHOP.replace("[methods.direct]", "[methods.bought_in]") + "confined = 1.0\n"
    study = study_of(tmp_path, text)
    found = sensitivity(study, study.evaluate())
    assert (found.best.cheapest, found.best.lead, found.turning) == ("polyester", None, 0)
    assert found.sentences == ("No input, alone and within its range, moves the lead.",)
    assert found.inputs == () and found.maps == ()


def test_no_method_at_all(tmp_path):
    """Nothing may leave the building and nothing can be made in it."""
    text = SHOP.replace(
        "[methods.polyester.equipment.line]", "[methods.bought_in]\n\n[methods.polyester.equipment.line]"
    )
    text = text.replace("[methods.direct]", '[methods.direct]\nruling_limit = "60 lpi"')
    text = text.replace(
        "[methods.bought_in]", '[methods.polyester]\nruling_limit = "60 lpi"\n\n[methods.bought_in]'
    )
    study = study_of(tmp_path, text + "confined = 1.0\n")
    found = sensitivity(study, study.evaluate())
    assert (found.best.cheapest, found.best.lead) == (None, None)
    assert found.sentences == ("No input, alone and within its range, moves the lead.",)


def test_json_is_plain_and_unrounded(shop):
    study, found = shop
    plain = as_json(study, found)
    assert json.loads(json.dumps(plain, allow_nan=False)) == plain
    assert [each["rank"] for each in plain["inputs"]] == list(range(1, 13))
    first = plain["inputs"][0]
    assert set(first) == {
        "rank", "key", "label", "unit", "low", "best", "high", "at_low", "at_high", "swing"
    }  # fmt: skip
    assert first["at_high"] == {
        "cheapest": found.inputs[0].at_high.cheapest,
        "lead": found.inputs[0].at_high.lead,
    }
    percent = {each["key"]: each for each in plain["inputs"] if each["unit"] == "%"}
    rate = percent["money.tax_rate"]
    assert (rate["low"], rate["best"], rate["high"]) == (0, 25, 32)
    assert plain["grid"]["lead"][2][2] == pytest.approx(plain["lead"])
