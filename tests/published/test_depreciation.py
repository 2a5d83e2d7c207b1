"""Shipped tax percentages against the published table, and the table against the rule it is made by."""

import csv
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

import pytest

from roi.scenario.files import Key, Raw
from roi.scenario.problems import Problem
from roi.scenario.tax import read_schedule

TABLE = Path(__file__).with_name("irs_p946_table_a1.csv")
LAST_DIGIT = Decimal("0.01")


def published(life: int) -> list[Decimal]:
    """Percentages of one column of IRS Publication 946 (2024), Appendix A, Table A-1."""
    lines = (line for line in TABLE.read_text("utf-8").splitlines() if not line.startswith("#"))
    return [Decimal(row[f"{life}-year"]) for row in csv.DictReader(lines) if row[f"{life}-year"]]


def by_the_rule(life: int, rate: Decimal) -> list[Decimal]:
    """Declining balance, half a year first and last, straight line once that is more.

    26 U.S.C. 168(b) and (d). Every year is rounded to the table's last digit and the rounded figure reduces
    what is left, which is how the table's 14.29 and 8.92 come about.
    """
    left, years_left = Decimal(100), Decimal(life)
    out: list[Decimal] = []
    while years_left > 0:
        part = Decimal("0.5") if not out or years_left < 1 else Decimal(1)
        year = max(left * rate / life, left / years_left) * part if years_left >= 1 else left
        out.append(year.quantize(LAST_DIGIT, ROUND_HALF_UP))
        left, years_left = left - out[-1], years_left - part
    return out


@pytest.mark.parametrize("life", [3, 5, 7])
def test_shipped_percentages_are_those_of_the_table(life: int) -> None:
    """IRS Publication 946 (2024), Table A-1. Tolerance: none, both are given to 0.01 %."""
    problems: list[Problem] = []
    values: dict[Key, Raw] = {("money", "tax_schedule"): Raw(f"us_macrs_{life}", "test", False)}

    shares = read_schedule(values, "test", problems).shares

    assert problems == []
    assert [Decimal(f"{100 * share:.8f}") for share in shares] == published(life)


@pytest.mark.parametrize(("life", "rate"), [(3, 2), (5, 2), (7, 2), (15, Decimal("1.5"))])
def test_the_table_follows_from_the_rule(life: int, rate: Decimal) -> None:
    """IRS Publication 946 (2024), Table A-1 by 26 U.S.C. 168: a slip in copying the table would show here."""
    assert by_the_rule(life, Decimal(rate)) == published(life)
    assert sum(published(life)) == 100
