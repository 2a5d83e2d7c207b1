"""The Stresses sheet: harsh things one at a time, what each method costs then, and whether the answer turns."""

from __future__ import annotations

from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from roi.answers.stressed import Stressed
from roi.engine.column import Line
from roi.workbook.cells import put_formula, put_label, put_text
from roi.workbook.front import Front
from roi.workbook.placing import HEAD
from roi.workbook.styles import number_format, set_up_page

_LABEL = 44
_HEAD_HEIGHT = 42  # points: heads wrap to three lines
_BY, _ANSWER, _CHEAPEST, _BEHIND, _AHEAD, _COSTS = 2, 3, 4, 5, 6, 7  # columns


def write_stresses(sheet: Worksheet, front: Front, found: Stressed | None) -> None:
    """Write the sheet; the Stressed and Words sheets hold what it shows."""
    put_text(sheet, 1, 1, "Stresses: what if things go badly", "Headline")
    basis = (
        f"One at a time, everything else as stated. Equivalent annual cost in cash, after tax, {front.currency} a year; "
        "by how much stands on Inputs (Stress)."
    )
    put_text(sheet, 2, 1, basis, "Note")
    if found is None:
        put_text(sheet, HEAD, 1, "This shop states nothing that could be stressed.", "Said")
        set_up_page(sheet)
        return
    _Writer(sheet, front, found).write()


class _Writer:
    def __init__(self, sheet: Worksheet, front: Front, found: Stressed) -> None:
        self.sheet, self.front, self.found = sheet, front, found
        self.where = front.places.where(sheet.title)
        self.rows = front.study.comparison.rows
        self.shorts = [method.method.short for method in front.study.methods.values()]
        names = self.where.span(self.rows["present"], 0, len(self.shorts) - 1, "names")
        self.names = names

    def write(self) -> None:
        sheet, found = self.sheet, self.found
        self.front.say(sheet, HEAD, found.sentence.label, "Strong")
        row = HEAD + 2
        heads = [
            "What happens",
            "By",
            "Answer",
            "Cheapest then",
            "Staying costs more by",
            "Ahead of the next by",
            *self.shorts,
        ]
        sheet.row_dimensions[row].height = _HEAD_HEIGHT
        for i, head in enumerate(heads):
            put_text(
                sheet,
                row,
                i + 1,
                head,
                "Heads" if i else "Head",
            )
        row += 1
        put_text(sheet, row, 1, "Nothing: as stated", "Label")
        self._name(row, self.rows["winner"], 0)
        equivalent = self.rows["equivalent"]
        for i in range(len(self.shorts)):
            self._money(row, _COSTS + i, equivalent, i, (self.rows["feasible"], i))
        for place, stress in enumerate(found.stresses):
            row += 1
            put_label(sheet, row, stress.label, _LABEL)
            if stress.by is not None:
                shown = "0" if str(stress.by.unit) == "year" else "+0%;-0%;0%"
                at = self.where.cell(stress.by, 0)
                value = float(self.front.values[stress.by].flat[0])
                put_formula(sheet, row, _BY, f"={at}", value, shown, self.front.results)
            turns = float(self.front.values[found.turns].reshape(-1)[place]) == 1
            body = f'=IF({self.where.cell(found.turns, place)}=1,"turns","holds")'
            said = "turns" if turns else "holds"
            put_formula(sheet, row, _ANSWER, body, said, "@", self.front.results, "Right")
            self._name(row, found.winner, place)
            stays = found.able[self.front.study.scenario.current]
            self._money(row, _BEHIND, found.behind, place, (stays, place))
            self._ahead(row, place)
            for i, name in enumerate(found.costs):
                self._money(row, _COSTS + i, found.costs[name], place, (found.able[name], place))
        row = self._depths(row + 2)
        notes = (
            "Dearer: all prices of the group from now on. A sole supplier that stops: plates bought in while another line is "
            "found, and its price.",
            "A sole supplier is only put to the test where a method states one (supplier). Less and more work: jobs scale, the "
            "mix stays.",
        )
        for i, note in enumerate(notes):
            put_text(sheet, row + 2 + i, 1, note, "Note")
        for i, width in enumerate((_LABEL, 9, 10, 16, 15, 15, *[13] * len(self.shorts))):
            sheet.column_dimensions[get_column_letter(i + 1)].width = width
        sheet.freeze_panes = sheet.cell(HEAD + 3, 2)
        set_up_page(sheet, head_rows=HEAD + 2)

    def _depths(self, row: int) -> int:
        """How deep each challenger goes in cash against staying: the worst month of year 1, the worst year."""
        sheet = self.sheet
        sheet.row_dimensions[row].height = _HEAD_HEIGHT
        heads = ["Deepest in cash against staying, unstressed", "", "", "In year 1, before tax", "After month",
                 "Over the years, after tax", "At the end of year"]  # fmt: skip
        for i, head in enumerate(heads):
            put_text(sheet, row, i + 1, head, "Head" if i < 3 else "Heads")
        for name, depth in self.found.depths.items():
            row += 1
            put_text(sheet, row, 1, self.front.study.methods[name].method.short, "Label")
            for i, line in enumerate((depth.by_month, depth.month, depth.by_year, depth.year)):
                shown = "0" if i % 2 else number_format(line.unit, self.front.currency)
                value = float(self.front.values[line].flat[0])
                put_formula(
                    sheet, row, 4 + i, f"={self.where.cell(line, 0)}", value, shown, self.front.results
                )
        return row

    def _name(self, row: int, winner: Line, place: int) -> None:
        """The cheapest by name."""
        position = round(float(self.front.values[winner].reshape(-1)[place]))
        at = self.where.cell(winner, place)
        text = self.shorts[position - 1] if position else "none"
        body = f'=IF({at}=0,"none",INDEX({self.names},{at}))'
        put_formula(self.sheet, row, _CHEAPEST, body, text, "@", self.front.results, "Right")

    def _ahead(self, row: int, place: int) -> None:
        """What the cheapest is ahead of the next; "none" where no second method can do the work."""
        found, values = self.found, self.front.values
        at, rivals = (self.where.cell(line, place) for line in (found.ahead, found.rivals))
        value: float | str = float(values[found.ahead].reshape(-1)[place])
        if float(values[found.rivals].reshape(-1)[place]) < 2:
            value = "none"
        shown = number_format(found.ahead.unit, self.front.currency)
        body = f'=IF({rivals}>=2,{at},"none")'
        put_formula(self.sheet, row, _AHEAD, body, value, shown, self.front.results, "Right")

    def _money(self, row: int, column: int, line: Line, place: int, able: tuple[Line, int]) -> None:
        """A yearly amount; "can't" where a method can't do the work."""
        value: float | str = float(self.front.values[line].reshape(-1)[place])
        at, shown = self.where.cell(line, place), number_format(line.unit, self.front.currency)
        can = float(self.front.values[able[0]].reshape(-1)[able[1]]) == 1
        body = f'=IF({self.where.cell(*able)}=1,{at},"can\'t")'
        put_formula(
            self.sheet, row, column, body, value if can else "can't", shown, self.front.results, "Right"
        )


__all__ = ["write_stresses"]
