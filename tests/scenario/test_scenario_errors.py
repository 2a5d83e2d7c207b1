"""Bad scenarios: each fault is told with the file, the key and the mend, and all faults in one report."""

import time

import pytest

from roi.scenario.problems import BadInput
from roi.scenario.scenario import read
from tests.small_shop import SHOP


def faults(folder, more="", *changes):
    """Problems of the shop with text replaced (old, new) and text added."""
    text = SHOP + more
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path = folder / "shop.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput) as found:
        read(path)
    return found.value.problems


def test_the_shop_without_faults_is_read(tmp_path):
    path = tmp_path / "shop.toml"
    path.write_text(SHOP, encoding="utf-8")
    assert [m.id for m in read(path).methods] == ["polyester", "direct"]


LIFE = "\n[methods.direct.life]\n"
SHOPWIDE = "\n[shop]\n"


@pytest.mark.parametrize(
    ("more", "key", "what", "mend"),
    [
        (
            SHOPWIDE + 'pull_job = "3 kg"',
            "shop.pull_job",
            "kg where min/remake is wanted",
            "unit like min/remake",
        ),
        (SHOPWIDE + 'paper = "3 USD"', "shop.paper", "USD where USD/sheet is wanted", "unit like USD/sheet"),
        (
            SHOPWIDE + 'paper = "-3 USD/sheet"',
            "shop.paper",
            "-3 USD/sheet is below 0",
            "state 0 USD/sheet or more",
        ),
        (
            SHOPWIDE + 'papr = "3 USD/sheet"',
            "shop.papr",
            "is not a key known here",
            'was "shop.paper" meant?',
        ),
        (
            SHOPWIDE + 'pull_job = { best = "9 min/remake", low = "12 min/remake" }',
            "shop.pull_job",
            "low 12 min/remake is above best 9 min/remake",
            "low <= best <= high",
        ),
        (
            SHOPWIDE + 'paper = "3 EUR/sheet"',
            "shop.paper",
            "is in EUR, the scenario in USD",
            "convert it to USD",
        ),
        (SHOPWIDE + "paper = 3", "shop.paper", "3 has no unit", "write it in USD/sheet"),
        (
            LIFE + 'coated = "0 impression"',
            "methods.direct.life.coated",
            "is below 1 impression",
            "1 impression or more",
        ),
        (
            SHOPWIDE + 'pull_job = "2 9**9**9**9 min"',
            "shop.pull_job",
            "is not a unit",
            "factors joined by * and /",
        ),
        (
            SHOPWIDE + 'pull_job = "2 mn"',
            "shop.pull_job",
            '"mn" is not a unit known here',
            'was "min" meant?',
        ),
        (
            '\n[methods.processed.life]\nuncoated = "200 MIN"',
            "methods.processed.life.uncoated",
            '"MIN" is not a unit known here',
            'was "min" meant?',
        ),
        (
            '\n[methods.direct.plates.price]\nsmal = "3 USD/plate"',
            "methods.direct.plates.price.smal",
            "is not a plate size of this shop",
            'was "small" meant?',
        ),
    ],
)
def test_a_wrong_figure_is_told_with_file_key_and_mend(tmp_path, more, key, what, mend):
    problem, *same = faults(tmp_path, more)
    assert same == []
    assert problem.where == f"shop.toml, {key}"
    assert what in problem.what
    assert mend in problem.mend


@pytest.mark.parametrize(
    ("change", "where", "what", "mend"),
    [
        (('currency = "USD"', 'currency = "USX"'), "currency", '"USX" is no ISO 4217 code', " meant?"),
        (('current = "polyester"', ""), "current", "is missing", "write current = ..."),
        (
            ('current = "polyester"', 'current = "poliester"'),
            "current",
            "not among the methods",
            '"polyester"',
        ),
        (("schema = 1", "schema = 0"), "schema", "0 is too old", "bring the file up to schema 1"),
        (
            ("schema = 1", "schema = 99"),
            "schema",
            "99 is newer than this version reads (1)",
            "install a newer version",
        ),
        (("schema = 1", ""), "schema", "is missing", "write schema = 1"),
        (
            ("schema = 1", 'schema = 1\nbased_on = "shop.toml"'),
            "based_on",
            "leads back to itself",
            "stand on its own",
        ),
        (
            ("schema = 1", 'schema = 1\nbased_on = "../far.toml"'),
            "based_on",
            "leaves the folder",
            "beside the scenario",
        ),
    ],
)
def test_a_wrong_heading_is_told_with_file_key_and_mend(tmp_path, change, where, what, mend):
    (problem,) = faults(tmp_path, "", change)
    assert problem.where == f"shop.toml, {where}"
    assert what in problem.what
    assert mend in problem.mend


def test_a_log_outside_the_folder_is_refused(tmp_path):
    log = '[log]\nfile = "../log.csv"\n'
    (problem,) = faults(tmp_path, "", (SHOP[SHOP.index("[summary]") :], log))
    assert problem.where == "shop.toml, log.file"
    assert "leaves the folder of the scenario" in problem.what
    assert problem.mend == "keep the file beside the scenario"


def test_a_size_without_a_price_is_told(tmp_path):
    (problem,) = faults(tmp_path, "\n[methods.direct.plates]\nprice_per_area = false\n")
    assert problem.where == "shop.toml, methods.direct.plates.price.small"
    assert problem.what == "this size has no price"
    assert "plates.price_per_area" in problem.mend


def test_a_loop_through_another_file_is_told(tmp_path):
    (tmp_path / "other.toml").write_text('schema = 1\nbased_on = "shop.toml"\n', encoding="utf-8")
    (problem,) = faults(tmp_path, "", ("schema = 1", 'schema = 1\nbased_on = "other.toml"'))
    assert problem.where == "shop.toml, based_on"
    assert "leads back to itself" in problem.what


def test_a_unit_that_would_compute_for_ever_is_refused_at_once(tmp_path):
    started = time.monotonic()
    faults(tmp_path, SHOPWIDE + 'pull_job = "2 min**9**9**9**9"')
    assert time.monotonic() - started < 5  # seconds; computed, it would never end


def test_a_value_where_a_table_of_defaults_stands_is_told(tmp_path):
    """Found by mutation: growth = 5 took the names of the groups with it."""
    (problem,) = faults(tmp_path, "", ('currency = "USD"', 'currency = "USD"\ngrowth = 5'))
    assert problem.where == "shop.toml, growth" and "is not a key known here" in problem.what


def test_a_station_without_its_time_is_told(tmp_path):
    """Found by mutation: a station's name alone, here by the number of its units."""
    (problem,) = faults(tmp_path, "\n[methods.direct.stations.dryer]\nunits = 2\n")
    assert problem.where == "shop.toml, methods.direct.stations.dryer.fixed"
    assert problem.what == "is missing" and "2 min/plate" in problem.mend


def test_all_faults_come_in_one_report(tmp_path):
    found = faults(tmp_path, SHOPWIDE + 'paper = "-1 USD/sheet"\npull_job = "3 kg"\nwork_dys = "9 day/year"')
    assert {p.where.removesuffix(".low").removesuffix(".high") for p in found} == {
        "shop.toml, shop.paper",
        "shop.toml, shop.pull_job",
        "shop.toml, shop.work_dys",
    }


@pytest.mark.parametrize("value", ["false", "{}"])
@pytest.mark.parametrize(
    "key", ["shop.electricity", "money.horizon", "growth.wages", "press_defaults.printing_units"]
)
def test_a_default_that_nothing_can_be_reckoned_without_is_not_left_out(tmp_path, key, value):
    """Found by mutation."""
    (problem,) = faults(tmp_path, "", ('currency = "USD"', f'currency = "USD"\n{key} = {value}'))
    assert problem.where == f"shop.toml, {key}"
    assert "is left out" in problem.what and "its default counts" in problem.mend


def test_a_scenario_without_methods_is_told(tmp_path):
    (tmp_path / "shop.toml").write_text(
        SHOP[: SHOP.index("[methods")] + "[methods]\n" + SHOP[SHOP.index("[summary]") :], "utf-8"
    )
    with pytest.raises(BadInput) as found:
        read(tmp_path / "shop.toml")
    assert any(p.where == "shop.toml, methods" for p in found.value.problems)
