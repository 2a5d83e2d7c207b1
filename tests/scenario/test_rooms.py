"""What contradicts itself about room, orders and backup is refused with the file, the key and the mend; the rest is not."""

from __future__ import annotations

from pathlib import Path

import pytest

from roi.scenario.problems import BadInput
from roi.scenario.scenario import read
from tests.small_shop import SHOP

DIRECT = "[methods.direct]\n"
OWN = """
[methods.own]
label = "A line of one's own"
short = "Own"
ruling_limit = "150 lpi"
[methods.own.life]
coated = "10000 impression"
uncoated = "8000 impression"
[methods.own.plates]
price_per_area = "14 USD/m2"
"""
FIRES = [
    (
        DIRECT + 'stations.curing.hours_on = "15 min/day"\n',
        "shop.toml, methods.direct.stations.curing.hours_on",
        "switched on for 0.25 h a day, and warms up for 20 min of it",
        "a shorter warm_up_time",
    ),
    (
        DIRECT + 'stations.imager.unit_price = "9000 USD"\n',
        "shop.toml, methods.direct.stations.imager.unit_life",
        "is missing",
        "state how long one more unit lasts",
    ),
    (
        DIRECT + 'stations.imager.unit_life = "5 year"\n',
        "shop.toml, methods.direct.stations.imager.unit_price",
        "is missing",
        "state what one more unit costs",
    ),
    *(
        (
            OWN + f"{key}\n",
            "shop.toml, methods.own.plates.orders",
            "is missing",
            'state orders, like "12 order/year"',
        )
        for key in (
            'minimum_order = "300 USD/order"',
            'pack = "50 plate"',
            'pack.small = "50 plate"',
            'freight = "20 USD/order"',
            'hazardous_freight = "20 USD/order"',
            '[methods.own.items.papers]\nfamily = "room"\ndriver = "order"\ncost = "5 USD/order"',
        )
    ),
    (
        '[methods.polyester.plates]\nhazardous_freight = "35 USD/order"\n',
        "shop.toml, methods.polyester.plates.hazardous_freight",
        "counted twice: methods.polyester.items.chemistry_freight.cost holds it too",
        "items.chemistry_freight = false",
    ),
    (
        OWN + '[methods.own.backup]\nyearly = "300 USD/year"\n',
        "shop.toml, methods.own.downtime.days",
        "is missing",
        "the backup serves those",
    ),
    (
        '[methods.bought_in]\nbackup.resale = "900 USD"\n',
        "shop.toml, methods.bought_in.backup.resale",
        "no line to back up",
        "leave backup out",
    ),
    (
        DIRECT + 'plates.pack.smal = "50 plate"\n',
        "shop.toml, methods.direct.plates.pack.smal",
        "is not a plate size of this shop",
        'was "small" meant?',
    ),
    # Limits leave something of every shift: a warm-up as long as the shift is refused by one of them.
    (
        DIRECT + 'stations.curing.warm_up_time = "8 h/day"\n',
        "shop.toml, methods.direct.stations.curing.warm_up_time",
        "is above 1.66667 h/day",
        "or less",
    ),
    (
        '[shop]\nshift_hours = "15 min/day"\n',
        "shop.toml, shop.shift_hours",
        "is below 120 min/day",
        "or more",
    ),
]
SILENT = [
    DIRECT + 'stations.curing.hours_on = "21 min/day"\n',
    DIRECT + 'stations.curing.hours_on = "0 h/day"\n',
    DIRECT + 'stations.imager.unit_price = "9000 USD"\nstations.imager.unit_life = "5 year"\n',
    DIRECT + 'plates.pack.small = "50 plate"\nplates.minimum_order = "300 USD/order"\n',
    DIRECT + 'plates.hazardous_freight = "20 USD/order"\n',
    '[methods.polyester]\nitems.chemistry_freight = false\nplates.hazardous_freight = "35 USD/order"\n',
    DIRECT + 'backup.yearly = "300 USD/year"\n',
]


def shop(folder: Path, more: str) -> Path:
    path = folder / "shop.toml"
    text = SHOP.replace(DIRECT, more) if more.startswith(DIRECT) else SHOP + more
    path.write_text(text, "utf-8")
    return path


@pytest.mark.parametrize(("more", "where", "what", "mend"), FIRES)
def test_a_contradiction_is_named_with_key_and_mend(
    tmp_path: Path, more: str, where: str, what: str, mend: str
) -> None:
    with pytest.raises(BadInput) as bad:
        read(shop(tmp_path, more))
    (problem,) = bad.value.problems
    assert problem.where == where
    assert what in problem.what
    assert mend in problem.mend


@pytest.mark.parametrize("more", SILENT)
def test_what_goes_together_is_read(tmp_path: Path, more: str) -> None:
    assert read(shop(tmp_path, more)).methods
