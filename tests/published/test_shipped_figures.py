"""Shipped defaults that rest on a published figure, as the program reads them, against it by hand."""

from typing import Any

import pytest

from roi.scenario import catalogue
from roi.scenario.files import Raw
from roi.scenario.stated import StatedInput, read_input
from roi.units.unit import Unit

GALLON = 3.785411784  # litres, exactly: NIST Handbook 44 (2024), Appendix C, section 4
SQUARE_FOOT = 0.09290304  # square metres, exactly: the same

# BLS, Employer Costs for Employee Compensation, December 2024 (USDL-25-0335), private industry, USD an hour.
WAGES, BENEFITS, ALL_PAY = 31.47, 13.20, 44.67
BENEFIT_SHARE = 0.295  # as printed there

# US graphic-arts technical foundation, survey release of 21 August 2002: plates remade, digital and film, and
# of digital remakes those for which the processor was to blame. Shares of plates made, to 0.1 %.
REMADE, BY_PROCESSOR = 0.043, 0.069


def shipped(file: str, key: str) -> StatedInput:
    """One number of fixed unit, such as shipped("shop", "shop.rent") or shipped("direct", "room.area")."""
    path = tuple(key.split("."))
    tree: Any = catalogue.load("shop.toml") if file == "shop" else catalogue.load("methods", f"{file}.toml")
    for name in path:
        tree = tree[name]
    path = path if file == "shop" else ("methods", file, *path)
    entry = catalogue.entry_for(path)
    assert entry is not None, f"{key} is not in the catalogue"
    found = read_input(path, Raw(tree, file, True), entry, key, Unit.read(entry.unit), "USD", "metric", None)
    assert isinstance(found, StatedInput), found
    return found


def ends(number: StatedInput) -> tuple[float, float, float]:
    """Best, low and high in the catalogue's unit."""
    return number.best * number.factor, number.low * number.factor, number.high * number.factor


def test_on_costs_reach_the_published_mark_up() -> None:
    """Benefits of 29.5 % of all pay are 41.9 % on top of the wage. Tolerance: the whole percent shipped."""
    on_cost = shipped("shop", "grades.prepress.on_cost")

    assert pytest.approx(ALL_PAY, abs=0.005) == WAGES + BENEFITS
    assert pytest.approx(BENEFIT_SHARE, abs=0.0006) == BENEFITS / ALL_PAY
    assert ends(on_cost)[2] == pytest.approx(BENEFITS / WAGES, abs=0.005)
    # The figures its source names.
    assert f"{100 * BENEFITS / WAGES:.1f} %" in on_cost.source
    assert f"{100 * BENEFIT_SHARE:.1f} %" in on_cost.source


def test_remakes_are_the_surveyed_less_those_the_processor_makes() -> None:
    """What every method remakes, and what the processor adds. Tolerance: half the survey's last digit."""
    whatever_the_method = ends(shipped("shop", "shop.base_remakes"))[0]
    own = ends(shipped("processed", "remakes.own"))[0]

    assert own == pytest.approx(REMADE * BY_PROCESSOR, abs=0.0005)
    assert whatever_the_method == pytest.approx(REMADE * (1 - BY_PROCESSOR), abs=0.0005)
    assert whatever_the_method + own == pytest.approx(REMADE, abs=0.0005)


def test_running_waste_is_the_published_one_of_short_runs() -> None:
    """Trade magazine, 'Determining your paper waste', 1 January 1996: 3.7 % at 2,500 sheets, two colours."""
    best, low, high = ends(shipped("shop", "shop.running_waste"))

    assert best == pytest.approx(0.037)
    # The same article's 2.6 % is for over 25,000 sheets: short runs lie above it.
    assert 0.026 < low < best < high


def test_electricity_lies_between_the_states() -> None:
    """EIA, Electric Power Annual, commercial revenue a kWh by state, 2023. Tolerance: the digits shipped."""
    north_dakota, california, hawaii = 0.0738, 0.2391, 0.3903
    best, low, high = ends(shipped("shop", "shop.electricity"))

    assert low == pytest.approx(north_dakota, abs=0.0005)
    assert high == pytest.approx(california, abs=0.001)
    assert low < best < high < hawaii


def test_rent_is_the_published_one() -> None:
    """Statistics portal, rent of US industrial space by type, end of 2023: flexible 16.40 USD/sq ft."""
    assert ends(shipped("shop", "shop.rent"))[0] == pytest.approx(16.4 / SQUARE_FOOT)


def test_a_drum_holds_55_gallons() -> None:
    """55 x 3.785411784 = 208.19764812 L, NIST Handbook 44 (2024), Appendix C; two (1 to 4) a pickup."""
    container = ends(shipped("processed", "streams.developer.container"))
    pickup = ends(shipped("processed", "streams.developer.pickup_capacity"))

    assert container == pytest.approx((208.19764812,) * 3, rel=1e-12)
    assert pickup == pytest.approx(tuple(drums * 55 * GALLON for drums in (2, 1, 4)), rel=1e-12)


def test_heat_of_warming_up() -> None:
    """4 kW for 20 minutes are 1.333 kWh by hand. Tolerance: the 0.01 kWh shipped.

    The plate itself takes next to nothing: 0.15 mm x 2.71 g/cm3 x 0.92 kJ/(kg K) x 150 K are 0.0156 kWh/m2
    (density and heat capacity from data sheets of aluminium 1050A): a warm-up is worth over 50 m2 of plates.
    """
    best = ends(shipped("direct", "stations.curing.warm_up"))[0]

    assert best == pytest.approx(4 * 20 / 60, abs=0.005)
    assert best > 50 * 0.15e-3 * 2710 * 0.92 * 150 / 3600


def test_a_direct_plate_of_13_by_19_inches_takes_seven_minutes_and_a_polyester_one_three() -> None:
    """Common practice, no source: 7 (5 to 10) minutes a station of the direct line, about 3 on polyester."""
    area = 13 * 19 * 0.0254**2

    def minutes(file: str, station: str) -> float:
        fixed = ends(shipped(file, f"stations.{station}.fixed"))[0]
        return fixed + ends(shipped(file, f"stations.{station}.per_area"))[0] * area

    assert minutes("direct", "imager") == pytest.approx(7, abs=0.5)
    assert minutes("direct", "curing") == pytest.approx(7, abs=0.5)
    assert minutes("polyester", "imager") == pytest.approx(3, abs=0.25)
