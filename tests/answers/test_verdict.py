"""The verdict in words where methods can or can't do the work, said by the engine and by a recalculated workbook alike."""

from __future__ import annotations

from pathlib import Path

import pytest

from roi.answers.verdict import sentences, verdict
from roi.engine.evaluate import extend
from roi.model.study import build
from roi.scenario.scenario import read
from roi.workbook.write import write_workbook
from tests.parity.recalculate import differences, ironcalc_values
from tests.small_shop import LEAN, SHOP

TEN = Path(__file__).parents[2] / "scenarios" / "ten_answers" / "shop.toml"
# The shop's large plate is 13 in x 19 3/8 in, and nothing may leave the building.
SMALL = '\nlargest_format = "12 in x 14 in"\n'


def shop(folder: Path, too_small: tuple[str, ...]) -> Path:
    text = TEN.read_text("utf-8").replace("uv = 0.0", "uv = 0.0\nconfined = 1.0")
    for method in ("polyester", "direct"):
        text += f"\n[methods.{method}]{SMALL if method in too_small else ''}\n"
    scenario = folder / "shop.toml"
    scenario.write_text(text, "utf-8")
    return scenario


@pytest.mark.parametrize(
    ("too_small", "first"),
    [
        (("direct",), "Stay as you are: Polyester is the only one that can do the work."),
        (
            ("polyester",),
            "Changing is needed, since today's method can't do this work: Direct is the only one that can do the work.",
        ),
        (("polyester", "direct"), "No method can do this work as stated: see Comparison."),
    ],
)
def test_what_cannot_do_the_work_is_no_rival(tmp_path: Path, too_small: tuple[str, ...], first: str) -> None:
    # Work above the working limit is left out of this shop, since it would be out of every method's reach.
    scenario = shop(tmp_path, too_small)
    scenario.write_text(
        scenario.read_text("utf-8").replace("above_150_lpi = 0.04", "above_150_lpi = 0.0"), "utf-8"
    )
    study = build(read(scenario))
    values = study.evaluate()
    said = sentences(study, values)
    assert said[0] == first
    assert not any("saves against today" in text or "ahead of the next" in text for text in said)
    path = tmp_path / "out.xlsx"
    results = write_workbook(study, values, path, LEAN)
    found = ironcalc_values(path)
    assert differences(results, found) == []
    assert " ".join(str(found["Summary"]["A4"]).split()) == first


def test_the_verdict_has_one_space_between_words(tmp_path: Path) -> None:
    """As on sheets, where an absent piece is a space: ahead, and changing."""
    said = []
    for price in ("", '\n[methods.polyester.plates]\nprice_per_area = "150 USD/m2"\n'):
        (tmp_path / "shop.toml").write_text(SHOP + price, "utf-8")
        study = build(read(tmp_path / "shop.toml"))
        column, told = verdict(study)
        first = next(one for one in told if one.label == "Verdict")
        said.append(first.say(extend(study.evaluate(), [column])).strip())
    assert said[0].startswith("Stay as you are: ") and said[1].startswith("Changing is cheaper: ")
    assert not [text for text in said if "  " in text], said
