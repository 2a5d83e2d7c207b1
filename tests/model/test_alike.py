"""Forms alike put together: what hangs on single forms elsewhere, parts of the work and its days, comes out the same."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from roi.answers.assigned import Presses
from roi.model.alike import put_alike_together
from roi.model.loads import load_levels
from roi.model.study import build
from roi.scenario.narrow import on_presses
from roi.scenario.scenario import read
from tests.small_shop import SHOP

ROWS = 240
LOG = """
[log]
file = "jobs.csv"
date_order = "year-first"
columns = { date = "Day", press = "Press", plates = "Plates", impressions = "Good", ruling = "Ruling", rush = "Rush" }
"""


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    """Two presses, forms of many lengths, some too fine for one method, some in a hurry; a year of days."""
    folder = tmp_path_factory.mktemp("shop")
    text = SHOP[: SHOP.index("[summary]")] + "\n[presses.other]\nprinting_units = 1\n" + LOG
    (folder / "shop.toml").write_text(text, "utf-8")
    rows = ["Day,Press,Plates,Good,Ruling,Rush"]
    for i in range(ROWS):
        day = np.datetime64("2026-01-05") + np.timedelta64(1, "D") * (i * 3 // 2)
        press, colours = ("main", "other")[i % 3 == 0], (1, 2, 4, 1)[i % 4]
        rows.append(
            f"{day},{press},{colours},{i * 137 % 26000},{(133, 150, 175)[i % 5 % 3]},{('no', 'yes')[i % 7 == 0]}"
        )
    (folder / "jobs.csv").write_text("\n".join(rows), "utf-8")
    return read(folder / "shop.toml")


@pytest.fixture(scope="module")
def kept(shop):
    return replace(shop, work=put_alike_together(shop), _engine={})


def test_there_are_fewer_rows_and_every_table_is_the_same(shop, kept):
    assert len(kept.work.weight) < ROWS == len(shop.work.weight)
    one, other = (build(scenario).work for scenario in (shop, kept))
    for a, b in zip(one.tables, other.tables, strict=True):
        assert len(a.axis) == len(b.axis) and a.title == b.title
        for x, y in zip(a.columns, b.columns, strict=True):
            assert y.values == pytest.approx(x.values, rel=1e-12, abs=1e-12), (a.title, x.label)


def test_put_together_once_it_stays_as_it_is(kept):
    assert put_alike_together(kept) is kept.work


def test_parts_of_the_work_cost_the_same(shop, kept):
    """Each press's work, and what each method can serve of it, priced apart, as the mixed plan does."""
    one, other = Presses(shop), Presses(kept)
    for press in one.busy:
        parts = [presses.on_press(press) for presses in (one, other)]
        assert len(parts[0]) == len(parts[1])
        for method in one.methods:
            a, b = (each.parts.cost(method, part) for each, part in zip((one, other), parts, strict=True))
            assert a.feasible == b.feasible
            assert b.leaving == pytest.approx(a.leaving, rel=1e-12)
            assert b.today == pytest.approx(a.today, rel=1e-12)


def test_the_days_of_a_part_of_the_work_hold_its_plates(kept):
    """Of work kept, a part's days are those of the whole with fewer plates: their sum is that of the part's forms."""
    part = on_presses(kept, ["other"])
    levels = load_levels(part)
    assert levels.days == pytest.approx(load_levels(kept).days)
    plates = (part.work.weight @ part.work.plates) * part.work.per_year
    assert 0 < levels.days @ levels.plates == pytest.approx(plates)


def test_a_changed_life_keeps_the_bins(kept):
    """As the live workbook's, whose bins are data: the same rows of the same bins, whatever a plate lasts."""
    key = ("methods", "direct", "life", "coated")
    stated = kept.inputs[key]
    shorter = replace(kept, inputs={**kept.inputs, key: replace(stated, best=stated.low)}, _engine={})
    was, now = (build(scenario).work.reduced for scenario in (kept, shorter))
    assert now.good == pytest.approx(was.good) and (now.bin_class == was.bin_class).all()
