"""The algebra of units: products and quotients of symbols, by hand."""

import pytest

from roi.units.unit import NUMBER, Unit


@pytest.mark.parametrize(
    "one, two, product, quotient",
    [
        ("currency/plate", "plate/year", "currency/year", "currency*year/plate/plate"),
        ("min", "h/min", "h", "min*min/h"),
        ("1", "m2", "m2", "1/m2"),
        ("L/m2", "m2/year", "L/year", "L*year/m2/m2"),
        ("kWh", "currency/kWh", "currency", "kWh*kWh/currency"),
    ],
)
def test_units_multiply_and_divide(one, two, product, quotient):
    assert Unit.read(one) * Unit.read(two) == Unit.read(product)
    assert Unit.read(one) / Unit.read(two) == Unit.read(quotient)


def test_order_does_not_matter_and_what_cancels_is_gone():
    assert Unit.read("plate*form") == Unit.read("form*plate")
    assert hash(Unit.read("plate*form")) == hash(Unit.read("form*plate"))
    assert Unit.read("plate/plate") == NUMBER
    assert Unit.read("currency/plate/year*plate") == Unit.read("currency/year")
    assert (Unit.read("m2") / Unit.read("m2")).is_number


def test_power_is_repeated_product():
    assert Unit.read("m/year") ** 2 == Unit.read("m*m/year/year")
    assert Unit.read("m/year") ** -1 == Unit.read("year/m")
    assert Unit.read("m/year") ** 0 == NUMBER


def test_unlike_symbols_stay_apart_though_they_measure_the_same():
    assert Unit.read("min") != Unit.read("h")
    assert Unit.read("plate") != Unit.read("form")
    assert Unit.read("min") != "min"


def test_a_kilowatt_hour_is_kilowatts_times_hours():
    assert Unit.read("kW") * Unit.read("h/year") == Unit.read("kWh/year")


@pytest.mark.parametrize(
    "text",
    ["1", "currency/plate", "1/year", "currency/plate/year", "kWh", "kWh/year", "currency/kWh", "kWh/day"],
)
def test_what_is_written_reads_back_as_the_same_words(text):
    assert str(Unit.read(text)) == text
    assert Unit.read(str(Unit.read(text))) == Unit.read(text)
    assert text in repr(Unit.read(text))


def test_has_looks_above_and_below():
    unit = Unit.read("currency/plate")
    assert unit.has("currency") and unit.has("plate") and not unit.has("form")


@pytest.mark.parametrize("text", ["", "  ", "a*", "/a", "a//b", "a^2", "3 min", "a b", "m²", "a/(b*c)", "12"])
def test_what_is_no_unit_is_refused(text):
    with pytest.raises(ValueError, match="unit"):
        Unit.read(text)
