"""How a scenario is read where it is short or wrong: what is taken instead, and how each fault is told once.

What is expected is worked out by hand from the text of each scenario.
"""

import re

import numpy as np
import pytest

from roi.scenario.catalogue import KEYS_SHOWN, known_at
from roi.scenario.problems import BadInput
from roi.scenario.scenario import read

SHOP = """
schema = 1
name = "Invented shop"
currency = "USD"
current = "polyester"

[sizes]
small = "13 in x 19 3/8 in"

[presses.main]
printing_units = 1

[methods.polyester.equipment.line]
years_left = "4 year"

[methods.direct.plates.price]
small = "3.10 USD/plate"

[bought_in.price]
small = "9 USD/plate"

[summary]
plates_per_month = { small = 300 }
runs = { under_1000 = 0.4, to_5000 = 0.6 }
"""
PRESS = "[presses.main]\nprinting_units = 1\n"
PAPER = "\n[shop]\npaper = "


def written(folder, more="", *changes):
    text = SHOP + more
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path = folder / "shop.toml"
    path.write_text(text, encoding="utf-8")
    return path


def faults(path):
    with pytest.raises(BadInput) as found:
        read(path)
    return found.value.problems


def test_a_shop_that_names_no_press_has_one_default_press(tmp_path):
    scenario = read(written(tmp_path, "\n[press_defaults]\nspeed = '5000 impression/h'", (PRESS, "")))
    (press,) = scenario.presses
    assert (press.id, press.label, press.units) == ("press", "Press", 2)  # 2 in the shipped press_defaults
    assert scenario.stated("presses", "press", "speed").best == 5000
    assert scenario.stated("presses", "press", "make_ready").default
    assert set(scenario.work.press) == {0}


def test_a_press_named_without_a_figure_keeps_its_name(tmp_path):
    (press,) = read(written(tmp_path, "", ("printing_units = 1\n", ""))).presses
    assert (press.id, press.label) == ("main", "Main")


@pytest.mark.parametrize(
    "date", ['"yesterday"', '"31.03.2026"', '"2026-02-30"', '"20260331"', "2026", "07:32:00"]
)
def test_a_date_that_is_none_is_told(tmp_path, date):
    (problem,) = faults(written(tmp_path, PAPER + f'{{ best = "0.03 USD/sheet", date = {date} }}'))
    assert problem.where == "shop.toml, shop.paper.date"
    assert problem.what.endswith("is not a date")
    assert problem.mend == "write date = 2026-03-31 (year-month-day)"


@pytest.mark.parametrize("date", ["2026-03-31", '"2026-03-31"', "2026-03-31T10:00:00"])
def test_a_date_is_kept(tmp_path, date):
    scenario = read(written(tmp_path, PAPER + f'{{ best = "0.03 USD/sheet", date = {date} }}'))
    assert scenario.stated("shop", "paper").date == "2026-03-31"


def test_a_broken_size_is_one_problem(tmp_path):
    (problem,) = faults(written(tmp_path, "", ("19 3/8 in", "19 3/0 in")))
    assert problem.where == "shop.toml, sizes.small"
    assert "divides by zero" in problem.what
    assert problem.mend == 'write the fraction like "19 3/8 in"'


@pytest.mark.parametrize(
    ("change", "key"),
    [
        (('currency = "USD"', "currency = 5"), "currency"),
        (('currency = "USD"', 'currency = 5\nunits = "us"\nper_dollar = 1'), "currency"),
        (('current = "polyester"', "current = 3"), "current"),
        (('current = "polyester"', 'current = "polyester"\nunits = 3'), "units"),
        (('"polyester"', '"polyester"\nmoney.tax_schedule = 3'), "money.tax_schedule"),
    ],
)
def test_a_heading_that_is_no_text_is_told_once(tmp_path, change, key):
    (problem,) = faults(written(tmp_path, "", change))
    assert problem.where == f"shop.toml, {key}"
    assert problem.what.endswith("is not a text")


def test_a_currency_that_cannot_be_read_does_not_condemn_the_prices(tmp_path):
    (problem,) = faults(written(tmp_path, "", ('currency = "USD"', "currency = 5"), (" USD/", " GBP/")))
    assert problem.where == "shop.toml, currency"


@pytest.mark.parametrize(
    ("value", "what", "mend"),
    [
        ("0,04 USD/sheet", "has a decimal comma", 'write a decimal point: "0.04 USD/sheet"'),
        ("4,10 GBP/plate", "has a decimal comma", 'write a decimal point: "4.10 GBP/plate"'),
        ("0,125 USD/sheet", "has a decimal comma", 'write a decimal point: "0.125 USD/sheet"'),
        ("1.234,50 USD/sheet", "has a decimal comma", "write a decimal point, and a comma only between"),
        ("$2.10", "has the sign $", 'write the code: "2.10 USD/sheet"'),
        ("$2.10/sheet", "has the sign $", 'write the code: "2.10 USD/sheet"'),
        ("2.10 €/plate", "has the sign €", 'write the code: "2.10 USD/plate", the figure in USD'),
        ("2,10 £", "has the sign £", 'write the code: "2.10 USD/sheet", the figure in USD'),
    ],
)
def test_a_decimal_comma_and_a_money_sign_are_told(tmp_path, value, what, mend):
    (problem,) = faults(written(tmp_path, PAPER + f'"{value}"'))
    assert problem.where == "shop.toml, shop.paper"
    assert what in problem.what
    assert problem.mend.startswith(mend)


def test_a_share_with_a_decimal_comma_is_told(tmp_path):
    (problem,) = faults(written(tmp_path, "\n[money]\ntax_rate = '7,5 %'"))
    assert problem.mend == 'write a decimal point: "7.5 %"'


def test_a_money_sign_in_a_unit_of_its_own_is_told(tmp_path):
    (problem,) = faults(written(tmp_path, "", ('"3.10 USD/plate"', '{ best = 3.1, unit = "$/plate" }')))
    assert problem.mend == 'write the code: "3.1 USD/plate"'


def test_a_comma_between_thousands_stays_one(tmp_path):
    scenario = read(written(tmp_path, "\n[methods.direct.life]\ncoated = '12,500 impressions'"))
    assert scenario.stated("methods", "direct", "life", "coated").best == 12500


@pytest.mark.parametrize(
    ("more", "place", "some"),
    [
        ("\n[shop]\nzzz = 1", "known in [shop]: ", "pull_job"),
        ("\n[zzz]\nqqq = 1", "known at the top of the file: ", "currency"),
        ("\n[methods.direct.zzz]\nqqq = 1", "known in [methods.direct]: ", "use"),
        (
            "\n[methods.direct.baths]\nzzz = 1",
            "zzz is a table; known in [methods.direct.baths.zzz]: ",
            "volume",
        ),
    ],
)
def test_an_unknown_key_without_a_near_one_names_the_known_ones(tmp_path, more, place, some):
    (problem,) = faults(written(tmp_path, more))
    assert problem.what == "is not a key known here"
    assert problem.mend.startswith(place)
    names = problem.mend.removeprefix(place).split(", ")
    assert some in names
    assert len(names) <= KEYS_SHOWN + 1 and (len(names) <= KEYS_SHOWN or names[-1] == "...")


def test_the_names_known_somewhere_hold_no_pattern():
    assert "*" not in known_at(("methods", "direct", "zzz")) + known_at(("zzz",))


@pytest.mark.parametrize(
    "deep",
    [
        "deep = " + "[" * 5000 + "]" * 5000,
        "[deep" + ".a" * 5000 + "]\nb = 1",
        "[shop" + ".a" * 30 + "]\nb = 1",
    ],
    ids=["brackets", "heading", "thirty"],
)
def test_deep_nesting_is_told_in_our_words(tmp_path, deep):
    (problem,) = faults(written(tmp_path, "\n" + deep))
    assert problem.where == "shop.toml"
    assert problem.what == "tables or lists are nested too deeply to be a scenario"
    assert problem.mend.startswith("keep to 12 levels")


def test_a_folder_is_no_scenario(tmp_path):
    (problem,) = faults(tmp_path)
    assert problem.where == str(tmp_path)
    assert problem.what == "is a folder, not a scenario"
    assert problem.mend == "name the .toml file in it"


def test_a_chosen_whole_number_is_no_range(tmp_path):
    horizon = read(written(tmp_path, "\n[money]\nhorizon = '6 year'")).stated("money", "horizon")
    assert (horizon.low, horizon.best, horizon.high) == (6, 6, 6)
    assert (horizon.status, horizon.source) == ("estimate", "not stated")


def test_a_stated_end_of_a_whole_number_is_kept(tmp_path):
    more = "\n[money]\nhorizon = { best = '6 year', high = '9 year' }"
    horizon = read(written(tmp_path, more)).stated("money", "horizon")
    assert (horizon.low, horizon.best, horizon.high) == (6, 6, 9)


def test_notes_of_a_summary_are_words(tmp_path):
    scenario = read(written(tmp_path, "\n[presses.old_two]\n", ("units = 1", "units = 1\nlabel = 'Big one'")))
    told = "\n".join(scenario.work.notes)
    assert not re.search(r"[a-z0-9]_[a-z0-9]", told)
    assert "500 for runs under 1,000, 2,200 for runs 1,000 to 5,000" in told
    assert "The share of each month is not stated: every month is taken alike" in told
    assert "all work is taken to run on Big one" in told
    np.testing.assert_allclose(scenario.work.month_share, 1 / 12)


@pytest.mark.parametrize("rate", ['"0.79 GBP"', "true", "-1", "{ best = 0.79 }"])
def test_what_a_dollar_is_wants_a_bare_number(tmp_path, rate):
    change = ('currency = "USD"', f'currency = "GBP"\nper_dollar = {rate}')
    (problem,) = faults(written(tmp_path, "", change, (" USD/", " GBP/")))
    assert problem.where == "shop.toml, per_dollar"
    assert problem.mend == "write a bare number, what one US dollar is in GBP, like per_dollar = 0.79"


def test_numbers_have_no_more_digits_than_a_cell_shows(tmp_path):
    """Spreadsheet programs show fifteen: 3.7 % is 0.037, and so is what another measure is turned into."""
    found = read(
        written(tmp_path, '\n[shop]\nrunning_waste = { best = "3.7 %", low = "1.1 %", high = "5.7 %" }\n')
    )
    stated = found.inputs[("shop", "running_waste")]
    assert [repr(x) for x in (stated.best, stated.low, stated.high)] == ["0.037", "0.011", "0.057"]
    ends = [x for one in found.inputs.values() for x in (one.best, one.low, one.high)]
    assert len(ends) > 300 and not [x for x in ends if float(f"{x:.15g}") != x]
