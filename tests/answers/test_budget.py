"""A year's budget by hand: months, the switch, price rises, VAT, depreciation, actuals; the arithmetic stands beside each check.

Sums over the year are compared with the reckoning's own year 1, which the tests of the model hold to hand arithmetic.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from roi.answers.budget import Budget, as_json, said
from roi.answers.budget_dates import Fiscal, dates
from roi.model.sheet import LABELS
from roi.model.study import build
from roi.scenario.problems import BadInput
from roi.scenario.scenario import read
from tests.budget_shop import FULL, MONEY, PLAIN, SHARES, budgeted
from tests.small_shop import SHOP

LEVEL = PLAIN.replace(f"month_share = {list(SHARES)}\n", "")


def found(budget: Budget, changes: dict[str, float] | None = None) -> dict[str, Any]:
    values, _ = budget.evaluate(changes or {})
    result = as_json(budget, values)
    assert [check["name"] for check in result["checks"] if not check["ok"]] == []
    assert values[budget.overall][0] == 1
    return result


def rows(result: dict[str, Any], way: str, view: str = "cash") -> dict[str, dict[str, Any]]:
    return {row["key"]: row for row in result[way][view]}


@pytest.mark.parametrize("month", [0, 5])
def test_months_add_up_to_year_1_of_the_whole_reckoning(tmp_path: Path, month: int) -> None:
    """Family by family within a cent, against a study of three methods with that month stated, prices growing as shipped."""
    text = SHOP.replace("[methods.direct]", "[methods.bought_in]\n\n[methods.direct]")
    result = found(budgeted(tmp_path, text, month=month, method="direct"))
    (tmp_path / "whole.toml").write_text(text + f'\n[leaving]\nmonth = "{month} month"\n', encoding="utf-8")
    study = build(read(tmp_path / "whole.toml"))
    values = study.evaluate()
    for way, name in (("staying", "polyester"), ("switching", "direct")):
        cash = rows(result, way)
        for family in LABELS:
            year_1 = float(values[study.methods[name].families[family]].ravel()[1])
            assert cash[family]["year"] == pytest.approx(year_1, abs=0.01), (way, family)
            assert sum(cash[family]["months"]) == pytest.approx(year_1, abs=0.01), (way, family)
        first = float(values[study.methods[name].lines["first_cost"]][0])
        assert cash["once"]["year"] == pytest.approx(first, abs=0.01)
        assert cash["once"]["months"][month if way == "switching" else 0] == pytest.approx(first, abs=0.01)


def test_the_cheapest_challenger_is_taken(tmp_path: Path) -> None:
    text = SHOP.replace("[methods.direct]", "[methods.bought_in]\n\n[methods.direct]")
    budget = budgeted(tmp_path, text)
    study = build(read(tmp_path / "shop.toml"))
    costs = dict(zip(study.methods, study.evaluate()[study.comparison.rows["present"]][:, 0], strict=True))
    del costs["polyester"]
    assert budget.year.switching.sheet.method.id == min(costs, key=lambda name: costs[name])


def test_what_follows_the_work_falls_as_it_does_and_time_evenly(tmp_path: Path) -> None:
    """The contract is 1,200 a year, so 100 a month. Paper for stops follows the work: January has 30 % of it, August 4 %.
    Plates have costs of an order, too, evenly: January is above February by as much as February above March, 10 %."""
    cash = rows(found(budgeted(tmp_path, PLAIN)), "staying")
    assert cash["equipment.service"]["months"] == pytest.approx([100.0] * 12)
    paper = cash["press.general"]
    assert paper["year"] > 0 and paper["months"] == pytest.approx([paper["year"] * share for share in SHARES])
    plates = cash["consumables.plates"]["months"]
    tenth = plates[0] - plates[1]
    assert tenth > 0 and plates[1] - plates[2] == pytest.approx(tenth)
    assert plates[0] - plates[7] == pytest.approx(2.6 * tenth)


def test_a_year_from_august_is_the_year_from_january_turned(tmp_path: Path) -> None:
    """Nothing grows: the same twelve months in another order, and the same year."""
    january = found(budgeted(tmp_path, PLAIN))
    august = found(budgeted(tmp_path, PLAIN + "[money]\nyear_begins = 8\n"))
    assert january["months"][0] == "Jan 2027" and august["months"][0] == "Aug 2027"
    assert august["months"][4:6] == ["Dec 2027", "Jan 2028"] and august["months"][-1] == "Jul 2028"
    one, other = (rows(x, "staying")["cash"] for x in (january, august))
    assert other["year"] == pytest.approx(one["year"], abs=0.01)
    assert other["months"][5:] + other["months"][:5] == pytest.approx(one["months"])


def test_the_switch_in_a_month(tmp_path: Path) -> None:
    """Three months of the old method, then the new; 18,000 + 2,000 + 500 are paid in the fourth month."""
    budget = budgeted(tmp_path, PLAIN + MONEY, month=3)
    result, whole = found(budget), found(budget, {"leaving.month": 0.0})
    staying, switching = rows(result, "staying"), rows(result, "switching")
    assert result["months"][3] == "Apr 2027" and "switching to Direct in Apr 2027" in result["sentences"][0]
    assert switching["running"]["months"][:3] == pytest.approx(staying["running"]["months"][:3])
    assert switching["running"]["months"][3:] == pytest.approx(
        rows(whole, "switching")["running"]["months"][3:]
    )
    assert switching["once"]["months"] == pytest.approx([0, 0, 0, 20500, *[0] * 8])
    assert f"in Apr 2027 when switching (USD {switching['cash']['months'][3]:,.0f})" in result["sentences"][1]


def test_a_price_rise_stands_from_its_month_on(tmp_path: Path) -> None:
    """Level months, plates a quarter dearer from the fourth month: three months at p, nine at 1.25 p, in all 14.25 p, which
    is what the reckoning's mean, 1 + 0.25 x 9 / 12, gives twelve months."""
    step = '[price_steps.plates]\nchange = "25 %"\nyear = "1 year"\nmonth = "4 month"\n'
    budget = budgeted(tmp_path, LEVEL + step)
    plain = rows(found(budget, {"price_steps.plates.change": 0.0}), "staying")["consumables.plates"][
        "months"
    ][0]
    result = found(budget)
    dated = rows(result, "staying")["consumables.plates"]
    assert dated["months"] == pytest.approx([plain] * 3 + [1.25 * plain] * 9)
    assert dated["year"] == pytest.approx(14.25 * plain)
    assert {"kind": "price", "when": "Apr 2027", "what": "Prices of plates change by +25.0%"} in result[
        "dates"
    ]
    later = found(budget, {"price_steps.plates.year": 2.0})
    assert rows(later, "staying")["consumables.plates"]["months"] == pytest.approx([plain] * 12)


VAT = 'vat_rate = "20 %"\nvat_unrecovered = "50 %"\n'


def test_vat_that_is_not_recovered_is_a_line_of_its_own(tmp_path: Path) -> None:
    """20 % x 50 % = 10 % on equipment, consumables, waste and energy; on 18,000 + 2,000 + 500 bought: 2,050."""
    budget = budgeted(tmp_path, PLAIN + MONEY + VAT)
    result, without = found(budget), found(budget, {"money.vat_unrecovered": 0.0})
    taxed = ("equipment", "consumables", "waste", "energy")
    for way in ("staying", "switching"):
        cash, before = rows(result, way), rows(without, way)
        tax = 0.10 * sum(cash[family]["year"] for family in taxed)
        assert cash["vat.running"]["year"] == pytest.approx(tax)
        assert cash["running"]["year"] == pytest.approx(before["running"]["year"])
        bought = 2050 if way == "switching" else 0
        assert cash["cash"]["year"] == pytest.approx(before["cash"]["year"] + tax + bought)


def test_prices_that_hold_vat_bear_none_again(tmp_path: Path) -> None:
    """The old method's own prices hold it: what is left is on plates bought in while down, and on energy."""
    holds = PLAIN.replace(
        "[methods.direct]\n", "[methods.direct]\n[methods.polyester]\nprices_with_vat = true\n", 1
    )
    cash = rows(found(budgeted(tmp_path, holds + MONEY + VAT)), "staying")
    bears = (
        cash["equipment.bought_in"]["year"] + cash["consumables.bought_in"]["year"] + cash["energy"]["year"]
    )
    assert bears > 0 and cash["vat.running"]["year"] == pytest.approx(0.10 * bears)


BOOKS = '[money]\ncontingency = "10 %"\n{}[leaving]\nsale = "1500 USD"\nstock = "400 USD"\n'


def test_profit_and_loss_has_depreciation_instead_of_capital(tmp_path: Path) -> None:
    """From month 3 on. (18,000 + 2,000) x 1.1 = 22,000 less 10 % of 18,000 over 8 years: 20,200 / 96 = 210.42 a month. At once:
    training 500 x 1.1. The old: 2,400 over 2 years is 100 a month, and 2,100 left at the switch, sold for 1,500."""
    result = found(budgeted(tmp_path, PLAIN + BOOKS.format(""), month=3))
    books = rows(result, "switching", "profit_and_loss")
    assert books["depreciation.new"]["months"] == pytest.approx([0] * 3 + [20200 / 96] * 9)
    assert books["charged"]["months"] == pytest.approx([0, 0, 0, 550, *[0] * 8])
    assert books["depreciation.owned"]["months"] == pytest.approx([100] * 3 + [0] * 9)
    assert books["write_off"]["months"] == pytest.approx([0, 0, 0, 2100, *[0] * 8])
    assert books["sale"]["year"] == -1500 and books["stock"]["year"] == 400
    assert "stock" not in rows(result, "switching")  # written off, not paid
    staying = rows(result, "staying", "profit_and_loss")
    assert staying["depreciation.owned"]["months"] == pytest.approx([100] * 12)
    # 22,000 capitalised, 400 of stock, nine months of depreciation, 300 and 2,100 of the old.
    cash, profit = rows(result, "switching")["cash"], books["profit"]
    assert profit["year"] == pytest.approx(cash["year"] - 22000 + 400 + 9 * 20200 / 96 + 300 + 2100)
    bridge = result["switching"]["from_cash_to_profit_and_loss"]
    assert bridge[-1]["months"] == pytest.approx(profit["months"])
    named = [row["key"] for row in bridge[1:-1]]
    assert named == ["less.capitalised", "stock", "depreciation.new", "depreciation.owned", "write_off"]


def test_what_is_not_above_the_threshold_is_charged_at_once(tmp_path: Path) -> None:
    """The item costs 22,000 with contingency: above 21,999, not above 22,000; training is never capitalised."""
    budget = budgeted(tmp_path, PLAIN + BOOKS.format('capitalise_above = "21999 USD"\n'))
    for above, kept in ((21999.0, True), (22000.0, False)):
        result = found(budget, {"money.capitalise_above": above})
        books = rows(result, "switching", "profit_and_loss")
        assert books["charged"]["year"] == pytest.approx(550 if kept else 22550)
        assert books["depreciation.new"]["year"] == pytest.approx(20200 / 8 if kept else 0)


def test_equipment_kept_as_a_backup_is_depreciated_on(tmp_path: Path) -> None:
    kept = (
        '[methods.direct.backup]\nyearly = "120 USD/year"\n[methods.direct.downtime]\ndays = "3 day/year"\n'
    )
    books = rows(found(budgeted(tmp_path, PLAIN + kept, month=3)), "switching", "profit_and_loss")
    assert books["depreciation.owned"]["months"] == pytest.approx([100] * 12) and "write_off" not in books


def test_what_a_challenger_keeps_of_the_old_method_stays_on_the_books(tmp_path: Path) -> None:
    """The same machine with dearer plates: its 2,400 go on being written down at 100 a month, no stock is written off, and
    nothing is paid once."""
    same = '[methods.tuned]\nsame_as = "polyester"\nlabel = "Tuned"\n[methods.tuned.plates.price]\nsmall = "4 USD/plate"\n'
    text = PLAIN + same + '[leaving]\nstock = "400 USD"\n'
    result = found(budgeted(tmp_path, text, month=3, method="tuned"))
    books = rows(result, "switching", "profit_and_loss")
    assert books["depreciation.owned"]["months"] == pytest.approx([100] * 12)
    assert "write_off" not in books and "stock" not in books
    assert rows(result, "switching")["once"]["months"] == pytest.approx([0] * 12)


CHANGE = """
[methods.direct.changeover]
parallel = "2 month"
learning = "4 month"
learning_minutes = "1 min/plate"
"""


def test_running_both_and_learning_take_their_months(tmp_path: Path) -> None:
    """Both: half in each of two months. Learning falls in a straight line over four: 7, 5, 3 and 1 sixteenths.
    Begun in the eleventh month, 12 sixteenths fall into the year and 4 after it; both running is over by then."""
    budget = budgeted(tmp_path, PLAIN + CHANGE, month=1)
    early = found(budget)
    cash = rows(early, "switching")
    both, learning = cash["parallel"], cash["learning"]
    assert (
        both["months"] == pytest.approx([0, both["year"] / 2, both["year"] / 2, *[0] * 9])
        and both["year"] > 0
    )
    sixteenth = learning["year"] / 16
    assert learning["months"] == pytest.approx(
        [0, 7 * sixteenth, 5 * sixteenth, 3 * sixteenth, sixteenth, *[0] * 7]
    )
    assert sixteenth > 0 and early["switching"]["falls_after_the_year"] == pytest.approx(0, abs=1e-9)
    late = found(budget, {"leaving.month": 10.0})
    assert rows(late, "switching")["learning"]["year"] == pytest.approx(12 * sixteenth)
    assert late["switching"]["falls_after_the_year"] == pytest.approx(4 * sixteenth)


def test_less_work_is_the_year_with_that_much_less(tmp_path: Path) -> None:
    """The whole reckoning with 85 % of the work, baths and packs included, against the column beside the year."""
    budget = budgeted(tmp_path, FULL, month=5)
    result, fewer = found(budget), found(budget, {"work.volume": 0.85})
    for way in ("staying", "switching"):
        for view in ("cash", "profit_and_loss"):
            less = rows(fewer, way, view)
            for key, row in rows(result, way, view).items():
                assert row["year_with_less_work"] == pytest.approx(less[key]["year"], abs=1e-6), (way, key)
    assert f"With 15 % less work USD {rows(fewer, 'staying')['cash']['year']:,.0f}" in result["sentences"][-1]


def test_actuals_and_the_plan_of_the_rest(tmp_path: Path) -> None:
    """The contract is planned at 100 a month. Two months closed, 120 and 130 paid, 999 typed too early: 250 to date, 50 above
    the plan, and 250 + 10 x 100 = 1,250 at the year's end."""
    budget = budgeted(tmp_path, PLAIN + "[methods.polyester.downtime]\ndays = false\n")
    followed = next(row for row in budget.actuals.rows if row.label == "Equipment")
    assert followed.actual is not None
    typed = {
        followed.actual: np.array([120.0, 130.0, 999.0, *[0.0] * 9]),
        budget.actuals.closed: np.array([2.0]),
        budget.actuals.which: np.array([1.0]),
    }
    values, _ = budget.evaluate({}, typed)

    def amount(line: Any) -> float:
        return float(values[line].flat[0])

    assert values[followed.plan].ravel() == pytest.approx([100.0] * 12)
    assert amount(followed.paid_to_date) == 250 and amount(followed.plan_to_date) == pytest.approx(200)
    assert amount(followed.apart_to_date) == pytest.approx(50) and amount(followed.rest) == pytest.approx(
        1000
    )
    assert amount(followed.forecast) == pytest.approx(1250) and amount(followed.apart_year) == pytest.approx(
        50
    )
    assert values[followed.apart].ravel() == pytest.approx([20, 30, *[0] * 10])
    assert values[budget.overall][0] == 1
    cash = rows(as_json(budget, values), "switching")["cash"]
    switched, _ = budget.evaluate({}, {budget.actuals.which: np.array([2.0])})
    assert float(switched[budget.actuals.rows[-1].forecast].flat[0]) == pytest.approx(cash["year"])


def test_quotes_notice_and_accounts(tmp_path: Path) -> None:
    """The year ends on 31 July 2028. Two and a half months of notice for leaving at the start of January 2028 must be given
    before mid-October 2027, so in September at the latest."""
    budget = budgeted(tmp_path, FULL, month=5)
    result = found(budget)
    kinds = [(d["kind"], d["when"]) for d in result["dates"]]
    assert kinds == [("quote", "2027-09-30"), ("price", "Nov 2027"), ("notice", "Sep 2027")]
    # The switch is at the start of January 2028, three months after the quote has run out; a switch in August 2027 is before.
    assert "runs out before the switch at the start of Jan 2028" in result["dates"][0]["what"]
    early = budgeted(tmp_path, FULL, month=0)
    assert "runs out then" in dates(early.study, early.fiscal, "2026-11-25")[0].what
    assert "has run out" in dates(budget.study, budget.fiscal, "2027-10-01")[0].what
    # With the switch after one month 1.5 of the 2.5 months of notice are left, and charged: 150 with the 250 for draining.
    soon = budgeted(tmp_path, FULL, month=1)
    (notice,) = [d for d in dates(soon.study, soon.fiscal, "2026-11-25") if d.kind == "notice"]
    assert (
        notice.when == "Aug 2027"
        and "1.5 of them lie after the switch at the start of Sep 2027" in notice.what
    )
    left = {m: rows(found(budgeted(tmp_path, FULL, month=m)), "switching")["leaving"]["year"] for m in (1, 3)}
    assert left[1] - left[3] == pytest.approx(1.5 * 100)
    # The year before ends on 31 July 2027, two months before the quote does.
    assert "quote" not in [d.kind for d in dates(budget.study, Fiscal(2026, 8), "2026-11-25")]
    cash = rows(result, "switching")
    accounts = [cash[key]["account"] for key in ("consumables.plates", "purchases", "waste")]
    assert accounts == ["4100", "=0200", ""]


def test_a_quote_without_a_source_names_none(tmp_path: Path) -> None:
    budget = budgeted(tmp_path, FULL.replace(', source = "invented quote"', ""), month=0)
    assert (
        found(budget)["dates"][0]["what"] == "Direct, plate, Small: runs out then; order or ask again before"
    )


def test_months_that_are_alike_name_none_as_the_dearest(tmp_path: Path) -> None:
    """Without shares of the months all costs of staying are a twelfth of the year's; the switch in January is dearest."""
    result = found(budgeted(tmp_path, LEVEL))
    months = rows(result, "staying")["cash"]["months"]
    assert max(months) - min(months) < 1
    said = result["sentences"][1]
    assert said.startswith(
        f"All months are alike when staying (USD {months[0]:,.0f}), most is paid in Jan 2027 when "
    )


def test_what_is_booked_is_named_plainly(tmp_path: Path) -> None:
    """Of consumables at general prices polyester has none, and processed metal only its used plates, which it sells."""
    text = SHOP.replace("[methods.direct]", "[methods.processed]")
    cash = rows(found(budgeted(tmp_path, text)), "switching")
    assert cash["equipment.bought_in"]["label"] == "Equipment: plates bought while a machine is down"
    assert (
        cash["consumables.general"]["label"] == "Consumables: scrap sold"
        and cash["consumables.general"]["year"] < 0
    )


def test_months_of_a_fiscal_year() -> None:
    august = Fiscal(2026, 8)
    assert [august.month(i) for i in (0, 4, 5, 11, -1, -8)] == [
        "Aug 2026", "Dec 2026", "Jan 2027", "Jul 2027", "Jul 2026", "Dec 2025",
    ]  # fmt: skip
    # 2028 is a leap year: the year from March 2027 ends on its 29 February.
    assert (august.last_day, Fiscal(2027, 3).last_day, Fiscal(2027, 1).last_day) == (
        "2027-07-31",
        "2028-02-29",
        "2027-12-31",
    )


@pytest.mark.parametrize(
    ("options", "where", "what"),
    [
        ({"year": 2025}, "--year 2025", "is over"),
        ({"year": 2099}, "--year 2099", "ahead"),
        ({"year": -5}, "--year -5", "is no year"),
        ({"year": 27}, "--year 27", "four digits"),
        ({"month": 12}, "--switch-month 12", "is not a month of the year"),
        ({"month": -1}, "--switch-month -1", "is not a month of the year"),
        ({"method": "diret"}, "--method diret", "is not among the methods"),
        ({"method": "polyester"}, "--method polyester", "is the method in use"),
    ],
)
def test_what_can_not_be_is_refused_with_a_mend(
    tmp_path: Path, options: dict[str, Any], where: str, what: str
) -> None:
    with pytest.raises(BadInput) as bad:
        budgeted(tmp_path, SHOP, **options)
    (problem,) = bad.value.problems
    assert problem.where == where and what in problem.what and problem.mend
    if "diret" in where:
        assert problem.mend == 'was "direct" meant?'


def test_a_fiscal_year_under_way_may_be_budgeted(tmp_path: Path) -> None:
    """On 25 November 2026 the year from December 2025 still runs; that from August 2025 is over."""
    assert (
        found(budgeted(tmp_path, SHOP + "[money]\nyear_begins = 12\n", year=2025))["months"][0] == "Dec 2025"
    )
    with pytest.raises(BadInput, match="is over"):
        budgeted(tmp_path, SHOP + "[money]\nyear_begins = 8\n", year=2025)


def test_a_method_that_can_not_do_the_work_is_refused(tmp_path: Path) -> None:
    text = SHOP.replace("[summary]", "[summary]\nconfined = 1.0").replace(
        "[methods.direct]", "[methods.bought_in]"
    )
    for method, where in (("bought_in", "--method bought_in"), (None, "shop.toml")):
        with pytest.raises(BadInput) as bad:
            budgeted(tmp_path, text, method=method)
        assert [p.where for p in bad.value.problems] == [where] and bad.value.problems[0].mend


def test_half_stated_vat_is_refused(tmp_path: Path) -> None:
    for text, missing in (('vat_rate = "20 %"', "vat_unrecovered"), ('vat_unrecovered = "50 %"', "vat_rate")):
        with pytest.raises(BadInput) as bad:
            budgeted(tmp_path, SHOP + f"[money]\n{text}\n")
        assert [p.where for p in bad.value.problems] == [f"shop.toml, money.{missing}"]


def test_the_month_stated_in_the_scenario_holds_unless_another_is_asked_for(tmp_path: Path) -> None:
    text = PLAIN + '[leaving]\nmonth = "4 month"\n'
    for month, switch in ((None, 4), (2, 2)):
        result = found(budgeted(tmp_path, text, month=month))
        once = rows(result, "switching")["once"]["months"]
        assert result["switch_month"] == switch and [i for i, x in enumerate(once) if x] == [switch]


def test_sentences_follow_the_figures(tmp_path: Path) -> None:
    budget = budgeted(tmp_path, PLAIN + MONEY)
    values, _ = budget.evaluate({"leaving.month": 7.0})
    assert "switching to Direct in Aug 2027" in said(budget, values)[0]
