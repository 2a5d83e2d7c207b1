"""`roi claim` as a user runs it: words first, both tables, JSON, what it refuses."""

import json

import pytest
from click.testing import CliRunner

from roi.cli import main
from tests.small_shop import SHOP


@pytest.fixture
def shop(tmp_path):
    path = tmp_path / "shop.toml"
    path.write_text(SHOP.replace("[methods.direct]", "[methods.bought_in]\n\n[methods.direct]"), "utf-8")
    return path


def run(*words):
    return CliRunner().invoke(main, ["claim", *(str(w) for w in words)], env={"COLUMNS": "80"})


def test_words_first_then_tables_as_in_the_json(shop, tmp_path):
    out = tmp_path / "out.json"
    done = run(shop, "direct costs no more than 10 a plate", "--json", out, "--most", 2)
    assert done.exit_code == 0, done.output
    found = json.loads(out.read_text(encoding="utf-8"))
    said = " ".join(done.output.split())
    stands = "so" if found["so"] else "not so"
    assert said.startswith(
        "Invented shop The claim: Direct costs no more than 10 a plate (understood as USD 10 a plate). As stated it is "
        + stands
    )
    assert f"a plate costs USD {found['figure']:.2f}" in said
    met = [row for row in found["inputs"] if row["value"] is not None]
    assert f"Of {len(found['inputs'])} inputs, each moved alone, {len(met)} would" in said
    assert "This is a distance, not a chance" in said and f"Shown are the first 2 of {len(met)}" in said
    assert all(row["label"].split(",")[0] in said for row in (*met[:2], *found["joint"]["inputs"][:5]))


def test_the_method_can_be_named_either_way(shop):
    one = run(shop, "is the cheapest", "--method", "bought_in")
    other = run(shop, "bought in is the cheapest")
    assert one.exit_code == other.exit_code == 0 and one.output == other.output


def test_bad_claims_are_refused_with_what_is_understood(shop, tmp_path):
    done = run(shop, "is wonderful")
    said = " ".join(done.stderr.split())
    assert done.exit_code == 2 and "is not understood" in said and "pays back in 18 months" in said
    for text in ("laser is the cheapest", "polyester saves 5 a year", "saves 5 EUR a year"):
        assert run(shop, text).exit_code == 2
    assert run(tmp_path / "none.toml", "is the cheapest").exit_code == 2
    assert run(shop, "is the cheapest", "--json", tmp_path / "out.txt").exit_code == 2
