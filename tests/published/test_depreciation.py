"""Shipped tax schedules against published tables and worked examples, and the tables against the rule they are made by."""

import csv
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

import numpy as np
import pytest

from roi.scenario.files import Key, Raw
from roi.scenario.problems import Problem
from roi.scenario.tax import read_schedule

HERE = Path(__file__).parent
LAST_DIGIT = Decimal("0.01")
QUARTERS = {"A-2": 1, "A-3": 2, "A-4": 3, "A-5": 4}
TABLES = [(table, life) for table in QUARTERS for life in (3, 5, 7, 10)]


def rows(name: str) -> list[list[str]]:
    """A published table without its remarks."""
    text = (HERE / name).read_text("utf-8")
    return list(csv.reader(line for line in text.splitlines() if not line.startswith("#")))


def half_year(life: int) -> list[Decimal]:
    """Percentages of one column of IRS Publication 946 (2024), Appendix A, Table A-1."""
    head, *body = rows("irs_p946_table_a1.csv")
    column = head.index(f"{life}-year")
    return [Decimal(row[column]) for row in body if row[column]]


def mid_quarter(table: str, life: int) -> list[Decimal]:
    """Percentages of one column of IRS Publication 946 (2024), Appendix A, Tables A-2 to A-5."""
    (row,) = (row for row in rows("irs_p946_tables_a2_a5.csv") if row[:2] == [table, str(life)])
    return [Decimal(p) for p in row[2:]]


def shares(name: str, **money: object) -> np.ndarray:
    """The shares of cost of a shipped schedule, by year after purchase, with what [money] states beside it."""
    problems: list[Problem] = []
    stated = {"tax_schedule": name} | money
    values: dict[Key, Raw] = {("money", key): Raw(value, "test", False) for key, value in stated.items()}
    found = read_schedule(values, "test", problems)
    assert problems == []
    return np.array(found.shares)


def percentages(name: str) -> list[Decimal]:
    return [Decimal(f"{100 * share:.8f}") for share in shares(name)]


def by_the_rule(life: int, rate: Decimal, first: Decimal = Decimal("0.5")) -> list[Decimal]:
    """Declining balance, a part of a year first and the rest of it last, straight line once that is more.

    26 U.S.C. 168(b) and (d). Every year is rounded to the table's last digit and the rounded figure reduces
    what is left, which is how the tables' 14.29 and 8.92 come about.
    """
    left, years_left = Decimal(100), Decimal(life)
    out: list[Decimal] = []
    while years_left > 0:
        part = first if not out else min(years_left, Decimal(1))
        year = max(left * rate / life, left / years_left) * part if years_left >= 1 else left
        out.append(year.quantize(LAST_DIGIT, ROUND_HALF_UP))
        left, years_left = left - out[-1], years_left - part
    return out


@pytest.mark.parametrize("life", [3, 5, 7])
def test_half_year_percentages_are_those_of_the_table(life: int) -> None:
    """IRS Publication 946 (2024), Table A-1. Tolerance: none, both are given to 0.01 %."""
    assert percentages(f"us_macrs_{life}") == half_year(life)


@pytest.mark.parametrize("life", [5, 7])
@pytest.mark.parametrize("table", QUARTERS)
def test_mid_quarter_percentages_are_those_of_the_table(table: str, life: int) -> None:
    """IRS Publication 946 (2024), Tables A-2 to A-5. Tolerance: none, both are given to 0.01 %."""
    assert percentages(f"us_macrs_{life}_q{QUARTERS[table]}") == mid_quarter(table, life)


@pytest.mark.parametrize(("life", "rate"), [(3, 2), (5, 2), (7, 2), (15, Decimal("1.5"))])
def test_the_half_year_table_follows_from_the_rule(life: int, rate: Decimal) -> None:
    """IRS Publication 946 (2024), Table A-1 by 26 U.S.C. 168: a slip in copying the table would show here."""
    assert by_the_rule(life, Decimal(rate)) == half_year(life)
    assert sum(half_year(life)) == 100


@pytest.mark.parametrize(("table", "life"), TABLES)
def test_the_mid_quarter_tables_follow_from_the_rule(table: str, life: int) -> None:
    """IRS Publication 946 (2024), Tables A-2 to A-5 by 26 U.S.C. 168(d)(4)(C): from the middle of the quarter on.

    Of A-3, 7-year, the table prints 17.85 and 3.34 where 2/7 x 0.625 rounds to 17.86 and leaves 3.33.
    """
    first = Decimal(9 - 2 * QUARTERS[table]) / 8
    found = by_the_rule(life, Decimal(2), first)
    if (table, life) == ("A-3", 7):
        assert (found[0], found[-1]) == (Decimal("17.86"), Decimal("3.33"))
        found[0], found[-1] = Decimal("17.85"), Decimal("3.34")

    assert found == mid_quarter(table, life)
    assert sum(found) == 100


@pytest.mark.parametrize(("share", "name"), [(0.4, "us_first_year_40"), (0.2, "us_first_year_20")])
def test_a_share_at_once_and_the_rest_by_the_table(share: float, name: str) -> None:
    """26 U.S.C. 168(k)(1): the share in the first year, and the table on what it leaves, from that year on.

    By hand, of 10,000 at 40 %: 4,000 + 6,000 x 14.29 % = 4,857.40, then 6,000 x 24.49 % = 1,469.40.
    """
    by_table = [float(p) / 100 for p in half_year(7)]
    expected = [share + (1 - share) * by_table[0], *((1 - share) * p for p in by_table[1:])]

    assert shares(name) == pytest.approx(expected, abs=1e-12)
    assert 10_000 * shares("us_first_year_40")[:2] == pytest.approx([4857.40, 1469.40])


@pytest.mark.parametrize("name", ["us_first_year_100", "uk_annual_investment_allowance"])
def test_all_at_once(name: str) -> None:
    """26 U.S.C. 168(k)(6) for property acquired after 19 January 2025; Capital Allowances Act 2001, section 51A."""
    assert list(shares(name)) == [1.0]


def test_a_uk_pool_before_the_change_of_rate() -> None:
    """GOV.UK, "Work out your writing down allowances", first example: a pool of 9,000 + 1,200 - 200 at 18 %.

    The allowance is 1,800 and 8,200 is carried on; by hand, 14 % of that is 1,148 and leaves 7,052.
    """
    taken = (9000 + 1200 - 200) * shares("uk_main_pool_2025")

    assert taken[:3] == pytest.approx([1800, 1148, 0.14 * 7052])
    assert 10_000 - taken[0] == pytest.approx(8200)


def test_a_uk_pool_after_the_change_of_rate() -> None:
    """By hand: 14 % of 10,000 is 1,400, of 8,600 1,204, of 7,396 1,035.44; GOV.UK policy paper of 26 November 2025."""
    assert 10_000 * shares("uk_main_pool")[:3] == pytest.approx([1400, 1204, 1035.44])


def test_the_uk_first_year_allowance() -> None:
    """A published example (Policy Wire, "UK 40% first-year allowance starts 1 Jan 2026; WDA cut to 14%", January 2026).

    Of 1,000,000, 400,000 at once and 600,000 to the main pool, whose first allowance at 14 % is 84,000.
    """
    taken = 1_000_000 * shares("uk_first_year_40")

    assert taken[:2] == pytest.approx([400_000, 84_000])
    assert 1_000_000 - taken[0] == pytest.approx(600_000)


def test_the_canadian_half_year_rule() -> None:
    """A published example of class 8 (allabouttax.ca, "How to calculate Capital Cost Allowance (CCA)", part two).

    49,000 left of earlier years and 20,000 bought in 2011 allow 11,800. What was bought earlier goes on at 20 %.
    By hand, 10,000 bought gives 1,000, 1,800, 1,440, 1,152.
    """
    bought = shares("ca_class_8")
    goes_on = bought[2] / (1 - bought[:2].sum())

    assert 49_000 * goes_on + 20_000 * bought[0] == pytest.approx(11_800)
    assert 10_000 * bought[:4] == pytest.approx([1000, 1800, 1440, 1152])


@pytest.mark.parametrize(("rate", "published", "exact"), [(0.5, 80_113, 80_113.64), (0.3, 82_102, 82_102.27)])
def test_what_a_purchase_costs_after_canadian_allowances(rate: float, published: float, exact: float) -> None:
    """ "Moving away from Class 29 CCA in 2016" (raellerby.blogspot.ca, May 2015): 100,000 at 25 % tax and 10 %, half-year rule.

    Present worth of the allowances is d / (i + d) x (1 + i/2) / (1 + i) a unit of cost; what 40 years leave is below
    a cent. Tolerance: the published figure cuts the cents.
    """
    by_year = shares("declining_balance", tax_rate_of_balance=[rate / 2, rate])
    worth = np.sum(by_year / 1.1 ** np.arange(1, 41))

    assert 100_000 * (1 - 0.25 * worth) == pytest.approx(exact, abs=0.01)
    assert 100_000 * (1 - 0.25 * worth) == pytest.approx(published, abs=1)


def test_declining_balance_is_a_geometric_series() -> None:
    """OpenFormula 1.2, DDB, test case: of 4,000 over 4 years at factor 2, which is 50 %, year 2 takes 1,000.

    Year n takes d (1 - d)^(n - 1) of the cost.
    """
    half = shares("declining_balance", tax_rate_of_balance="50 %")

    assert 4000 * half[1] == pytest.approx(1000, abs=1e-9)
    assert half == pytest.approx(0.5 * 0.5 ** np.arange(40), rel=1e-12)
    assert 1 - half[:7].sum() == pytest.approx(0.5**7)  # what a horizon of 7 years leaves to deduct


def test_declining_balance_turns_to_a_straight_line() -> None:
    """By hand, 40 % over 5 years: 40, 24, 14.4 of 100 leave 21.6; half of it, 10.8, is more than 40 % of it, 8.64."""
    found = shares("declining_balance_switch", tax_rate_of_balance=0.4, tax_years=5)

    assert 100 * found == pytest.approx([40, 24, 14.4, 10.8, 10.8])


def test_a_straight_line() -> None:
    """By hand: a quarter a year."""
    assert list(shares("straight_line", tax_years=4)) == [0.25] * 4
