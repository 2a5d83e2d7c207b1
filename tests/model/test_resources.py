"""Resources against the lines they come from, by plain arithmetic, at the log's work and at twice it."""

from __future__ import annotations

from pathlib import Path

import pytest

from roi.model.study import build
from roi.scenario.scenario import read
from roi.units.unit import Unit
from tests.small_shop import SHOP

KWH, LITRES = Unit.read("kWh/year"), Unit.read("L/year")


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
