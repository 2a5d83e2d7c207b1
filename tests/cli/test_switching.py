"""`roi switching` as a user runs it: sentences, the table, JSON, the full-cost view, what it refuses."""

import json
import re

import pytest
from click.testing import CliRunner

from roi.cli import main
from tests.small_shop import SHOP

# Direct at a low price is the cheapest.
CLOSE = SHOP.replace(
    "[methods.direct]",
    "[methods.direct]\n"
    '[methods.direct.plates]\nprice_per_area = { best = "20 USD/m2", low = "2 USD/m2", high = "38 USD/m2" }',
)


@pytest.fixture
def shop(tmp_path):
    path = tmp_path / "shop.toml"
    path.write_text(CLOSE, encoding="utf-8")
    return path


def run(*words):
    return CliRunner().invoke(main, ["switching", *(str(w) for w in words)], env={"COLUMNS": "80"})


def test_words_first_then_the_inputs_by_share_of_their_range(shop, tmp_path):
    out = tmp_path / "out.json"
    done = run(shop, "--json", out)
    assert done.exit_code == 0, done.output
    found = json.loads(out.read_text(encoding="utf-8"))
    said = " ".join(done.output.split())
    count = len(found["inputs"])
    met = [row for row in found["inputs"] if row["below"] or row["above"]]
    assert said.startswith("Invented shop Polyester is the cheapest in cash.")
    assert f"Of {count} inputs, each searched alone, {len(met)} would change that" in said
    assert f"{count - len(met)} do not switch it." in said
    price = next(row for row in found["inputs"] if row["key"] == "methods.direct.plates.price_per_area")
    assert "turn the answer: " in said
    assert f"{price['label']} at {price['below']['told']:.12g} USD/m2 or less (direct)" in said.replace(
        "²", "2"
    )
    rows = [line for line in done.output.splitlines() if re.search(r"  (Direct|Polyester)$", line)]
    assert len(rows) == len(met)
    # Change in per cent of best and of the range stand in the last columns before the method.
    shares = [re.split(r"  +", line.strip())[-2] for line in rows]
    numbers = [float(text.replace(",", "")) for text in shares if text != "none"]
    assert numbers == sorted(numbers)
    first = min(
        (switch for row in met for switch in (row["below"], row["above"]) if switch),
        key=lambda switch: switch["change_needed_share_of_own_range"] or 1e9,
    )
    assert numbers[0] == pytest.approx(100 * first["change_needed_share_of_own_range"], abs=0.5)
    assert f"Written: {out}" in done.output


def test_full_cost_is_another_view(shop, tmp_path):
    out = tmp_path / "out.json"
    done = run(shop, "--full", "--json", out)
    assert done.exit_code == 0, done.output
    assert json.loads(out.read_text(encoding="utf-8"))["view"] == "full"
    assert "at full cost" in done.output and "in cash" not in done.output


def test_bad_files_are_refused(shop, tmp_path):
    assert run(tmp_path / "none.toml").exit_code == 2
    done = run(shop, "--json", tmp_path / "out.txt")
    assert done.exit_code == 2 and "does not end in .json" in " ".join(done.stderr.split())


@pytest.mark.parametrize("words", [["switching", "--help"], ["confirm", "--help"], ["claim", "--help"]])
def test_help_fits_80_columns(words):
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 0 and all(len(line) <= 80 for line in done.output.splitlines())
