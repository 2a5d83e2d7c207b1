"""Classes of generator at their edges: EPA, Hazardous Waste Generator Regulatory Summary (up to 100 kg a month very small,
above 100 and below 1,000 small, from 1,000 large); the European list names spent developer whatever the amount."""

from __future__ import annotations

from pathlib import Path

import pytest

from roi.model.study import Study, build
from roi.scenario.problems import BadInput
from roi.scenario.scenario import read
from tests.small_shop import SHOP


def study(folder: Path, rules: str, more: str) -> Study:
    path = folder / "shop.toml"
    path.write_text(
        SHOP.replace("schema = 1", f'schema = 1\nwaste_rules = "{rules}"') + more, encoding="utf-8"
    )
    return build(read(path))


@pytest.mark.parametrize(
    "other, expected",
    [("0", 0), ("0.5", 1), ("100", 1), ("100.01", 2), ("999.99", 2), ("1000", 3), ("4000", 3)],
)
def test_classes_at_their_edges(tmp_path: Path, other: str, expected: int) -> None:
    """Direct plates leave no bath: the mass is the shop's other waste alone."""
    made = study(tmp_path, "us", f'[shop]\nother_hazardous = "{other} kg/month"\n')
    assert made.resources.classes is not None
    assert made.evaluate()[made.resources.classes][:, 0][1] == expected


def test_the_mass_of_a_month_by_hand(tmp_path: Path) -> None:
    made = study(tmp_path, "us", '[shop]\nwaste_density = "1.1 kg/L"\nother_hazardous = "7 kg/month"\n')
    values = made.evaluate()
    lines = {line.label: values[line] for line in made.resources.column.lines}
    litres = lines["Spent activator and stabiliser, leaving as waste"][0, 0]
    assert litres > 10
    assert lines["With the shop's other hazardous waste"][:, 0] == pytest.approx([litres * 1.1 / 12 + 7, 7])


def test_the_european_list_goes_by_name(tmp_path: Path) -> None:
    made = study(tmp_path, "eu", "")
    assert made.evaluate()[made.resources.classes][:, 0].tolist() == [1, 0]
    assert "09 01 02" in made.scenario.waste.caution


def test_without_rules_nothing_is_classed(tmp_path: Path) -> None:
    assert study(tmp_path, "none", "").resources.classes is None


def test_an_unknown_rule_set_is_named_with_the_close_one(tmp_path: Path) -> None:
    with pytest.raises(BadInput) as bad:
        study(tmp_path, "uss", "")
    (problem,) = bad.value.problems
    assert problem.where == "shop.toml, waste_rules" and problem.mend == 'was "us" meant?'
