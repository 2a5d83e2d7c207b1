"""The JSON result: its keys as documented, flows against a general library, notes on what is missing."""

import json

import numpy_financial as npf
import pytest

from roi.answers.compare import as_json
from roi.model.study import build
from roi.scenario.scenario import read
from tests.small_shop import SHOP


def result(folder, more="", old="", new=""):
    path = folder / "shop.toml"
    path.write_text((SHOP + more).replace(old, new), encoding="utf-8")
    study = build(read(path))
    return as_json(study, study.evaluate())


TOP = {
    "chance_of_cheapest",
    "schema",
    "version",
    "scenario",
    "currency",
    "basis",
    "horizon_years",
    "current",
    "cheapest",
    "cheapest_full_cost",
    "methods",
    "defaults_in_use",
    "checks",
}
METHOD = {
    "too_slow",
    "label",
    "feasible",
    "first_cost",
    "running_cost_year_1",
    "running_cost_by_family",
    "plates_called_for_per_year",
    "plates_imaged_per_year",
    "plates_bought_in_per_year",
    "area_imaged_m2_per_year",
    "press_stops_per_year",
    "present_cost",
    "present_cost_full",
    "equivalent_annual_cost",
    "cost_per_plate",
    "cost_per_1000_impressions",
    "cost_per_job",
    "cash_flow",
    "cash_flow_before_tax",
    "against_current",
    "notes",
}
AGAINST = {
    "npv_of_savings",
    "irr",
    "mirr",
    "savings_to_investment",
    "simple_payback_years",
    "discounted_payback_years",
    "cash_flow",
}


def test_the_keys_are_those_documented(tmp_path):
    found = result(tmp_path)
    assert set(found) == TOP
    assert (found["schema"], found["basis"], found["currency"]) == (1, "after_tax", "USD")
    assert all(set(method) == METHOD for method in found["methods"].values())
    assert set(found["methods"]["direct"]["against_current"]) == AGAINST
    assert found["methods"]["polyester"]["against_current"] is None
    assert any("is the current method" in note for note in found["methods"]["polyester"]["notes"])
    assert all(set(check) == {"name", "ok"} and check["ok"] is True for check in found["checks"])
    assert found["methods"]["direct"]["feasible"] is True
    assert json.loads(json.dumps(found, allow_nan=False)) == found


def test_flows_end_at_the_horizon_and_discount_to_the_present_cost(tmp_path):
    """numpy-financial's npv, at the stated 8 % a year: year 0 is not discounted there either."""
    found = result(tmp_path, '\n[money]\nhorizon = "6 year"\ndiscount_rate = "8 %/year"\n')
    assert found["horizon_years"] == 6
    for method in found["methods"].values():
        assert len(method["cash_flow"]) == len(method["cash_flow_before_tax"]) == 7
        assert -npf.npv(0.08, method["cash_flow"]) == pytest.approx(method["present_cost"], rel=1e-12)
        assert sum(method["running_cost_by_family"].values()) == pytest.approx(method["running_cost_year_1"])
        # The level payment worth the present cost, over 6 years.
        assert -npf.pmt(0.08, 6, method["present_cost"]) == pytest.approx(method["equivalent_annual_cost"])
    saved = found["methods"]["direct"]["against_current"]
    assert npf.npv(0.08, saved["cash_flow"]) == pytest.approx(saved["npv_of_savings"], abs=1e-6)


def test_cheapest_is_the_id_with_the_lowest_present_cost(tmp_path):
    found = result(tmp_path)
    for key, cost in (("cheapest", "present_cost"), ("cheapest_full_cost", "present_cost_full")):
        assert found[key] == min(found["methods"], key=lambda m: found["methods"][m][cost])


def test_plates_called_for_are_those_stated(tmp_path):
    """300 plates a month are 3,600 a year."""
    for method in result(tmp_path)["methods"].values():
        assert method["plates_called_for_per_year"] == pytest.approx(3600)


def test_a_measure_that_does_not_exist_is_none_with_a_note(tmp_path):
    """Plates bought in take no machine: nothing is invested, so there is neither a ratio nor a rate."""
    method = result(tmp_path, "\n[methods.bought_in]\n")["methods"]["bought_in"]
    saved, notes = method["against_current"], " ".join(method["notes"])
    assert saved["irr"] is None and "no internal rate of return" in notes
    assert saved["savings_to_investment"] is None and "no savings-to-investment ratio" in notes
    assert saved["simple_payback_years"] is None and "not paid back within 7 years" in notes


def test_what_cannot_be_done_is_not_feasible_and_never_cheapest(tmp_path):
    """Work that may not leave the building can't be bought in."""
    method = "\n[methods.bought_in]\n"
    found = result(tmp_path, method, "runs = {", "confined = 0.1\nruns = {")
    assert found["methods"]["bought_in"]["feasible"] is False
    method = found["methods"]["bought_in"]
    assert method["notes"][0].startswith("not feasible: ") and "must not leave" in method["notes"][0]
    assert method["against_current"] is None
    assert "no measures against the current method: this method is not feasible" in method["notes"]
    assert "bought_in" not in (found["cheapest"], found["cheapest_full_cost"])


def test_nothing_is_cheapest_when_nothing_can_be_done(tmp_path):
    """A plate format no machine takes, and work that may not leave."""
    text = SHOP.replace(
        "[methods.direct]",
        "[methods.direct]\nlargest_format = '60 mm x 80 mm'\n"
        "[methods.polyester]\nlargest_format = '60 mm x 80 mm'",
    )
    path = tmp_path / "shop.toml"
    path.write_text(text.replace("runs = {", "confined = 0.1\nruns = {"), encoding="utf-8")
    study = build(read(path))
    found = as_json(study, study.evaluate())
    assert found["cheapest"] is None and found["cheapest_full_cost"] is None


@pytest.mark.parametrize(
    ("limit", "more", "says"),
    [
        (
            "largest_format = '60 mm x 80 mm'",
            "",
            "its largest format, 60 x 80 mm, is smaller than the plates of 330 x 492 mm",
        ),
        (  # 330 / 25.4 = 12.992, 492 / 25.4 = 19.370
            "largest_format = '5 in x 9 1/2 in'",
            "us",
            "its largest format, 5 x 9.5 in, is smaller than the plates of 12.992 x 19.37 in",
        ),
        ("ruling_limit = '60 lpi'", "", "rulings of up to 133 lpi are above its limit of 60 lpi"),
        ("cannot_serve = ['uv']", "", "it can't serve work with UV ink"),
    ],
)
def test_what_bars_a_method_is_named(tmp_path, limit, more, says):
    path = tmp_path / "shop.toml"
    text = SHOP.replace("[methods.direct]", "[methods.direct]\n" + limit)
    text = text.replace("runs = {", "uv = 1.0\nruns = {") if "uv" in limit else text
    path.write_text(text.replace('"metric"', '"us"') if more else text, encoding="utf-8")
    study = build(read(path))
    method = as_json(study, study.evaluate())["methods"]["direct"]
    assert method["feasible"] is False
    assert method["notes"][0] == f"not feasible: every form is out of its reach: {says}"


def test_nothing_is_measured_against_a_current_method_that_cannot_do_the_work(tmp_path):
    found = result(tmp_path, "\n[methods.polyester]\nlargest_format = '60 mm x 80 mm'\n")
    assert found["methods"]["polyester"]["feasible"] is False
    direct = found["methods"]["direct"]
    assert direct["feasible"] is True and direct["against_current"] is None
    assert direct["notes"] == ["no measures against the current method: the current method is not feasible"]


def test_defaults_in_use_are_those_nobody_stated(tmp_path):
    before, after = result(tmp_path), result(tmp_path, '\n[shop]\nwork_days = "250 day/year"\n')
    assert set(before["defaults_in_use"]) - set(after["defaults_in_use"]) == {"shop.work_days"}
    assert "methods.polyester.equipment.line.years_left" not in before["defaults_in_use"]
