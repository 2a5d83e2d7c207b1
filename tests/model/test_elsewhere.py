"""Short runs sent to a digital press: three forms by hand, what never turns over, and that no limit means no change."""

from __future__ import annotations

from pathlib import Path

import pytest

from roi.answers.checks import results
from roi.model.study import Study, build
from roi.scenario.problems import BadInput
from roi.scenario.scenario import read
from tests.model.conftest import SHOP
from tests.parity.recalculate import differences, ironcalc_values
from tests.small_shop import LEAN
from tests.workbook.rules import broken_rules

HEAD = "Job,Form,Day,Press,Plate,Plates,Good,Stock,Ruling,Reprint,Rush,Confined\n"
ONE, TWO, FOUR = (
    "J1,A,2025-03-03,only,small,1,100,coated,100,,yes,\n",
    "J2,B,2025-03-04,only,small,2,300,coated,133,yes,,\n",
    "J3,C,2025-03-05,only,small,4,2000,coated,133,,,\n",
)
PRESS = SHOP.replace('rush = "Rush"', 'rush = "Rush"\nconfined = "Confined"').replace(
    "printing_units = 2\n", 'printing_units = 2\nspeed = "5000 impression/h"\nmake_ready = "10 min/pass"\n'
)
ELSEWHERE = (
    '[methods.new.elsewhere]\nup_to = {{ best = "{}", low = "0 impression", high = "5000 impression" }}\n'
    'price = "{}"\nminutes = "5 min/form"\n'
)
UP_TO, PRICE = "methods.new.elsewhere.up_to", "methods.new.elsewhere.price"
A_YEAR = 365.25 / 3  # the log covers three days


def study(folder: Path, more: str = "", log: str = ONE + TWO + FOUR) -> Study:
    (folder / "log.csv").write_text(HEAD + log, "utf-8")
    (folder / "shop.toml").write_text(PRESS + more, "utf-8")
    return build(read(folder / "shop.toml"))


def figure(made: Study, key: str, changes: dict[str, float] | None = None, method: str = "new") -> float:
    return float(made.evaluate(changes or {})[made.methods[method].lines[key]].ravel()[0])


def test_two_short_forms_by_hand(tmp_path: Path) -> None:
    """Forms of 100 (one colour) and 300 (two) go, that of 2,000 stays; the limit itself goes.

    Printed: 400 impressions at 0.10 = 40.00 for the two, 121.75 times a year. Press: 100 x 1.05 + 20 and
    300 x 1.05 + 50 impressions at 5,000 an hour, two make-readies of 10 minutes, at 30 USD overtime. Paper: 5 + 20 and
    15 + 50 sheets at 0.05. Hands-on: two times 5 minutes at 20 x 1.25 USD, two fifths of it cash. Prices of year 1:
    general 2.5 % up, wages 1 %. The rest is what the long form alone costs.
    """
    made = study(tmp_path, ELSEWHERE.format("300 impression", "0.10 USD/impression"))
    alone = study(tmp_path, log=FOUR)
    printed = 400 * 0.10 * A_YEAR
    hours = (100 * 1.05 + 20 + 300 * 1.05 + 50) / 5000 * A_YEAR + 2 * 10 / 60 * A_YEAR
    paper = (5 + 20 + 15 + 50) * 0.05 * A_YEAR
    hands_on = 2 * 5 / 60 * A_YEAR * 20 * 1.25 * 0.4
    more = (printed - paper) * 1.025 + (hands_on - hours * 30) * 1.01
    assert figure(made, "running_1") - figure(alone, "running_1") == pytest.approx(more, rel=1e-9)
    assert figure(made, "elsewhere.forms") == pytest.approx(2 * A_YEAR)
    assert figure(made, "imaged") == pytest.approx(figure(alone, "imaged"))
    # At full cost: the press hour at 60 USD, all of the wages.
    full = (printed - paper) * 1.025 + (hands_on / 0.4 - hours * 60) * 1.01
    added = [float(s.evaluate()[s.methods["new"].lines["added_full"]].ravel()[1]) for s in (made, alone)]
    assert (added[0] - added[1]) / 0.75 == pytest.approx(full - more, rel=1e-9)
    assert all(ok for _, ok in results(made, made.evaluate()))


def test_freed_hours_are_worth_what_the_press_hour_is(tmp_path: Path) -> None:
    """The hours of the test above: nothing in cash while hours are spare, 90 USD sold out, 60 at full cost in any state."""
    made = study(tmp_path, ELSEWHERE.format("300 impression", "0.10 USD/impression"))
    hours = (490 / 5000 + 2 * 10 / 60) * A_YEAR
    cash, full = (made.book.line(f"new.Press time freed, {view}") for view in ("cash", "full cost"))
    for state, worth in ((1, 0), (2, 30), (3, 90)):
        values = made.evaluate({"presses.only.state": state})
        assert values[cash][0] == pytest.approx(-hours * worth)
        assert values[full][0] == pytest.approx(-hours * 60)


def test_elsewhere_comes_first_even_for_what_is_out_of_reach_or_must_stay(tmp_path: Path) -> None:
    fine = "J1,A,2025-03-03,only,small,1,100,coated,250,,yes,yes\n"  # beyond 200 lpi, and confined
    without, made = (
        study(tmp_path, more, fine + FOUR)
        for more in ("", ELSEWHERE.format("300 impression", "0.10 USD/impression"))
    )
    assert [figure(s, "feasible") for s in (without, made)] == [0, 1]
    assert figure(made, "out_forms") == figure(made, "out_rush") == 0
    assert figure(made, "elsewhere.forms") == pytest.approx(A_YEAR)
    assert all(ok for _, ok in results(made, made.evaluate()))


def test_all_forms_may_go(tmp_path: Path) -> None:
    made = study(tmp_path, ELSEWHERE.format("2000 impression", "0.10 USD/impression"))
    values = made.evaluate()
    assert figure(made, "imaged") == figure(made, "bought") == figure(made, "press_hours") == 0
    assert figure(made, "feasible") == 1
    assert all(ok for _, ok in results(made, values))


def test_a_cancelled_form_has_been_plated(tmp_path: Path) -> None:
    cancelled = ONE.replace(",100,coated", ",0,coated")
    made = study(tmp_path, ELSEWHERE.format("300 impression", "0.10 USD/impression"), cancelled + TWO + FOUR)
    assert figure(made, "elsewhere.forms") == pytest.approx(A_YEAR)
    assert figure(made, "own_forms") == pytest.approx(2 * A_YEAR)


def test_a_limit_of_nothing_is_the_method_without_it(tmp_path: Path) -> None:
    """Whether stated so or changed to it; every figure of every method that both have."""
    without = study(tmp_path)
    plain = without.evaluate()
    stated = study(tmp_path, ELSEWHERE.format("0 impression", "0.10 USD/impression"))
    changed = study(tmp_path, ELSEWHERE.format("300 impression", "0.10 USD/impression"))
    for made, values in ((stated, stated.evaluate()), (changed, changed.evaluate({UP_TO: 0}))):
        for row, line in without.comparison.rows.items():
            assert values[made.comparison.rows[row]] == pytest.approx(plain[line], rel=1e-12, abs=1e-9), row


def test_bins_are_cut_at_best_low_and_high(tmp_path: Path) -> None:
    """Lives are far off: without the limit the three one-colour forms would share a bin."""
    runs = (299, 300, 301, 700)
    log = "".join(f"J{n},{n},2025-03-03,only,small,1,{n},coated,133,,,\n" for n in runs)
    text = '[methods.new.elsewhere]\nup_to = { best = "300 impression", low = "299 impression", high = "650 impression" }\n'
    made = study(tmp_path, text + 'price = "0.1 USD/impression"\n', log)
    assert len(study(tmp_path, "", log).work.bins) == 1
    assert sorted(made.work.good.values) == list(runs)
    for limit, count in ((298, 0), (299, 1), (300, 2), (301, 3), (650, 3), (700, 4)):
        assert figure(made, "elsewhere.forms", {UP_TO: limit}) == pytest.approx(count * 365.25 / 3), limit


@pytest.mark.parametrize("key", ["present", "present_full"])
def test_cost_never_falls_as_the_price_rises(tmp_path: Path, key: str) -> None:
    made = study(tmp_path, ELSEWHERE.format("300 impression", "0.10 USD/impression"))
    costs = [figure(made, key, {PRICE: price}) for price in (0, 0.01, 0.05, 0.1, 0.3)]
    assert costs == sorted(costs) and costs[0] < costs[-1]
    without = [figure(made, key, {PRICE: price, UP_TO: 99}) for price in (0, 0.3)]
    assert without[0] == without[1]  # nothing short enough: the price doesn't matter


def test_what_is_stated_in_part_is_asked_for(tmp_path: Path) -> None:
    for part, missing in (
        ('price = "0.1 USD/impression"', "up_to"),
        ('up_to = "300 impression"', "price"),
        ('minutes = "3 min/form"', "up_to"),
    ):
        with pytest.raises(BadInput) as bad:
            study(tmp_path, f"[methods.new.elsewhere]\n{part}\n")
        where = f"shop.toml, methods.new.elsewhere.{missing}"
        assert where in [p.where for p in bad.value.problems if p.what == "is missing" and p.mend]
    with pytest.raises(BadInput) as bad:
        study(tmp_path, ELSEWHERE.format("300 impression", "0.1 USD/impression") + 'grade = "prepres"\n')
    assert [p.mend for p in bad.value.problems] == ['was "prepress" meant?']


def test_the_workbook_follows(tmp_path: Path) -> None:
    """Recalculated by IronCalc, stored results stripped first."""
    from roi.workbook.write import write_workbook

    made = study(tmp_path, ELSEWHERE.format("300 impression", "0.10 USD/impression"))
    path = tmp_path / "out.xlsx"
    found = write_workbook(made, made.evaluate(), path, LEAN)
    assert differences(found, ironcalc_values(path)) == []
    assert broken_rules(path) == []
