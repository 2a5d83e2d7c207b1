"""Classes of generator at their edges: EPA, Hazardous Waste Generator Regulatory Summary (up to 100 kg a month very small,
above 100 and below 1,000 small, from 1,000 large); the European list names spent developer whatever the amount."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from roi.model.study import Study, build
from roi.scenario.problems import BadInput, Problem
from roi.scenario.scenario import read
from roi.scenario.waste import read_rules
from tests.small_shop import SHOP

SCENARIOS = Path(__file__).parents[2] / "scenarios"


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


def test_limits_are_those_published() -> None:
    """40 CFR 261.22 and 261.24, table 1; Regulation (EC) 1272/2008, annex I, 3.2.3.1.2: typed once more from there."""
    problems: list[Problem] = []
    us, eu = (read_rules(name, "shop.toml", problems) for name in ("us", "eu"))
    assert problems == []
    assert (us.ph, us.silver) == ((2.0, 12.5), 5.0)
    assert (eu.ph, eu.silver) == ((2.0, 11.5), None)
    assert "261.22" in us.limits_source and "261.24" in us.limits_source and "1272/2008" in eu.limits_source
    assert "subpart L" in us.draining and "authority decides" in us.draining and "authority" in eu.draining
    assert re.fullmatch(eu.code_form, eu.code_example) and not re.fullmatch(eu.code_form, "090102")


def test_the_european_shops_name_their_developer_by_its_code() -> None:
    """Commission Decision 2000/532/EC: 09 01 02*, water-based offset plate developer solutions."""
    for shop in ("euro_trade", "uk_print_room"):
        made = build(read(SCENARIOS / shop / "shop.toml"))
        notes = [line.note for line in made.methods["processed"].column.lines]
        assert "code 09 01 02*" in notes
        classes = made.evaluate()[made.resources.classes][:, 0]
        assert classes[list(made.methods).index("processed")] == 1
