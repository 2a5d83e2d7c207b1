"""The blocks of the Summary: each writes itself from a row on, and says which row is free after it.

A template chooses blocks and their order; `summary` puts them on the page. Figures are fetched from other sheets.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from openpyxl.utils import get_column_letter
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.worksheet import Worksheet

from roi.answers.firmness import DELIVERED, too_close
from roi.answers.invoices import LABEL as INVOICED
from roi.answers.mistakes import beside_the_verdict, mistakes
from roi.answers.ranges import told
from roi.answers.reconcile_words import baseline
from roi.answers.undoing import UNSTATED
from roi.answers.verdict import on_example
from roi.engine.words import fixed
from roi.model.comparison import FAMILIES
from roi.workbook.block_charts import cumulative_chart, family_chart
from roi.workbook.block_parts import NOT_IN, put_heads, put_list
from roi.workbook.cells import put_formula, put_text
from roi.workbook.front import Front
from roi.workbook.inputs import STATUS
from roi.workbook.paper import to_print
from roi.workbook.placing import HEAD
from roi.workbook.read_words import in_words_of
from roi.workbook.reader_blocks import open_points, paid_at_first, scope, sign_off, tax_basis
from roi.workbook.styles import number_format
from roi.workbook.template import NEW_PAGE, SIGN_OFF, fill

_MEASURES: tuple[tuple[str, str, str], ...] = (
    ("First cost, before tax", "first_cost", ""),
    ("Running cost of year 1, before tax", "running_1", ""),
    ("Equivalent annual cost, cash", "equivalent", ""),
    ("Equivalent annual cost, full cost", "equivalent_full", ""),
    ("Present cost, cash", "present", ""),
    ("Present cost, full cost", "present_full", ""),
    ("Cost of a plate called for, cash", "per_plate", ""),
    ("Cost of a plate called for, full cost", "per_plate_full", ""),
    ("Cost of 1,000 good impressions", "per_thousand", ""),
    ("Cost of a job", "per_job", ""),
    ("Plates bought in a year", "bought", ""),
    ("Against today, cash: net present value", "npv.cash", ""),
    ("Simple payback, years", "payback.cash", "has_payback.cash"),
)
_FULL: tuple[tuple[str, str, str], ...] = (
    ("Discounted payback, years", "discounted_payback.cash", "has_discounted_payback.cash"),
    ("Internal rate of return", "irr.cash", "has_irr.cash"),
    ("Modified rate of return", "mirr.cash", "has_mirr.cash"),
    ("Savings-to-investment ratio", "ratio.cash", "has_ratio.cash"),
    ("Against today, full cost: net present value", "npv.full", ""),
    ("Simple payback, years, full cost", "payback.full", "has_payback.full"),
    ("Discounted payback, years, full cost", "discounted_payback.full", "has_discounted_payback.full"),
    ("Internal rate of return, full cost", "irr.full", "has_irr.full"),
    ("Modified rate of return, full cost", "mirr.full", "has_mirr.full"),
    ("Savings-to-investment ratio, full cost", "ratio.full", "has_ratio.full"),
)
_SEVERAL = "several: savings turn into losses again, so that more than one rate fits and none can be told."
_SHOWN = {"irr": "0.0%", "mirr": "0.0%", "payback": "0.0", "discounted_payback": "0.0", "ratio": "0.00"}


_MARK = " *"  # ends what only this program can work out: it doesn't follow the inputs
_HOLDS = "* As delivered; nothing has been changed since."
_OLD = ("* Changed since delivery: ", ". Run roi again.")
_CAUTION = (
    "Tax treatment is for an accountant; chemistry, waste and electrical work follow safety data sheets, local rules and "
    "licensed practice: see Sources and cautions."
)


_NOBODY = "not stated: write prepared_by in a copy of the template"


def _title_block(sheet: Worksheet, front: Front, row: int) -> int:
    facts = front.facts
    shown = [
        ("Prepared for", facts["prepared_for"]),
        ("Prepared by", front.template.prepared_by or _NOBODY),
        ("Date", facts["date"]),
        ("Version", f"roi version {facts['version']}"),
        ("Currency", facts["currency"]),
    ]
    for label, text in shown:
        put_text(sheet, row, 1, label, "Label")
        put_text(sheet, row, 2, text, "Said")
        row += 1
    if front.template.wants(SIGN_OFF):
        row = put_list(sheet, row + 1, [to_print([sheet.title, SIGN_OFF])], sign="")
    return row + 1


def _opening(sheet: Worksheet, front: Front, row: int) -> int:
    return _lines(sheet, front, row, front.template.opening)


def _closing(sheet: Worksheet, front: Front, row: int) -> int:
    return _lines(sheet, front, row, front.template.closing)


def _lines(sheet: Worksheet, front: Front, row: int, texts: Sequence[str]) -> int:
    if not texts:
        return row
    return put_list(sheet, row, [front.shown(fill(text, front.facts)) for text in texts], sign="") + 1


def _verdict(sheet: Worksheet, front: Front, row: int) -> int:
    names = list(front.template.sentences)
    if example := on_example(front.study):
        row = put_list(sheet, row, [example], sign="", style="Strong")
    if "How sure" in names and too_close(front.study):  # said before anything that sounds decided
        names.insert(0, names.pop(names.index("How sure")))
    for name in names:
        if name in DELIVERED:
            # Only this program can draw and search: the text is as delivered; the count of changes says when it is old.
            text = DELIVERED[name](front.study)
            if text:
                style = "Strong" if name == "How sure" and too_close(front.study) else "Said"
                row = put_list(sheet, row, [front.shown(text) + _MARK], sign="", style=style)
            continue
        if name not in front.said:  # speaks of a sheet that the template leaves out
            continue
        # Last of all and blank while the room keeps up: a warning, where it is one.
        front.say(sheet, row, name, "Strong" if name in ("Verdict", "Keeping up") else "Said")
        row += 1
    if books := baseline(front.study):  # whatever the template chooses: all else rests on today's cost
        row = put_list(sheet, row, [books + _MARK], sign="", style="Strong")
    if front.changed:
        count, changed = front.count_changed("", "low", "high"), front.all_changed
        body = f'=IF({changed}=0,"{_HOLDS}","{_OLD[0]}"&FIXED({changed},0)&"{_OLD[1]}")'
        says = f"{_OLD[0]}{count}{_OLD[1]}" if count else _HOLDS
        put_formula(sheet, row, 1, body, says, "@", front.results, "Note")
        row += 1
    return row + 1


def _measures(sheet: Worksheet, front: Front, row: int) -> int:
    return _table(sheet, front, row, "Measure", _MEASURES) + 1


def _full_cost(sheet: Worksheet, front: Front, row: int) -> int:
    row = _table(sheet, front, row, "Rates of return, and full cost", _FULL)
    put_text(
        sheet,
        row,
        1,
        "Full cost counts all freed time, floor and press hours. none: no such measure for these flows; Comparison tells why.",
        "Note",
    )
    row += 1
    put_text(sheet, row, 1, _SEVERAL, "Note")
    return row + 2


def _by_family(sheet: Worksheet, front: Front, row: int) -> int:
    rows = front.study.comparison.rows
    parts = [(rows[f"family.{family}"].label, f"family.{family}", "") for family in FAMILIES]
    total = ("Running cost of year 1, before tax", "running_1", "")
    return (
        _table(sheet, front, row, f"Running cost of year 1 by family, {front.currency}", [*parts, total]) + 1
    )


def _by_year(sheet: Worksheet, front: Front, row: int) -> int:
    """Flows after tax of each method, the years looked ahead downward."""
    flows, where = front.study.cash_flow.flows, front.places.where(sheet.title)
    put_heads(sheet, front, row, f"Cash flow after tax by year, {front.currency}, costs negative")
    first = row + 1
    ahead, last = (
        round(float(front.delivered[front.study.shop.horizon].flat[0])),
        len(front.study.shop.years) - 1,
    )
    for year in range(ahead + 1):
        row += 1
        put_text(sheet, row, 1, f"Year {year}", "Label")
        for i, method in enumerate(front.study.scenario.methods):
            line = flows[method.id]["after"]
            value = float(front.values[line][year, 0])
            shown = number_format(line.unit, front.currency)
            put_formula(sheet, row, 2 + i, f"={where.cell(line, year)}", value, shown, front.results)
    put_text(sheet, row + 1, 1, "All years", "Label")
    for i, method in enumerate(front.study.scenario.methods):
        line = flows[method.id]["after"]
        letter, shown = get_column_letter(2 + i), number_format(line.unit, front.currency)
        text, value = f"=SUM({letter}{first}:{letter}{row})", float(front.values[line][:, 0].sum())
        if ahead < last:  # years after these count once Inputs look further ahead
            start, end = where.cell(line, 0), where.cell(line, last).split("!")[-1]
            text = f"=SUM({start}:{end})"
        put_formula(sheet, row + 1, 2 + i, text, value, shown, front.results)
    if ahead < last:
        said = "If Inputs look further ahead, the years after these stand on Cash flow."
        put_text(sheet, row + 2, 1, said, "Note")
    return row + 4


def _decides(sheet: Worksheet, front: Front, row: int) -> int:
    """Live from the Sensitivity sheet; without that, as delivered."""
    if front.deciding is not None:
        return front.deciding(sheet, row) + 1
    title = "What decides: inputs that alone would turn the answer or come closest, in cash (as delivered)"
    put_text(sheet, row, 1, title, "Strong")
    ends = [told(end, front.ranges.winner, front.currency) for end in front.ranges.nearest[:6]]
    return put_list(sheet, row + 1, ends or ["Nothing competes."]) + 1


def _to_replace(sheet: Worksheet, front: Front, row: int) -> int:
    title = "Defaults to confirm first: those whose range cuts the lead most (as delivered)"
    put_text(sheet, row, 1, title, "Strong")
    moving = sorted((e for e in front.ranges.nearest if e.stated.default), key=lambda e: e.lead)
    return put_list(sheet, row + 1, ["; ".join(e.stated.label for e in moving[:8]) or "None."]) + 1


def _mistakes(sheet: Worksheet, front: Front, row: int) -> int:
    # A template without that sentence leaves it to the list.
    which = beside_the_verdict if "Keeping up" in front.template.sentences else mistakes
    doubts = in_words_of(front.study.scenario.path, which(front.study, front.delivered))
    found = [f"{p.what}: {p.mend}" if p.mend else p.what for p in doubts]
    put_text(sheet, row, 1, "Likely mistakes (as delivered)", "Strong")
    return put_list(sheet, row + 1, [*map(front.shown, found)] or ["None found."]) + 1


def _rests_on(sheet: Worksheet, front: Front, row: int) -> int:
    put_text(sheet, row, 1, "What it rests on, and cautions", "Strong")
    row = put_list(sheet, row + 1, [*map(front.shown, front.study.scenario.work.notes), _CAUTION])
    for label in (label for label in front.said if label.endswith(INVOICED) or label == UNSTATED):
        front.say(sheet, row, label, "Said")
        row += 1
    return row + 1


def _new_page(sheet: Worksheet, front: Front, row: int) -> int:
    sheet.row_breaks.append(Break(id=row - 1))
    return row


def _table(
    sheet: Worksheet, front: Front, row: int, title: str, measures: Sequence[tuple[str, str, str]]
) -> int:
    """Measures downward, methods along: (label, row of Comparison, row that says whether it exists)."""
    put_heads(sheet, front, row, title)
    for label, key, flag in measures:
        row += 1
        _measure(sheet, front, row, label, key, flag)
    return row + 1


def _checks(sheet: Worksheet, front: Front, row: int) -> int:
    """Checks, defaults and changes: how far the page can be relied on."""
    check = front.places.where(sheet.title).cell(front.overall, 0)
    passed = float(front.values[front.overall].flat[0]) == 1
    put_text(sheet, row, 1, "Checks", "Label")
    words = ("all pass", "one fails: see Checks")
    put_formula(
        sheet,
        row,
        2,
        f'=IF({check}=1,"{words[0]}","{words[1]}")',
        words[0 if passed else 1],
        "@",
        front.results,
    )
    inputs = [r for r in front.rows if not isinstance(r, str)]
    first, last = HEAD + 2, HEAD + len(front.rows)

    def span(column: int) -> str:
        letter = get_column_letter(column)
        return f"Inputs!${letter}${first}:${letter}${last}"

    put_text(sheet, row + 1, 1, "Inputs still at a default", "Label")
    put_formula(
        sheet,
        row + 1,
        2,
        f'=COUNTIF({span(STATUS)},"default")',
        sum(r.default for r in inputs),
        "0",
        front.results,
    )
    put_text(sheet, row + 2, 1, "of all inputs", "Label")
    # Counted where no section titles stand between: some programs count their empty cells.
    put_formula(
        sheet,
        row + 2,
        2,
        f"=COUNT(Changes!$C${HEAD + 1}:$C${HEAD + len(inputs)})",
        len(inputs),
        "0",
        front.results,
    )
    put_text(sheet, row + 3, 1, "Inputs changed since delivery", "Label")
    put_formula(sheet, row + 3, 2, f"={front.changed}", front.count_changed(), "0", front.results)
    return row + 5


def _measure(sheet: Worksheet, front: Front, row: int, label: str, key: str, flag: str) -> None:
    line = front.study.comparison.rows[key]
    where = front.places.where(sheet.title)
    put_text(sheet, row, 1, label, "Label")
    shown = _SHOWN.get(key.split(".")[0]) or number_format(line.unit, front.currency)
    for i in range(len(front.study.scenario.methods)):
        value = float(front.values[line][i, 0])
        if not flag:
            put_formula(sheet, row, 2 + i, f"={where.cell(line, i)}", value, shown, front.results)
            continue
        exists = front.study.comparison.rows[flag]
        there = front.values[exists][i, 0] == 1
        text, absent = f'=IF({where.cell(exists, i)}=1,{where.cell(line, i)},"none")', "none"
        if "payback" in key and front.study.scenario.methods[i].id != front.study.scenario.current:
            years = front.study.shop.horizon
            able = front.study.comparison.rows["feasible"]
            now = front.study.comparison.current_feasible
            both = f"{where.cell(able, i)}*{where.cell(now, 0)}"
            late = f'IF({both}=1,"{NOT_IN}"&FIXED({where.cell(years, 0)},0),"none")'
            text = text.replace('"none"', late)
            if front.values[able][i, 0] * front.values[now].flat[0] == 1:
                absent = f"{NOT_IN}{fixed(float(front.values[years].flat[0]), 0)}"
        if key.startswith("irr."):
            several = front.study.comparison.rows[key.replace("irr.", "several_rates.")]
            text = text.replace('"none"', f'IF({where.cell(several, i)}=1,"several","none")')
            absent = "several" if front.values[several][i, 0] == 1 else absent
        put_formula(sheet, row, 2 + i, text, value if there else absent, shown, front.results, "Right")


BLOCKS: dict[str, Callable[[Worksheet, Front, int], int]] = {
    "title block": _title_block,
    "opening": _opening,
    "verdict": _verdict,
    "checks": _checks,
    "measures": _measures,
    "full cost": _full_cost,
    "cost by family": _by_family,
    "cash by year": _by_year,
    "cumulative chart": cumulative_chart,
    "family chart": family_chart,
    "what decides": _decides,
    "defaults to replace": _to_replace,
    "likely mistakes": _mistakes,
    "rests on": _rests_on,
    "closing": _closing,
    "scope": scope,
    "paid at first": paid_at_first,
    "tax basis": tax_basis,
    "open points": open_points,
    "sign-off": sign_off,
    NEW_PAGE: _new_page,
}
