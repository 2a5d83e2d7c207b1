"""Every shipped number is readable, in its unit, in its limits and sourced; every name referred to exists.

The judge is `faults`, a check of its own beside the scenario reader; each kind of fault is planted once
to see it found.
"""

import copy
import math
import re
from collections.abc import Iterator
from typing import Any

import pytest

from roi.scenario import catalogue
from roi.scenario.catalogue import Entry
from roi.scenario.files import Key, Raw
from roi.scenario.problems import Problem
from roi.scenario.tax import read_schedule
from roi.scenario.things import FLAGS
from roi.units.quantity import UnreadableQuantity, factor, read_size, read_unit, split_number
from roi.units.unit import Unit

METHODS = (
    *("direct", "polyester", "processed", "bought_in", "processed_tuned", "processed_new", "processed_used"),
    *("on_press", "gum_only", "polyester_dry", "polyester_new", "short_runs_digital"),
)
SCHEDULES = (
    *("none", "straight_line", "declining_balance", "declining_balance_switch"),
    *("us_macrs_3", "us_macrs_5", "us_macrs_7"),
    *(f"us_macrs_{life}_q{quarter}" for life in (5, 7) for quarter in (1, 2, 3, 4)),
    *("us_first_year_100", "us_first_year_40", "us_first_year_20"),
    *("uk_main_pool", "uk_main_pool_2025", "uk_first_year_40", "uk_annual_investment_allowance"),
    "ca_class_8",
)
NUMBER_KEYS = {"best", "low", "high", "unit", "source"}
# A source is one of these, or a document with the year of its edition.
SOURCES = ("common practice, no source", "from memory, verify", "computed: ", "convention of this tool")
YEAR = re.compile(r"\b(19|20)\d\d\b")
LONGEST_SOURCE = 250  # the scenario reader cuts a source there
AMOUNTS = {"mL": "L", "gal": "L", "g": "kg"}

Tree = dict[str, Any]


def shipped(name: str) -> Tree:
    """A shipped file as one tree of keys from the top: a method stands under methods.NAME."""
    if name != "shop":
        return {"methods": {name: method(name)}}
    tree: Tree = dict(catalogue.load("shop.toml"))
    return tree | {"presses": {"default": tree.pop("press_defaults")}}


def method(name: str) -> Tree:
    """A shipped method file laid over the one it is based on, if any; what is false in it is left out."""
    own: Tree = dict(catalogue.load("methods", f"{name}.toml"))
    return laid(method(own.pop("use")), own) if "use" in own else own


def laid(base: Tree, own: Tree) -> Tree:
    """Tables one over another; a number is a whole, and false takes a thing away, but for the switch of a method."""
    tables = {k: laid(base.get(k, {}), v) for k, v in own.items() if isinstance(v, dict) and "best" not in v}
    gone = {k for k, v in own.items() if v is False and k != "makes_plates"}
    return {k: v for k, v in (base | own | tables).items() if k not in gone}


def leaves(tree: Tree, path: Key = ()) -> Iterator[tuple[Key, Any]]:
    """Every number ({best = ...}) and plain value with its key."""
    for name, value in tree.items():
        if isinstance(value, dict) and "best" not in value:
            yield from leaves(value, (*path, name))
        else:
            yield (*path, name), value


def unit_of(entry: Entry, path: Key, stated: dict[Key, Any]) -> Unit:
    """The unit of an entry, what an item or task is counted by filled in. KeyError for an unknown driver."""
    text = entry.unit
    if "{driver}" in text:
        text = text.replace("{driver}", catalogue.drivers()[stated[(*path[:-1], "driver")]]["unit"])
    if "{amount}" in text:
        measure = stated[(*path[:-1], "measure")]
        text = text.replace("{amount}", AMOUNTS.get(measure, measure))
    return Unit.read(text)


def in_unit(entry: Entry, unit: Unit, table: Tree, end: str) -> float:
    """One end of a number in the catalogue's unit. UnreadableQuantity where it isn't one."""
    value, text = table.get(end), table.get("unit", "")
    if isinstance(value, str):
        value, text = split_number(value)
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise UnreadableQuantity(f"{end} is {value!r}")
    if not text and not (entry.unit == "1" or entry.bare):
        raise UnreadableQuantity(f"{end} has no unit")
    return value * (1.0 if entry.bare and not text else factor(read_unit(text, "USD"), unit, "USD"))


def number_faults(entry: Entry, unit: Unit, table: Tree) -> list[str]:
    """What is wrong with one number, its ends in the catalogue's unit. UnreadableQuantity as `in_unit`."""
    found = [f"{key} is no part of a shipped number" for key in sorted(set(table) - NUMBER_KEYS)]
    ends = {end: in_unit(entry, unit, table, end) for end in ("best", "low", "high")}
    least = -math.inf if entry.low is None else entry.low
    most = math.inf if entry.high is None else entry.high
    for end, value in ends.items():
        if not least <= value <= most:
            found.append(f"{end} {value:g} is outside {least:g} to {most:g}")
        if entry.whole and value != round(value):
            found.append(f"{end} {value:g} is not whole")
    # Best, low and high may be written in different units; a last digit of conversion is not a wrong order.
    if not ends["low"] <= ends["best"] * (1 + 1e-12) or not ends["best"] <= ends["high"] * (1 + 1e-12):
        found.append(f"low, best, high are {ends['low']:g}, {ends['best']:g}, {ends['high']:g}")
    # A default of nothing ("no freight") is not a slip of a decimal point.
    if entry.usual and ends["best"] and not entry.usual[0] <= ends["best"] <= entry.usual[1]:
        found.append(f"best {ends['best']:g} is outside the usual {entry.usual}")
    return found


def source_faults(source: object, *, year_wanted: bool = True) -> list[str]:
    """What is wrong with a source: none, too long to be shown whole, or a document without a year."""
    if not isinstance(source, str) or not source.strip():
        return ["has no source"]
    if len(source) > LONGEST_SOURCE:
        return [f"has a source of {len(source)} characters"]
    if year_wanted and not source.startswith(SOURCES) and not YEAR.search(source):
        return [f"names a source without a year: {source}"]
    return []


def faults(tree: Tree) -> list[str]:
    """Everything wrong with a shipped tree, each with its key."""
    stated = dict(leaves(tree))
    found: list[str] = []
    for path, value in stated.items():
        where = ".".join(path)
        entry = catalogue.entry_for(path)
        if entry is None:
            if not (catalogue.place(path, catalogue.TEXTS) or catalogue.place(path, catalogue.PLAIN)):
                found.append(f"{where}: is no key of the catalogue")
            continue
        if not isinstance(value, dict):
            found.append(f"{where}: has no range")
            continue
        try:
            said = number_faults(entry, unit_of(entry, path, stated), value)
        except (UnreadableQuantity, KeyError) as wrong:
            said = [str(wrong)]
        said += source_faults(value.get("source"), year_wanted=path[0] == "methods")
        found += [f"{where}: {fault}" for fault in said]
    for name, method in tree.get("methods", {}).items():
        found += [f"methods.{name}.{fault}" for fault in reference_faults(method)]
    return found


def reference_faults(method: Tree) -> list[str]:
    """Names a method refers to that don't exist, and things that lack what makes them count."""
    shop: Tree = catalogue.load("shop.toml")
    grades, growths = set(shop["grades"]), {*shop["growth"], "general"}
    streams = set(method.get("streams", {}))
    cautions = {name for name, row in catalogue.load("cautions.toml").items() if isinstance(row, dict)}
    found = [f"cautions: {c} is unknown" for c in method["cautions"] if c not in cautions]
    found += [f"cannot_serve: {flag} is unknown" for flag in method["cannot_serve"] if flag not in FLAGS]

    def wants(kind: str, field: str, known: set[str]) -> None:
        for name, row in method.get(kind, {}).items():
            if row.get(field) not in known:
                found.append(f"{kind}.{name}.{field}: {row.get(field)!r} is unknown")

    wants("items", "driver", set(catalogue.drivers()))
    wants("items", "family", set(catalogue.FAMILIES))
    wants("items", "growth", growths)
    wants("tasks", "driver", set(catalogue.drivers()))
    wants("tasks", "grade", grades)
    wants("stations", "grade", grades)
    wants("baths", "to_stream", streams)
    for name, row in method.get("streams", {}).items():
        if row.get("hazardous") not in (True, False, "test"):
            found.append(f"streams.{name}.hazardous: {row.get('hazardous')!r} is unknown")
        if "price" not in row and not {"container", "container_price"} <= set(row):
            found.append(f"streams.{name}: has no price")
    for name, row in method.get("items", {}).items():
        measured = {"measure", "rate"} <= set(row) and ("price" in row) != ("credit" in row)
        if ("cost" in row) == measured:
            found.append(f"items.{name}: needs cost, or measure, rate and price")
    used = {row.get("to_stream") for row in method.get("baths", {}).values()}
    found += [f"streams.{name}: takes nothing" for name in sorted(streams - used)]
    return found


@pytest.mark.parametrize("name", ("shop", *METHODS))
def test_shipped_file_has_no_fault(name: str) -> None:
    assert faults(shipped(name)) == []


def test_no_amount_of_money_has_an_upper_limit() -> None:
    """It would hold in every currency alike: 200 is much in dollars and little in yen."""
    money = [entry for entry in catalogue.entries() if "currency" in entry.unit]
    assert len(money) > 30
    assert [entry.pattern for entry in money if entry.high is not None] == []


def test_every_shipped_file_is_tried() -> None:
    for folder, names in (("methods", METHODS), ("tax", SCHEDULES)):
        assert {f.name for f in catalogue.data_file(folder).iterdir()} == {f"{name}.toml" for name in names}


PRICE = {"best": "14 USD/m2", "low": "9 USD/m2", "high": "24 USD/m2", "source": "common practice, no source"}
PLANTED = [
    ("plates.price_per_area", "14 USD/m2", "has no range"),
    ("plates.price_per_area", PRICE | {"best": "14 USD/plate"}, "USD/plate"),
    ("plates.price_per_area", PRICE | {"best": "14 EUR/m2"}, "EUR"),
    ("plates.price_per_area", PRICE | {"best": 14}, "no unit"),
    ("plates.price_per_area", PRICE | {"low": "15 USD/m2"}, "low, best, high are 15, 14, 24"),
    ("plates.price_per_area", PRICE | {"high": "10 USD/m2"}, "low, best, high are 9, 14, 10"),
    ("plates.price_per_area", PRICE | {"low": "-1 USD/m2"}, "outside 0"),
    ("plates.price_per_area", PRICE | {"best": "1400 USD/m2", "high": "2400 USD/m2"}, "outside the usual"),
    ("plates.price_per_area", PRICE | {"source": " "}, "no source"),
    ("plates.price_per_area", PRICE | {"source": "a price list"}, "without a year"),
    ("plates.price_per_area", PRICE | {"source": "from memory, verify" + " again" * 50}, "characters"),
    ("plates.price_per_area", PRICE | {"status": "default"}, "status is no part"),
    ("plates.price_per_are", PRICE, "no key of the catalogue"),
    ("items.water.driver", "area", "area"),
    ("items.water.family", "water", "'water' is unknown"),
    ("items.water.growth", "water", "'water' is unknown"),
    ("items.water.cost", PRICE | {"best": "14 USD/m2"}, "needs cost, or"),
    ("tasks.weekly.grade", "press", "'press' is unknown"),
    ("baths.gum.to_stream", "gum", "'gum' is unknown"),
    ("streams.developer.hazardous", "perhaps", "'perhaps' is unknown"),
    ("streams.sludge.label", "Sludge", "sludge: takes nothing"),
    ("cautions", ["alkalin"], "alkalin is unknown"),
    ("cannot_serve", ["uvv"], "uvv is unknown"),
]


@pytest.mark.parametrize(("key", "value", "said"), PLANTED)
def test_a_planted_fault_is_found(key: str, value: Any, said: str) -> None:
    tree = copy.deepcopy(shipped("processed"))
    here = tree["methods"]["processed"]
    *above, last = key.split(".")
    for name in above:
        here = here.setdefault(name, {})
    here[last] = value

    assert any(said in fault and key.split(".")[0] in fault for fault in faults(tree))


def three(name: str, key: str) -> tuple[float, ...]:
    """Best, low and high of one shipped number of a method, in the catalogue's unit."""
    stated = dict(leaves(shipped(name)))
    path = ("methods", name, *key.split("."))
    entry = catalogue.entry_for(path)
    assert entry is not None
    unit = unit_of(entry, path, stated)
    return tuple(in_unit(entry, unit, stated[path], end) for end in ("best", "low", "high"))


GALLON = 3.785411784  # litres
# What a source says was computed, again by hand from the parts it names: best, low, high.
COMPUTED = [
    ("polyester", "equipment.line.installation", (600 + 250, 300 + 150, 1500 + 400)),
    ("processed", "equipment.setter.installation", (1200 + 600 + 250, 600 + 300 + 150, 2500 + 1500 + 400)),
    ("polyester", "items.chemistry_freight.cost", (4 * 35, 2 * 20, 6 * 60)),
    ("processed", "items.chemistry_freight.cost", (4 * 35, 2 * 20, 6 * 60)),
    ("processed", "streams.developer.yearly", (75 + 22, 30 + 0, 200 + 25)),
    ("processed", "tasks.deep_clean.minutes", (3 * 60 / 2, 1.5 * 60 / 2, 6 * 60 / 2)),
    ("processed", "items.laser.rate", (1 / 6, 1 / 9, 1 / 4)),
    ("direct", "plates.mass", (0.15 * 2.71, 0.13 * 2.70, 0.20 * 2.71)),
    ("processed", "plates.mass", (0.15 * 2.71, 0.13 * 2.70, 0.20 * 2.71)),
    ("polyester", "plates.mass", (0.20 * 1.39, 0.10 * 1.38, 0.20 * 1.40)),
    ("processed", "items.water.price", (12 / 1000 / GALLON, 6 / 1000 / GALLON, 22 / 1000 / GALLON)),
]


@pytest.mark.parametrize(("name", "key", "by_hand"), COMPUTED)
def test_what_a_source_says_was_computed_is_so(name: str, key: str, by_hand: tuple[float, ...]) -> None:
    """Tolerance: the two or three digits shipped."""
    assert three(name, key) == pytest.approx(by_hand, rel=0.006)


def test_polyester_baths_cost_a_square_metre_what_their_source_says() -> None:
    """By hand: 365.25 / 14 fills of 8 L, 110 mL/m2, 5 mL/h for 8 h on 250 days, two baths, at 1000 m2/year.

    208.7 + 110 + 10 = 328.7 L of each bath, 0.657 L/m2 of both: 2.5 USD/m2 is 3.8 USD/L. The ends of common
    practice, 1.5 and 5 USD/m2, are 2.28 and 7.61 USD/L, shipped as whole dollars.
    """

    litres = 2 * (365.25 / 14 * 8 + 0.110 * 1000 + 0.005 * 8 * 250) / 1000
    assert litres == pytest.approx(0.657, abs=0.001)
    for bath in ("activator", "stabiliser"):
        best, low, high = three("polyester", f"baths.{bath}.price")
        assert best == pytest.approx(2.5 / litres, abs=0.05)
        assert low == pytest.approx(1.5 / litres, abs=0.5)
        assert high == pytest.approx(5 / litres, abs=0.5)
        assert three("polyester", f"baths.{bath}.volume")[0] == pytest.approx(8)
        assert three("polyester", f"baths.{bath}.age_life")[0] == pytest.approx(14 / 365.25)
        assert three("polyester", f"baths.{bath}.replenish")[0] == pytest.approx(0.110)
        assert three("polyester", f"baths.{bath}.top_up")[0] == pytest.approx(0.005)
        assert three("polyester", f"baths.{bath}.hours_on")[0] == pytest.approx(8)
        # Age, not area, decides how often the bath is changed.
        assert 1000 / three("polyester", f"baths.{bath}.area_life")[0] < 365.25 / 14


@pytest.mark.parametrize("name", METHODS)
def test_a_method_can_be_told_apart_and_says_what_it_reaches(name: str) -> None:
    method = shipped(name)["methods"][name]

    assert method["schema"] == 1
    assert method["label"] not in {shipped(m)["methods"][m]["label"] for m in METHODS if m != name}
    assert re.fullmatch(r"[A-Z][A-Za-z ]{0,19}", method["short"])
    if method.get("makes_plates", True):
        # The usual small plate of the trade, 13 x 19 in, fits every machine shipped.
        short, long = sorted(read_size(method["largest_format"]))
        assert short >= 13 * 0.0254 and long >= 19 * 0.0254
        assert {"ruling_limit", "life", "plates", "equipment", "stations", "downtime", "room"} <= set(method)
    else:
        assert not {"life", "plates", "equipment", "stations", "baths", "streams", "room"} & set(method)


def test_cautions_are_short_and_each_is_printed_for_somebody() -> None:
    cautions = catalogue.load("cautions.toml")
    always = cautions.pop("always")
    named = {c for m in METHODS for c in shipped(m)["methods"][m]["cautions"]}

    assert isinstance(always, list) and set(always) <= set(cautions)
    assert named | set(always) == set(cautions)
    for row in cautions.values():
        assert isinstance(row, dict) and set(row) == {"text"}
        assert 40 < len(row["text"]) <= 250 and row["text"].endswith(".")


@pytest.mark.parametrize("name", SCHEDULES)
def test_a_tax_schedule_relieves_all_of_the_cost_or_nothing(name: str) -> None:
    problems: list[Problem] = []
    money = {"tax_schedule": name, "tax_years": 6, "tax_rate_of_balance": "20 %"}
    values: dict[Key, Raw] = {("money", key): Raw(value, "test", False) for key, value in money.items()}
    schedule = read_schedule(values, "test", problems)
    table = catalogue.load("tax", f"{name}.toml")

    assert problems == []
    if table["kind"] == "reducing balance" and "switch" not in table:
        assert 0.99 < sum(schedule.shares) < 1 and len(schedule.shares) == 40  # the rest falls to the horizon
    else:
        assert math.isclose(sum(schedule.shares), 0 if table["kind"] == "none" else 1, abs_tol=1e-12)
    assert all(share > 0 for share in schedule.shares)
    assert table["schema"] == 1 and table["country"] in ("US", "UK", "Canada", "any")
    assert source_faults(schedule.source) == []
    assert "accountant" in schedule.caution
