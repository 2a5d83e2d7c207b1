"""The demo's job log: what its description promises, measured in the committed file."""

import csv
import datetime as dt
import importlib.util
import sys
from pathlib import Path

import numpy as np
import pytest

from roi.scenario.joblog import read_log

FOLDER = Path(__file__).parents[2] / "scenarios" / "us_two_press"
SIZES = ("large", "letter", "envelope", "large_long", "tabloid")
SPEC = {
    "file": "job_log.csv",
    "date_order": "month-first",
    "date_is": "press",
    "bad_rows": "skip",
    "from": dt.date(2025, 1, 1),
    "to": dt.date(2025, 12, 31),
    "columns": {
        "job": "Job",
        "form": "Form",
        "date": "Printed",
        "press": "Press",
        "size": "Plate",
        "plates": "Plates",
        "impressions": "Impressions",
        "stock": "Stock",
        "ruling": "Ruling",
        "tight": "Register",
        "envelope": "Envelope",
        "reprint": "Reprint",
        "rush": "Rush",
    },
    "words": {
        "press": {"two_colour": ["2-color"], "one_colour": ["1-color"]},
        "size": {"envelope": ["Env"]},
        "stock": {"uncoated": ["bond", "offset", "index", "wove"], "coated": ["gloss", "silk"]},
        "yes": {"tight": ["tight"]},
    },
}


@pytest.fixture(scope="module")
def log():
    return read_log(SPEC, FOLDER, {"two_colour": 2, "one_colour": 1}, SIZES)


@pytest.fixture(scope="module")
def generator():
    spec = importlib.util.spec_from_file_location("us_two_press_make_log", FOLDER / "make_log.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    yield module
    del sys.modules[spec.name]


def test_the_generator_makes_the_committed_file(generator):
    assert generator.csv_text().encode() == (FOLDER / "job_log.csv").read_bytes()


def test_jobs_forms_and_plates(log):
    """3,100 jobs of 1.26 forms, some lost to typing errors; 600 plates a month within 3 %."""
    assert len(set(log.job)) == pytest.approx(3100, abs=40)
    assert log.plates.size / len(set(log.job)) == pytest.approx(1.26, abs=0.01)
    assert log.plates.sum() / 12 == pytest.approx(600, rel=0.03)


def test_about_one_row_in_a_hundred_is_mistyped(log):
    assert 0.005 <= log.rows_skipped / log.rows_read <= 0.015
    assert len(log.skipped) >= 7


@pytest.mark.parametrize(("colours", "percent"), [(1, 45), (2, 33), (4, 20)])
def test_colours(log, colours, percent):
    assert 100 * np.mean(log.plates == colours) == pytest.approx(percent, abs=2)


@pytest.mark.parametrize(
    ("percent", "impressions"), [(25, 500), (50, 1100), (75, 2500), (90, 5700), (99, 20000)]
)
def test_impressions(log, percent, impressions):
    assert np.percentile(log.good, percent) == pytest.approx(impressions, rel=0.02)


def test_the_longest_and_the_cancelled(log):
    assert (log.good > 50_000).sum() == 4
    assert (log.good == 0).sum() == 6


def test_stock_and_ruling(log):
    assert 100 * np.mean(log.uncoated) == pytest.approx(65, abs=1)
    assert 100 * np.mean(log.ruling >= 175) == pytest.approx(5, abs=0.5)
    assert (log.ruling == 200).any()
    assert 100 * log.ruling_unknown / log.good.size == pytest.approx(8, abs=0.5)
    assert not any("stock" in note for note in log.notes)


def test_flags(log):
    assert 100 * np.mean(log.reprint) == pytest.approx(12, abs=1)
    assert 100 * np.mean(log.rush) == pytest.approx(3, abs=0.5)
    assert np.mean(log.tight[log.plates == 4]) == pytest.approx(1 / 3, abs=0.04)
    assert not log.tight[log.plates != 4].any()
    assert not (log.uv.any() or log.abrasive.any() or log.confined.any())


def test_presses_and_plates(log):
    """Four-colour work runs on the two-unit press, number 0; envelopes need the other's feeder."""
    assert set(log.press[log.plates >= 3]) == {0}
    assert set(log.press[log.envelope]) == {1}
    assert set(log.size[log.envelope]) == {SIZES.index("envelope")}
    rare = np.bincount(log.size, minlength=5) / log.size.size
    assert rare[:3].min() > 0.05 and rare[3:].min() > 0 and rare[3:].max() < 0.02


def test_month_shares_of_forms(log):
    months = np.array([day.month for day in log.day.tolist()])
    stated = [7, 7.5, 8.5, 9, 8.5, 7.5, 6.5, 8, 9.5, 10.5, 9.5, 8]
    np.testing.assert_allclose(100 * np.bincount(months)[1:] / months.size, stated, atol=0.2)


def test_the_presses_stand_still_at_the_weekend(log):
    assert {day.weekday() for day in log.day.tolist()} == {0, 1, 2, 3, 4}
    assert not any("invoice" in note for note in log.notes)


@pytest.mark.parametrize(
    ("press", "units", "speed", "make_ready"), [("two_colour", 2, 6000, 14), ("one_colour", 1, 5000, 8)]
)
def test_press_hours_fit(log, generator, press, units, speed, make_ready):
    """Hours = passes x (gross / speed + make-ready), gross = good x 1.04 + 25 sheets a pass; 1,700 h a press
    are staffed.

    The generator says the same of the clean forms, within the 1 % that typing errors take away.
    """
    here = log.press == log.presses.index(press)
    passes = np.ceil(log.plates[here] / units)
    use = (passes * ((log.good[here] * 1.04 + 25) / speed + make_ready / 60)).sum() / 1700
    assert 0.50 <= use <= 0.95
    assert generator.press_use(generator.make_forms())[press] == pytest.approx(use, rel=0.02)


def test_the_log_in_the_shops_words_holds_no_formula():
    with (FOLDER / "job_log.csv").open(newline="") as file:
        rows = list(csv.reader(file))
    assert len({len(row) for row in rows}) == 1
    assert not any(cell.startswith(("=", "+", "@")) for row in rows for cell in row)
