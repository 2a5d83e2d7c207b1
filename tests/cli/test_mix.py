"""`roi mix`: what it prints, what it hides until asked, what it refuses."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from roi.cli import main
from tests.answers.bare_shop import HEAD, WORK, method

DEMO = Path(__file__).parents[2] / "scenarios" / "us_two_press" / "shop.toml"


def roi(*args: object) -> Result:
    return CliRunner().invoke(main, [str(a) for a in args], catch_exceptions=False)


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    path = tmp_path / "shop.toml"
    path.write_text(HEAD + method("a", 1, 5, 100) + method("b", 4, 2, 300) + WORK, encoding="utf-8")
    return path


def test_it_tells_the_mix_in_words_then_in_tables(shop: Path) -> None:
    result = roi("mix", shop)
    assert result.exit_code == 0
    said = " ".join(result.output.split())
    assert "A mixed plan costs less: A for First; B for Second. It costs USD 2,800 a year" in said
    assert "A alone 4,300 0 4,300 4,300 4,300" in said and "A + B 2,800 0 2,800 2,800 2,800" in said
    assert "First A its method 1,200 1,200 - -" in said and "Second B its method 600 600 - -" in said
    assert max(map(len, result.output.splitlines())) <= 120


def test_job_numbers_are_shown_only_when_asked(tmp_path: Path) -> None:
    plain, named = tmp_path / "plain.json", tmp_path / "named.json"
    hidden = roi("mix", DEMO, "--owned", "polyester,direct", "--json", plain)
    shown = roi("mix", DEMO, "--owned", "polyester,direct", "--names", "--json", named)
    forms = json.loads(named.read_text("utf-8"))["costliest_forms_out_of_reach"]
    assert len(forms) == 10
    for form in forms:
        assert form["job"] and form["job"] in shown.output and form["job"] not in hidden.output
        assert f"{form['row']}" in hidden.output
    assert "job" not in json.loads(plain.read_text("utf-8"))["costliest_forms_out_of_reach"][0]


def test_the_rows_told_are_those_of_the_log(tmp_path: Path) -> None:
    """The file itself, read as text: the row told holds the job told."""
    out = tmp_path / "named.json"
    roi("mix", DEMO, "--names", "--owned", "polyester,direct", "--json", out)
    lines = (DEMO.parent / "job_log.csv").read_text("utf-8").splitlines()
    for form in json.loads(out.read_text("utf-8"))["costliest_forms_out_of_reach"]:
        assert form["job"] in lines[form["row"] - 1]


def test_json_holds_the_plan(shop: Path, tmp_path: Path) -> None:
    out = tmp_path / "mix.json"
    assert roi("mix", shop, "--json", out).exit_code == 0
    told = json.loads(out.read_text("utf-8"))
    assert told["mix_is_cheapest"] == {"cash": True, "full": True} and told["assignments_tried"] == 4
    assert told["best_mix"]["cash"]["present_cost"]["cash"] == pytest.approx(2800)
    assert [(p["press"], p["method"], p["forms"]) for p in told["best_mix"]["cash"]["presses"]] == [
        ("first", "a", pytest.approx(1200)), ("second", "b", pytest.approx(600)),
    ]  # fmt: skip


def test_methods_that_are_not_there_are_refused(shop: Path) -> None:
    result = roi("mix", shop, "--owned", "a,c")
    assert result.exit_code == 2
    assert '"c" is not among the methods' in result.output and "mend:" in result.output
