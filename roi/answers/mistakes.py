"""Likely mistakes in a scenario that can be reckoned: warnings with the mend. None changes a figure.

A rule is a function from a case (the study with its values) to problems; `RULES` lists them in the order they
are told. Here are the rules about plates, presses, the work and the answer; those about money and machines have files
of their own. Thresholds are conventions of this tool.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from roi.answers.case import Case
from roi.answers.compare import why_not
from roi.answers.mistakes_machines import (
    beyond_support,
    bought_again,
    invoice_not_counted,
    quote_and_defaults,
    residual_too_high,
    rival_on_shipped_figures,
    sellers_life,
    stay_without_baths,
    stay_without_replacement,
    stay_without_upkeep,
    used_with_new_life,
)
from roi.answers.mistakes_money import (
    book_value_as_cash,
    box_price,
    chemistry_by_time,
    demand_charge_twice,
    freed_counted_as_cash,
    operator_counted_twice,
    recharge_as_cash,
    size_without_price,
    unusual_figures,
    vat_on_one_side,
    waiting_as_labour,
)
from roi.answers.mistakes_stated import (
    after_the_years,
    idles_above_running,
    nothing_goes_elsewhere,
    stated_for_nothing,
    switching_left_out,
)
from roi.answers.ranges import told, try_ranges
from roi.engine.evaluate import Values
from roi.model.sheet import MethodSheet
from roi.model.study import Study
from roi.scenario.period import SHORT_LOG
from roi.scenario.problems import Problem
from roi.scenario.summary import example_of

HOURS = 24.0  # in a day
MOST_LEFT_OUT = 0.05  # share of the log's rows
LEAST_TWICE, TWICE = 20, 0.20  # rows, and share of the log's rows
SETS_DIFFER = 0.02  # share by which plates hung may differ before plates are no common measure


def mistakes(study: Study, values: Values) -> list[Problem]:
    """Every warning that applies to one case, in the order of `RULES`."""
    case = Case(study, values)
    return [problem for rule in RULES for problem in rule(case)]


def beside_the_verdict(study: Study, values: Values) -> list[Problem]:
    """Warnings to stand beside the verdict, which itself says when the cheapest method's line is too slow."""
    case = Case(study, values)
    cheapest = list(study.methods.values())[round(case.at(study.comparison.rows["cheapest_at"])) - 1]
    able = case.at(study.comparison.number_feasible) >= 1
    said = [p.where for p in line_too_slow(case) if able and p.where == _stations(case, cheapest)]
    return [p for p in mistakes(study, values) if p.where not in said]


# --- plates and press --------------------------------------------------------------------------------


def current_not_feasible(case: Case) -> Iterator[Problem]:
    """A current method that can't do the work the shop does with it."""
    sheet = case.current
    if case.at(sheet.lines["feasible"]) < 1:
        yield Problem(
            f"{case.study.scenario.path.name}, methods.{sheet.method.id}",
            f"the current method is {why_not(case.study, case.values, sheet)}",
            "correct its limits or the work: the shop does this work with it today",
        )


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
    """A press that would need more hours than it is staffed, or is staffed for more than there are."""
    days = case.best("shop", "work_days") or 0.0
    for row, press in enumerate(case.study.scenario.presses):
        use, staffed = (
            case.at(case.study.shop.press_use, row),
            case.best("presses", press.id, "staffed") or 0.0,
        )
        if use > 1:
            yield Problem(
                case.where("presses", press.id, "staffed"),
                f"{press.label}: the work needs {use:,.0%} of the hours staffed",
                "correct staffed, speed or make_ready, or the press the log names",
            )
        if staffed > HOURS * days:
            yield Problem(
                case.where("presses", press.id, "staffed"),
                f"{press.label}: {staffed:,.0f} hours are staffed, and {days:g} days of work hold {HOURS * days:,.0f}",
                "correct staffed or shop.work_days: hours of one press, not of all presses or people",
            )


def line_too_slow(case: Case) -> Iterator[Problem]:
    """A method whose line can't make the busiest day's plates even round the clock, though it is costed as if it could."""
    for sheet in case.sheets:
        never, hours = (sheet.lines.get(f"capacity.{name}") for name in ("never", "worst_hours"))
        if never is None or hours is None or case.at(never) < 1:
            continue
        yield Problem(
            _stations(case, sheet),
            f"{sheet.method.short}: the busiest day's plates take {case.at(hours):,.1f} hours at the slowest station",
            "state more units of that station and what they cost, or leave the method out: it is costed as if it could",
        )


def _stations(case: Case, sheet: MethodSheet) -> str:
    return case.where("methods", sheet.method.id, "stations")


# --- the work ----------------------------------------------------------------------------------------


def example_work(case: Case) -> Iterator[Problem]:
    """Work that `roi new` put in as an example, for which no answer is the shop's."""
    if note := example_of(case.study.scenario.work.notes):
        yield Problem(case.log, note, "put in the shop's own, then trust the answer")


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


def every_row_twice(case: Case) -> Iterator[Problem]:
    """A log of which a good part stands there once more."""
    work = case.study.scenario.work
    if work.repeated >= max(LEAST_TWICE, TWICE * work.rows_read):
        yield Problem(
            case.log,
            f"{'every row' if 2 * work.repeated >= work.rows_read else 'many a row'} stands twice: {work.repeated:,} of "
            f"{work.rows_read:,} rows equal an earlier one in every column that is read, and count as work of their own",
            "take out what was pasted or exported twice; number the forms (columns.form) if they are forms of one job",
        )


def short_log(case: Case) -> Iterator[Problem]:
    """A log too short to show a year's seasons."""
    days = case.study.scenario.work.days
    if days < SHORT_LOG:
        yield Problem(
            case.log,
            f"covers {days:.0f} day{'s' if days > 1 else ''}: a season may pass for a year",
            f"take a log of a full year, or at least {SHORT_LOG:.0f} days",
        )


def month_end(case: Case) -> Iterator[Problem]:
    """Dates bunched at month end: invoice dates make a peak day that never was."""
    work = case.study.scenario.work
    for note in work.notes:
        # The reader of the log judges the dates; this is how it says so.
        if "look like invoice dates" in note:
            yield Problem(case.log, note, "use the column with the date of plating or printing")


COARSE = 110.0  # lpi: a method that ends below it may not reach ordinary work; common practice, no source


def unknown_rulings(case: Case) -> Iterator[Problem]:
    """Forms without a ruling bar no method, so a method may be given work it can't print."""
    work = case.study.scenario.work
    forms = float(work.weight.sum())
    limits = [
        stated.best
        for m in case.study.scenario.methods
        if m.makes_plates
        and (stated := case.study.scenario.stated("methods", m.id, "ruling_limit")) is not None
    ]
    # A summary states its fine work apart: only a method for coarse work asks how fine the rest is.
    summary = work.rows_read == 0
    if work.ruling_unknown > 0 and not (summary and min(limits, default=COARSE) >= COARSE):
        yield Problem(
            case.log,
            f"{work.ruling_unknown:,.0f} of {forms:,.0f} forms have no ruling: "
            "they are taken to be within every method's reach",
            "state usual_ruling in [summary]" if summary else "fill in the ruling of fine work at least",
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
                f'find out and state "{turn.stated.label}"',
            )


RULES: tuple[Callable[[Case], Iterator[Problem]], ...] = (
    example_work,
    unusual_figures,
    box_price,
    size_without_price,
    vat_on_one_side,
    waiting_as_labour,
    operator_counted_twice,
    freed_counted_as_cash,
    recharge_as_cash,
    book_value_as_cash,
    demand_charge_twice,
    chemistry_by_time,
    residual_too_high,
    used_with_new_life,
    beyond_support,
    sellers_life,
    bought_again,
    quote_and_defaults,
    current_not_feasible,
    stay_without_replacement,
    stay_without_upkeep,
    stay_without_baths,
    invoice_not_counted,
    rival_on_shipped_figures,
    stops_cost_nothing,
    no_remakes,
    sets_differ,
    press_overfull,
    line_too_slow,
    rows_left_out,
    every_row_twice,
    short_log,
    month_end,
    unknown_rulings,
    stated_for_nothing,
    after_the_years,
    nothing_goes_elsewhere,
    idles_above_running,
    switching_left_out,
    rests_on_a_default,
)
