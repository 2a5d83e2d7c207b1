"""Faults of a tax schedule, in the scenario or in the schedule's own file: each with file, key and mend."""

from typing import Any

import pytest

from roi.scenario.files import Key, Raw
from roi.scenario.problems import BadInput, Problem
from roi.scenario.scenario import read
from roi.scenario.tax import TaxSchedule, read_schedule, schedule_from
from tests.small_shop import SHOP

WELL = {
    "schema": 1,
    "label": "Elsewhere, two halves",
    "country": "Elsewhere",
    "year": 2026,
    "kind": "percentages",
    "percentages": [50, 50],
    "source": "invented for this test (2026)",
    "caution": "Ask your accountant.",
}
BALANCE = {"kind": "reducing balance", "percentages": None, "rates": ["10 %", 0.2]}
FIRST = {"kind": "first year", "percentages": None, "share": "50 %", "rest": "us_macrs_3"}


def money(**stated: Any) -> dict[Key, Raw]:
    return {("money", key): Raw(value, "shop.toml", False) for key, value in stated.items()}


def from_file(stated: dict[Key, Raw] | None = None, **changes: Any) -> tuple[TaxSchedule, list[Problem]]:
    """The well-made schedule with keys changed, or left out where the change is None."""
    table = {key: value for key, value in (WELL | changes).items() if value is not None}
    problems: list[Problem] = []
    return schedule_from("elsewhere", table, stated or {}, "shop.toml", problems), problems


def test_a_new_country_is_a_file() -> None:
    schedule, problems = from_file()
    assert problems == []
    assert schedule == TaxSchedule(
        "elsewhere",
        "Elsewhere, two halves, as of 2026",
        (0.5, 0.5),
        "invented for this test (2026)",
        "Ask your accountant.",
    )
    assert from_file(year="any")[0].label == "Elsewhere, two halves"


def test_a_rate_is_a_share_or_a_percentage_and_the_last_one_goes_on() -> None:
    schedule, problems = from_file(**BALANCE)
    assert problems == []
    assert schedule.shares[:3] == pytest.approx([0.1, 0.9 * 0.2, 0.9 * 0.8 * 0.2])
    assert len(schedule.shares) == 40


def test_a_rate_of_one_ends_the_balance() -> None:
    assert from_file(**BALANCE | {"rates": [0.4, 1]})[0].shares == pytest.approx((0.4, 0.6))


def test_a_file_may_hold_its_own_years() -> None:
    line = {"kind": "straight line", "percentages": None, "years": 8}
    schedule, problems = from_file(money(tax_years=3), **line)
    assert (problems, schedule.shares) == ([], (0.125,) * 8)
    assert "years" not in schedule.label


def test_what_the_scenario_states_stands_in_the_label() -> None:
    problems: list[Problem] = []
    stated = money(tax_schedule="declining_balance_switch", tax_rate_of_balance="37.5 %", tax_years=6)
    label = read_schedule(stated, "shop.toml", problems).label
    assert (label, problems) == ("Declining balance, then straight line, 37.5 % a year, 6 years", [])


@pytest.mark.parametrize(
    ("changes", "key", "what", "mend"),
    [
        (
            {"percentages": [50, 49.9]},
            "percentages",
            "add up to 99.9, not 100",
            "compare them with the source",
        ),
        ({"percentages": [50, 50.0000002]}, "percentages", "add up to 100.0000002", "year by year"),
        ({"percentages": [110, -10]}, "percentages", "no list of numbers from 0 to 100", "[50.0, 50.0]"),
        ({"percentages": ["50", True]}, "percentages", "no list of numbers", "write ["),
        ({"percentages": None}, "percentages", "None is no list", "write ["),
        (BALANCE | {"rates": [18]}, "rates", "18 is no share above 0 and up to 1", '"18 %" or 0.18'),
        (BALANCE | {"rates": ["18 % a year"]}, "rates", "'18 % a year' is no share", '"18 %"'),
        (BALANCE | {"rates": ["a fifth"]}, "rates", "'a fifth' is no share", '"18 %"'),
        (BALANCE | {"rates": [0]}, "rates", "0 is no share", '"18 %"'),
        (BALANCE | {"rates": [float("nan")]}, "rates", "nan is no share", '"18 %"'),
        (BALANCE | {"rates": []}, "rates", "needs the share of the balance", '"20 %"'),
        (BALANCE | {"switch": "yes"}, "switch", "is 'yes'", "true or false"),
        (BALANCE | {"switch": True, "years": 0}, "years", "0 is not a number of years", "from 1 to 40"),
        (FIRST | {"share": 1.5}, "share", "1.5 is no share", '"18 %"'),
        (FIRST | {"share": None}, "share", "None is no share", '"18 %"'),
        (FIRST | {"rest": "us_macrs_33"}, "rest", "not a schedule known here", 'was "us_macrs_3" or '),
        (FIRST | {"rest": "us_first_year_40"}, "rest", "itself of kind 'first year'", "another kind"),
        (FIRST | {"rest": "none"}, "rest", "itself of kind 'none'", "another kind"),
        ({"kind": "percentage"}, "kind", "is 'percentage'", "none, percentages, straight line"),
        ({"kind": ["none"]}, "kind", "is ['none']", "none, percentages"),
        ({"rates": [0.2]}, "rates", "not a key of a schedule of kind 'percentages'", "known: schema, label"),
        ({"label": " "}, "label", "is missing", 'write label = "..."'),
        ({"source": None}, "source", "is missing", 'write source = "..."'),
        ({"caution": None}, "caution", "is missing", 'write caution = "..."'),
        ({"year": None}, "year", "is None", "the year whose law it is"),
    ],
)
def test_a_fault_of_the_file_is_told(changes: dict[str, Any], key: str, what: str, mend: str) -> None:
    (problem,) = from_file(**changes)[1]
    assert problem.where == f"roi/data/tax/elsewhere.toml, {key}"
    assert what in problem.what
    assert mend in problem.mend


@pytest.mark.parametrize(
    ("stated", "key", "what", "mend"),
    [
        (
            {"tax_schedule": "us_mcrs_7"},
            "tax_schedule",
            "'us_mcrs_7' is not a",
            'was "us_macrs_7" or "us_macrs_',
        ),
        (
            {"tax_schedule": "zzz"},
            "tax_schedule",
            "'zzz' is not a schedule",
            "one of ca_class_8, declining_balance,",
        ),
        (
            {"tax_schedule": "straight_line", "tax_years": 0},
            "tax_years",
            "0 is not a number of years",
            "1 to 40",
        ),
        ({"tax_schedule": "straight_line", "tax_years": 41}, "tax_years", "41 is not", "1 to 40"),
        ({"tax_schedule": "straight_line", "tax_years": True}, "tax_years", "True is not", "1 to 40"),
        ({"tax_schedule": "declining_balance"}, "tax_rate_of_balance", "needs the share", 'like "20 %"'),
        (
            {"tax_schedule": "declining_balance", "tax_rate_of_balance": "120 %"},
            "tax_rate_of_balance",
            "'120 %' is no share above 0 and up to 1",
            '"18 %" or 0.18',
        ),
    ],
)
def test_a_fault_of_the_scenario_is_told(stated: dict[str, Any], key: str, what: str, mend: str) -> None:
    problems: list[Problem] = []
    read_schedule(money(**stated), "shop.toml", problems)
    (problem,) = problems
    assert problem.where == f"shop.toml, money.{key}"
    assert what in problem.what
    assert mend in problem.mend


def test_an_unknown_schedule_stops_the_reading_of_a_scenario(tmp_path) -> None:
    path = tmp_path / "shop.toml"
    path.write_text(f'{SHOP}\n[money]\ntax_schedule = "uk_main_pol"\n', "utf-8")
    with pytest.raises(BadInput) as found:
        read(path)
    (problem,) = found.value.problems
    assert problem.where == "shop.toml, money.tax_schedule"
    assert problem.mend == 'was "uk_main_pool" or "uk_main_pool_2025" meant?'
