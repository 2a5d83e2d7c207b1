"""The front sheets of a budget's workbook: Summary, Dates, About. They fetch; differences and quarters are added up here."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from openpyxl.chart import Reference
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.worksheet import Worksheet

import roi
from roi.answers.budget import CAUTION, Budget
from roi.answers.budget_months import AXIS, Plan, Row
from roi.scenario.stated import StatedInput
from roi.workbook.budget_sheets import ACTUALS, BUDGET, FIRST, PROFIT, Voice
from roi.workbook.cells import dress_anew, fit_row, put_formula, put_label, put_text, spoken, tongue_of
from roi.workbook.charts import line_chart
from roi.workbook.front import language_row, write_about_rows
from roi.workbook.house import House
from roi.workbook.placing import HEAD
from roi.workbook.styles import number_format, set_up_page

DATES = "Dates"
PURPOSES = {
    "Summary": "the year in words, in cash and in profit and loss, by quarter",
    "About": "this page: purpose, limits, colours, sheets",
    BUDGET: "cash paid month by month: staying, switching, one against the other",
    PROFIT: "what is charged month by month, and the lines it differs by from cash",
    ACTUALS: "what has been paid, typed in; variances and a forecast to the year's end",
    DATES: "quotes that run out, prices that rise, notice to be given, as delivered",
    "Words": "the sentences of the Summary, from the figures",
    "Budget figures": "the months of every line, which the sheets above show",
    "Actuals figures": "what the sheet Actuals shows",
    "Budget year": "amounts of the year before they are spread over months",
    "Less work": "the work of the year when there is less of it",
    "Calendar": "which calendar month each month of the budget is",
}
_LABEL, _MONEY = 56, 13  # widths in characters
_ROWS_ABOVE_CHART = 44  # that leave room for the chart on an upright page
# What is paid once in the year and isn't first cost, and the other way round: keys of entries, or of a method's lines.
_PAID_BESIDES = (
    ("parallel", "both methods running"),
    ("learning", "learning"),
    ("vat.capital", "VAT or sales tax not recovered"),
)
_LATER = "what is bought, sold or topped up at the year's end"
_NOT_PAID = (
    ("stock", "stock of the old method written off"),
    ("backup_forgone", "resale forgone by keeping a backup"),
)
_KINDS = {"quote": "Quote", "price": "Price", "notice": "Notice"}


def write_summary(sheet: Worksheet, voice: Voice, made: datetime, house: House, overall: str, passed: bool, changed: str,
                  count: int) -> str:  # fmt: skip
    """The year in words, then tables and a chart; returns the chart's description.

    overall : the cell of the overall check;  changed : that which counts inputs changed, and its result
    """
    budget, results = voice.budget, voice.results
    scenario = budget.study.scenario
    put_text(sheet, 1, 1, f"{scenario.name}: budget of platemaking", "Headline")
    text = f"{made.date().isoformat()}, roi version {roi.__version__}, amounts in {voice.currency}, before tax on profit"
    put_text(sheet, 2, 1, text, "Note")
    row = HEAD
    for place, sentence in enumerate(budget.sentences):
        said = voice.said[sentence.label]
        style = "Strong" if place == 0 else "Said"
        put_formula(sheet, row, 1, f"=Words!$C${said.row}", said.text, "@", results, style)
        row += 1
    able = budget.study.comparison.current_feasible
    if voice.value(able) != 1:
        put_text(
            sheet,
            row,
            1,
            "Today's method can't do this work as stated: see Comparison (as delivered).",
            "Said",
        )
        row += 1
    said_ = "Checks: all pass." if passed else "Checks: one fails, see the sheet Checks."
    text = f'=IF({overall}=1,"Checks: all pass.","Checks: one fails, see the sheet Checks.")'
    put_formula(sheet, row, 1, text, said_, "@", results, "Said")
    put_text(sheet, row + 1, 1, "Inputs changed since this workbook was written", "Label")
    put_formula(sheet, row + 1, 2, f"={changed}", count, "0", results, "Right")
    put_text(sheet, row + 2, 1, CAUTION, "Note")
    row = _tables(sheet, voice, row + 4)
    row = _quarters(sheet, voice, row + 1)
    text = _chart(sheet, voice, house, row + 1)
    sheet.column_dimensions["A"].width = _LABEL
    for column in range(2, 8):
        sheet.column_dimensions[get_column_letter(column)].width = _MONEY
    set_up_page(sheet, head_rows=2, landscape=False)
    return text


def _tables(sheet: Worksheet, voice: Voice, row: int) -> int:
    """The year's rows of both ways in cash and in profit and loss, families once; the row after the last."""
    staying, switching = voice.budget.months.plans
    views = (
        ("Cash of the year", staying.cash, switching.cash, True),
        ("Profit and loss of the year", staying.profit, switching.profit, False),
    )
    for title, one, other, families in views:
        heads = (title, "Account", "Staying", "Switching", "Difference")
        row = _heads(sheet, row, heads, 2)
        for key in _merged(one, other):
            pair = tuple(next((r for r in rows if r.key == key), None) for rows in (one, other))
            known = next(r for r in pair if r is not None)
            if known.kind != "sub" and (families or known.kind == "total" or key not in _keys(staying)):
                _pair(sheet, voice, row, pair, known)
                row += 1
        if families:
            row = _first_cost(sheet, voice, row)
        row += 1
    return row


def _first_cost(sheet: Worksheet, voice: Voice, row: int) -> int:
    """The first cost of the comparison beside what is paid once, and in words what the two count differently."""
    study, switching = voice.budget.study, voice.budget.year.switching
    line, ids = study.comparison.rows["first_cost"], list(study.methods)
    places = [ids.index(way.sheet.method.id) for way in voice.budget.year.ways]
    put_label(sheet, row, "First cost, as on Comparison", _LABEL)
    for i, place in enumerate(places):
        voice.fetch(sheet, row, 3 + i, line, place)
    amounts = [voice.value(line, place) for place in places]
    shown = number_format(line.unit, voice.currency)
    put_formula(sheet, row, 5, f"=D{row}-C{row}", amounts[1] - amounts[0], shown, voice.results)
    paid, unpaid = ({e.key for e in entries} for entries in (switching.one_offs, switching.unpaid))
    more = [words for key, words in _PAID_BESIDES if key in paid]
    less = [words for key, words in _NOT_PAID if key in unpaid or key in switching.sheet.lines]
    put_text(sheet, row + 1, 1, f"Paid once also counts {_listed([*more, _LATER])}.", "Note")
    if less:
        put_text(sheet, row + 2, 1, f"First cost also counts {_listed(less)}, which is not paid.", "Note")
    return row + (3 if less else 2)


def _listed(words: Sequence[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def _keys(plan: Plan) -> set[str]:
    return {row.key for row in plan.families}


def _merged(one: Sequence[Row], other: Sequence[Row]) -> list[str]:
    """Keys of both in the order of the second, which has more; what only the first has comes before the row that follows it."""
    found = [row.key for row in other]
    before: str | None = None
    for row in one:
        if row.key not in found:
            found.insert(0 if before is None else found.index(before) + 1, row.key)
        before = row.key
    return found


def _heads(sheet: Worksheet, row: int, heads: Sequence[str], texts: int) -> int:
    """A table's heads, the first few over texts; the row below."""
    for i, head in enumerate(heads, 1):
        put_text(sheet, row, i, head, "Head" if i <= texts else "Heads")
        if i > 1:
            fit_row(sheet, row, head, _MONEY)
    return row + 1


def _pair(sheet: Worksheet, voice: Voice, row: int, pair: Sequence[Row | None], known: Row) -> None:
    """A row of both ways and the difference; a dash where one has no such row."""
    style = "Section" if known.kind == "total" else "Figure"
    put_label(sheet, row, known.label, _LABEL)
    put_text(sheet, row, 2, known.account, "Label")
    if style == "Section":
        for column in (1, 2):
            dress_anew(sheet.cell(row, column), "Section")
    amounts, cells = [0.0, 0.0], ["0", "0"]
    for i, one in enumerate(pair):
        if one is None:
            put_text(sheet, row, 3 + i, "-", "Right")
            continue
        voice.fetch(sheet, row, 3 + i, one.year, style=style)
        amounts[i], cells[i] = voice.value(one.year), f"{get_column_letter(3 + i)}{row}"
    shown = number_format(known.year.unit, voice.currency)
    put_formula(
        sheet, row, 5, f"={cells[1]}-{cells[0]}", amounts[1] - amounts[0], shown, voice.results, style
    )


def _quarters(sheet: Worksheet, voice: Voice, row: int) -> int:
    """Cash of both ways by quarter, and of the year with less work."""
    heads = ("Cash by quarter", *(f"Quarter {q}" for q in range(1, 5)), "Year", "Year, less work")
    row = _heads(sheet, row, heads, 1)
    shown = number_format(voice.budget.months.apart.unit, voice.currency)
    where = voice.places.where(sheet.title)
    for plan in voice.budget.months.plans:
        line = plan.cash[-1].months
        put_label(sheet, row, plan.way.label, _LABEL)
        months = voice.months(line)
        for q in range(4):
            first, last = 3 * q, 3 * q + 2
            start, end = where.cell(line, first), where.cell(line, last).split("!")[-1]
            put_formula(
                sheet, row, 2 + q, f"=SUM({start}:{end})", sum(months[first : last + 1]), shown, voice.results
            )
        voice.fetch(sheet, row, 6, plan.cash[-1].year)
        voice.fetch(sheet, row, 7, plan.cash[-1].less)
        row += 1
    return row


def _chart(sheet: Worksheet, voice: Voice, house: House, row: int) -> str:
    """Cash so far of both ways, on a page of its own where it would be cut; returns its description."""
    book, budget = sheet.parent, voice.budget
    figures = book["Budget figures"]
    series = []
    for line in budget.months.so_far:
        _, at, column = voice.places.cell(line)
        numbers = Reference(figures, min_row=at, min_col=column, max_col=column + len(AXIS) - 1)
        series.append((Reference(figures, min_row=at, min_col=1), numbers))
    title = Reference(book["Words"], min_row=voice.said["Deepest"].row, min_col=3)
    months = Reference(book[ACTUALS], min_row=HEAD, min_col=FIRST, max_col=FIRST + len(AXIS) - 1)
    words = f"Cash paid so far, {voice.currency}"
    chart = line_chart(title, "Month", words, months, series, house=house)
    chart.width, chart.height = 20, 9
    if row > _ROWS_ABOVE_CHART:
        sheet.row_breaks.append(Break(id=row - 1))
        row += 1  # clear of the page's edge
    sheet.add_chart(chart, f"A{row}")
    return "Lines of cash paid so far, month by month, staying and switching. The figures stand on Budget figures."


def write_dates(sheet: Worksheet, budget: Budget, today: str) -> None:
    """Quotes, price rises and notice, as delivered."""
    put_text(sheet, 1, 1, "Dates of the budget", "Headline")
    end = budget.fiscal.last_day
    put_text(
        sheet,
        2,
        1,
        f"As delivered on {today}: these texts don't follow the Inputs. The year ends on {end}.",
        "Note",
    )
    for column, head in enumerate(("Kind", "When", "What"), 1):
        put_text(sheet, HEAD, column, head, "Head")
    row = HEAD
    for dated in budget.dates:
        row += 1
        put_text(sheet, row, 1, _KINDS[dated.kind], "Label")
        put_text(sheet, row, 2, dated.when, "Label")
        put_text(sheet, row, 3, dated.what, "Label")
        sheet.row_dimensions[row].height = 14.0 * -(-len(spoken(sheet, dated.what)) // 80)
    if not budget.dates:
        put_text(
            sheet,
            HEAD + 1,
            1,
            "No quote runs out, no price rises on a month and no notice is stated.",
            "Said",
        )
        row += 1
    without = _undated(budget)
    if without:
        text = f'{without} in use are known from a quote without "Valid until": ask until when each holds.'
        put_text(sheet, row + 2, 1, text, "Said")
    for letter, width in (("A", 10), ("B", 14), ("C", 96)):
        sheet.column_dimensions[letter].width = width
    sheet.freeze_panes = sheet.cell(HEAD + 1, 1)
    set_up_page(sheet, head_rows=HEAD)


def _undated(budget: Budget) -> str:
    used = budget.study.book.inputs
    found: list[StatedInput] = [
        s
        for s in budget.study.scenario.inputs.values()
        if s.key in used and s.status == "quote" and not s.valid_until
    ]
    return "" if not found else "1 input" if len(found) == 1 else f"{len(found)} inputs"


def write_about(sheet: Worksheet, budget: Budget, made: datetime, purposes: dict[str, str]) -> None:
    """Purpose, limits, colours, sheets."""
    scenario = budget.study.scenario
    put_text(sheet, 1, 1, "About this workbook", "Headline")
    old, new = (way.sheet.method.short for way in budget.year.ways)
    vat = (
        "VAT or sales tax that is not recovered stands on lines of its own, on equipment, consumables, waste and energy. Prices "
        "stated to hold it already (prices_with_vat) bear none there; wages, press and room bear none."
        if budget.year.staying.vat is not None
        else "Prices as stated; nothing is added for VAT or sales tax, since no share is stated that is not recovered."
    )
    rows = [
        (
            "Purpose",
            f"What platemaking costs {scenario.name} in one year, month by month: staying with {old} beside "
            f"switching to {new}.",
        ),
        ("Made by", f"roi version {roi.__version__}, from {scenario.path.name}"),
        ("Date", made.date().isoformat()),
        ("Currency", f"{scenario.currency}, nominal; costs positive, receipts negative."),
        ("Tax", vat),
        (
            "The year",
            f"Year 1 of the reckoning, from {budget.fiscal.month(0)} to {budget.fiscal.month(len(AXIS) - 1)}. Its prices hold "
            "for all of it, but for rises that state a month.",
        ),
        (
            "Two views",
            "Cash is what is paid. Profit and loss has depreciation instead of capital and no working capital; the two differ "
            f"only by the lines named on {PROFIT}.",
        ),
        (
            "Limits",
            "Costs of platemaking only, before tax on profit, loans and leases left out. Wages and press hours count as far as "
            "they turn into money. " + CAUTION,
        ),
        (
            "On paper",
            "Print the sheets named first, down to Dates; those behind are there to be traced.",
        ),
        (
            "Live",
            "Every number on Inputs and in the boxed cells of Actuals may be changed, the month of the switch among them "
            "(leaving.month), and figures, words and charts follow. Methods, the log and Dates are fixed.",
        ),
    ]  # fmt: skip
    if (tongue := tongue_of(sheet)) is not None:
        rows.append(("Language", language_row(tongue)))
    write_about_rows(sheet, rows, purposes)


__all__ = ["DATES", "PURPOSES", "write_about", "write_dates", "write_summary"]
