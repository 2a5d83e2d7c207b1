"""The demo, read and worked once for all tests of this folder: whole, and without the sheets of cases."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from roi.engine.evaluate import Values
from roi.model.study import Study, build
from roi.scenario.scenario import read
from roi.workbook.template import Template
from roi.workbook.write import write_workbook
from tests.small_shop import LEAN

DEMO = Path(__file__).parents[2] / "scenarios" / "us_two_press" / "shop.toml"


@dataclass(frozen=True)
class Written:
    """A study, its values, the workbook written of it and the results stored there."""

    study: Study
    values: Values
    path: Path
    results: dict[str, dict[str, float | str]]


@pytest.fixture(scope="session")
def study() -> Study:
    return build(read(DEMO))


@pytest.fixture(scope="session")
def demo(study: Study, tmp_path_factory: pytest.TempPathFactory) -> Written:
    return _written(study, LEAN, tmp_path_factory.mktemp("demo") / "decision.xlsx")


@pytest.fixture(scope="session")
def whole(study: Study, tmp_path_factory: pytest.TempPathFactory) -> Written:
    return _written(study, None, tmp_path_factory.mktemp("whole") / "decision.xlsx")


def _written(study: Study, template: Template | None, path: Path) -> Written:
    values = study.evaluate()
    return Written(study, values, path, write_workbook(study, values, path, template))
