"""How a year's plates fall on its days: at most 24 levels of load, quietest first, from the log's dates or its months.

Plates and square metres are those the forms call for, a day; days are a year's. What a day takes at a station follows
from both, so that levels hold for every method. Days are ranked once, by their minutes at the slowest station of the
method in use; a typical day is the median of the working days, a busy one the 95th percentile, both by nearest rank.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from roi.scenario.period import bunching
from roi.scenario.scenario import Scenario
from roi.scenario.worklog import Loads

Floats = NDArray[np.float64]

MOST_LEVELS = 24
TYPICAL, BUSY = 0.50, 0.95
WEEK_DAYS = "1111100"
# How many levels stand for the days below the typical one, between it and the busy one, and above that: finest where
# a day may not fit into the shift. With one each for the typical, busy and busiest day and for days without plates: 24.
_BELOW, _BETWEEN, _ABOVE = 5, 6, 9


def load_levels(scenario: Scenario) -> Loads:
    """The levels of a scenario's work; days times plates add up to the plates called for in a year."""
    if scenario.work.loads is not None:
        return _kept(scenario)
    days, plates, area, basis = _days(scenario)
    worked = scenario.inputs[("shop", "work_days")]
    idle = worked.best * worked.factor - days.sum()
    if idle > 1e-9:
        days, plates, area = (np.append(x, y) for x, y in ((days, idle), (plates, 0.0), (area, 0.0)))
    order = np.lexsort((area, plates, _minutes(scenario, plates, area)))
    return _grouped(*_alike(days[order], plates[order], area[order]), basis)


def _kept(scenario: Scenario) -> Loads:
    """Levels as a workbook kept them; where only part of the work is left, every day has the same part of its plates."""
    work = scenario.work
    assert work.loads is not None
    areas = np.array([s.area for s in scenario.sizes])[work.size]
    plates, area = float(work.weight @ work.plates), float((work.weight * work.plates) @ areas)

    def part(now: float, kept: Floats) -> float:
        ratio = (
            now * work.per_year / float(work.loads.days @ kept)
            if work.loads is not None and kept.any()
            else 1.0
        )
        return 1.0 if abs(ratio - 1) < 1e-9 else ratio

    shares = part(plates, work.loads.plates), part(area, work.loads.area)
    return replace(work.loads, plates=work.loads.plates * shares[0], area=work.loads.area * shares[1])


def nearest_rank(days: Floats, share: float) -> int:
    """The position, from 0, of the day at a percentile by nearest rank: the first by which `share` of all days is reached.

    days : how many days each stands for, in rising order of what they are ranked by
    """
    reached = np.cumsum(days)
    return int(np.searchsorted(reached, share * reached[-1] * (1 - 1e-12), side="left"))


def _days(scenario: Scenario) -> tuple[Floats, Floats, Floats, str]:
    """Days a year, plates a day and m2 a day of every different day, in no order."""
    work = scenario.work
    areas = np.array([s.area for s in scenario.sizes])[work.size]
    plates = work.weight * work.plates
    worked = scenario.inputs[("shop", "work_days")]
    a_year = worked.best * worked.factor
    if np.isnat(work.day).all():
        # A summary knows only months: the days of one are taken to be alike.
        days = np.full(12, a_year / 12)
        share = work.month_share * work.per_year / days
        kept = share > 0
        basis = "the summary's shares of months: the days of a month are taken to be alike"
        return days[kept], plates.sum() * share[kept], (plates * areas).sum() * share[kept], basis
    if bunching(work.day, plates, work.days):
        months, which = np.unique(work.day.astype("datetime64[M]"), return_inverse=True)
        counted = _week_days(months)
        days = counted * a_year / counted.sum()
        basis = "the log's months: its dates bunch as invoices do, so plates are spread over each month's work days"
    else:
        dates, which = np.unique(work.day, return_inverse=True)
        days = np.full(len(dates), work.per_year)
        basis = "the log's own days"
    each = days / work.per_year
    return (
        days,
        np.bincount(which, plates, len(days)) / each,
        np.bincount(which, plates * areas, len(days)) / each,
        basis,
    )


def _week_days(months: NDArray[np.datetime64]) -> Floats:
    """Mondays to Fridays of each month, first and last month whole: an invoice stands for its month."""
    begins = months.astype("datetime64[D]")
    ends = (months + np.timedelta64(1, "M")).astype("datetime64[D]")
    return np.asarray(np.busday_count(begins, ends, weekmask=WEEK_DAYS), np.float64)


def _minutes(scenario: Scenario, plates: Floats, area: Floats) -> Floats:
    """What each day takes at its slowest station with the method in use, or with the first that makes plates here."""
    ranked = sorted(scenario.methods, key=lambda m: m.id != scenario.current)
    making = [m for m in ranked if m.makes_plates and scenario.names("methods", m.id, "stations")]
    if not making:
        return plates

    def best(station: str, name: str, absent: float) -> float:
        stated = scenario.stated("methods", making[0].id, "stations", station, name)
        return absent if stated is None else stated.best * stated.factor

    each = [
        (best(s, "fixed", 0.0) * plates + best(s, "per_area", 0.0) * area) / best(s, "units", 1.0)
        for s in scenario.names("methods", making[0].id, "stations")
    ]
    return np.asarray(np.max(each, axis=0), np.float64)


def _alike(days: Floats, plates: Floats, area: Floats) -> tuple[Floats, Floats, Floats]:
    """Neighbouring days with the same plates and area put together."""
    same = np.isclose(np.diff(plates), 0, atol=1e-9) & np.isclose(np.diff(area), 0, atol=1e-9)
    first = np.flatnonzero(np.append(True, ~same))
    return np.add.reduceat(days, first), plates[first], area[first]


def _grouped(days: Floats, plates: Floats, area: Floats, basis: str) -> Loads:
    """At most 24 levels: the typical, busy and busiest day and those without plates stay by themselves."""
    typical, busy, last = nearest_rank(days, TYPICAL), nearest_rank(days, BUSY), len(days) - 1
    starts = set(range(len(days)))
    if len(days) > MOST_LEVELS:
        lowest = 1 if plates[0] == 0 else 0
        starts = {0, lowest, typical, typical + 1, busy, busy + 1, last}
        starts |= _cuts(days, lowest, typical, _BELOW)
        starts |= _cuts(days, typical + 1, busy, _BETWEEN)
        starts |= _cuts(days, busy + 1, last, _ABOVE)
    first = np.array(sorted(s for s in starts if s <= last))
    held = np.add.reduceat(days, first)

    def mean(amount: Floats) -> Floats:
        return np.asarray(np.add.reduceat(days * amount, first) / held, np.float64)

    places = [int(np.searchsorted(first, day, side="right")) - 1 for day in (typical, busy)]
    return Loads(held, mean(plates), mean(area), places[0], places[1], basis)


def _cuts(days: Floats, start: int, end: int, parts: int) -> set[int]:
    """Where so many groups of about as many days begin, between two positions."""
    if end <= start:
        return set()
    reached = np.cumsum(days[start:end])
    wanted = reached[-1] * np.arange(parts) / parts
    return {start + int(i) for i in np.searchsorted(reached, wanted, side="right")}


__all__ = ["Loads", "load_levels", "nearest_rank"]
