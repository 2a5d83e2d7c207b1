"""Overtime at the stations as a cost where the shop counts it, and how often plates interrupt, by hand.

The small shop of `conftest`: three days that stand for 121.75 each; the old way's imager takes 60 minutes a plate here, in a
shift of two hours. Wages rise by 1 % a year, the work shrinks by 10 %. Loaded rate 20 x 1.25, half as much again.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from numpy_financial import pmt

from roi.engine.evaluate import Values
from roi.model.study import Study, build
from roi.scenario.problems import BadInput
from roi.scenario.scenario import read
from tests.small_shop import SHOP as SHOP_WITH_BATHS

HEAD = "[shop]\n"
COUNTED = (HEAD, HEAD + "count_plate_overtime = true\n")
WARM = 'warm_up = "0.5 kWh/day"\n'
PRICED = (WARM, WARM + 'units = 1\nunit_price = "{}"\nunit_life = "4 year"\n')
SHORT = {"methods.old.stations.imager.fixed": 60.0, "shop.shift_hours": 2.0}
RATE = 20 * 1.25 * 1.5
EACH = 365.25 / 3

Builder = Callable[..., Study]


@pytest.fixture(scope="module")
def plain(small_shop: Builder) -> Study:
    return small_shop()


def minutes(study: Study, values: Values) -> list[float]:
    line = next(x for x in study.methods["old"].column.lines if x.label == "Imager, minutes a day")
    return values[line].ravel().tolist()


def labour(study: Study, changes: dict[str, float]) -> list[float]:
    return study.evaluate(changes)[study.methods["old"].families["labour"]].ravel()[:6].tolist()


def over(study: Study, units: int = 1) -> float:
    """Hours a year over two hours a day."""
    every = minutes(study, study.evaluate(SHORT))
    return EACH * sum(max(0.0, m / units - 120) for m in every) / 60


def test_counted_overtime_is_paid_at_year_ones_hours_in_every_year(plain: Study, small_shop: Builder) -> None:
    """Hours over the shift x 37.50 USD, held though the work shrinks, wages rising by 1 %; nothing after year 4."""
    study = small_shop(COUNTED)
    hours = over(study)
    assert hours > 100
    expected = [0.0] + [hours * RATE * 1.01**y for y in range(1, 5)] + [0.0]
    more = [b - a for a, b in zip(labour(plain, SHORT), labour(study, SHORT), strict=True)]
    assert more == pytest.approx(expected)
    # It is paid in full: no share of it turns into money, and no view adds to it.
    full = [s.evaluate(SHORT)[s.methods["old"].lines["added_full"]].ravel() for s in (study, plain)]
    assert full[0] == pytest.approx(full[1])


def test_a_shift_that_is_long_enough_makes_no_difference(plain: Study, small_shop: Builder) -> None:
    study = small_shop(COUNTED)
    for row in ("present", "present_full", "own_life", "running_1"):
        assert study.evaluate()[study.comparison.rows[row]].ravel() == pytest.approx(
            plain.evaluate()[plain.comparison.rows[row]].ravel()
        )


@pytest.mark.parametrize("price", [200, 200000])
def test_one_further_unit_is_taken_where_it_is_cheaper(plain: Study, small_shop: Builder, price: int) -> None:
    """A level payment over 4 years at 10 % (numpy_financial.pmt) and the overtime two units leave, or the overtime of one."""
    study = small_shop(COUNTED, (PRICED[0], PRICED[1].format(f"{price} USD")))
    alone, left = over(study) * RATE, over(study, 2) * RATE - float(pmt(0.10, 4, price))
    assert (left < alone) == (price == 200)
    more = [b - a for a, b in zip(labour(plain, SHORT), labour(study, SHORT), strict=True)]
    assert more[1] == pytest.approx(min(alone, left) * 1.01)


def test_stations_as_slow_as_each_other_get_one_more_unit_each(tmp_path: Path) -> None:
    """One more of either alone spares nothing; of both it leaves the overtime of two lines and costs both level payments."""
    head = SHOP_WITH_BATHS.replace("small = 300", "small = 700") + '\n[shop]\nshift_hours = "2 h/day"\n'
    station = "[methods.direct.stations.{}]\nunits = {}\n"
    price = 'unit_price = "{} USD"\nunit_life = "8 year"\n'
    counted = "count_plate_overtime = true\n"

    def made(units: int, priced: bool) -> list[float]:
        text = head + counted
        for name, amount in (("imager", 2000), ("curing", 1000)):
            text += station.format(name, units) + (price.format(amount) if priced else "")
        (tmp_path / "shop.toml").write_text(text, "utf-8")
        study = build(read(tmp_path / "shop.toml"))
        return study.evaluate()[study.methods["direct"].families["labour"]].ravel()[:4].tolist()

    one, two, choice = made(1, False), made(2, False), made(1, True)
    a_year = float(-pmt(0.08, 8, 2000) - pmt(0.08, 8, 1000))
    assert two[1] + a_year < one[1]
    assert choice[1] == pytest.approx(two[1] + a_year * 1.035)  # wages rise by 3.5 % a year


def test_switched_off_or_left_out_it_stands_beside(plain: Study, small_shop: Builder) -> None:
    off = small_shop((HEAD, HEAD + "count_plate_overtime = false\n"))
    assert labour(off, SHORT) == labour(plain, SHORT)
    beside = off.methods["old"].lines["capacity.overtime"]
    assert beside.note.startswith("beside the costs")
    assert float(off.evaluate(SHORT)[beside].flat[0]) == pytest.approx(over(off) * RATE)


@pytest.mark.parametrize("wrong", ['"yes"', "1"])
def test_the_switch_is_true_or_false(small_shop: Builder, wrong: str) -> None:
    with pytest.raises(BadInput) as bad:
        small_shop((HEAD, f"{HEAD}count_plate_overtime = {wrong}\n"))
    assert [(p.where, p.mend) for p in bad.value.problems] == [
        ("shop.toml, shop.count_plate_overtime", "write true or false")
    ]


def test_parallel_running_takes_no_overtime_of_the_old_line(plain: Study, small_shop: Builder) -> None:
    """Plates are made once: overtime is no fixed cost of running both."""
    parallel = (
        "[methods.new.press]\n",
        '[methods.new.changeover]\nparallel = "2 month"\n[methods.new.press]\n',
    )
    with_it, without = small_shop(COUNTED, parallel), small_shop(parallel)
    found = [
        float(s.evaluate(SHORT)[s.methods["old"].lines["fixed_costs"]].flat[0]) for s in (with_it, without)
    ]
    assert found[0] == pytest.approx(found[1])


def test_interruptions_of_a_typical_day(small_shop: Builder) -> None:
    """Plates to image on the median day (two large in 4 sets of the log's day) x 3 touches a plate; told, not costed."""
    study = small_shop((WARM, WARM + 'touches = "3 touch/plate"\n'))
    values = study.evaluate()
    sheet = study.methods["old"]
    imaged = next(x for x in sheet.column.lines if x.label == "Plates imaged for each called for")
    a_day = 2 * float(values[imaged].flat[0])
    assert float(values[sheet.lines["capacity.touches"]].flat[0]) == pytest.approx(3 * a_day)
    assert "capacity.touches" not in study.methods["new"].lines
    more = study.evaluate({"methods.old.stations.imager.touches": 9.0})
    assert more[sheet.lines["present"]].tolist() == values[sheet.lines["present"]].tolist()


def test_a_direct_plate_interrupts_about_three_times(small_shop: Builder) -> None:
    """Common practice: about three in all, over imager and curing unit."""
    from roi.scenario.catalogue import load

    stations = load("methods", "direct.toml")["stations"]
    assert isinstance(stations, dict)
    assert sum(float(s["touches"]["best"].split()[0]) for s in stations.values()) == 3
