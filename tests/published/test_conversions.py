"""Units as this program turns them, against the tables of NIST; prices against the same by hand."""

import csv
import math
from pathlib import Path

import pytest

from roi.units.quantity import factor, read_unit, split_number
from roi.units.unit import Unit

TABLE = Path(__file__).with_name("conversions.csv")
LINES = [line for line in TABLE.read_text("utf-8").splitlines() if not line.startswith("#")]
ROWS = [(*row[:3], float(row[3]), float(row[4])) for row in list(csv.reader(LINES))[1:]]
EXACT = 1e-14  # a few last digits of a double


@pytest.mark.parametrize(("document", "unit", "wanted", "given", "last"), ROWS)
def test_a_unit_is_what_nist_says(document: str, unit: str, wanted: str, given: float, last: float) -> None:
    """NIST SP 811 (2008), Appendix B.8, and NIST Handbook 44 (2024), Appendix C; to half the last digit."""
    found = factor(read_unit(unit, "USD"), Unit.read(wanted))

    assert math.isclose(found, given, rel_tol=EXACT, abs_tol=last / 2), document


# By hand from the exact gallon, pound and foot of NIST Handbook 44 (2024), Appendix C.
PRICES = [
    # A municipal rate for caustic liquid: City of Elk Grove (California), special waste rates.
    ("12.24 USD/gal", "currency/L", 12.24 / 3.785411784),
    # Ingot at 130 cents a pound: USGS Mineral Commodity Summaries 2024, Aluminum.
    ("1.30 USD/lb", "currency/kg", 1.30 / 0.45359237),
    # Flexible space at 16.40 a square foot and year.
    ("16.40 USD/sq ft/year", "currency/m2/year", 16.40 / 0.09290304),
    # A price an area is not a price a side: 144 square inches to the square foot.
    ("1 USD/sq in", "currency/m2", 144 / 0.09290304),
]


@pytest.mark.parametrize(("text", "unit", "by_hand"), PRICES)
def test_a_price_turns_the_other_way(text: str, unit: str, by_hand: float) -> None:
    number, stated = split_number(text)
    found = number * factor(read_unit(stated, "USD"), Unit.read(unit), "USD")

    assert math.isclose(found, by_hand, rel_tol=EXACT)
