"""Tight four-colour forms refused for quality and run again, against arithmetic written out.

A log of two forms in two days that stand for a year, 182.625 each. The four-colour one, in tight register: 5,000 good
impressions, 5 % running waste and 200 make-ready sheets are 5,450 gross, in 2 passes on a press with two units at 6,000 an
hour with 12 minutes of make-ready: 2 x (0.2 + 5,450 / 6,000) = 2.21667 hours. The press is worth 30 USD an hour in cash
(overtime), 60 at full cost; a sheet costs 0.05 USD. Wages rise by 1 %, general prices by 2.5 %; the work shrinks by 10 %.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from roi.model.study import Study, build
from roi.scenario.scenario import read
from tests.model.conftest import SHOP

LOG = """Job,Form,Day,Press,Plate,Plates,Good,Stock,Ruling,Reprint,Rush,Tight
J1,A,2025-03-03,only,small,4,5000,coated,{ruling},,,{tight}
J2,B,2025-03-04,only,small,1,9000,coated,100,,,
"""
PRESS = "[methods.old.press]\n"
EACH = 365.25 / 2
HOURS = 2 * (12 / 60 + 5450 / 6000)


def study(folder: Path, share: str = "", *, ruling: int = 100, tight: str = "yes") -> Study:
    text = SHOP.replace("to = 2025-03-05", "to = 2025-03-04").replace(
        'rush = "Rush"', 'rush = "Rush"\ntight = "Tight"'
    )
    text = text.replace(
        "printing_units = 2\n",
        'printing_units = 2\nspeed = "6000 impression/h"\nmake_ready = "12 min/pass"\n',
    )
    if share:
        text = text.replace(PRESS, f'{PRESS}refusals = "{share}"\n')
    (folder / "log.csv").write_text(LOG.format(ruling=ruling, tight=tight), "utf-8")
    (folder / "shop.toml").write_text(text, "utf-8")
    return build(read(folder / "shop.toml"))


def family(made: Study, name: str = "press") -> list[float]:
    return made.evaluate()[made.methods["old"].families[name]].ravel()[:5].tolist()


def test_a_refused_form_costs_its_paper_and_its_hours_again(tmp_path: Path) -> None:
    """4 % of 182.625 forms are 7.305: 16.19 hours at 30 USD, 39,812 sheets at 0.05."""
    plain, refused = study(tmp_path), study(tmp_path, "4 %")
    forms = 0.04 * EACH
    assert forms == pytest.approx(7.305)
    expected = [0.0] + [
        forms * 0.9 ** (y - 1) * (HOURS * 30 * 1.01**y + 5450 * 0.05 * 1.025**y) for y in range(1, 5)
    ]
    assert [b - a for a, b in zip(family(plain), family(refused), strict=True)] == pytest.approx(expected)


def test_at_full_cost_the_hours_are_worth_their_rate(tmp_path: Path) -> None:
    """60 against 30 USD an hour: what full cost adds grows by 7.305 x 2.21667 hours x 30, wages a year on, less 25 % tax."""
    plain, refused = study(tmp_path), study(tmp_path, "4 %")
    added = [s.evaluate()[s.methods["old"].lines["added_full"]].ravel()[1] for s in (plain, refused)]
    assert added[1] - added[0] == pytest.approx(0.04 * EACH * HOURS * 30 * 1.01 * 0.75)


def test_hours_and_paper_are_among_those_lost(tmp_path: Path) -> None:
    plain, refused = study(tmp_path), study(tmp_path, "4 %")
    for name, each in (("press_hours", HOURS), ("paper", 5450)):
        lost = [float(s.evaluate()[s.methods["old"].lines[name]].flat[0]) for s in (plain, refused)]
        assert lost[1] - lost[0] == pytest.approx(0.04 * EACH * each)


@pytest.mark.parametrize("other", [{"tight": ""}, {"ruling": 200}])
def test_only_tight_forms_on_own_plates_are_refused(tmp_path: Path, other: dict[str, object]) -> None:
    """No tight form in the work, or one beyond the old way's 150 lpi, bought in: nothing is added."""
    plain, refused = study(tmp_path, **other), study(tmp_path, "4 %", **other)  # type: ignore[arg-type]
    assert family(refused) == pytest.approx(family(plain))


def test_shipped_methods_state_no_refusals(tmp_path: Path) -> None:
    """Nobody published a share: a shop states its own."""
    demo = build(read(Path(__file__).parents[2] / "scenarios" / "us_two_press" / "shop.toml"))
    assert not any(sheet.has("press", "refusals") for sheet in demo.methods.values())
