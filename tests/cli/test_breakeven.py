"""`roi breakeven` as a user runs it: sentences, table, JSON, what it refuses."""

import json

import pytest
from click.testing import CliRunner

from roi.cli import main
from tests.small_shop import SHOP


@pytest.fixture
def shop(tmp_path):
    path = tmp_path / "shop.toml"
    path.write_text(SHOP, encoding="utf-8")
    return path


def run(*words):
    return CliRunner().invoke(main, ["breakeven", *(str(w) for w in words)])


def test_it_prints_a_sentence_a_pair_and_what_was_looked_at(shop):
    done = run(shop)
    assert done.exit_code == 0, done.output
    text = " ".join(done.output.split())
    # 300 plates a month, from 20 to 220 per cent.
    assert "60 to 660 plates/month" in text
    assert "Compared: present cost over 7 years, after tax, in cash, USD" in text
    assert "polyester" in text.lower() and "direct" in text
    assert all(len(line) <= 80 for line in done.output.splitlines())


def test_json_and_screen_tell_the_same_crossings(shop, tmp_path):
    out = tmp_path / "out.json"
    done = run(shop, "--by", "methods.direct.plates.price_per_area", "--json", out)
    assert done.exit_code == 0, done.output
    (pair,) = json.loads(out.read_text(encoding="utf-8"))["break_even"]
    assert (
        pair["between"] == ["polyester", "direct"] and pair["key"] == "methods.direct.plates.price_per_area"
    )
    assert pair["unit"] == "USD/m²" and pair["range"][0] < pair["own"] < pair["range"][1]
    (crossing,) = pair["crossings"]
    assert set(crossing) == {"at", "kind", "below", "above"} and crossing["kind"] == "tie"
    assert (crossing["below"], crossing["above"], pair["always"]) == ("direct", "polyester", None)
    rows = [line.split() for line in done.output.splitlines() if line.lstrip().startswith("1 ")]
    assert rows == [["1", f"{crossing['at']:.4g}", "tie", "Direct", "Polyester"]]
    assert f"Written: {out}" in done.output


def test_an_unknown_key_names_close_ones(shop):
    done = run(shop, "--by", "grades.prepress.wages")
    assert done.exit_code == 2
    said = " ".join(done.stderr.split())
    assert "--by grades.prepress.wages: is no input of this scenario" in said
    assert "was one of these meant: grades.prepress.wage" in said and "1 problem to mend." in said


def test_a_bad_output_is_refused_before_anything_is_read(shop, tmp_path):
    done = run(shop, "--json", tmp_path / "out.txt")
    assert done.exit_code == 2 and "does not end in .json" in " ".join(done.stderr.split())
    assert run(shop, "--json", shop).exit_code == 2
    assert shop.read_text(encoding="utf-8") == SHOP
    assert run(tmp_path / "none.toml").exit_code == 2


def test_help_fits_80_columns():
    done = CliRunner().invoke(main, ["breakeven", "--help"])
    assert done.exit_code == 0 and all(len(line) <= 80 for line in done.output.splitlines())
