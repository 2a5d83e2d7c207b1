"""Present cost, annual cost, savings and paybacks of the model against published examples of appraisal.

The examples become a shop whose plates cost nothing and whose methods differ in one machine and one yearly
item, without growth and tax, so that the model's own lines give the published figures. Uneven flows enter
where the flows of methods do. Sources stand in investment_examples.toml. Money in currency; costs positive,
flows with outlays negative.
"""

import tomllib
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from roi.engine.column import Book, Column
from roi.engine.evaluate import evaluate
from roi.engine.expression import Constant, Data
from roi.engine.operations import product_sum
from roi.model.savings import CashFlow, Savings
from roi.model.study import Study, build
from roi.scenario.scenario import read

PUBLISHED: dict[str, Any] = tomllib.loads(
    Path(__file__).with_name("investment_examples.toml").read_text("utf-8")
)

SHOP = """
schema = 1
name = "Published examples, no shop at all"
currency = "USD"
current = "stay"
[money]
horizon = "{years} year"
inflation = "0 %/year"
tax_rate = "{tax}"
tax_schedule = "{schedule}"
[growth]
volume = "0 %/year"
plates = "0 %/year"
chemistry = "0 %/year"
bought_in = "0 %/year"
waste = "0 %/year"
energy = "0 %/year"
wages = "0 %/year"
service = "0 %/year"
equipment = "0 %/year"
[shop]
paper = "0 USD/sheet"
[sizes]
only = "10 in x 15 in"
[presses.only]
printing_units = 1
overtime = "0 USD/h"
contribution = "0 USD/h"
full_rate = "0 USD/h"
[bought_in]
delivery = "0 USD/trip"
rush = "0 USD/form"
price.only = "0 USD/plate"
{methods}
[log]
file = "log.csv"
date_order = "year-first"
date_is = "press"
[log.columns]
job = "Job"
form = "Form"
date = "Day"
press = "Press"
size = "Plate"
plates = "Plates"
impressions = "Good"
"""
LOG = "Job,Form,Day,Press,Plate,Plates,Good\n" + "".join(
    f"J{m},1,2025-{m:02}-03,only,only,1,1000\n" for m in range(1, 13)
)


def method(name: str, running: float, price: float = 0, life: int = 1, share: float = 0) -> str:
    """A method with a yearly item and, where it has a price, one machine."""
    text = f"""
[methods.{name}]
label = "Method {name}"
short = "{name.capitalize()}"
makes_plates = false
[methods.{name}.items.yearly]
family = "room"
driver = "year"
cost = "{running} USD/year"
"""
    machine = f"""
[methods.{name}.equipment.machine]
price = "{price} USD"
life = "{life} year"
resale = {share}
"""
    return text + (machine if price else "")


def shop(folder: Path, years: int, *methods: str, tax: str = "0 %", schedule: str = "none") -> Study:
    """A shop that holds these methods and nothing else that costs."""
    (folder / "log.csv").write_text(LOG, "utf-8")
    text = SHOP.format(years=years, tax=tax, schedule=schedule, methods="".join(methods))
    (folder / "shop.toml").write_text(text, "utf-8")
    return build(read(folder / "shop.toml"))


def figure(study: Study, line: Any, rate: float, **more: float) -> float:
    """One line at a discount rate."""
    changes = {"money.discount_rate": rate} | {k.replace("__", "."): v for k, v in more.items()}
    return float(study.evaluate(changes)[line][0])


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Study:
    """Two methods costing nothing and 1 a year, over as many as 25 years."""
    return shop(tmp_path_factory.mktemp("plain"), 25, method("stay", 0), method("other", 1))


def near(row: dict[str, Any]) -> Any:
    """The published value within its tolerance."""
    return pytest.approx(row["value"], abs=row["within"], rel=0)


def test_every_example_names_a_source() -> None:
    rows = [
        r
        for part in PUBLISHED.values()
        for r in (part if isinstance(part, list) else [part])
        if r is not PUBLISHED["sources"]
    ]

    assert {row["source"] for row in rows} == set(PUBLISHED["sources"])


@pytest.mark.parametrize("row", PUBLISHED["machine"], ids=lambda r: str(r["price"]))
def test_a_machine_that_saves_each_year(row: dict[str, Any], tmp_path: Path) -> None:
    """Net present value at each rate, rate of return, payback; the residual doesn't shorten the last year."""
    stay = method("stay", row["saving"])
    study = shop(
        tmp_path, row["years"], stay, method("buy", 0, row["price"], row["years"], row["residual_share"])
    )
    saved = study.cash_flow.savings["buy"]["cash"]

    for at in row["npv"]:
        assert figure(study, saved.npv, at["rate"]) == near(at)
    assert figure(study, saved.payback, 0.1) == near(row["payback"])
    if "irr" in row:
        assert figure(study, saved.irr, 0.1) == near(row["irr"])


@pytest.mark.parametrize("row", PUBLISHED["machine"], ids=lambda r: str(r["price"]))
def test_savings_to_investment_ratio_by_its_definition(row: dict[str, Any], tmp_path: Path) -> None:
    """10 CFR 436.21: running savings over investment less residual; 436.20: their difference. By hand."""
    stay = method("stay", row["saving"])
    study = shop(
        tmp_path, row["years"], stay, method("buy", 0, row["price"], row["years"], row["residual_share"])
    )
    saved = study.cash_flow.savings["buy"]["cash"]
    rate, years = 0.07, row["years"]
    savings = sum(row["saving"] / (1 + rate) ** y for y in range(1, years + 1))
    investment = row["price"] * (1 - row["residual_share"] / (1 + rate) ** years)

    assert figure(study, saved.ratio, rate) == pytest.approx(savings / investment, rel=1e-12)
    assert figure(study, saved.npv, rate) == pytest.approx(savings - investment, rel=1e-12)


@pytest.mark.parametrize("row", PUBLISHED["payback"], ids=lambda r: f"{r['source']}, {-r['flows'][0]}")
def test_paybacks_of_uneven_flows(row: dict[str, Any], plain: Study) -> None:
    """Linear within the year in which the sum, discounted or not, turns for good."""
    saved, values = uneven(plain, row["flows"], row["rate"])
    line = saved.discounted_payback if row["discounted"] else saved.payback

    assert float(values[line][0]) == near(row)


def uneven(plain: Study, flows: list[float], rate: float) -> tuple[Savings, Any]:
    """Measures of savings that come unevenly: a method with these flows against one without any."""
    years, nothing = plain.shop.years, Constant(0).during("currency")
    sheets: dict[str, Any] = {}
    for name, amounts in (("stay", []), ("other", flows)):
        column = Column(f"Given {name}", f"given_{name}")
        given = Data(
            f"given.{name}", "Given", "currency", years, [*amounts, *[0.0] * (len(years) - len(amounts))]
        )
        after = column.line("Flow", "currency", column.data(given) + 0)
        present = column.line("Present", "currency", 0 - product_sum(after, plain.shop.discount))
        none = column.line("None", "currency", nothing)
        ends = column.line("Ends", "currency", nothing * plain.shop.after_now)
        lines = dict(
            before=after, after=after, after_full=after, end_value=ends,
            present=present, present_full=present, invested=present, ran=none, ran_full=none,
        )  # fmt: skip
        sheets[name] = SimpleNamespace(lines=lines, column=column, method=plain.methods[name].method)
    cash_flow = CashFlow(plain.shop, sheets, "stay")
    book = Book([plain.shop.column, *(s.column for s in sheets.values()), cash_flow.column])
    changes = {"money.horizon": len(flows) - 1.0, "money.discount_rate": rate}
    return cash_flow.savings["other"]["cash"], evaluate(book, changes)


def test_a_pair_of_unequal_lives_is_ranked_with_its_replacements(tmp_path: Path) -> None:
    """Published annual costs over the common multiple of lives; without replacements the ranking turns."""
    pair = PUBLISHED["unequal_lives"]
    rate, together = pair["rate"], pair["common_years"]
    methods = [
        method(name, pair[m]["running"], pair[m]["price"], pair[m]["life"])
        for name, m in (("stay", "a"), ("other", "b"))
    ]
    study = shop(tmp_path, together, *methods)
    annual, present = {}, {}
    for name, m in (("stay", "a"), ("other", "b")):
        row, lines = pair[m], study.methods[name].lines
        annual[m] = figure(study, lines["equivalent"], rate)
        present[m] = figure(study, lines["present"], rate)
        one_life = figure(study, lines["present"], rate, money__horizon=row["life"])
        assert one_life == pytest.approx(row["present_one_life"], abs=row["within"], rel=0)
        assert annual[m] == pytest.approx(row["annual"], abs=row["within"], rel=0)

    # One purchase for all of the years: what the pair costs to a reckoning that forgets replacements.
    forgotten = {f"methods__{n}__equipment__machine__life": together for n in ("stay", "other")}
    a, b = (figure(study, study.methods[n].lines["present"], rate, **forgotten) for n in ("stay", "other"))
    assert annual["b"] < annual["a"] and present["b"] < present["a"]
    assert a < b
    # By hand: price once and the running cost for all the years.
    factor = sum((1 + rate) ** -y for y in range(1, together + 1))
    assert (a, b) == pytest.approx([pair[m]["price"] + pair[m]["running"] * factor for m in "ab"], rel=1e-12)


@pytest.mark.parametrize("row", PUBLISHED["single"], ids=lambda r: f"{r['rate']}, {r['year']}")
def test_discount_factor(row: dict[str, Any], plain: Study) -> None:
    factors = plain.evaluate({"money.discount_rate": row["rate"]})[plain.shop.discount][:, 0]

    assert factors[0] == 1
    assert factors[row["year"]] == near(row)


@pytest.mark.parametrize("row", PUBLISHED["uniform"], ids=lambda r: f"{r['rate']}, {r['years']}")
def test_present_cost_of_one_a_year(row: dict[str, Any], plain: Study) -> None:
    """The sum of discount factors, and the present cost of a method that costs 1 a year."""
    assert figure(plain, plain.shop.annuity, row["rate"], money__horizon=row["years"]) == near(row)
    assert figure(
        plain, plain.methods["other"].lines["present"], row["rate"], money__horizon=row["years"]
    ) == near(row)


@pytest.mark.parametrize("row", PUBLISHED["escalated"], ids=lambda r: f"{r['growth']}, {r['years']}")
def test_present_cost_of_one_a_year_that_grows(row: dict[str, Any], plain: Study) -> None:
    """An amount at prices of year 0 that grows from then on."""
    line = plain.methods["other"].lines["present"]
    changes = {"money__horizon": row["years"], "money__inflation": row["growth"]}

    assert figure(plain, line, row["rate"], **changes) == near(row)


def test_a_real_rate_meets_inflation(plain: Study) -> None:
    """By hand: 3 % real, 2 % inflation, 5.06 % nominal; what grows with inflation is worth 10 at 3 % real."""
    changes = {"money__rate_is_real": 1, "money__inflation": 0.02, "money__horizon": 10}

    assert figure(plain, plain.shop.rate, 0.03, **changes) == pytest.approx(0.0506, rel=1e-12)
    worth = figure(plain, plain.methods["other"].lines["present"], 0.03, **changes)
    assert worth == pytest.approx(sum(1.03**-y for y in range(1, 11)), rel=1e-12)


def test_depreciation_in_money(tmp_path: Path) -> None:
    """What a purchase of 1,000 is relieved by in each year after it, and the tax that saves at 20 %."""
    row = PUBLISHED["macrs"]
    buy = method("buy", 0, row["cost"], 9)
    study = shop(tmp_path, 9, method("stay", 0), buy, tax="20 %", schedule="us_macrs_5")
    lines = study.methods["buy"].lines
    values = study.evaluate()
    count = len(row["amounts"])

    found = values[lines["depreciation"]][:, 0]
    assert found[0] == 0
    assert found[1 : count + 1] == pytest.approx(row["amounts"], abs=row["within"], rel=0)
    assert not np.abs(found[count + 1 :]).max() > row["within"]
    assert values[lines["tax"]][1 : count + 1, 0] == pytest.approx(
        [0.2 * x for x in row["amounts"]], abs=row["within"], rel=0
    )
