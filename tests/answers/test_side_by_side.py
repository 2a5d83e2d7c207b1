"""Scenarios side by side: what differs told by hand, the lines against each scenario's own answers and hand arithmetic."""

from __future__ import annotations

from pathlib import Path

import pytest

from roi.answers.compare import as_json
from roi.answers.differences import ABSENT, differences
from roi.answers.side_by_side import ACROSS, found, lined_up, refused
from roi.model.study import Study, build
from roi.scenario.scenario import read
from tests.small_shop import SHOP

VARIANT = """
schema = 1
based_on = "shop.toml"
name = "Variant"
current = "direct"

[methods.direct.plates.price]
small = { best = "0.20 USD/plate", low = "0.15 USD/plate", high = "0.30 USD/plate", status = "quote", source = "invented" }

[shop]
work_days = { best = "250 day/year", low = "249 day/year", high = "251 day/year", status = "measured", source = "invented" }
"""
METAL = """
[methods.processed]
"""
EURO = SHOP.replace("USD", "EUR").replace("Invented shop", "Euro shop") + "\n"


def studies(folder: Path, **files: str) -> list[Study]:
    for name, text in files.items():
        (folder / f"{name}.toml").write_text(text, "utf-8")
    return [build(read(folder / f"{name}.toml")) for name in files]


@pytest.fixture(scope="module")
def pair(tmp_path_factory: pytest.TempPathFactory) -> list[Study]:
    return studies(tmp_path_factory.mktemp("pair"), shop=SHOP, variant=VARIANT)


def test_inputs_that_differ_are_listed_with_what_differs_in_them(pair: list[Study]) -> None:
    told = differences(pair)
    rows = {one.key: one for one in told.inputs}
    price = rows["methods.direct.plates.price.small"]
    assert price.section == ("methods", "direct")
    # Only the variant states this price: the shop's is worked from a price an area.
    assert price.stated[0] is None and price.parts == () and not price.in_all
    assert price.stated[1] is not None and (price.stated[1].best, price.stated[1].status) == (0.20, "quote")
    days = rows["shop.work_days"]
    assert days.in_all and days.section == ("shop",)
    assert days.stated[0] is not None and days.stated[0].best == 250  # the shipped default
    assert days.parts == ("low", "high", "status")
    sections = [one.section for one in told.inputs]
    assert sections == sorted(sections, key=sections.index), "a section stands in two places"


def test_every_input_is_listed_or_counted_as_equal(pair: list[Study]) -> None:
    told = differences(pair)
    used = {key for study in pair for key in study.book.inputs}
    assert told.equal + len(told.inputs) == len(used)
    assert told.equal > 100
    same = differences([pair[0], pair[0]])
    assert (same.inputs, same.texts, same.equal) == ((), (), len(pair[0].book.inputs))


def test_the_same_amount_in_another_unit_is_no_difference(tmp_path: Path) -> None:
    """24 a hour is 0.40 a minute, since an hour has 60 minutes."""
    stated = '\n[grades.prepress]\nwage = { best = "%s", low = "%s", high = "%s" }\n'
    hour, minute, other = studies(
        tmp_path,
        a=SHOP + stated % ("24 USD/h", "21 USD/h", "27 USD/h"),
        b=SHOP + stated % ("0.40 USD/min", "0.35 USD/min", "0.45 USD/min"),
        c=SHOP + stated % ("24.5 USD/h", "21 USD/h", "27 USD/h"),
    )
    assert differences([hour, minute]).inputs == ()
    (wage,) = differences([hour, minute, other]).inputs
    assert (wage.key, wage.unit, wage.parts) == ("grades.prepress.wage", "USD/h or USD/min", ("value",))


def test_texts_and_structure_that_differ_are_listed(pair: list[Study], tmp_path: Path) -> None:
    texts = {one.label: one.texts for one in differences(pair).texts}
    assert texts["Method in use"] == (
        pair[0].scenario.method("polyester").label,
        pair[0].scenario.method("direct").label,
    )
    plain, more = studies(tmp_path, shop=SHOP, more=SHOP.replace("small = 300", "small = 310") + METAL)
    texts = {one.label: one.texts for one in differences([plain, more]).texts}
    assert texts["Method processed"] == (ABSENT, more.scenario.method("processed").label)
    assert not any(label.startswith("methods.processed") for label in texts), "told by one row"
    # 300 and 310 plates a month are 3,600 and 3,720 a year.
    assert "3,600 plates" in texts["Work of a year"][0] and "3,720 plates" in texts["Work of a year"][1]


def test_prices_in_two_currencies_always_differ_and_numbers_without_money_do_not(tmp_path: Path) -> None:
    dollars, euros = studies(tmp_path, a=SHOP, b="per_dollar = 1.0\n" + EURO)
    told = differences([dollars, euros])
    money = {key for key, leaf in dollars.book.inputs.items() if leaf.unit.has("currency")}
    assert {one.key for one in told.inputs} == money and len(money) > 20
    assert {one.label: one.texts for one in told.texts}["Currency"] == ("USD", "EUR")


def test_the_lines_are_what_each_scenario_alone_gives(pair: list[Study]) -> None:
    values = [study.evaluate() for study in pair]
    lined = lined_up(pair)
    known = lined.values(values)
    for i, (study, own) in enumerate(zip(pair, values, strict=True)):
        alone = as_json(study, own)
        for name, method in alone["methods"].items():
            assert known[lined.rows[f"present.{name}"]][i, 0] == method["present_cost"]
            assert known[lined.rows[f"present_full.{name}"]][i, 0] == method["present_cost_full"]
        cheapest = alone["methods"][alone["cheapest"]]
        assert known[lined.rows["first_cost"]][i, 0] == cheapest["first_cost"]
        assert known[lined.rows["per_plate"]][i, 0] == cheapest["cost_per_plate"]
        # Equal yearly amounts: the difference of two equivalent annual costs.
        now = alone["methods"][alone["current"]]
        saving = now["equivalent_annual_cost"] - cheapest["equivalent_annual_cost"]
        assert known[lined.rows["saving"]][i, 0] == pytest.approx(max(saving, 0), abs=1e-6)
        share = cheapest["present_cost"] / now["present_cost"]
        assert known[lined.rows[f"share.{alone['cheapest']}"]][i, 0] == pytest.approx(share)


@pytest.mark.parametrize("stay", [True, False])
def test_what_the_scenarios_say_together(tmp_path: Path, stay: bool) -> None:
    """A shop that stays, beside one with cheap plates for direct, which it has already or has yet to change to."""
    other = VARIANT if stay else VARIANT.replace('current = "direct"', 'current = "polyester"')
    pair = studies(tmp_path, shop=SHOP, variant=other)
    values = [study.evaluate() for study in pair]
    lined = lined_up(pair)
    data = found(lined, values)
    first, *_ = said = lined.said(lined.values(values))
    winners = [scenario["cheapest"] for scenario in data["scenarios"]]
    for name, short in lined.methods.items():
        told = f"{short} costs least in {winners.count(name)} of 2." in first
        assert told == (name in winners)
    assert ("they agree" in first) == (len(set(winners)) == 1)
    savings = [scenario["saving_a_year"]["cash"] for scenario in data["scenarios"]]
    assert (savings == [0, 0]) == stay == ("In cash staying costs least in each." in said)
    if stay:
        assert not any(text.startswith("Against staying") and "in cash" in text for text in said)
        return
    spread = next(text for text in said if text.startswith("Against staying") and "in cash" in text)
    assert f"(USD {max(savings):,.0f} a year)" in spread and f"USD {min(savings):,.0f} a year" in spread


def test_nothing_is_added_across_currencies(tmp_path: Path) -> None:
    both = studies(tmp_path, a=SHOP, b="per_dollar = 1.0\n" + EURO)
    lined = lined_up(both)
    known = lined.values([study.evaluate() for study in both])
    assert not lined.one_currency and lined.said(known)[-1] == ACROSS
    assert not any(key.startswith(("low", "high", "apart", "same")) for key in lined.rows)
    # One dollar was stated to be one euro: shares of staying are the same, whatever the currency.
    for name in lined.methods:
        a, b = known[lined.rows[f"share.{name}"]][:, 0]
        assert a == pytest.approx(b, rel=1e-9) and a > 0


def test_a_method_that_some_lack_or_that_cannot_do_the_work(tmp_path: Path) -> None:
    barred = SHOP.replace("small = 300 }", "small = 300 }\nconfined = 1.0") + "\n[methods.bought_in]\n"
    plain, other = studies(tmp_path, a=SHOP, b=barred)
    lined = lined_up([plain, other])
    known = lined.values([plain.evaluate(), other.evaluate()])
    row = {key: known[lined.rows[key]].ravel().tolist() for key in lined.rows}
    assert row["feasible.bought_in"] == [0, 0] and row["drawn.bought_in"] == [0, 0]
    assert row["named.bought_in"] == [0, 0] and row["count.bought_in"] == [0]
    assert row["feasible.polyester"] == [1, 1]


def test_names_are_told_apart_and_files_are_refused(tmp_path: Path) -> None:
    (tmp_path / "north").mkdir(), (tmp_path / "south").mkdir()
    one, two = studies(tmp_path, one=SHOP, two=SHOP)
    three, four = studies(tmp_path / "north", shop=SHOP)[0], studies(tmp_path / "south", shop=SHOP)[0]
    assert lined_up([one, two]).names == ("Invented shop (one.toml)", "Invented shop (two.toml)")
    assert lined_up([three, four]).names == (
        "Invented shop (north/shop.toml)",
        "Invented shop (south/shop.toml)",
    )
    file = tmp_path / "one.toml"
    (again,) = refused([file, tmp_path / "north" / ".." / "one.toml"])
    assert "named twice" in again.what and again.mend
    (many,) = refused([tmp_path / f"{i}.toml" for i in range(11)])
    assert "11 files" in many.what and "10" in many.mend
    assert refused([tmp_path / f"{i}.toml" for i in range(10)]) == []


def test_ten_scenarios_stand_beside_each_other(tmp_path: Path) -> None:
    ten = studies(
        tmp_path, **{f"shop{i}": SHOP.replace("small = 300", f"small = {300 + i}") for i in range(10)}
    )
    lined = lined_up(ten)
    known = lined.values([study.evaluate() for study in ten])
    assert known[lined.rows["plates"]][:, 0] == pytest.approx([300 + i for i in range(10)])
    assert known[lined.rows["number"]].tolist() == [10]


def test_a_number_taken_over_is_shown_beside_one_that_is_stated(tmp_path: Path) -> None:
    """One scenario states the twin's price, the other's twin has it from direct: its value stands there, by direct's own key."""
    price = "[methods.direct.plates.price]\nsmall = {}\n"
    twin = '\n[methods.twin]\nsame_as = "direct"\nlabel = "Twin"\nshort = "Twin"\n'
    takes = SHOP + "\n" + price.format('"3 USD/plate"') + twin
    states = takes + '[methods.twin.plates.price]\nsmall = "4 USD/plate"\n'
    told = differences(studies(tmp_path, takes=takes, states=states))
    (row,) = [one for one in told.inputs if one.key == "methods.twin.plates.price.small"]
    assert [None if one is None else one.best for one in row.stated] == [3.0, 4.0]
    assert row.in_all and "value" in row.parts and row.label.startswith("Twin")
    # Neither is direct's price told as differing, nor is any number that both twins take over told twice.
    assert [one.key for one in told.inputs if "methods.direct." in one.key or "twin" in one.key] == [row.key]
