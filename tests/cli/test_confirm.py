"""`roi confirm` as a user runs it: the list, the file with blanks filled in and read by the other commands, refusals."""

import json

import pytest
from click.testing import CliRunner

from roi.answers.risk import usual_risk
from roi.cli import main
from roi.engine.words import fixed
from roi.model.study import build
from roi.scenario.scenario import read
from tests.small_shop import SHOP

KEY = "methods.polyester.life.coated"


@pytest.fixture
def shop(tmp_path):
    path = tmp_path / "shop.toml"
    path.write_text(SHOP, encoding="utf-8")
    return path


def run(*words):
    return CliRunner().invoke(main, [str(w) for w in words], env={"COLUMNS": "80"})


def test_the_list_and_its_json(shop, tmp_path):
    out = tmp_path / "out.json"
    done = run("confirm", shop, "--most", 4, "--json", out)
    assert done.exit_code == 0, done.output
    found = json.loads(out.read_text(encoding="utf-8"))
    assert [row["rank"] for row in found["to_confirm"]] == [1, 2, 3, 4]
    said = " ".join(done.output.split())
    assert "in use still a default or an estimate" in said and "Shown are the first 4 of " in said
    for row in found["to_confirm"]:
        assert row["words"] in said


def test_a_list_filled_in_is_checked_and_compared_as_it_is(shop, tmp_path):
    listed = tmp_path / "to_check.toml"
    done = run("confirm", shop, "--most", 500, "-o", listed)
    assert done.exit_code == 0 and f"Written: {listed}" in done.output
    text = listed.read_text(encoding="utf-8")
    line = next(line for line in text.splitlines() if line.startswith(f"# {KEY} ="))
    listed.write_text(text.replace(line, line[2:].replace("____", "1,000")), encoding="utf-8")
    checked = run("check", listed)
    assert checked.exit_code in (0, 1), (
        checked.output
    )  # 1: such a short life may well be told as a likely mistake
    asked = run("explain", listed, KEY)
    assert asked.exit_code == 0 and "measured" in asked.output
    json_of = {}
    for path in (shop, listed):
        out = tmp_path / f"{path.stem}.json"
        # Claims are worked on the whole book without a workbook: quick, and enough to see that the number counts.
        assert run("claim", path, "direct saves 1 a year", "--json", out).exit_code == 0
        json_of[path.stem] = json.loads(out.read_text(encoding="utf-8"))
    rows = {row["key"]: row["best"] for row in json_of["to_check"]["inputs"]}
    old = {row["key"]: row["best"] for row in json_of["shop"]["inputs"]}
    assert rows[KEY] == 1000 and {k for k in old if rows[k] != old[k]} == {KEY}
    assert json_of["to_check"]["figure"] > json_of["shop"]["figure"]


def test_a_list_is_never_written_over_and_stands_beside_its_scenario(shop, tmp_path):
    listed = tmp_path / "to_check.toml"
    listed.write_text("filled in", encoding="utf-8")
    done = run("confirm", shop, "-o", listed)
    assert done.exit_code == 2 and "is there already" in " ".join(done.stderr.split())
    assert listed.read_text(encoding="utf-8") == "filled in"
    (tmp_path / "elsewhere").mkdir()
    done = run("confirm", shop, "-o", tmp_path / "elsewhere" / "to_check.toml")
    assert done.exit_code == 2 and "is not in the folder" in " ".join(done.stderr.split())
    done = run("confirm", shop, "-o", shop)
    assert done.exit_code == 2 and shop.read_text(encoding="utf-8") == SHOP
    assert run("confirm", shop, "-o", tmp_path / "list.txt").exit_code == 2


def test_ranked_by_what_knowing_is_worth(tmp_path):
    """What the draws of `roi risk` say each input is worth knowing decides the order."""
    path, out = tmp_path / "shop.toml", tmp_path / "out.json"
    # Both can do the work in every draw: today's plates hold its ruling.
    price = '[methods.direct.plates]\nprice_per_area = { best = "12 USD/m2", low = "2 USD/m2", high = "38 USD/m2" }'
    wide = f'[methods.polyester]\nruling_limit = "175 lpi"\n{price}'
    path.write_text(SHOP.replace("[methods.direct]", f"[methods.direct]\n{wide}"), encoding="utf-8")
    done = run("confirm", path, "--drawn", "--json", out)
    assert done.exit_code == 0, done.output
    found = json.loads(out.read_text(encoding="utf-8"))
    worths = [row["worth"] for row in found["to_confirm"]]
    assert found["basis"] == "worth_of_knowing" and worths == sorted(worths, reverse=True)
    study = build(read(path))
    every = usual_risk(study).knowing
    # Two standard errors: below, nothing but noise is told.
    known = {
        key: one.value for one in every if one.value > 2 * one.error and one.value >= 0.5 for key in one.keys
    }
    noise = {key for one in every if one.value > 0 for key in one.keys} - set(known)
    assert noise and not noise & {row["key"] for row in found["to_confirm"] if row["worth"] > 0}
    errors = {key: one.error for one in every for key in one.keys}
    first = found["to_confirm"][0]
    assert first["worth_error"] == pytest.approx(errors[first["key"]])
    row = next(line for line in done.output.splitlines() if line.startswith(" 1  "))
    assert [fixed(first["worth"], 0), fixed(first["worth_error"], 0)] == row.split()[-3:-1]
    assert {row["key"]: row["worth"] for row in found["to_confirm"]} == {
        row["key"]: pytest.approx(known.get(row["key"], 0.0)) for row in found["to_confirm"]
    }
    assert worths[0] > 0 and "Worth: what the choice would gain" in " ".join(done.output.split())
