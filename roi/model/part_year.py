"""The old method still runs for the first months of year 1: what that makes of a challenger's year, and the best month.

Money in currency; months of year 1. What follows the work is split by the share of the year's work that falls into those
months, what follows time by months / 12. Baths, waste, repairs and everything else that is worked out by year counts as time,
but for deliveries, orders, least amounts of plates and overtime, which count as work. Money at the switch is paid at the
start of year 1 whatever the month: plates are made on the new line from then on. What leases, rentals, notice and agreements
still demand shrinks by the months that the old method runs, since it pays them as it runs. Physical amounts, and running costs at
today's prices, stay those of a whole year of the new method.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from roi.engine.column import Line
from roi.engine.expression import Axis, Constant, Data, Expr
from roi.engine.operations import at, at_least, constant, opposite, pick, smallest, smallest_at
from roi.model.calendar_year import MONTHS
from roi.model.dues import add_dues_by_month
from roi.model.sheet import LABELS, FamilyMoney, MethodSheet, add
from roi.scenario.scenario import Scenario

_WORK = ("bought_in", "plates", "wages")  # price groups of what is worked out by year and follows the work
_WORDS = {"work": "the work", "time": "time"}
_YEAR = constant(MONTHS, "month/year")
_NONE = Constant(0).during("currency")

Further = Mapping[str, Sequence[tuple[str, Line]]]
Money = dict[str, FamilyMoney]


def is_stated(scenario: Scenario) -> bool:
    """Whether the shop states how many months of year 1 the old method still runs."""
    return scenario.has("leaving", "month")


def add_year_one(sheet: MethodSheet, money: Money, further: Further) -> None:
    """Split year 1 of every family into what follows the work and what follows time, in both views.

    Leaves lines under "year_1.FAMILY.work" and ".time", the same with "added." for what full cost adds, and the sums of
    all families in cash under "year_1.work" and "year_1.time".
    """
    sheet.column.heading("Year 1 by what it follows", "To share the year between the old method and the new.")
    for family, found in money.items():
        mine = [c for c in sheet.costs if c.family == family]
        blocks = further.get(family, ())
        for follows in ("work", "time"):
            parts: list[tuple[str, Expr]] = [(c.growth, c.cash) for c in mine if c.follows == follows]
            worked = [(growth, block) for growth, block in blocks if (growth in _WORK) == (follows == "work")]
            _year_1(sheet, family, "", follows, parts, worked)
            if found.added is not None:
                dearer = [c for c in mine if c.follows == follows and c.full is not c.cash]
                _year_1(sheet, family, "added.", follows, [(c.growth, c.full - c.cash) for c in dearer], [])
    for follows, words in _WORDS.items():
        keys = [f"year_1.{family}.{follows}" for family in money]
        sums = [sheet.lines[key] for key in keys if key in sheet.lines]
        body = add(sums) if sums else _NONE
        sheet.lines[f"year_1.{follows}"] = sheet.column.line(
            f"Cost of year 1, with {words}", "currency", body
        )


def _year_1(
    sheet: MethodSheet,
    family: str,
    which: str,
    follows: str,
    parts: Sequence[tuple[str, Expr]],
    blocks: Sequence[tuple[str, Line]],
) -> None:
    """A family's money of year 1 that follows one thing, from yearly amounts by price group and blocks by year.

    Made of the amounts and not of the family's block, so that further cases need no year but the first.
    """
    if not parts and not blocks:
        return
    column, shop = sheet.column, sheet.shop
    words = f"{LABELS[family].split(':')[0]}, year 1" + (", added at full cost" if which else "")
    scale = at(shop.volume if follows == "work" else shop.operating, 1)
    priced: list[tuple[str, Expr]] = [(growth, at(block, 1)) for growth, block in blocks]
    for growth in dict.fromkeys(growth for growth, _ in parts):
        a_year = add([amount for name, amount in parts if name == growth])
        name = f"{words}, {growth.replace('_', ' ')} prices, with {_WORDS[follows]}"
        yearly = column.line(name, "currency/year", a_year)
        priced.append((growth, (yearly * scale * at(shop.growth[growth], 1)).during("year")))
    if not which:
        for growth, amount in priced:
            sheet.year_1.setdefault((family, growth, follows), []).append(amount)
    line = column.line(f"{words}, with {_WORDS[follows]}", "currency", add([amount for _, amount in priced]))
    sheet.lines[f"year_1.{which}{family}.{follows}"] = line


def add_part_year(sheet: MethodSheet, old: MethodSheet, money: Money) -> Money:
    """The challenger's families with the old method's months in year 1. Needs `add_year_one` of both."""
    column, shop = sheet.column, sheet.shop
    column.heading(
        "The old method's months of year 1", "Money at the switch is paid at the start all the same."
    )
    month = sheet.shop_inp("leaving", "month")
    shares = _months(sheet)
    position = month.per("month") + 1
    work = column.line("Share of the year's work in those months", "1", pick(shares, position))
    time = column.line("Share of the year in those months", "1", (month / _YEAR).per("year"))
    sheet.lines |= {"months.work": work, "months.time": time}
    first = at(shop.discount_running, 1)
    mixed: Money = {}
    for family, found in money.items():
        words = LABELS[family].split(":")[0]
        mixed[family] = found
        more = _more(sheet, old, family, "", work, time)
        if more is None:
            continue
        by_year = column.line(
            f"{LABELS[family]}, with the old method's months",
            "currency",
            found.by_year + more * shop.first_year,
        )
        worth = column.line(
            f"{words}, present worth, with the old method's months", "currency", found.worth + more * first
        )
        mixed[family] = replace(found, by_year=by_year, worth=worth)
        more = _more(sheet, old, family, "added.", work, time)
        if more is None:
            continue
        base: Expr = _NONE if found.added is None else found.added
        base_worth: Expr = _NONE if found.added_worth is None else found.added_worth
        added = column.line(
            f"{words}, added at full cost, with the old method's months",
            "currency",
            base + more * shop.first_year,
        )
        added_worth = column.line(
            f"{words}, added at full cost, present worth, with the old method's months",
            "currency",
            base_worth + more * first,
        )
        mixed[family] = replace(mixed[family], added=added, added_worth=added_worth)
    return mixed


def _more(
    sheet: MethodSheet, old: MethodSheet, family: str, which: str, work: Line, time: Line
) -> Line | None:
    """What a family costs more in year 1 because the old method runs for those months; None where neither has any."""
    words = f"{LABELS[family].split(':')[0]}, " + ("added at full cost, " if which else "")
    parts: list[Expr] = []
    for follows, share in (("work", work), ("time", time)):
        name = f"{which}{family}.{follows}"
        if f"year_1.{name}" not in {**old.lines, **sheet.lines}:
            continue
        theirs: Expr = old.lines.get(f"year_1.{name}", _NONE)
        mine: Expr = sheet.lines.get(f"year_1.{name}", _NONE)
        label = f"{words}year 1, old above new, with {_WORDS[follows]}"
        above = sheet.lines[f"months.{name}"] = sheet.column.line(label, "currency", theirs - mine)
        parts.append(above * share)
    if not parts:
        return None
    return sheet.column.line(f"{words}more in the old method's months", "currency", add(parts))


def _months(sheet: MethodSheet) -> Line:
    """The share of a year's work before each month of year 1 in which one may change."""
    column = sheet.column
    names = ("at once", *(f"after {m} month{'s' if m > 1 else ''}" for m in range(1, MONTHS)))
    axis = Axis("months of year 1", names)
    place = column.data(
        Data(f"{column.key}.months", "Months of the old method", "month", axis, range(MONTHS))
    )
    done = pick(sheet.shop.months.before, place.per("month") + 1)
    line = column.line("Share of year 1's work before the change", "1", done)
    months = column.line("Months of the old method if changed then", "month", place + 0)
    sheet.lines |= {"months.before": line, "months.place": months}
    return line


def add_when_to_change(sheet: MethodSheet, old: MethodSheet) -> None:
    """The present cost of changing in each month of year 1, and the month in which it is least. Needs the finance lines."""
    column, shop, lines = sheet.column, sheet.shop, sheet.lines
    column.heading("When in the year to change", "Present cost after tax, cash; all else stays as stated.")
    before, place = lines["months.before"], lines["months.place"]
    above: dict[str, Line] = {}
    for follows, words in _WORDS.items():
        parts = [line for f in LABELS if (line := lines.get(f"months.{f}.{follows}")) is not None]
        above[follows] = column.line(
            f"Year 1, old method above the new, with {words}", "currency", add(parts) if parts else _NONE
        )
    kept = column.line(
        "Kept of a cost of year 1, in money of today",
        "1",
        (1 - sheet.shop_inp("money", "tax_rate")) * at(shop.discount_running, 1),
        note="after tax",
    )
    further = column.line("Further share of the year's work", "1", before - lines["months.work"])
    later = column.line("Further share of the year", "1", (place / _YEAR).per("year") - lines["months.time"])
    body = lines["present"] + (further * above["work"] + later * above["time"]) * kept
    if sheet.dues:
        then = column.line("Due if changed then, all", "currency", add(add_dues_by_month(sheet, old, place)))
        stated = column.line("Due in the month stated, all", "currency", add(list[Expr](sheet.dues)))
        # Paid, and relieved, in year 0.
        body = body + (then - stated) * (1 - sheet.shop_inp("money", "tax_rate"))
    cost = column.line("Present cost if changed then", "currency", body)
    least = column.line("Least present cost of these", "currency", smallest(cost))
    lines["when.least_flag"] = column.line(
        "Cheapest time to change", "1", at_least(least, cost), note="1 is the least"
    )
    lines["when.cost"], lines["when.least"] = cost, least
    staying = column.line("Present cost of staying", "currency", old.lines["present"] + 0)
    lines["when.staying"] = staying
    lines["when.stay"] = column.line(
        "Staying costs less in every month", "1", opposite(at_least(staying, least))
    )
    lines["when.place"] = column.line("Place of the least, from 1 for at once", "1", smallest_at(cost))


__all__ = ["add_part_year", "add_when_to_change", "add_year_one", "is_stated"]
