"""The Sensitivity sheet: inputs ranked by what their ranges do, two inputs together, and the map of the cheapest method."""

from __future__ import annotations

from collections.abc import Sequence

from openpyxl.chart import Reference
from openpyxl.formatting.rule import FormulaRule
from openpyxl.styles import Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.worksheet import Worksheet

from roi.answers.cases import CaseSet
from roi.answers.ranked import DECIDING, Ranked
from roi.engine.column import Line
from roi.engine.expression import Leaf
from roi.engine.words import fixed
from roi.scenario.stated import StatedInput
from roi.workbook.cells import fit_label, put_formula, put_text, tongue_of
from roi.workbook.front import Front
from roi.workbook.inputs import HIGH, LOW, VALUE
from roi.workbook.palette import tint
from roi.workbook.placing import HEAD
from roi.workbook.plots import change_bars
from roi.workbook.styles import number_format, set_up_page

_CHART_ROWS = 22
_AT_THE_WORSE_END = (
    "Each input alone at the end of its range that cuts the lead most: the lead then, and who is cheapest."
)
_SUMMARY_LABEL = 40  # characters of the Summary's first column
_RANKED_LABEL = 66  # characters that fit into this sheet's first column
_HEAD_HEIGHT = 42  # points: heads wrap to three lines
_FIGURES = 3  # the column of the first figure


def write_sensitivity(sheet: Worksheet, front: Front, cases: CaseSet, found: Ranked | None) -> None:
    """Write the sheet; the Ranges, Words and Inputs sheets hold what it shows."""
    if found is None:
        put_text(sheet, 1, 1, "Sensitivity: what the answer depends on", "Headline")
        text = "No input, within its range, moves the answer: none has a range, or too few methods can do the work."
        put_text(sheet, HEAD, 1, text, "Said")
        set_up_page(sheet)
        return
    writer = _Writer(sheet, front, cases, found)
    writer.write()
    front.deciding = writer.deciding


class _Writer:
    def __init__(self, sheet: Worksheet, front: Front, cases: CaseSet, found: Ranked) -> None:
        self.sheet, self.front, self.cases, self.found = sheet, front, cases, found
        self.where = front.places.where(sheet.title)
        self.names = front.study.comparison.methods.labels
        block = front.study.comparison.rows["present"]
        self.names_at = self.where.span(block, 0, len(self.names) - 1, "names")
        self.inputs = front.study.book.inputs
        self.input_rows = {
            stated.key: HEAD + 1 + i for i, stated in enumerate(front.rows) if not isinstance(stated, str)
        }

    def write(self) -> None:
        sheet, code = self.sheet, self.front.currency
        put_text(sheet, 1, 1, "Sensitivity: what the answer depends on", "Headline")
        put_text(
            sheet,
            2,
            1,
            f"In cash, after tax, {code} a year. Each input over its own range, the others at their best.",
            "Note",
        )
        row = HEAD
        for sentence, style in ((self.found.matters, "Strong"), (self.found.turns, "Said")):
            self.front.say(sheet, row, sentence.label, style)
            row += 1
        if self.cases.left_out:
            text = (
                f"The {len(self.cases.ends)} inputs that moved the lead most when this was written; "
                f"{self.cases.left_out} others with a range moved it less."
            )
            put_text(sheet, row, 1, text, "Note")
            row += 1
        row += 1
        chart_at, ranked_at = row, row + _CHART_ROWS
        row = ranked_at + len(self.cases.ends) + 2
        sheet.row_breaks.append(Break(id=row - 1))
        row = self._grid(row)
        row = self._map(
            row, "Cheapest method with as many forms a year, runs shorter or longer", self.found.held_forms
        )
        row = self._map(
            row, "Cheapest method with as many impressions a year (plates a month at the shop's own runs)",
            self.found.held_impressions,
        )  # fmt: skip
        self.tried = row + 1
        self._tried(row)
        self._ranked(ranked_at)
        self._chart(chart_at, ranked_at + 1)
        for i, width in enumerate((54, 13, *[11.5] * 9)):
            sheet.column_dimensions[get_column_letter(i + 1)].width = width
        set_up_page(sheet, head_rows=3)

    # --- ranked

    def _ranked(self, row: int) -> None:
        """Inputs, the widest swing first, picked from the list of those tried."""
        code = self.front.currency
        heads = ["Input", "Unit", "Low", "Best", "High", f"Lead at low, {code} a year", "Cheapest then",
                 f"Lead at high, {code} a year", "Cheapest then"]  # fmt: skip
        self._heads(row, heads)
        tried, last = self.tried, self.tried + len(self.cases.ends) - 1
        for i in range(len(self.cases.ends)):
            row += 1
            place = self.where.cell(self.found.place, i)
            stated = self.cases.ends[round(float(self.front.values[self.found.place][i, 0])) - 1][0]
            shown = "0.0%" if stated.percent else "#,##0.0###"
            if tongue_of(self.sheet) is not None:  # English labels fit
                fit_label(self.sheet, row, stated.label, _RANKED_LABEL)
            texts: list[float | str] = [stated.label, stated.shown or "number", *self._now(stated)]
            for column, text in enumerate(texts, 1):
                letter = get_column_letter(column)
                body = f"=INDEX({letter}${tried}:{letter}${last},{place})"
                self._put(
                    row,
                    column,
                    body,
                    text,
                    shown if column >= _FIGURES else "@",
                    "Figure" if column >= _FIGURES else "Label",
                )
            for column, end in ((6, self.found.low), (8, self.found.high)):
                self._lead(self.sheet, row, column, end.lead, end.leads, i)
                self._winner(self.sheet, row, column + 1, end.winner, i)

    def deciding(self, sheet: Worksheet, row: int) -> int:
        """On another sheet: the inputs whose range cuts the lead most, each at the end that does. Returns the row after."""
        heads = ("What decides: input", "Unit", "At", f"Lead, {self.front.currency} a year", "Cheapest then")
        for i, head in enumerate(heads):
            put_text(sheet, row, i + 1, head, "Head" if i == 0 else "Heads")
        sheet.row_dimensions[row].height = 28
        where, found = self.front.places.where(sheet.title), self.found
        last = self.tried + len(self.cases.ends) - 1
        for i in range(min(DECIDING, len(self.cases.ends))):
            row += 1
            place, is_low = where.cell(found.deciding, i), where.cell(found.deciding_low, i)
            stated = self.cases.ends[round(float(self.front.values[found.deciding][i, 0])) - 1][0]
            low, _, high = self._now(stated)
            at_low = float(self.front.values[found.deciding_low][i, 0]) == 1
            for column, text in ((1, stated.label), (2, stated.shown or "number")):
                letter = get_column_letter(column)
                body = f"=INDEX(Sensitivity!${letter}${self.tried}:${letter}${last},{place})"
                put_formula(
                    sheet,
                    row,
                    column,
                    body,
                    text,
                    "@",
                    self.front.results,
                    "Label" if column == 1 else "Right",
                )
            fit_label(sheet, row, stated.label, _SUMMARY_LABEL)
            ends = [f"INDEX(Sensitivity!${c}${self.tried}:${c}${last},{place})" for c in "CE"]
            shown = "0.0%" if stated.percent else "#,##0.0###"
            body = f"=IF({is_low}=1,{ends[0]},{ends[1]})"
            put_formula(sheet, row, 3, body, low if at_low else high, shown, self.front.results)
            end = found.deciding_end
            self._lead(sheet, row, 4, end.lead, end.leads, i)
            self._winner(sheet, row, 5, end.winner, i)
        put_text(sheet, row + 1, 1, _AT_THE_WORSE_END, "Note")
        return row + 2

    def _now(self, stated: StatedInput) -> list[float]:
        """Low, best and high of an input as they stand on Inputs now, in the unit shown there."""
        low, high = self.cases.bounds[stated.key]
        lines = [
            self.cases.column.input(leaf) for leaf in (low, self.front.study.book.inputs[stated.key], high)
        ]
        return [float(self.front.values[line].flat[0]) / stated.factor for line in lines]

    def _chart(self, row: int, first: int) -> None:
        book, places, count = self.sheet.parent, self.front.places, len(self.cases.ends)

        def cells(line: Line) -> tuple[Reference, Reference]:
            title, r, c = places.cell(line)
            numbers = Reference(book[title], min_row=r, max_row=r, min_col=c, max_col=c + count - 1)
            return Reference(book[title], min_row=r, min_col=1), numbers

        chart = change_bars(
            self.front.sentence(book, self.found.bars_title.label),
            f"change of the lead, {self.front.currency} a year",
            "input, over its own range",
            Reference(self.sheet, min_row=first, max_row=first + count - 1, min_col=1),
            cells(self.found.low_change),
            cells(self.found.high_change),
            house=self.front.house,
        )
        chart.width, chart.height = 27, 10.5
        self.front.describe(
            self.sheet,
            "Bars for each input, widest first: how far the lead of the cheapest method changes with the input at its low "
            "and at its high. The table below holds the figures.",
        )
        self.sheet.add_chart(chart, f"A{row}")

    # --- two inputs together

    def _grid(self, row: int) -> int:
        if self.found.grid is None or self.cases.grid is None:
            return row
        first, second = self.cases.grid
        put_text(
            self.sheet, row, 1, f"Two inputs together: {first.label} down, {second.label} across", "Strong"
        )
        row += 1
        row = self._grid_table(row, "Cheapest method", leads=False)
        title = f"Lead of the method cheapest at the best values, {self.front.currency} a year"
        return self._grid_table(row, title, leads=True)

    def _grid_table(self, row: int, title: str, *, leads: bool) -> int:
        assert (
            self.found.grid is not None and self.cases.grid is not None and self.cases.grid_values is not None
        )
        first, second = self.cases.grid
        down, across = self.cases.grid_values
        self._heads(row, [title, first.shown or "number"])
        unit = f" {second.shown}" if second.shown and not second.percent else ""
        for j in range(len(self.found.grid.winners)):
            self._side(row, _FIGURES + j, second, across, j, unit, "Heads")
        for i, winners in enumerate(self.found.grid.winners):
            row += 1
            put_text(self.sheet, row, 1, self._label(i), "Label")
            self._side(row, 2, first, down, i, "", "Right")
            for j in range(len(self.found.grid.winners)):
                if leads:
                    grid = self.found.grid
                    self._lead(self.sheet, row, _FIGURES + j, grid.leads[i], grid.has_lead[i], j)
                else:
                    self._winner(self.sheet, row, _FIGURES + j, winners, j)
        if not leads:
            self._colour(row - len(self.found.grid.winners) + 1, row, len(self.found.grid.winners))
        return row + 2

    def _label(self, i: int) -> str:
        trial = self.cases.grid_trials[0]
        return trial.axis.labels[i]

    def _side(
        self, row: int, column: int, stated: StatedInput, line: Line, i: int, unit: str, style: str
    ) -> None:
        """A value of an input as people state it."""
        value = float(self.front.values[line][i, 0]) / stated.factor
        scale = 100 if stated.percent else 1
        factor = self.front.places.factor(self.inputs[stated.key])
        at = self.where.cell(line, i)
        body = f"{at}/{factor}" if factor else at
        tail = '&" %"' if stated.percent else f'&"{unit}"' if unit else ""
        text = f"=FIXED({body}{'*100' if stated.percent else ''},2){tail}"
        self._put(row, column, text, fixed(value * scale, 2) + (" %" if stated.percent else unit), "@", style)

    # --- the map

    def _map(self, row: int, title: str, winners: Sequence[Leaf]) -> int:
        found, sheet = self.found, self.sheet
        put_text(sheet, row, 1, title, "Strong")
        row += 1
        self._heads(row, ["Mean run (down), plates a month (across)", "impressions a form"])
        count = len(found.map_plates.axis or ())
        for j in range(count):
            self._fetch(row, _FIGURES + j, found.map_plates, j, "Heads", "#,##0")
        top = row + 1
        for i, reading in enumerate(winners):
            row += 1
            share = float(self.front.values[self.cases.run_shares][i, 0])
            text = f'=FIXED({self.where.cell(self.cases.run_shares, i)}*100,0)&" % of the shop\'s own run length"'
            self._put(row, 1, text, f"{fixed(share * 100, 0)} % of the shop's own run length", "@", "Label")
            self._fetch(row, 2, found.mean_runs, i, "Right", "#,##0")
            for j in range(count):
                self._winner(self.sheet, row, _FIGURES + j, reading, j)
        self._colour(top, row, count)
        return row + 2

    # --- the inputs tried

    def _tried(self, row: int) -> None:
        """Inputs in the order they were tried, fetched from Inputs; the ranked table picks from here."""
        self._heads(row, ["Inputs tried, in the order of writing", "Unit", "Low", "Best", "High"])
        for stated, _ in self.cases.ends:
            row += 1
            put_text(self.sheet, row, 1, stated.label, "Label")
            put_text(self.sheet, row, 2, stated.shown or "number", "Label")
            shown = number_format(stated.unit, self.front.currency, percent=stated.percent)
            for column, at, value in zip((3, 4, 5), (LOW, VALUE, HIGH), self._now(stated), strict=True):
                text = f"=Inputs!${get_column_letter(at)}${self.input_rows[stated.key]}"
                self._put(row, column, text, value, shown)

    # --- cells

    def _heads(self, row: int, heads: list[str]) -> None:
        self.sheet.row_dimensions[row].height = _HEAD_HEIGHT
        for i, head in enumerate(heads):
            put_text(self.sheet, row, i + 1, head, "Head" if i < 2 else "Heads")

    def _put(
        self, row: int, column: int, text: str, result: float | str, shown: str, style: str = "Figure"
    ) -> None:
        put_formula(self.sheet, row, column, text, result, shown, self.front.results, style)

    def _fetch(
        self, row: int, column: int, leaf: Leaf, i: int, style: str = "Figure", shown: str = ""
    ) -> None:
        value = float(self.front.values[leaf].reshape(-1)[i])
        shown = shown or number_format(leaf.unit, self.front.currency)
        self._put(row, column, f"={self.where.cell(leaf, i)}", value, shown, style)

    def _lead(self, sheet: Worksheet, row: int, column: int, lead: Line, leads: Line, i: int) -> None:
        """A lead, or that there is none."""
        where = self.front.places.where(sheet.title)
        there = float(self.front.values[leads].reshape(-1)[i]) == 1
        value = float(self.front.values[lead].reshape(-1)[i]) if there else "none"
        text = f'=IF({where.cell(leads, i)}=1,{where.cell(lead, i)},"none")'
        shown = number_format(lead.unit, self.front.currency)
        put_formula(sheet, row, column, text, value, shown, self.front.results, "Right")

    def _winner(self, sheet: Worksheet, row: int, column: int, leaf: Leaf, i: int) -> None:
        """The name of the cheapest method, or that there is none."""
        at = self.front.places.where(sheet.title).cell(leaf, i)
        place = round(float(self.front.values[leaf].reshape(-1)[i]))
        text = f'=IF({at}=0,"none",INDEX({self.names_at},{at}))'
        name = self.names[place - 1] if place else "none"
        put_formula(sheet, row, column, text, name, "@", self.front.results, "Right")

    def _colour(self, top: int, bottom: int, count: int) -> None:
        """A tint for each method's name; the words stand in the cells, so that colour only helps."""
        corner = f"{get_column_letter(_FIGURES)}{top}"
        area = f"{corner}:{get_column_letter(_FIGURES + count - 1)}{bottom}"
        colours = self.front.house.series
        for i, name in enumerate(self.names):
            fill = PatternFill("solid", bgColor=tint(colours[i % len(colours)]))
            rule = FormulaRule(
                formula=[f'{corner}="{name}"'],
                fill=fill,
                font=Font(color=self.front.house.ink),
                stopIfTrue=True,
            )
            self.sheet.conditional_formatting.add(area, rule)
