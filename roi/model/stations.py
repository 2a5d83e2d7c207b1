"""Stations in series: how long a plate takes, how much of that is hands-on, and what energy they draw.

n equal plates through stations with one unit each take sum(t) + (n - 1) x max(t): the permutation flow shop with
identical jobs; with units side by side they take at most that of time a unit (`capacity` has it exact for up to 8).
Hands-on minutes are labour, waiting is not.
"""

from __future__ import annotations

from roi.engine.column import Line
from roi.engine.expression import Axis, Expr
from roi.engine.operations import constant, gather, largest, total
from roi.model.sheet import MethodSheet, Used, add
from roi.model.shop import MINUTES


def add_stations(sheet: MethodSheet) -> None:
    """Times, energy and hands-on labour of each station. Needs plates."""
    names = sheet.names("stations")
    if not names or not sheet.method.makes_plates:
        return
    column = sheet.column
    column.heading("Stations", "How long plates take, one in each station at a time.")
    times = [_time(sheet, name) for name in names]
    stations = Axis("stations", tuple(sheet.label("stations", n) for n in names))
    by_station = column.line("Time a plate, by station", "min/plate", gather(stations, times))
    one = column.line("One plate, from file to press", "min/plate", total(by_station))
    by_unit = by_station
    if any(sheet.has("stations", n, "units") for n in names):
        shared = [
            time / sheet.inp("stations", n, "units") if sheet.has("stations", n, "units") else time
            for n, time in zip(names, times, strict=True)
        ]
        by_unit = column.line(
            "Time a plate, shared by the station's units", "min/plate", gather(stations, shared)
        )
    slowest = column.line("Slowest station", "min/plate", largest(by_unit))
    wanted = sheet.shop_inp("shop", "plates_at_once")
    at_once = column.line(
        "Plates wanted at once, from file to press",
        "min",
        one.during("plate") + (wanted - constant(1, "plate")) * slowest,
        note="all stations once, then the slowest for each further plate; with several units at most this",
    )
    sheet.lines |= dict(one_plate=one, station_times=by_station, at_once=at_once)
    _add_energy(sheet, names, times)
    for name in names:
        if sheet.has("stations", name, "hands_on"):
            minutes = sheet.lines["imaged"] * sheet.inp("stations", name, "hands_on")
            hours = column.line(
                f"{sheet.label('stations', name)}, hands-on hours", "h/year", minutes / MINUTES
            )
            sheet.hours.append((sheet.text("stations", name, "grade"), "work", hours))


def _time(sheet: MethodSheet, name: str) -> Line:
    time: Expr = sheet.inp("stations", name, "fixed")
    if sheet.has("stations", name, "per_area"):
        time = time + sheet.inp("stations", name, "per_area") * sheet.shop.mean_area
    return sheet.column.line(f"{sheet.label('stations', name)}, time a plate", "min/plate", time)


def _add_energy(sheet: MethodSheet, names: tuple[str, ...], times: list[Line]) -> None:
    """Energy of running plates above standing by follows the work; standing by and warming up follow the days."""
    column, days = sheet.column, sheet.shop_inp("shop", "work_days")
    used: dict[str, list[Line]] = {"work": [], "time": []}
    for name, time in zip(names, times, strict=True):
        label, here = sheet.label("stations", name), ("stations", name)
        idle = sheet.inp(*here, "power_idle") if sheet.has(*here, "power_idle") else None
        if sheet.has(*here, "power_running"):
            running = sheet.inp(*here, "power_running")
            power = running if idle is None else running - idle
            energy = sheet.lines["imaged"] * time * power / MINUTES
            used["work"].append(column.line(f"{label}, energy above standing by", "kWh/year", energy))
        if idle is not None and sheet.has(*here, "hours_on"):
            energy = sheet.inp(*here, "hours_on") * days * idle
            used["time"].append(column.line(f"{label}, energy standing by", "kWh/year", energy))
        if sheet.has(*here, "warm_up"):
            used["time"].append(
                column.line(f"{label}, energy warming up", "kWh/year", sheet.inp(*here, "warm_up") * days)
            )
    powers = [
        sheet.inp("stations", n, "power_running") for n in names if sheet.has("stations", n, "power_running")
    ]
    if powers:
        # All stations running at once set the peak that a demand charge is reckoned on.
        peak = column.line("Power with every station running", "kW", add(powers))
        demand = peak * sheet.shop_inp("shop", "demand_charge") * constant(12, "month/year")
        sheet.cost("energy", "energy", "time", column.line("Demand charge", "currency/year", demand))
    price = sheet.shop_inp("shop", "electricity")
    for follows, parts in used.items():
        if parts:
            words = "with the work" if follows == "work" else "with the days"
            kwh = column.line(f"Energy {words}", "kWh/year", add(parts))
            sheet.used.append(Used(f"Electricity {words}", follows, kwh))
            sheet.cost(
                "energy",
                "energy",
                follows,
                column.line(f"Energy {words}, money", "currency/year", kwh * price),
            )
            _add_cooling(sheet, kwh, follows, words)


def _add_cooling(sheet: MethodSheet, kwh: Line, follows: str, words: str) -> None:
    """What the air conditioning draws to remove its share of the heat, which is all that the machines draw."""
    if not sheet.scenario.has("shop", "cooling_share"):
        return
    column = sheet.column
    heat = kwh * sheet.shop_inp("shop", "cooling_share")
    cooling = column.line(
        f"Energy of cooling {words}", "kWh/year", heat / sheet.shop_inp("shop", "cooling_cop")
    )
    sheet.used.append(Used(f"Electricity of cooling {words}", follows, cooling))
    paid = cooling * sheet.shop_inp("shop", "electricity")
    sheet.cost(
        "energy", "energy", follows, column.line(f"Energy of cooling {words}, money", "currency/year", paid)
    )
