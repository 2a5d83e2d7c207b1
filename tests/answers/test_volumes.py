"""Cost against volume: each tie put back into the whole book, and the band on the grid against every crossing there is.

Crossings on the grid are read off a straight line between two volumes. Where the costs are straight there they are the
crossing itself; where they bend or step, they are off by no more than the farthest departure from that line over its slope.
"""

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from roi.answers.breakeven import MONTHS, VOLUME, break_even
from roi.answers.ranges import try_ranges
from roi.answers.workings import workings
from roi.model.study import build
from roi.scenario.scenario import read
from tests.small_shop import SHOP

DEMO = Path(__file__).parents[2] / "scenarios" / "us_two_press" / "shop.toml"
CENT = 0.01
OVERTIME = 2  # the state of a press whose hour is worth the overtime saved
PAID_FIRST = ("price", "freight", "installation", "commissioning", "licence", "training")
# Two more that cost two figures: no growth, nothing bought in, so that their costs are straight lines in the volume.
STRAIGHT = """
[money]
inflation = "0 %/year"
[growth]
volume = "0 %/year"
[methods.yearly]
makes_plates = false
label = "So much a year"
short = "Yearly"
[methods.yearly.items.flat]
family = "room"
driver = "year"
cost = "36000 USD/year"
[methods.each]
makes_plates = false
label = "So much a plate"
short = "Each"
[methods.each.items.each]
family = "room"
driver = "bought-in plate"
cost = "5 USD/plate"
[summary]"""


class Worked:
    def __init__(self, path):
        self.study = build(read(path))
        self.made = workings(self.study, try_ranges(self.study))
        self.values, _ = self.made.evaluate(self.study.evaluate())

    def one(self, line):
        return float(self.values[line].flat[0])


@pytest.fixture(scope="module")
def demo():
    return Worked(DEMO)


@pytest.fixture(scope="module")
def straight(tmp_path_factory):
    path = tmp_path_factory.mktemp("straight") / "shop.toml"
    path.write_text(SHOP.replace("\n[summary]", STRAIGHT), encoding="utf-8")
    return Worked(path)


def put_back(study, method, quantity, now, value):
    """Inputs, in the engine's unit, with the quantity at a value."""
    inputs = study.book.inputs
    if quantity == "price of a plate, mean":
        keys = [key for key in inputs if key.startswith(f"methods.{method}.plates.price")]
        return {key: inputs[key].best * value / now for key in keys}
    if quantity == "first cost of equipment":
        units = study.methods[method].names("equipment")
        keys = [f"methods.{method}.equipment.{unit}.{paid}" for unit in units for paid in PAID_FIRST]
        return {key: inputs[key].best * value / now for key in keys if key in inputs}
    if quantity == "value of a press hour, on every press":
        presses = [key.removesuffix(".state") for key in inputs if key.endswith(".state")]
        return {f"{p}.state": OVERTIME for p in presses} | {f"{p}.overtime": value for p in presses}
    assert quantity == "loaded wage of hands-on work"
    return {
        key: value / (1 + inputs[key.replace(".wage", ".on_cost")].best)
        for key in inputs
        if key.startswith("grades.") and key.endswith(".wage")
    }


def test_each_tie_put_back(demo):
    study, seen = demo.study, set()
    current = study.methods[study.scenario.current].lines["present"]
    for tie in demo.made.volumes.ties:
        if demo.one(tie.exists) != 1:
            continue
        seen.add((tie.method, tie.quantity))
        assert tie.method != study.scenario.current
        changes = put_back(study, tie.method, tie.quantity, demo.one(tie.now), demo.one(tie.value))
        assert changes
        values = study.evaluate(changes)
        cost, other = (float(values[x][0]) for x in (study.methods[tie.method].lines["present"], current))
        assert abs(cost - other) <= CENT, (tie.method, tie.quantity)
        # As stated they are not the same: the quantity makes the difference.
        assert abs(demo.one(study.methods[tie.method].lines["present"]) - demo.one(current)) > CENT
    assert {quantity for _, quantity in seen} == {
        "price of a plate, mean", "first cost of equipment", "value of a press hour, on every press",
        "loaded wage of hands-on work",
    }  # fmt: skip


def test_what_a_quantity_is_today(demo):
    """First cost as the comparison says; the wage is every grade's, or between the least and the greatest of them."""
    inputs = demo.study.book.inputs
    loaded = [
        inputs[key].best * (1 + inputs[key.replace(".wage", ".on_cost")].best)
        for key in inputs
        if key.startswith("grades.") and key.endswith(".wage")
    ]
    for tie in demo.made.volumes.ties:
        now, lines = demo.one(tie.now), demo.study.methods[tie.method].lines
        if tie.quantity == "first cost of equipment":
            assert now == demo.one(lines["first_cost"])
        elif tie.quantity == "loaded wage of hands-on work":
            assert min(loaded) - 1e-9 <= now <= max(loaded) + 1e-9
    assert loaded


def test_without_a_tie_no_value_at_all_brings_one(demo):
    """Where a price would have to be below nothing, the method is dearer, or cheaper, even for nothing."""
    looked_at = 0
    current = demo.study.methods[demo.study.scenario.current].lines["present"]
    for tie in demo.made.volumes.ties:
        if demo.one(tie.exists) == 1 or demo.one(tie.now) <= 0:
            continue
        mine = demo.study.methods[tie.method].lines["present"]
        signs = set()
        for value in (0.0, demo.one(tie.now), 100 * demo.one(tie.now)):
            changes = put_back(demo.study, tie.method, tie.quantity, demo.one(tie.now), value)
            values = demo.study.evaluate(changes)
            signs.add(bool(values[mine][0] > values[current][0]))
        assert len(signs) == 1, (tie.method, tie.quantity)
        looked_at += 1
    assert looked_at


@pytest.mark.parametrize("which", ["demo", "straight"])
def test_the_band_against_every_crossing(which, request):
    """A step of the grid changes places exactly where an odd number of the library's crossings lies in it."""
    worked = request.getfixturevalue(which)
    every = {found.between: found for found in break_even(worked.study)}
    plates = worked.values[worked.made.volumes.plates].ravel()
    compared = 0
    for pair in worked.made.volumes.pairs:
        there = every.get(pair.methods) or every[pair.methods[::-1]]
        changes = worked.values[pair.changes].ravel()
        assert len(changes) == len(plates) - 1
        steps = [(below, above) for below, above in pairwise(plates)]
        for changed, (below, above) in zip(changes, steps, strict=True):
            within = [c for c in there.crossings if below < c.at <= above]
            assert len(within) % 2 == changed, (there.between, below, above)
        changing = [step for step, changed in zip(steps, changes, strict=True) if changed]
        assert worked.values[pair.count][0] == len(changing)
        if changing:
            assert worked.values[pair.below][0] == changing[0][0]
            assert worked.values[pair.above][0] == changing[-1][1]
            compared += 1
    assert compared


def test_costs_along_the_volumes_are_those_of_the_whole_book(demo):
    study = demo.study
    plates = demo.values[demo.made.volumes.plates].ravel()
    own = float(study.evaluate()[study.shop.plates_called][0]) / MONTHS
    for i in (0, 7, 20):
        values = study.evaluate({VOLUME: plates[i] / own * study.book.inputs[VOLUME].best})
        for name, line in demo.made.volumes.costs.items():
            expected = float(values[study.methods[name].lines["equivalent"]][0])
            assert demo.values[line].ravel()[i] == pytest.approx(expected, rel=1e-9)


def test_where_it_turns_is_told_from_the_own_volume_out(demo):
    """Between the nearest volume with another winner and its neighbour towards the shop's own, and nowhere else."""
    study, values = demo.study, demo.values
    plates = values[demo.made.volumes.plates].ravel()
    own = float(study.evaluate()[study.shop.plates_called][0]) / MONTHS
    best = study.book.inputs[VOLUME].best
    names = study.comparison.methods.labels

    def cheapest(volume):
        costs = study.evaluate({VOLUME: volume / own * best})[study.comparison.rows["present"]][:, 0]
        return names[int(np.argmin(costs))]

    winners = [cheapest(x) for x in plates]
    there = cheapest(own)
    below = [i for i, w in enumerate(winners) if w != there and plates[i] <= own]
    assert below and not [w for i, w in enumerate(winners) if w != there and plates[i] > own]
    i = max(below)
    assert demo.made.volumes.turn.say(values) == (
        f"The shop calls for {own:,.0f} plates a month. "
        f"Lower down, somewhere between {plates[i]:,.0f} and {plates[i + 1]:,.0f}, it turns to {winners[i]}."
    )
