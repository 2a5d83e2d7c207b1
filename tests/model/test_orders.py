"""Whole packs, least orders and freight by the order, each against arithmetic written out.

The old way of the small shop of `conftest`, with nothing remade, spoiled or used again, wants each year, at the log's volume
of 3 days that stand for 365.25 (121.75 each): 2 large plates in 4 sets (42,050 gross impressions on plates good for 11,000),
so 8 x 121.75 = 974; 1 small plate in 2 sets (9,470 on 5,500), so 243.5. A large plate costs 4 USD, a small one 2, 6 orders a
year are placed at 10 USD freight. Plate prices rise by 3 % a year, chemistry by 4 %; the work shrinks by 10 %.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from roi.engine.evaluate import Values
from roi.model.study import Study

ORDERS = 'orders = "6 order/year"\n'
SIMPLE = {
    "shop.early_failure": 0.0,
    "shop.base_remakes": 0.0,
    "shop.spoiled_stock": 0.0,
    "methods.old.remakes.own": 0.0,
    "methods.old.reprint_reuse": 0.0,
}
LARGE, SMALL = 974.0, 243.5

Builder = Callable[..., Study]


def with_keys(small_shop: Builder, *keys: str) -> Study:
    return small_shop((ORDERS, ORDERS + "".join(f"{key}\n" for key in keys)))


def consumables(study: Study, values: Values) -> list[float]:
    return values[study.methods["old"].families["consumables"]].ravel()[:5].tolist()


def one(study: Study, values: Values, label: str) -> list[float]:
    line = next(x for x in study.methods["old"].column.lines if x.label == label)
    return values[line].ravel().tolist()


@pytest.fixture(scope="module")
def plain(small_shop: Builder) -> Study:
    return small_shop()


def test_what_is_needed_is_what_is_said_above(plain: Study) -> None:
    assert one(plain, plain.evaluate(SIMPLE), "Plates purchased") == pytest.approx([LARGE, SMALL])


def test_packs_are_whole_in_every_order_and_what_is_over_is_paid(plain: Study, small_shop: Builder) -> None:
    """Packs of 50, six orders.

    Year 1: 974 / 6 = 162.3 large, 4 packs, so 6 x 4 x 50 = 1,200: 226 over at 4 USD = 904; 243.5 / 6 = 40.6 small, 1 pack,
    so 300: 56.5 over at 2 USD = 113. Together 1,017.
    Year 2, a tenth less: 876.6 / 6 = 146.1 large, 3 packs, 900: 23.4 x 4 = 93.6; 219.15 small of 300: 80.85 x 2 = 161.7.
    Together 255.3: a step of the packs lies between the years.
    Years 3 and 4: 788.94 and 710.046 large, still 3 packs (131.5 and 118.3 an order); 197.235 and 177.5115 small, 1 pack.
    """
    study = with_keys(small_shop, 'pack = "50 plate"')
    before = consumables(plain, plain.evaluate(SIMPLE))
    after = consumables(study, study.evaluate(SIMPLE))
    over = [
        0,
        1017,
        255.3,
        (900 - 788.94) * 4 + (300 - 197.235) * 2,
        (900 - 710.046) * 4 + (300 - 177.5115) * 2,
    ]
    expected = [amount * 1.03**year for year, amount in enumerate(over)]
    assert [b - a for a, b in zip(before, after, strict=True)] == pytest.approx(expected)


def test_at_the_edge_of_a_pack_nothing_is_over_and_beyond_it_a_pack_more(small_shop: Builder) -> None:
    """900 large plates are 3 packs of 50 in each of 6 orders; a plate more a year opens a fourth in each."""
    study = with_keys(small_shop, 'pack = "50 plate"')

    def packs(plates: float) -> list[float]:
        values = study.evaluate(SIMPLE | {"work.volume": plates / LARGE})
        label = study.scenario.sizes[0].label
        found = [
            one(study, values, f"{words}, {label}")[1]
            for words in ("Packs an order", "Plates bought in whole packs")
        ]
        return [*found, one(study, values, f"Plates beyond need, {label}, money")[1]]

    assert packs(899) == pytest.approx([3, 900, 1 * 4])
    assert packs(900) == pytest.approx([3, 900, 0], abs=1e-9)
    assert packs(901) == pytest.approx([4, 1200, 299 * 4])


def test_each_size_has_its_own_pack_and_one_without_is_bought_singly(small_shop: Builder) -> None:
    """100 large plates a pack: 162.3 an order are 2 packs, 1,200 a year. Small ones have none: nothing is over."""
    study = with_keys(small_shop, 'pack.large = "100 plate"')
    values = study.evaluate(SIMPLE)
    assert one(study, values, "Plates beyond need, money by year")[1] == pytest.approx(
        (1200 - LARGE) * 4 * 1.03
    )


def test_a_least_order_makes_orders_fewer_and_freight_with_them(plain: Study, small_shop: Builder) -> None:
    """974 x 4 + 243.5 x 2 = 4,383 USD a year: in orders of 1,000 that is 4.383 of them, a tenth fewer each year."""
    study = with_keys(small_shop, 'minimum_order = "1000 USD/order"')
    before, after = plain.evaluate(SIMPLE), study.evaluate(SIMPLE)
    freight = [(4.383 * 0.9 ** (y - 1) - 6) * 10 * 1.03**y if y else 0 for y in range(5)]
    saved = [b - a for a, b in zip(consumables(plain, before), consumables(study, after), strict=True)]
    assert saved == pytest.approx(freight)
    assert one(study, after, "Orders of plates, by year")[1] == pytest.approx(4.383)


@pytest.mark.parametrize(
    ("least", "orders"), [(4383 / 6 + 1, 4383 / (4383 / 6 + 1)), (4383 / 6, 6.0), (500.0, 6.0)]
)
def test_orders_are_the_fewer_of_those_stated_and_use_by_the_least(
    small_shop: Builder, least: float, orders: float
) -> None:
    study = with_keys(small_shop, f'minimum_order = "{least!r} USD/order"')
    found = one(study, study.evaluate(SIMPLE), "Orders of plates, by year")
    assert found[1] == pytest.approx(orders)
    assert found[0] == 0


def test_fewer_orders_take_more_packs_each(small_shop: Builder) -> None:
    """4.383 orders: 974 / 4.383 = 222.2 large an order, 5 packs of 50; 55.6 small, 2 packs. Counts stay fractional."""
    study = with_keys(small_shop, 'minimum_order = "1000 USD/order"', 'pack = "50 plate"')
    values = study.evaluate(SIMPLE)
    over = (4.383 * math.ceil(LARGE / 4.383 / 50) * 50 - LARGE) * 4 + (4.383 * 2 * 50 - SMALL) * 2
    assert math.ceil(LARGE / 4.383 / 50) == 5 and math.ceil(SMALL / 4.383 / 50) == 2
    assert one(study, values, "Plates beyond need, money by year")[1] == pytest.approx(over * 1.03)


def test_the_price_of_a_plate_stays_the_list_price(plain: Study, small_shop: Builder) -> None:
    """4,383 USD for 1,217.5 plates is 3.60 each, whatever is bought beyond need: that stands on a line of its own."""
    study = with_keys(small_shop, 'pack = "500 plate"', 'minimum_order = "1000 USD/order"')
    values, before = study.evaluate(SIMPLE), plain.evaluate(SIMPLE)
    lines = study.methods["old"].lines
    assert values[lines["mean_price"]].flat[0] == pytest.approx(4383 / 1217.5)
    assert values[lines["own_price"]].ravel() == pytest.approx([4, 2])
    down = [
        study_values[s.methods["old"].families["equipment"]].ravel()
        for s, study_values in ((study, values), (plain, before))
    ]
    assert down[0] == pytest.approx(down[1])


def test_freight_of_hazardous_goods_is_paid_by_the_order_and_rises_with_chemistry(
    plain: Study, small_shop: Builder
) -> None:
    """6 orders at 35 USD; with 1,000 USD at least, 4.383 of them in year 1."""
    for keys, orders in ((), (6, 6)), (('minimum_order = "1000 USD/order"',), (4.383, 4.383 * 0.9)):
        study = with_keys(small_shop, 'hazardous_freight = "35 USD/order"', *keys)
        without = with_keys(small_shop, *keys) if keys else plain
        after, before = (
            consumables(study, study.evaluate(SIMPLE)),
            consumables(without, without.evaluate(SIMPLE)),
        )
        expected = [0, orders[0] * 35 * 1.04, orders[1] * 35 * 1.04**2]
        assert [b - a for a, b in zip(before[:3], after[:3], strict=True)] == pytest.approx(expected)


def test_what_is_counted_by_orders_goes_by_those_placed_in_the_first_year(small_shop: Builder) -> None:
    """An hour of paperwork an order as money: 5 USD x 4.383, held, with general prices at 2.5 %."""
    text = '[methods.old.items.paperwork]\nfamily = "room"\ndriver = "order"\ncost = "5 USD/order"\n[methods.old.room]\n'
    study = small_shop(
        (ORDERS, ORDERS + 'minimum_order = "1000 USD/order"\n'), ("[methods.old.room]\n", text)
    )
    values = study.evaluate(SIMPLE)
    paid = next(x for x in study.methods["old"].column.lines if x.label == "Paperwork, money")
    assert values[paid].flat[0] == pytest.approx(5 * 4.383)


def test_a_least_order_that_never_binds_changes_nothing(plain: Study, small_shop: Builder) -> None:
    study = with_keys(small_shop, 'minimum_order = "0.01 USD/order"')
    for row in ("present", "present_full", "own_life"):
        after, before = (s.evaluate()[s.comparison.rows[row]].ravel() for s in (study, plain))
        assert after == pytest.approx(before)


def test_without_orders_nothing_is_divided_by_nothing(small_shop: Builder) -> None:
    """Orders at 0: no packs, no freight, every figure a number."""
    study = with_keys(small_shop, 'pack = "50 plate"', 'minimum_order = "100 USD/order"')
    values = study.evaluate({"methods.old.plates.orders": 0.0})
    assert one(study, values, "Plates beyond need, money by year") == [0.0] * len(study.shop.years)
    assert math.isfinite(values[study.methods["old"].lines["present"]].flat[0])
