"""The Capacity sheet: whether each method keeps up with the day's plates, in words, on a chart and in tables."""

from __future__ import annotations

from dataclasses import dataclass

from openpyxl.chart import Reference
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.worksheet import Worksheet

from roi.answers.capacity import Keeping
from roi.engine.expression import Data, Leaf
from roi.model.capacity import AT_ONCE
from roi.model.overtime import TOGETHER, is_counted
from roi.units.quantity import unit_label
from roi.workbook.cells import put_formula, put_text
from roi.workbook.charts import MOST_SERIES
from roi.workbook.front import Front
from roi.workbook.placing import HEAD
from roi.workbook.plots import Plotted, xy_lines
from roi.workbook.styles import number_format, set_up_page

MOST_METHODS = MOST_SERIES - 2  # beside the plates wanted and the mark of the busy day
_CHART_ROWS = 21
_AT = 3  # the column of the first figure
_TABLE = (
    ("Use of the shift on a typical day", "use.typical", "share", "0%"),
    ("on a busy day, the 95th percentile", "use.busy", "share", "0%"),
    ("on the busiest day", "use.worst", "share", "0%"),
    ("Plates a day it can make within the shift", "can", "", "#,##0"),
    ("Times plates interrupt the operator, typical day", "touches", "", "#,##0"),
    ("Days over the shift", "days_over", "", "#,##0.0"),
    ("Overtime those days take", "overtime_hours", "", "#,##0.0"),
    ("Overtime, money", "overtime", "", ""),
    ("Hours the busiest day takes", "worst_hours", "", "0.0"),
    ("Use of a busy day's first two hours", "early_use", "share", "0%"),
    *((f"File to press, {n} plate{'s' * (n > 1)}", f"elapsed.{n}", "", "0.0") for n in AT_ONCE),
    ("Press waits for rush forms", "rush_wait", "", "#,##0.0"),
)
_FURTHER = (
    ("its cost a year", "yearly", ""),
    ("overtime left", "hours", "#,##0.0"),
    ("overtime spared less its cost", "saves", ""),
)


def write_capacity(sheet: Worksheet, front: Front, found: Keeping) -> None:
    """Write the sheet; the methods' sheets, Work and Words hold what it shows."""
    _Writer(sheet, front, found).write()


@dataclass
class _Writer:
    sheet: Worksheet
    front: Front
    found: Keeping

    def write(self) -> None:
        sheet, found = self.sheet, self.found
        put_text(sheet, 1, 1, "Capacity: can the room keep up", "Headline")
        basis = f"Plates a day in year 1, as called for, by {self.front.study.work.loads.basis}."
        put_text(sheet, 2, 1, basis, "Note")
        row = HEAD
        for sentence in found.by_method.values():
            self.front.say(sheet, row, sentence.label, "Said")
            row += 1
        notes = [
            f"Minutes at the slowest station against the shift less warming up. {self.counted()}",
            "Days were ranked once, when this was written, by their minutes with today's method. Work bought in is taken "
            "to fall on all days alike.",
        ]
        for text in notes:
            put_text(sheet, row, 1, text, "Note")
            row += 1
        chart_at = row + 1
        row = chart_at + (_CHART_ROWS + 1 if found.making else 0)
        if found.making:
            sheet.row_breaks.append(Break(id=row - 1))
            row = self.table(row)
            row = self.further(row)
        drawn = self.drawn()
        levels, row = self.levels(row)
        if found.title is not None:
            self.chart(chart_at, levels, self.lines(row, drawn), drawn)
        widths = (46, 16, *[14] * max(len(found.making), len(drawn) + 3, 3))
        for i, width in enumerate(widths):
            sheet.column_dimensions[get_column_letter(i + 1)].width = width
        sheet.freeze_panes = sheet.cell(HEAD, 1)
        set_up_page(sheet, head_rows=3)

    def counted(self) -> str:
        """Whether any of it is among the costs."""
        if not is_counted(self.front.study.scenario):
            return "None of this is among the costs: overtime stands beside them."
        return "Overtime, or further units where cheaper, is counted in labour at year 1's hours; the rest isn't."

    def put(self, row: int, column: int, leaf: Leaf, i: int = 0, shown: str = "") -> None:
        """One figure of a line or of data, fetched."""
        at = self.front.places.where(self.sheet.title).cell(leaf, i)
        values = leaf.values if isinstance(leaf, Data) else self.front.values[leaf].reshape(-1)
        shown = shown or number_format(leaf.unit, self.front.currency)
        put_formula(self.sheet, row, column, f"={at}", float(values[i]), shown, self.front.results)

    def heads(self, row: int, heads: list[str]) -> None:
        self.sheet.row_dimensions[row].height = 28
        for i, head in enumerate(heads):
            put_text(self.sheet, row, i + 1, head, "Head" if i < _AT - 1 else "Heads")

    def label(self, row: int, label: str, unit: str) -> None:
        put_text(self.sheet, row, 1, label, "Label")
        put_text(self.sheet, row, 2, unit, "Label")

    def unit(self, line: Leaf) -> str:
        return unit_label(line.unit, self.front.currency) or "number"

    def table(self, row: int) -> int:
        """Measures downward, methods that make plates here along."""
        sheets = list(self.found.making.values())
        self.heads(row, ["Can the room keep up", "Unit", *(s.method.short for s in sheets)])
        for label, key, unit, shown in _TABLE:
            lines = [sheet.lines.get(f"capacity.{key}") for sheet in sheets]
            stated = next((line for line in lines if line is not None), None)
            if stated is None:
                continue
            row += 1
            self.label(row, label, unit or self.unit(stated))
            for i, line in enumerate(lines):
                if line is None:
                    put_text(self.sheet, row, _AT + i, "not stated", "Right")
                else:
                    self.put(row, _AT + i, line, shown=shown)
        put_text(
            self.sheet,
            row + 1,
            1,
            "Overtime at the loaded rate times its premium; it may exceed the hours a day has.",
            "Note",
        )
        return row + 3

    def further(self, row: int) -> int:
        """One more unit of a station against overtime, where its price is stated."""
        priced = [
            (sheet, name)
            for sheet in self.found.making.values()
            for name in (*sheet.names("stations"), TOGETHER)
            if f"capacity.unit.{name}.yearly" in sheet.lines
        ]
        if not priced:
            text = "One more unit against overtime: not stated. State unit_price and unit_life of a station to see it."
            put_text(self.sheet, row, 1, text, "Note")
            return row + 2
        self.heads(row, ["One more unit against overtime", "Unit", "Value"])
        for sheet, name in priced:
            for words, key, shown in _FURTHER:
                row += 1
                line = sheet.lines[f"capacity.unit.{name}.{key}"]
                station = "all of these" if name == TOGETHER else sheet.label("stations", name)
                self.label(row, f"{sheet.method.short}, {station}: {words}", self.unit(line))
                self.put(row, _AT, line, shown=shown)
        return row + 2

    def levels(self, row: int) -> tuple[tuple[int, int], int]:
        """Days by load; gives its first and last row, and the next free one."""
        self.heads(row, ["Days by load, from quiet to busy", "Unit", "Days a year", "Days up to here",
                         "Plates wanted"])  # fmt: skip
        work, first = self.front.study.work, row + 1
        assert self.found.wanted.axis is not None
        for i, name in enumerate(self.found.wanted.axis.labels):
            row += 1
            self.label(row, name, self.unit(self.found.wanted))
            self.put(row, _AT, work.load_days, i, "#,##0.0")
            self.put(row, _AT + 1, work.load_days_so_far, i, "#,##0.0")
            self.put(row, _AT + 2, self.found.wanted, i, "#,##0.0")
        return (first, row), row + 2

    def drawn(self) -> list[str]:
        """Of more methods than a chart holds those that can make least, as delivered."""
        delivered = self.front.delivered
        able = sorted(
            self.found.making,
            key=lambda m: float(delivered[self.found.making[m].lines["capacity.can"]].flat[0]),
        )
        return [name for name in self.found.making if name in able[:MOST_METHODS]]

    def lines(self, row: int, drawn: list[str]) -> int:
        """Ends of the chart's straight lines; gives the row of its heads."""
        found, so_far = self.found, self.front.study.work.load_days_so_far
        shorts = [found.making[name].method.short for name in drawn]
        heads = ["Lines of the chart", "Unit", "Days up to here", "Days, mark", "Busy day"]
        self.heads(row, [*heads, *(f"{short} can make" for short in shorts)])
        for i, (label, day) in enumerate((("First point", 0), ("Last point", len(so_far.values) - 1)), 1):
            self.label(row + i, label, self.unit(found.wanted))
            self.put(row + i, _AT, so_far, day, "#,##0.0")
            self.put(row + i, _AT + 1, found.mark_x, i - 1, "#,##0.0")
            self.put(row + i, _AT + 2, found.mark_y, i - 1, "#,##0.0")
            for k, name in enumerate(drawn):
                self.put(row + i, _AT + 3 + k, found.making[name].lines["capacity.can"], shown="#,##0.0")
        return row

    def chart(self, row: int, levels: tuple[int, int], heads: int, drawn: list[str]) -> None:
        """Plates wanted a day, days in order of load, against what each method can make."""
        assert self.found.title is not None
        first, last = levels

        def cells(column: int, top: int, bottom: int) -> Reference:
            return Reference(self.sheet, min_row=top, max_row=bottom, min_col=column)

        def line(column: int, along: int) -> Plotted:
            ends = (heads + 1, heads + 2)
            return cells(column, heads, heads), cells(along, *ends), cells(column, *ends)

        head = cells(_AT + 2, first - 1, first - 1)
        wanted = (head, cells(_AT + 1, first, last), cells(_AT + 2, first, last))
        able = [line(_AT + 3 + k, _AT) for k in range(len(drawn))]
        mark = line(_AT + 2, _AT + 1)
        chart = xy_lines(
            self.front.sentence(self.sheet.parent, self.found.title.label),
            "working days of a year, from quiet to busy",
            "plates a day",
            [wanted, *able],
            mark,
            house=self.front.house,
        )
        chart.width, chart.height = 25, 10.5
        text = (
            "A rising line of the plates wanted a day, days in order of load, and a level line for what each method can "
            "make within the shift. An upright line marks the busy day. The tables below hold the figures."
        )
        self.front.describe(self.sheet, text)
        self.sheet.add_chart(chart, f"A{row}")


__all__ = ["MOST_METHODS", "write_capacity"]
