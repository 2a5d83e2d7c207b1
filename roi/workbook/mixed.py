"""The Mixed plan sheet: several methods owned together, as delivered, with a live look at whether the figures still hold."""

from __future__ import annotations

from collections.abc import Iterable

from openpyxl.utils import get_column_letter
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.worksheet import Worksheet

from roi.answers.assigned import Assignment, Home
from roi.answers.mixed import Mixed
from roi.answers.mixed_words import sentences
from roi.engine.words import fixed
from roi.model.parts import CASH
from roi.units.quantity import currencies
from roi.workbook.cells import fit_label, fit_row, put_formula, put_number, put_text, spoken_lines
from roi.workbook.front import Front
from roi.workbook.placing import HEAD
from roi.workbook.styles import set_up_page

_LABEL, _FIGURE = 64, 15  # characters
_LINE, _STRONG = 150, 120  # characters that a line of text may hold
_MONEY, _COUNT = "#,##0;-#,##0", "#,##0"
_AT = 3  # the column of the first figure
_NONE = "none"


def write_mixed(sheet: Worksheet, front: Front, found: Mixed) -> None:
    """Write the sheet; all but the comparison with the costs as they are now is fixed when written."""
    _Writer(sheet, front, found).write()


class _Writer:
    def __init__(self, sheet: Worksheet, front: Front, found: Mixed) -> None:
        self.sheet, self.front, self.found, self.code = sheet, front, found, front.currency
        self.scenario = found.study.scenario
        self.short = {m.id: m.short for m in self.scenario.methods}

    def write(self) -> None:
        sheet, date = self.sheet, self.front.made.date().isoformat()
        put_text(sheet, 1, 1, "Mixed plan: several methods, each press with one of them", "Headline")
        note = f"As delivered on {date}: presses are assigned by the program, so these figures don't follow Inputs. After tax."
        put_text(sheet, 2, 1, note, "Note")
        holds, row = HEAD, HEAD + 1
        for number, sentence in enumerate(sentences(self.found)):
            style, width = ("Strong", _STRONG) if number == 0 else ("Said", _LINE)
            for line in spoken_lines(sheet, sentence, width, "    ", hyphens=False):
                put_text(sheet, row, 1, line, style)
                row += 1
        row = self._costs(row + 1)
        mix = self.found.best[CASH]
        if mix is not None:
            row = self._presses(row + 1, mix)
        if self.found.far:
            sheet.row_breaks.append(Break(id=row))
            row = self._far(row + 1)
        row = self._switches(row + 1)
        self._holds(row + 1, holds, date)
        for i, width in enumerate((_LABEL, _FIGURE, *[_FIGURE] * 6)):
            sheet.column_dimensions[get_column_letter(i + 1)].width = width
        sheet.freeze_panes = sheet.cell(HEAD, 1)
        set_up_page(sheet, head_rows=3)

    def _heads(self, row: int, heads: Iterable[str]) -> None:
        for i, head in enumerate(heads):
            put_text(self.sheet, row, i + 1, head, "Head" if i < _AT - 1 else "Heads")
            fit_row(self.sheet, row, head, _FIGURE - 3 if i else _LABEL)

    def _row(self, row: int, label: str, unit: str, cells: Iterable[tuple[float | str, str]]) -> None:
        put_text(self.sheet, row, 1, label, "Label")
        fit_label(self.sheet, row, label, _LABEL)
        put_text(self.sheet, row, 2, unit, "Label")
        for i, (value, shown) in enumerate(cells):
            if isinstance(value, str):
                put_text(self.sheet, row, _AT + i, value, "Right")
            else:
                put_number(self.sheet, row, _AT + i, value, "Data", shown)

    def _costs(self, row: int) -> int:
        """What one method for all presses and the cheapest mix cost."""
        self._heads(
            row,
            ["One method for every press, and mixes", "Unit", "Present cost", "of it switching presses", "Cost a year",
             "Present cost, full cost", "Cost a year, full cost"],
        )  # fmt: skip
        listed: list[tuple[str, Assignment | None]] = [
            (f"{self.short[method]} alone", single) for method, single in self.found.singles.items()
        ]
        mixes = [(a, words) for a, words in zip(self.found.best, ("cash", "full cost"), strict=True) if a]
        alike = len({tuple((h.press, h.method, h.helper) for h in a.homes) for a, _ in mixes}) == 1
        for mix, words in mixes[:1] if alike else mixes:
            names = " and ".join(self.short[m] for m in mix.used)
            listed.append((f"Cheapest mix{'' if alike else ', ' + words}: {names}", mix))
        for label, assignment in listed:
            row += 1
            if assignment is None:
                self._row(row, label, self.code, [("can't do the work", "@"), *[(_NONE, "@")] * 4])
                continue
            cash, full = assignment.present
            figures = (
                cash,
                assignment.switching[CASH],
                self.found.a_year(cash),
                full,
                self.found.a_year(full),
            )
            self._row(row, label, self.code, [(figure, _MONEY) for figure in figures])
        put_text(
            self.sheet, row + 1, 1,
            "Present cost over the years looked ahead, with the switching of presses that it holds; a year: the level payment "
            "worth the same.", "Note",
        )  # fmt: skip
        return row + 2

    def _presses(self, row: int, mix: Assignment) -> int:
        """Which forms and plates go where in the cheapest mix."""
        self._heads(
            row,
            [
                "Cheapest mix, press by press",
                "Unit",
                "Forms",
                "Plates",
                "Switches",
                "Hours of press",
                "Plates made by",
            ],
        )
        for home in mix.homes:
            for label, maker, parts in self._makers(home):
                row += 1
                work = self.found.presses
                cells: list[tuple[float | str, str]] = [
                    (work.forms(parts), _COUNT),
                    (work.plates(parts), _COUNT),
                ]
                if parts in (home.moved, home.bought):
                    switched = work.switching(home.press, parts)
                    cells += [(switched.switches, _COUNT), (switched.hours, "#,##0.0")]
                else:
                    cells += [(_NONE, "@")] * 2
                self._row(row, label, "a year", [*cells, (maker, "@")])
        text = "Forms and plates called for at the log's volume; switches of year 1, there and back on days with such a form."
        put_text(self.sheet, row + 1, 1, text, "Note")
        return row + 2

    def _makers(self, home: Home) -> list[tuple[str, str, frozenset[int]]]:
        press = self.scenario.presses[home.press].label
        listed = [
            (press, self.short[home.method], home.kept - home.bought),
            (f"{press}, out of reach", self.short.get(home.helper, ""), home.moved),
            (f"{press}, out of reach", "a supplier", home.bought),
        ]
        return [(label, maker, parts) for label, maker, parts in listed if parts]

    def _far(self, row: int) -> int:
        """The costliest forms out of reach."""
        assert self.found.forms_of is not None
        places = currencies()[self.code]
        money = "#,##0" + ("." + "0" * places if places else "")
        self._heads(
            row,
            [f"Costliest forms out of reach, with {self.found.forms_of[1]}", "Unit", "Plates of a set", "Forms a year",
             "Buying in", "Or made by", "Making", "Saves"],
        )  # fmt: skip
        for form in self.found.far:
            row += 1
            where = "" if form.row is None else f"Row {form.row}: "
            maker = _NONE if form.maker is None else self.short[form.maker]
            buying, making, saves = (
                (_NONE if cost is None else cost, money) for cost in (form.buying, form.making, form.saves)
            )
            cells = [(float(form.plates), "0"), (form.forms, "#,##0.0"), buying, (maker, "@"), making, saves]
            self._row(row, f"{where}{form.press}, {form.size}", f"{self.code}/form", cells)
        text = (
            "Row: of the log. At today's prices, before tax, in cash: buying in with a delivery of its own, making before "
            "switching the press. none: must not leave, or no method can."
        )
        put_text(self.sheet, row + 1, 1, text, "Note")
        return row + 2

    def _switches(self, row: int) -> int:
        """What a switch takes: these inputs move nothing else in the workbook."""
        self._heads(
            row, ["Switching a press to plates of another kind", "Unit", "Best", "Low", "High", "Status"]
        )
        for name in ("switch_packing", "switch_fountain"):
            row += 1
            stated = self.scenario.inputs[("shop", name)]
            ends = [(x, "#,##0.0") for x in (stated.best, stated.low, stated.high)]
            label = stated.label.rpartition(", ")[2].capitalize()
            self._row(row, label, stated.shown, [*ends, (stated.status, "@")])
        text = f"Stated in the scenario as shop.switch_packing and shop.switch_fountain. Source: {stated.source}."
        put_text(self.sheet, row + 1, 1, text, "Note")
        return row + 2

    def _holds(self, row: int, said_at: int, date: str) -> None:
        """Each method's present cost as delivered beside what it is now: a mix is made of the same columns."""
        front, sheet = self.front, self.sheet
        self._heads(row, ["Do these figures still hold", "Unit", "As delivered", "Now", "Moved (1)"])
        first = row + 1
        where = front.places.where(sheet.title)
        line = front.study.comparison.rows
        moved = 0
        for view, words in (("present", ""), ("present_full", ", full cost")):
            for i, method in enumerate(self.found.singles):
                row += 1
                before, now = (float(v[line[view]][i, 0]) for v in (front.delivered, front.values))
                self._row(row, f"{self.short[method]}, present cost{words}", self.code, [(before, _MONEY)])
                put_formula(sheet, row, _AT + 1, f"={where.cell(line[view], i)}", now, _MONEY, front.results)
                differs = int(abs(round(now - before, 2)) > 0)
                moved += differs
                body = f"=IF(ROUND(D{row}-C{row},2)=0,0,1)"
                put_formula(sheet, row, _AT + 2, body, differs, "0", front.results)
        texts = (
            f"Still so: no cost has moved since {date}.",
            " costs have moved since then: run roi mix again.",
        )
        body = f'=IF(SUM(E{first}:E{row})=0,"{texts[0]}",FIXED(SUM(E{first}:E{row}),0)&"{texts[1]}")'
        said = texts[0] if moved == 0 else fixed(moved, 0) + texts[1]
        put_formula(sheet, said_at, 1, body, said, "@", front.results, "Said")


__all__ = ["write_mixed"]
