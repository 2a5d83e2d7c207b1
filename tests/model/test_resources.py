"""Resources against the lines they come from, by plain arithmetic, at the log's work and at twice it."""

from __future__ import annotations

from pathlib import Path

import pytest

from roi.model.study import build
from roi.scenario.scenario import read
from roi.units.unit import Unit
from tests.small_shop import SHOP

KWH, LITRES, KG = (Unit.read(unit) for unit in ("kWh/year", "L/year", "kg/year"))


def worked(folder: Path, more: str = ""):
    path = folder / "shop.toml"
    path.write_text(SHOP + more, encoding="utf-8")
    study = build(read(path))
    return study, study.evaluate()


def test_amounts_are_those_of_the_methods(tmp_path: Path) -> None:
    study, values = worked(tmp_path)
    polyester, direct = study.methods["polyester"], study.methods["direct"]
    amounts = {label: values[line][:, 0] for (label, _), line in study.resources.amounts.items()}
    area = [float(values[s.lines["area"]][0]) for s in (polyester, direct)]
    assert amounts["Area imaged"] == pytest.approx(area)
    imaged = sum(values[s.lines["imaged"]][0] for s in (polyester, direct))
    plates = [v for label, v in amounts.items() if label.startswith("Plates imaged")]
    assert sum(v.sum() for v in plates) == pytest.approx(imaged)
    assert amounts["Activator"][0] > 0 and amounts["Activator"][1] == 0
    line = next(x for x in polyester.column.lines if x.label == "Activator, used")
    assert amounts["Activator"][0] == pytest.approx(values[line][1, 0])
    hours = sum(v for label, v in amounts.items() if "hands-on" in label)
    assert hours == pytest.approx([float(values[s.lines["hands_on"]][0]) for s in (polyester, direct)])


def test_a_plate_and_a_thousand_impressions(tmp_path: Path) -> None:
    study, values = worked(tmp_path)
    lines = {line.label: line for line in study.resources.column.lines}
    litres = values[study.resources.amounts["Activator", LITRES]][0, 0]
    called, good = 12 * 300, float(values[study.shop.good][0])
    assert values[lines["Activator, a plate"]][0, 0] == pytest.approx(litres / called)
    assert values[lines["Activator, a thousand impressions"]][0, 0] == pytest.approx(litres / good * 1000)


def test_twice_the_work_doubles_what_follows_it_and_nothing_else(tmp_path: Path) -> None:
    (_, once), (study, twice) = worked(tmp_path), worked(tmp_path, '[work]\nvolume = "200 %"\n')
    first, _ = worked(tmp_path)
    for label, factor in (("Electricity with the work", 2), ("Electricity with the days", 1)):
        before = first.evaluate()[first.resources.amounts[label, KWH]]
        after = twice[study.resources.amounts[label, KWH]]
        assert before.sum() > 0 and after == pytest.approx(factor * before)
    assert once


def test_carbon_only_with_a_stated_factor(tmp_path: Path) -> None:
    study, values = worked(tmp_path)
    assert not any("Carbon" in label for label, _ in study.resources.amounts)
    study, values = worked(tmp_path, '[shop]\nco2e_electricity = "0.4 kg/kWh"\n')
    kwh = sum(
        values[x] for (label, _), x in study.resources.amounts.items() if label.startswith("Electricity")
    )
    carbon = next(x for (label, _), x in study.resources.amounts.items() if label.startswith("Carbon"))
    assert values[carbon] == pytest.approx(0.4 * kwh)


def test_film_a_year_a_plate_and_a_thousand_impressions(tmp_path: Path) -> None:
    """Film bought is the plates imaged over what isn't spoiled (1.5 %), each 0.16236 m2 of 0.278 kg: 45.8 g a plate.

    300 plates a month are called for, 3,600 a year; the spent baths weigh what their litres do, at 1.03 kg/L.
    """
    study, values = worked(tmp_path)
    lines = {line.label: line for line in study.resources.column.lines}
    film = values[study.resources.amounts["Film of plates purchased", KG]][:, 0]
    imaged = float(values[study.methods["polyester"].lines["imaged"]][0])
    assert film == pytest.approx([imaged / (1 - 0.015) * 0.330 * 0.492 * 0.278, 0])
    assert values[lines["Film of plates purchased, a plate"]][0, 0] == pytest.approx(film[0] / 3600)
    good = float(values[study.shop.good][0])
    thousand = values[lines["Film of plates purchased, a thousand impressions"]][0, 0]
    assert thousand == pytest.approx(film[0] / good * 1000)
    litres, mass = (
        values[study.resources.amounts[f"Spent activator and stabiliser, {words}", unit]][:, 0]
        for words, unit in (("leaving as waste", LITRES), ("mass of waste", KG))
    )
    assert litres[0] > 100 and mass == pytest.approx(1.03 * litres)
