"""The sheets around the figures: About, Words, Changes, Sources and cautions. The Summary is in `summary`."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from openpyxl import Workbook
from openpyxl.chart import Reference
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.hyperlink import Hyperlink
from openpyxl.worksheet.worksheet import Worksheet

import roi
from roi.answers.ranges import Ranges
from roi.engine.column import Line
from roi.engine.evaluate import Values
from roi.engine.words import Sentence
from roi.model.study import Study
from roi.scenario.catalogue import load
from roi.scenario.stated import StatedInput
from roi.workbook.cells import Results, fit_label, put_formula, put_label, put_number, put_text
from roi.workbook.house import House
from roi.workbook.inputs import VALUE
from roi.workbook.placing import HEAD, Places
from roi.workbook.styles import number_format, set_up_page
from roi.workbook.template import Template


@dataclass(frozen=True)
class Said:
    """Where a sentence stands on the Words sheet, in its third column, and what it says."""

    row: int
    text: str


@dataclass
class Front:
    """What the front sheets are written from.

    `values` are what formulas must show, `delivered` the lines of the best case, which differ once inputs are changed;
    `overall` is the line that says whether all checks pass. Sheets written first fill in for those written later: `said`,
    each sentence; `changed`, the cell that counts changed inputs; `deciding`, what writes the inputs that decide, where
    the Sensitivity sheet is there.
    """

    study: Study
    places: Places
    values: Values
    delivered: Values
    results: Results
    made: datetime
    ranges: Ranges
    rows: list[StatedInput | str]
    overall: Line
    template: Template
    changed: str = ""
    said: dict[str, Said] = field(default_factory=dict)
    deciding: Callable[[Worksheet, int], int] | None = None
    alt_text: dict[tuple[str, int], str] = field(default_factory=dict)

    @property
    def currency(self) -> str:
        return self.study.scenario.currency

    @property
    def house(self) -> House:
        return self.template.house

    @property
    def facts(self) -> dict[str, str]:
        """What fills the placeholders of a template."""
        shop = self.study.scenario.name
        return {
            "shop": shop,
            "date": self.made.date().isoformat(),
            "currency": self.currency,
            "version": roi.__version__,
            "prepared_for": self.template.prepared_for or shop,
            "prepared_by": self.template.prepared_by or f"roi version {roi.__version__}",
        }

    def say(self, sheet: Worksheet, row: int, label: str, style: str) -> None:
        """Show a sentence of the Words sheet on another, in its first column."""
        said = self.said[label]
        put_formula(sheet, row, 1, f"=Words!$C${said.row}", said.text, "@", self.results, style)

    def sentence(self, book: Workbook, label: str) -> Reference:
        """The cell of a sentence, for a chart's title."""
        return Reference(book["Words"], min_row=self.said[label].row, min_col=3)

    def describe(self, sheet: Worksheet, text: str) -> None:
        """Give the next chart added to a sheet its alternative text."""
        self.alt_text[(sheet.title, sum(title == sheet.title for title, _ in self.alt_text))] = text


def write_words(sheet: Worksheet, front: Front, sentences: Sequence[Sentence], row: int) -> None:
    """Below the figures of the Words sheet: each sentence, then the pieces it joins, a row each."""
    where = front.places.where(sheet.title)
    put_text(sheet, row, 1, "Sentences", "Section")
    row += 1
    for sentence in sentences:
        pieces = [*sentence.pieces, *sentence.otherwise]
        first, last = row + 1, row + len(pieces)
        joined = sentence.joined([f"C{r}" for r in range(first, last + 1)], where)
        text = sentence.text(front.values)
        put_text(sheet, row, 1, sentence.label, "Label")
        put_text(sheet, row, 2, "text", "Label")
        put_formula(sheet, row, 3, joined, text, "@", front.results)
        front.said[sentence.label] = Said(row, text)
        for i, piece in enumerate(pieces):
            put_text(sheet, first + i, 1, f"{sentence.label}, piece {i + 1}", "Label")
            put_text(sheet, first + i, 2, "text", "Label")
            written = piece.formula(where)
            if written is None:
                put_text(sheet, first + i, 3, piece.say(front.values), "Figure")
            else:
                put_formula(sheet, first + i, 3, written, piece.say(front.values), "@", front.results)
        row = last + 1


def write_changes(book: Workbook, front: Front) -> None:
    """Every input as delivered beside what it is now, and the count of those changed."""
    sheet = book.create_sheet("Changes")
    put_text(sheet, 1, 1, "Changes", "Headline")
    put_text(sheet, 2, 1, "What has been changed on Inputs since this workbook was written.", "Note")
    for i, head in enumerate(("Input", "Unit", "As delivered", "Now", "Changed")):
        put_text(sheet, HEAD, i + 1, head, "Head")
        sheet.column_dimensions[get_column_letter(i + 1)].width = (62, 18, 14, 14, 10)[i]
    row = HEAD + 1
    for k, stated in enumerate(front.rows):
        if isinstance(stated, str):
            continue
        shown = number_format(stated.unit, front.currency, percent=stated.percent)
        put_label(sheet, row, stated.label, 62)
        put_text(sheet, row, 2, stated.shown or "number", "Label")
        put_number(sheet, row, 3, stated.best, "Data", shown)
        put_formula(
            sheet,
            row,
            4,
            f"=Inputs!${get_column_letter(VALUE)}${HEAD + 1 + k}",
            stated.best,
            shown,
            front.results,
        )
        put_formula(sheet, row, 5, f"=IF(ROUND(D{row}-C{row},9)=0,0,1)", 0, "0", front.results)
        row += 1
    put_text(sheet, row, 1, "Inputs changed", "Strong")
    put_text(sheet, row, 2, "number", "Label")
    put_formula(sheet, row, 5, f"=SUM(E{HEAD + 1}:E{row - 1})", 0, "0", front.results)
    sheet.freeze_panes = sheet.cell(HEAD + 1, 2)
    set_up_page(sheet, head_rows=HEAD, landscape=False)
    front.changed = f"Changes!$E${row}"


def write_sources(book: Workbook, front: Front) -> None:
    """Sources of the reckoning, how the work was read, and cautions, each said once."""
    sheet = book.create_sheet("Sources and cautions")
    scenario = front.study.scenario
    put_text(sheet, 1, 1, "Sources and cautions", "Headline")
    put_text(sheet, HEAD, 1, "Matter", "Head")
    put_text(sheet, HEAD, 2, "What to know", "Head")
    known = load("cautions.toml")
    always: list[str] = list(known["always"])  # type: ignore[call-overload]
    named = list(dict.fromkeys([*(c for m in scenario.methods for c in m.cautions), *always]))
    rows: list[tuple[str, str]] = [("Cautions", "")]
    for name in named:
        methods = ", ".join(m.short for m in scenario.methods if name in m.cautions) or "All"
        rows.append((f"{name.replace('_', ' ').capitalize()} ({methods})", str(known[name]["text"])))  # type: ignore[index]
    rows += [("Work", ""), ("Read from", scenario.work_source)]
    rows += [("Note", note) for note in scenario.work.notes]
    rows += [("Rows left out", str(p)) for p in scenario.work.skipped]
    rows += [
        ("Tax", ""),
        ("Schedule", f"{scenario.tax.label}. {scenario.tax.source}"),
        ("Caution", scenario.tax.caution),
    ]
    if scenario.waste.levels:
        rows += [
            ("Hazardous waste", ""),
            ("Rules", f"{scenario.waste.label}: {scenario.waste.source}"),
            ("Caution", scenario.waste.caution),
        ]
    rows += [
        ("Methods of reckoning", ""),
        (
            "Present cost, savings-to-investment ratio, capital recovery",
            "10 CFR 436, Subpart A: life cycle cost methodology",
        ),
        (
            "Flow shop",
            "n equal plates through stations with one unit each take sum(t) + (n - 1) x max(t): the permutation flow shop "
            "with identical jobs",
        ),
        ("Unit factors", "NIST Handbook 44 (2024), Appendix C"),
        (
            "Prices and magnitudes of the trade",
            "Each on Inputs with its source; 'common practice, no source' and 'from memory, verify' mean what they say",
        ),
    ]
    for i, (matter, text) in enumerate(rows):
        put_text(sheet, HEAD + 1 + i, 1, matter, "Section" if not text else "Label")
        put_text(sheet, HEAD + 1 + i, 2, text, "Section" if not text else "Prose")
        sheet.row_dimensions[HEAD + 1 + i].height = _height(text, 96)
        fit_label(sheet, HEAD + 1 + i, matter, 44)
    sheet.column_dimensions["A"].width, sheet.column_dimensions["B"].width = 44, 96
    sheet.freeze_panes = sheet.cell(HEAD + 1, 1)
    set_up_page(sheet, head_rows=HEAD)


def write_about(sheet: Worksheet, front: Front, purposes: dict[str, str]) -> None:
    """What this workbook is for, how to read it, and what is where."""
    scenario = front.study.scenario
    put_text(sheet, 1, 1, "About this workbook", "Headline")
    last = len(front.study.shop.years) - 1
    rows = [
        (
            "Purpose",
            f"Compares what {len(scenario.methods)} ways of making plates cost {scenario.name} over years, so that its "
            "owner can decide. Staying as you are is one of them.",
        ),
        (
            "For",
            f"Laid out for {front.template.reader or 'any reader'}; the figures are the same in every layout.",
        ),
        ("Made by", f"roi version {roi.__version__}, from {scenario.path.name}"),
        ("Date", front.made.date().isoformat()),
        ("Currency", f"{scenario.currency}, nominal. Costs without recoverable tax on sales."),
        ("Shop", scenario.note or scenario.name),
        (
            "Limits",
            "One shop; steady operation after the switch. Of changing over only what is stated is counted; loans, undoing "
            f"the change and capacity stand beside the costs. The years looked ahead may be changed up to {last}.",
        ),
        (
            "Two views",
            "Cash counts freed minutes, floor and press hours only as far as they turn into money; full cost counts all.",
        ),
        (
            "Live",
            "Every number on Inputs may be changed, and figures, sentences and charts follow. Which methods, their items, "
            "the log and the tax schedule are fixed.",
        ),
        (
            "On paper",
            "Print the sheets you want to read: those that end in 'cases' run to many pages and are there to be traced.",
        ),
    ]
    row = 3
    for label, text in rows:
        put_text(sheet, row, 1, label, "Strong")
        put_text(sheet, row, 2, text, "Prose")
        sheet.row_dimensions[row].height = _height(text, 100)
        row += 1
    row += 1
    put_text(sheet, row, 1, "Colours", "Strong")
    for style, words in (
        ("Input", "Input: may be changed"),
        ("Figure", "Formula: follows"),
        ("Data", "Data: from the log, or fixed when written"),
    ):
        put_text(sheet, row, 2, words, style)
        row += 1
    row += 1
    put_text(sheet, row, 1, "Sheets", "Strong")
    for title, words in purposes.items():
        cell = put_text(sheet, row, 2, f"{title}: {words}", "Prose")
        cell.hyperlink = Hyperlink(ref=cell.coordinate, location=f"'{title}'!A1")
        cell.style = "Prose"
        row += 1
    sheet.column_dimensions["A"].width, sheet.column_dimensions["B"].width = 16, 100
    set_up_page(sheet, head_rows=1, landscape=False)


def _height(text: str, width: int) -> float:
    """Points for a text wrapped to a column of this many characters: programs don't agree on fitting rows themselves."""
    return 15.0 * max(1, -(-len(text) // (width * 3 // 4)))
