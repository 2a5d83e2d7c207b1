"""Likely mistakes about figures and money: what is misread, what is counted twice, what is no cash.

Each rule takes a case and gives problems; none changes a figure. Money in the scenario's currency, shares as fractions.
Some rules go by what a scenario says about a thing and the reckoning makes no use of:

- shop.tariff = "all-in" or "energy-only": whether the price a kWh holds the demand charge
- grades.X.press_operator = true: this grade stands at a press, whose full-cost rate holds its pay
- methods.X.items.Y.recharge = true: another department of the same house charges it
- methods.X.prices_with_vat, bought_in.prices_with_vat = true or false: whether their prices hold VAT
"""

from __future__ import annotations

from collections.abc import Iterator

from roi.answers.case import Case
from roi.model.invoices import USUAL_CHEMISTRY
from roi.scenario.problems import Problem

MOST_CHEMISTRY = USUAL_CHEMISTRY[1]  # L/m2
MOST_UNPRICED = 0.05  # share of a method's plates
BOX = 8.0  # a box holds more plates than this; prices by area don't differ so much
JUDGED = {2: "overtime is saved", 3: "it is sold out"}
OFFERS = ("quote", "invoice")  # statuses of what somebody has offered or paid
AS_BOOKED = 0.005  # share by which a sale may differ from book value and still be taken from it


def unusual_figures(case: Case) -> Iterator[Problem]:
    """A figure outside ten times the usual range, such as a price a box read as a price a plate."""
    for stated in case.study.scenario.inputs.values():
        if stated.unusual:
            yield Problem(
                stated.where,
                stated.unusual,
                "check the figure and its unit: is it a box or pack read as one?",
            )


def box_price(case: Case) -> Iterator[Problem]:
    """A price a plate far from what the plate's area costs, likely that of a box, or none at all."""
    sizes = {size.id: size for size in case.study.scenario.sizes}
    places = [("methods", s.method.id, "plates") for s in case.sheets if s.method.makes_plates]
    for place in [*places, ("bought_in",)]:
        by_area = case.best(*place, "price_per_area")
        for name, size in sizes.items():
            stated, price = case.stated(*place, "price", name), case.best(*place, "price", name)
            if stated is None or price is None or stated.unusual:
                continue
            if price == 0:
                yield Problem(stated.where, "a plate costs nothing", "state what a plate of this size costs")
            elif by_area and not 1 / BOX <= price / (by_area * size.area) <= BOX:
                yield Problem(
                    stated.where,
                    f"{stated.best:g} {stated.shown} is {price / (by_area * size.area):.2g} times "
                    "what a plate of this area costs by price_per_area",
                    "state the price of one plate: divide that of a box by the plates in it",
                )


def size_without_price(case: Case) -> Iterator[Problem]:
    """Many plates of a size priced by area from a default, though other sizes of the method have prices."""
    for sheet in case.sheets:
        own = sheet.method.makes_plates
        place = ("methods", sheet.method.id, "plates") if own else ("bought_in",)
        by_area = case.stated(*place, "price_per_area")
        plates = case.values[sheet.lines["imaged_sizes" if own else "bought_sizes"]].reshape(-1)
        sizes = case.study.scenario.sizes
        priced = [case.stated(*place, "price", size.id) is not None for size in sizes]
        if by_area is None or not by_area.default or not any(priced) or plates.sum() <= 0:
            continue
        for size, has, share in zip(sizes, priced, plates / plates.sum(), strict=True):
            if not has and share > MOST_UNPRICED:
                yield Problem(
                    case.where(*place, "price", size.id),
                    f"{size.label} has no price and {share:.0%} of the plates of {sheet.method.short}: "
                    "taken by area from a default",
                    "state the price of this size as well",
                )


def waiting_as_labour(case: Case) -> Iterator[Problem]:
    """Hands-on time as long as the machine takes: waiting costed as labour."""
    for sheet in case.sheets:
        for name in sheet.names("stations"):
            hands_on = case.best("methods", sheet.method.id, "stations", name, "hands_on")
            time = case.lines.get(f"{sheet.column.key}.{sheet.label('stations', name)}, time a plate")
            if hands_on and time is not None and hands_on >= case.at(time):
                yield Problem(
                    case.where("methods", sheet.method.id, "stations", name, "hands_on"),
                    f"{hands_on:.3g} min of hands-on time is all of the station's {case.at(time):.3g} min: "
                    "waiting is no labour",
                    "state only the minutes somebody's hands are on it",
                )


def freed_counted_as_cash(case: Case) -> Iterator[Problem]:
    """Freed hours, floor or idle press counted as money in full."""
    scenario = case.study.scenario
    keys = [("grades", grade, "cash_share") for grade in scenario.grades] + [("shop", "rent_cash_share")]
    for key in keys:
        if (case.best(*key) or 0) >= 1:
            yield Problem(
                case.where(*key),
                "all that is freed counts as cash",
                "state the part that really ends a payment: fewer paid hours, floor sublet",
            )
    low = case.best("shop", "spare_below") or 0
    for row, press in enumerate(scenario.presses):
        state, use = (
            round(case.best("presses", press.id, "state") or 0),
            case.at(case.study.shop.press_use, row),
        )
        if state in JUDGED and use < low:
            yield Problem(
                case.where("presses", press.id, "state"),
                f"says {JUDGED[state]}, but the work fills {use:.0%} of its hours: idle press is no cash",
                "write 0 to have it judged from use, or correct the hours staffed",
            )


def chemistry_by_time(case: Case) -> Iterator[Problem]:
    """More than a litre of bath a square metre: the baths are paid for by time, not by work."""
    for sheet in case.sheets:
        used = [
            case.lines[f"{sheet.column.key}.{sheet.label('baths', name)}, used"]
            for name in sheet.names("baths")
        ]
        area = case.at(sheet.lines["area_by_year"], 1)
        litres = sum(case.at(line, 1) for line in used)
        if "invoice.implied" in sheet.lines:
            litres = case.at(sheet.lines["invoice.implied"]) * area
        if area > 0 and litres / area > MOST_CHEMISTRY:
            yield Problem(
                f"{case.study.scenario.path.name}, methods.{sheet.method.id}.baths",
                f"{_litres(litres / area)} L of chemistry a square metre: you pay for time, not area",
                "check volume and age_life; if they are right, a smaller tank or fewer changes save more "
                "than a cheaper litre",
            )


def operator_counted_twice(case: Case) -> Iterator[Problem]:
    """A press operator's minutes costed as labour, though the full-cost rate of a press holds the operator."""
    scenario = case.study.scenario
    if not any(case.best("presses", press.id, "full_rate") for press in scenario.presses):
        return
    for grade in scenario.grades:
        if scenario.plain("grades", grade, "press_operator") is not True:
            continue
        hours = {
            sheet.method.short: sum(case.at(line) for name, _, line in sheet.hours if name == grade)
            for sheet in case.sheets
        }
        most = max(hours, key=lambda name: hours[name])
        if hours[most] > 0:
            yield Problem(
                case.where("grades", grade, "press_operator"),
                f"{hours[most]:,.0f} hours a year of a press operator are costed as labour with {most}, "
                "and the full-cost rate of a press holds its operator's pay too",
                "name a grade that doesn't stand at a press in tasks and stations; if the work is done "
                "outside the hours a press is staffed, leave out press_operator",
            )


def recharge_as_cash(case: Case) -> Iterator[Problem]:
    """What another department of the same house charges, counted as money that leaves the house."""
    scenario = case.study.scenario
    for sheet in case.sheets:
        for name in sheet.names("items"):
            here = ("methods", sheet.method.id, "items", name)
            if scenario.plain(*here, "recharge") is not True:
                continue
            money = case.at(f"{sheet.column.key}.{sheet.label('items', name)}, money")
            if money != 0:
                yield Problem(
                    case.where(*here, "recharge"),
                    f"{sheet.label('items', name)}: {abs(money):,.0f} {scenario.currency} a year at today's "
                    "prices moves between departments and is counted as cash",
                    f"state what the house itself pays for it, or leave it out: items.{name} = false",
                )


def vat_on_one_side(case: Case) -> Iterator[Problem]:
    """Prices that hold VAT compared with prices that don't, or that don't say."""
    plain = case.study.scenario.plain
    shared = plain("bought_in", "prices_with_vat")
    says: dict[str, bool | None] = {}
    keys = {sheet.method.short: ("methods", sheet.method.id) for sheet in case.sheets}
    buys = False
    for sheet in case.sheets:
        says[sheet.method.short] = plain(
            "methods",
            sheet.method.id,
            "prices_with_vat",
            default=None if sheet.method.makes_plates else shared,
        )
        some = float(case.values[sheet.lines["bought_sizes"]].sum()) > 0
        buys = buys or (some and sheet.method.makes_plates)
    if buys:
        says["plates that methods buy in"] = shared
    holds = [name for name, vat in says.items() if vat is True]
    without = [name for name, vat in says.items() if vat is False]
    silent = [name for name, vat in says.items() if vat is None]
    if holds and (without or silent):
        others = [f"those of {', '.join(without)} don't"] if without else []
        others += [f"of {', '.join(silent)} it isn't said"] if silent else []
        yield Problem(
            case.where(*keys.get(holds[0], ("bought_in",)), "prices_with_vat"),
            f"prices of {', '.join(holds)} hold VAT, {', '.join(others)}",
            "state every price with VAT or every one without (without, where it is recovered), "
            "and say so for each method and bought_in",
        )


def demand_charge_twice(case: Case) -> Iterator[Problem]:
    """A demand charge beside a price a kWh that holds it already."""
    stated, tariff = case.stated("shop", "demand_charge"), case.study.scenario.text("shop", "tariff")
    if stated is not None and stated.best > 0 and tariff != "energy-only":
        charged = f"{stated.best:g} {stated.shown} is charged"
        yield Problem(
            stated.where,
            f"{charged} beside an all-in tariff, whose price a kWh holds demand already"
            if tariff
            else f"{charged}, and the tariff isn't said to be energy-only: an all-in price a kWh holds demand already",
            'state a demand charge of 0, or the energy-only price as electricity and tariff = "energy-only"',
        )


def book_value_as_cash(case: Case) -> Iterator[Problem]:
    """A sale of the old machines at their book value or at the price of new ones; no offer is doubted."""
    stated, sale = case.stated("leaving", "sale"), case.best("leaving", "sale") or 0.0
    if stated is None or sale <= 0 or stated.status in OFFERS:
        return
    sheet, currency = case.current, case.study.scenario.currency

    def of_all(key: str) -> float:
        here = ("methods", sheet.method.id, "equipment")
        return sum(case.best(*here, name, key) or 0.0 for name in sheet.names("equipment"))

    book, new = of_all("tax_book"), of_all("price")
    what = ""
    if abs(sale - book) <= AS_BOOKED * book:
        what = f"a sale is put at the tax book value, {book:,.0f} {currency}: no buyer has offered it"
    elif 0 < new <= sale:
        what = f"a sale at {sale:,.0f} {currency}, where replacing it by a new one costs {new:,.0f}"
    if what:
        yield Problem(
            stated.where,
            what,
            'state what a buyer offers, with status = "quote": what was paid once is spent either way, '
            "and book value matters to tax only",
        )


def _litres(a_square_metre: float) -> str:
    # Two digits are all such a count is worth; a hardly used bath comes to thousands, which nobody reads as 2.5e+03.
    return f"{float(f'{a_square_metre:.2g}'):,.10g}"
