"""The sheets of a budget that show months: Budget, Budget profit and loss, and Actuals, where what has been paid is typed.

They fetch from the sheets of figures; quarters and the year are added up here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from openpyxl.styles import Alignment
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.worksheet import Worksheet

from roi.answers.budget import CAUTION, Budget, months_named
from roi.answers.budget_actuals import Followed
from roi.answers.budget_months import AXIS, Row
from roi.engine.column import Line
from roi.engine.evaluate import Values
from roi.engine.expression import Data
from roi.workbook.cells import Results, dress_anew, put_formula, put_label, put_number, put_text
from roi.workbook.front import Said
from roi.workbook.placing import HEAD, Places
from roi.workbook.styles import number_format, set_up_page

BUDGET, PROFIT, ACTUALS = "Budget", "Budget profit and loss", "Actuals"
WHICH, CLOSED, TYPED = (
    HEAD + 1,
    HEAD + 2,
    HEAD + 5,
)  # rows of Actuals: plan followed, months closed, first row typed
FIRST = 4  # column of the first month on every sheet
_QUARTER = 3  # months
_YEAR, _LESS = FIRST + len(AXIS) + 4, FIRST + len(AXIS) + 5
_LABEL, _ACCOUNT, _UNIT = 58, 9, 8  # widths in characters
_NARROWEST = 8
_ROWS_A_PAGE = 52


@dataclass
class Voice:
    """What the sheets and sentences are written from: places, values and results, and the sentences said so far."""

    budget: Budget
    places: Places
    values: Values
    results: Results
    said: dict[str, Said] = field(default_factory=dict)

    @property
    def currency(self) -> str:
        return self.budget.study.scenario.currency

    def value(self, line: Line, row: int = 0) -> float:
        """One row of a line, also of one that is the same in all."""
        found = self.values[line]
        count = 1 if line.axis is None else len(line.axis)
        return float(np.broadcast_to(found, (count, 1))[row, 0] if line.axis is not None else found.flat[0])

    def months(self, line: Line) -> list[float]:
        """The twelve months of a line."""
        return [self.value(line, i) for i in range(len(AXIS))]

    def fetch(
        self, sheet: Worksheet, row: int, column: int, line: Line, month: int = 0, style: str = "Figure"
    ) -> None:
        """A cell that shows a line's value, or that of one of its months."""
        text = f"={self.places.where(sheet.title).cell(line, month)}"
        shown = number_format(line.unit, self.currency)
        put_formula(sheet, row, column, text, self.value(line, month), shown, self.results, style)

    def month_heads(self, sheet: Worksheet, row: int, columns: Sequence[int]) -> None:
        """The names of the months, which follow the month in which the year begins: found for Actuals, fetched elsewhere."""
        budget, where = self.budget, self.places.where(sheet.title)
        assert budget.named.axis is not None
        names = where.span(budget.named, 0, len(budget.named.axis) - 1, "names")
        named = months_named(budget, self.values)
        for i, column in enumerate(columns):
            text = f"={ACTUALS}!{get_column_letter(FIRST + i)}${HEAD}"
            if sheet.title == ACTUALS:
                text = f"=INDEX({names},{where.cell(budget.position, i)})"
            put_formula(sheet, row, column, text, named[i], "@", self.results, "Heads")


def lay_out_actuals(budget: Budget, places: Places) -> None:
    """Give everything that is typed its cell."""
    places.put(budget.actuals.which, ACTUALS, WHICH, FIRST)
    places.put(budget.actuals.closed, ACTUALS, CLOSED, FIRST)
    typed = [row.actual for row in budget.actuals.rows if row.actual is not None]
    for i, data in enumerate(typed):
        places.put(data, ACTUALS, TYPED + i, FIRST, across=True)


def write_budget(sheet: Worksheet, voice: Voice) -> None:
    """The cash view: staying, switching, and one against the other."""
    page = _Months(sheet, voice, "Budget: cash paid, month by month")
    months = voice.budget.months
    for plan in months.plans:
        page.plan(plan.way.label, plan.cash)
        if any(entry.key in ("parallel", "learning") for entry in plan.way.one_offs):
            page.single("After this year: running both and learning", plan.beyond)
        if voice.budget.year.dated:
            page.single("Of that: price rises on their month, not a mean", plan.dated)
        page.next += 1
    page.section("Switching less staying", "More is paid where above nothing.")
    page.block("Cash paid", months.apart, "Section")
    page.cumulative("So far, at the month's end", months.cumulative)
    page.notes(
        "What follows the work falls as the work does, all else evenly over the year. Growth of prices is in the whole year "
        "at once, as in year 1; a rise with a month stands from its month on.",
        "What is paid at the switch falls into its month; what is bought or topped up at the end of year 1 into the last. "
        "Both methods running and learning take their months from the switch on.",
        "Less work: the whole year reckoned again with the share of Inputs (stress.less_work) less; the same equipment.",
        CAUTION,
    )


def write_profit(sheet: Worksheet, voice: Voice) -> None:
    """The profit-and-loss view of both ways, and what leads to it from cash."""
    page = _Months(sheet, voice, "Budget: charged to profit and loss, month by month")
    for plan in voice.budget.months.plans:
        bridge = [*plan.bridge, plan.bridged]
        page.plan(plan.way.label, plan.profit, further=len(bridge) + 1)
        page.plan(f"{plan.way.label}: from cash to profit and loss", bridge)
        page.next += 1
    page.notes(
        "Depreciation instead of capital, in a straight line over the years of life down to the resale share, from the month "
        "of the switch on; this is not the tax schedule. Of what is owned: its tax book value over the years it has left.",
        "The old equipment's book value is written off in the month of the switch, unless it is kept as a backup. Working "
        "capital is not charged. What is bought at the end of year 1 is depreciated from year 2 on.",
        CAUTION,
    )


class _Months:
    """A sheet with months, quarters, the year, and the year with less work along its columns."""

    def __init__(self, sheet: Worksheet, voice: Voice, headline: str) -> None:
        self.sheet, self.voice = sheet, voice
        self.months = [FIRST + i + i // _QUARTER for i in range(len(AXIS))]
        self.quarters = [FIRST + (_QUARTER + 1) * q + _QUARTER for q in range(4)]
        put_text(sheet, 1, 1, headline, "Headline")
        note = f"{voice.currency}, costs positive, receipts negative; before tax on profit. Quarters and year added up here."
        put_text(sheet, 2, 1, note, "Note")
        for column, head in ((1, "Line"), (2, "Account"), (3, "Unit")):
            put_text(sheet, HEAD, column, head, "Head")
        voice.month_heads(sheet, HEAD, self.months)
        for q, column in enumerate(self.quarters):
            put_text(sheet, HEAD, column, f"Quarter {q + 1} total", "Heads")
        put_text(sheet, HEAD, _YEAR, "Year total", "Heads")
        put_text(sheet, HEAD, _LESS, "Year total, less work", "Heads")
        sheet.row_dimensions[HEAD].height = 42
        self.next = self.top = HEAD + 1
        _widths(sheet, voice, _LESS)
        sheet.freeze_panes = sheet.cell(HEAD + 1, FIRST)
        set_up_page(sheet, head_rows=HEAD)

    def section(self, title: str, note: str) -> None:
        """A heading over rows."""
        for column in range(1, _LESS + 1):
            self.sheet.cell(self.next, column).style = "Section"
        put_text(self.sheet, self.next, 1, title, "Section")
        if note:
            put_text(self.sheet, self.next, FIRST, note, "Aside")
        for column in (1, FIRST):  # the cells beside are empty
            self.sheet.cell(self.next, column).alignment = Alignment(wrap_text=False, vertical="top")
        self.next += 1

    def plan(self, title: str, rows: Sequence[Row], further: int = 0) -> None:
        """Rows below a title; they begin a page where they, and `further` ones, would not fit on what is left of one."""
        if self.next - self.top + len(rows) + further > _ROWS_A_PAGE and self.next > self.top:
            self.sheet.row_breaks.append(Break(id=self.next - 1))
            self.top = self.next
        self.section(title, "")
        for row in rows:
            self.row(row)

    def single(self, label: str, line: Line) -> None:
        """An amount of the year that has no months."""
        self._label(label, "Figure", False, "")
        self.voice.fetch(self.sheet, self.next, _YEAR, line)
        self.next += 1

    def row(self, row: Row) -> None:
        """One row, with its year with less work."""
        at, style = self.next, "Section" if row.kind == "total" else "Figure"
        self.block(row.label, row.months, style, indent=row.kind == "sub", account=row.account)
        self.voice.fetch(self.sheet, at, _LESS, row.less, style=style)

    def block(self, label: str, line: Line, style: str, *, indent: bool = False, account: str = "") -> None:
        """The months of a line, its quarters and its year."""
        sheet, row, voice = self.sheet, self.next, self.voice
        self._label(label, style, indent, account)
        months = voice.months(line)
        for i, column in enumerate(self.months):
            voice.fetch(sheet, row, column, line, i, style)
        shown = number_format(line.unit, voice.currency)
        for q, column in enumerate(self.quarters):
            text = f"=SUM({_at(column - _QUARTER, row)}:{_at(column - 1, row)})"
            amount = sum(months[_QUARTER * q : _QUARTER * (q + 1)])
            put_formula(sheet, row, column, text, amount, shown, voice.results, style)
        text = "=" + "+".join(_at(column, row) for column in self.quarters)
        put_formula(sheet, row, _YEAR, text, sum(months), shown, voice.results, style)
        if style == "Section":
            sheet.cell(row, _LESS).style = "Section"
        self.next += 1

    def cumulative(self, label: str, line: Line) -> None:
        """The months of what has been added up so far: quarters and years would add it twice."""
        self._label(label, "Figure", False, "")
        for i, column in enumerate(self.months):
            self.voice.fetch(self.sheet, self.next, column, line, i)
        self.next += 1

    def _label(self, label: str, style: str, indent: bool, account: str) -> None:
        sheet, row = self.sheet, self.next
        put_label(sheet, row, label, _LABEL)
        put_text(sheet, row, 2, account, "Label")
        put_text(sheet, row, 3, self.voice.currency, "Label")
        if style == "Section":
            for column in (1, 2, 3):
                dress_anew(sheet.cell(row, column), "Section")
        if indent:
            sheet.cell(row, 1).alignment = Alignment(
                horizontal="left", indent=2, wrap_text=True, vertical="top"
            )

    def notes(self, *notes: str) -> None:
        """Small notes at the foot."""
        for note in notes:
            self.next += 1
            put_text(self.sheet, self.next, 1, note, "Note")


def _widths(sheet: Worksheet, voice: Voice, last: int) -> None:
    """Columns wide enough for the largest sum of the year, minus and separators included."""
    plans = voice.budget.months.plans
    largest = max(abs(voice.value(plan.cash[-1].year)) for plan in plans)
    width = max(_NARROWEST + 2 * (sheet.title == ACTUALS), len(f"{largest:,.0f}") + 3)
    for column, wide in ((1, _LABEL), (2, _ACCOUNT), (3, _UNIT)):
        sheet.column_dimensions[get_column_letter(column)].width = wide
    for column in range(FIRST, last + 1):
        sheet.column_dimensions[get_column_letter(column)].width = width


def _at(column: int, row: int) -> str:
    return f"{get_column_letter(column)}{row}"


# --- actuals ----------------------------------------------------------------------------------------


def write_actuals(sheet: Worksheet, voice: Voice) -> None:
    """Cells to type into, then the plan, what was paid above it, and the year's end."""
    found, last = voice.budget.actuals, FIRST + len(AXIS)
    put_text(sheet, 1, 1, "Actuals: what has been paid against the plan", "Headline")
    note = f"{voice.currency}. Type what was paid, receipts negative, in the boxed cells; say how many months are closed."
    put_text(sheet, 2, 1, note, "Note")
    for column, head in ((1, "Line"), (2, "Account"), (3, "Unit")):
        put_text(sheet, HEAD, column, head, "Head")
    voice.month_heads(sheet, HEAD, range(FIRST, last))
    put_text(sheet, HEAD, last, "Total", "Heads")
    _widths(sheet, voice, last)
    _Typed(sheet, voice).write()
    row = TYPED + len(found.rows)
    row = _block(sheet, voice, row + 1, "The plan followed", [(r, r.plan, r.plan_year) for r in found.rows])
    title = "Paid above the plan, in months closed"
    sheet.row_breaks.append(Break(id=row))
    row = _block(sheet, voice, row + 1, title, [(r, r.apart, r.apart_to_date) for r in found.rows])
    _year_end(sheet, voice, row + 1)
    sheet.freeze_panes = sheet.cell(HEAD + 1, FIRST)
    set_up_page(sheet, head_rows=HEAD)


class _Typed:
    """The cells that are typed, each with a rule that rejects what can't be."""

    def __init__(self, sheet: Worksheet, voice: Voice) -> None:
        self.sheet, self.voice, self.found = sheet, voice, voice.budget.actuals

    def write(self) -> None:
        sheet, found = self.sheet, self.found
        for row, data, unit, least, most in (
            (WHICH, found.which, "number", 1, 2),
            (CLOSED, found.closed, "month", 0, len(AXIS)),
        ):
            put_label(sheet, row, data.label, _LABEL)
            put_text(sheet, row, 3, unit, "Label")
            cell = put_number(sheet, row, FIRST, self._typed(data, 0), "Input", "0")
            rule = self._rule("whole", least, most, f"Enter a whole number, {least} to {most}.", data.label)
            rule.add(cell)
        _section(sheet, TYPED - 1, "Paid: type here", FIRST + len(AXIS))
        closed = put_text(sheet, TYPED - 1, FIRST + len(AXIS), "Closed", "Section")
        closed.alignment = Alignment(horizontal="right", vertical="top")
        money = self._rule(
            "decimal", -1e12, 1e12, "Enter an amount of money, receipts negative.", "Paid in the month"
        )
        for i, followed in enumerate(found.rows[:-1]):
            assert followed.actual is not None
            at = TYPED + i
            _head_of(sheet, at, followed, self.voice.currency)
            for month in range(len(AXIS)):
                value = self._typed(followed.actual, month)
                money.add(put_number(sheet, at, FIRST + month, value, "Input", "#,##0;-#,##0"))
            self.voice.fetch(sheet, at, FIRST + len(AXIS), followed.paid_to_date)

    def _typed(self, data: Data, month: int) -> float:
        known = self.voice.values.get(data)
        return float(data.values[month] if known is None else known[month, 0])

    def _rule(self, kind: str, least: float, most: float, error: str, title: str) -> DataValidation:
        rule = DataValidation(
            type=kind, operator="between", formula1=repr(least), formula2=repr(most), allow_blank=False,
            showErrorMessage=True, showInputMessage=True, errorTitle="Not possible", error=error, promptTitle=title[:32],
            prompt=error,
        )  # fmt: skip
        self.sheet.add_data_validation(rule)
        return rule


def _section(sheet: Worksheet, row: int, title: str, last: int) -> None:
    for column in range(1, last + 1):
        sheet.cell(row, column).style = "Section"
    put_text(sheet, row, 1, title, "Section")


def _head_of(sheet: Worksheet, row: int, followed: Followed, currency: str, style: str = "Label") -> None:
    put_label(sheet, row, followed.label, _LABEL)
    put_text(sheet, row, 2, followed.account, "Label")
    put_text(sheet, row, 3, currency, "Label")
    if style == "Section":
        for column in (1, 2, 3):
            dress_anew(sheet.cell(row, column), style)


def _block(
    sheet: Worksheet, voice: Voice, row: int, title: str, rows: Sequence[tuple[Followed, Line, Line]]
) -> int:
    """Twelve months and their sum of every row; the row after the last."""
    _section(sheet, row, title, FIRST + len(AXIS))
    for followed, months, whole in rows:
        row += 1
        style = "Section" if followed is rows[-1][0] else "Figure"
        _head_of(sheet, row, followed, voice.currency, style)
        for i in range(len(AXIS)):
            voice.fetch(sheet, row, FIRST + i, months, i, style)
        voice.fetch(sheet, row, FIRST + len(AXIS), whole, style=style)
    return row + 1


def _year_end(sheet: Worksheet, voice: Voice, row: int) -> None:
    """To date and at the year's end: what was paid in the months closed, and the plan of the rest."""
    _section(sheet, row, "To date, and forecast to the year's end", FIRST + len(AXIS))
    heads = ("Plan to date", "Paid to date", "Variance to date", "Plan of the rest", "Forecast of the year", "Plan of the year",
             "Variance of the year")  # fmt: skip
    for i, head in enumerate(heads):
        cell = put_text(sheet, row, FIRST + i, head, "Section")
        cell.alignment = Alignment(wrap_text=True, horizontal="right", vertical="top")
    sheet.row_dimensions[row].height = 42
    rows = voice.budget.actuals.rows
    for followed in rows:
        row += 1
        style = "Section" if followed is rows[-1] else "Figure"
        _head_of(sheet, row, followed, voice.currency, style)
        for i, line in enumerate(
            (followed.plan_to_date, followed.paid_to_date, followed.apart_to_date, followed.rest, followed.forecast,
             followed.plan_year, followed.apart_year)
        ):  # fmt: skip
            voice.fetch(sheet, row, FIRST + i, line, style=style)
    about = "A variance above nothing is paid more than planned. The forecast is what was paid and the plan of the rest."
    for note in (about, CAUTION):
        row += 2
        put_text(sheet, row, 1, note, "Note")


__all__ = [
    "ACTUALS",
    "BUDGET",
    "PROFIT",
    "Voice",
    "lay_out_actuals",
    "write_actuals",
    "write_budget",
    "write_profit",
]
