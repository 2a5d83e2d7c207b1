"""A small invented shop that states everything a budget takes: dated rises, VAT, one-offs, old equipment, accounts, dates.

Its year begins in August; nothing grows, so that a figure of year 1 is what is stated.
"""

from __future__ import annotations

import datetime
from pathlib import Path

from roi.answers.budget import Budget, budget_of
from roi.scenario.scenario import read
from tests.small_shop import SHOP, STILL

TODAY = datetime.date(2026, 11, 25)
SHARES = (
    0.30,
    0.20,
    0.10,
    0.05,
    0.05,
    0.05,
    0.05,
    0.04,
    0.04,
    0.04,
    0.04,
    0.04,
)  # of the work, January first
UNEVEN = SHOP + f"month_share = {list(SHARES)}\n"

OLD = """
[methods.polyester.equipment.line]
years_left = "4 year"
contract = "1200 USD/year"
repairs = "0 USD/year"
tax_book = "2400 USD"
tax_years_left = "2 year"
"""
# 18,000 to buy, 2,000 to bring in, 500 to learn; worth a tenth after eight years.
NEW = """
[methods.direct.equipment.line]
price = "18000 USD"
installation = "2000 USD"
freight = "0 USD"
commissioning = "0 USD"
licence = "0 USD"
training = "500 USD"
life = "8 year"
resale = "10 %"
"""
MONEY = '[money]\ncontingency = "0 %"\n'
PLAIN = UNEVEN.replace('[methods.polyester.equipment.line]\nyears_left = "4 year"\n', OLD) + NEW + STILL

FULL = (
    PLAIN
    + """
[methods.direct.changeover]
parallel = "2 month"
learning = "4 month"
learning_remakes = "4 %"
learning_minutes = "1 min/plate"
working_capital = "1.5 month"
[methods.direct.plates.price]
small = { best = "3 USD/plate", status = "quote", source = "invented quote", valid_until = 2027-09-30 }
[leaving]
stock = "400 USD"
drain = "250 USD"
sale = "1500 USD"
notice = "2.5 month"
notice_cost = "100 USD/month"
[money]
year_begins = 8
contingency = "10 %"
capitalise_above = "1000 USD"
vat_rate = "20 %"
vat_unrecovered = "50 %"
[price_steps.plates]
change = "25 %"
year = "1 year"
month = "4 month"
[accounts]
consumables = "4100"
capital = "=0200"
"""
)


def budgeted(
    folder: Path, text: str, *, month: int | None = 0, method: str | None = None, year: int = 2027
) -> Budget:
    """The budget of a shop stated in a text."""
    path = folder / "shop.toml"
    path.write_text(text, encoding="utf-8")
    return budget_of(read(path), year, month, method, TODAY)
