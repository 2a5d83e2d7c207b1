"""Blocks of the Summary that one kind of reader asks for: what is paid at first and on which tax basis, for a budget; scope,
open points and signatures, for a report. Each writes itself from a row on and returns the row that is free after it.

Money in the scenario's currency, what is paid positive. Which block stands where is the template's.
"""

from __future__ import annotations

from openpyxl.styles import Alignment, Border, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from roi.answers.cases import inputs_in_use
from roi.answers.checks import results
from roi.answers.compare import why_not
from roi.answers.confirming import to_confirm
from roi.answers.mistakes import mistakes
from roi.workbook.block_parts import FIGURE, LABEL, put_heads, put_list
from roi.workbook.cells import put_formula, put_text
from roi.workbook.front import Front
from roi.workbook.inputs import VALUE
from roi.workbook.placing import HEAD
from roi.workbook.read_words import in_words_of
from roi.workbook.styles import number_format, set_up_page

# Parts of the first cost: (label, line of a method over the years, 1 paid or -1 received).
_AT_FIRST = (
    ("Equipment, bringing into use, contingency", "capital", 1),
    ("Training", "expensed", 1),
    ("Changing over: leaving the old method", "change_cost", 1),
    ("Stocks of the new method", "working", 1),
    ("Resale forgone by keeping a backup", "backup_forgone", 1),
    ("Old equipment sold", "sale", -1),
)
_NAMED = 5  # unconfirmed inputs told by name
_PEN = 26.0  # points of a row to write on by hand
_LINE = Side(style="thin", color="1F2430")
_ACROSS = range(2, 5)  # columns that a line to sign on runs across


def paid_at_first(sheet: Worksheet, front: Front, row: int) -> int:
    """What each method's first cost is made of; parts that no method has are left out."""
    study, where = front.study, front.places.where(sheet.title)
    put_heads(sheet, front, row, f"Paid at first, before tax, {front.currency}")
    for label, key, sign in _AT_FIRST:
        lines = [each.lines.get(key) for each in study.methods.values()]
        if all(line is None for line in lines):
            continue
        row += 1
        put_text(sheet, row, 1, label, "Label")
        for i, line in enumerate(lines):
            if line is None:
                put_text(sheet, row, 2 + i, "none", "Right")
                continue
            value = float(front.values[line].reshape(-1)[0]) * sign
            text = f"={'-' if sign < 0 else ''}{where.cell(line, 0)}"
            put_formula(
                sheet, row, 2 + i, text, value, number_format(line.unit, front.currency), front.results
            )
    total = study.comparison.rows["first_cost"]
    row += 1
    put_text(sheet, row, 1, "First cost", "Label")
    for i in range(len(study.methods)):
        value, shown = float(front.values[total].reshape(-1)[i]), number_format(total.unit, front.currency)
        put_formula(sheet, row, 2 + i, f"={where.cell(total, i)}", value, shown, front.results)
    return row + 2


def tax_basis(sheet: Worksheet, front: Front, row: int) -> int:
    """By which rate and schedule money after tax is reckoned, and what the prices leave out."""
    scenario = front.study.scenario
    put_text(sheet, row, 1, "Tax basis", "Strong")
    row += 1
    rows = {s.key: HEAD + 1 + i for i, s in enumerate(front.rows) if not isinstance(s, str)}
    for key in ("money.tax_rate", "money.discount_rate"):
        if key not in rows:
            continue
        stated = scenario.inputs[tuple(key.split("."))]
        put_text(sheet, row, 1, f"{stated.label} ({stated.status})", "Label")
        shown = number_format(stated.unit, front.currency, percent=stated.percent)
        body = f"=Inputs!${get_column_letter(VALUE)}${rows[key]}"
        put_formula(sheet, row, 2, body, front.now(stated), shown, front.results)
        row += 1
    texts = [
        f"What is bought is relieved by: {scenario.tax.label}. {scenario.tax.caution}",
        "Losses are taken to be usable against other profit, in the same year. Costs are without recoverable tax on sales.",
    ]
    return put_list(sheet, row, texts) + 1


def scope(sheet: Worksheet, front: Front, row: int) -> int:
    """What is compared, for which work, in a sentence: all of it fixed when written."""
    scenario = front.study.scenario
    work = scenario.work
    named = [m.short + (" (today)" if m.id == scenario.current else "") for m in scenario.methods]
    ways = ", ".join(named[:-1]) + f" and {named[-1]}"
    plates = float(work.weight @ work.plates)
    text = (
        f"Scope: {ways} compared for {scenario.name}, for the same work of a year: {plates:,.0f} plates called for, from the "
        f"{scenario.work_source}; in {front.currency}, after tax, in cash and at full cost."
    )
    return put_list(sheet, row, [front.shown(text)], sign="") + 1


def open_points(sheet: Worksheet, front: Front, row: int) -> int:
    """What is not settled: unconfirmed inputs, likely mistakes, checks that fail, methods that can't do the work."""
    study = front.study
    put_text(sheet, row, 1, "Open points (as delivered)", "Strong")
    unsure, used = to_confirm(study), inputs_in_use(study)
    texts = [
        f"{len(unsure)} of {len(used)} inputs in use are unconfirmed"
        + (", most worth confirming:" if unsure else ".")
    ]
    texts += [
        f"{one.stated.label} ({one.stated.status}): {one.way.kind}, {one.way.where}"
        for one in unsure[:_NAMED]
    ]
    if len(unsure) > _NAMED:
        texts.append(f"{len(unsure) - _NAMED} more: see To check")
    texts += [
        f"Likely mistake: {p.what}" + (f": {p.mend}" if p.mend else "")
        for p in in_words_of(study.scenario.path, mistakes(study, front.delivered))
    ]
    failed = [name for name, passes in results(study, front.delivered) if not passes]
    texts += [f"Check that fails: {name}" for name in failed] or ["No check fails."]
    row = put_list(sheet, row + 1, [*map(front.shown, texts)])
    feasible, where = study.comparison.rows["feasible"], front.places.where(sheet.title)
    for each in study.methods.values():
        if float(front.delivered[each.lines["feasible"]].flat[0]) < 1:
            row = put_list(sheet, row, [f"{each.method.short} is {why_not(study, front.delivered, each)}"])
    row += 1
    put_heads(sheet, front, row, "Can each method do the work, as inputs are now")
    row += 1
    put_text(sheet, row, 1, "Can do the work", "Label")
    for i in range(len(study.methods)):
        can = float(front.values[feasible].reshape(-1)[i]) >= 1
        text = f'=IF({where.cell(feasible, i)}=1,"yes","no")'
        put_formula(sheet, row, 2 + i, text, "yes" if can else "no", "@", front.results, "Right")
    return row + 2


def write_sign_off(sheet: Worksheet) -> None:
    """The sheet that ends a report."""
    put_text(sheet, 1, 1, "Sign-off", "Headline")
    _lines_to_sign(sheet, 3)
    sheet.column_dimensions["A"].width = LABEL
    for column in _ACROSS:
        sheet.column_dimensions[get_column_letter(column)].width = FIGURE
    set_up_page(sheet, landscape=False)


def sign_off(sheet: Worksheet, front: Front, row: int) -> int:
    """Lines for client and consultant to sign on, for the inputs as they stand in this workbook."""
    return _lines_to_sign(sheet, row)


def _lines_to_sign(sheet: Worksheet, row: int) -> int:
    put_text(sheet, row, 1, "Inputs accepted as stated", "Strong")
    text = "With their ranges, sources, dates and who stated them, as on Inputs; but for the open points."
    row = put_list(sheet, row + 1, [text], sign="")
    for party in ("Client", "Consultant"):
        for what in ("name", "role", "date", "signature"):
            put_text(sheet, row, 1, f"{party}, {what}", "Label").alignment = Alignment(vertical="bottom")
            sheet.row_dimensions[row].height = _PEN
            for column in _ACROSS:
                put_text(sheet, row, column, "", "Figure").border = Border(bottom=_LINE)
            row += 1
        row += 1
    return row


__all__ = ["open_points", "paid_at_first", "scope", "sign_off", "tax_basis", "write_sign_off"]
