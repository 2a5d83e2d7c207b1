"""Which forms a method can make itself, how many plates that takes, and what is bought in instead.

Amounts are a year's at the log's volume. A form is out of reach when its ruling is above the limit, its plate is larger
than the largest format or a flag bars it; such a form is bought in, and the supplier's plate then has the supplier's life.
Short runs that a method prints elsewhere (`elsewhere`) take no plate at all, whether within its reach or not.
"""

from __future__ import annotations

from roi.engine.column import Line
from roi.engine.expression import Constant, Data, Expr
from roi.engine.operations import at, at_least, gather, larger, opposite, pick, product_sum, total, up, when
from roi.model.elsewhere import add_short_runs
from roi.model.sheet import MethodSheet


def add_plates(sheet: MethodSheet) -> None:
    """Reach, plate sets, plates by size and the yearly amounts of the drivers."""
    column, work, shop = sheet.column, sheet.work, sheet.shop
    column.heading("Reach", "Which forms this method can make; the others are bought in.")
    reach = _reach(sheet)
    life = _life(sheet, reach)
    add_short_runs(sheet, reach)
    lines = sheet.lines
    moves = "elsewhere.goes" in lines
    out = opposite(reach)
    out_by_class = (
        lines["elsewhere.out"]
        if moves
        else column.line("Forms out of reach by class", "form/year", out * work.forms)
    )
    out_forms = column.line("Forms out of reach", "form/year", total(out_by_class))
    kept_in = (
        lines["elsewhere.kept_in"]
        if moves
        else column.line(
            "Confined forms out of reach by class", "form/year", out * work.confined * work.forms
        )
    )
    barred = column.line(
        "Forms that may not leave and can't be made here",
        "form/year",
        total(kept_in),
        note="any at all and the method is not feasible",
    )

    column.heading("Plate sets", "A form longer than its plates last takes several sets.")
    whole_sets = larger(Constant(1), up(shop.gross / pick(life, work.bin_class)))
    sets = column.line(
        "Sets of a form",
        "1",
        lines["elsewhere.stays"] * whole_sets if moves else whole_sets,
        note="whole; a cancelled form has been plated once",
    )
    own_sets = column.line("Sets made by this method", "1", sets * pick(reach, work.bin_class))

    column.heading("Plates of a year")
    early, base = sheet.shop_inp("shop", "early_failure"), sheet.shop_inp("shop", "base_remakes")
    rows_all = gather(work.sizes, [product_sum(sets, p) for p in work.plates])
    needed = column.line("Plates to hang, own and bought in", "plate/year", rows_all)
    own = column.line(
        "of which this method's",
        "plate/year",
        gather(work.sizes, [product_sum(own_sets, p) for p in work.plates]),
    )
    reused = _reused(sheet, reach)
    on_press_sizes = column.line(
        "Plates on press", "plate/year", (own - reused) * (1 + early), note="early failures included"
    )
    remakes = _remake_share(sheet, base)
    imaged_sizes = column.line("Plates imaged", "plate/year", on_press_sizes / (1 - remakes))
    bought_sizes = column.line("Plates bought in", "plate/year", (needed - own) * (1 + early) / (1 - base))
    on_press = column.line("Plates on press, all sizes", "plate/year", total(on_press_sizes))
    imaged = column.line("Plates imaged, all sizes", "plate/year", total(imaged_sizes))
    bought = column.line("Plates bought in, all sizes", "plate/year", total(bought_sizes))
    area = column.line("Area imaged", "m2/year", product_sum(imaged_sizes, work.area))
    own_forms = column.line(
        "Forms made by this method",
        "form/year",
        lines["elsewhere.own_forms"] + 0 if moves else shop.forms - out_forms,
    )
    remade = column.line("Plates remade", "plate/year", imaged - on_press)
    if moves:
        out_rush = lines["elsewhere.out_rush"]
    else:
        rush = column.line("Rush forms out of reach by class", "form/year", out * work.rush_forms)
        out_rush = column.line("Rush forms bought in", "form/year", total(rush))
    blocked = opposite(at_least(0, barred))
    done_here = own_forms + lines["elsewhere.forms"] if moves else own_forms
    idle: Expr = at_least(0, done_here) if sheet.method.makes_plates else Constant(0)
    feasible = column.line(
        "Feasible",
        "1",
        opposite(blocked) * opposite(idle),
        note="1 when every form is made or may be bought in",
    )

    presses = work.presses
    stops = column.line(
        "Stops within runs",
        "stop/year",
        gather(
            presses,
            [(product_sum(sets, p) - _plated(sheet, p)).per("pass").during("stop") for p in work.passes],
        ),
        note="for further sets, every pass",
    )
    all_stops = column.line("Stops within runs, all presses", "stop/year", total(stops))
    changes = column.line(
        "Plate changes within runs",
        "plate/year",
        gather(presses, [product_sum(sets, p) - _plated(sheet, p) for p in work.press_plates]),
    )
    all_changes = column.line("Plate changes within runs, all presses", "plate/year", total(changes))
    sheet.lines |= dict(
        reach=reach, sets=sets, own_sets=own_sets, on_press=on_press, imaged_sizes=imaged_sizes, imaged=imaged,
        bought_sizes=bought_sizes, bought=bought, area=area, out_forms=out_forms, out_rush=out_rush, remade=remade,
        feasible=feasible, barred=barred, stops=stops, changes=changes, all_stops=all_stops, own_forms=own_forms,
    )  # fmt: skip
    days = shop.inp(column, "shop", "work_days")
    sheet.amounts |= {
        "plate imaged": imaged, "plate on press": on_press, "area imaged": area, "form": own_forms, "job": shop.jobs,
        "remake": remade.per("plate").during("remake"), "stop": all_stops, "plate change": all_changes,
        "bought-in plate": bought, "bought-in form": out_forms, "work day": days,
    }  # fmt: skip


def _reach(sheet: MethodSheet) -> Line:
    serves = sheet.work.serves[sheet.method.id]
    if not sheet.method.makes_plates:
        return sheet.column.line("Within reach", "1", serves * Constant(0), note="everything is bought in")
    return sheet.column.line(
        "Within reach",
        "1",
        serves * at_least(sheet.inp("ruling_limit"), sheet.work.ruling),
        note="a ruling equal to the limit is in, an unknown one too",
    )


def _life(sheet: MethodSheet, reach: Line) -> Line:
    """Impressions a plate of each class is run for: this method's in reach, the supplier's out of it."""
    column, work = sheet.column, sheet.work
    stretch = sheet.shop_inp("shop", "stretch")
    bought = sheet.shop_inp("bought_in", "life") * (1 + stretch)
    if not sheet.method.makes_plates:
        return column.line(
            "Impressions a plate is run for", "impression", bought + (reach * 0).during("impression")
        )
    by_stock = when(work.uncoated, sheet.inp("life", "uncoated"), sheet.inp("life", "coated"))
    if sheet.has("life", "tight") and work.tight.values.any():
        stock = column.line("Life on the stock", "impression", by_stock)
        by_stock = when(work.tight, sheet.inp("life", "tight"), stock)
    life = column.line("Life by stock and register", "impression", by_stock)
    one = Constant(1)
    # An input that no form of this work meets isn't asked for.
    uv = when(work.uv, sheet.inp("life", "uv_factor"), one) if _meets(sheet, work.uv, "uv_factor") else one
    rough = (
        when(work.abrasive, sheet.inp("life", "abrasive_factor"), one)
        if _meets(sheet, work.abrasive, "abrasive_factor")
        else one
    )
    own = column.line("Impressions an own plate is run for", "impression", life * uv * rough * (1 + stretch))
    return column.line(
        "Impressions a plate is run for",
        "impression",
        when(reach, own, bought),
        note="bought-in plates out of reach",
    )


def _meets(sheet: MethodSheet, flag: Data, factor: str) -> bool:
    return sheet.has("life", factor) and bool(flag.values.any())


def _plated(sheet: MethodSheet, amounts: Expr) -> Expr:
    """The sum over bins of what takes plates."""
    if "elsewhere.stays" not in sheet.lines:
        return total(amounts)
    return product_sum(sheet.lines["elsewhere.stays"], amounts)


def _reused(sheet: MethodSheet, reach: Line) -> Expr:
    """Reprint plates used again: a used plate has used life, so it saves the first set only."""
    rows: list[Expr] = [product_sum(reach, p) for p in sheet.work.reprint_plates]
    if (short := sheet.lines.get("elsewhere.reprints")) is not None:
        rows = [at(short, i) for i in range(len(sheet.work.sizes))]
    if not sheet.has("reprint_reuse") or not sheet.method.makes_plates:
        return (
            sheet.column.line("Reprint plates used again", "plate/year", gather(sheet.work.sizes, rows)) * 0
        )
    reprints = sheet.column.line("Reprint plates within reach", "plate/year", gather(sheet.work.sizes, rows))
    return reprints * sheet.inp("reprint_reuse")


def _remake_share(sheet: MethodSheet, base: Line) -> Line:
    """Remakes as a share of plates made: what happens anyway and what the method adds."""
    share: Expr = base
    if sheet.has("remakes", "own"):
        share = share + sheet.inp("remakes", "own")
    if sheet.has("remakes", "own_tight"):
        parts, every = _all(sheet, "tight_plates"), _all(sheet, "press_plates")
        in_tight: Expr = parts / every
        if "elsewhere.stays" in sheet.lines:
            plated = sheet.column.line("Plates called for here", "plate/year", every)
            in_tight = when(at_least(0, plated), 0, parts / plated)
        tight = sheet.column.line("Share of plates in tight four-colour work", "1", in_tight)
        share = share + sheet.inp("remakes", "own_tight") * tight
    return sheet.column.line("Remakes, share of plates made", "1", share)


def _all(sheet: MethodSheet, name: str) -> Expr:
    blocks = getattr(sheet.work, name)
    summed: Expr = _plated(sheet, blocks[0])
    for block in blocks[1:]:
        summed = summed + _plated(sheet, block)
    return summed
