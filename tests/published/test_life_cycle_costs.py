"""What the model's own lines make of published examples: factors, present costs, paybacks, replacement, tax relief.

A plain shop whose work costs nothing lets a scenario hold the example and nothing else; where an example gives the
flows themselves, they stand in place of two methods' flows under the lines that measure a saving. Examples and
sources are in life_cycle_costs.toml, money in the example's currency.
"""

import tomllib
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest

from roi.engine.column import Book, Column, Line
from roi.engine.evaluate import Values, evaluate
from roi.engine.expression import Axis, Constant, Data, product_sum
from roi.model.savings import CashFlow, Savings
from roi.model.sheet import MethodSheet
from roi.model.study import Study, build
from roi.scenario.scenario import read

PUBLISHED: dict[str, Any] = tomllib.loads(Path(__file__).with_name("life_cycle_costs.toml").read_text("utf-8"))
KINDS = ("npv", "irr", "payback", "discounted_payback", "discount_factor", "uniform")
# One form a day, whose plates cost nothing: {money} and {methods} are the example's.
PLAIN = """
schema = 1
name = "An example, invented shop"
currency = "USD"
units = "metric"
current = "first"
[money]
{money}
[growth]
{growth}
[shop]
base_remakes = "0 %"
paper = "0 USD/sheet"
[sizes]
only = "500 mm x 400 mm"
[presses.only]
state = 1
full_rate = "0 USD/h"
[bought_in]
delivery = "0 USD/trip"
rush = "0 USD/form"
[bought_in.price]
only = "0 USD/plate"
{methods}
[log]
file = "log.csv"
date_order = "year-first"
date_is = "press"
from = 2025-03-03
to = 2025-03-03
[log.columns]
job = "Job"
date = "Day"
press = "Press"
size = "Plate"
plates = "Plates"
impressions = "Good"
"""
LOG = "Job,Day,Press,Plate,Plates,Good\nJ1,2025-03-03,only,only,1,1000\n"
GROWING = ("volume", "plates", "chemistry", "bought_in", "waste", "energy", "wages", "service", "equipment")
Builder = Callable[..., Study]


def method(name: str, price: float, life: int, yearly: float) -> str:
    """A method with one machine, a yearly cost and nothing else."""
    return f"""
[methods.{name}]
label = "{name.capitalize()} method"
short = "{name.capitalize()}"
ruling_limit = "200 lpi"
[methods.{name}.life]
coated = "100000 impression"
uncoated = "100000 impression"
[methods.{name}.plates.price]
only = "0 USD/plate"
[methods.{name}.equipment.line]
label = "Machine"
price = "{price} USD"
life = "{life} year"
[methods.{name}.items.running]
family = "room"
driver = "year"
cost = "{yearly} USD/year"
"""


@pytest.fixture
def plain(tmp_path: Path) -> Builder:
    """Builds a scenario of two methods as text, over years, at a rate; no tax or growth where none is stated."""

    def built(
        methods: str, *, years: int, rate: float, growth: float = 0, tax: float = 0, schedule: str = "none"
    ) -> Study:
        money = {
            "horizon": f"{years} year", "discount_rate": f"{rate * 100:g} %/year", "tax_rate": f"{tax * 100:g} %",
            "inflation": f"{growth * 100:g} %/year", "tax_schedule": schedule,
        }  # fmt: skip
        text = PLAIN.format(
            money="\n".join(f'{k} = "{v}"' for k, v in money.items()),
            growth="\n".join(f'{name} = "0 %/year"' for name in GROWING),
            methods=methods,
        )
        (tmp_path / "log.csv").write_text(LOG, "utf-8")
        (tmp_path / "shop.toml").write_text(text, "utf-8")
        return build(read(tmp_path / "shop.toml"))

    return built


def number(values: Values, line: Line) -> float:
    """The one value of a line."""
    return float(values[line].item())


def rows(kind: str) -> list[Any]:
    """The published examples of one kind, each named after its source."""
    return [pytest.param(row, id=f"{row['source']}-{i}") for i, row in enumerate(PUBLISHED[kind], 1)]


def saving(plain: Builder, row: dict[str, Any]) -> tuple[Savings, Values]:
    """The lines that measure a saving, over an example's flows against a method without any."""
    flows = [float(x) for x in row["flows"]]
    years = len(flows) - 1
    shop = plain(method("first", 0, 40, 0) + method("second", 0, 40, 0), years=years, rate=row.get("rate", 0)).shop
    sheets: dict[str, MethodSheet] = {}
    for name, moved in (("first", [0.0] * len(flows)), ("second", flows)):
        column = Column(name, name)
        sheets[name] = cast(MethodSheet, SimpleNamespace(
            lines=_stated(column, shop.years, shop.discount, moved, row.get("end_value", 0) if any(moved) else 0),
            method=shop.scenario.method(name), column=column,
        ))  # fmt: skip
    cash_flow = CashFlow(shop, sheets, "first")
    book = Book([shop.column, *(s.column for s in sheets.values()), cash_flow.column])
    return cash_flow.savings["second"]["cash"], evaluate(book)


def _stated(column: Column, years: Axis, discount: Line, flows: list[float], end_value: float) -> dict[str, Line]:
    """A method's lines as the measures of a saving take them, its flows stated; the first is its investment."""
    unused = len(years) - len(flows)

    def block(name: str, amounts: list[float]) -> Line:
        stated = column.data(Data(f"{column.key}.{name}", name, "currency", years, [*amounts, *[0.0] * unused]))
        return column.line(f"{name}, as stated", "currency", stated + Constant(0).during("currency"))

    after = block("flow", flows)
    put_in = block("outlay", [-flows[0], *[0.0] * (len(flows) - 1)])
    end = block("end value", [*[0.0] * (len(flows) - 1), float(end_value)])
    invested = column.line("invested", "currency", product_sum(put_in, discount))
    present = column.line("present cost", "currency", 0 - product_sum(after, discount))
    ran = column.line("running costs", "currency", present - invested)
    return {
        "before": after, "after": after, "after_full": after, "end_value": end, "present": present, "present_full": present,
        "invested": invested, "ran": ran, "ran_full": ran,
    }  # fmt: skip


def test_every_example_names_its_source() -> None:
    used = {row["source"] for kind in KINDS for row in PUBLISHED[kind]}
    used |= {PUBLISHED["unequal_lives"]["source"], PUBLISHED["unequal_lives"]["chain"]["source"]}

    assert used | {PUBLISHED["depreciation"]["source"]} == set(PUBLISHED["sources"])


@pytest.mark.parametrize("row", rows("npv"))
def test_net_present_value(plain: Builder, row: dict[str, Any]) -> None:
    measures, values = saving(plain, row)

    assert number(values, measures.npv) == pytest.approx(row["expected"], abs=row["within"], rel=0)


@pytest.mark.parametrize("row", rows("npv"))
def test_savings_to_investment(plain: Builder, row: dict[str, Any]) -> None:
    """10 CFR 436.21: what is saved in running, over what is invested; here the outlay alone, undiscounted."""
    measures, values = saving(plain, row)
    outlay = -row["flows"][0]

    assert number(values, measures.has_ratio) == 1
    # The published net value and outlay give the ratio, to the same part of the outlay.
    expected = 1 + row["expected"] / outlay
    assert number(values, measures.ratio) == pytest.approx(expected, abs=row["within"] / outlay, rel=0)


@pytest.mark.parametrize("row", rows("irr"))
def test_internal_rate_of_return(plain: Builder, row: dict[str, Any]) -> None:
    measures, values = saving(plain, row)

    assert number(values, measures.has_irr) == 1
    assert number(values, measures.irr) == pytest.approx(row["expected"], abs=row["within"], rel=0)


@pytest.mark.parametrize("name", ["payback", "discounted_payback"])
def test_payback(plain: Builder, name: str) -> None:
    """By proportion within the year it turns."""
    for row in PUBLISHED[name]:
        measures, values = saving(plain, row)

        assert number(values, getattr(measures, f"has_{name}")) == 1
        found = number(values, getattr(measures, name))
        assert found == pytest.approx(row["expected"], abs=row["within"], rel=0), row


@pytest.mark.parametrize("row", rows("discount_factor"))
def test_discount_factor(plain: Builder, row: dict[str, Any]) -> None:
    study = plain(method("first", 0, 40, 0) + method("second", 0, 40, 0), years=10, rate=row["rate"])
    factors = study.evaluate()[study.shop.discount][:, 0]

    assert factors[0] == 1
    assert factors[row["year"]] == pytest.approx(row["expected"], abs=row["within"], rel=0)


@pytest.mark.parametrize("row", rows("uniform"))
def test_one_a_year(plain: Builder, row: dict[str, Any]) -> None:
    """The present cost of a method that costs one a year, prices growing, is the published factor."""
    both = method("first", 0, 40, 1) + method("second", 0, 40, 1000)
    study = plain(both, years=row["years"], rate=row["rate"], growth=row.get("growth", 0))
    values = study.evaluate()

    found = number(values, study.methods["first"].lines["present"])
    assert found == pytest.approx(row["expected"], abs=row["within"], rel=0)
    thousand = number(values, study.methods["second"].lines["present"])
    assert thousand == pytest.approx(1000 * row["expected"], abs=1000 * row["within"], rel=0)
    if "growth" not in row:
        annuity = number(values, study.shop.annuity)
        assert annuity == pytest.approx(row["expected"], abs=row["within"], rel=0)


@pytest.mark.parametrize("which", ["short", "long"])
def test_one_life_of_each_machine(plain: Builder, which: str) -> None:
    """Over exactly its own life a machine is bought once: the published present cost and equivalent annual cost."""
    pair = PUBLISHED["unequal_lives"]
    row = pair[which]
    machine = (row["price"], row["life"], row["yearly"])
    study = plain(method("first", *machine) + method("second", 0, 40, 0), years=row["life"], rate=pair["rate"])
    values, lines = study.evaluate(), study.methods["first"].lines

    assert number(values, lines["present"]) == pytest.approx(row["present_cost"], abs=row["within"], rel=0)
    assert number(values, lines["equivalent"]) == pytest.approx(row["equivalent"], abs=row["within"], rel=0)


def test_replacement_decides_between_unequal_lives(plain: Builder) -> None:
    """Over whole lives of both the long-lived is cheaper; a replacement left out would have made the short-lived win.

    Prices of each replacement are the first one's: nothing grows.
    """
    pair = PUBLISHED["unequal_lives"]
    short, long, years = pair["short"], pair["long"], pair["chain"]["years"]
    text = method("first", short["price"], short["life"], short["yearly"])
    text += method("second", long["price"], long["life"], long["yearly"])
    study = plain(text, years=years, rate=pair["rate"])
    values = study.evaluate()
    costs = [number(values, study.methods[m].lines["present"]) for m in ("first", "second")]
    yearly = [number(values, study.methods[m].lines["equivalent"]) for m in ("first", "second")]

    # By the years of the chain, each machine costs a year what it does over one life of its own.
    assert yearly == pytest.approx([short["equivalent"], long["equivalent"]], abs=0.5, rel=0)
    assert costs[1] == pytest.approx(pair["chain"]["long_present_cost"], abs=pair["chain"]["within"], rel=0)
    assert number(values, study.comparison.rows["cheapest_at"]) == 2

    # By hand: each machine bought once, and run for all 24 years.
    annuity = sum(1.05**-y for y in range(1, years + 1))
    once = [row["price"] + row["yearly"] * annuity for row in (short, long)]
    assert once[0] < once[1]
    for cost, single, row in zip(costs, once, (short, long), strict=True):
        again = sum(row["price"] * 1.05**-y for y in range(row["life"], years, row["life"]))
        assert cost == pytest.approx(single + again, rel=1e-12)


def test_tax_relief_of_a_machine(plain: Builder) -> None:
    """Publication 946: the percentages in dollars, the first of them in the year after the purchase here."""
    row = PUBLISHED["depreciation"]
    both = method("first", row["price"], 40, 0) + method("second", 0, 40, 0)
    study = plain(both, years=8, rate=0, tax=0.25, schedule="us_macrs_5")
    values, lines = study.evaluate(), study.methods["first"].lines
    relief = values[lines["depreciation"]][:, 0]

    assert relief[0] == 0
    assert relief[1:7].tolist() == pytest.approx(row["by_year"], abs=row["within"], rel=0)
    assert not relief[7:].any()
    # A quarter of each is tax saved, until the sale of the machine in the last year is taxed.
    tax = values[lines["tax"]][1:7, 0].tolist()
    assert tax == pytest.approx([0.25 * x for x in row["by_year"]], abs=row["within"], rel=0)
