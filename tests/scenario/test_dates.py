"""Dates are read in the order stated or proven, never guessed. The calendar is Python's datetime module."""

import datetime as dt

import numpy as np
import pytest

from roi.scenario.dates import ORDERS, find_order, read_days, readings

EVERY_DAY = [dt.date(2024, 1, 1) + dt.timedelta(n) for n in range(366)]


@pytest.mark.parametrize(
    ("order", "pattern"),
    [
        ("day-first", "%d/%m/%Y"),
        ("day-first", "%d.%m.%y"),
        ("month-first", "%m/%d/%Y"),
        ("month-first", "%m-%d-%y"),
        ("year-first", "%Y-%m-%d"),
        ("year-first", "%Y%m%d"),
        ("year-first", "%y/%m/%d"),
        ("day-first", "%d %b %Y"),
        ("month-first", "%B %d, %Y"),
        ("month-first", "%d-%b-%y"),
        ("month-first", "%m/%d/%Y %H:%M"),
        ("year-first", "%Y-%m-%dT%H:%M:%S"),
        ("month-first", "%m/%d/%Y %I:%M %p"),
    ],
)
def test_a_leap_year_comes_back_as_strftime_wrote_it(order, pattern):
    texts = [day.strftime(pattern) for day in EVERY_DAY]

    np.testing.assert_array_equal(read_days(texts, order), np.array(EVERY_DAY, "datetime64[D]"))


@pytest.mark.parametrize(
    ("texts", "order"),
    [
        (["01/13/2025", "02/03/2025"], "month-first"),
        (["13/01/2025", "02/03/2025"], "day-first"),
        (["25/02/30", "24/01/02"], "day-first"),
        (["32/12/31", "31/12/30"], "year-first"),
    ],
)
def test_one_date_that_fits_one_order_settles_all(texts, order):
    """25/02/30 can only be 25 February 2030, for 2025 has no 30 February; 32 is neither a day nor a month."""
    assert find_order(texts) == (order, "")


def test_an_order_that_nothing_proves_is_asked_for():
    found, doubt = find_order(["01/02/2025", "03/04/2025"])
    assert found is None
    assert "01/02/2025" in doubt and "day-first or month-first" in doubt


def test_dates_that_contradict_each_other_are_asked_about():
    found, doubt = find_order(["13/05/2025", "05/13/2025"])
    assert found is None
    assert "13/05/2025" in doubt and "05/13/2025" in doubt


def test_a_typing_error_has_no_say():
    assert find_order(["13/45/2025", "01/31/2025"])[0] == "month-first"


def test_dates_that_mean_the_same_either_way_need_no_order():
    found, _ = find_order(["03/03/2025", "04/04/2025"])
    assert found is not None
    assert read_days(["03/03/2025"], found)[0] == np.datetime64("2025-03-03")


@pytest.mark.parametrize(
    "cell", [dt.date(2025, 3, 4), "2025-03-04", "20250304", 20250304.0, "4 March 2025", "Mar 4, 2025"]
)
def test_some_dates_read_the_same_in_every_order(cell):
    assert readings(cell) == dict.fromkeys(ORDERS, dt.date(2025, 3, 4))


@pytest.mark.parametrize(
    "cell", ["", "soon", "02/30/2025", "13/45/2025", "1/2", 45000.0, "1/2/0025", "01-02/2025", "5 Foo 2025"]
)
def test_what_is_no_date_is_none_in_any_order(cell):
    assert readings(cell) == {}
