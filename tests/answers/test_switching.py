"""Switching values: a worked example by hand, a step by hand, and every value found put back into the whole book.

HM Treasury, The Green Book: the switching value is the value an input must take for another option to be preferred.
"""

import functools
import json
from pathlib import Path

import numpy as np
import pytest

from roi.answers.breakeven import reach
from roi.answers.ranges import try_ranges
from roi.answers.searched import rounded_away, told_turning
from roi.answers.switching import could_turn, switching_values
from roi.answers.switching_words import as_json, sentences, turning_points
from roi.engine.column import Book, Column
from roi.engine.evaluate import Program
from roi.engine.expression import Input
from roi.engine.operations import up
from roi.engine.switches import Range, Search
from roi.model.study import build
from roi.scenario.risk import in_grades
from roi.scenario.scenario import read
from tests.small_shop import SHOP

TIE = 0.01
THREE = SHOP.replace("[methods.direct]", "[methods.bought_in]\n\n[methods.direct]")
# Direct at a low price turns the answer; at a coarse ruling it can make nothing.
CLOSE = SHOP.replace(
    "[methods.direct]",
    "[methods.direct]\n"
    'ruling_limit = { best = "175 lpi", low = "60 lpi", high = "200 lpi" }\n'
    '[methods.direct.plates]\nprice_per_area = { best = "20 USD/m2", low = "2 USD/m2", high = "38 USD/m2" }',
)


def study_of(folder, text):
    path = folder / "shop.toml"
    path.write_text(text, encoding="utf-8")
    return build(read(path))


@pytest.fixture(scope="module", params=["two", "three", "close", "demo"])
def shop(request, tmp_path_factory):
    if request.param == "demo":
        study = build(read(Path(__file__).parents[2] / "scenarios" / "us_two_press" / "shop.toml"))
    else:
        text = {"two": SHOP, "three": THREE, "close": CLOSE}[request.param]
        study = study_of(tmp_path_factory.mktemp("shop"), text)
    return study, switching_values(study)


def engine(stated, shown):
    return shown / (100 if stated.percent else 1) * stated.factor


@functools.cache
def program(book, *lines):
    """The whole book made ready to compute lines, once."""
    return Program(book, lines)


def winner(study, changes, view=""):
    """(cheapest method, present costs of those that can do the work) for one case, the current one favoured by a cent."""
    wanted = [s.lines[k] for s in study.methods.values() for k in (f"present{view}", "feasible")]
    values = program(study.book, *wanted).run({k: np.array([v]) for k, v in changes.items()})
    cost = {
        name: float(values[s.lines[f"present{view}"]][0])
        for name, s in study.methods.items()
        if values[s.lines["feasible"]][0] == 1
    }
    return (min(cost, key=cost.get) if cost else None), cost


# --- by hand


def searched_by_hand(lines, line_of, ranges):
    """Changes of `line_of(values) >= 0` for a book of one column."""
    search = Search(Book([lines]), list(lines.lines), ranges, lambda v: [(line_of(v) >= 0).astype(np.int64)])
    return search.changes()


def test_a_development_on_land_by_hand():
    """39 acres, bought at 30,659 an acre, are worth v an acre afterwards; 1.4 million come on top, 10 million are spent.

    Net value = 39 (v - 30,659) + 1,400,000 - 10,000,000 = 0 at v = 8,600,000 / 39 + 30,659 = 251,171.82. The figures are
    those of HM Treasury, The Green Book, box 12; the value is computed here from the definition.
    """
    column = Column("Land", "land")
    named = {
        "area": ("m2", 39),  # any measure of area: what counts is that both prices are for one of it
        "future": ("currency/m2", 280_000),
        "existing": ("currency/m2", 30_659),
        "wider": ("currency", 1_400_000),
        "spent": ("currency", 10_000_000),
    }
    at = {name: column.input(Input(name, name, unit, value)) for name, (unit, value) in named.items()}
    gain = at["area"] * (at["future"] - at["existing"]) + at["wider"] - at["spent"]
    net = column.line("Net value", "currency", gain)
    found = searched_by_hand(
        column, lambda v: v[net], [Range("future", 280_000, 200_000, 350_000, 70_000, 1_120_000)]
    )
    (change,) = found
    assert (change.side, change.before, change.after) == (-1, 1, 0)
    assert change.kept == pytest.approx(251_171.82, abs=0.01)
    assert change.beyond < change.kept and change.kept - change.beyond <= 1e-12 * change.kept


def test_a_step_by_hand():
    """A pickup for each started 4 drums at 100 each, against 250 flat: dearer from the third pickup on, above 8 drums."""
    column = Column("Waste", "waste")
    drums = column.input(Input("drums", "drums", "1", 5))
    pickups = column.line("Pickups", "1", up(drums / column.input(Input("four", "four", "1", 4))))
    ranges = [Range("drums", 5, 4, 6, 1.25, 20), Range("drums", 5, 4, 6, 1, 20, whole=True)]
    found = searched_by_hand(column, lambda v: 250 - 100 * v[pickups], ranges)
    assert [(c.place, c.side) for c in found] == [(0, 1), (1, 1)]
    smooth, whole = found
    assert smooth.kept <= smooth.beyond and smooth.kept == pytest.approx(8, abs=1e-6)
    assert (whole.kept, whole.beyond) == (8, 9)


# --- put back


def test_every_switch_put_back(shop):
    study, found = shop
    cheapest, _ = winner(study, {})
    assert found.cheapest == cheapest
    met = [(each, s) for each in found.inputs for s in (each.below, each.above) if s is not None]
    assert len(met) >= 3
    for each, switch in met:
        kept, beyond, at = (
            winner(study, {each.stated.key: engine(each.stated, x)})
            for x in (switch.kept, switch.beyond, switch.at)
        )
        assert switch.before == cheapest
        if switch.kind == "tie":
            one, other = (at[1][name] for name in (switch.before, switch.after))
            assert abs(one - other) <= TIE
            assert switch.costs == pytest.approx((one, other), rel=1e-12)
        else:
            assert (kept[0], beyond[0]) == (switch.before, switch.after)
            assert at[0] == switch.after
        if in_grades(each.stated.key):
            # Neighbours among its own three values.
            assert {switch.kept, switch.beyond} <= {each.low, each.best, each.high}
            assert not any(min(switch.kept, switch.beyond) < x < max(switch.kept, switch.beyond)
                           for x in (each.low, each.best, each.high))  # fmt: skip
            continue
        assert abs(switch.beyond - switch.kept) <= max(1e-11 * abs(switch.beyond), float(each.stated.whole))
        assert (switch.at > each.best) == (switch is each.above)


def test_every_value_as_printed_turns_the_answer(shop):
    """The text of the terminal, read back as a number and put into the book, makes the method told the cheapest."""
    study, found = shop
    row = study.comparison.rows["winner"]
    ids = [None, *study.methods]
    for each in found.switching:
        for switch in (each.below, each.above):
            if switch is None:
                continue
            text = told_turning(each.stated, switch.told)
            put = float(text.removesuffix(each.stated.shown).replace(",", ""))
            values = program(study.book, row).run({each.stated.key: np.array([engine(each.stated, put)])})
            assert ids[round(float(values[row].flat[0]))] == switch.after, (each.stated.key, text)
            assert abs(switch.told - each.best) >= abs(switch.beyond - each.best)


def test_nothing_switches_nearer(shop):
    """Twenty values, drawn with a fixed seed, between best and the switch or the end of what was searched, each side."""
    study, found = shop
    draw = np.random.default_rng(11)
    cases, place = {}, 0
    plan = []
    for each in found.inputs:
        low = each.below.kept if each.below else each.searched[0]
        high = each.above.kept if each.above else each.searched[1]
        values = draw.uniform(low, high, 20)
        if each.stated.whole:
            values = np.clip(np.round(values), np.ceil(low), np.floor(high))
        plan.append((each.stated, values))
    count = 20 * len(plan)
    for stated, values in plan:
        cases[stated.key] = np.full(count, stated.best * stated.factor)
        cases[stated.key][place : place + 20] = [engine(stated, x) for x in values]
        place += 20
    row = study.comparison.rows["winner"]
    winners = np.broadcast_to(Program(study.book, [row]).run(cases)[row], (count,))
    assert set(winners.tolist()) == {list(study.methods).index(found.cheapest) + 1}


def test_every_input_in_use_is_told(shop):
    study, found = shop
    told = [each.stated.key for each in found.inputs] + [stated.key for stated in found.unsearched]
    assert sorted(told) == sorted(s.key for s in study.scenario.inputs.values() if s.key in study.book.inputs)
    for each in found.inputs:
        scale = 100 if each.stated.percent else 1
        looked = reach(study, each.stated)
        if in_grades(each.stated.key):
            looked = (each.stated.low, each.stated.high)
        assert each.searched == pytest.approx([x * scale for x in looked])


def test_changes_needed_by_hand(shop):
    _, found = shop
    for each in found.switching:
        switch = each.nearest
        moved = switch.at - each.best
        others = [s for s in (each.below, each.above) if s is not None]
        assert abs(moved) == min(abs(s.at - each.best) for s in others)
        if each.best:
            assert switch.change_percent == pytest.approx(100 * moved / abs(each.best), rel=1e-9)
        else:
            assert switch.change_percent is None
        if each.high > each.low:
            assert switch.share_of_range == pytest.approx(abs(moved) / (each.high - each.low), rel=1e-9)
        else:
            assert switch.share_of_range is None
    shares = [e.nearest.share_of_range for e in found.switching if e.nearest.share_of_range is not None]
    assert shares == sorted(shares)


def test_what_turns_at_an_end_switches_within(shop):
    """`try_ranges` works the two ends of each range one by one; what turns there must be found to turn."""
    study, found = shop
    turning = {end.stated.key for end in try_ranges(study).turns}
    every = {each.stated.key for each, _ in could_turn(found, len(found.inputs))}
    assert turning <= every
    said = turning_points(study, found)
    first = could_turn(found, 1)
    assert (first[0][0].stated.label in said) if first else "no input, within its own range" in said


def test_the_full_cost_view_put_back(tmp_path):
    study = study_of(tmp_path, CLOSE)
    found = switching_values(study, "full")
    assert found.cheapest == winner(study, {}, "_full")[0]
    assert found.switching
    for each in found.switching:
        switch = each.nearest
        _, cost = winner(study, {each.stated.key: engine(each.stated, switch.at)}, "_full")
        if switch.kind == "tie":
            assert abs(cost[switch.before] - cost[switch.after]) <= TIE
    assert "at full cost" in sentences(study, found)[0]


def test_a_method_that_cannot_do_the_work_never_wins(tmp_path):
    """Nothing may leave the building: below the ruling of its work today's method can do nothing, and direct wins."""
    study = study_of(tmp_path, SHOP + "confined = 1.0\n")
    found = switching_values(study)
    each = next(e for e in found.inputs if e.stated.key == "methods.polyester.ruling_limit")
    switch = each.below
    assert (switch.kind, switch.before, switch.after, switch.costs[0]) == (
        "jump",
        "polyester",
        "direct",
        None,
    )
    assert winner(study, {each.stated.key: engine(each.stated, switch.beyond)})[0] == "direct"
    coarse = next(e for e in found.inputs if e.stated.key == "methods.direct.ruling_limit")
    assert coarse.below is None


def test_one_method_alone_switches_nothing_but_itself(tmp_path):
    text = SHOP.replace("[methods.direct]", "[methods.bought_in]") + "confined = 1.0\n"
    study = study_of(tmp_path, text)
    found = switching_values(study)
    assert found.cheapest == "polyester"
    assert {each.nearest.after for each in found.switching} <= {None}
    assert all(each.nearest.costs[1] is None for each in found.switching)


@pytest.mark.parametrize(
    "value, best, digits, rounded",
    [
        (7.2454857, 10, 4, 7.245),
        (7.2454857, 5, 4, 7.246),
        (21253.15, 8000, 4, 21254),
        (-3.88419, 3, 4, -3.885),
        (-3.88419, -5, 4, -3.884),
        (0.00123456, 1, 4, 0.001234),
        (149.9999999, 150, 4, 149.9),
        (0.0, 5, 4, 0.0),
        (7.5, 3, 4, 7.5),
    ],
)
def test_values_are_rounded_away_from_best(value, best, digits, rounded):
    assert rounded_away(value, best, digits) == rounded


def test_a_ruling_switches_at_one_of_its_own_values(tmp_path):
    """The work is at 133 lpi, today's plates hold 150: at their low of 120 they can't, and 149.9 lpi is no ruling."""
    ruling = 'ruling_limit = { best = "150 lpi", low = "120 lpi", high = "175 lpi" }'
    text = (
        SHOP.replace("[methods.direct]", f"[methods.polyester]\n{ruling}\n\n[methods.direct]")
        + "confined = 1.0\n"
    )
    found = switching_values(study_of(tmp_path, text))
    each = next(e for e in found.inputs if e.stated.key == "methods.polyester.ruling_limit")
    assert each.below is not None and each.above is None
    assert told_turning(each.stated, each.below.told) == "120 lpi"
    assert (each.below.kind, each.below.kept, each.below.after) == ("jump", 150, "direct")


def test_json_is_plain_and_unrounded(shop):
    study, found = shop
    plain = as_json(study, found)
    assert json.loads(json.dumps(plain, allow_nan=False)) == plain
    assert (plain["view"], plain["cheapest"]) == ("cash", found.cheapest)
    for row, each in zip(plain["inputs"], found.inputs, strict=True):
        for side in ("below", "above"):
            switch = getattr(each, side)
            assert (row[side] is None) == (switch is None)
            if switch is not None:
                assert [row[side][name] for name in ("switching_value", "told")] == [switch.at, switch.told]
