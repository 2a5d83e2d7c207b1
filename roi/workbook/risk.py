"""The Risk sheet: how sure the answer is, as delivered. Draws are made by the program, so nothing here follows Inputs.

One cell is live: whether an input or a range has been changed since. Money in the scenario's currency, in cash after tax.
"""

from __future__ import annotations

from openpyxl.chart import Reference
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.worksheet import Worksheet

from roi.answers.risk_results import MethodRisk, Risk
from roi.answers.risk_words import STEPS, cumulative, histogram, sentences, worth_telling
from roi.engine.words import fixed
from roi.workbook.cells import fit_label, put_formula, put_number, put_text, spoken_lines
from roi.workbook.front import Front
from roi.workbook.placing import HEAD
from roi.workbook.spread_plots import rising_curve, upright_bars
from roi.workbook.styles import set_up_page

_LISTED = 10  # inputs by what knowing them is worth
_CHART_ROWS = 19
_LABEL = 46
_WIDTHS = (_LABEL, 19, *[12.5] * 8)
_LINE = 140  # characters of a sentence that fit the page's width
Rows = tuple[int, int]  # first and last
_FIRST = 3  # column of the first figure
_MONEY, _SHARE = "#,##0;-#,##0", "0.0%"
_AS_DELIVERED = "As delivered: no input and no range has been changed since."
_SHARES = (
    "What the saving varies with (shares of its variance, by input) isn't on this sheet: roi risk tells it, where both methods "
    "can do the work in every draw."
)
_OUT_OF_DATE = "Out of date: inputs or ends of ranges changed since: "


def write_risk(sheet: Worksheet, front: Front, found: Risk) -> None:
    """Write the sheet; the Changes sheet must have been written before."""
    _Writer(sheet, front, found).write()


class _Writer:
    def __init__(self, sheet: Worksheet, front: Front, found: Risk) -> None:
        self.sheet, self.front, self.found = sheet, front, found
        self.shorts = {name: m.method.short for name, m in front.study.methods.items()}
        self.today = front.study.scenario.current
        self.yearly, self.once = f"{front.currency} a year", f"{front.currency} once"

    def write(self) -> None:
        sheet, found = self.sheet, self.found
        put_text(sheet, 1, 1, "Risk: how sure the answer is", "Headline")
        settings = found.settings
        made = (
            f"Drawn on {self.front.made.date().isoformat()}: {settings.draws:,} draws, seed {settings.seed}. Figures and "
            "sentences here are fixed; run the program again to renew them."
        )
        put_text(sheet, 2, 1, made, "Note")
        row = HEAD
        for i, text in enumerate(sentences(self.front.study, found)):
            # Cells to the right are empty, so that a line runs over them.
            for part in spoken_lines(sheet, text, _LINE):
                put_text(sheet, row, 1, part, "Strong" if i == 0 else "Said")
                row += 1
        row = self._methods(row + 1)
        drawn = self.found.savings.size > 0 and self.found.challenger is not None
        sheet.row_breaks.append(Break(id=row - 1))
        chart_at = row
        row = self._knowing(row + (_CHART_ROWS + 1 if drawn else 0))
        if drawn:
            self._draw(chart_at, row)
        for i, width in enumerate((*_WIDTHS, *[12.5] * max(0, len(self.shorts) + 2 - len(_WIDTHS)))):
            sheet.column_dimensions[get_column_letter(i + 1)].width = width
        sheet.freeze_panes = sheet.cell(HEAD, 1)
        set_up_page(sheet, head_rows=3)

    def _still_holds(self, row: int) -> None:
        """The count of changes in this row, and on top what follows from it."""
        put_text(self.sheet, row, 1, "Inputs and ends of ranges changed since", "Label")
        put_text(self.sheet, row, 2, "number", "Label")
        count = f"={self.front.changed}+{self.front.ranges_changed}"
        changed = self.front.count_changed("", "low", "high")
        put_formula(self.sheet, row, _FIRST, count, changed, "0", self.front.results)
        at = f"{get_column_letter(_FIRST)}{row}"
        text = f'=IF({at}=0,"{_AS_DELIVERED}","{_OUT_OF_DATE}"&FIXED({at},0))'
        says = f"{_OUT_OF_DATE}{changed}" if changed else _AS_DELIVERED
        put_formula(self.sheet, 3, 1, text, says, "@", self.front.results, "Strong")

    # --- tables

    def _heads(self, row: int, heads: list[str]) -> None:
        self.sheet.row_dimensions[row].height = 28
        for i, head in enumerate(heads):
            put_text(self.sheet, row, i + 1, head, "Head" if i < _FIRST - 1 else "Heads")

    def _row(
        self, row: int, label: str, unit: str, figures: list[float | None], shown: str, none: str = "none"
    ) -> None:
        put_text(self.sheet, row, 1, label, "Label")
        fit_label(self.sheet, row, label, _LABEL)
        put_text(self.sheet, row, 2, unit, "Label")
        for i, figure in enumerate(figures):
            if figure is None:
                put_text(self.sheet, row, _FIRST + i, none, "Right")
            else:
                put_number(self.sheet, row, _FIRST + i, figure, "Data", shown)

    def _methods(self, row: int) -> int:
        every = list(self.found.methods.values())
        self._heads(row, ["Over all draws", "Unit", *(self.shorts[m.id] for m in every)])
        today = self.shorts[self.today]

        def saving(part: str) -> list[float | None]:
            return [None if m.saving is None else getattr(m.saving, part) for m in every]

        def of(part: str) -> list[float | None]:
            return [getattr(m, part) for m in every]

        rows: list[tuple[str, str, list[float | None], str]] = [
            ("Is the cheapest, in cash", "% of draws", of("chance"), _SHARE),
            ("Is the cheapest, at full cost", "% of draws", of("chance_full"), _SHARE),
            ("Can do the work", "% of draws", of("able"), _SHARE),
            ("Saving: 10 % of draws lie below", self.yearly, saving("p10"), _MONEY),
            ("Saving: 50 % of draws lie below", self.yearly, saving("p50"), _MONEY),
            ("Saving: 90 % of draws lie below", self.yearly, saving("p90"), _MONEY),
            ("Saving: mean of the draws", self.yearly, saving("mean"), _MONEY),
            ("Standard error of the mean", self.yearly, saving("error"), _MONEY),
            ("Saving: every input at its best", self.yearly, of("saving_at_best"), _MONEY),
            ("Expected regret of choosing it", self.once, of("regret"), _MONEY),
        ]
        for label, unit, figures, shown in rows:
            row += 1
            self._row(row, label, unit, figures, shown)
        row += 1
        self._still_holds(row)
        note = f"Saving against {today}. Regret: what it costs above the cheapest, in money of today over the years."
        if any(method.able < 1 for method in every):
            note += " Saving and regret are over the draws in which a method can do the work."
        put_text(self.sheet, row + 1, 1, note, "Note")
        return row + 3

    def _knowing(self, row: int) -> int:
        worth = worth_telling(self.found, _LISTED)
        self._heads(
            row, ["What knowing an input before choosing is worth", "Unit", "Worth", "Standard error"]
        )
        row += 1
        everything = [self.found.knowing_all, self.found.knowing_all_error]
        self._row(row, "All inputs together: never worth more than", self.once, [*everything], _MONEY)
        for known in worth:
            row += 1
            self._row(row, known.label, self.once, [known.value, known.error], _MONEY)
        note = "Spend less than this on finding out."
        if not worth:
            note = "No single input is worth finding out for this choice."
        put_text(self.sheet, row + 1, 1, note, "Note")
        # Shares take some 20,000 further cases, which every workbook would have to wait for.
        put_text(self.sheet, row + 2, 1, _SHARES, "Note")
        return row + 4

    # --- charts and what they draw

    def _draw(self, chart_at: int, row: int) -> None:
        name = str(self.found.challenger)
        method, short, today = self.found.methods[name], self.shorts[name], self.shorts[self.today]
        edges, shares = histogram(self.found.savings)
        self._heads(
            row, [f"Saving of {short} against {today}: how often", "Unit", "From", "To", "Middle", "Draws"]
        )
        top = row + 1
        for i, share in enumerate(shares):
            row += 1
            low, high = float(edges[i]), float(edges[i + 1])
            self._row(row, f"Bin {i + 1}", f"{self.yearly}, share", [low, high, (low + high) / 2], _MONEY)
            put_number(self.sheet, row, _FIRST + 3, float(share), "Data", _SHARE)
        bins = top, row
        row += 2
        self._heads(row, [f"Saving of {short} against {today}: stays below", "Unit", "Saving", "Draws below"])
        top = row + 1
        for step, amount in zip(STEPS, cumulative(self.found.savings), strict=True):
            row += 1
            self._row(
                row,
                f"{fixed(float(step) * 100, 0)} % of the draws",
                f"{self.yearly}, share",
                [float(amount)],
                _MONEY,
            )
            put_number(self.sheet, row, _FIRST + 1, float(step), "Data", "0%")
        curve = top, row
        row += 2
        self._heads(row, ["Marked on the curve", "Unit", "Saving", "Draws below"])
        top = row + 1
        assert method.saving is not None
        for step, amount in ((0.1, method.saving.p10), (0.5, method.saving.p50), (0.9, method.saving.p90)):
            # A mark runs from the axis up to the curve.
            for end, label in ((0.0, "foot of the mark"), (step, "")):
                row += 1
                name = f"P{round(step * 100)}"
                self._row(
                    row, f"{name}, {label}" if label else name, f"{self.yearly}, share", [amount], _MONEY
                )
                put_number(self.sheet, row, _FIRST + 1, end, "Data", "0%")
        marks = [(top + 2 * i, top + 2 * i + 1) for i in range(3)]
        self._charts(chart_at, method, bins, curve, marks)

    def _cells(self, column: int, rows: Rows) -> Reference:
        return Reference(self.sheet, min_row=rows[0], max_row=rows[1], min_col=column)

    def _head_of(self, column: int, rows: Rows) -> Reference:
        return Reference(self.sheet, min_row=rows[0] - 1, min_col=column)

    def _charts(self, at: int, method: MethodRisk, bins: Rows, curve: Rows, marks: list[Rows]) -> None:
        assert method.saving is not None
        short, today, house = self.shorts[method.id], self.shorts[self.today], self.front.house
        low, high = fixed(method.saving.p10, 0), fixed(method.saving.p90, 0)
        along = f"saving against {today}, {self.yearly}"
        bars = upright_bars(
            f"{short}: {low} to {high} a year in eight draws of ten", f"{along} (middle of the bin)", "share of the draws",
            self._cells(_FIRST + 2, bins), (self._head_of(_FIRST + 3, bins), self._cells(_FIRST + 3, bins)), house=house,
        )  # fmt: skip
        rising = rising_curve(
            f"{short}: {fixed(method.saving.p50, 0)} a year or more in half of the draws", along,
            "share of the draws that stay below",
            (self._head_of(_FIRST + 1, curve), self._cells(_FIRST, curve), self._cells(_FIRST + 1, curve)),
            [(self._cells(1, (m[1], m[1])), self._cells(_FIRST, m), self._cells(_FIRST + 1, m)) for m in marks],
            house=house,
        )  # fmt: skip
        often = f"Bars: how often the saving of {short} a year falls where, over all draws. The table below holds the figures."
        below = f"Curve: in which share of the draws the saving of {short} a year stays below an amount; P10, P50, P90 marked."
        for chart, corner, words in ((bars, "A", often), (rising, "D", below)):
            chart.width, chart.height = 14.3, 9
            self.front.describe(self.sheet, words)
            self.sheet.add_chart(chart, f"{corner}{at}")


__all__ = ["write_risk"]
