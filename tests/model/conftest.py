"""The demo and a small invented shop, each built once; the small one: two methods, three forms in three days.

The small shop states every number that counts, so no shipped default decides what the tests compare with.
"""

from collections.abc import Callable
from pathlib import Path

import pytest

from roi.engine.evaluate import Values
from roi.model.study import Study, build
from roi.scenario.scenario import read

DEMO = Path(__file__).parents[2] / "scenarios" / "us_two_press" / "shop.toml"

LOG = """Job,Form,Day,Press,Plate,Plates,Good,Stock,Ruling,Reprint,Rush
J1,A,2025-03-03,only,large,2,40000,coated,133,,
J2,B,2025-03-04,only,small,1,9000,uncoated,100,yes,
J3,C,2025-03-05,only,small,4,5000,coated,200,,yes
"""

SHOP = """
schema = 1
name = "Miniature, invented"
currency = "USD"
units = "metric"
current = "old"
[money]
horizon = "4 year"
discount_rate = "10 %/year"
inflation = "2.5 %/year"
tax_rate = "25 %"
tax_schedule = "straight_line"
tax_years = 1
[growth]
volume = "-10 %/year"
plates = "3 %/year"
chemistry = "4 %/year"
bought_in = "5 %/year"
waste = "6 %/year"
energy = "7 %/year"
wages = "1 %/year"
service = "8 %/year"
equipment = "2 %/year"
[shop]
work_days = "250 day/year"
stretch = "10 %"
early_failure = "2 %"
base_remakes = "4 %"
remakes_at_press = "60 %"
pull_job = "20 min/remake"
spoiled_stock = "2 %"
running_waste = "5 %"
sheets_one_colour = "20 sheet/form"
sheets_two_colour = "50 sheet/form"
sheets_four_colour = "200 sheet/form"
paper = "0.05 USD/sheet"
stop_per_plate = "3 min/plate"
stop_back_to_colour = "8 min/stop"
stop_sheets = "40 sheet/stop"
electricity = "0.20 USD/kWh"
rent = "100 USD/m2/year"
rent_cash_share = "10 %"
[grades.prepress]
wage = "20 USD/h"
on_cost = "25 %"
cash_share = "40 %"
[sizes]
large = "500 mm x 400 mm"
small = "400 mm x 250 mm"
[presses.only]
printing_units = 2
state = 2
overtime = "30 USD/h"
contribution = "90 USD/h"
full_rate = "60 USD/h"
[bought_in]
delivery = "15 USD/trip"
rush = "10 USD/form"
life = "20000 impression"
[bought_in.price]
large = "20 USD/plate"
small = "12 USD/plate"

[methods.old]
label = "The old way"
short = "Old"
ruling_limit = "150 lpi"
reprint_reuse = "10 %"
[methods.old.life]
coated = "10000 impression"
uncoated = "5000 impression"
[methods.old.remakes]
own = "1 %"
[methods.old.plates]
orders = "6 order/year"
freight = "10 USD/order"
[methods.old.plates.price]
large = "4 USD/plate"
small = "2 USD/plate"
[methods.old.equipment.line]
label = "Old line"
price = "10000 USD"
life = "5 year"
years_left = "3 year"
resale = "10 %"
tax_book = "600 USD"
tax_years_left = "6 year"
contract = "800 USD/year"
[methods.old.stations.imager]
fixed = "2 min/plate"
per_area = "20 min/m2"
hands_on = "1 min/plate"
grade = "prepress"
power_running = "1 kW"
power_idle = "0.2 kW"
hours_on = "8 h/day"
warm_up = "0.5 kWh/day"
[methods.old.baths.developer]
volume = "20 L/change"
age_life = "0.25 year/change"
area_life = "50 m2/change"
replenish = "0.1 L/m2"
top_up = "0.05 L/h"
hours_on = "4 h/day"
price = "2 USD/L"
leaves = "50 %"
to_stream = "spent"
[methods.old.streams.spent]
container = "20 L/container"
container_price = "30 USD/container"
pickup_fee = "50 USD/pickup"
pickup_capacity = "25 L/pickup"
keeping = "0.5 year/pickup"
yearly = "40 USD/year"
[methods.old.items.pens]
family = "consumables"
driver = "year"
cost = "60 USD/year"
[methods.old.items.filter]
family = "consumables"
growth = "chemistry"
driver = "bath change"
cost = "7 USD/change"
[methods.old.tasks.cleaning]
driver = "work day"
minutes = "12 min/day"
grade = "prepress"
[methods.old.press]
loose_minutes = "2 min/plate"
loose_sheets = "5 sheet/plate"
[methods.old.downtime]
days = "2 day/year"
[methods.old.room]
area = "10 m2"

[methods.new]
label = "The new way"
short = "New"
ruling_limit = "200 lpi"
test_plates = "3 %"
[methods.new.life]
coated = "20000 impression"
uncoated = "8000 impression"
[methods.new.remakes]
own = "2 %"
[methods.new.plates]
price_per_area = "30 USD/m2"
[methods.new.equipment.line]
label = "New line"
price = "6000 USD"
freight = "300 USD"
installation = "500 USD"
training = "400 USD"
life = "2 year"
resale = "20 %"
repairs = "100 USD/year"
[methods.new.stations.imager]
fixed = "4 min/plate"
hands_on = "2 min/plate"
grade = "prepress"
power_running = "0.5 kW"
[methods.new.items.ink]
family = "consumables"
growth = "plates"
driver = "area imaged"
measure = "mL"
rate = "12 mL/m2"
price = "0.25 USD/mL"
[methods.new.items.head]
family = "equipment"
growth = "equipment"
driver = "plate imaged"
cost = "0.05 USD/plate"
[methods.new.tasks.wiping]
driver = "plate imaged"
minutes = "0.5 min/plate"
grade = "prepress"
[methods.new.press]
prewet = "1 min/plate"

[log]
file = "log.csv"
date_order = "year-first"
date_is = "press"
from = 2025-03-03
to = 2025-03-05
[log.columns]
job = "Job"
form = "Form"
date = "Day"
press = "Press"
size = "Plate"
plates = "Plates"
impressions = "Good"
stock = "Stock"
ruling = "Ruling"
reprint = "Reprint"
rush = "Rush"
"""

Builder = Callable[..., Study]


@pytest.fixture(scope="session")
def small_shop(tmp_path_factory: pytest.TempPathFactory) -> Builder:
    """Builds the small shop with texts of its file replaced: small_shop((before, after), ...)."""

    def built(*swaps: tuple[str, str]) -> Study:
        text = SHOP
        for before, after in swaps:
            assert before in text, f"{before!r} does not stand in the small shop's file"
            text = text.replace(before, after)
        folder = tmp_path_factory.mktemp("small_shop")
        (folder / "log.csv").write_text(LOG, "utf-8")
        (folder / "shop.toml").write_text(text, "utf-8")
        return build(read(folder / "shop.toml"))

    return built


@pytest.fixture(scope="session")
def miniature(small_shop: Builder) -> tuple[Study, Values]:
    """The small shop and every line's value."""
    study = small_shop()
    return study, study.evaluate()


@pytest.fixture(scope="session")
def demo() -> Study:
    """The shipped demonstration, built."""
    return build(read(DEMO))
