"""`roi risk` as a user runs it: sentences first, tables, JSON, options, progress, what it refuses."""

import json

import pytest
from click.testing import CliRunner

from roi.answers.risk import risk
from roi.cli import main
from roi.cli.risk import methods
from roi.engine.words import fixed
from roi.model.study import build
from roi.scenario.risk import risk_settings
from roi.scenario.scenario import read
from tests.small_shop import SHOP

# Direct is cheaper or dearer by its plate price, and both can do the work in every draw.
CLOSE = SHOP.replace(
    "[methods.direct]",
    '[methods.direct]\nruling_limit = "175 lpi"\n'
    '[methods.direct.plates]\nprice_per_area = { best = "12 USD/m2", low = "2 USD/m2", high = "30 USD/m2" }',
).replace(
    "[methods.polyester.",
    '[methods.polyester]\nruling_limit = { best = "150 lpi", low = "150 lpi", high = "150 lpi" }\n'
    "[methods.polyester.",
)
FEW = ("--draws", "500", "--seed", "3")


@pytest.fixture
def shop(tmp_path):
    path = tmp_path / "shop.toml"
    path.write_text(CLOSE, encoding="utf-8")
    return path


def run(*words):
    return CliRunner().invoke(main, ["risk", *(str(w) for w in words)], env={"COLUMNS": "80"})


def test_words_come_first_and_the_tables_hold_what_the_json_holds(shop, tmp_path):
    out = tmp_path / "out.json"
    done = run(shop, *FEW, "--json", out)
    assert done.exit_code == 0, done.output
    lines, found = done.output.splitlines(), json.loads(out.read_text(encoding="utf-8"))
    assert found["settings"] == {"draws": 500, "seed": 3, "shape": "pert", "together": 0.5}
    said = " ".join(" ".join(lines[: lines.index("", 2)]).split())
    best = {"polyester": "Polyester", "direct": "Direct"}[found["best"]]
    chance = found["methods"][found["best"]]["chance"]
    # By hand: the standard error of a share p of n draws is the root of p (1 - p) / n.
    error = (chance * (1 - chance) / 500) ** 0.5
    assert error > 0.005
    told = f"{fixed(chance * 100, 0)} % +- {fixed(error * 100, 0)} % of the draws in cash"
    assert f"{best} is the cheapest in {told}" in said
    assert said.startswith("Invented shop Too close to call: ") == (chance < 0.8)
    assert "500 times (seed 3)" in said
    row = next(line for line in lines if line.startswith("Direct "))
    saving, regret = (found["methods"]["direct"][key] for key in ("saving", "regret"))
    figures = [fixed(saving[p], 0) for p in ("p10", "p50", "p90")]
    assert row.split()[-4:] == [*figures, fixed(regret, 0)]
    shares = [s for s in found["variance"]["shares"] if s["keys"]]
    assert any(shares[0]["label"].startswith(line.split("  ")[0][:20]) for line in lines if line.strip())
    assert f"n (d + 2) with n = 1,024 and d = {len(found['variance']['shares'])}" in " ".join(lines)
    heads = next(line for line in lines if line.startswith("Input or group"))
    assert heads.split()[-5:] == ["Alone", "+-", "In", "all", "+-"]
    first = [f"{fixed(shares[0][k] * 100, 1)} %" for k in ("first", "first_error", "total", "total_error")]
    row = next(line for line in lines[lines.index(heads) :] if line.startswith(shares[0]["label"][:30]))
    assert row.split()[-8:] == " ".join(first).split()
    assert all(len(line) <= 80 for line in lines if "Written" not in line)


def test_every_label_of_the_worths_and_shares_is_told_in_order(shop):
    done = run(shop, *FEW)
    study = build(read(shop))
    settings = risk_settings(study.scenario)
    found = risk(study, type(settings)(500, 3, "pert", 0.5))
    assert found.knowing[0].value > 0
    text = done.output
    worth = text[text.index("What knowing an input") :]
    assert worth.index(found.knowing[0].label[:30]) < worth.index(found.knowing[1].label[:30])
    assert "\n".join(methods(study, found)) in text


def test_the_same_seed_tells_the_same_and_another_does_not(shop):
    assert run(shop, *FEW).output == run(shop, *FEW).output
    assert run(shop, *FEW).output != run(shop, "--draws", "500", "--seed", "4").output


def test_the_scenario_states_what_the_options_leave_out(shop):
    with shop.open("a", encoding="utf-8") as file:
        file.write('[risk]\ndraws = 400\nseed = 9\nshape = "triangular"\ntogether = 0\n')
    text = " ".join(run(shop).output.split())
    assert "each from a triangle over its own range, 400 times (seed 9); in 0 % of the draws" in text
    text = " ".join(run(shop, "--shape", "pert", "--seed", "0").output.split())
    assert "each from a PERT curve over its own range, 400 times (seed 0)" in text


@pytest.mark.parametrize(
    "words", [("--draws", "99"), ("--draws", "many"), ("--seed", "-1"), ("--shape", "flat")]
)
def test_options_that_can_not_be_are_refused(shop, words):
    done = run(shop, *words)
    assert done.exit_code == 2 and words[0] in done.output


def test_a_wrong_setting_is_refused_with_its_mend(shop):
    with shop.open("a", encoding="utf-8") as file:
        file.write("[risk]\ntogether = 2\n")
    done = run(shop)
    assert done.exit_code == 2
    assert "shop.toml, risk.together: 2 can't be used" in done.output and "mend: " in done.output


def test_json_does_not_overwrite_the_scenario(shop):
    assert run(shop, "--json", shop).exit_code == 2
    assert shop.read_text(encoding="utf-8") == CLOSE


def test_progress_is_told_in_cases(shop, monkeypatch):
    """Beyond a second, at a terminal, a line on stderr counts the cases; here every step that could be shown."""
    from roi.cli import reading

    steps = []
    monkeypatch.setattr(reading.Progress, "step", lambda self, doing: steps.append(doing))
    assert run(shop, *FEW).exit_code == 0
    counted = [step for step in steps if step.startswith("Drawing and judging: ")]
    assert counted[0].startswith("Drawing and judging: 500 of ") and len(counted) > 2
