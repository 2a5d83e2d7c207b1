"""What is told of a study's draws, against plain arithmetic on one case of the whole book at a time."""

import functools
import json
from dataclasses import replace

import numpy as np
import pytest

from roi.answers.risk import MOST_FACTORS, chance_of_the_best, risk, usual_risk
from roi.answers.risk_results import FIRM
from roi.answers.risk_words import (
    STEPS,
    as_json,
    cumulative,
    histogram,
    sentences,
    told_share,
    why_no_shares,
    worth_telling,
)
from roi.answers.uncertain import Uncertain
from roi.engine.evaluate import Program
from roi.model.study import build
from roi.scenario.problems import BadInput
from roi.scenario.risk import RiskSettings, in_grades, price_groups, risk_settings
from roi.scenario.scenario import read
from tests.small_shop import SHOP

THREE = SHOP.replace("[methods.direct]", "[methods.bought_in]\n\n[methods.direct]")
# Direct is cheaper or dearer by its plate price; at its coarsest ruling it can do nothing.
CLOSE = SHOP.replace(
    "[methods.direct]",
    "[methods.direct]\n"
    'ruling_limit = { best = "175 lpi", low = "60 lpi", high = "200 lpi" }\n'
    '[methods.direct.plates]\nprice_per_area = { best = "12 USD/m2", low = "2 USD/m2", high = "30 USD/m2" }',
)
# Both can do the work in every draw; the price of direct plates decides.
ABLE = CLOSE.replace('low = "60 lpi"', 'low = "175 lpi"').replace(
    "[methods.polyester.",
    '[methods.polyester]\nruling_limit = { best = "150 lpi", low = "150 lpi", high = "150 lpi" }\n'
    "[methods.polyester.",
)
FEW = RiskSettings(draws=100, seed=4, shape="pert", together=0.5)
SOME = replace(FEW, draws=2000)
TIE = 0.01


def study_of(folder, text):
    path = folder / "shop.toml"
    path.write_text(text, encoding="utf-8")
    return build(read(path))


@pytest.fixture(scope="module")
def shops(tmp_path_factory):
    @functools.cache
    def shop(text):
        return study_of(tmp_path_factory.mktemp("shop"), text)

    return shop


@pytest.mark.parametrize("text", [THREE, CLOSE], ids=["three", "close"])
def test_each_draw_worked_alone_gives_the_same(shops, text):
    """A hundred draws: the values drawn are put into the book one draw at a time, and everything is told again by hand."""
    study = shops(text)
    uncertain, found = Uncertain(study, FEW), risk(study, FEW)
    ids, today = list(study.methods), list(study.methods).index(study.scenario.current)
    rows = study.comparison.rows
    names = ("present", "present_full", "equivalent", "feasible")
    program = Program(study.book, [rows[name] for name in names])
    cost, cost_full, yearly, able = (np.empty((len(ids), FEW.draws)) for _ in names)
    for start, values in uncertain.draws.blocks(60):
        for i in range(values.shape[1]):
            alone = program.run({s.key: values[j, i : i + 1] for j, s in enumerate(uncertain.inputs)})
            for block, name in zip((cost, cost_full, yearly, able), names, strict=True):
                block[:, start + i] = alone[rows[name]][:, 0]
    able = able == 1
    for chances, present in (("chance", cost), ("chance_full", cost_full)):
        judged = np.where(able, present, np.inf)
        judged[today] -= TIE
        wins = np.bincount(np.argmin(judged, axis=0)[able.any(axis=0)], minlength=len(ids)) / FEW.draws
        assert [getattr(m, chances) for m in found.methods.values()] == pytest.approx(wins)
    assert found.none_able == (~able.any(axis=0)).mean()
    cheapest = np.where(able, cost, np.inf).min(axis=0)
    for i, method in enumerate(found.methods.values()):
        assert method.able == able[i].mean()
        assert method.chance_error == pytest.approx(np.sqrt(method.chance * (1 - method.chance) / FEW.draws))
        if able[i].any():
            regret = (cost[i] - cheapest)[able[i]]
            assert method.regret == pytest.approx(regret.mean(), rel=1e-9, abs=1e-6)
        both = able[i] & able[today]
        if i == today or not both.any():
            assert method.saving is None and method.saving_present is None
            continue
        for amounts, block in ((method.saving, yearly), (method.saving_present, cost)):
            saved = np.sort((block[today] - block[i])[both])
            # Quantiles by hand: position (n - 1) q among the sorted, in a straight line between neighbours.
            for told, q in ((amounts.p10, 0.1), (amounts.p50, 0.5), (amounts.p90, 0.9)):
                at = (saved.size - 1) * q
                below, above = saved[int(at)], saved[min(int(at) + 1, saved.size - 1)]
                assert told == pytest.approx(below + (at - int(at)) * (above - below), rel=1e-9, abs=1e-6)
            assert amounts.mean == pytest.approx(saved.mean(), rel=1e-9, abs=1e-6)
            assert amounts.error == pytest.approx(saved.std(ddof=1) / np.sqrt(saved.size))
    always = [i for i in range(len(ids)) if able[i].all()]
    if always:
        assert found.choice == ids[min(always, key=lambda i: cost[i].mean())]


def numbers(part):
    if isinstance(part, dict):
        return [x for value in part.values() for x in numbers(value)]
    if isinstance(part, list):
        return [x for value in part for x in numbers(value)]
    return [float(part)] if isinstance(part, int | float) else []


@pytest.fixture(scope="module")
def told(shops):
    study = shops(CLOSE)
    return study, risk(study, SOME, shares=64)


def test_the_size_of_a_block_changes_nothing(told):
    study, found = told
    other = as_json(study, risk(study, SOME, shares=64, block=300))
    np.testing.assert_allclose(numbers(other), numbers(as_json(study, found)), rtol=1e-9, atol=1e-9)


def test_same_seed_same_result_and_another_seed_another(told):
    study, found = told
    again = as_json(study, risk(study, SOME, shares=64))
    assert numbers(again) == numbers(as_json(study, found))
    other = risk(study, replace(SOME, seed=5))
    assert other.methods["direct"].saving != found.methods["direct"].saving
    # Other draws of the same: means agree within four of their standard errors.
    one, two = found.methods["direct"].saving, other.methods["direct"].saving
    assert one.mean == pytest.approx(two.mean, abs=4 * np.hypot(one.error, two.error))


def test_chances_come_to_one_and_the_best_regret_is_what_knowing_is_worth(shops):
    study = shops(THREE.replace("[methods.direct]", '[methods.direct]\nruling_limit = "200 lpi"'))
    found = risk(study, SOME)
    for view in ("chance", "chance_full"):
        total = sum(getattr(m, view) for m in found.methods.values())
        assert total + (found.none_able if view == "chance" else 0) == pytest.approx(1)
    assert len(found.always) >= 2
    if set(found.always) == set(found.methods):
        # Raiffa and Schlaifer: the expected value of perfect information is the least expected regret.
        regrets = [m.regret for m in found.methods.values()]
        assert found.knowing_all == pytest.approx(min(regrets)) == found.methods[found.choice].regret


def test_no_input_is_worth_more_than_all(shops):
    study = shops(ABLE)
    found = risk(study, SOME)
    assert set(found.always) == {"polyester", "direct"} and found.knowing_all > 0
    assert all(0 <= known.value <= found.knowing_all for known in found.knowing)
    assert [known.value for known in found.knowing] == sorted(
        (known.value for known in found.knowing), reverse=True
    )
    # The one input that was made uncertain on purpose.
    assert found.knowing[0].keys == ("methods.direct.plates.price_per_area",)
    assert found.knowing[0].group == "aluminium"


def test_variance_shares_of_a_study(shops):
    found = risk(shops(ABLE), SOME, shares=64)
    assert found.challenger == "direct" and found.shares is not None
    assert found.shares.evaluations == 64 * (MOST_FACTORS + 1 + 2)
    *named, rest = found.shares.shares
    assert len(named) == MOST_FACTORS and rest.keys == ()
    assert found.shares.rest == found.drawn - sum(len(share.keys) for share in named)
    assert [s.total for s in named] == sorted((s.total for s in named), reverse=True)
    # Shares of a nearly additive saving come to about one; n = 64 is rough.
    assert sum(s.total for s in found.shares.shares) == pytest.approx(1, abs=0.5)
    assert "methods.direct.plates.price_per_area" in named[0].keys


def test_progress_is_told_to_the_end(shops):
    steps = []
    risk(shops(CLOSE), SOME, shares=16, block=500, progress=lambda done, whole: steps.append((done, whole)))
    done = [step for step, _ in steps]
    assert done == sorted(done) and done[0] == 500
    assert len({whole for _, whole in steps}) == 1 and done[-1] <= steps[-1][1]


# What is drawn


def test_drawn_is_what_has_a_range_and_is_no_count(shops):
    horizon = 'horizon = { best = "7 year", low = "5 year", high = "9 year" }'
    study = shops(SHOP.replace("[presses.main]", f"[money]\n{horizon}\n[presses.main]"))
    uncertain = Uncertain(study, FEW)
    assert [s.key for s in uncertain.held] == ["money.horizon"]
    assert all(s.low < s.high and not s.whole for s in uncertain.inputs)
    found = risk(study, FEW)
    assert found.held == ("Years looked ahead",)
    assert any("Years looked ahead" in said for said in sentences(study, found))


def test_shares_are_told_only_where_both_can_do_the_work_in_every_case(shops):
    """In CLOSE either method can do nothing at its low ruling, drawn in a sixth of the cases each: 1 - (5/6)^2 = 0.306."""
    study = shops(CLOSE)
    found = risk(study, SOME, shares=16)
    assert found.shares is None
    assert found.shares_barred == pytest.approx(1 - 25 / 36, abs=0.01)
    part = round(found.shares_barred * 100)
    assert f"Direct or Polyester can't do the work in {part} % of the cases" in why_no_shares(study, found)
    assert as_json(study, found)["variance"] is None
    able = risk(shops(ABLE), SOME, shares=16)
    assert able.shares is not None and able.shares_barred == 0 and why_no_shares(study, able) == ""


def test_a_case_of_the_design_that_can_not_be_carried_out_bars_the_shares(shops):
    """The design has points of its own: in a hundred of them a sixth again lie at the ruling that bars the method."""
    uncertain = Uncertain(shops(CLOSE), FEW)
    saving = uncertain.saving("direct")
    points = np.full((uncertain.draws.columns, 100), 0.5)
    at = [s.key for s in uncertain.inputs].index("methods.direct.ruling_limit")
    points[at] = (np.arange(100) + 0.5) / 100
    saving(points)
    assert (saving.points, saving.barred) == (100, 17)  # 0.005 to 0.165 lie below 1/6


def test_a_ruling_is_drawn_in_grades(shops):
    """Weights 1, 4, 1: of 1,200 draws, one in each 1,200th of the chance, 200 lie at low, 800 at best, 200 at high."""
    study = shops(CLOSE)
    uncertain = Uncertain(study, replace(FEW, draws=1200, together=0.0))
    at = [s.key for s in uncertain.inputs].index("methods.direct.ruling_limit")
    assert in_grades("methods.direct.ruling_limit") and not in_grades("methods.direct.life.coated")
    values = np.hstack([v[at].copy() for _, v in uncertain.draws.blocks(500)])
    found, counts = np.unique(np.round(values, 9), return_counts=True)
    lines_per_inch = found / next(
        s.factor for s in uncertain.inputs if s.key == "methods.direct.ruling_limit"
    )
    np.testing.assert_allclose(lines_per_inch, [60, 175, 200])
    assert counts.tolist() == [200, 800, 200]


def test_draws_of_a_study_keep_to_their_ranges_and_means(shops):
    study = shops(THREE)
    for shape in ("pert", "triangular"):
        uncertain = Uncertain(study, replace(SOME, shape=shape))
        values = np.hstack([v.copy() for _, v in uncertain.draws.blocks()])
        for stated, row in zip(uncertain.inputs, values, strict=True):
            low, best, high = (x * stated.factor for x in (stated.low, stated.best, stated.high))
            span = high - low
            assert low <= row.min() and row.max() <= high
            weight = 4 if shape == "pert" else 1
            mean = (low + weight * best + high) / (2 + weight)
            # The widest of the spreads deviates by span / 3; 4 standard errors, as if draws were plain.
            assert abs(row.mean() - mean) < 4 * span / 3 / np.sqrt(SOME.draws), stated.key


def test_price_groups_hold_the_prices_of_one_material(shops):
    study = shops(THREE)
    groups = {
        g.name: g.keys for g in price_groups(study.scenario, [s.key for s in Uncertain(study, FEW).inputs])
    }
    assert "methods.direct.plates.price_per_area" in groups["aluminium"]
    assert "bought_in.price_per_area" in groups["aluminium"]
    assert groups["polyester"] == ("methods.polyester.plates.price_per_area",)
    assert set(groups["coating_and_duty"]) == {"growth.plates", "growth.bought_in"}
    assert {"shop.electricity", "growth.energy"} <= set(groups["energy"])
    assert {"grades.prepress.wage", "growth.wages"} <= set(groups["wages"])
    listed = [key for keys in groups.values() for key in keys]
    assert len(listed) == len(set(listed))


def test_prices_that_move_as_one_are_known_as_one(shops):
    found = risk(shops(ABLE), replace(SOME, together=1.0))
    grouped = [known for known in found.knowing if len(known.keys) > 1]
    assert {known.group for known in grouped} >= {"aluminium", "wages"}
    keys = [key for known in found.knowing for key in known.keys]
    assert len(keys) == len(set(keys)) == found.drawn


# What is stated


def test_settings_are_the_shipped_ones_unless_stated(tmp_path):
    assert risk_settings(study_of(tmp_path, SHOP).scenario) == RiskSettings(4096, 1, "pert", 0.5)
    text = SHOP + '[risk]\ndraws = 500\nseed = 0\nshape = "triangular"\ntogether = 1\n'
    assert risk_settings(study_of(tmp_path, text).scenario) == RiskSettings(500, 0, "triangular", 1.0)


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("draws = 99", "risk.draws: 99 can't be used"),
        ("draws = 4096.0", "risk.draws: 4096.0 can't be used"),
        ("seed = -1", "risk.seed: -1 can't be used"),
        ("seed = true", "risk.seed: True can't be used"),
        ("together = 1.5", "risk.together: 1.5 can't be used"),
        ('shape = "pret"', "risk.shape: 'pret' is not known here"),
        ("drawz = 100", "risk.drawz: is not a key known here"),
    ],
)
def test_what_can_not_be_is_refused_with_its_place(tmp_path, line, says):
    with pytest.raises(BadInput) as refused:
        study_of(tmp_path, f"{SHOP}[risk]\n{line}\n")
    assert any(says in f"{p.where}: {p.what}" and p.mend for p in refused.value.problems)


# What is said


def test_the_chance_that_the_verdict_may_lean_on(tmp_path):
    study = study_of(tmp_path, CLOSE + "[risk]\ndraws = 300\nseed = 2\n")
    chance, found = chance_of_the_best(study), usual_risk(study)
    assert chance is not None and chance.method == found.best
    assert (chance.cash, chance.full) == (
        found.methods[found.best].chance,
        found.methods[found.best].chance_full,
    )
    assert chance.close == (chance.cash < FIRM) and (chance.draws, chance.seed) == (300, 2)
    said = sentences(study, found)
    assert said[0].startswith("Too close to call: ") == chance.close
    assert usual_risk(study) is found


def test_where_no_method_can_do_the_work_there_is_no_chance(tmp_path):
    coarse = 'ruling_limit = { best = "60 lpi", low = "50 lpi", high = "70 lpi" }\n'
    text = SHOP.replace("[methods.polyester.", f"[methods.polyester]\n{coarse}[methods.polyester.")
    text = text.replace("[methods.direct]", f"[methods.direct]\n{coarse}") + "confined = 1.0\n"
    study = study_of(tmp_path, text)
    assert chance_of_the_best(study) is None
    assert "No method can do this work" in sentences(study, usual_risk(study))[0]


@pytest.mark.parametrize(
    ("share", "says"),
    [(1.0, "all of the 4,096 draws"), (0.0, "none of the 4,096 draws"), (4095 / 4096, "more than 99 % of the draws"),
     (1 / 4096, "less than 1 % of the draws"), (0.725, "73 % of the draws"), (0.994, "99 % of the draws")],
)  # fmt: skip
def test_a_share_is_never_told_as_all_or_none_where_it_is_not(share, says):
    assert told_share(share, 4096) == says


def test_histogram_and_curve_by_hand():
    """0, 1, ... 100: 20 bins of 5 hold 5 each, the last also the 100; 5 % of the way along the sorted is 5."""
    edges, shares = histogram(np.arange(101.0))
    np.testing.assert_allclose(edges, np.arange(0, 101, 5))
    np.testing.assert_allclose(shares * 101, [5] * 19 + [6])
    np.testing.assert_allclose(cumulative(np.arange(101.0)), 100 * STEPS)


def test_the_json_is_whole_and_plain(told):
    study, found = told
    plain = as_json(study, found)
    assert json.loads(json.dumps(plain, allow_nan=False)) == plain
    assert sum(plain["savings"]["shares"]) == pytest.approx(1)
    assert set(plain["methods"]) == set(study.methods)


def test_only_worths_that_stand_out_are_told(shops):
    """A worth of at least half a unit of money and more than two of its standard errors."""
    found = risk(shops(ABLE), SOME)
    known = [replace(found.knowing[0], value=v, error=e) for v, e in ((90, 10), (50, 30), (8, 1), (0.4, 0.1))]
    few = replace(found, knowing=tuple(known))
    assert [k.value for k in worth_telling(few, 9)] == [90, 8]
    assert [k.value for k in worth_telling(few, 1)] == [90]
