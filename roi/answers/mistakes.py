"""Likely mistakes in a scenario that can be reckoned: warnings with the mend. None changes a figure.

A rule is a function from a case (the study with its values) to problems; `RULES` lists them in the order they
are told. Shares are fractions, lives in years. Thresholds are conventions of this tool.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from roi.answers.case import Case
from roi.answers.compare import horizon, why_not
from roi.answers.ranges import told, try_ranges
from roi.engine.evaluate import Values
from roi.model.equipment import CAPITALISED
from roi.model.study import Study
from roi.scenario.period import SHORT_LOG
from roi.scenario.problems import Problem

OLD = 5.0  # years; a plate line older than this is hard to sell
MOST_LEFT = 0.20  # share of the price it may still fetch then
MOST_CHEMISTRY = 1.0  # L/m2
MOST_LEFT_OUT = 0.05  # share of the log's rows
MOST_UNPRICED = 0.05  # share of a method's plates
BOX = 8.0  # a box holds more plates than this; prices by area don't differ so much
SETS_DIFFER = 0.02  # share by which plates hung may differ before plates are no common measure
JUDGED = {2: "overtime is saved", 3: "it is sold out"}


def mistakes(study: Study, values: Values) -> list[Problem]:
    """Every warning that applies to one case, in the order of `RULES`."""
    case = Case(study, values)
    return [problem for rule in RULES for problem in rule(case)]


# --- figures that don't look right -------------------------------------------------------------------


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
        if area > 0 and litres / area > MOST_CHEMISTRY:
            yield Problem(
                f"{case.study.scenario.path.name}, methods.{sheet.method.id}.baths",
                f"{litres / area:.2g} L of chemistry a square metre: you pay for time, not area",
                "check volume and age_life; if they are right, a smaller tank or fewer changes save more "
                "than a cheaper litre",
            )


# --- machines ----------------------------------------------------------------------------------------


def residual_too_high(case: Case) -> Iterator[Problem]:
    """A line five years old or more that is still worth above a fifth of its price."""
    for sheet in case.sheets:
        for name in sheet.names("equipment"):
            here, label = ("methods", sheet.method.id, "equipment", name), sheet.label("equipment", name)
            life = case.at(f"{sheet.column.key}.{label}, life in whole years")
            resale = case.best(*here, "resale") or 0.0
            unused = case.at(f"{sheet.column.key}.{label}, share of life left")
            share, age = resale + (1 - resale) * unused, life * (1 - unused)
            if resale > MOST_LEFT and life >= OLD:
                yield Problem(
                    case.where(*here, "resale"),
                    f"{resale:.0%} of the price after {life:.0f} years",
                    f"above {MOST_LEFT:.0%} after {OLD:.0f} years wants an offer in writing; else state less",
                )
            elif share > MOST_LEFT and age >= OLD:
                yield Problem(
                    case.where(*here, "life"),
                    f"at the horizon the line is {age:.0f} years old "
                    f"and still counted at {share:.0%} of its price",
                    "state a shorter life, or end the horizon with it: "
                    f"above {MOST_LEFT:.0%} after {OLD:.0f} years is rarely paid",
                )


def stay_without_replacement(case: Case) -> Iterator[Problem]:
    """A new machine against a worn-out one that is never replaced."""
    sheet, years = case.current, horizon(case.study, case.values)
    buyers = [s.method.short for s in case.sheets if s is not sheet and case.at(s.lines["first_cost"]) > 0]
    if not buyers or not sheet.method.makes_plates:
        return
    here = ("methods", sheet.method.id, "equipment")
    against = f"while {', '.join(buyers)} must be bought"
    names = sheet.names("equipment")
    if not names:
        yield Problem(
            f"{case.study.scenario.path.name}, {'.'.join(here)}",
            f"the current method has no machine to replace, {against}",
            "state the machine in use: price of its replacement, life, years_left",
        )
    for name in names:
        left = case.best(*here, name, "years_left")
        if left is not None and left >= years:
            yield Problem(
                case.where(*here, name, "years_left"),
                f"{left:g} years left: it is not replaced within the {years} years, {against}",
                "state how long it will really last and be supported, or look further ahead",
            )


def bought_again(case: Case) -> Iterator[Problem]:
    """Equipment of the current method that costs money in year 0, as if the shop did not own it."""
    sheet = case.current
    for name in sheet.names("equipment"):
        here = ("methods", sheet.method.id, "equipment", name)
        paid = sum(case.best(*here, key) or 0.0 for key in ("price", *CAPITALISED, "training"))
        if not sheet.has("equipment", name, "years_left") and paid > 0:
            yield Problem(
                case.where(*here, "years_left"),
                "today's machine is bought again in year 0",
                "state years_left, the years the one owned will last",
            )


def current_not_feasible(case: Case) -> Iterator[Problem]:
    """A current method that can't do the work the shop does with it."""
    sheet = case.current
    if case.at(sheet.lines["feasible"]) < 1:
        yield Problem(
            f"{case.study.scenario.path.name}, methods.{sheet.method.id}",
            f"the current method is {why_not(case.study, case.values, sheet)}",
            "correct its limits or the work: the shop does this work with it today",
        )


def stay_without_upkeep(case: Case) -> Iterator[Problem]:
    """The contract or repairs of the machine in use left out of "stay"."""
    sheet = case.current
    if sheet.has("last_year", "service"):
        return
    for name in sheet.names("equipment"):
        here = ("methods", sheet.method.id, "equipment", name)
        if not (case.best(*here, "contract") or case.best(*here, "repairs")):
            yield Problem(
                case.where(*here, "contract"),
                "the machine in use costs no contract and no repairs",
                "state contract or repairs, or last_year.service from the invoices",
            )


# --- plates and press --------------------------------------------------------------------------------


def stops_cost_nothing(case: Case) -> Iterator[Problem]:
    """Runs go beyond plate life, but stopping for new plates costs nothing."""
    stopping = [s for s in case.sheets if case.at(s.lines["all_stops"]) > 0]
    if stopping and not any(
        case.best("shop", key) for key in ("stop_per_plate", "stop_back_to_colour", "stop_sheets")
    ):
        most = max(stopping, key=lambda s: case.at(s.lines["all_stops"]))
        yield Problem(
            case.where("shop", "stop_per_plate"),
            f"runs outlast their plates {case.at(most.lines['all_stops']):,.0f} times a year "
            f"with {most.method.short}, but a stop costs nothing",
            "state stop_per_plate, stop_back_to_colour and stop_sheets",
        )


def no_remakes(case: Case) -> Iterator[Problem]:
    """A new method that never spoils a plate of its own."""
    for sheet in case.sheets:
        if sheet is case.current or not sheet.method.makes_plates:
            continue
        here = ("methods", sheet.method.id, "remakes")
        if not (case.best(*here, "own") or case.best(*here, "own_tight")):
            yield Problem(
                case.where(*here, "own"),
                "no plate is remade because of this new method",
                "state a share above 0: nobody starts without spoiling plates",
            )


def sets_differ(case: Case) -> Iterator[Problem]:
    """A cost a plate compared between methods that hang different numbers of plates for the same work."""
    hung = {
        s.method.short: float(
            case.values[case.lines[f"{s.column.key}.Plates to hang, own and bought in"]].sum()
        )
        for s in case.sheets
    }
    few, many = min(hung, key=lambda n: hung[n]), max(hung, key=lambda n: hung[n])
    if hung[many] > hung[few] * (1 + SETS_DIFFER):
        yield Problem(
            case.log,
            f"{many} hangs {hung[many] / hung[few] - 1:.1%} more plates than {few} for the same work, "
            "since its plates don't last as long",
            "don't compare prices a plate; compare the cost a plate called for, or a job",
        )


def press_overfull(case: Case) -> Iterator[Problem]:
    """A press that would need more hours than it is staffed."""
    for row, press in enumerate(case.study.scenario.presses):
        use = case.at(case.study.shop.press_use, row)
        if use > 1:
            yield Problem(
                case.where("presses", press.id, "staffed"),
                f"{press.label}: the work needs {use:.0%} of the hours staffed",
                "correct staffed, speed or make_ready, or the press the log names",
            )


# --- the work ----------------------------------------------------------------------------------------


def rows_left_out(case: Case) -> Iterator[Problem]:
    """A log of which many rows can't be used."""
    work = case.study.scenario.work
    if work.rows_skipped > MOST_LEFT_OUT * work.rows_read:
        yield Problem(
            case.log,
            f"{work.rows_skipped / work.rows_read:.1%} of the rows "
            f"({work.rows_skipped:,} of {work.rows_read:,}) are left out, and their work with them",
            "mend the rows told by roi check",
        )


def short_log(case: Case) -> Iterator[Problem]:
    """A log too short to show a year's seasons."""
    days = case.study.scenario.work.days
    if days < SHORT_LOG:
        yield Problem(
            case.log,
            f"covers {days:.0f} days: a season may pass for a year",
            f"take a log of a full year, or at least {SHORT_LOG:.0f} days",
        )


def month_end(case: Case) -> Iterator[Problem]:
    """Dates bunched at month end: invoice dates make a peak day that never was."""
    work = case.study.scenario.work
    for note in work.notes:
        # The reader of the log judges the dates; this is how it says so.
        if "look like invoice dates" in note:
            yield Problem(case.log, note, "use the column with the date of plating or printing")


def unknown_rulings(case: Case) -> Iterator[Problem]:
    """Forms without a ruling bar no method, so a method may be given work it can't print."""
    work = case.study.scenario.work
    forms = float(work.weight.sum())
    if work.ruling_unknown > 0:
        yield Problem(
            case.log,
            f"{work.ruling_unknown:,.0f} of {forms:,.0f} forms have no ruling: "
            "they are taken to be within every method's reach",
            "fill in the ruling of fine work at least",
        )


# --- the answer --------------------------------------------------------------------------------------


def rests_on_a_default(case: Case) -> Iterator[Problem]:
    """A saving that turns when one figure nobody has stated goes to an end of its range."""
    if case.at(case.study.comparison.rows["stays"]) >= 1:
        return
    ranges = try_ranges(case.study)
    for turn in ranges.turns:
        if turn.stated.default:
            yield Problem(
                turn.stated.where,
                f"the saving rests on a default: {told(turn, ranges.winner, case.study.scenario.currency)}",
                f"find out and state {turn.stated.key}",
            )


RULES: tuple[Callable[[Case], Iterator[Problem]], ...] = (
    unusual_figures,
    box_price,
    size_without_price,
    waiting_as_labour,
    freed_counted_as_cash,
    chemistry_by_time,
    residual_too_high,
    bought_again,
    current_not_feasible,
    stay_without_replacement,
    stay_without_upkeep,
    stops_cost_nothing,
    no_remakes,
    sets_differ,
    press_overfull,
    rows_left_out,
    short_log,
    month_end,
    unknown_rulings,
    rests_on_a_default,
)
