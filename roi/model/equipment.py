"""Equipment: what is paid for it and when, what it fetches, and what it costs to keep going.

A unit bought at t with life L is replaced in t + L at price (1 + g)^(t + L), less its resale share of that price, and not
when t + L reaches the horizon. What is left at the horizon is worth price (1 + g)^N x [s + (1 - s)(1 - age / L)]. A unit
owned at the switch is first replaced when its years left are over; where `resale_now` is stated, it then fetches that, less its
fall a year, in place of the resale share. Lives count whole years, halves rounded up.
Money positive in currency; `finance` puts the signs on.
"""

from __future__ import annotations

from roi.engine.column import Line
from roi.engine.expression import Constant, Expr
from roi.engine.operations import (
    at,
    at_least,
    compound,
    constant,
    is_whole,
    larger,
    nearest,
    opposite,
    product_sum,
    smaller,
    up,
)
from roi.model.backup import add_backup, has_backup
from roi.model.sheet import Machine, MethodSheet, add

CAPITALISED = ("freight", "installation", "commissioning", "licence")


def add_equipment(sheet: MethodSheet) -> None:
    """Purchases, resale, residual value and yearly upkeep of every unit."""
    column, shop = sheet.column, sheet.shop
    column.heading(
        "Equipment", "Bought in year 0 unless owned; replaced at the end of its life within the horizon."
    )
    growth = shop.growth["equipment"]
    paid: list[Expr] = []
    resold: list[Expr] = []
    old_ones: list[Expr] = []
    left: list[Line] = []
    at_start: list[Expr] = []
    trained: list[Expr] = []
    books: list[Expr] = []
    written_off: list[Expr] = []
    for name in sheet.names("equipment"):
        here, label = ("equipment", name), sheet.label("equipment", name)
        if sheet.has(*here, "rental"):
            _rent(sheet, here, label, at_start, trained)
            continue
        price = sheet.inp(*here, "price")
        years = larger(constant(1, "year"), nearest(sheet.inp(*here, "life").per("year")).during("year"))
        life = column.line(f"{label}, life in whole years", "year", years)
        owned = sheet.has(*here, "years_left")
        first: Expr = Constant(0).during("year")
        replaced: Line | None = None
        if owned:
            first = replaced = column.line(
                f"{label}, first bought in year",
                "year",
                nearest(sheet.inp(*here, "years_left").per("year")).during("year"),
            )
        bought = _purchases(sheet, label, life, first)
        paid.append(bought * price)
        extras = [sheet.inp(*here, e) for e in CAPITALISED if sheet.has(*here, e)]
        if extras:
            at_start.append(
                column.line(f"{label}, brought into use", "currency", add(extras))
                * _at_switch(sheet, owned, first)
            )
        if sheet.has(*here, "training"):
            trained.append(sheet.inp(*here, "training") * _at_switch(sheet, owned, first))
        sold = _old_one_sold(sheet, label, here, bought, first) if replaced is not None else None
        if sold is not None:
            old_ones.append(sold)
        if sheet.has(*here, "resale"):
            worth = column.line(f"{label}, resale worth", "currency", price * sheet.inp(*here, "resale"))
            resold.append(
                bought * worth if sold is None else bought * worth * opposite(at_least(first, shop.year))
            )
        brought = [sheet.inp(*here, name) for name in (*CAPITALISED, "training") if sheet.has(*here, name)]
        share = sheet.inp(*here, "resale") if sheet.has(*here, "resale") else None
        sheet.machines.append(
            Machine(name, label, price, tuple(brought), life, share, bought, replaced, sold)
        )
        left.append(_residual(sheet, label, here, price, life, first))
        if sheet.has(*here, "tax_book"):
            written_off.append(_old_book(sheet, label, here))
            books.append(sheet.inp(*here, "tax_book"))
        _upkeep(sheet, here, label, replaced)
    sheet.lines["old_book"] = column.line(
        "Tax book value at the switch", "currency", add(books) if books else Constant(0).during("currency")
    )
    off = add(written_off) if written_off else Constant(0).during("currency") * shop.after_now
    sheet.lines["old_book_off"] = column.line("Old book value written off", "currency", off)
    _totals(sheet, growth, paid, (resold, old_ones), left, at_start, trained)


def _purchases(sheet: MethodSheet, label: str, life: Line, first: Expr) -> Line:
    """1 in each year a unit is bought."""
    shop, column = sheet.shop, sheet.column
    due = column.line(f"{label}, from its first purchase on", "1", at_least(shop.year, first))
    whole = column.line(f"{label}, a whole number of lives later", "1", is_whole((shop.year - first) / life))
    within = opposite(at_least(shop.year, shop.horizon))
    return column.line(
        f"{label}, bought", "1", due * whole * within, note="not when it would be at the horizon"
    )


def _old_one_sold(
    sheet: MethodSheet, label: str, here: tuple[str, str], bought: Line, first: Expr
) -> Line | None:
    """What the one owned fetches in the year it is replaced, by year; None where its resale share stands for that."""
    if not sheet.has(*here, "resale_now"):
        return None
    worth: Expr = sheet.inp(*here, "resale_now") + 0
    if sheet.has(*here, "resale_fall"):
        worth = worth * compound(0 - sheet.inp(*here, "resale_fall"), sheet.shop.year)
    return sheet.column.line(
        f"{label}, the one owned sold when replaced",
        "currency",
        worth * bought * at_least(first, sheet.shop.year),
    )


def _at_switch(sheet: MethodSheet, owned: bool, first: Expr) -> Expr:
    """Installing and training are paid at the switch; an owned unit stands already, unless it has no year left."""
    return at_least(0, first) if owned else Constant(1)


def _residual(
    sheet: MethodSheet, label: str, here: tuple[str, str], price: Line, life: Line, first: Expr
) -> Line:
    """What the unit then in use is worth at the horizon."""
    column, shop = sheet.column, sheet.shop
    horizon = shop.horizon
    turns = larger(0, up((horizon - first) / life))
    following = column.line(f"{label}, next due after the horizon", "year", first + life * turns)
    # An owned unit may be good for longer than a new one lasts: it is still worth no more than a new one.
    unused = column.line(f"{label}, share of life left", "1", smaller(1, (following - horizon) / life))
    share: Expr = unused
    if sheet.has(*here, "resale"):
        resale = sheet.inp(*here, "resale")
        share = resale + (1 - resale) * unused
    level = column.line(
        f"{label}, price level at the horizon",
        "1",
        compound(shop.inp(column, "growth", "equipment"), horizon),
    )
    return column.line(f"{label}, residual value", "currency", price * level * share)


def _old_book(sheet: MethodSheet, label: str, here: tuple[str, str]) -> Line:
    """Book value of the owned unit, written off evenly over the years it has left for tax."""
    shop = sheet.shop
    years = sheet.inp(*here, "tax_years_left")
    share = shop.operating * at_least(years, shop.year)
    yearly = sheet.inp(*here, "tax_book") / years
    return sheet.column.line(
        f"{label}, old book value written off", "currency", (yearly * share).during("year")
    )


def _rent(
    sheet: MethodSheet, here: tuple[str, str], label: str, at_start: list[Expr], trained: list[Expr]
) -> None:
    """A machine that is rented: paid every month for as long as it is used, at the prices of equipment; nothing is
    bought. One that comes with a switch must still be brought in and learnt; the current method's stands already."""
    column = sheet.column
    yearly = column.line(
        f"{label}, rental a year", "currency/year", sheet.inp(*here, "rental") * constant(12, "month/year")
    )
    sheet.cost("equipment", "equipment", "time", yearly)
    _upkeep(sheet, here, label, None)
    if _rented_today(sheet, here):
        return
    extras = [sheet.inp(*here, e) for e in CAPITALISED if sheet.has(*here, e)]
    if extras:
        at_start.append(column.line(f"{label}, brought into use", "currency", add(extras)) + 0)
    if sheet.has(*here, "training"):
        trained.append(sheet.inp(*here, "training") + 0)


def _rented_today(sheet: MethodSheet, here: tuple[str, str]) -> bool:
    """Whether the machine is the current method's, or one that a method the same as that one keeps."""
    scenario, method = sheet.scenario, sheet.method.id
    return method == scenario.current or (
        scenario.current in scenario.bases(method)
        and scenario.has("methods", scenario.current, *here, "rental")
    )


def _upkeep(sheet: MethodSheet, here: tuple[str, str], label: str, replaced: Line | None) -> None:
    """Contract and repairs; those of the one owned rise until it is `replaced`, where a rise is stated."""
    if sheet.has("last_year", "service"):  # the invoice says it all
        return
    for name, words in (("contract", "service contract"), ("repairs", "call-outs and repairs")):
        if sheet.has(*here, name):
            yearly = sheet.column.line(f"{label}, {words}", "currency/year", sheet.inp(*here, name))
            sheet.cost("equipment", "service", "time", yearly)
            if name == "repairs" and replaced is not None and sheet.has(*here, "repair_growth"):
                _rising(sheet, here, label, yearly, replaced)


def _rising(sheet: MethodSheet, here: tuple[str, str], label: str, repairs: Line, replaced: Line) -> None:
    """What age adds to the repairs of the one owned: they are as stated in year 1, and rise until it is replaced."""
    column, shop = sheet.column, sheet.shop
    rise = compound(sheet.inp(*here, "repair_growth"), shop.year - constant(1, "year")) - 1
    share = column.line(
        f"{label}, rise of repairs with age", "1", rise * at_least(replaced, shop.year) * shop.operating
    )
    money = (repairs * share * shop.growth["service"]).during("year")
    sheet.rising.append(column.line(f"{label}, repairs added by age", "currency", money))


def _totals(
    sheet: MethodSheet,
    growth: Line,
    paid: list[Expr],
    sold: tuple[list[Expr], list[Expr]],
    left: list[Line],
    at_start: list[Expr],
    trained: list[Expr],
) -> None:
    column, shop = sheet.column, sheet.shop
    nothing = Constant(0).during("currency")
    resold, old_ones = sold
    now = opposite(shop.after_now)
    start = column.line("Bringing into use at the switch", "currency", add(at_start) if at_start else nothing)
    training = column.line("Training at the switch", "currency", add(trained) if trained else nothing)
    purchases = column.line(
        "Price of units bought", "currency", (add(paid) if paid else nothing * shop.after_now) * growth
    )
    share = sheet.shop_inp("money", "contingency")
    spare = column.line(
        "Contingency on first cost", "currency", (at(purchases, 0) + start + training) * share
    )
    capital = column.line(
        "Capital spent",
        "currency",
        purchases + (start + spare) * now,
        note="price, freight, installation, commissioning, licence, contingency",
    )
    fetched = (add(resold) if resold else nothing * shop.after_now) * growth * shop.after_now
    resale = column.line("Resale of units replaced", "currency", add([fetched, *old_ones]))
    expensed = column.line("Training, by year", "currency", training * now)
    residual = column.line("Residual value at the horizon", "currency", add(left) if left else nothing)
    sheet.lines |= dict(capital=capital, resale=resale, expensed=expensed, residual=residual)
    sheet.lines |= dict(purchases=purchases, start=start, training=training, spare=spare)


def add_downtime(sheet: MethodSheet) -> None:
    """Days down cost the plates bought in at the supplier's price above one's own, and a trip a day. Needs plate prices.

    Where a backup is kept, that makes the plates instead."""
    if not sheet.has("downtime", "days") or "own_price" not in sheet.lines:
        return
    if has_backup(sheet):
        add_backup(sheet)
        return
    column, lines = sheet.column, sheet.lines
    days = sheet.inp("downtime", "days")
    column.heading("Downtime", "While the line is down, plates are bought in.")
    dearer = column.line(
        "Bought-in price above one's own",
        "currency/plate",
        larger(0, lines["bought_price"] - lines["own_price"]),
    )
    extra = column.line(
        "A year's plates at that difference", "currency/year", product_sum(lines["imaged_sizes"], dearer)
    )
    share = column.line("Share of days down", "1", days / sheet.shop_inp("shop", "work_days"))
    plates = column.line("Plates bought in while down", "currency/year", extra * share)
    trips = days.per("day").during("trip") * sheet.shop_inp("bought_in", "delivery")
    sheet.cost("equipment", "bought_in", "work", plates)
    sheet.cost("equipment", "bought_in", "time", column.line("Trips while down", "currency/year", trips))
