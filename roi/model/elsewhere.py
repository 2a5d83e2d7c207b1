"""Short runs that a method sends to a digital press: which they are, what that costs, and the press time it frees.

Forms of up to a stated number of good impressions take no plates. Elsewhere comes first: a short form goes there whether its
plates would be within the method's reach or not, one that must not leave the building too, since that press stands in the
house. A form without impressions has been plated and stays. A year's amounts at the log's volume, money in currency/year at
prices of year 0; one price an impression for one colour and four alike. Freed press hours are worth what press hours are in
each view, and freed paper is make-ready sheets and running waste; both are credits. Good sheets cost the same paper either
way.
"""

from __future__ import annotations

from roi.engine.column import Line
from roi.engine.operations import at_least, gather, opposite, pick, product_sum, total
from roi.model.sheet import MethodSheet, Used
from roi.model.shop import MINUTES


def goes_elsewhere(sheet: MethodSheet) -> bool:
    """Whether the method states a run length up to which forms are printed elsewhere."""
    return sheet.has("elsewhere", "up_to")


def add_short_runs(sheet: MethodSheet, reach: Line) -> None:
    """Forms by bin that go elsewhere, are plated here, or are bought in; nothing where the method states no such limit.

    Leaves in `sheet.lines`, all under names that begin with "elsewhere.": goes, stays, own (1 or 0 by bin), out and kept_in
    (forms by bin), forms, own_forms, own_rush, out_rush (totals), reprints (plates by size).
    """
    if not goes_elsewhere(sheet):
        return
    column, work, found = sheet.column, sheet.work, {}
    column.heading(
        "Short runs printed elsewhere",
        "They take no plates, within this method's reach or not; see also Press.",
    )
    good = column.line(
        "Good impressions of a form", "impression", work.good * sheet.shop_inp("work", "run_length")
    )
    some = column.line(
        "Has impressions", "1", opposite(at_least(0, good)), note="a cancelled form was plated"
    )
    found["goes"] = goes = column.line(
        "Printed elsewhere", "1", at_least(sheet.inp("elsewhere", "up_to"), good) * some
    )
    found["stays"] = stays = column.line("Takes plates", "1", opposite(goes))
    beyond = column.line("Out of reach by class", "1", opposite(reach))
    found["own"] = own = column.line("Plated here", "1", stays * pick(reach, work.bin_class))
    out = column.line("Bought in", "1", stays * pick(beyond, work.bin_class))
    found["out"] = out_forms = column.line("Forms bought in by bin", "form/year", out * work.bin_forms)
    found["kept_in"] = column.line(
        "Confined forms out of reach by bin", "form/year", out_forms * pick(work.confined, work.bin_class)
    )
    found["forms"] = column.line("Forms printed elsewhere", "form/year", product_sum(goes, work.bin_forms))
    found["own_forms"] = column.line("Forms plated here", "form/year", product_sum(own, work.bin_forms))
    found["own_rush"] = column.line("Rush forms plated here", "form/year", product_sum(own, work.bin_rush))
    found["out_rush"] = column.line(
        "Rush forms bought in by bins", "form/year", product_sum(out, work.bin_rush)
    )
    found["reprints"] = column.line(
        "Reprint plates made here",
        "plate/year",
        gather(work.sizes, [product_sum(own, plates) for plates in work.bin_reprint_plates]),
    )
    sheet.lines |= {f"elsewhere.{name}": line for name, line in found.items()}
    if sheet.has("elsewhere", "minutes"):
        minutes = found["forms"] * sheet.inp("elsewhere", "minutes")
        hours = column.line("Forms printed elsewhere, hands-on hours", "h/year", minutes / MINUTES)
        grade = sheet.text("elsewhere", "grade", default=sheet.scenario.grades[0])
        sheet.hours.append((grade, "work", hours))
    column.heading("Bought in", "Of the forms that take plates.")


def add_printing_elsewhere(sheet: MethodSheet) -> None:
    """What printing elsewhere costs, its hands-on time, and the press hours and paper it frees. Needs the short runs."""
    if not goes_elsewhere(sheet):
        return
    column, work, lines = sheet.column, sheet.work, sheet.lines
    label = sheet.text("elsewhere", "label", default="Printed elsewhere")
    column.heading(label, "Short runs printed there; the press hours and the paper they free come off.")
    forms = column.line(
        "Forms printed elsewhere by bin", "form/year", lines["elsewhere.goes"] * work.bin_forms
    )
    good = column.line(
        "Good impressions printed elsewhere by bin",
        "impression/year",
        forms.per("form") * work.good * sheet.shop_inp("work", "run_length"),
    )
    printed = column.line("Good impressions printed elsewhere", "impression/year", total(good))
    paid = column.line(
        f"{label}, money",
        "currency/year",
        printed * sheet.inp("elsewhere", "price"),
        note="a price an impression",
    )
    sheet.cost("press", "general", "work", paid)
    sheet.used.append(Used("Impressions printed elsewhere", "work", printed))
    _free_press(sheet)
    _free_paper(sheet, forms, printed)


def _free_press(sheet: MethodSheet) -> None:
    """Make-readies and running hours saved, by press: at its speed, make-ready sheets and running waste included."""
    column, work, shop, goes = sheet.column, sheet.work, sheet.shop, sheet.lines["elsewhere.goes"]
    presses = work.presses
    run, waste = sheet.shop_inp("work", "run_length"), sheet.shop_inp("shop", "running_waste")
    ready = column.line(
        "Make-ready sheets of a form printed elsewhere",
        "impression",
        goes * (shop.gross - work.good * run * (1 + waste)),
    )
    # The mix of colours of a bin is taken to be the same on each of its presses.
    ready_by_press = [product_sum(ready, forms).per("form") for forms in work.bin_press_forms]
    good_by_press = [product_sum(goes, good) for good in work.bin_press_impressions]
    freed_ready = column.line(
        "Make-ready sheets no longer run, by press", "impression/year", gather(presses, ready_by_press)
    )
    freed_good = column.line(
        "Good impressions no longer run, by press", "impression/year", gather(presses, good_by_press)
    )
    passes = column.line(
        "Make-readies saved", "pass/year", gather(presses, [product_sum(goes, p) for p in work.passes])
    )
    minutes = [sheet.shop_inp("presses", p.id, "make_ready") for p in sheet.scenario.presses]
    each = column.line("Make-ready a pass, by press", "min/pass", gather(presses, minutes))
    running = freed_good * run * (1 + waste) + freed_ready
    hours = column.line(
        "Press hours freed by press", "h/year", running / shop.press_speed + passes * each / MINUTES
    )
    worth = product_sum(hours, shop.press_cash), product_sum(hours, shop.press_full)
    cash = column.line("Press time freed, cash", "currency/year", 0 - worth[0], note="a credit")
    full = column.line("Press time freed, full cost", "currency/year", 0 - worth[1], note="a credit")
    sheet.cost("press", "wages", "work", cash, full)
    all_presses = column.line("Press hours freed, all presses", "h/year", total(hours))
    sheet.used.append(Used("Press hours freed by printing elsewhere", "work", all_presses))


def _free_paper(sheet: MethodSheet, forms: Line, printed: Line) -> None:
    """Make-ready sheets and running waste that are not pulled."""
    gross = product_sum(forms, sheet.shop.gross).per("form")
    sheets = sheet.column.line(
        "Paper no longer lost", "sheet/year", (gross - printed).per("impression").during("sheet")
    )
    money = sheet.column.line(
        "Paper no longer lost, money",
        "currency/year",
        0 - sheets * sheet.shop_inp("shop", "paper"),
        note="a credit",
    )
    sheet.cost("press", "general", "work", money)
    sheet.used.append(Used("Paper saved by printing elsewhere", "work", sheets))


__all__ = ["add_printing_elsewhere", "add_short_runs", "goes_elsewhere"]
