"""Mistakes in what is stated: each caught, and silent where it is right."""

from __future__ import annotations

from pathlib import Path

import pytest

from roi.answers.case import Case
from roi.answers.mistakes_stated import (
    after_the_years,
    idles_above_running,
    nothing_goes_elsewhere,
    stated_for_nothing,
    switching_left_out,
)
from roi.model.study import build
from roi.scenario.scenario import read
from tests.small_shop import SHOP


def found(folder: Path, rule, more: str = "") -> list[str]:
    (folder / "shop.toml").write_text(SHOP + more, "utf-8")
    study = build(read(folder / "shop.toml"))
    return [str(problem) for problem in rule(Case(study, study.evaluate()))]


CHANGING_TODAY = '\n[methods.polyester.changeover]\nparallel = "2 month"\n'
STEP = '\n[price_steps.plates]\nchange = "10 %"\nyear = "{} year"\n'
SHORT = '\n[methods.direct.elsewhere]\nup_to = "{} impression"\nprice = "0.06 USD/impression"\n'
FINE = "above_150_lpi = 0.2\n"
POWER = '\n[methods.direct.stations.imager]\npower_idle = "{} kW"\npower_running = "1 kW"\n'


@pytest.mark.parametrize(
    ("rule", "wrong", "right", "words"),
    [
        (
            stated_for_nothing,
            CHANGING_TODAY,
            CHANGING_TODAY.replace("polyester", "direct"),
            "nothing here uses it",
        ),
        (after_the_years, STEP.format(9), STEP.format(7), "year 9 lies beyond the 7 years"),
        (nothing_goes_elsewhere, SHORT.format(300), SHORT.format(600), "no form is short enough"),
        (switching_left_out, FINE, FINE + "\n[shop]\ncount_switches = true\n", "isn't counted: "),
        (idles_above_running, POWER.format(2), POWER.format(0.5), "2 kW standing by and 1 kW running"),
    ],
)
def test_caught_and_silent(tmp_path: Path, rule, wrong: str, right: str, words: str) -> None:
    assert [words in text for text in found(tmp_path, rule, wrong)] == [True]
    assert found(tmp_path, rule, right) == []
    assert found(tmp_path, rule) == []
