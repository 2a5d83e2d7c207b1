"""The Summary: the verdict in words, the measures side by side, two charts, what it all rests on."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from openpyxl.chart import Reference
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.worksheet import Worksheet

import roi
from roi.answers.mistakes import mistakes
from roi.answers.ranges import how_close, told
from roi.answers.verdict import TITLES
from roi.engine.column import Line
from roi.workbook.cells import put_formula, put_text
from roi.workbook.charts import line_chart, stacked_bars
from roi.workbook.front import Front
from roi.workbook.inputs import STATUS
from roi.workbook.placing import HEAD
from roi.workbook.styles import number_format, set_up_page

# Parts of the bars, small families together: six at most.
FAMILIES = ("consumables", "press", "labour", "equipment", "waste", "other")

_TABLE: tuple[tuple[str, str, str], ...] = (
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
    ("Discounted payback, years", "discounted_payback.cash", "has_discounted_payback.cash"),
    ("Internal rate of return", "irr.cash", "has_irr.cash"),
    ("Modified rate of return", "mirr.cash", "has_mirr.cash"),
    ("Savings-to-investment ratio", "ratio.cash", "has_ratio.cash"),
)
_FULL: tuple[tuple[str, str, str], ...] = (
    ("Against today, full cost: net present value", "npv.full", ""),
    ("Simple payback, years, full cost", "payback.full", "has_payback.full"),
    ("Discounted payback, years, full cost", "discounted_payback.full", "has_discounted_payback.full"),
    ("Internal rate of return, full cost", "irr.full", "has_irr.full"),
    ("Modified rate of return, full cost", "mirr.full", "has_mirr.full"),
    ("Savings-to-investment ratio, full cost", "ratio.full", "has_ratio.full"),
)
_SHOWN = {"irr": "0.0%", "mirr": "0.0%", "payback": "0.0", "discounted_payback": "0.0", "ratio": "0.00"}
_CHART_ROWS = 15


def write_summary(sheet: Worksheet, front: Front, overall: Line, changed: str) -> None:
    """Page one: the verdict in words, the measures side by side, two charts, what it rests on."""
    scenario = front.study.scenario
    put_text(sheet, 1, 1, f"{scenario.name}: how should plates be made?", "Headline")
    day, basis = front.made.date().isoformat(), "after tax unless said otherwise"
    put_text(
        sheet, 2, 1, f"{day}, roi version {roi.__version__}, amounts in {scenario.currency}, {basis}", "Note"
    )
    row = 4
    for label, cell in front.said.items():
        if label in TITLES:
            continue
        text = front.results["Words"][cell.split("!")[1].replace("$", "")]
        put_formula(
            sheet, row, 1, f"={cell}", text, "@", front.results, "Strong" if label == "Verdict" else "Said"
        )
        row += 1
        if label == "Verdict":
            # Only this program can try every input: the text is as delivered; the count of changes says when it is old.
            if front.ranges is not None:
                style = "Strong" if front.ranges.turns else "Said"
                put_text(sheet, row, 1, how_close(front.ranges) + " (As delivered.)", style)
            row += 1
    row += 1
    row = _state(sheet, front, overall, changed, row)
    put_text(sheet, row, 1, "Measure", "Head")
    for i, method in enumerate(scenario.methods):
        today = " (today)" if method.id == scenario.current else ""
        put_text(sheet, row, 2 + i, method.short + today, "Heads")
    for label, key, flag in _TABLE:
        row += 1
        _measure(sheet, front, row, label, key, flag)
    row += 2
    _charts(sheet, front, row)
    row += 2 * _CHART_ROWS
    sheet.row_breaks.append(Break(id=row - 1))
    put_text(sheet, row, 1, "Counting all freed time, floor and press hours", "Head")
    for i, method in enumerate(scenario.methods):
        put_text(sheet, row, 2 + i, method.short, "Heads")
    for label, key, flag in _FULL:
        row += 1
        _measure(sheet, front, row, label, key, flag)
    put_text(
        sheet, row + 1, 1, "none: the measure does not exist for these flows; Comparison tells why.", "Note"
    )
    row += 3
    if front.ranges is not None:
        ends = front.ranges.nearest
        put_text(
            sheet,
            row,
            1,
            "What decides: inputs that alone would turn the answer or come closest, in cash (as delivered)",
            "Strong",
        )
        row = (
            _list(sheet, row + 1, [told(end, front.currency) for end in ends[:6]] or ["Nothing competes."])
            + 1
        )
        put_text(
            sheet,
            row,
            1,
            "Defaults worth replacing first: those that move the lead most (as delivered)",
            "Strong",
        )
        moving = sorted((e for e in ends if e.stated.default), key=lambda e: e.lead)
        row = _list(sheet, row + 1, ["; ".join(e.stated.label for e in moving[:8]) or "None."]) + 1
    found = [f"{p.what}: {p.mend}" if p.mend else p.what for p in mistakes(front.study, front.values)]
    put_text(sheet, row, 1, "Likely mistakes (as delivered)", "Strong")
    row = _list(sheet, row + 1, found or ["None found."]) + 1
    put_text(sheet, row, 1, "What it rests on, and cautions", "Strong")
    _list(sheet, row + 1, [*scenario.work.notes, _CAUTION])
    sheet.column_dimensions["A"].width = 40
    for i in range(2, max(6, len(scenario.methods) + 1) + 1):
        sheet.column_dimensions[get_column_letter(i)].width = 15
    set_up_page(sheet, head_rows=2, landscape=False)


_CAUTION = (
    "Tax treatment is for an accountant; chemistry, waste and electrical work follow safety data sheets, local rules and "
    "licensed practice: see Sources and cautions."
)
_LINE = 112  # characters that fit across the page


def _list(sheet: Worksheet, row: int, texts: Sequence[str]) -> int:
    """Texts a line each, long ones going on in the next row. Returns the next free row."""
    for text in texts:
        for i, part in enumerate(textwrap.wrap(text[:1].upper() + text[1:], _LINE)):
            put_text(sheet, row, 1, ("– " if i == 0 else "   ") + part, "Said")
            row += 1
    return row


def _state(sheet: Worksheet, front: Front, overall: Line, changed: str, row: int) -> int:
    """Checks, defaults and changes: how far the page can be relied on. Returns the row after next."""
    check = front.places.where(sheet.title).cell(overall, 0)
    passed = float(front.values[overall].flat[0]) == 1
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
    put_formula(sheet, row + 3, 2, f"={changed}", 0, "0", front.results)
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
        text = f'=IF({where.cell(exists, i)}=1,{where.cell(line, i)},"none")'
        put_formula(sheet, row, 2 + i, text, value if there else "none", shown, front.results, "Right")


def _charts(sheet: Worksheet, front: Front, row: int) -> None:
    """Cumulative cost by year, and the cost of year 1 by family; data live on other sheets."""
    study, places = front.study, front.places

    def spot(title: str, r: int, c: int, r2: int | None = None, c2: int | None = None) -> Reference:
        return Reference(sheet.parent[title], min_row=r, min_col=c, max_row=r2 or r, max_col=c2 or c)

    def said(label: str) -> Reference:
        r = int(front.said[label].rsplit("$", 1)[1])
        return spot("Words", r, 3)

    years = len(study.shop.years)
    flow = study.cash_flow
    series = []
    for name in list(flow.cumulative)[:6]:
        title, r, c = places.cell(flow.cumulative[name], 0)
        series.append(
            (
                spot("Comparison", HEAD, 4 + list(flow.cumulative).index(name)),
                spot(title, r, c, r, c + years - 1),
            )
        )
    title, r, c = places.cell(flow.year, 0)
    chart = line_chart(
        said("Cumulative cost"),
        "Years after the switch",
        f"Present cost so far, {front.currency}",
        spot(title, r, c, r, c + years - 1),
        series,
    )
    chart.width, chart.height = 21, 7
    sheet.add_chart(chart, f"A{row}")
    front.alt_text[("Summary", 0)] = (
        "Lines of the present cost of each method so far, after tax, by year after the switch; the figures stand on Cash flow."
    )
    rows = study.comparison.rows
    methods = len(study.scenario.methods)
    parts = []
    for family in FAMILIES:
        line = rows[f"family.{family}"]
        title, r, c = places.cell(line, 0)
        parts.append((spot(title, r, 1), spot(title, r, c, r, c + methods - 1)))
    bars = stacked_bars(
        said("Cost by family"),
        f"Running cost of year 1 before tax, {front.currency}",
        "Method",
        spot("Comparison", HEAD, 4, HEAD, 3 + methods),
        parts,
    )
    bars.width, bars.height = 21, 7
    sheet.add_chart(bars, f"A{row + _CHART_ROWS}")
    front.alt_text[("Summary", 1)] = (
        "Bars of the running cost of year 1 by family, one a method; the figures stand on Comparison."
    )
