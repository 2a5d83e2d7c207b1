"""The print room and the trade printer: what their descriptions promise, counted in the committed files.

The figures promised stand in the comments of each scenario; here they are typed once more. The log is counted by a
reader of this file's own, which shares no code with the program's. Recalculated by IronCalc with the layout that
leaves out the sheets of cases.
"""

from __future__ import annotations

import csv
import datetime as dt
import importlib.util
import json
import re
import statistics
import sys
import tomllib
from collections import Counter
from pathlib import Path

import numpy as np
import openpyxl
import pytest

from roi.answers.capacity import told
from roi.answers.compare import as_json
from roi.model.study import build
from roi.scenario.scenario import read
from roi.workbook.write import write_workbook
from tests.parity.recalculate import differences, ironcalc_values
from tests.small_shop import LEAN

SCENARIOS = Path(__file__).parents[2] / "scenarios"
ROOM, TRADE = SCENARIOS / "uk_print_room", SCENARIOS / "euro_trade"
FILES = {
    "room": ROOM / "shop.toml",
    **{name: TRADE / f"{name}.toml" for name in ("shop", "cautious", "expected", "busy")},
}
# % of plates, January first.
ROOM_MONTHS = [7, 7, 9, 11, 12, 6, 6, 9, 13, 9, 7, 4]
PAID = 1.18  # of a price without VAT: 1 + 20 % x 90 %


def generator(path):
    spec = importlib.util.spec_from_file_location(f"{path.parent.name}_{path.stem}", path)
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module  # dataclasses look their module up by name
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def make_log():
    return generator(ROOM / "make_log.py")


@pytest.fixture(scope="module")
def make_summary():
    return generator(TRADE / "make_summary.py")


@pytest.fixture(scope="module")
def studies():
    return {name: build(read(path)) for name, path in FILES.items()}


@pytest.fixture(scope="module")
def found(studies):
    return {name: as_json(study, study.evaluate()) for name, study in studies.items()}


# --- the print room's log ----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def sheet():
    """Rows of the committed file below the header, by header."""
    rows = openpyxl.load_workbook(ROOM / "job_log.xlsx")["Jobs"].iter_rows(values_only=True)
    header = next(rows)
    return [dict(zip(header, row, strict=True)) for row in rows]


def fault(row, met):
    """What is wrong with a row, read as its reader would: by the words of the log, day first, decimal comma."""
    try:
        day_of(row)
    except ValueError:
        return "date"
    good = str(row["Good sheets"])
    if good.startswith("-"):
        return "negative"
    if not re.fullmatch(r"\d+|\d{1,3}(\.\d{3})+", good):
        return "number"
    if row["Press"] not in ("A3 two-col", "A3 one-col"):
        return "press"
    if row["Plate"] not in ("335x490", "325x450"):
        return "plate"
    if row["Plates"] not in (1, 2, 3, 4):
        return "plates"
    return "twice" if (row["Docket"], row["Form"]) in met else ""


def day_of(row):
    cell = row["Plated"]
    return cell.date() if isinstance(cell, dt.datetime) else dt.datetime.strptime(cell, "%d/%m/%Y").date()


def good_of(row):
    return int(str(row["Good sheets"]).replace(".", ""))


@pytest.fixture(scope="module")
def counted(sheet):
    """Rows without fault, and how many have each."""
    rows, faults, met = [], Counter(), set()
    for row in sheet:
        wrong = fault(row, met)
        if wrong:
            faults[wrong] += 1
        else:
            met.add((row["Docket"], row["Form"]))
            rows.append(row)
    return rows, faults


def test_the_log_is_what_its_generator_makes(make_log):
    """Cell by cell: a workbook's bytes hold the time it was saved."""
    made, kept = make_log.workbook(), openpyxl.load_workbook(ROOM / "job_log.xlsx")
    assert made.sheetnames == kept.sheetnames
    for name in made.sheetnames:
        rows = [
            [cell.date() if isinstance(cell, dt.datetime) else cell for cell in row]
            for row in kept[name].iter_rows(values_only=True)
        ]
        assert rows == [list(row) for row in made[name].iter_rows(values_only=True)]
    assert "invented" in kept["About"]["A1"].value


def test_the_faults_found_are_those_put_in(make_log, counted, studies):
    """22 rows of 2,203 are 1 %; both readers find them all, and no other."""
    rows, faults = counted
    put = make_log.ERRORS
    assert faults == {
        "date": put["no such day"],
        "negative": put["negative number"],
        "number": put["letter O in a number"] + put["two decimal commas"],
        "press": put["press misspelt"],
        "plate": put["plate left out"],
        "plates": put["no such count of plates"],
        "twice": put["entered twice"],
    }
    work = studies["room"].scenario.work
    assert work.rows_skipped == sum(put.values()) == 22
    assert work.rows_read - work.rows_skipped == len(rows) == work.good.size
    assert 0.008 <= work.rows_skipped / work.rows_read <= 0.012


def test_plates_a_month_and_the_middle_run(counted, studies):
    """280 plates a month and a run of 600, each within 3 %; nothing under 300 but what was cancelled."""
    rows, _ = counted
    work = studies["room"].scenario.work
    plates = sum(row["Plates"] for row in rows)
    assert plates / 12 == pytest.approx(280, rel=0.03)
    assert plates == work.plates.sum()
    runs = [good_of(row) for row in rows]
    printed = [run for run in runs if run]
    assert statistics.median(printed) == pytest.approx(600, rel=0.03)
    assert min(printed) >= 300
    assert runs.count(0) == 4
    assert sorted(runs) == sorted(work.good.astype(int).tolist())


def test_month_shares_from_january(counted, studies):
    """Of plates, as promised within 0.4 points; the program's are the same as counted here."""
    rows, _ = counted
    plates = np.zeros(12)
    for row in rows:
        plates[day_of(row).month - 1] += row["Plates"]
    np.testing.assert_allclose(100 * plates / plates.sum(), ROOM_MONTHS, atol=0.4)
    np.testing.assert_allclose(studies["room"].scenario.work.month_share, plates / plates.sum(), rtol=1e-12)
    days = [day_of(row) for row in rows]
    assert dt.date(2025, 8, 1) <= min(days) and max(days) <= dt.date(2026, 7, 31)
    assert {day.weekday() for day in days} == {0, 1, 2, 3, 4}


def test_exam_papers_stay_in_and_bar_buying_in(counted, studies, found):
    rows, _ = counted
    exams = [row for row in rows if row["Handling"] == "exam, stays in"]
    assert {day_of(row).month for row in exams} == {4, 5}
    assert len(exams) > 100
    assert studies["room"].scenario.work.confined.sum() == len(exams)
    feasible = {name: method["feasible"] for name, method in found["room"]["methods"].items()}
    assert feasible == {"processed": True, "direct": True, "bought_in": False}


def test_day_first_and_decimal_commas_are_in_the_file(sheet):
    texts = [row["Plated"] for row in sheet if isinstance(row["Plated"], str)]
    assert 0.5 < len(texts) / len(sheet) < 1  # the rest are real dates
    assert any(int(text[:2]) > 12 for text in texts)
    assert {row["Screen"] for row in sheet} == {"52,0/cm", "59,0/cm", "68,5/cm", None}


def test_screens_are_read_with_the_comma(counted, studies):
    """By hand: 68.5 lines per cm x 2.54 = 173.99 lpi."""
    rows, _ = counted
    fine = sum(row["Screen"] == "68,5/cm" for row in rows)
    assert fine > 0
    assert np.isclose(studies["room"].scenario.work.ruling, 173.99, atol=1e-9).sum() == fine


# --- the print room's money --------------------------------------------------------------------------


def test_prices_hold_the_vat_that_is_not_recovered():
    """A source that ends in "a x b x 1.18" says what the price is made of; 2.10 x 1.18 = 2.478."""
    shop = tomllib.loads((ROOM / "shop.toml").read_text("utf-8"))
    assert shop["methods"]["processed"]["plates"]["price"]["wide"]["best"] == "2.478 GBP/plate"
    told_of = 0
    for number in numbers(shop):
        made_of = re.search(r"([\d.,]+(?: x [\d.,]+)*) x 1\.18$", number["source"])
        if made_of:
            net = np.prod([float(part.replace(",", "")) for part in made_of[1].split(" x ")])
            best = float(number["best"].split()[0])
            assert best == pytest.approx(net * PAID, abs=0.006), number  # to the penny, baths too
            told_of += 1
    assert told_of > 20


def numbers(tree):
    for value in tree.values():
        if isinstance(value, dict):
            yield from [value] if "best" in value else numbers(value)


def test_three_pickups_a_year(found):
    """By hand: 3 x 420 x 1.18 = 1,486.80 GBP, a year's growth of 4 % by default: 1,546.27."""
    waste = found["room"]["methods"]["processed"]["running_cost_by_family"]["waste"]
    assert waste == pytest.approx(1486.80 * 1.04, abs=0.005)


def test_no_tax_on_profit(found):
    for method in found["room"]["methods"].values():
        assert method["cash_flow"] == method["cash_flow_before_tax"]


def test_the_ledger_and_its_traps(counted):
    text = generator(ROOM / "make_ledger.py").csv_text()
    assert text.encode() == (ROOM / "ledger.csv").read_bytes()
    rows = list(csv.DictReader(text.splitlines()))
    assert list(rows[0]) == ["date", "account", "supplier", "amount"]
    assert [row["account"] for row in rows if float(row["amount"]) < 0] == ["Plates"]  # the credit note
    outside = [row["date"] for row in rows if not "2025-08-01" <= row["date"] <= "2026-07-31"]
    assert outside == ["2025-07-10"]
    assert sum(row["account"].startswith("Internal recharge") for row in rows) >= 3
    waste = [float(row["amount"]) for row in rows if row["account"] == "Waste"]
    assert waste == [round(420 * PAID, 2)] * 3
    # Plates come in packs of 50; a few more are bought than the log calls for.
    spent = sum(float(row["amount"]) for row in rows if row["account"] == "Plates")
    bought = spent / (2.10 * PAID)
    assert bought % 50 == pytest.approx(0, abs=0.01)
    assert 1 < bought / sum(row["Plates"] for row in counted[0]) < 1.1


# --- the trade printer -------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def summary():
    return tomllib.loads((TRADE / "shop.toml").read_text("utf-8"))["summary"]


def test_the_summary_is_what_its_generator_makes(make_summary):
    text = (TRADE / "shop.toml").read_text("utf-8")
    between = text.split(make_summary.BEGIN)[1].split(make_summary.END)[0]
    assert between == make_summary.summary_text()


def test_plates_by_press_and_month(summary, studies):
    """2,300 a month, 55, 27, 13 and 5 % within half a point; August 4 %, October and November 10.5 %."""
    plates = summary["plates_per_month"]
    assert sum(plates.values()) == 2300
    np.testing.assert_allclose([100 * n / 2300 for n in plates.values()], [55, 27, 13, 5], atol=0.5)
    months = summary["month_share"]
    np.testing.assert_allclose([months[7], months[9], months[10]], [0.04, 0.105, 0.105], atol=0.0005)
    assert min(months) == months[7] and sorted(months)[-2:] == sorted([months[9], months[10]])
    work = studies["shop"].scenario.work
    assert (work.weight * work.plates).sum() / 12 == pytest.approx(2300)
    np.testing.assert_allclose(work.month_share, np.array(months) / sum(months))
    assert len(studies["shop"].scenario.presses) == 4


def test_half_size_runs_have_a_middle_of_3500(make_summary, summary):
    forms = make_summary.make_forms()
    half = [form.impressions for form in forms if form.size == "half"]
    assert statistics.median(half) == pytest.approx(3500, rel=0.02)
    edges = [0, 1_000, 5_000, 15_000, 50_000, float("inf")]
    shares = np.histogram(half, edges)[0] / len(half)
    stated = summary["by_size"]["half"]["runs"]
    np.testing.assert_allclose(list(stated.values()), shares, atol=0.00006)  # four decimals
    for size, stated in summary["by_size"].items():
        counts = Counter(form.plates for form in forms if form.size == size)
        assert {int(count) for count in stated["colours"]} == set(counts)
        for count, share in stated["colours"].items():
            assert share == pytest.approx(counts[int(count)] / counts.total(), abs=0.00006)


def test_one_direct_line_cannot_make_the_work_and_the_tool_says_so(studies, summary):
    """By hand: 2,300 x 12 / 250 = 110.4 plates a day; a half-size plate of 0.605 x 0.745 m takes
    2 + 30 x 0.4507 = 15.5 min a station, and 55 % of 110.4 x 15.5 = 943 min; two shifts less warming up have 880.
    """
    study = studies["shop"]

    def best(*key):
        return study.scenario.stated(*key).best

    a_day = 12 * sum(summary["plates_per_month"].values()) / best("shop", "work_days")
    assert a_day == pytest.approx(110.4)
    curing = ("methods", "direct", "stations", "curing")
    half = best(*curing, "fixed") + best(*curing, "per_area") * 0.605 * 0.745
    assert half == pytest.approx(15.5, abs=0.05)
    shift = 60 * best("shop", "shifts") * best("shop", "shift_hours") - best(*curing, "warm_up_time")
    assert shift == 880
    assert 0.55 * a_day * half > shift

    values = study.evaluate()
    said = [text for text in told(study, values) if text.startswith("Direct")]
    assert len(said) == 1 and said[0].startswith("Direct can't do this work")
    assert values[study.methods["direct"].lines["capacity.fits"]].item() == 0
    assert values[study.methods["processed"].lines["capacity.fits"]].item() == 1


def test_the_violet_line_is_near_its_end(studies):
    left = {n: studies[n].scenario.stated("methods", "processed", "equipment", "setter", "years_left").best
            for n in FILES if n != "room"}  # fmt: skip
    assert left == {"shop": 1, "cautious": 0, "expected": 1, "busy": 1}


def test_variants_state_only_what_differs_and_are_ordered(found):
    """By hand: 88 and 118 % of 27,600 plates a year; every method costs the more to run, the more there is to plate."""
    names = ("cautious", "expected", "busy")
    for name in names:
        tree = tomllib.loads(FILES[name].read_text("utf-8"))
        assert tree["based_on"] == "shop.toml" and not {"summary", "log", "sizes", "presses"} & set(tree)
    called = [found[name]["methods"]["processed"]["plates_called_for_per_year"] for name in names]
    assert called == pytest.approx([24288, 27600, 32568])
    for method in ("processed", "direct", "bought_in"):
        for measure in ("running_cost_year_1", "present_cost"):
            costs = [found[name]["methods"][method][measure] for name in names]
            assert costs == sorted(costs) and costs[0] < costs[2]


# --- both --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", FILES)
def test_every_figure_is_a_number_and_the_cheapest_is_the_cheapest(found, name):
    result = found[name]
    json.dumps(result, allow_nan=False)
    able = {key: method for key, method in result["methods"].items() if method["feasible"]}
    assert len(able) >= 2
    by_present = sorted(able, key=lambda key: able[key]["present_cost"])
    assert result["cheapest"] == by_present[0]
    assert by_present == sorted(able, key=lambda key: able[key]["equivalent_annual_cost"])
    assert all(method["present_cost"] > 0 for method in able.values())
    assert all(check["ok"] for check in result["checks"])


@pytest.mark.parametrize("name", ["room", "shop"])
def test_ironcalc_gives_what_is_stored(studies, name, tmp_path):
    study = studies[name]
    path = tmp_path / "decision.xlsx"
    results = write_workbook(study, study.evaluate(), path, LEAN)
    assert sum(len(cells) for cells in results.values()) > 3000
    assert differences(results, ironcalc_values(path)) == []
