"""Checks of the reckoning against itself, each a line with a tolerance, so that they stay live in a workbook.

They fail when a formula has been overwritten or a figure was pasted where it doesn't belong.
"""

from __future__ import annotations

from roi.engine.column import Column, Line
from roi.engine.evaluate import Values, extend
from roi.engine.expression import Axis, Constant, Data, Expr
from roi.engine.operations import absolute, at, at_least, gather, product_sum, smallest, total
from roi.model.sheet import add
from roi.model.study import Study

NEAR = 0.01  # currency, plates or forms


def checks(study: Study) -> tuple[Column, Line, Line]:
    """The Checks column, its block of results (1 passes, one row a check) and the overall result."""
    column = Column(
        "Checks", "checks", note="Every result is 1 while the workbook's figures agree with one another."
    )
    column.heading("Tolerances", "Differences up to these are rounding.")
    one = Axis("tolerance", ("in this unit",))
    near = {
        unit: at(column.data(Data(f"checks.tolerance.{unit}", f"Tolerance, {words}", unit, one, [NEAR])), 0)
        for unit, words in (
            ("currency", "money"),
            ("plate/year", "plates"),
            ("form/year", "forms"),
            ("1", "shares"),
        )
    }

    work, shop = study.work, study.shop
    found: list[tuple[str, tuple[Expr, Expr]]] = [
        ("The bins hold every form of the classes", (total(work.bin_forms), total(work.forms))),
        ("The month shares add up to one", (total(work.month_share), Constant(1))),
        (
            "Plates by size and plates by press are the same plates",
            (shop.plates_called, add([total(p) for p in work.press_plates])),
        ),
    ]
    for name, sheet in study.methods.items():
        lines, short = sheet.lines, sheet.method.short
        capital, book = total(lines["capital"]), lines["old_book"]
        all_forms = product_sum(lines["reach"], work.forms) + lines["out_forms"]
        if "elsewhere.forms" in lines:
            all_forms = lines["elsewhere.own_forms"] + lines["out_forms"] + lines["elsewhere.forms"]
        relieved = total(lines["depreciation"]) + total(lines["final_book"])
        taxed = total(lines["before"]) + total(lines["tax"])
        level = (lines["equivalent"] * shop.annuity).during("year")
        found += [
            (f"{short}: forms made and bought in are all forms", (all_forms, shop.forms)),
            (
                f"{short}: the families of year 1 add up to its running cost",
                (lines["year_1"], lines["running_1"]),
            ),
            (f"{short}: what is relieved for tax is what was spent", (relieved, capital + book)),
            (f"{short}: flows after tax are those before it and the tax", (total(lines["after"]), taxed)),
            (f"{short}: level payments are worth the present cost", (level, lines["present"])),
            (
                f"{short}: running costs by year are worth what their yearly amounts are",
                (product_sum(lines["running_after"], shop.discount_running), lines["ran"]),
            ),
            (
                f"{short}: so is what the full-cost view adds",
                (product_sum(lines["added_full"], shop.discount_running), lines["ran_full"] - lines["ran"]),
            ),
        ]
        if name != study.scenario.current:
            for view, words in (("cash", ""), ("full", ", full cost")):
                saved = study.cash_flow.savings[name][view]
                what = f"{short}{words}: running savings less extra investment are the net present value"
                found.append((what, (saved.ratio_top - saved.ratio_base, saved.npv)))
    axis = Axis("checks", tuple(label for label, _ in found))
    column.heading("The two sides", "What each check compares.")
    flags: list[Expr] = []
    for label, (a, b) in found:
        one_side = column.line(f"{label}: one side", str(a.unit), a)
        other = column.line(f"{label}: the other", str(b.unit), b)
        flags.append(at_least(near[str(a.unit)], absolute(one_side - other)))
    column.heading("Checks", "1 passes, 0 fails.")
    results = column.line("Check", "1", gather(axis, flags))
    overall = column.line("Overall: all checks pass", "1", smallest(results), note="shown on the Summary")
    return column, results, overall


def results(study: Study, values: Values) -> list[tuple[str, bool]]:
    """Each check's name and whether it passes."""
    column, block, _ = checks(study)
    known = extend(values, [column])
    assert block.axis is not None
    return [
        (label, bool(row.flat[0] == 1)) for label, row in zip(block.axis.labels, known[block], strict=True)
    ]
