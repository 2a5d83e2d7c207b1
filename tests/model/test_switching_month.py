"""The switch in a later month of year 1, by hand: nothing at month 0, half of both at month 6, the log's months otherwise."""

from __future__ import annotations

from pathlib import Path

import pytest

from roi.answers.checks import results
from roi.answers.verdict import verdict
from roi.answers.when import when_to_change
from roi.engine.evaluate import extend
from roi.model.sheet import LABELS
from roi.model.study import Study, build
from roi.scenario.problems import BadInput
from roi.scenario.scenario import read
from tests.parity.recalculate import differences, ironcalc_values
from tests.small_shop import LEAN, SHOP
from tests.workbook.rules import broken_rules

RATE, TAX = 0.10, 0.25
MONEY = """
[money]
horizon = "5 year"
discount_rate = "10 %/year"
tax_rate = "25 %"
"""
UNEVEN = "month_share = [0.30, 0.20, 0.10, 0.05, 0.05, 0.05, 0.05, 0.04, 0.04, 0.04, 0.04, 0.04]\n"
MONTH = '[leaving]\nmonth = "{} month"\n'


def study(folder: Path, more: str = "", summary: str = "") -> Study:
    (folder / "shop.toml").write_text(SHOP + summary + MONEY + more, encoding="utf-8")
    return build(read(folder / "shop.toml"))


def figure(made: Study, key: str, method: str = "direct", row: int = 0) -> float:
    return float(made.evaluate()[made.methods[method].lines[key]].ravel()[row])


def test_month_0_changes_no_figure(tmp_path: Path) -> None:
    without, at_once = study(tmp_path), study(tmp_path, MONTH.format(0))
    plain, values = without.evaluate(), at_once.evaluate()
    for row, line in without.comparison.rows.items():
        assert (values[at_once.comparison.rows[row]] == plain[line]).all(), row
    for name, sheet in without.methods.items():
        for key in ("after", "after_full", "running", "present", "present_full"):
            assert (values[at_once.methods[name].lines[key]] == plain[sheet.lines[key]]).all(), key


def test_month_6_of_level_months_is_half_of_both(tmp_path: Path) -> None:
    """Running costs of year 1 the mean of both methods', each family by itself; all other years and year 0 as before.

    Prices grow (the shipped defaults) and tax is 25 %, so present cost moves by half the difference x 0.75 / 1.10.
    """
    without, half = study(tmp_path), study(tmp_path, MONTH.format(6))
    old, new = (figure(without, "running", m, 1) for m in ("polyester", "direct"))
    assert abs(old - new) > 100
    assert figure(half, "running", row=1) == pytest.approx((old + new) / 2, rel=1e-9)
    for family in LABELS:
        parts = [
            float(without.evaluate()[without.methods[m].families[family]].ravel()[1]) for m in without.methods
        ]
        mixed = half.evaluate()[half.methods["direct"].families[family]].ravel()[1]
        assert mixed == pytest.approx(sum(parts) / 2, rel=1e-9, abs=1e-9), family
    moved = figure(half, "present") - figure(without, "present")
    assert moved == pytest.approx((old - new) / 2 * (1 - TAX) / (1 + RATE), rel=1e-9)
    for year in (0, 2, 3, 4, 5):
        assert figure(half, "after", row=year) == pytest.approx(figure(without, "after", row=year), rel=1e-12)
    old_full, new_full = (figure(without, "added_full", m, 1) for m in ("polyester", "direct"))
    assert figure(half, "added_full", row=1) == pytest.approx((old_full + new_full) / 2, rel=1e-9)
    assert figure(half, "present", "polyester") == figure(without, "present", "polyester")
    assert all(ok for _, ok in results(half, half.evaluate()))


def test_work_is_shared_by_the_logs_months(tmp_path: Path) -> None:
    """Three months hold 30 + 20 + 10 % of the work, and a quarter of the time; from May on, three hold 15 %.

    Labour by hand: hands-on minutes a plate follow the work, daily cleaning time; wages of year 1 are 3.5 % up.
    """
    plain = study(tmp_path, "", UNEVEN)
    difference = {}
    for month_share, more in ((0.60, ""), (0.15, "year_begins = 5\n")):
        made = study(tmp_path, more + MONTH.format(3), UNEVEN)
        assert figure(made, "months.work") == pytest.approx(month_share)
        assert figure(made, "months.time") == pytest.approx(0.25)
        difference[month_share] = figure(made, "running", row=1) - figure(plain, "running", row=1)
    values, expected = plain.evaluate(), 0.0
    for method, sign in (("polyester", 1), ("direct", -1)):
        for cost in plain.methods[method].costs:
            if cost.family == "labour":
                share = 0.60 if cost.follows == "work" else 0.25
                expected += sign * share * float(values[cost.cash][0]) * 1.035
    made = study(tmp_path, MONTH.format(3), UNEVEN)
    families = [s.evaluate()[s.methods["direct"].families["labour"]].ravel()[1] for s in (made, plain)]
    assert families[0] - families[1] == pytest.approx(expected, rel=1e-9)
    assert difference[0.60] != pytest.approx(difference[0.15])


@pytest.mark.parametrize("summary", ["", UNEVEN])
def test_the_table_says_what_changing_the_month_would_give(tmp_path: Path, summary: str) -> None:
    """Each row against the whole reckoning with that month, wherever the table itself starts from."""
    made = study(tmp_path, MONTH.format(4), summary)
    lines = made.methods["direct"].lines
    table = made.evaluate()[lines["when.cost"]].ravel()
    costs = [float(made.evaluate({"leaving.month": m})[lines["present"]][0]) for m in range(12)]
    assert table == pytest.approx(costs, rel=1e-12)
    values = made.evaluate()
    assert values[lines["when.place"]][0] == 1 + costs.index(min(costs))
    assert values[lines["when.least_flag"]].ravel().tolist() == [float(c <= min(costs) + 1e-7) for c in costs]


DUES = """
notice = "3 month"
notice_cost = "220 USD/month"
lease_payment = "90 USD/month"
lease_months = "7 month"
lease_share_due = "80 %"
[methods.polyester.equipment.reader]
rental = "90 USD/month"
[methods.polyester.equipment.folder]
rental = "50 USD/month"
rental_left = "20 month"
[methods.polyester.agreement]
minimum = "100 m2/year"
price = "12 USD/m2"
years = "1 year"
share_due = "60 %"
"""


def test_what_is_due_shrinks_with_the_months(tmp_path: Path) -> None:
    """After 4 months: nothing of 3 months' notice, 3 of 7 months at 90 and 16 of 20 at 50, 80 % of both, and of an
    agreement's year eight months: 100 m2 x 12 USD x 8 / 12 x 60 %. Relieved in year 0, so less a quarter."""
    plain, due = (study(tmp_path, MONTH.format(4) + text) for text in (_without_dues(DUES), DUES))
    expected = 0 + 0.8 * (3 * 90 + 16 * 50) + 100 * 12 * 8 / 12 * 0.6
    assert figure(due, "first_cost") - figure(plain, "first_cost") == pytest.approx(expected)
    assert figure(due, "present") - figure(plain, "present") == pytest.approx(expected * (1 - TAX))
    lines = due.methods["direct"].lines
    table = due.evaluate()[lines["when.cost"]].ravel()
    for month in range(12):
        values = due.evaluate({"leaving.month": month})
        assert table[month] == pytest.approx(float(values[lines["present"]][0]), rel=1e-12)
    # From month 8 on the folder's rental and the agreement go on shrinking: 40 and 60 a month.
    other = plain.evaluate()[plain.methods["direct"].lines["when.cost"]].ravel()
    left = [float(x) / (1 - TAX) for x in table - other]
    assert left[8] - left[9] == pytest.approx(100) and left[11] == pytest.approx(0.8 * 9 * 50 + 60)
    assert left[0] == pytest.approx(3 * 220 + 0.8 * (7 * 90 + 20 * 50) + 1200 * 0.6)


def _without_dues(dues: str) -> str:
    """The same machines and agreement, and nothing due for leaving them."""
    said = dues.splitlines(keepends=True)
    return "".join(x for x in said if not x.startswith(("notice", "lease", "rental_left", "share_due")))


def test_staying_stands_beside_the_months(tmp_path: Path) -> None:
    """Present cost of the current method, and in words where no month costs less."""
    seen = set()
    for text in ("", '[methods.polyester.last_year]\nservice = "40000 USD/year"\n'):
        made = study(tmp_path, MONTH.format(2) + text)
        column, _ = verdict(made)
        said = when_to_change(made, column)["direct"].say(extend(made.evaluate(), [column]))
        staying, table = figure(made, "present", "polyester"), figure(made, "when.least")
        assert figure(made, "when.staying") == staying
        assert said.endswith("Staying costs less in every month.") == (staying < table)
        seen.add(staying < table)
    assert seen == {True, False}


def test_an_impossible_month_is_told(tmp_path: Path) -> None:
    for text, where, what in (
        (MONTH.format(12), "leaving.month", "12 month is above 11 month"),
        (MONTH.format(1.5), "leaving.month", "1.5 month is not a whole number"),
        ("year_begins = 13\n", "money.year_begins", "13 is above 12"),
    ):
        with pytest.raises(BadInput) as bad:
            study(tmp_path, text)
        assert (f"shop.toml, {where}", what) in [(p.where, p.what) for p in bad.value.problems]
        assert all(p.mend for p in bad.value.problems)


def test_the_workbook_follows(tmp_path: Path) -> None:
    """Recalculated by IronCalc, stored results stripped first."""
    from roi.workbook.write import write_workbook

    made = study(tmp_path, "year_begins = 8\n" + MONTH.format(5) + DUES, UNEVEN)
    path = tmp_path / "out.xlsx"
    found = write_workbook(made, made.evaluate(), path, LEAN)
    assert differences(found, ironcalc_values(path)) == []
    assert broken_rules(path) == []
    sheet = found["When to change"]
    assert str(sheet["A4"]).startswith("Direct: least present cost USD ")
    staying = figure(made, "present", "polyester")
    assert [x for x in sheet.values() if isinstance(x, float)][-1] == pytest.approx(staying)


def test_the_words_follow_the_figures(tmp_path: Path) -> None:
    """Said for the month named by the costs themselves, at once and later."""
    seen = set()
    for text in ("", '[methods.polyester.last_year]\nservice = "40000 USD/year"\n'):
        made = study(tmp_path, MONTH.format(2) + text)
        column, _ = verdict(made)
        sentence = when_to_change(made, column)["direct"]
        values = made.evaluate()
        costs = values[made.methods["direct"].lines["when.cost"]].ravel()
        month = int(costs.argmin())
        said = sentence.say(extend(values, [column]))
        least = f"Direct: least present cost USD {costs.min():,.0f}"
        start = "changed at once" if month == 0 else f"the old method runs {month} of year 1's 12 months"
        stays = float(values[made.methods["polyester"].lines["present"]][0]) < costs.min()
        assert said == f"{least}, when {start}." + (" Staying costs less in every month." if stays else "")
        seen.add(month)
    assert len(seen) == 2
