"""The demo, read and worked once for all tests of this folder."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from roi.engine.evaluate import Values
from roi.model.study import Study, build
from roi.scenario.scenario import read
from roi.workbook.write import write_workbook

DEMO = Path(__file__).parents[2] / "scenarios" / "us_two_press" / "shop.toml"


@dataclass(frozen=True)
class Written:
    """A study, its values, the workbook written of it and the results stored there."""

    study: Study
    values: Values
    path: Path
    results: dict[str, dict[str, float | str]]


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Written:
    study = build(read(DEMO))
    values = study.evaluate()
    path = tmp_path_factory.mktemp("demo") / "decision.xlsx"
    return Written(study, values, path, write_workbook(study, values, path))
