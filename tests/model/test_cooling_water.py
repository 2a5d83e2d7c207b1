"""Cooling, water and the mass of plates against hand arithmetic written out beside each check. Invented shop: `billed_shop`.

Densities: aluminium 2.71 g/cm3 (grade 1050A); polyester 1.39 g/cm3, from memory, verify.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from roi.scenario.problems import BadInput
from roi.units.unit import Unit
from tests.model.billed_shop import AREA, billed, lines_of

COOLING = 'cooling_share = "60 %"\ncooling_cop = 3\n'
STATION = """
[methods.polyester.stations.imager]
fixed = "3 min/plate"
per_area = "0 min/m2"
power_running = "1 kW"
power_idle = "0.2 kW"
hours_on = "8 h/day"
warm_up = "0 kWh/day"
"""
BY_AREA = """
[methods.polyester.items.rinse]
label = "Rinse water"
family = "consumables"
growth = "waste"
driver = "area imaged"
counts_as = "water"
measure = "L"
rate = "11 L/m2"
"""
BY_DAY = """
[methods.polyester.items.flow]
label = "Water running through"
family = "consumables"
growth = "waste"
driver = "work day"
counts_as = "water"
measure = "m3"
rate = "0.2 m3/day"
"""
WATER = 'water = "2 USD/m3"\nsewer = "3 USD/m3"\n'
M3 = Unit.read("m3/year")


def problems_of(folder: Path, more: str, shop: str):
    with pytest.raises(BadInput) as bad:
        billed(folder, more, shop=shop)
    return bad.value.problems


# --- cooling


def test_cooling_is_the_share_of_the_heat_over_the_cop(tmp_path: Path) -> None:
    """Running above standing by: 3,600 x 3 min / 60 x (1 - 0.2) kW = 144 kWh; standing by 8 x 250 x 0.2 = 400 kWh.

    Cooling: 144 x 60 % / 3 = 28.8 and 400 x 60 % / 3 = 80 kWh; at 0.20 a kWh 5.76 and 16.00.
    """
    study = billed(tmp_path, STATION, shop=COOLING)
    values, lines = study.evaluate(), lines_of(study)
    for words, kwh in (("with the work", 144), ("with the days", 400)):
        assert values[lines[f"Energy {words}"]][0] == pytest.approx(kwh)
        assert values[lines[f"Energy of cooling {words}"]][0] == pytest.approx(kwh * 0.6 / 3)
    energy = values[study.methods["polyester"].families["energy"]][1, 0]
    assert energy == pytest.approx((144 + 400 + 28.8 + 80) * 0.20)
    row = study.resources.amounts["Electricity of cooling with the days", Unit.read("kWh/year")]
    assert values[row][0, 0] == pytest.approx(80)


def test_without_a_share_nothing_is_cooled(tmp_path: Path) -> None:
    study = billed(tmp_path, STATION)
    assert not any("cooling" in label for label in lines_of(study))
    assert study.evaluate()[study.methods["polyester"].families["energy"]][1, 0] == pytest.approx(544 * 0.20)


@pytest.mark.parametrize(
    "stated, missing", [('cooling_share = "60 %"', "cooling_cop"), ("cooling_cop = 3", "cooling_share")]
)
def test_half_of_cooling_is_named(tmp_path: Path, stated: str, missing: str) -> None:
    (problem,) = problems_of(tmp_path, "", stated + "\n")
    assert problem.where == f"shop.toml, shop.{missing}" and problem.what == "is missing"
    assert missing.replace("_", " ").split()[1] in problem.mend.lower()


# --- water


def test_water_without_a_price_of_its_own_pays_water_and_sewer(tmp_path: Path) -> None:
    """584.496 m2 x 11 L/m2 = 6,429.456 L at (2 + 3) / 1000 a litre = 32.147; 250 x 0.2 = 50 m3 at 5 are 250."""
    study = billed(tmp_path, BY_AREA + BY_DAY, shop=WATER)
    values, lines = study.evaluate(), lines_of(study)
    assert values[lines["Rinse water, used"]][0] == pytest.approx(AREA * 11) == pytest.approx(6429.456)
    assert values[lines["Rinse water, money"]][0] == pytest.approx(32.14728)
    assert values[lines["Water running through, money"]][0] == pytest.approx(250)
    assert values[study.resources.amounts["Water", M3]][:, 0] == pytest.approx([6.429456 + 50, 0])


def test_sewer_alone_may_be_paid(tmp_path: Path) -> None:
    study = billed(tmp_path, BY_DAY, shop='sewer = "3 USD/m3"\n')
    assert study.evaluate()[lines_of(study)["Water running through, money"]][0] == pytest.approx(150)


def test_a_price_stated_goes_before_the_shop_s_and_a_default_behind_it(tmp_path: Path) -> None:
    """The shipped metal line's rinse water has a default price of 12 USD a thousand gallons (3.17 a m3)."""
    metal = "[methods.processed]\n"
    priced = metal + '[methods.processed.items.water]\nprice = "0.01 USD/L"\n'
    for more, shop, a_litre in (
        (metal, "", 0.012 / 3.785411784),
        (metal, WATER, 0.005),
        (priced, WATER, 0.01),
    ):
        study = billed(tmp_path, more, shop=shop)
        values, lines = study.evaluate(), lines_of(study, "processed")
        litres = values[lines["Rinse water and sewer, used"]][0]
        assert values[lines["Rinse water and sewer, money"]][0] == pytest.approx(litres * a_litre)
        assert values[study.resources.amounts["Water", M3]][-1, 0] == pytest.approx(litres / 1000)


def test_water_without_any_price_is_named(tmp_path: Path) -> None:
    (problem,) = problems_of(tmp_path, BY_AREA, "")
    assert problem.where == "shop.toml, methods.polyester.items.rinse.price"
    assert "shop.water" in problem.mend


def test_a_price_of_water_that_nothing_uses_is_named(tmp_path: Path) -> None:
    (problem,) = problems_of(tmp_path, "", 'water = "2 USD/m3"\n')
    assert problem.where.startswith("shop.toml, shop.water") and "counts_as" in problem.mend


@pytest.mark.parametrize("measure", ['measure = "kg"', 'measure = "unit"'])
def test_water_by_another_measure_is_named(tmp_path: Path, measure: str) -> None:
    unit = measure.split('"')[1]
    more = BY_AREA.replace('measure = "L"', measure).replace("11 L/m2", f"11 {unit}/m2")
    (problem,) = problems_of(tmp_path, more, WATER)
    assert problem.where == "shop.toml, methods.polyester.items.rinse.measure"
    assert '"m3"' in problem.mend


def test_counts_as_knows_one_word(tmp_path: Path) -> None:
    problems = problems_of(tmp_path, BY_AREA.replace('"water"', '"rain"'), "")
    assert problems[0].where == "shop.toml, methods.polyester.items.rinse.counts_as"


# --- mass of plates


def test_film_and_aluminium_purchased_by_hand(tmp_path: Path) -> None:
    """584.496 m2 x 0.278 kg/m2 (0.20 mm x 1.39 g/cm3) of film are 162.49 kg.

    Direct plates: 2 % more are bought as test plates, 584.496 x 1.02 x 0.4065 kg/m2 (0.15 mm x 2.71 g/cm3) = 242.35 kg.
    What is sold as scrap, 584.496 x 0.4065 = 237.60 kg, is part of that and a row of its own.
    """
    study = billed(tmp_path, '[methods.direct.remakes]\nown = "0 %"\n')
    values, amounts = study.evaluate(), study.resources.amounts
    kg = Unit.read("kg/year")
    assert values[amounts["Film of plates purchased", kg]][:, 0] == pytest.approx([162.489888, 0])
    aluminium = values[amounts["Aluminium of plates purchased", kg]][:, 0]
    assert aluminium == pytest.approx([0, 584.496 * 1.02 * 0.15 * 2.71])
    scrap = values[amounts["Used plates sold as scrap aluminium", kg]][:, 0]
    assert scrap == pytest.approx([0, 584.496 * 0.15 * 2.71])


@pytest.mark.parametrize(
    "table, where",
    [
        ('[methods.mine.plates]\nmass = "0.3 kg/m2"\n', "material"),
        ('[methods.mine.plates]\nmaterial = "film"\n', "mass"),
    ],
)
def test_mass_and_material_go_together(tmp_path: Path, table: str, where: str) -> None:
    own = tmp_path / "mine.toml"
    shipped = (Path(__file__).parents[2] / "roi" / "data" / "methods" / "direct.toml").read_text("utf-8")
    kept = [x for x in shipped.splitlines() if not x.startswith(("material =", "mass ="))]
    own.write_text("\n".join(kept).replace('short = "Direct"', 'short = "Mine"'), "utf-8")
    (problem,) = problems_of(tmp_path, '[methods.mine]\nuse = "mine.toml"\n' + table, "")
    assert problem.where == f"shop.toml, methods.mine.plates.{where}"
