"""The sheets around the figures: About, Words, Changes, Sources and cautions. The Summary is in `summary`."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property, partial
from typing import Protocol

from openpyxl import Workbook
from openpyxl.chart import Reference
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.hyperlink import Hyperlink
from openpyxl.worksheet.worksheet import Worksheet

import roi
from roi.answers.cautions import cautions
from roi.answers.ranges import Ranges
from roi.engine.column import Line
from roi.engine.evaluate import Values
from roi.engine.words import Sentence
from roi.model.study import Study
from roi.scenario.stated import StatedInput
from roi.workbook.cells import (
    Results,
    fit_label,
    put_formula,
    put_kept,
    put_label,
    put_number,
    put_text,
    spoken,
    tongue_of,
)
from roi.workbook.counts import counts
from roi.workbook.house import House
from roi.workbook.inputs import HIGH, LOW, VALUE
from roi.workbook.kept_out import KeptOut
from roi.workbook.paper import to_print
from roi.workbook.placing import HEAD, Places
from roi.workbook.ready import ReadyRows
from roi.workbook.styles import number_format, set_up_page
from roi.workbook.template import Template
from roi.workbook.tongue import Spoken, Tongue

_AS_THEY_ARE = (
    "Names of sheets, keys, statuses and what was stated as a source stay as they are: formulas and the program "
    "refer to them."
)
_MARKS = (
    "Numbers in cells, and in sentences that follow them, bear the marks that your spreadsheet program is set to; "
    "in sentences that stay as delivered they are written this language's way."
)


def language_row(tongue: Tongue) -> str:
    """What About says of the language the workbook is in."""
    return f"{tongue.name}. {_AS_THEY_ARE} {_MARKS}"


@dataclass(frozen=True)
class Said:
    """Where a sentence stands on the Words sheet, in its third column, and what it says."""

    row: int
    text: str


@dataclass
class Front:
    """What the front sheets are written from.

    `values` are what formulas must show, `delivered` the lines of the best case, which differ once inputs are changed;
    `changes` are those inputs, {key: value in the engine's unit}, an end of a range under its key with " (low)" or " (high)";
    `overall` is the line that says whether all checks pass. Sheets written first fill in for those written later: `said`,
    each sentence; `changed`, the cell that counts changed inputs; `ranges_changed`, the sum of those that count changed ends
    of ranges; `all_changed`, the cell that counts both; `deciding`, what writes the inputs that decide, where
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
    changes: Mapping[str, float] = field(default_factory=dict)
    changed: str = ""
    ranges_changed: str = ""
    all_changed: str = ""
    said: dict[str, Said] = field(default_factory=dict)
    deciding: Callable[[Worksheet, int], int] | None = None
    alt_text: dict[tuple[str, int], str] = field(default_factory=dict)
    ready: dict[str, ReadyRows] = field(default_factory=dict)

    @property
    def currency(self) -> str:
        return self.study.scenario.currency

    def now(self, stated: StatedInput, end: str = "") -> float:
        """What an input, or the "low" or "high" end of its range, is once changed, in the unit shown."""
        was = {"": stated.best, "low": stated.low, "high": stated.high}[end]
        value = self.changes.get(f"{stated.key} ({end})" if end else stated.key)
        return was if value is None else value / stated.factor

    def count_changed(self, *ends: str) -> int:
        """How many inputs differ from what was delivered; with "low" and "high" how many ends of ranges do."""
        stated = [row for row in self.rows if not isinstance(row, str)]
        was = {"": "best", "low": "low", "high": "high"}
        return sum(
            round(self.now(each, end) - getattr(each, was[end]), 9) != 0
            for end in ends or ("",)
            for each in stated
        )

    @property
    def house(self) -> House:
        return self.template.house

    @property
    def facts(self) -> dict[str, str]:
        """What fills the placeholders of a template."""
        return self.template.facts(self.study.scenario.name, self.currency, self.made)

    @cached_property
    def _kept_out(self) -> KeptOut:
        return KeptOut([self.study.scenario], self.template)

    def shown(self, text: str) -> str:
        """A text as it may be shown: for one that is cut into lines, where a name could not be found afterwards."""
        return self._kept_out.without(text)

    def say(self, sheet: Worksheet, row: int, label: str, style: str) -> None:
        """Show a sentence of the Words sheet on another, in its first column."""
        said = self.said[label]
        put_formula(sheet, row, 1, f"=Words!$C${said.row}", said.text, "@", self.results, style)

    def sentence(self, book: Workbook, label: str) -> Reference:
        """The cell of a sentence, for a chart's title."""
        return Reference(book["Words"], min_row=self.said[label].row, min_col=3)

    def describe(self, sheet: Worksheet, text: str) -> None:
        """Give the next chart added to a sheet its alternative text."""
        text = spoken(sheet, text)
        self.alt_text[(sheet.title, sum(title == sheet.title for title, _ in self.alt_text))] = text


class Speaker(Protocol):
    """What sentences are written from: places, values, results, and what has been said so far."""

    places: Places
    values: Values
    results: Results
    said: dict[str, Said]


def write_words(sheet: Worksheet, front: Speaker, sentences: Sequence[Sentence], row: int) -> None:
    """Below the figures of the Words sheet: each sentence, then the pieces it joins, a row each."""
    where = front.places.where(sheet.title)
    put_text(sheet, row, 1, "Sentences", "Section")
    row += 1
    tongue = tongue_of(sheet)
    for each in sentences:
        sentence = each.told_in(partial(tongue.say, place=sheet.title, piece=True)) if tongue else each
        pieces = [*sentence.pieces, *sentence.otherwise]
        first, last = row + 1, row + len(pieces)
        joined = sentence.joined([f"C{r}" for r in range(first, last + 1)], where)
        text = Spoken(sentence.text(front.values))
        put_text(sheet, row, 1, sentence.label, "Label")
        put_text(sheet, row, 2, "text", "Label")
        put_formula(sheet, row, 3, joined, text, "@", front.results)
        front.said[sentence.label] = Said(row, text)
        for i, piece in enumerate(pieces):
            put_text(sheet, first + i, 1, f"{sentence.label}, piece {i + 1}", "Label")
            put_text(sheet, first + i, 2, "text", "Label")
            written = piece.formula(where)
            piece_says = Spoken(piece.say(front.values))
            if written is None:
                put_kept(sheet, first + i, 3, piece_says, "Figure")
            else:
                put_formula(sheet, first + i, 3, written, piece_says, "@", front.results)
        row = last + 1


def write_changes(book: Workbook, front: Front) -> None:
    """Every input and its range as delivered beside what they are now, and the counts of those changed."""
    sheet = book.create_sheet("Changes")
    put_text(sheet, 1, 1, "Changes", "Headline")
    put_text(sheet, 2, 1, "What has been changed on Inputs since this workbook was written.", "Note")
    ends = ("Low delivered", "Low now", "Changed", "High delivered", "High now", "Changed")
    heads = ("Input", "Unit", "As delivered", "Now", "Changed", *ends)
    for i, head in enumerate(heads):
        put_text(sheet, HEAD, i + 1, head, "Head")
        sheet.column_dimensions[get_column_letter(i + 1)].width = (62, 18, *[14, 14, 10] * 3)[i]
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
            front.now(stated),
            shown,
            front.results,
        )
        moved = int(round(front.now(stated) - stated.best, 9) != 0)
        put_formula(sheet, row, 5, f"=IF(ROUND(D{row}-C{row},9)=0,0,1)", moved, "0", front.results)
        for column, at, end, was in ((6, LOW, "low", stated.low), (9, HIGH, "high", stated.high)):
            put_number(sheet, row, column, was, "Data", shown)
            now = f"=Inputs!${get_column_letter(at)}${HEAD + 1 + k}"
            put_formula(sheet, row, column + 1, now, front.now(stated, end), shown, front.results)
            apart = f"ROUND({get_column_letter(column + 1)}{row}-{get_column_letter(column)}{row},9)"
            moved = int(round(front.now(stated, end) - was, 9) != 0)
            put_formula(sheet, row, column + 2, f"=IF({apart}=0,0,1)", moved, "0", front.results)
        row += 1
    put_text(sheet, row, 1, "Inputs changed", "Strong")
    put_text(sheet, row, 2, "number", "Label")
    for column, end in ((5, ""), (8, "low"), (11, "high")):
        letter = get_column_letter(column)
        text, count = f"=SUM({letter}{HEAD + 1}:{letter}{row - 1})", front.count_changed(end)
        put_formula(sheet, row, column, text, count, "0", front.results)
    put_text(sheet, row + 1, 1, "Inputs and ends of ranges changed", "Strong")
    put_text(sheet, row + 1, 2, "number", "Label")
    every = front.count_changed("", "low", "high")
    put_formula(sheet, row + 1, 5, f"=E{row}+H{row}+K{row}", every, "0", front.results)
    sheet.freeze_panes = sheet.cell(HEAD + 1, 2)
    set_up_page(sheet, head_rows=HEAD)
    front.all_changed = f"Changes!$E${row + 1}"
    front.changed, front.ranges_changed = f"Changes!$E${row}", f"Changes!$H${row}+Changes!$K${row}"


def write_sources(book: Workbook, front: Front) -> None:
    """Sources of the reckoning, how the work was read, and cautions, each said once."""
    sheet = book.create_sheet("Sources and cautions")
    scenario = front.study.scenario
    put_text(sheet, 1, 1, "Sources and cautions", "Headline")
    put_text(sheet, HEAD, 1, "Matter", "Head")
    put_text(sheet, HEAD, 2, "What to know", "Head")
    rows: list[tuple[str, str]] = [("Cautions", "")]
    for caution in cautions(scenario):
        rows.append((f"{caution.matter} ({', '.join(caution.methods) or 'All'})", caution.text))
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
        sheet.row_dimensions[HEAD + 1 + i].height = _height(spoken(sheet, text), 96)
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
            "One shop; steady operation after the switch. Of changing over only what is stated is counted; loans, leases, "
            "undoing the change and capacity (overtime unless counted) stand beside the costs. The years looked ahead may be "
            f"changed up to {last}.",
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
        ("On paper", to_print(list(purposes))),
        ("Counts", " ".join(counts(front.study, front.rows, front.ranges, front.template.wants))),
    ]
    if (tongue := tongue_of(sheet)) is not None:
        rows.append(("Language", language_row(tongue)))
    write_about_rows(sheet, rows, purposes)


def write_about_rows(sheet: Worksheet, rows: Sequence[tuple[str, str]], purposes: dict[str, str]) -> None:
    """An About sheet's rows (label, text), then the colours, then every sheet with its purpose."""
    row = 3
    for label, text in rows:
        put_text(sheet, row, 1, label, "Strong")
        put_text(sheet, row, 2, text, "Prose")
        sheet.row_dimensions[row].height = _height(spoken(sheet, text), 100)
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
        cell = put_kept(sheet, row, 2, f"{title}: {spoken(sheet, words)}", "Prose")
        cell.hyperlink = Hyperlink(ref=cell.coordinate, location=f"'{title}'!A1")
        cell.style = "Prose"
        row += 1
    sheet.column_dimensions["A"].width, sheet.column_dimensions["B"].width = 16, 100
    set_up_page(sheet, head_rows=1, landscape=False)


def _height(text: str, width: int) -> float:
    """Points for a text wrapped to a column of this many characters: programs don't agree on fitting rows themselves."""
    return 15.0 * max(1, -(-len(text) // (width * 3 // 4)))
