"""Rules about figures and money: each fires on a shop that makes the mistake, and keeps silent without it.

Thresholds are conventions of the tool; the figures in messages are worked out by hand beside the test.
"""

from pathlib import Path

import pytest

from roi.answers import mistakes_money as rules
from roi.answers.case import Case
from roi.model.study import build
from roi.scenario.scenario import read
from tests.answers.mistaken_shop import OWNED, POLYESTER, SHOPWIDE, check_fires, told

BOOKED = (OWNED, OWNED + '\ntax_book = "3000 USD"\ntax_years_left = "3 year"')
SALE = "\n[leaving]\nsale = "
OPERATOR = (
    '\n[grades.operator]\nwage = "25 USD/h"\non_cost = "25 %"\ncash_share = "0 %"\npress_operator = true\n'
    '[methods.polyester.tasks.daily]\ngrade = "operator"\n'
)
WITH_VAT = ("[methods.direct]", "[methods.direct]\nprices_with_vat = true")
BUYING = ("[methods.direct]", '[methods.direct]\nprices_with_vat = true\nlargest_format = "100 mm x 200 mm"')
TARIFF = SHOPWIDE + 'demand_charge = "12 USD/kW/month"\ntariff = '

FIRES = [
    # 30 USD/plate is within ten times 0.3 to 80, 900 is not.
    (
        rules.unusual_figures,
        '\n[methods.direct.plates.price]\nsmall = "900 USD/plate"',
        (),
        "outside ten times the usual",
    ),
    # 0.16236 m2 at the shipped 13 USD/m2 is 2.11 USD: 210 is 99 times that, 135 is 64 times.
    (
        rules.box_price,
        '\n[methods.polyester.plates.price]\nsmall = "210 USD/plate"',
        (),
        "210 USD/plate is 99 times",
    ),
    (
        rules.box_price,
        '\n[methods.polyester.plates.price]\nsmall = "135 USD/plate"',
        (),
        "135 USD/plate is 64 times",
    ),
    (
        rules.box_price,
        '\n[methods.polyester.plates.price]\nsmall = "0 USD/plate"',
        (),
        "a plate costs nothing",
    ),
    # 100 of 400 plates are of the size without a price.
    (
        rules.size_without_price,
        '\n[methods.polyester.plates.price]\nsmall = "2 USD/plate"',
        (
            ("small = 300 }", "small = 300, other = 100 }"),
            ("[presses.main]", 'other = "300 mm x 400 mm"\n[presses.main]'),
            ("runs = {", 'press = { small = "main", other = "main" }\nruns = {'),
        ),
        "25% of the plates of Polyester: taken by area from a default",
    ),
    (
        rules.waiting_as_labour,
        '\n[methods.direct.stations.imager]\nhands_on = "30 min/plate"',
        (),
        "waiting is no labour",
    ),
    (
        rules.freed_counted_as_cash,
        '\n[grades.prepress]\ncash_share = "100 %"',
        (),
        "all that is freed counts as cash",
    ),
    (
        rules.freed_counted_as_cash,
        SHOPWIDE + 'rent_cash_share = "100 %"',
        (),
        "shop.rent_cash_share: all that is freed",
    ),
    (
        rules.freed_counted_as_cash,
        "",
        (("printing_units = 2", "printing_units = 2\nstate = 3"),),
        "idle press is no cash",
    ),
    # A bath of 200 L changed weekly: 52 x 200 L = 10,400 L a year for 3,600 plates of 0.162 m2, about 600 m2.
    (
        rules.chemistry_by_time,
        '\n[methods.polyester.baths.activator]\nvolume = "200 L/change"\nage_life = "1 week/change"',
        (),
        "you pay for time, not area",
    ),
    # Polyester's daily task is 10 min on each of 250 days: 2500 min, 41.7 h.
    (rules.operator_counted_twice, OPERATOR, (), "42 hours a year of a press operator are costed as labour"),
    # Polyester's fountain solution is shipped at 120 USD a year.
    (
        rules.recharge_as_cash,
        "\n[methods.polyester.items.fountain]\nrecharge = true",
        (),
        "More acid fountain solution: 120 USD a year",
    ),
    (
        rules.vat_on_one_side,
        POLYESTER + "prices_with_vat = false",
        (WITH_VAT,),
        "prices of Direct hold VAT, those of Polyester don't\n",
    ),
    (
        rules.vat_on_one_side,
        "",
        (WITH_VAT,),
        "methods.direct.prices_with_vat: prices of Direct hold VAT, of Polyester it isn't said\n",
    ),
    # Direct plates are too small for this work: all are bought in.
    (
        rules.vat_on_one_side,
        POLYESTER + "prices_with_vat = true\n[bought_in]\nprices_with_vat = false",
        (BUYING,),
        "prices of Polyester, Direct hold VAT, those of plates that methods buy in don't\n",
    ),
    (
        rules.demand_charge_twice,
        TARIFF + '"all-in"',
        (),
        "12 USD/kW/month is charged beside an all-in tariff",
    ),
    (
        rules.book_value_as_cash,
        SALE + '"3000 USD"',
        (BOOKED,),
        "a sale is put at the tax book value, 3,000 USD: no buyer has offered it",
    ),
    # A new polyester line is shipped at 20,000 USD.
    (rules.book_value_as_cash, SALE + '"20000 USD"', (), "replacing it by a new one costs 20,000"),
]

SILENT = [
    (rules.operator_counted_twice, OPERATOR.replace("true", "false"), ()),
    (rules.operator_counted_twice, OPERATOR.split("[methods")[0], ()),
    (
        rules.operator_counted_twice,
        OPERATOR,
        (("printing_units = 2", 'printing_units = 2\nfull_rate = "0 USD/h"'),),
    ),
    (rules.recharge_as_cash, "\n[methods.polyester.items.fountain]\nrecharge = false", ()),
    (
        rules.recharge_as_cash,
        '\n[methods.polyester.items.fountain]\nrecharge = true\ncost = "0 USD/year"',
        (),
    ),
    (rules.vat_on_one_side, POLYESTER + "prices_with_vat = true", (WITH_VAT,)),
    (rules.vat_on_one_side, POLYESTER + "prices_with_vat = false", ()),
    (
        rules.vat_on_one_side,
        POLYESTER + "prices_with_vat = true\n[bought_in]\nprices_with_vat = true",
        (BUYING,),
    ),
    # Nothing is bought in here, so what bought-in prices hold is nothing to anybody.
    (
        rules.vat_on_one_side,
        POLYESTER + "prices_with_vat = true\n[bought_in]\nprices_with_vat = false",
        (WITH_VAT,),
    ),
    (rules.demand_charge_twice, TARIFF + '"energy-only"', ()),
    (rules.demand_charge_twice, SHOPWIDE + 'tariff = "all-in"', ()),
    (rules.book_value_as_cash, SALE + '"900 USD"', (BOOKED,)),
    (rules.book_value_as_cash, SALE + '{ best = "3000 USD", status = "quote" }', (BOOKED,)),
    # Written off already, and fetching nothing.
    (rules.book_value_as_cash, SALE + '"0 USD"', ()),
]


@pytest.mark.parametrize(
    ("rule", "more", "changes", "says"), FIRES, ids=lambda x: getattr(x, "__name__", None)
)
def test_a_rule_fires_on_its_mistake_and_not_without_it(tmp_path, rule, more, changes, says):
    check_fires(tmp_path, rule, more, changes, says)


@pytest.mark.parametrize(("rule", "more", "changes"), SILENT, ids=lambda x: getattr(x, "__name__", None))
def test_a_rule_keeps_silent_where_the_same_is_stated_rightly(tmp_path, rule, more, changes):
    assert told(tmp_path, rule, more, *changes) == []


def test_the_shipped_scenarios_state_no_price_of_a_box():
    for path in sorted((Path(__file__).parents[2] / "scenarios").glob("*/shop.toml")):
        study = build(read(path))
        assert list(rules.box_price(Case(study, study.evaluate()))) == []
