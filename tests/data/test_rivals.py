"""Rival methods as data: each loads beside another, is worked, and says what it is based on; what is based on itself is told."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from roi.answers.case import Case
from roi.answers.checks import results
from roi.answers.mistakes_machines import stay_without_baths
from roi.model.study import Study, build
from roi.scenario.catalogue import data_file
from roi.scenario.files import shipped_method, shipped_methods
from roi.scenario.problems import BadInput
from roi.scenario.scenario import Scenario, read
from tests.small_shop import SHOP

RIVALS = (
    *("processed_tuned", "processed_new", "processed_used", "on_press", "gum_only", "polyester_dry"),
    *("polyester_new", "short_runs_digital"),
)
BASES = {
    "processed_tuned": "processed", "processed_new": "processed", "processed_used": "processed", "on_press": "processed",
    "gum_only": "on_press", "polyester_dry": "polyester", "polyester_new": "polyester", "short_runs_digital": "processed",
}  # fmt: skip


def scenario(folder: Path, more: str) -> Scenario:
    (folder / "shop.toml").write_text(SHOP + more, encoding="utf-8")
    return read(folder / "shop.toml")


def own(name: str) -> dict[str, object]:
    return tomllib.loads(data_file("methods", f"{name}.toml").read_text("utf-8"))


@pytest.mark.parametrize("name", RIVALS)
def test_a_rival_is_worked_beside_the_others(tmp_path: Path, name: str) -> None:
    # A summary's forms are at 133 lpi, which the dry one does not reach by itself.
    finer = 'ruling_limit = "133 lpi"\n' if name == "polyester_dry" else ""
    made: Study = build(scenario(tmp_path, f"[methods.{name}]\n{finer}"))
    values = made.evaluate()
    lines = made.methods[name].lines
    assert values[lines["feasible"]][0] == 1
    assert values[lines["imaged"]][0] > 0 and values[lines["present"]][0] > 0
    assert all(ok for _, ok in results(made, values))
    assert made.scenario.method(name).cautions


def test_the_dry_one_reaches_100_lpi_and_no_more(tmp_path: Path) -> None:
    made = build(scenario(tmp_path, "[methods.polyester_dry]\n"))
    values, lines = made.evaluate(), made.methods["polyester_dry"].lines
    assert values[lines["out_forms"]][0] == pytest.approx(values[made.shop.forms][0])
    limit = made.scenario.stated("methods", "polyester_dry", "ruling_limit")
    assert limit is not None and (limit.best, limit.low, limit.high) == (100, 85, 120)


@pytest.mark.parametrize("name", RIVALS)
def test_a_file_says_only_what_differs(name: str) -> None:
    """Read again with the standard library: no figure repeats that of the file it is based on."""

    def repeated(tree: dict[str, object], below: dict[str, object], at: str = "") -> list[str]:
        found = []
        for key, value in tree.items():
            under = below.get(key)
            if isinstance(value, dict) and isinstance(under, dict) and "best" not in value:
                found += repeated(value, under, f"{at}{key}.")
            elif value == under and key not in ("schema", "source"):
                found.append(at + key)
        return found

    assert own(name)["use"] == BASES[name]
    assert repeated(own(name), shipped_method(BASES[name])) == []


def test_what_a_variant_leaves_out_is_gone_and_the_rest_is_its_bases(tmp_path: Path) -> None:
    dry = scenario(tmp_path, "[methods.polyester_dry]\n[methods.gum_only]\n[methods.on_press]\n")
    assert dry.names("methods", "polyester_dry", "baths") == dry.names("methods", "on_press", "streams") == ()
    assert dry.names("methods", "gum_only", "baths") == ("gum",)
    assert dry.names("methods", "on_press", "stations") == ("imager",)
    assert not dry.has("methods", "gum_only", "press", "loose_sheets")
    for name, base, key in (
        ("polyester_dry", "polyester", "reprint_reuse"),
        ("gum_only", "on_press", "life.coated"),
        ("on_press", "processed", "ruling_limit"),
    ):
        stated = dry.stated("methods", name, *key.split("."))
        under = shipped_method(base)
        for part in key.split("."):
            under = under[part]
        assert stated is not None and stated.source == under["source"]  # type: ignore[index]
        assert stated.where.startswith(f"the shipped method {name},")


def test_hand_gumming_is_two_lines_of_a_scenario(tmp_path: Path) -> None:
    """As the file's own comment says."""
    made = scenario(tmp_path, "[methods.gum_only]\nequipment.gum_unit = false\nstations.gum_unit = false\n")
    assert made.names("methods", "gum_only", "equipment") == ("setter",)
    assert build(made).evaluate()


def test_under_a_name_of_ones_own(tmp_path: Path) -> None:
    made = scenario(
        tmp_path,
        '[methods.tuned]\nuse = "processed_tuned"\nshort = "Ours"\n[methods.tuned.equipment.setter]\nyears_left = "3 year"\n',
    )
    hours = made.stated("methods", "tuned", "stations", "processor", "hours_on")
    assert hours is not None and hours.best == 1.6
    assert made.method("tuned").label == "Processed metal plates, tuned"


def test_a_file_beside_the_scenario_may_be_based_on_another(tmp_path: Path) -> None:
    (tmp_path / "ours.toml").write_text(
        'schema = 1\nuse = "theirs.toml"\nlabel = "Ours"\nshort = "Ours"\n', "utf-8"
    )
    (tmp_path / "theirs.toml").write_text(
        'schema = 1\nuse = "processed_used"\nlabel = "Theirs"\nitems.water = false\n[plates]\nspare = false\n',
        "utf-8",
    )
    with pytest.raises(BadInput) as bad:
        scenario(tmp_path, '[methods.metal]\nuse = "ours.toml"\n[methods.metal.plates]\nspares = "1 USD"\n')
    assert [p.where for p in bad.value.problems] == ["shop.toml, methods.metal.plates.spares"]
    made = scenario(tmp_path, '[methods.metal]\nuse = "ours.toml"\n')
    assert made.method("metal").label == "Ours"
    assert "water" not in made.names("methods", "metal", "items")
    life = made.stated("methods", "metal", "equipment", "setter", "life")
    assert life is not None and life.best == 4 and life.where.startswith("the shipped method processed_used,")


@pytest.mark.parametrize(
    ("files", "where", "what"),
    [
        ({"a": "a.toml"}, "a.toml, use", "a.toml leads back to itself"),
        ({"a": "b.toml", "b": "a.toml"}, "b.toml, use", "a.toml leads back to itself"),
        ({"a": "proccessed"}, "a.toml, use", "'proccessed' is not a method known here"),
        ({"a": 3}, "a.toml, use", "3 is not a method known here"),
    ],
)
def test_a_method_based_on_itself_or_on_nothing_is_told(
    tmp_path: Path, files: dict[str, object], where: str, what: str
) -> None:
    for name, use in files.items():
        stated = f'"{use}"' if isinstance(use, str) else use
        (tmp_path / f"{name}.toml").write_text(f'schema = 1\nuse = {stated}\nlabel = "{name}"\n', "utf-8")
    with pytest.raises(BadInput) as bad:
        scenario(tmp_path, '[methods.mine]\nuse = "a.toml"\n')
    problem = next(p for p in bad.value.problems if p.where == where)
    assert problem.what == what and problem.mend


def test_no_shipped_file_is_based_on_itself() -> None:
    """Followed by hand: each chain of `use` ends within as many steps as there are files."""
    for name in shipped_methods():
        steps: list[str] = [name]
        while (base := own(steps[-1]).get("use")) is not None:
            assert isinstance(base, str) and base not in steps
            steps.append(base)


def test_the_rivals_stand_as_their_trade_says(tmp_path: Path) -> None:
    """Used lasts less than new and costs less; no processor, no developer; plating twice a week uses less developer."""
    made = build(scenario(tmp_path, "".join(f"[methods.{n}]\n" for n in ("processed", *RIVALS))))
    values = made.evaluate()

    def figure(name: str, key: str) -> float:
        return float(values[made.methods[name].lines[key]].ravel()[0])

    def stated(name: str, *key: str) -> float:
        found = made.scenario.stated("methods", name, *key)
        assert found is not None
        return found.best

    for key in ("life", "price"):
        setter = ("equipment", "setter", key)
        assert stated("processed_used", *setter) < stated("processed_new", *setter)
    kinds = [
        made.scenario.text("methods", n, "equipment", "setter", "bought")
        for n in ("processed_used", "processed_new")
    ]
    assert kinds == ["used", "new"]
    assert figure("processed_tuned", "running_1") < figure("processed", "running_1")
    litres = {
        name: sum(
            float(values[u.amount].ravel()[1]) for u in made.methods[name].used if u.label == "Developer"
        )
        for name in ("processed", "processed_tuned", "on_press")
    }
    assert litres["processed"] > litres["processed_tuned"] > litres["on_press"] == 0
    assert (
        figure("polyester_new", "first_cost") > figure("polyester", "first_cost") == 0
    )  # owned, for years yet


@pytest.mark.parametrize("name", ["on_press", "gum_only", "polyester_dry", "processed_tuned"])
def test_a_current_method_without_baths_is_not_taken_for_its_base(tmp_path: Path, name: str) -> None:
    """`roi check` asks for the baths a kind of line has: those of this file, not of the one it is based on."""
    text = SHOP.replace('current = "polyester"', f'current = "{name}"') + f"[methods.{name}]\n"
    (tmp_path / "shop.toml").write_text(text, encoding="utf-8")
    made = build(read(tmp_path / "shop.toml"))
    assert not list(stay_without_baths(Case(made, made.evaluate())))
    if name == "processed_tuned":  # a bath left out of one that has them is still told
        (tmp_path / "shop.toml").write_text(text + "baths.gum = false\n", encoding="utf-8")
        made = build(read(tmp_path / "shop.toml"))
        assert ["Gum" in p.what for p in stay_without_baths(Case(made, made.evaluate()))] == [True]
