"""What a waste stream costs and whether it reaches a limit, against hand arithmetic written out beside each check.

Limits: 40 CFR 261.22 (aqueous waste is corrosive at a pH of 2 or less, 12.5 or more) and 261.24, table 1 (silver 5.0 mg/L);
Regulation (EC) 1272/2008, annex I, 3.2.3.1.2 (pH 2 or less, 11.5 or more). Invented shop: `billed_shop`.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from roi.engine.evaluate import Program
from roi.scenario.problems import BadInput
from roi.scenario.scenario import read
from roi.units.unit import Unit
from tests.model.billed_shop import (
    ALL_MORE,
    ALL_SHOP,
    ALL_STREAM,
    LEAVING,
    billed,
    billed_whole,
    lines_of,
    text,
)

BARE = 'hazardous = false\nprice = "2 USD/L"\nyearly = "0 USD/year"\n'
PICKED = 'pickup_fee = "100 USD/pickup"\npickup_capacity = "200 L/pickup"\n'
PAPERS = """
keeping = "0.5 year/pickup"
registration = "50 USD/year"
tests = "75 USD/year"
manifest = "22 USD/pickup"
hours = "4 h/year"
pickup_hours = "1.5 h/pickup"
grade = "prepress"
"""
SILVER = 'silver = "300 mg/L"\nsilver_recovered = "90 %"\nsilver_credit = "0.50 USD/g"\n'
SPENT = "Spent activator and stabiliser"
_STREAM = "methods.polyester.streams.spent"
MONEY = [
    *(
        f"{_STREAM}.{key}"
        for key in ("registration", "tests", "manifest", "hours", "pickup_hours", "silver_credit")
    ),
    *(f"{_STREAM}.{key}" for key in ("container_price", "pickup_fee", "yearly")),
    *("shop.water", "shop.sewer", "shop.cooling_share", "shop.electricity"),
]


def money(study, label: str) -> float:
    """A block of the current method in year 1."""
    return float(study.evaluate()[lines_of(study)[label]][1, 0])


def test_every_part_of_the_bill_by_hand(tmp_path: Path) -> None:
    """180 L leave: 1 pickup of 200 L, 2 for a keeping time of half a year, so 2.

    By litre 180 x 2 = 360 and 2 x 100 = 200 make 560; 2 manifests at 22 are 44; 30 + 50 + 75 a year.
    Silver 180 L x 0.3 g/L x 90 % = 48.6 g at 0.50 = 24.30 received. 560 + 44 + 155 - 24.30 = 734.70.
    """
    stream = BARE.replace('"0 USD/year"', '"30 USD/year"') + PICKED + PAPERS + SILVER
    study = billed(tmp_path, stream=stream)
    values, lines = study.evaluate(), lines_of(study)
    assert values[lines[f"{SPENT}, leaving"]][1, 0] == pytest.approx(LEAVING)
    parts = {"money": 560, "manifests": 44, "tests and papers": 30, "registration": 50, "tests": 75}
    for words, expected in parts.items():
        assert values[lines[f"{SPENT}, {words}"]][1, 0] == pytest.approx(expected), words
    assert values[lines[f"{SPENT}, silver, money"]][1, 0] == pytest.approx(-24.30)
    assert values[study.methods["polyester"].families["waste"]][1, 0] == pytest.approx(734.70)


def test_paperwork_is_labour_of_its_grade(tmp_path: Path) -> None:
    """4 h a year and 2 pickups x 1.5 h: 7 h more of that grade than without."""
    without = billed(tmp_path, stream=BARE + PICKED + 'keeping = "0.5 year/pickup"\n')
    before = float(without.evaluate()[without.methods["polyester"].lines["hands_on"]][0])
    study = billed(tmp_path, stream=BARE + PICKED + PAPERS)
    after = float(study.evaluate()[study.methods["polyester"].lines["hands_on"]][0])
    assert after - before == pytest.approx(4 + 2 * 1.5)


def test_what_is_not_stated_adds_no_line(tmp_path: Path) -> None:
    labels = lines_of(billed(tmp_path, stream=BARE + PICKED, rules="us"))
    found = {label.removeprefix(f"{SPENT}, ") for label in labels if label.startswith(SPENT)}
    blocks = {"tests and papers", "money"}
    worth = {f"{block}, {words}" for block in blocks for words in ("present worth", "at today's prices")}
    plain = {"leaving", "mass leaving", "pickups for volume", "pickups"}
    told = {"leaving as waste, in year 1", "mass of waste, in year 1"}
    assert found == blocks | worth | plain | told


def test_silver_grows_with_general_prices_and_is_no_part_of_the_invoice(tmp_path: Path) -> None:
    """An invoice of 900 for disposal stays 900; the 24.30 for silver comes off it."""
    study = billed(
        tmp_path,
        '[methods.polyester.last_year]\nwaste = "900 USD/year"\n',
        stream=BARE + PICKED + SILVER,
    )
    values = study.evaluate()
    assert values[study.methods["polyester"].families["waste"]][1, 0] == pytest.approx(900 - 24.30)
    dearer = study.evaluate({"money.inflation": 0.10})
    received = lines_of(study)[f"{SPENT}, silver, money"]
    assert dearer[received][2, 0] == pytest.approx(-24.30 * 1.10**2)


# --- limits


@pytest.mark.parametrize(
    "ph, expected", [("2", 1), ("2.01", 0), ("7", 0), ("12.49", 0), ("12.5", 1), ("14", 1), ("0", 1)]
)
def test_corrosivity_at_its_edges(tmp_path: Path, ph: str, expected: int) -> None:
    """A stream that is flagged counts as hazardous, 180 L x 1.03 / 12 = 15.45 kg a month, though its file says otherwise."""
    study = billed(tmp_path, stream=BARE + f"ph = {ph}\n", rules="us")
    values = study.evaluate()
    flag = lines_of(study)[f"{SPENT}, at or beyond the limit of corrosivity, by pH"]
    assert values[flag][0] == expected
    assert "40 CFR 261.22" in flag.source
    mass = next(x for x in study.resources.column.lines if x.label == "From making plates")
    assert values[mass][:, 0] == pytest.approx([15.45 * expected, 0])


@pytest.mark.parametrize(
    "silver, expected", [("5.0 mg/L", 1), ("4.99 mg/L", 0), ("0.005 g/L", 1), ("0 mg/L", 0)]
)
def test_silver_at_its_edge(tmp_path: Path, silver: str, expected: int) -> None:
    study = billed(tmp_path, stream=BARE + f'silver = "{silver}"\n', rules="us")
    values, lines = study.evaluate(), lines_of(study)
    assert values[lines[f"{SPENT}, at or beyond the limit of silver"]][0] == expected
    assert values[study.resources.classes][:, 0].tolist() == [expected, 0]


def test_silver_is_told_by_the_litre_where_other_volumes_are_in_gallons(tmp_path: Path) -> None:
    """As its limit is: 300 mg/L is not shown as 1,136 mg/gal."""
    path = tmp_path / "shop.toml"
    path.write_text(text("", "", BARE + SILVER, "us").replace('units = "metric"', 'units = "us"'), "utf-8")
    stated = read(path).inputs[("methods", "polyester", "streams", "spent", "silver")]
    assert (stated.best, stated.shown) == (300, "mg/L")
    assert stated.factor == pytest.approx(0.001)


@pytest.mark.parametrize("ph, silver, expected", [(7, 4.99, 0), (7, 5, 1), (12.5, 4.99, 1), (13, 300, 1)])
def test_either_limit_is_enough(tmp_path: Path, ph: float, silver: float, expected: int) -> None:
    study = billed(tmp_path, stream=BARE + f'ph = {ph}\nsilver = "{silver} mg/L"\n', rules="us")
    assert study.evaluate()[lines_of(study)[f"{SPENT}, at or beyond a limit"]][0] == expected


def test_a_limit_is_live(tmp_path: Path) -> None:
    study = billed(tmp_path, stream=BARE + "ph = 9\n", rules="us")
    key = "methods.polyester.streams.spent.ph"
    assert study.evaluate()[study.resources.classes][0, 0] == 0
    assert study.evaluate({key: 13})[study.resources.classes][0, 0] == 1


@pytest.mark.parametrize("ph, expected", [(11.49, 0), (11.5, 1), (2, 1), (2.01, 0)])
def test_europe_draws_its_own_limits(tmp_path: Path, ph: float, expected: int) -> None:
    """By pH only: the European rules here hold no limit of silver."""
    study = billed(tmp_path, stream=BARE + f'ph = {ph}\nsilver = "6000 mg/L"\n', rules="eu")
    lines = lines_of(study)
    assert study.evaluate()[lines[f"{SPENT}, at or beyond the limit of corrosivity, by pH"]][0] == expected
    assert not any("limit of silver" in label for label in lines)


def test_without_rules_nothing_is_judged(tmp_path: Path) -> None:
    labels = lines_of(billed(tmp_path, stream=BARE + 'ph = 13\nsilver = "300 mg/L"\n', rules="none"))
    assert not any("limit" in label for label in labels)


# --- codes


def test_a_code_stands_beside_the_stream_and_its_asterisk_counts(tmp_path: Path) -> None:
    """Commission Decision 2000/532/EC: 09 01 01* is hazardous by name, 09 01 08 is not."""
    for code, counted in (("09 01 01*", 15.45), ("09 01 08", 0)):
        study = billed(tmp_path, stream=BARE + f'code = "{code}"\nph = 7\n', rules="eu")
        assert lines_of(study)[f"{SPENT}, leaving"].note == f"code {code}"
        mass = next(x for x in study.resources.column.lines if x.label == "From making plates")
        assert study.evaluate()[mass][0, 0] == pytest.approx(counted)


def test_a_code_of_another_form_is_named(tmp_path: Path) -> None:
    with pytest.raises(BadInput) as bad:
        billed(tmp_path, stream=BARE + 'code = "D002"\n', rules="eu")
    (problem,) = bad.value.problems
    assert problem.where == "shop.toml, methods.polyester.streams.spent.code"
    assert '"09 01 02*"' in problem.mend


# --- draining old tanks once


@pytest.mark.parametrize(
    "litres, kilograms, expected",
    # 100 kg are 97.0874 L at 1.03 kg/L; a drum of 55 gal, 208.19764812 L, weighs 214.4435776 kg.
    [("97.087 L", 99.99961, 1), ("97.09 L", 100.0027, 2), ("55 gal", 214.4435776, 2), ("971 L", 1000.13, 3)],
)
def test_the_month_of_draining(tmp_path: Path, litres: str, kilograms: float, expected: int) -> None:
    study = billed(tmp_path, f'[leaving]\ndrain_volume = "{litres}"\n', stream=BARE, rules="us")
    values = study.evaluate()
    assert values[study.resources.draining][0] == pytest.approx(kilograms)
    assert values[study.resources.class_draining][0] == expected
    assert values[study.resources.classes][:, 0].tolist() == [0, 0]
    assert "episodic event" in study.scenario.waste.draining


def test_draining_comes_on_top_of_the_month_s_other_waste(tmp_path: Path) -> None:
    """60 L are 61.8 kg; with 15.45 kg of spent bath and 25 kg of the shop's other waste 102.25: above 100."""
    study = billed(
        tmp_path,
        '[leaving]\ndrain_volume = "60 L"\n',
        shop='other_hazardous = "25 kg/month"\n',
        stream=BARE.replace("false", "true"),
        rules="us",
    )
    values = study.evaluate()
    assert values[study.resources.draining][0] == pytest.approx(61.8 + 15.45 + 25)
    assert values[study.resources.classes][:, 0].tolist() == [1, 1]
    assert values[study.resources.class_draining][0] == 2


def test_draining_without_rules_is_weighed_and_not_classed(tmp_path: Path) -> None:
    """60 L x 1.03 kg/L = 61.8 kg."""
    study = billed(tmp_path, '[leaving]\ndrain_volume = "60 L"\n', stream=BARE, rules="none")
    assert study.evaluate()[study.resources.draining][0] == pytest.approx(61.8)
    assert study.resources.class_draining is None and study.resources.classes is None


# --- what must hold at any volume


@pytest.mark.parametrize(
    "priced",
    [
        BARE,
        BARE.replace(
            'price = "2 USD/L"', 'price = false\ncontainer = "20 L"\ncontainer_price = "30 USD/container"'
        ),
    ],
)
@pytest.mark.parametrize("keeping", ["", 'keeping = "0.25 year/pickup"\n'])
def test_pickups_containers_and_the_bill_never_fall_when_volume_rises(
    tmp_path: Path, priced: str, keeping: str
) -> None:
    """From a thousandth of the work to twenty times it, in 400 steps; with a keeping time never below its 4 a year."""
    stream = priced + PICKED.replace("200 L", "37 L") + keeping + 'manifest = "22 USD/pickup"\n' + SILVER
    study = billed(tmp_path, stream=stream, replenish="0.5 L/m2")
    lines = lines_of(study)
    names = [f"{SPENT}, pickups", f"{SPENT}, money", f"{SPENT}, manifests", f"{SPENT}, leaving"]
    names += [f"{SPENT}, containers"] if f"{SPENT}, containers" in lines else []
    volumes = np.linspace(0.001, 20, 400)
    found = Program(study.book, [lines[n] for n in names]).run({"work.volume": volumes})
    for name in names:
        rows = found[lines[name]][1]
        assert (np.diff(rows) >= 0).all() and rows[-1] > rows[0], name
    pickups = found[lines[f"{SPENT}, pickups"]][1]
    assert (pickups == np.round(pickups)).all() and len(set(pickups)) > 100
    assert pickups.min() >= (4 if keeping else 1)


def test_mass_and_silver_on_the_sheet_of_resources(tmp_path: Path) -> None:
    """180 L x 1.03 kg/L = 185.4 kg; 48.6 g of silver; direct plates leave neither."""
    study = billed(tmp_path, stream=BARE + SILVER)
    values, amounts = study.evaluate(), study.resources.amounts
    mass = amounts[f"{SPENT}, mass of waste", Unit.read("kg/year")]
    assert values[mass][:, 0] == pytest.approx([185.4, 0])
    assert values[amounts[f"{SPENT}, silver recovered", Unit.read("g/year")]][0, 0] == pytest.approx(48.6)


# --- contradictions


@pytest.mark.parametrize(
    "stream, where, mend",
    [
        ('silver_credit = "0.5 USD/g"\nsilver_recovered = "90 %"\n', "silver", "mg/L"),
        ('silver_credit = "0.5 USD/g"\nsilver = "300 mg/L"\n', "silver_recovered", "90 %"),
        ('silver_recovered = "90 %"\nsilver = "300 mg/L"\n', "silver_credit", "USD/g"),
        ("ph = 14.5\n", "ph", "14 or less"),
        ("ph = -1\n", "ph", "0 or more"),
        ('hours = "4 h/year"\n', "grade", "prepress"),
        ('hours = "4 h/year"\ngrade = "prepres"\n', "grade", "prepress"),
        (
            'pickup_capacity = false\npickup_fee = false\nmanifest = "22 USD/pickup"\n',
            "pickup_capacity",
            "pickup",
        ),
    ],
)
def test_a_contradiction_is_named_with_its_mend(tmp_path: Path, stream: str, where: str, mend: str) -> None:
    with pytest.raises(BadInput) as bad:
        billed(tmp_path, stream=BARE + stream)
    (problem,) = bad.value.problems
    assert problem.where == f"shop.toml, methods.polyester.streams.spent.{where}"
    assert mend in problem.mend


# --- money as a whole


def test_costs_rise_with_prices_paid_and_fall_with_those_received(tmp_path: Path) -> None:
    """Every price of this shop's waste, water and cooling, half as much again; invoices left out, which would fix the level."""
    before_bills, _, bills = ALL_MORE.partition("[methods.polyester.last_year]")
    more = before_bills + bills[bills.index("[methods.polyester.items.rinse]") :]
    study = billed(tmp_path, more, shop=ALL_SHOP, stream=ALL_STREAM, replenish="0.25 L/m2")
    present = study.methods["polyester"].lines["present"]
    before = float(study.evaluate()[present][0])
    for key in MONEY:
        stated = next(s for s in study.scenario.inputs.values() if s.key == key)
        after = float(study.evaluate({key: 1.5 * stated.best * stated.factor})[present][0])
        assert (after < before) if key.endswith("silver_credit") else (after > before), key


def test_twice_every_price_is_twice_every_cost(tmp_path: Path) -> None:
    """Invoices, credits and water included."""
    study = billed_whole(tmp_path, "us")
    known = {s.key: s for s in study.scenario.inputs.values()}
    money = {
        k: 2 * known[k].best * known[k].factor for k in study.book.inputs if "currency" in str(known[k].unit)
    }
    once, twice = study.evaluate(), study.evaluate(money)
    for sheet in study.methods.values():
        for name in ("present", "present_full", "running_1"):
            assert twice[sheet.lines[name]] == pytest.approx(2 * once[sheet.lines[name]]), name
        for words in ("share that follows time", "a square metre, at the level of the invoice"):
            for line in (x for x in sheet.column.lines if words in x.label):
                assert twice[line] == pytest.approx(once[line])
