"""The Side by side sheet: words first, then a table with a column a scenario, then a chart.

Cells fetch from the sheet of figures and from each scenario's own sheets; a figure that isn't there is said in words.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from openpyxl.chart import Reference
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.worksheet import Worksheet

from roi.answers.differences import ABSENT, Differences
from roi.answers.side_by_side import ACROSS, FIGURES, VIEWS, LinedUp
from roi.engine.column import Line
from roi.engine.evaluate import Values
from roi.engine.words import fixed
from roi.units.unit import Unit
from roi.workbook.block_parts import NOT_IN
from roi.workbook.cells import Results, fit_row, put_formula, put_label, put_text
from roi.workbook.charts import MOST_SERIES, grouped_bars
from roi.workbook.front import Said
from roi.workbook.grouping import prefixed
from roi.workbook.inputs import STATUS
from roi.workbook.member import Member
from roi.workbook.placing import HEAD, Places, quoted
from roi.workbook.styles import number_format, set_up_page
from roi.workbook.template import Template
from roi.workbook.what_differs import TITLE as WHAT_DIFFERS

TITLE = "Side by side"
_LABEL, _UNIT = 52, 18  # widths in characters
_UPRIGHT = 4  # scenarios that fit across an upright page
_HIGH, _FLAT = 1.35, 0.6  # how high a page is for its width, upright and lying
_MONEY = Unit.read("currency")
_PLATE = Unit.read("currency/plate")


@dataclass
class Voice:
    """What the sentences are written from."""

    places: Places
    values: Values
    results: Results
    said: dict[str, Said] = field(default_factory=dict)


class SideBySide:
    """The Side by side sheet: words, then a column a scenario, then the chart."""

    def __init__(
        self,
        sheet: Worksheet,
        lined: LinedUp,
        members: Sequence[Member],
        voice: Voice,
        template: Template,
        alt_text: dict[tuple[str, int], str],
    ) -> None:
        self.sheet, self.lined, self.members, self.voice = sheet, lined, members, voice
        self.template, self.alt_text = template, alt_text
        self.where = voice.places.where(sheet.title)
        self.code = members[0].currency if lined.one_currency else "own currency"
        self.row = 4
        self.width = max(12, min(24, 110 // len(members)))

    def write(self, differing: Differences) -> None:
        """Write everything, top down."""
        sheet = self.sheet
        put_text(sheet, 1, 1, f"{len(self.members)} scenarios side by side", "Headline")
        note = "After tax unless said otherwise; every figure follows the scenarios' own sheets."
        put_text(sheet, 2, 1, f"{note} {ABSENT}: not in that scenario, or nothing changes.", "Note")
        self._words(differing)
        self._heads("Measure")
        self._measures()
        labels = {view: self._methods(view, words) for view, words in VIEWS}
        self._shares()
        self._reliance()
        self._chart(labels[""])
        sheet.column_dimensions["A"].width, sheet.column_dimensions["B"].width = _LABEL, _UNIT
        for place in range(3, 3 + len(self.members)):
            sheet.column_dimensions[get_column_letter(place)].width = self.width
        set_up_page(sheet, head_rows=2, landscape=self._landscape)

    def _words(self, differing: Differences) -> None:
        """What they say together, then each one's own verdict in both views."""
        sheet, said = self.sheet, self.voice.said
        figures = quoted(FIGURES)
        for sentence in self.lined.sentences:
            one = said[sentence.label]
            put_formula(
                sheet, self.row, 1, f"={figures}!$C${one.row}", one.text, "@", self.voice.results,
                "Strong" if sentence is self.lined.sentences[0] else "Said",
            )  # fmt: skip
            self.row += 1
        if not self.lined.one_currency:
            put_text(sheet, self.row, 1, ACROSS, "Strong")
            self.row += 1
        words = "input differs" if len(differing.inputs) == 1 else "inputs differ"
        text = f"{len(differing.inputs):,} {words}, {differing.equal:,} are the same: see {WHAT_DIFFERS} (as delivered)."
        put_text(sheet, self.row, 1, text, "Said")
        self.row += 2
        for member in self.members:
            put_text(sheet, self.row, 1, member.label, "Strong")
            for place, name in enumerate(("Verdict", "At full cost"), 1):
                own = member.front.said[name]
                text = f"={quoted(member.prefix + 'Words')}!$C${own.row}"
                put_formula(sheet, self.row + place, 1, text, own.text, "@", self.voice.results, "Said")
            self.row += 4

    @property
    def _landscape(self) -> bool:
        return len(self.members) > _UPRIGHT

    def _heads(self, title: str) -> None:
        put_text(self.sheet, self.row, 1, title, "Head")
        put_text(self.sheet, self.row, 2, "Unit", "Head")
        for i, member in enumerate(self.members):
            put_text(self.sheet, self.row, 3 + i, member.label, "Heads")
            fit_row(self.sheet, self.row, member.label, self.width * 4 // 5)
        self.row += 1

    def _section(self, title: str) -> None:
        for place in range(1, 3 + len(self.members)):
            self.sheet.cell(self.row, place).style = "Section"
        put_text(self.sheet, self.row, 1, title, "Section")
        self.row += 1

    def _label(self, label: str, unit: str) -> None:
        put_label(self.sheet, self.row, label, _LABEL)
        put_text(self.sheet, self.row, 2, unit, "Label")

    def _cell(self, key: str, i: int) -> str:
        return self.where.cell(self.lined.rows[key], i)

    def _value(self, key: str, i: int) -> float:
        return float(self.voice.values[self.lined.rows[key]][i, 0])

    def _put(self, i: int, text: str, result: float | str, shown: str) -> None:
        put_formula(self.sheet, self.row, 3 + i, text, result, shown, self.voice.results, "Right")

    def _each(
        self,
        label: str,
        unit: str,
        key: str,
        shown: Callable[[str], str],
        flag: str = "",
        otherwise: str = "none",
    ) -> None:
        """A row that fetches a figure of each scenario, where a flag says that there is one."""
        self._label(label, unit)
        for i, member in enumerate(self.members):
            cell, value, code = self._cell(key, i), self._value(key, i), member.currency
            if not flag:
                self._put(i, f"={cell}", value, shown(code))
                continue
            there = self._value(flag, i) == 1
            text = f'=IF({self._cell(flag, i)}=1,{cell},"{otherwise}")'
            self._put(i, text, value if there else otherwise, shown(code))
        self.row += 1

    def _measures(self) -> None:
        self._label("Currency", "code")
        for i, member in enumerate(self.members):
            put_text(self.sheet, self.row, 3 + i, member.currency, "Right")
        self.row += 1
        ahead = self.row
        self._each("Years looked ahead", "year", "horizon", lambda _: "0")
        self._each("Plates a month the work calls for", "plate/month", "plates", lambda _: "#,##0")
        self._label("Method in use", "name")
        for i, member in enumerate(self.members):
            at = list(member.study.methods).index(member.study.scenario.current)
            self._put(i, f"={self._name_cells(member, at, at)}", _short(member, at), "@")
        self.row += 1
        for view, words in VIEWS:
            self._cheapest(f"Cheapest {words}", f"winner{view}")
        saving = self.row  # in cash first
        for view, words in VIEWS:
            self._each(
                f"Its saving against staying, {words}", f"{self.code}/year", f"saving{view}", _money, "told"
            )
        for view, words in VIEWS:
            self._each(
                f"Its lead over the next, {words}", f"{self.code}/year", f"ahead{view}", _money, "possible"
            )
        self._each(
            "First cost of the cheapest in cash, before tax", self.code, "first_cost", _money, "possible"
        )
        self._payback(ahead, saving)
        self._each("Cost of a plate, cheapest in cash", f"{self.code}/plate", "per_plate", _small, "possible")
        self._each(
            "Cost of a plate, method in use",
            f"{self.code}/plate",
            "per_plate_now",
            _small,
            "able",
            "not feasible",
        )

    def _name_cells(self, member: Member, first: int, last: int) -> str:
        """The heading cells of a scenario's methods on its Comparison sheet."""
        sheet, _, column = self.voice.places.cell(member.study.comparison.rows["present"])
        ends = [f"${get_column_letter(column + at)}${HEAD}" for at in (first, last)]
        return f"{quoted(sheet)}!{ends[0]}" + (f":{ends[1]}" if first != last else "")

    def _cheapest(self, label: str, key: str) -> None:
        self._label(label, "name")
        for i, member in enumerate(self.members):
            names, cell = self._name_cells(member, 0, len(member.study.methods) - 1), self._cell(key, i)
            at = round(self._value(key, i))
            self._put(
                i,
                f'=IF({cell}>0,INDEX({names},{cell}),"none")',
                _short(member, at - 1) if at else "none",
                "@",
            )
        self.row += 1

    def _payback(self, ahead: int, saving: int) -> None:
        """`ahead` and `saving` are the rows above of the years looked ahead and of the saving in cash."""
        self._label("Payback of the cheapest in cash", "year")
        for i in range(len(self.members)):
            changes, pays, years = (self._cell(key, i) for key in ("changes", "pays", "payback.cash"))
            letter = get_column_letter(3 + i)
            late = f'"{NOT_IN}"&FIXED({letter}{ahead},0)'
            saved = f"{letter}{saving}"
            text = f'=IF({changes}=1,IF({pays}=1,{years},{late}),IF({saved}=0,"{ABSENT}",{saved}))'
            result: float | str = ABSENT if self._value("told", i) == 1 else "none"
            if self._value("changes", i) == 1:
                late = f"{NOT_IN}{fixed(self._value('horizon', i), 0)}"
                result = self._value("payback.cash", i) if self._value("pays", i) == 1 else late
            self._put(i, text, result, "0.0")
        self.row += 1

    def _methods(self, view: str, words: str) -> dict[str, int]:
        """Present cost of every method; the row of each by its id."""
        self._section(f"Present cost {words}")
        rows = {}
        for name, short in self.lined.methods.items():
            rows[name] = self.row
            self._of_method(
                name, short, self.code, f"present{view}.{name}", f"feasible.{name}", "not feasible", _money
            )
        return rows

    def _shares(self) -> None:
        self._section("Present cost in cash, as a share of staying")
        for name, short in self.lined.methods.items():
            self._of_method(
                name, short, "of staying", f"share.{name}", f"beside.{name}", "none", lambda _: "0%"
            )

    def _of_method(
        self,
        name: str,
        short: str,
        unit: str,
        key: str,
        flag: str,
        otherwise: str,
        shown: Callable[[str], str],
    ) -> None:
        self._label(short, unit)
        for i, member in enumerate(self.members):
            if name not in member.study.methods:
                put_text(self.sheet, self.row, 3 + i, ABSENT, "Right")
                continue
            text = f'=IF({self._cell(flag, i)}=1,{self._cell(key, i)},"{otherwise}")'
            there = self._value(flag, i) == 1
            self._put(i, text, self._value(key, i) if there else otherwise, shown(member.currency))
        self.row += 1

    def _reliance(self) -> None:
        """How far each column can be relied on."""
        self._section("How far it can be relied on")
        self._label("Checks", "words")
        for i, member in enumerate(self.members):
            overall: Line = member.front.overall
            passed = float(self.voice.values[overall].flat[0]) == 1
            text = f'=IF({self.where.cell(overall, 0)}=1,"all pass","one fails")'
            self._put(i, text, "all pass" if passed else "one fails", "@")
        self.row += 1
        self._label("Inputs still at a default", "number")
        for i, member in enumerate(self.members):
            first, last = member.input_rows()
            letter = get_column_letter(STATUS)
            text = (
                f'=COUNTIF({quoted(member.prefix + "Inputs")}!${letter}${first}:${letter}${last},"default")'
            )
            rows = [row for row in member.front.rows if not isinstance(row, str)]
            self._put(i, text, sum(row.default for row in rows), "0")
        self.row += 1
        self._label("Inputs changed since delivery", "number")
        for i, member in enumerate(self.members):
            titles = {title.removeprefix(member.prefix) for title in member.purposes}
            now = prefixed(member.front.changed, titles, member.prefix)
            self._put(i, f"={now}", member.front.count_changed(), "0")
        self.row += 2

    def _chart(self, labels: Mapping[str, int]) -> None:
        """Present cost in one currency; shares of staying where currencies differ. Six methods at most."""
        kind, words = ("drawn", f"Present cost in cash, {self.members[0].currency}") if self.lined.one_currency else (
            "share", "Present cost in cash as a share of staying")  # fmt: skip
        names = list(self.lined.methods)[:MOST_SERIES]
        series = [
            (Reference(self.sheet, min_row=labels[name], min_col=1), self._drawn(f"{kind}.{name}"))
            for name in names
        ]
        _, _, column = self.voice.places.cell(self.lined.rows[f"{kind}.{names[0]}"])
        figures = self.sheet.parent[FIGURES]
        categories = Reference(figures, min_row=HEAD, min_col=column, max_col=column + len(self.members) - 1)
        said = self.voice.said[self.lined.sentences[0].label]
        chart = grouped_bars(
            Reference(figures, min_row=said.row, min_col=3), words, "Scenario", categories, series,
            x_format="#,##0" if kind == "drawn" else "0%", house=self.template.house,
        )  # fmt: skip
        chart.width = 26
        chart.height = max(7.5, 2.5 + 0.45 * len(series) * len(self.members) + 0.5 * len(self.members))
        tall, wide = (
            15 * self.row + 28.4 * chart.height,
            5.6 * (_LABEL + _UNIT + self.width * len(self.members)),
        )
        if tall > wide * (_FLAT if self._landscape else _HIGH):  # rather on a page of its own than cut in two
            self.sheet.row_breaks.append(Break(id=self.row - 1))
        self.sheet.add_chart(chart, f"A{self.row}")
        left_out = len(self.lined.methods) - len(names)
        text = (
            f"Bars of the {words[0].lower() + words[1:]}, a group for each scenario and a bar for each method; "
            "none where it can't be chosen."
        )
        note = f"{text} The figures stand on {FIGURES}." + (
            f" {left_out} more methods are in the table." if left_out else ""
        )
        self.alt_text[self.sheet.title, 0] = note

    def _drawn(self, key: str) -> Reference:
        _, row, column = self.voice.places.cell(self.lined.rows[key])
        figures = self.sheet.parent[FIGURES]
        return Reference(figures, min_row=row, min_col=column, max_col=column + len(self.members) - 1)


def _money(code: str) -> str:
    return number_format(_MONEY, code)


def _small(code: str) -> str:
    return number_format(_PLATE, code)


def _short(member: Member, at: int) -> str:
    """A method's name as it heads a column of the Comparison sheet."""
    short = list(member.study.methods.values())[at].method.short
    return short[:1].upper() + short[1:]
