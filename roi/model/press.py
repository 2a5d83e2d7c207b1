"""What the plate does to the press: stops within runs, further make-ready, wetting, waiting for remakes, runs refused, paper.

Minutes and sheets are a year's. An hour of press is worth what it can be turned into (cash) or its full-cost rate,
which contains the operator: no labour is added here.
"""

from __future__ import annotations

from roi.engine.column import Line
from roi.engine.expression import Expr
from roi.engine.operations import at_least, constant, gather, pick, product_sum, smaller, total, when
from roi.model.sheet import MethodSheet, Used
from roi.model.shop import MINUTES


def add_press(sheet: MethodSheet) -> None:
    """Press minutes and paper, valued in both views. Needs plates and stations."""
    column, work, shop, lines = sheet.column, sheet.work, sheet.shop, sheet.lines
    column.heading(
        "On the press", "Minutes and sheets this method's plates cost the press beyond an ordinary run."
    )
    presses = work.presses
    hung = column.line(
        "Own plates hung",
        "plate/year",
        gather(presses, [product_sum(lines["own_sets"], p) for p in work.press_plates]),
    )
    tight = column.line(
        "of which in tight four-colour register",
        "plate/year",
        gather(presses, [product_sum(lines["own_sets"], p) for p in work.tight_plates]),
    )
    stops = column.line(
        "Minutes of stops within runs",
        "min/year",
        lines["stops"] * sheet.shop_inp("shop", "stop_back_to_colour")
        + lines["changes"] * sheet.shop_inp("shop", "stop_per_plate"),
        note="each stop back to colour, each plate changed",
    )
    minutes: Expr = stops
    if sheet.has("press", "loose_minutes") or sheet.has("press", "tight_minutes"):
        minutes = minutes + column.line(
            "Minutes of further make-ready", "min/year", _by_register(sheet, "minutes", hung, tight)
        )
    if sheet.has("press", "prewet"):
        minutes = minutes + column.line(
            "Minutes wetting plates", "min/year", hung * sheet.inp("press", "prewet")
        )
    minutes = minutes + _remake_wait(sheet)
    again = _run_again(sheet)
    if again is not None:
        minutes = minutes + again[0]
    hours = column.line("Press hours", "h/year", minutes / MINUTES)
    cash = column.line("Press time, cash", "currency/year", product_sum(hours, shop.press_cash))
    full = column.line("Press time, full cost", "currency/year", product_sum(hours, shop.press_full))
    sheet.cost("press", "wages", "work", cash, full)

    stop_sheets: Expr = lines["all_stops"] * sheet.shop_inp("shop", "stop_sheets")
    if sheet.has("press", "loose_sheets") or sheet.has("press", "tight_sheets"):
        further = column.line(
            "Further make-ready sheets", "sheet/year", _by_register(sheet, "sheets", hung, tight)
        )
        stop_sheets = stop_sheets + total(further)
    if again is not None:
        stop_sheets = stop_sheets + again[1]
    paper = column.line("Paper lost", "sheet/year", stop_sheets)
    money = column.line("Paper lost, money", "currency/year", paper * sheet.shop_inp("shop", "paper"))
    sheet.cost("press", "general", "work", money)
    lines |= dict(
        press_hours=column.line("Press hours, all presses", "h/year", total(hours)),
        press_money=cash,
        paper=paper,
    )
    sheet.used += [Used("Press hours lost", "work", lines["press_hours"]), Used("Paper lost", "work", paper)]


def _by_register(sheet: MethodSheet, what: str, hung: Line, tight: Line) -> Expr:
    loose: Expr | None = None
    if sheet.has("press", f"loose_{what}"):
        loose = (hung - tight) * sheet.inp("press", f"loose_{what}")
    if not sheet.has("press", f"tight_{what}"):
        assert loose is not None
        return loose
    in_register = tight * sheet.inp("press", f"tight_{what}")
    return in_register if loose is None else loose + in_register


def _run_again(sheet: MethodSheet) -> tuple[Line, Line] | None:
    """Tight four-colour forms that the client refuses are run again: minutes by press and sheets of paper.

    None where no share is stated or no such form is in the work. The plates are used again; of forms run on several
    presses or in several passes, each pass takes its make-ready and the mean run of its bin.
    """
    work, shop, column = sheet.work, sheet.shop, sheet.column
    if not sheet.has("press", "refusals") or not work.tight.values.any():
        return None
    refused, bins = sheet.inp("press", "refusals"), work.bin_class
    made = pick(work.tight, bins) * pick(sheet.lines["reach"], bins)
    if "elsewhere.stays" in sheet.lines:
        made = made * sheet.lines["elsewhere.stays"]
    tight = column.line("Tight four-colour work made here, by bin", "1", made)
    run = column.line("Run of a tight four-colour form, by bin", "impression", tight * shop.gross)

    def by_press(label: str, unit: str, parts: list[Expr]) -> Line:
        return column.line(label, unit, gather(work.presses, parts))

    ready = by_press(
        "Make-ready, each press",
        "min/pass",
        [sheet.shop_inp("presses", press.id, "make_ready") for press in sheet.scenario.presses],
    )
    passes = by_press("Passes of tight forms", "pass/year", [product_sum(tight, p) for p in work.passes])
    runs = [product_sum(run, p).per("pass") for p in work.passes]
    impressions = by_press("Impressions of tight forms, every pass", "impression/year", runs)
    each = column.line(
        "Minutes of tight forms", "min/year", passes * ready + impressions / shop.press_speed * MINUTES
    )
    sheets = product_sum(run, work.bin_forms).per("form").per("impression").during("sheet")
    paper = column.line("Paper of tight forms", "sheet/year", sheets)
    return (
        column.line("Minutes of runs refused", "min/year", each * refused),
        column.line("Paper of runs refused", "sheet/year", paper * refused),
    )


def _remake_wait(sheet: MethodSheet) -> Line:
    """Remakes found at the press cost the smaller of waiting for the plate and pulling the job.

    They fall on the presses as the plates do. A bought-in plate is hours away: there the job is pulled.
    """
    column, lines = sheet.column, sheet.lines
    at_press = sheet.shop_inp("shop", "remakes_at_press")
    pull = sheet.shop_inp("shop", "pull_job")
    wait = pull
    if "one_plate" in lines:
        wait = column.line(
            "Press waits for a remake",
            "min/remake",
            smaller(lines["one_plate"].during("plate").per("remake"), pull),
        )
    own = column.line("Own remakes found at the press", "remake/year", sheet.amounts["remake"] * at_press)
    bought = lines["bought"] * sheet.shop_inp("shop", "base_remakes") * at_press
    bought_in = column.line(
        "Bought-in remakes found at the press", "remake/year", bought.per("plate").during("remake")
    )
    presses = sheet.work.presses
    all_hung = column.line(
        "All plates hung",
        "plate/year",
        gather(presses, [product_sum(lines["sets"], p) for p in sheet.work.press_plates]),
    )
    every = column.line("All plates hung, all presses", "plate/year", total(all_hung))
    if "elsewhere.goes" in lines:  # all forms may go elsewhere
        every = column.line(
            "All plates hung, to divide by",
            "plate/year",
            when(at_least(0, every), constant(1, "plate/year"), every),
        )
    lost = column.line("Minutes of remakes, all presses", "min/year", own * wait + bought_in * pull)
    return column.line("Minutes of remakes", "min/year", lost * all_hung / every)
