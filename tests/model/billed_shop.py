"""The small invented shop with work and baths that can be counted by hand.

Runs under 1,000 and no spoiled plates: 300 plates a month are 3,600 imaged a year, of 0.330 x 0.492 = 0.16236 m2 each, 584.496
m2. Two baths of 10 L changed ten times a year whatever the work: 200 L, of which 90 % leave, 180 L. Nothing grows.
"""

from __future__ import annotations

from pathlib import Path

from roi.model.study import Study, build
from roi.scenario.scenario import read
from tests.small_shop import SHOP, STILL

AREA = 3600 * 0.330 * 0.492
LITRES, LEAVING = 200.0, 180.0

_BATH = """
[methods.polyester.baths.{name}]
volume = "10 L/change"
age_life = "0.1 year/change"
area_life = "100000 m2/change"
replenish = "{replenish}"
top_up = "{top_up}"
hours_on = "8 h/day"
price = "4 USD/L"
leaves = "90 %"
"""
_EVEN = """
[money]
inflation = "0 %/year"
[methods.polyester.remakes]
own = "0 %"
own_tight = "0 %"
"""
_SHOP = """
[shop]
work_days = "250 day/year"
base_remakes = "0 %"
early_failure = "0 %"
spoiled_stock = "0 %"
waste_density = "1.03 kg/L"
electricity = "0.20 USD/kWh"
"""

# Every key about waste, cooling, water, plate material and invoices at once.
ALL_STREAM = """
code = "09 01 01*"
hazardous = false
container = "20 L/container"
price = false
container_price = "30 USD/container"
pickup_fee = "100 USD/pickup"
pickup_capacity = "60 L/pickup"
keeping = "3 month/pickup"
yearly = "30 USD/year"
registration = "50 USD/year"
tests = "75 USD/year"
manifest = "22 USD/pickup"
hours = "4 h/year"
pickup_hours = "1.5 h/pickup"
grade = "prepress"
ph = 12.4
silver = "300 mg/L"
silver_recovered = "90 %"
silver_credit = "0.50 USD/g"
"""
ALL_SHOP = """
cooling_share = "60 %"
cooling_cop = 3
water = "2 USD/m3"
sewer = "3 USD/m3"
other_hazardous = "25 kg/month"
"""
ALL_MORE = """
[leaving]
drain_volume = "20 L"
[methods.polyester.plates]
mass = "0.25 kg/m2"
[methods.polyester.last_year]
chemistry = "1900 USD/year"
waste = "700 USD/year"
service = "1500 USD/year"
plates = "9000 USD/year"
[methods.polyester.items.rinse]
label = "Rinse water"
family = "consumables"
growth = "waste"
driver = "area imaged"
counts_as = "water"
measure = "L"
rate = "11 L/m2"
[methods.polyester.items.flow]
label = "Water running through"
family = "consumables"
growth = "waste"
driver = "work day"
counts_as = "water"
measure = "m3"
rate = "0.2 m3/day"
"""


def billed_whole(folder: Path, rules: str) -> Study:
    """The shop with every such key stated, baths paid by area and by the hour."""
    return billed(
        folder,
        ALL_MORE,
        shop=ALL_SHOP,
        stream=ALL_STREAM,
        rules=rules,
        replenish="0.25 L/m2",
        top_up="0.01 L/h",
    )


def billed(
    folder: Path,
    more: str = "",
    *,
    shop: str = "",
    stream: str = "",
    rules: str = "none",
    replenish: str = "0 L/m2",
    top_up: str = "0 L/h",
) -> Study:
    """The shop worked, with keys added to [shop] and to the one waste stream, and other baths' rates."""
    path = folder / "shop.toml"
    path.write_text(text(more, shop, stream, rules, replenish, top_up), encoding="utf-8")
    return build(read(path))


def text(
    more: str, shop: str, stream: str, rules: str, replenish: str = "0 L/m2", top_up: str = "0 L/h"
) -> str:
    """The shop's file."""
    head = SHOP.replace("schema = 1", f'schema = 1\nwaste_rules = "{rules}"')
    head = head.replace("under_1000 = 0.4, to_5000 = 0.6", "under_1000 = 1.0")
    baths = "".join(
        _BATH.format(name=name, replenish=replenish, top_up=top_up) for name in ("activator", "stabiliser")
    )
    streams = f"\n[methods.polyester.streams.spent]\n{stream}\n"
    return head + STILL + _EVEN + _SHOP + shop + baths + streams + more


def lines_of(study: Study, method: str = "polyester"):
    """Every line of a method by its label."""
    return {line.label: line for line in study.methods[method].column.lines}


__all__ = [
    "ALL_MORE",
    "ALL_SHOP",
    "ALL_STREAM",
    "AREA",
    "LEAVING",
    "LITRES",
    "billed",
    "billed_whole",
    "lines_of",
    "text",
]
