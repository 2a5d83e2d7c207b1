"""What to check next: ranked by loss, each with a way, and as a scenario with blanks that is read as it is once filled in."""

import json
import re
from collections import Counter

import numpy as np
import pytest

from roi.answers.blanks import BLANK, overlay
from roi.answers.confirming import UNCONFIRMED, as_json, loss_if_wrong, to_confirm, way
from roi.answers.ranges import try_ranges
from roi.model.study import build
from roi.scenario import catalogue
from roi.scenario.problems import BadInput
from roi.scenario.scenario import read
from tests.small_shop import SHOP

# Direct at its lowest price is the cheapest: the price is worth confirming. One input is confirmed, one is estimated.
CLOSE = SHOP.replace(
    "[methods.direct]",
    '[shop]\npaper = { best = "0.05 USD/sheet", status = "invoice" }\nrent = "90 USD/m2/year"\n\n'
    '[methods.polyester]\nruling_limit = { best = "150 lpi", status = "measured" }\n\n[methods.direct]\n'
    '[methods.direct.plates]\nprice_per_area = { best = "20 USD/m2", low = "2 USD/m2", high = "38 USD/m2", status = "estimate" }',
)
PRICE = "methods.direct.plates.price_per_area"


def study_of(folder, text, name="shop.toml"):
    (folder / name).write_text(text, encoding="utf-8")
    return build(read(folder / name))


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    return study_of(tmp_path_factory.mktemp("shop"), CLOSE)


def by_status(study):
    used = study.book.inputs
    return {s.key: s for s in study.scenario.inputs.values() if s.key in used}


def lever(key):
    """What only tries the answer: there is no paper that could say how much dearer all plates together shall be taken."""
    return key.split(".")[0] in ("prices", "stress")


def test_levers_are_not_to_be_confirmed(shop):
    keys = {key for key in by_status(shop) if lever(key)}
    assert keys and not keys & {one.stated.key for one in to_confirm(shop)}


def test_where_no_method_can_do_the_work_what_bars_it_comes_first(tmp_path):
    """Nothing may leave the building; the work is at 133 lpi, one method's ruling reaches 140 at best, the other's never."""
    coarse = 'ruling_limit = { best = "60 lpi", low = "50 lpi", high = "%s lpi" }'
    text = SHOP.replace("[methods.polyester.", f"[methods.polyester]\n{coarse % 140}\n[methods.polyester.")
    text = text.replace("[methods.direct]", f"[methods.direct]\n{coarse % 100}") + "confined = 1.0\n"
    study = study_of(tmp_path, text)
    found = [one.stated.key for one in to_confirm(study)]
    assert found[:2] == ["methods.polyester.ruling_limit", "methods.direct.ruling_limit"]


def test_where_one_method_alone_can_do_the_work_what_bars_the_other_comes_first(tmp_path):
    """Nothing may leave the building; the work is at 133 lpi, and today's plates hold 110."""
    ruling = '[methods.polyester]\nruling_limit = { best = "110 lpi", low = "100 lpi", high = "120 lpi" }\n\n[methods.direct]'
    study = study_of(tmp_path, SHOP.replace("[methods.direct]", ruling) + "confined = 1.0\n")
    found = [one.stated.key for one in to_confirm(study)]
    assert set(found[:2]) == {"methods.polyester.ruling_limit", "methods.direct.ruling_limit"}


def test_unconfirmed_inputs_in_use_are_listed_once(shop):
    found = Counter(one.stated.key for one in to_confirm(shop))
    wanted = [
        key for key, stated in by_status(shop).items() if stated.status in UNCONFIRMED and not lever(key)
    ]
    assert found == Counter(wanted)
    assert {PRICE, "shop.rent"} <= set(found) and "shop.paper" not in found


def test_losses_against_each_input_worked_alone(shop):
    """The loss is what the best method at best values then costs above the best other, a year, at the worst of five values."""
    losses = loss_if_wrong(shop)
    ids = list(shop.methods)
    chosen = ids[round(float(shop.evaluate()[shop.comparison.rows["winner"]][0])) - 1]
    for key in (PRICE, "growth.volume"):
        stated, worst = by_status(shop)[key], 0.0
        for value in np.linspace(stated.low, stated.high, 5):
            values = shop.evaluate({key: value * stated.factor})
            cost = {name: float(values[s.lines["equivalent"]][0]) for name, s in shop.methods.items()}
            worst = max(worst, cost[chosen] - min(cost.values()))
        assert losses[key] == pytest.approx(worst, rel=1e-9, abs=1e-6), key
    assert losses[PRICE] > 0


def test_no_loss_is_less_than_at_an_end(shop):
    """`try_ranges` works each end of each range: a lead below nought there is lost at least."""
    losses = loss_if_wrong(shop)
    for end in try_ranges(shop).ends:
        assert losses[end.stated.key] >= max(0.0, -end.lead) - 1e-6


def test_ranking_by_loss_then_by_what_is_left_of_the_lead(shop):
    found = to_confirm(shop)
    assert found[0].stated.key == PRICE
    worths = [one.worth for one in found]
    assert worths == sorted(worths, reverse=True)
    leads = [one.least_lead for one in found if one.worth == 0 and one.least_lead is not None]
    assert leads == sorted(leads) and len(leads) > 50


def test_what_knowing_is_worth_can_come_from_elsewhere(shop):
    worth = {"shop.rent": 30.0, PRICE: 7.0}
    found = to_confirm(shop, worth)
    assert [(one.stated.key, one.worth) for one in found[:2]] == [("shop.rent", 30.0), (PRICE, 7.0)]
    assert all(one.worth == 0 for one in found[2:])


def test_a_choice_that_could_not_be_carried_out_comes_first(tmp_path):
    """Nothing may leave the building: at a coarser ruling than its work today's method can do none of it."""
    text = SHOP + "confined = 1.0\n"
    study = study_of(tmp_path, text)
    first = to_confirm(study)[0]
    assert (first.stated.key, first.worth, first.least_lead) == ("methods.polyester.ruling_limit", None, None)
    assert json.loads(json.dumps(as_json(study, [first]), allow_nan=False))["to_confirm"][0]["worth"] is None


# --- the ways


def test_every_number_of_the_catalogue_has_a_way_of_its_own(shop):
    """None falls through to the last pattern, which is there for keys to come."""
    kinds = catalogue.load("confirming.toml")["kinds"]
    last = list(catalogue.load("confirming.toml"))[-1]
    general = catalogue.load("confirming.toml")[last]["words"]
    stated = by_status(shop)["shop.rent"]
    for entry in catalogue.entries():
        key = ".".join("direct" if part == "*" else part for part in entry.pattern)
        found = way(shop, type(stated)(**{**vars(stated), "key": key}))
        assert found.how in kinds and found.where in ("at the press", "at the processor", "in the office")
        assert found.status in catalogue.STATUSES
        # Nobody can confirm the years to come.
        assert (found.status in UNCONFIRMED) == (key.split(".")[0] == "growth"), key
        assert not found.words.startswith(general), key


# What each asks to be done must name what is asked for, by the labels of the catalogue.
NAMES = {
    "shop.spoiled_stock": "thrown away unused", "shop.early_share": "first two hours", "shop.early_failure": "failed",
    "shop.stop_sheets": "count the sheets", "shop.stop_per_plate": "by the plates changed", "shop.switch_packing": "switches",
    "shop.water": "water invoices", "shop.sewer": "sewer charges", "shop.waste_density": "weigh",
    "shop.overtime_premium": "overtime", "shop.cooling_cop": "air conditioning", "shop.other_hazardous": "manifests",
    "grades.*.on_cost": "on top", "presses.*.overtime": "overtime", "bought_in.rush": "rush", "bought_in.delivery": "delivery",
    "methods.*.plates.mass": "weigh", "methods.*.plates.freight": "freight", "methods.*.plates.orders": "orders",
    "methods.*.plates.hazardous_freight": "chemistry", "methods.*.plates.minimum_order": "least order",
    "methods.*.plates.pack": "pack", "methods.*.plates.price_per_area": "area", "methods.*.life.uv_factor": "such work",
    "methods.*.stations.*.warm_up": "meter", "methods.*.stations.*.warm_up_time": "switching on",
    "methods.*.stations.*.hours_on": "switched on and off", "methods.*.stations.*.touches": "how often",
    "methods.*.baths.*.volume": "tank", "methods.*.baths.*.top_up": "hours", "methods.*.baths.*.age_life": "age",
    "methods.*.streams.*.ph": "strip", "methods.*.streams.*.silver": "laboratory", "methods.*.streams.*.hours": "paperwork",
    "methods.*.streams.*.silver_credit": "recovery firm", "methods.*.items.*.credit": "buyer paid",
    "methods.*.equipment.*.resale": "dealers", "methods.*.changeover.undo": "back", "methods.*.last_year.plates": "plates",
    "leaving.stock": "shelf", "leaving.notice": "notice", "leaving.lease_months": "lease", "leaving.drain": "last pickup",
    "money.vat_rate": "accountant", "money.inflation": "forecast", "work.run_length": "run lengths",
}  # fmt: skip


def test_what_is_asked_to_be_done_fits_the_number(shop):
    stated = by_status(shop)["shop.rent"]
    found, units = {}, {}
    for entry in catalogue.entries():
        key = ".".join("direct" if part == "*" else part for part in entry.pattern)
        found[".".join(entry.pattern)] = way(shop, type(stated)(**{**vars(stated), "key": key})).words.lower()
        units[".".join(entry.pattern)] = entry.unit
    assert {key: words for key, words in NAMES.items() if words not in found[key]} == {}
    # A shop may be shown square feet.
    assert not [key for key, words in found.items() if "square met" in words]
    timed = {key for key, words in found.items() if words.startswith("time ")}
    assert len(timed) > 10 and not [key for key in timed if units[key].split("/")[0] not in ("min", "h")]
    weighed = {key for key, words in found.items() if words.startswith("weigh ")}
    assert weighed and not [key for key in weighed if not units[key].startswith("kg")]


def test_what_is_not_owned_is_not_timed_at_home(shop):
    ways = {one.stated.key: one.way for one in to_confirm(shop)}
    assert "Not owned yet" in ways["methods.direct.life.coated"].words
    assert "Not owned yet" not in ways["methods.polyester.life.coated"].words


# --- blanks


def blanks(text):
    """The lines to fill in, without their marks."""
    return [line.removeprefix("# ") for line in text.splitlines() if BLANK in line and "best =" in line]


def test_a_list_not_filled_in_changes_nothing(shop):
    folder = shop.scenario.path.parent
    (folder / "to_check.toml").write_text(overlay(shop.scenario, to_confirm(shop)), "utf-8")
    again = read(folder / "to_check.toml")
    assert again.inputs == shop.scenario.inputs
    assert again.name == "Invented shop: as checked"


def test_one_line_filled_in_changes_one_input(shop):
    folder = shop.scenario.path.parent
    text = overlay(shop.scenario, to_confirm(shop))
    key = "methods.polyester.press.tight_minutes"
    line = next(line for line in text.splitlines() if line.startswith(f"# {key} ="))
    filled = (
        line.removeprefix("# ").replace(BLANK, "3.5").replace('source = ""', 'source = "ten make-readies"')
    )
    (folder / "filled.toml").write_text(text.replace(line, filled), "utf-8")
    again = read(folder / "filled.toml")
    changed = [k for k, stated in again.inputs.items() if stated != shop.scenario.inputs[k]]
    assert [".".join(k) for k in changed] == [key]
    found = again.inputs[changed[0]]
    assert (found.status, found.source, found.best * found.factor) == (
        "measured", "ten make-readies", pytest.approx(3.5 * shop.scenario.inputs[changed[0]].factor)
    )  # fmt: skip
    assert key not in {one.stated.key for one in to_confirm(build(again))}


@pytest.mark.parametrize("units, currency", [("metric", "USD"), ("us", "USD")])
def test_every_blank_can_be_filled_in_as_it_stands(tmp_path, units, currency):
    """Each with the value it has now: all are read, none is a default any more, and no best value has moved."""
    study = study_of(tmp_path, CLOSE.replace('units = "metric"', f'units = "{units}"'))
    found = to_confirm(study)
    text = overlay(study.scenario, found)
    for one, line in zip(found, blanks(text), strict=True):
        now = repr(one.stated.best * (100 if one.stated.percent else 1))
        now = f"{float(now):.15f}".rstrip("0").rstrip(".") if "e" in now else now.removesuffix(".0")
        text = text.replace(f"# {line}", line.replace(BLANK, now))
    (tmp_path / "filled.toml").write_text(text, "utf-8")
    again = build(read(tmp_path / "filled.toml"))
    for key, stated in by_status(again).items():
        wanted = "estimate" if key.startswith("growth.") else stated.status
        assert stated.status == wanted and (
            key.startswith("growth.") or lever(key) or wanted not in UNCONFIRMED
        ), key
        assert stated.best * stated.factor == pytest.approx(study.book.inputs[key].best, rel=1e-9)
    assert {one.stated.key.split(".")[0] for one in to_confirm(again)} == {"growth"}


def test_a_blank_left_blank_is_refused_by_name(shop):
    folder = shop.scenario.path.parent
    text = overlay(shop.scenario, to_confirm(shop)[:1])
    line = blanks(text)[0]
    (folder / "left.toml").write_text(text.replace(f"# {line}", line), "utf-8")
    with pytest.raises(BadInput, match=re.escape(PRICE)):
        read(folder / "left.toml")


def test_json_is_plain(shop):
    found = to_confirm(shop)
    plain = as_json(shop, found)
    assert json.loads(json.dumps(plain, allow_nan=False)) == plain
    assert [row["rank"] for row in plain["to_confirm"]] == list(range(1, len(found) + 1))
    assert set(plain["to_confirm"][0]) == {
        "rank", "key", "label", "unit", "low", "best", "high", "status", "how", "where", "words", "worth", "worth_error",
        "least_lead"
    }  # fmt: skip
