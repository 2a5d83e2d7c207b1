"""Numbers typed as text: what can mean one thing is taken, all else is told with what to type instead.

The judge is how the number is written in the countries that use each mark: Unicode's CLDR 45, numbers/symbols of en, de, fr
and de-CH (decimal and group), a group being three digits.
"""

import pytest

from roi.scenario.problems import Problem
from roi.workbook.read_typed import Unclear, read_typed
from roi.workbook.read_words import in_cells

NARROW, NO_BREAK, CURLY, MINUS = "\u202f", "\u00a0", "\u2019", "\u2212"


@pytest.mark.parametrize(
    ("text", "unit", "currency", "number"),
    [
        ("£1,900", "GBP", "GBP", 1900),  # en: comma between groups
        ("$1,234,567.5", "USD/year", "USD", 1234567.5),
        ("1,900", "USD", "USD", 1900),
        ("1.900,00", "EUR/year", "EUR", 1900),  # de: point between groups, comma before decimals
        ("1 900", "EUR", "EUR", 1900),
        (f"1{NARROW}900,5", "EUR", "EUR", 1900.5),  # fr: narrow no-break space between groups
        (f"1{NO_BREAK}900 €", "EUR", "EUR", 1900),
        (f"1{CURLY}900.50", "CHF", "CHF", 1900.5),  # de-CH: apostrophe between groups
        ("12,5", "min", "EUR", 12.5),
        ("0,125", "min", "USD", 0.125),
        ("2.10 USD/plate", "USD/plate", "USD", 2.1),
        ("USD 2.10", "USD/plate", "USD", 2.1),
        ("48 %", "%", "USD", 0.48),
        ("3,5 %", "%/year", "EUR", 0.035),
        (f"{MINUS}5 %", "%/year", "USD", -0.05),
        ("0.48", "%", "USD", 0.48),
        ("7", "", "USD", 7),
    ],
)
def test_what_can_mean_one_thing_is_taken(text, unit, currency, number):
    assert read_typed(text, unit, currency) == pytest.approx(number, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "unit", "currency", "what", "mend"),
    [
        ("1.900", "EUR", "EUR", "may be 1900 or 1 and a part", "type 1900, or 1.9"),
        ("1,900", "EUR", "EUR", "may be 1900 or 1 and a part", "type 1900, or 1.9"),
        ("€5", "USD", "USD", "is not in USD", "type the amount in USD"),
        ("5 EUR", "USD/plate", "USD", "is not in USD", "type the amount in USD"),
        ("$5", "min", "USD", "is an amount of money", "The unit, min, stands beside it"),
        ("50 %", "min", "USD", "is in per cent", "type the number alone"),
        ("48", "%", "USD", "may be a share or per cent", "type 48 % or 0.48"),
        ("five", "USD", "USD", "is text, not a number", "type the number alone"),
        ("1,90,00", "USD", "USD", "is no number", "own decimal mark only"),
        ("1.2.3", "USD", "USD", "is no number", "own decimal mark only"),
        ("1e5", "USD", "USD", "is text, not a number", "Write digits"),
        ("=1+1", "USD", "USD", "is text, not a number", "Write digits"),
    ],
)
def test_what_can_mean_two_things_is_told(text, unit, currency, what, mend):
    with pytest.raises(Unclear) as raised:
        read_typed(text, unit, currency)
    assert what in str(raised.value) and mend in raised.value.mend


@pytest.mark.parametrize(
    ("what", "mend", "said"),
    [
        ('"x" is not a share from 0 to 1', 'write 0.65 or "65 %"', "type 65 % or 0.65"),
        ("4800 % is above 100 %", "state 100 % or less", "type 48 % or 0.48"),
        ("-1 USD is below 0 USD", "state 0 USD or more", "type 0 USD or more"),
        ("is missing", 'state it like "5 min/plate"', "type its Value"),
        ("is no share", 'write tolerance = "10 %"', "type 10 %"),
        ("x", 'state date_order = "day-first" or "month-first"', 'choose day-first or month-first as "Order of day and month"'),
    ],
)  # fmt: skip
def test_mends_of_files_are_said_anew_for_cells(what, mend, said):
    assert in_cells(Problem("shop.xlsx, Inputs!D5", what, mend)).mend == said
