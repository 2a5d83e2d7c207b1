"""Whether the room keeps up: what each day's plates take at the slowest station, against the shift.

Minutes and plates are a day's in year 1, days and hours a year's. Stations stand in series, each with one unit or
several alike; a day's work at a station is shared by its units. Overtime and a further unit are priced here beside the
costs; only the shop's switch takes them in (`overtime`). What falls out of reach and is bought in is taken to fall on all
days alike.
"""

from __future__ import annotations

from collections.abc import Sequence

from roi.engine.column import Line
from roi.engine.expression import Axis, Data, Expr
from roi.engine.operations import (
    absolute,
    at,
    at_least,
    compound,
    constant,
    gather,
    is_whole,
    larger,
    largest,
    opposite,
    pick,
    position_of,
    product_sum,
    smaller,
    total,
    up,
    when,
)
from roi.model.overtime import TOGETHER, is_counted
from roi.model.sheet import MethodSheet, add
from roi.model.shop import MINUTES

AT_ONCE = (1, 2, 4, 8)  # plates wanted together, file to press
MOST_UNITS = 4  # side by side in a station; the catalogue's limit
_DAY = constant(24, "h/day")
_EARLY = constant(2, "h/day")


def add_capacity(sheet: MethodSheet) -> None:
    """Load and use of the slowest station, overtime, a further unit, waits. Needs plates and stations.

    Leaves what the Capacity sheet shows in `sheet.lines` under names that begin with "capacity.".
    """
    names = sheet.names("stations")
    if not names or not sheet.method.makes_plates:
        return
    counted = (
        "Overtime is among the costs, the rest isn't."
        if is_counted(sheet.scenario)
        else "Not part of the costs."
    )
    sheet.column.heading(
        "Can the room keep up", f"Minutes at the slowest station against the shift. {counted}"
    )
    minutes = _minutes(sheet, names)
    slowest = minutes[0]
    if len(minutes) > 1:
        slowest = sheet.column.line(
            "Minutes a day at the slowest station", "min/day", _largest_of(list(minutes))
        )
    warm = _warm_up(sheet, names)
    _interruptions(sheet, names)
    available = _available(sheet, slowest, warm)
    rate = _overtime(sheet, slowest, available)
    _around_the_clock(sheet, warm)
    _first_two_hours(sheet, warm)
    _further_units(sheet, names, minutes, available, rate)
    _file_to_press(sheet, names)
    _rush(sheet)


def _keep(sheet: MethodSheet, name: str, label: str, unit: str, body: Expr, note: str = "") -> Line:
    line = sheet.column.line(label, unit, body, note=note)
    sheet.lines[f"capacity.{name}"] = line
    return line


def _largest_of(parts: Sequence[Expr]) -> Expr:
    found: Expr = parts[0]
    for part in parts[1:]:
        found = larger(found, part)
    return found


def _minutes(sheet: MethodSheet, names: tuple[str, ...]) -> list[Line]:
    """Minutes a day by load, a block a station."""
    column, work, shop, lines = sheet.column, sheet.work, sheet.shop, sheet.lines
    year_1 = at(shop.volume, 1)
    plates_made = column.line(
        "Plates imaged for each called for",
        "1",
        lines["imaged"] / shop.plates_called * year_1,
        note="in year 1: sets, remakes, and less what is bought in",
    )
    plates = column.line("Plates to image a day", "plate/day", work.load_plates * plates_made)
    lines["capacity.plates"] = plates
    area: Line | None = None
    if any(sheet.has("stations", name, "per_area") for name in names):
        area_made = column.line(
            "Area imaged for each m2 called for",
            "1",
            lines["area"] / (shop.plates_called * shop.mean_area) * year_1,
        )
        area = column.line("Area to image a day", "m2/day", work.load_area * area_made)
    found = []
    for name in names:
        time: Expr = plates * sheet.inp("stations", name, "fixed")
        if area is not None and sheet.has("stations", name, "per_area"):
            time = time + area * sheet.inp("stations", name, "per_area")
        if sheet.has("stations", name, "units"):
            time = time / sheet.inp("stations", name, "units")
        found.append(column.line(f"{sheet.label('stations', name)}, minutes a day", "min/day", time))
    return found


def _interruptions(sheet: MethodSheet, names: tuple[str, ...]) -> None:
    """How often the plates of a typical day interrupt what the operator does: told, not costed."""
    stated = [sheet.inp("stations", n, "touches") for n in names if sheet.has("stations", n, "touches")]
    if not stated:
        return
    each = sheet.column.line("Interruptions by a plate", "touch/plate", add(stated))
    plates = at(sheet.lines["capacity.plates"], sheet.work.loads.typical)
    _keep(sheet, "touches", "Interruptions on a typical day", "touch/day", plates * each)


def _warm_up(sheet: MethodSheet, names: tuple[str, ...]) -> Line | None:
    """Stations warm up side by side: the longest counts."""
    stated = [
        sheet.inp("stations", n, "warm_up_time") for n in names if sheet.has("stations", n, "warm_up_time")
    ]
    return sheet.column.line("Warming up", "min/day", _largest_of(stated)) if stated else None


def _less(minutes: Expr, warm: Line | None) -> Expr:
    return minutes if warm is None else minutes - warm


def _available(sheet: MethodSheet, slowest: Line, warm: Line | None) -> Line:
    """The shift's minutes, and what typical, busy and busiest days take of them."""
    column, work, shop, loads = sheet.column, sheet.work, sheet.shop, sheet.work.loads
    manned = smaller(sheet.shop_inp("shop", "shift_hours") * sheet.shop_inp("shop", "shifts"), _DAY)
    available = _keep(sheet, "available", "Minutes of the shift", "min/day", _less(manned * MINUTES, warm))
    days = {
        "typical": column.line("Typical day", "min/day", at(slowest, loads.typical), note="median working day"),
        "busy": column.line("Busy day", "min/day", at(slowest, loads.busy), note="95th percentile, nearest rank"),
        "worst": column.line("Busiest day", "min/day", largest(slowest)),
    }  # fmt: skip
    for name, day in days.items():
        _keep(sheet, f"use.{name}", f"Use of the shift, {name} day", "1", day / available)
    sheet.lines |= {f"capacity.minutes.{name}": day for name, day in days.items()}
    _keep(sheet, "fits", "The busiest day fits into the shift", "1", at_least(available, days["worst"]))
    at_limit = available * sheet.shop_inp("shop", "tight_above")
    within = column.line("The busy day leaves room to spare", "1", at_least(at_limit, days["busy"]))
    _keep(sheet, "tight", "Tight on the busy day", "1", opposite(within))
    a_year = column.line("Minutes of a year", "min/year", product_sum(work.load_days, slowest))
    some = _keep(sheet, "some", "Makes plates of this work", "1", opposite(at_least(0, a_year)))
    each = column.line(
        "Slowest station, a plate called for",
        "min/plate",
        a_year / (shop.plates_called * at(shop.volume, 1)),
    )
    _keep(
        sheet,
        "can",
        "Plates a day it can make",
        "plate/day",
        when(some, available / each, 0),
        "counted as called for, at the year's mix",
    )
    place = column.line("Place of the busiest day", "1", position_of(days["worst"], slowest))
    wanted = _keep(
        sheet,
        "worst_plates",
        "Plates called for on the busiest day",
        "plate/day",
        pick(work.load_plates, place) * at(shop.volume, 1),
    )
    part = column.line(
        "Plates of the busiest day the shift has time for", "plate/day", wanted * available / larger(days["worst"], available)
    )  # fmt: skip
    count = part.per("plate/day")
    whole = column.line("of which whole ones", "1", up(count) - opposite(is_whole(count)))
    _keep(
        sheet,
        "worst_can",
        "Plates of the busiest day made within the shift",
        "plate/day",
        when(sheet.lines["capacity.fits"], wanted, whole.during("plate/day")),
    )
    return available


def _overtime(sheet: MethodSheet, slowest: Line, available: Line) -> Line:
    """Days and hours over the shift, and what those hours would cost in overtime; gives the overtime rate."""
    column, shop, work = sheet.column, sheet.shop, sheet.work
    over = column.line("Does not fit into the shift", "1", opposite(at_least(available, slowest)))
    _keep(sheet, "days_over", "Days over the shift", "day/year", product_sum(work.load_days, over))
    hours = _hours_over(sheet, "", slowest, available)
    grades = [g for n in sheet.names("stations") if (g := sheet.text("stations", n, "grade"))]
    rate = column.line(
        "Overtime rate at the stations",
        "currency/h",
        shop.wage[(grades or list(shop.scenario.grades))[0]] * sheet.shop_inp("shop", "overtime_premium"),
        note="the loaded rate times the premium",
    )
    sheet.lines["capacity.overtime_hours"] = hours
    among = "counted in labour" if is_counted(sheet.scenario) else "beside the costs, not among them"
    _keep(
        sheet,
        "overtime",
        "Overtime at the stations",
        "currency/year",
        hours * rate,
        f"{among}; press waits excluded",
    )
    return rate


def _hours_over(sheet: MethodSheet, words: str, minutes: Line, available: Line) -> Line:
    over = sheet.column.line(f"Minutes over the shift{words}", "min/day", larger(0, minutes - available))
    return sheet.column.line(
        f"Hours over the shift{words}", "h/year", product_sum(sheet.work.load_days, over) / MINUTES
    )


def _around_the_clock(sheet: MethodSheet, warm: Line | None) -> None:
    worst: Expr = sheet.lines["capacity.minutes.worst"]
    taken = worst if warm is None else worst + warm
    hours = _keep(sheet, "worst_hours", "Hours the busiest day takes, warming up included", "h/day", taken / MINUTES)  # fmt: skip
    enough = sheet.column.line("24 hours are enough for the busiest day", "1", at_least(_DAY, hours))
    _keep(sheet, "never", "Can't do the busiest day even around the clock", "1", opposite(enough))


def _first_two_hours(sheet: MethodSheet, warm: Line | None) -> None:
    share = sheet.shop_inp("shop", "early_share")
    wanted = at(sheet.work.load_plates, sheet.work.loads.busy) * at(sheet.shop.volume, 1)
    _keep(sheet, "early_plates", "Plates wanted in the first two hours of a busy day", "plate/day", wanted * share)  # fmt: skip
    early = sheet.column.line("Minutes of the first two hours", "min/day", _less(_EARLY * MINUTES, warm))
    _keep(
        sheet,
        "early_use",
        "Use of the first two hours, busy day",
        "1",
        sheet.lines["capacity.minutes.busy"] * share / early,
    )


def _further_units(
    sheet: MethodSheet, names: tuple[str, ...], minutes: list[Line], available: Line, rate: Line
) -> None:
    """One more unit of each station priced, and of all those together, against the overtime it spares, a year.

    Together, since one more of a station alone does nothing where another is as slow.
    """
    priced = [
        i
        for i, name in enumerate(names)
        if sheet.has("stations", name, "unit_price") and sheet.has("stations", name, "unit_life")
    ]
    yearly = {i: _unit_a_year(sheet, names[i]) for i in priced}
    choices = [(names[i], sheet.label("stations", names[i]), [i]) for i in priced]
    if len(priced) > 1:
        choices.append((TOGETHER, "All of these stations", priced))
    for key, label, added in choices:
        words = f" with one more: {label.lower()}"
        times = [_with_one_more(sheet, names[i], m) if i in added else m for i, m in enumerate(minutes)]
        slowest = sheet.column.line(f"Minutes a day{words}", "min/day", _largest_of(times))
        left = _hours_over(sheet, words, slowest, available)
        cost = _keep(
            sheet,
            f"unit.{key}.yearly",
            f"{label}, one more, a year",
            "currency/year",
            add([yearly[i] for i in added]),
        )
        spared = (sheet.lines["capacity.overtime_hours"] - left) * rate
        _keep(
            sheet,
            f"unit.{key}.saves",
            f"{label}, one more: overtime spared less its cost",
            "currency/year",
            spared - cost,
        )
        sheet.lines[f"capacity.unit.{key}.hours"] = left


def _with_one_more(sheet: MethodSheet, name: str, minutes: Line) -> Expr:
    if not sheet.has("stations", name, "units"):
        return minutes / 2
    units = sheet.inp("stations", name, "units")
    return minutes * units / (units + 1)


def _unit_a_year(sheet: MethodSheet, name: str) -> Line:
    """What one more unit of a station costs a year over its life."""
    column, label, shop = sheet.column, sheet.label("stations", name), sheet.shop
    life, no_rate = sheet.inp("stations", name, "unit_life"), at_least(0, absolute(shop.rate))
    spread = column.line(
        f"{label}, years' worth of one more",
        "year",
        when(no_rate, life, (1 - 1 / compound(shop.rate, life)) / shop.rate),
        note="sum of discount factors over its life",
    )
    return column.line(
        f"{label}, one more unit a year", "currency/year", sheet.inp("stations", name, "unit_price") / spread
    )


def _file_to_press(sheet: MethodSheet, names: tuple[str, ...]) -> None:
    """Minutes from file to press of several plates alike.

    They leave every station in the order they come. Plate n leaves a station of u units one time after it came, or
    after plate n - u left, whichever is later; so the last of n takes every station once and the dearest choice of
    further rounds, a round at a station using up u of the n - 1 plates before it. With one unit each that is n - 1
    rounds at the slowest.
    """
    column, times = sheet.column, sheet.lines["station_times"]
    one = sheet.lines["one_plate"].during("plate")
    counts = Axis("plates before the last", tuple(str(n) for n in range(max(AT_ONCE))))
    before = column.data(
        Data(f"{column.key}.before", "Plates before the last", "1", counts, range(max(AT_ONCE)))
    )
    assert times.axis is not None
    units = column.line(
        "Units side by side",
        "1",
        gather(
            times.axis,
            [
                sheet.inp("stations", n, "units") if sheet.has("stations", n, "units") else at(before, 1)
                for n in names
            ],
        ),
    )
    several = any(sheet.has("stations", n, "units") for n in names)
    is_count = [
        column.line(
            f"Has {i} side by side", "1", at_least(units, at(before, i)) * at_least(at(before, i), units)
        )
        for i in range(1, (MOST_UNITS if several else 1) + 1)
    ]
    rounds: list[Line] = []
    for n in range(1, max(AT_ONCE)):
        parts: list[Expr] = [at_least(at(before, n), units) * times.during("plate")]
        parts += [flag * rounds[n - i - 1] for i, flag in enumerate(is_count, 1) if n - i >= 1]
        by_station = column.line(f"Further rounds, plate {n + 1}, by last station", "min", add(parts))
        rounds.append(column.line(f"Further rounds, plate {n + 1}", "min", largest(by_station)))
    for n in AT_ONCE:
        _keep(
            sheet,
            f"elapsed.{n}",
            f"{n} plate{'s' if n > 1 else ''}, file to press",
            "min",
            one + rounds[n - 2] if n > 1 else one,
        )


def _rush(sheet: MethodSheet) -> None:
    """What presses wait for rush forms' plates beyond the make-ready done meanwhile: told, not costed."""
    column, work = sheet.column, sheet.work
    forms = column.line(
        "Rush forms made here",
        "form/year",
        _own_rush(sheet) * at(sheet.shop.volume, 1),
    )
    ready = [sheet.shop_inp("presses", p.id, "make_ready") for p in sheet.scenario.presses]
    each = column.line("Make-ready by press", "min/pass", gather(work.presses, ready))
    passes = column.line(
        "Passes by press", "pass/year", gather(work.presses, [total(p) for p in work.passes])
    )
    mean = column.line("Make-ready, mean of all passes", "min/pass", product_sum(each, passes) / total(passes))  # fmt: skip
    wait = column.line(
        "Press waits for a rush form's plates",
        "min",
        larger(0, sheet.lines["at_once"] - mean.during("pass")),
        note="from file to press, less the make-ready done meanwhile",
    )
    _keep(
        sheet,
        "rush_wait",
        "Press waits for rush forms",
        "h/year",
        forms * wait.per("form") / MINUTES,
        "beside the costs, not among them",
    )


def _own_rush(sheet: MethodSheet) -> Expr:
    """Rush forms whose plates are made here: within reach, and not printed elsewhere."""
    if "elsewhere.own_rush" in sheet.lines:
        return sheet.lines["elsewhere.own_rush"] + 0
    return product_sum(sheet.lines["reach"], sheet.work.rush_forms)
