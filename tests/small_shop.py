"""The smallest invented shop that can be read and worked: two methods, one size, a summary for its work."""

from roi.workbook.template import Template

SHOP = """
schema = 1
name = "Invented shop"
currency = "USD"
units = "metric"
current = "polyester"

[sizes]
small = "330 mm x 492 mm"

[presses.main]
label = "Two-colour"
printing_units = 2

[methods.polyester.equipment.line]
years_left = "4 year"

[methods.direct]

[summary]
plates_per_month = { small = 300 }
runs = { under_1000 = 0.4, to_5000 = 0.6 }
usual_ruling = "133 lpi"
"""

# A layout without the sheets of break-even and sensitivity and the cases behind them: a tenth of the formulas.
LEAN = Template(sheets=("Summary", "Inputs"))

# Nothing grows: what a figure is in year 1 it is in every year.
STILL = """
[growth]
volume = "0 %/year"
plates = "0 %/year"
wages = "0 %/year"
bought_in = "0 %/year"
chemistry = "0 %/year"
waste = "0 %/year"
energy = "0 %/year"
service = "0 %/year"
equipment = "0 %/year"
"""
