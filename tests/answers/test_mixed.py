"""The mixed plan against hand arithmetic, against brute force over whole studies, and against the Comparison.

The invented shop is bare on purpose: one year ahead, no discounting, no tax, no waste and no remakes, so that a present cost
is a sum of plates times prices, fixed costs and, where plates of two kinds meet on a press, minutes times the press hour.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from pathlib import Path

import numpy as np
import pytest

from roi.answers.assigned import Assignment, Presses
from roi.answers.mixed import Mixed, mixed
from roi.answers.mixed_words import as_json, sentences
from roi.model.parts import CASH, FULL, Parts
from roi.model.study import Study, build
from roi.scenario.narrow import narrowed, on_presses
from roi.scenario.problems import BadInput
from roi.scenario.scenario import Scenario, read
from tests.answers.bare_shop import HEAD, WORK, method

SCENARIOS = Path(__file__).parents[2] / "scenarios"
A, B = method("a", 1, 5, 100), method("b", 4, 2, 300)


def scenario(folder: Path, *parts: str) -> Scenario:
    path = folder / "shop.toml"
    path.write_text("\n".join((HEAD, *parts)), encoding="utf-8")
    return read(path)


def found(folder: Path, *parts: str, owned: tuple[str, ...] = ()) -> Mixed:
    study = build(scenario(folder, *parts))
    return mixed(study, study.evaluate(), owned)


def homes(assignment: Assignment) -> list[tuple[int, str, str]]:
    return [(home.press, home.method, home.helper) for home in assignment.homes]


# By hand


def test_each_press_has_the_method_that_is_cheapest_for_its_work(tmp_path: Path) -> None:
    # a alone 1,200 x 1 + 600 x 5 + 100 = 4,300; b alone 1,200 x 4 + 600 x 2 + 300 = 6,300;
    # a on the first, b on the second: 1,200 x 1 + 100 + 600 x 2 + 300 = 2,800.
    result = found(tmp_path, A, B, WORK)
    mix = result.best[CASH]
    assert mix is not None and homes(mix) == [(0, "a", ""), (1, "b", "")]
    assert mix.present == pytest.approx((2800, 2800), abs=1e-6)
    assert mix.costs["a"] == pytest.approx((1300, 1300)) and mix.costs["b"] == pytest.approx((1500, 1500))
    singles = {name: single.present[CASH] for name, single in result.singles.items() if single is not None}
    assert singles == pytest.approx({"a": 4300, "b": 6300})
    assert result.mix_wins() and sentences(result)[0] == (
        "A mixed plan costs less: A for First; B for Second. It costs USD 2,800 a year, USD 1,500 a year less than the best "
        "single method, A."
    )
    assert (
        "Staying as you are, with A, costs USD 4,300 a year; the mix saves USD 1,500 a year"
        in sentences(result)[1]
    )


def test_a_single_method_is_a_full_answer(tmp_path: Path) -> None:
    # With fixed costs of 3,000 for b: 1,300 + 600 x 2 + 3,000 = 5,500, which is 1,200 more than a alone.
    result = found(tmp_path, A, method("b", 4, 2, 3000), WORK)
    assert not result.mix_wins()
    assert sentences(result)[0] == (
        "A single method costs less: A for every press costs USD 4,300 a year. The cheapest mix costs USD 1,200 a year more: "
        "A for First; B for Second."
    )
    assert any("costs USD 4,300 a year: that is the cheapest." in said for said in sentences(result))


def test_fine_forms_go_to_the_other_method_with_switching(tmp_path: Path) -> None:
    # A tenth is out of a's reach: 120 forms on the first press, falling on 200 (1 - (1 - 1/200)^120) of 200 days.
    days = 200 * (1 - (1 - 1 / 200) ** 120)
    hours = 2 * days * (10 + 25) / 60
    # a: 1,080 x 1 + 100; b: 120 x 9 on the first, 600 x 2 on the second, 300. The first press's hour is 60 in cash, 90 in full.
    result = found(tmp_path, method("a", 1, 5, 100, 150), method("b", 9, 2, 300), WORK, "above_150_lpi = 0.1")
    mix = result.best[CASH]
    assert mix is not None and homes(mix) == [(0, "a", "b"), (1, "b", "")]
    assert mix.switching == pytest.approx((hours * 60, hours * 90), abs=1e-6)
    assert mix.present[CASH] == pytest.approx(1080 + 100 + 1080 + 1200 + 300 + hours * 60, abs=1e-6)
    assert mix.present[FULL] == pytest.approx(1080 + 100 + 1080 + 1200 + 300 + hours * 90, abs=1e-6)
    switched = result.presses.switching(0, mix.homes[0].moved)
    assert (switched.switches, switched.hours) == pytest.approx((2 * days, hours))


def test_forms_that_nobody_owned_can_make_are_bought_in_with_switching(tmp_path: Path) -> None:
    days = 200 * (1 - (1 - 1 / 200) ** 120)
    hours = 2 * days * 35 / 60
    # On the second press 60 forms are out of b's reach; its hour is spare: nothing in cash, 50 in full.
    days_second = 200 * (1 - (1 - 1 / 200) ** 60)
    hours_second = 2 * days_second * 35 / 60
    made = 1080 * 1 + 100 + 540 * 2 + 300
    bought = (120 + 60) * 10 + 7 * (days + days_second)
    result = found(
        tmp_path, method("a", 1, 5, 100, 150), method("b", 4, 2, 300, 150), WORK, "above_150_lpi = 0.1"
    )
    mix = result.best[CASH]
    assert mix is not None and homes(mix) == [(0, "a", ""), (1, "b", "")]
    assert mix.present[CASH] == pytest.approx(made + bought + hours * 60, abs=1e-6)
    assert mix.present[FULL] == pytest.approx(made + bought + hours * 90 + hours_second * 50, abs=1e-6)
    # One method for all bears the switching for what it buys in beside its own present cost.
    single = result.singles["a"]
    assert single is not None and single.switching[CASH] == pytest.approx(hours * 60)
    assert any("which Comparison leaves out" in said for said in sentences(result))


def test_a_form_out_of_reach_costs_its_plate_and_a_delivery(tmp_path: Path) -> None:
    # 10 a plate and a trip of 7 on a day of its own; b makes it for 4 on the first press, 2 on the second.
    fine = "above_150_lpi = 0.1"
    result = found(
        tmp_path, method("a", 1, 5, 100, 150), method("b", 4, 2, 9000), WORK, fine, owned=("a", "b")
    )
    assert result.forms_of is not None and result.forms_of[1] == "the best single method"
    assert [(far.press, far.plates, far.row, far.maker) for far in result.far] == [
        ("Second", 1, None, "b"), ("First", 1, None, "b"),
    ]  # fmt: skip
    assert [far.forms for far in result.far] == pytest.approx([60, 120])
    for far, making in zip(result.far, (2, 4), strict=True):
        trips = 200 * (1 - (1 - 1 / 200) ** far.forms) / far.forms
        assert far.buying == pytest.approx(10 + 7 * trips) and far.making == pytest.approx(making)
        assert far.saves == pytest.approx(10 + 7 * trips - making)


def test_a_spare_press_hour_costs_switching_nothing_in_cash(tmp_path: Path) -> None:
    presses = Presses(scenario(tmp_path, A, B, WORK))
    second = presses.parts.switching(1, 60.0)
    assert second.worth[CASH] == 0 and second.worth[FULL] == pytest.approx(second.hours * 50)


# Against whole studies


def test_parts_cost_what_a_study_of_only_those_forms_does() -> None:
    """The demo and the trade printer: a study of the scenario narrowed to a press, method by method, in both views."""
    for name in ("us_two_press", "euro_trade"):
        whole = read(SCENARIOS / name / "shop.toml")
        parts = Parts(whole, whole.work.press)
        for i, press in enumerate(whole.presses):
            study = build(on_presses(whole, [press.id]))
            values = study.evaluate()
            for method_id, sheet in study.methods.items():
                ordinary = tuple(float(values[sheet.lines[key]][0]) for key in ("present", "present_full"))
                assert parts.cost(method_id, frozenset([i])).leaving == pytest.approx(ordinary, rel=1e-9)


@pytest.mark.parametrize("name", ["us_two_press", "euro_trade", "uk_print_room", "ten_answers"])
def test_one_method_for_all_presses_costs_exactly_its_own_present_cost(name: str) -> None:
    study = build(read(SCENARIOS / name / "shop.toml"))
    values, presses, met = study.evaluate(), Presses(study.scenario), 0
    for method_id, sheet in study.methods.items():
        single = presses.single(method_id)
        if single is None:
            assert values[sheet.lines["feasible"]][0] == 0
            continue
        own = [float(values[sheet.lines[key]][0]) for key in ("present", "present_full")]
        assert list(single.costs[method_id]) == pytest.approx(own, rel=1e-9)
        met += 1
    assert met >= 2


LEAVING = """
[leaving]
stock = "70 USD"
lease_payment = "10 USD/month"
lease_months = "6 month"
[methods.a.equipment.line]
label = "Old line"
price = "1000 USD"
resale_now = "900 USD"
life = "5 year"
years_left = "3 year"
tax_book = "400 USD"
tax_years_left = "2 year"
[methods.a.equipment.copier]
label = "Rented copier"
rental = "2 USD/month"
rental_left = "5 month"
[methods.a.equipment.folder]
label = "Leased folder"
rental = "10 USD/month"
[methods.b.changeover]
parallel = "1 month"
[methods.c.changeover]
parallel = "2 month"
"""
THREE = """
[presses.third]
label = "Third"
state = 2
overtime = "20 USD/h"
full_rate = "70 USD/h"
"""
THREE_SIZES = HEAD.replace(
    'small = "250 mm x 400 mm"', 'small = "250 mm x 400 mm"\nlong = "250 mm x 450 mm"'
).replace('small = "10 USD/plate" }', 'small = "10 USD/plate", long = "10 USD/plate" }')
THREE_WORK = """
[summary]
plates_per_month = { big = 100, small = 50, long = 30 }
runs = { under_1000 = 1 }
colours = { "1" = 0.5, "2" = 0.5 }
press = { big = "first", small = "second", long = "third" }
"""


def three(folder: Path, fixed: tuple[float, float, float], more: str = "") -> Study:
    """Three presses and three methods; a is in use."""
    prices = {"a": (1, 5, 3), "b": (2, 2, 4), "c": (1.5, 3, 2)}
    text = THREE_SIZES + THREE + THREE_WORK + more
    for (name, (big, small, long)), cost in zip(prices.items(), fixed, strict=True):
        one = method(name, big, small, cost)
        text += one.replace('USD/plate" } }', f'USD/plate", long = "{long} USD/plate" }} }}')
    path = folder / "shop.toml"
    path.write_text(text.replace('tax_rate = "0 %"', 'tax_rate = "25 %"'), encoding="utf-8")
    return build(read(path))


def brute_force(study: Study) -> Iterator[tuple[tuple[str, ...], float, float]]:
    """Every assignment of presses to methods, costed with a whole study for each method's presses.

    While the old method is kept nothing is paid for leaving it and nothing is sold; else one of the others pays, the one
    that runs beside it longest.
    """
    whole = study.scenario
    kept = {key: 0.0 for key in study.book.inputs if key.startswith("leaving.") or key.endswith(".parallel")}
    what_is_left = (".tax_book", ".resale_now", ".rental_left")
    kept |= {key: 0.0 for key in study.book.inputs if key.endswith(what_is_left)}
    ids = [press.id for press in whole.presses]
    known: dict[tuple[str, tuple[str, ...], bool], tuple[float, float]] = {}

    def cost(name: str, presses: tuple[str, ...], leaves: bool) -> tuple[float, float]:
        if (name, presses, leaves) not in known:
            part = build(on_presses(whole, presses))
            for changes, leaving in (({}, True), (kept, False)):
                values = part.evaluate(changes)
                for other, sheet in part.methods.items():
                    pair = (
                        float(values[sheet.lines["present"]][0]),
                        float(values[sheet.lines["present_full"]][0]),
                    )
                    known[other, presses, leaving] = pair
        return known[name, presses, leaves]

    for assigned in product(study.methods, repeat=len(ids)):
        used = sorted(set(assigned))
        leaver = "" if "a" in used else ("c" if "c" in used else "b")
        pairs = [
            cost(
                name, tuple(p for p, m in zip(ids, assigned, strict=True) if m == name), name in ("a", leaver)
            )
            for name in used
        ]
        yield assigned, sum(p[0] for p in pairs), sum(p[1] for p in pairs)


@pytest.mark.parametrize(
    ("fixed", "more"),
    [((100.0, 300.0, 200.0), ""), ((100.0, 1500.0, 1200.0), LEAVING), ((4000.0, 50.0, 60.0), LEAVING)],
)
def test_the_best_mix_is_that_of_brute_force(
    tmp_path: Path, fixed: tuple[float, float, float], more: str
) -> None:
    """All 27 assignments of 3 presses to 3 methods, none out of reach; the choice by variable cost is never better."""
    study = three(tmp_path, fixed, more)
    result = mixed(study, study.evaluate())
    every = [(cash, full) for assigned, cash, full in brute_force(study) if len(set(assigned)) > 1]
    assert len(every) == 24
    for view in (CASH, FULL):
        best = result.best[view]
        assert best is not None and best.present[view] == pytest.approx(min(e[view] for e in every), abs=0.01)
    for plan in result.plans:
        assert len(plan.used) == 1 or plan.present[CASH] >= min(e[CASH] for e in every) - 0.01
    assert result.tried == 3 * 8 + 27


def test_what_trying_all_assignments_gives_is_told_where_it_differs(tmp_path: Path) -> None:
    """Least variable cost splits the work between all three; b's and c's fixed costs make that dear."""
    study = three(tmp_path, (100.0, 1500.0, 1200.0))
    result = mixed(study, study.evaluate(), ("a", "b", "c"))
    by_variable, best = result.best_by_variable_cost, result.best[CASH]
    assert by_variable is not None and best is not None
    assert [home.method for home in by_variable.homes] == ["a", "b", "c"]
    assert best.present[CASH] < by_variable.present[CASH] - 1
    assert any("the best mix is A for First; B for Second; C for Third" in said for said in sentences(result))
    assert any("All 27 assignments were tried" in said for said in sentences(result))


# What can't be done


def test_forms_that_must_not_leave_go_to_who_can_make_them(tmp_path: Path) -> None:
    """A tenth is fine and a twentieth must not leave: a can't do any press alone, with b's help it can."""
    work = (WORK, "above_150_lpi = 0.1\nconfined = 0.05")
    result = found(tmp_path, method("a", 1, 1.5, 100, 150), method("b", 9, 2, 300), *work)
    assert result.singles["a"] is None
    mix = result.best[CASH]
    assert mix is not None and homes(mix) == [(0, "a", "b"), (1, "a", "b")]
    whole, presses = result.study.scenario, result.presses
    for assignment in (*result.plans, mix):
        for home in assignment.homes:
            for maker, parts in ((home.method, home.kept), (home.helper, home.moved)):
                if parts:
                    part = build(narrowed(whole, np.isin(presses.part, sorted(parts))))
                    assert part.evaluate()[part.methods[maker].lines["feasible"]][0] == 1
    told = as_json(result)
    assert told["singles"]["a"] is None and told["best_mix"]["cash"]["presses"][0][
        "forms_moved"
    ] == pytest.approx(120)


def test_no_plan_where_no_owned_method_can_do_a_press(tmp_path: Path) -> None:
    work = (WORK, "above_150_lpi = 0.1\nconfined = 0.05")
    result = found(tmp_path, method("a", 1, 5, 100, 150), method("b", 4, 2, 300, 150), *work)
    assert result.plans == () and result.best == (None, None)
    assert sentences(result) == ["Neither one method nor the mixes tried can do this work as stated."]


def test_one_press_leaves_nothing_to_split(tmp_path: Path) -> None:
    work = WORK.replace('small = "second"', 'small = "first"')
    result = found(tmp_path, A, B, work)
    assert result.one_press and result.best == (None, None) and result.plans == ()
    assert "there is nothing to split between methods" in sentences(result)[0]
    assert "35 minutes of packing and fountain solution" in sentences(result)[0]


# What is stated


def test_owned_methods_are_those_stated(tmp_path: Path) -> None:
    more = (A, B, method("c", 2, 2, 10), WORK)
    assert found(tmp_path, *more).owned == (("a", "b"), ("a", "c"), ("b", "c"), ("a", "b", "c"))
    assert found(tmp_path, *more, '[plan]\nowned = ["c", "a"]').owned == (("a", "c"),)
    # The command line goes before the scenario.
    assert found(tmp_path, *more, '[plan]\nowned = ["c", "a"]', owned=("b", "c")).owned == (("b", "c"),)


@pytest.mark.parametrize(
    ("stated", "said"),
    [
        ('["a", "bb"]', '"bb" is not among the methods'),
        ('["a", "a"]', "a mixed plan takes two methods or more"),
        ('"a"', "is not a list of methods"),
    ],
)
def test_owned_methods_that_cannot_be_are_refused(tmp_path: Path, stated: str, said: str) -> None:
    with pytest.raises(BadInput) as refused:
        scenario(tmp_path, A, B, WORK, f"[plan]\nowned = {stated}")
    assert any(said in p.what and p.where.endswith("plan.owned") and p.mend for p in refused.value.problems)
    study = build(scenario(tmp_path, A, B, WORK))
    with pytest.raises(BadInput):
        mixed(study, study.evaluate(), ("a",))


def test_an_invoice_is_shared_between_the_presses_as_the_model_shares_it(tmp_path: Path) -> None:
    """What scales the bill is that of all the work: the two presses' chemistry adds up, and isn't the whole bill each."""
    bath = """
[methods.a.baths.developer]
volume = "10 L/change"
age_life = "1 year/change"
replenish = "1 L/m2"
price = "1 USD/L"
"""
    bill = '[methods.a.last_year]\nchemistry = "500 USD/year"'
    whole = scenario(tmp_path, A, B, WORK, bath, bill)
    parts = Parts(whole, whole.work.press)
    # 1,200 x 0.2 m2 = 240 m2 and 600 x 0.1 = 60 m2 at 1 L; 10 L a year for age: 310 L modelled at 310 USD, billed 500.
    scale = 500 / (240 + 60 + 10)
    first, second = (parts.cost("a", frozenset([i])).leaving[CASH] for i in (0, 1))
    assert first == pytest.approx(1200 * 1 + 100 + (240 + 10) * scale)
    assert second == pytest.approx(600 * 5 + 100 + (60 + 10) * scale)
    assert parts.cost("a", frozenset([0, 1])).leaving[CASH] == pytest.approx(1200 + 3000 + 100 + 500)
    assert parts.cost("a", frozenset([0])).follows[CASH] == pytest.approx(1200 + 240 * scale)


def test_a_narrowed_scenario_keeps_its_year() -> None:
    whole = read(SCENARIOS / "us_two_press" / "shop.toml")
    part = on_presses(whole, ["one_colour"])
    assert (part.work.days, part.work.per_year) == (whole.work.days, whole.work.per_year)
    assert (part.work.month_share == whole.work.month_share).all()
    assert len(part.work.weight) == (whole.work.press == 1).sum() < len(whole.work.weight)
    assert part.work.row is not None and whole.work.row is not None
    assert (part.work.row == whole.work.row[whole.work.press == 1]).all()
    with pytest.raises(ValueError, match="no form"):
        on_presses(whole, ["none such"])


def test_overtime_at_the_stations_is_that_of_each_part(tmp_path: Path) -> None:
    """At an hour a plate 6 a day for the first press fit into 8 hours, 3 more for the second don't: by parts, by studies."""
    slow = """
[methods.a.stations.imager]
fixed = "60 min/plate"
hands_on = "1 min/plate"
grade = "prepress"
"""
    path = tmp_path / "shop.toml"
    counted = HEAD.replace("[shop]", '[shop]\ncount_plate_overtime = true\nshift_hours = "8 h/day"')
    path.write_text("\n".join((counted, A, B, WORK, slow)), encoding="utf-8")
    whole = read(path)
    parts, costs = Parts(whole, whole.work.press), []
    for presses in (["first"], ["second"], ["first", "second"]):
        study = build(on_presses(whole, presses))
        own = float(study.evaluate()[study.methods["a"].lines["present"]][0])
        taken = frozenset(i for i, press in enumerate(whole.presses) if press.id in presses)
        assert parts.cost("a", taken).leaving[CASH] == pytest.approx(own)
        costs.append(own)
    # 200 days x 1 hour over; the fixed costs of 100 are paid by each part, and once by the whole.
    wage = whole.inputs[("grades", "prepress", "wage")].best * (
        1 + whole.inputs[("grades", "prepress", "on_cost")].best
    )
    overtime = 200 * wage * whole.inputs[("shop", "overtime_premium")].best
    assert costs[2] - costs[0] - costs[1] == pytest.approx(overtime - 100)


def test_switching_counted_in_every_method_is_counted_once(tmp_path: Path) -> None:
    """One year at the log's volume: what the shop's switch puts into the columns is what stood beside them before."""
    parts = (method("a", 1, 5, 100, 150), method("b", 4, 2, 300, 150), WORK, "above_150_lpi = 0.1")
    without = found(tmp_path, *parts)
    counted = HEAD.replace("[shop]", "[shop]\ncount_switches = true")
    path = tmp_path / "shop.toml"
    path.write_text("\n".join((counted, *parts)), encoding="utf-8")
    study = build(read(path))
    values = study.evaluate()
    result = mixed(study, values)
    # 120 forms a year on the first press, 60 on the second, whose hours are spare: 60 and 0 an hour in cash, 90 and 50 in full.
    first, second = (2 * 200 * (1 - (1 - 1 / 200) ** n) * 35 / 60 for n in (120, 60))
    for name, before in without.singles.items():
        after, lines = result.singles[name], study.methods[name].lines
        assert before is not None and after is not None
        assert after.switching == (0, 0) and after.present == pytest.approx(before.present)
        assert before.switching == pytest.approx((first * 60, first * 90 + second * 50))
        assert values[lines["present"]][0] == pytest.approx(before.costs[name][CASH] + first * 60)
    for one, other in zip(without.best, result.best, strict=True):
        assert one is not None and other is not None and other.present == pytest.approx(one.present)
    assert not any("which Comparison leaves out" in said for said in sentences(result))


def test_a_switch_that_is_none_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    path.write_text(
        "\n".join((HEAD.replace("[shop]", "[shop]\ncount_switches = 1"), A, B, WORK)), encoding="utf-8"
    )
    with pytest.raises(BadInput, match="1 is not a switch"):
        read(path)
