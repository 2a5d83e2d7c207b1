"""Break-even of methods: by hand on a shop whose costs are two figures, by putting back on the demo, and in words."""

from pathlib import Path

import numpy as np
import pytest

from roi.answers.breakeven import VOLUME, BreakEven, Crossing, as_json, break_even, quantity, sentences
from roi.cli.breakeven import table
from roi.engine.evaluate import Program
from roi.model.study import build
from roi.scenario.problems import BadInput
from roi.scenario.scenario import read
from tests.small_shop import SHOP

DEMO = Path(__file__).parents[2] / "scenarios" / "us_two_press" / "shop.toml"
# Everything is bought in for nothing, 300 plates a month in runs one plate lasts. "Stay" pays 36,000 a year, the other 5
# a plate: no growth, no remakes, so that both are worth the same where 60 a plate and month make 36,000.
TWO_FIGURES = """
schema = 1
name = "Two figures, no shop at all"
currency = "USD"
current = "stay"
[money]
inflation = "0 %/year"
[growth]
volume = "0 %/year"
bought_in = "0 %/year"
[shop]
early_failure = "0 %"
base_remakes = "0 %"
[sizes]
only = "10 in x 15 in"
[presses.only]
printing_units = 1
[bought_in]
delivery = "0 USD/trip"
rush = "0 USD/form"
price.only = "0 USD/plate"
[methods.stay]
makes_plates = false
label = "Staying as it is"
short = "Staying"
[methods.stay.items.flat]
family = "room"
driver = "year"
cost = { best = "36000 USD/year", low = "100 USD/year", high = "40000 USD/year" }
[methods.other]
makes_plates = false
label = "Other method"
short = "Other"
[methods.other.items.each]
family = "room"
driver = "bought-in plate"
cost = "5 USD/plate"
[methods.same]
makes_plates = false
label = "UV line, leased"
short = "UV line"
[methods.same.items.flat]
family = "room"
driver = "year"
cost = "36000 USD/year"
[summary]
plates_per_month = { only = 300 }
runs = { under_1000 = 1 }
"""
KEYS = [
    None,
    "work.run_length",
    "growth.volume",
    "methods.direct.plates.price.large",
    "methods.polyester.ruling_limit",
    "money.horizon",
    "presses.two_colour.state",
]


@pytest.fixture(scope="module")
def figures(tmp_path_factory):
    path = tmp_path_factory.mktemp("figures") / "shop.toml"
    path.write_text(TWO_FIGURES, encoding="utf-8")
    return build(read(path))


@pytest.fixture(scope="module")
def demo():
    return build(read(DEMO))


@pytest.mark.parametrize(
    ("key", "at", "unit", "span"),
    [
        # 36,000 / (12 x 5) = 600; 36,000 / (12 x 300) = 10; 12 x 300 x 5 = 18,000.
        (None, 600, "plates/month", (60, 660)),
        ("methods.other.items.each.cost", 10, "USD/plate", (1.25, 20)),
        ("methods.stay.items.flat.cost", 18_000, "USD/year", (100, 144_000)),
    ],
)
def test_the_hand_worked_shop(figures, key, at, unit, span):
    found = {pair.between: pair for pair in break_even(figures, key)}
    assert list(found) == [("stay", "other"), ("stay", "same"), ("other", "same")]
    pair = found["stay", "other"]
    assert pair.quantity.unit == unit
    assert (pair.quantity.low, pair.quantity.high) == pytest.approx(span)
    (crossing,) = pair.crossings
    assert crossing.at == pytest.approx(at, rel=1e-9) and crossing.kind == "tie"
    assert (crossing.below, crossing.above) == (
        ("stay", "other") if "stay" in (key or "") else ("other", "stay")
    )


def test_methods_that_cost_the_same_leave_the_current_one(figures):
    pair = break_even(figures)[1]
    assert (pair.crossings, pair.always, pair.note) == ((), "stay", "both cost the same")
    assert sentences(figures, [pair]) == [
        "Staying and UV line cost the same between 60 and 660 plates a month."
    ]


def winner(study, key, value, pair):
    """Which of two methods costs less, reckoned from the whole book; None where neither can do the work."""
    values = study.evaluate({key: value})
    cost = {
        name: float(values[study.methods[name].lines["present"]][0])
        for name in pair
        if values[study.methods[name].lines["feasible"]][0] == 1
    }
    return min(cost, key=cost.__getitem__) if cost else None


@pytest.mark.parametrize("key", KEYS)
def test_each_crossing_put_back(demo, key):
    """At a tie both cost the same to a cent; the cheaper one changes across each; they come in rising order."""
    total = 0
    for pair in break_even(demo, key):
        scale, name = pair.quantity.scale, pair.quantity.key
        places = [c.at for c in pair.crossings]
        assert places == sorted(set(places)) and all(
            pair.quantity.low <= x <= pair.quantity.high for x in places
        )
        for crossing in pair.crossings:
            total += 1
            under, over = (1, 0) if pair.quantity.whole else (1e-9 * abs(crossing.at),) * 2
            assert winner(demo, name, (crossing.at - under) * scale, pair.between) == crossing.below
            assert winner(demo, name, (crossing.at + over) * scale, pair.between) == crossing.above
            if crossing.kind == "tie":
                values = demo.evaluate({name: crossing.at * scale})
                one, other = (float(values[demo.methods[m].lines["present"]][0]) for m in pair.between)
                assert abs(one - other) <= 0.01
                assert crossing.costs_below == crossing.costs_above == pytest.approx((one, other), abs=0.01)
            else:
                below, above = (np.subtract(*costs) for costs in (crossing.costs_below, crossing.costs_above))
                assert below * above < 0 and max(abs(below), abs(above)) > 0.01
        assert (pair.always is None) == bool(pair.crossings)
    assert total


@pytest.mark.parametrize("key", [None, "work.run_length", "methods.polyester.ruling_limit"])
def test_no_crossing_is_passed_over(demo, key):
    """The cheaper method at 3,000 values, against the crossings found from 400."""
    found = break_even(demo, key)
    over = found[0].quantity
    x = np.linspace(over.low, over.high, 3000)
    lines = [demo.comparison.rows["present"], demo.comparison.rows["feasible"]]
    parts = [values for _, values in Program(demo.book, lines).run_in_blocks({over.key: x * over.scale}, 500)]
    shape = (len(demo.methods), 500)
    cost, able = (np.concatenate([np.broadcast_to(v[line], shape) for v in parts], axis=1) for line in lines)
    cost = np.where(able == 1, cost, np.inf)
    ids = list(demo.methods)
    for pair in found:
        a, b = (ids.index(name) for name in pair.between)
        names = (
            [pair.always]
            if not pair.crossings
            else [pair.crossings[0].below] + [c.above for c in pair.crossings]
        )
        expected = np.array(names)[np.searchsorted([c.at for c in pair.crossings], x)]
        np.testing.assert_array_equal(np.where(cost[a] < cost[b], ids[a], ids[b]), expected)


@pytest.mark.parametrize("key", [None, "growth.volume", "methods.polyester.ruling_limit"])
def test_finer_sampling_finds_the_same(demo, key):
    coarse, fine = break_even(demo, key, samples=300), break_even(demo, key, samples=600)
    assert any(pair.crossings for pair in coarse)
    for one, other in zip(coarse, fine, strict=True):
        assert [(c.kind, c.below, c.above) for c in one.crossings] == [
            (c.kind, c.below, c.above) for c in other.crossings
        ]
        np.testing.assert_allclose(
            [c.at for c in one.crossings], [c.at for c in other.crossings], rtol=1e-9, atol=0
        )
        assert one.always == other.always


def test_what_a_method_cannot_do_is_said(tmp_path):
    """Nothing may leave the building, so that buying in can't serve, and direct only below its finest ruling."""
    path = tmp_path / "shop.toml"
    text = SHOP.replace("[methods.direct]", "[methods.bought_in]\n\n[methods.direct]") + "confined = 1.0\n"
    path.write_text(text, encoding="utf-8")
    study = build(read(path))
    found = {pair.between: pair for pair in break_even(study)}
    pair = found["polyester", "bought_in"]
    assert (pair.always, pair.note, pair.crossings) == ("polyester", "bought_in can't do the work", ())
    (said,) = sentences(study, [pair])
    assert said.startswith(
        "Polyester alone can do the work between 60 and 660 plates a month, bought in can't"
    )
    finest = break_even(study, "methods.direct.ruling_limit")
    pair = next(p for p in finest if p.between == ("bought_in", "direct"))
    (crossing,) = pair.crossings
    assert (crossing.below, crossing.above, pair.always) == (None, "direct", None)
    (said,) = sentences(study, [pair])
    assert "neither can do the work, above it direct costs less" in said
    assert said.endswith(
        "; bought in can't do the work; direct can do the work over a part of the range only."
    )
    assert pair.note == ("bought_in can't do the work; direct can do the work over a part of the range only")
    # Far below, neither of the two can.
    both = next(p for p in finest if p.between == ("polyester", "direct"))
    assert both.partly == ("direct",) and both.never == ()


@pytest.mark.parametrize(
    ("key", "low", "high"),
    [
        # A quarter to four times; percentages as such; not beyond what may be stated.
        ("grades.prepress.wage", 5.75, 92),
        ("shop.base_remakes", 1, 16),
        ("money.tax_rate", 0, 90),
        # May be negative: four times its own -0.1..0.02 about -0.04.
        ("growth.volume", -28, 20),
        # Nought, with 0..15 % stated.
        ("money.contingency", 0, 60),
        # Whole: as many years as a sheet holds; each state of a press.
        ("money.horizon", 1, 10),
        ("presses.two_colour.state", 0, 3),
        ("work.run_length", 25, 400),
    ],
)
def test_how_far_an_input_is_looked_at(demo, key, low, high):
    over = quantity(demo, key)
    assert (over.low, over.high) == pytest.approx((low, high))
    assert over.own * over.scale == pytest.approx(demo.book.inputs[key].best)


def test_volume_by_its_key_is_plates_a_month(demo):
    assert quantity(demo, VOLUME) == quantity(demo)


@pytest.mark.parametrize(
    ("key", "what", "mend"),
    [
        ("grades.prepres.wage", "is no input of this scenario", "grades.prepress.wage"),
        ("zzz", "is no input of this scenario", "write a key such as"),
        ("work.most_volume", "no figure rests on it", "an input that a method uses"),
        ("bought_in.rush", "without a range to look at", "state its low and high"),
    ],
)
def test_a_key_that_cannot_be_varied_is_refused(figures, key, what, mend):
    with pytest.raises(BadInput) as bad:
        break_even(figures, key)
    (problem,) = bad.value.problems
    assert problem.where == f"--by {key}" and what in problem.what and mend in problem.mend


def told(study, key, *crossings, always=None):
    """The sentence for crossings of stay and other: (at, kind, below, above) each."""
    made = tuple(Crossing(*c, (0.0, 0.0), (0.0, 0.0)) for c in crossings)
    return sentences(study, [BreakEven(("stay", "other"), quantity(study, key), made, always, "")])[0]


def test_the_sentences(figures):
    price = "methods.other.items.each.cost"
    assert told(figures, None, always="other") == (
        "Other always costs less than staying between 60 and 660 plates a month."
    )
    neither = BreakEven(("stay", "other"), quantity(figures), (), None, "", ("stay", "other"))
    assert sentences(figures, [neither]) == [
        "Neither staying nor other can do the work between 60 and 660 plates a month."
    ]
    assert told(figures, None, (640, "tie", "stay", "other")) == (
        "Below 640 plates a month staying costs less, above it other; the shop's own volume is 300."
    )
    assert told(figures, None, (640, "jump", "stay", None)) == (
        "Below a step at 640 plates a month staying costs less, above it neither can do the work; "
        "the shop's own volume is 300."
    )
    assert told(
        figures,
        None,
        (90, "tie", "other", "stay"),
        (1100.2, "jump", "stay", "other"),
        (1100.4, "tie", "other", "stay"),
    ) == (
        "Other costs less up to 90.0 plates a month, staying up to a step at 1,100.2, other up to 1,100.4, "
        "and staying above; the shop's own volume is 300.0."
    )
    assert told(figures, price, (5.00000001, "jump", "other", "stay")).endswith(
        ": below a step at 5 USD/plate other costs less, above it staying; as stated it is 5 USD/plate, just below it."
    )
    assert told(figures, "money.horizon", (3, "jump", "other", "stay")) == (
        "Years looked ahead: below 3 years other costs less, from there on staying; as stated it is 7 years."
    )


def test_a_stretch_of_many_turns_is_told_by_its_ends(figures):
    none = (0.0, 0.0)
    back = Crossing(491.0, "stretch", "other", "other", none, none, 552.0)
    over = Crossing(600.0, "stretch", "other", "stay", none, none, 640.0)
    between = ("stay", "other")

    def said(*crossings):
        return sentences(figures, [BreakEven(between, quantity(figures), crossings, None, "")])

    assert said(over) == [
        "Other costs less up to somewhere between 600 and 640 plates a month, and staying above; "
        "the shop's own volume is 300."
    ]
    assert said(back, over) == [
        "Other costs less up to 491 plates a month, either up to 552, "
        "other up to somewhere between 600 and 640, and staying above; the shop's own volume is 300."
    ]
    rows = table(figures, [BreakEven(between, quantity(figures), (over,), None, "")])
    assert rows[1].split() == ["1", "600", "to", "640", "stretch", "Other", "Staying"]
    found = as_json([BreakEven(between, quantity(figures), (over,), None, "")])["break_even"]
    assert found[0]["crossings"] == [
        {"at": 600.0, "kind": "stretch", "below": "other", "above": "stay", "last": 640.0}
    ]


def test_json_holds_every_pair(figures):
    found = as_json(break_even(figures))["break_even"]
    assert [set(pair) for pair in found] == [
        {"between", "quantity", "key", "unit", "range", "own", "crossings", "always", "note"}
    ] * 3
    assert found[0]["crossings"] == [
        {"at": pytest.approx(600), "kind": "tie", "below": "other", "above": "stay"}
    ]
    assert (found[0]["always"], found[1]["always"], found[0]["note"]) == (None, "stay", None)
    assert found[0]["own"] == pytest.approx(300) and found[0]["range"] == pytest.approx([60, 660])
