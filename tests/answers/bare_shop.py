"""A bare invented shop of two presses, stated so that its costs are sums of plates times prices and fixed costs.

One year ahead, no discounting, no tax, no waste and no remakes; methods are added by `method`.
"""

HEAD = """
schema = 1
name = "Bare shop, invented"
currency = "USD"
units = "metric"
current = "a"
[money]
horizon = "1 year"
discount_rate = "0 %/year"
inflation = "0 %/year"
tax_rate = "0 %"
tax_schedule = "none"
[growth]
volume = "0 %/year"
plates = "0 %/year"
wages = "0 %/year"
bought_in = "0 %/year"
chemistry = "0 %/year"
[shop]
work_days = "200 day/year"
early_failure = "0 %"
base_remakes = "0 %"
spoiled_stock = "0 %"
stretch = "0 %"
running_waste = "0 %"
switch_packing = "10 min/switch"
switch_fountain = "25 min/switch"
[sizes]
big = "400 mm x 500 mm"
small = "250 mm x 400 mm"
[presses.first]
label = "First"
state = 2
overtime = "60 USD/h"
full_rate = "90 USD/h"
[presses.second]
label = "Second"
state = 1
full_rate = "50 USD/h"
[bought_in]
delivery = "7 USD/trip"
life = "1000000 impression"
price = { big = "10 USD/plate", small = "10 USD/plate" }
"""
# 1,200 forms of one plate a year on the first press, 600 on the second; a tenth of them at 175 lpi where `fine` says so.
WORK = """
[summary]
plates_per_month = { big = 100, small = 50 }
runs = { under_1000 = 1 }
colours = { "1" = 1 }
press = { big = "first", small = "second" }
"""


def method(name: str, big: float, small: float, fixed: float, limit: int = 200, more: str = "") -> str:
    return f"""
[methods.{name}]
label = "Method {name}"
short = "{name.upper()}"
ruling_limit = "{limit} lpi"
life = {{ coated = "1000000 impression", uncoated = "1000000 impression" }}
plates = {{ price = {{ big = "{big} USD/plate", small = "{small} USD/plate" }} }}
[methods.{name}.items.yearly]
family = "room"
driver = "year"
cost = "{fixed} USD/year"
{more}
"""
