"""All sheets of a decision workbook put together: laid out first, so that each knows where the others' cells stand."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime

from openpyxl import Workbook
from openpyxl.worksheet.worksheet import Worksheet

import roi
from roi.answers.capacity import keeping_up
from roi.answers.checks import checks
from roi.answers.invoices import as_invoiced
from roi.answers.mixed import mixed
from roi.answers.ranges import try_ranges
from roi.answers.replacing import BEST, best_years
from roi.answers.risk import usual_risk
from roi.answers.verdict import verdict
from roi.answers.when import when_to_change
from roi.answers.workings import workings
from roi.engine.column import Book, Column
from roi.engine.evaluate import Values, extend
from roi.model.study import Study
from roi.scenario.things import CASES
from roi.workbook.break_even import write_break_even
from roi.workbook.capacity import write_capacity
from roi.workbook.cases import CaseSheets, write_case_sheet
from roi.workbook.cells import QuickCells, Results, put_text, speak
from roi.workbook.claims import write_claims
from roi.workbook.front import Front, write_about, write_changes, write_sources, write_words
from roi.workbook.inputs import lay_out_inputs, write_inputs, write_units
from roi.workbook.kept import FORMS, write_forms, write_formula_counts, write_scenario
from roi.workbook.kept_out import KeptOut
from roi.workbook.lines import write_column
from roi.workbook.mixed import write_mixed
from roi.workbook.paper import set_paper
from roi.workbook.placing import Places
from roi.workbook.reader_blocks import write_sign_off
from roi.workbook.ready import Cells, ReadyRows
from roi.workbook.risk import write_risk
from roi.workbook.say_the_rest import names_of, say_the_rest
from roi.workbook.sensitivity import write_sensitivity
from roi.workbook.stresses import write_stresses
from roi.workbook.styles import add_styles
from roi.workbook.summary import write_summary
from roi.workbook.switching import write_switching
from roi.workbook.template import SIGN_OFF, Template
from roi.workbook.to_check import write_to_check
from roi.workbook.when import write_when
from roi.workbook.work import lay_out_work, write_work


def compose(
    study: Study,
    delivered: Values,
    made: datetime,
    template: Template,
    changes: Mapping[str, float] = {},
    prefix: str = "",
) -> tuple[Workbook, Front]:
    """Every sheet the template wants, with the result of each formula beside it in `Front.results`.

    delivered : the study's lines at the best values
    changes : inputs changed since delivery, for what formulas must then show: {input key: value in the engine's unit}
    prefix : what the caller will put before the names of these sheets, for the length of formulas
    """
    composer = _Composer(study, delivered, made, template, changes, prefix)
    composer.write()
    front = composer.front
    composer.kept_out.from_book(composer.book, front.results, front.alt_text)
    return composer.book, front


class _Composer:
    def __init__(
        self,
        study: Study,
        delivered: Values,
        made: datetime,
        template: Template,
        changes: Mapping[str, float],
        prefix: str,
    ) -> None:
        self.study, self.template, self.prefix = study, template, prefix
        self.kept_out = KeptOut([study.scenario], template)
        ranges = try_ranges(study)
        self.words, self.sentences = verdict(study)
        self.keeping = keeping_up(study, self.words)
        self.when = when_to_change(study, self.words)
        self.replacing = best_years(study, self.words)
        self.invoiced = as_invoiced(study, self.words)
        self.checks, _, overall = checks(study)
        self.columns = [
            study.shop.column,
            *(sheet.column for sheet in study.methods.values()),
            study.cash_flow.column,
            study.comparison.column,
            study.resources.column,
            *([study.replacement.column] if study.replacement is not None else []),
        ]
        self.further = workings(
            study,
            ranges,
            break_even=template.wants("Break-even"),
            sensitivity=template.wants("Sensitivity"),
            stresses=template.wants("Stresses"),
        )
        self.working = [self.further.set.column, *self.further.columns] if self.further.columns else []
        values = study.evaluate(dict(changes)) if changes else delivered
        known, self.worked = self.further.evaluate(values, changes)
        known = extend(known, [self.words, self.checks])
        self.places = Places()
        self._lay_out()
        self.book = Workbook()
        add_styles(self.book, template.house)
        speak(self.book, template.tongue, names_of(study.scenario))
        self.front = Front(
            study,
            self.places,
            known,
            delivered,
            Results(),
            made,
            ranges,
            self.rows,
            overall,
            template,
            changes,
        )

    def _lay_out(self) -> None:
        """Give every figure its cell; readings of cases before the columns that refer to them."""
        books = Book([*self.columns, *self.working])
        self.rows, self.conversions = lay_out_inputs(
            self.study.scenario, books, self.places, self.further.set.bounds
        )
        lay_out_work(self.study.work, self.places)
        for column in (*self.columns, *self.working[:1]):
            self.places.lay_out(column)
        self.case_sheets = CaseSheets(self.further.cases, self.columns, self.places, self.prefix)
        for column in (*self.working[1:], self.checks):
            self.places.lay_out(column)
        self.said_from = self.places.lay_out(self.words) + 2

    def write(self) -> None:
        """Write the sheets, then order and name them as the template says."""
        about = self.book.active
        about.title = "About"
        for title, make in self._makers():
            if self.template.wants(title):
                make()
        if FORMS in self.book.sheetnames:
            write_formula_counts(self.book[FORMS], self.front.results)
        _arrange(self.book, self.front)
        set_paper(self.book)
        purposes = {title: purpose(self.study, title) for title in self.book.sheetnames}
        write_about(about, self.front, purposes)
        _give_headings(self.book, self.front)
        self.book.calculation.fullCalcOnLoad = True
        about_it = self.book.properties
        about_it.title = f"{self.study.scenario.name}: ways of making plates compared"
        about_it.creator = f"roi {roi.__version__}"
        about_it.description = (
            "What each way of making plates costs over years; live formulas, inputs on one sheet."
        )
        say_the_rest(self.book, self.book.worksheets)

    def _makers(self) -> list[tuple[str, Callable[[], object]]]:
        """What writes each sheet, in the order of writing: the usual order of those that the template doesn't list."""
        book, front, study, code = self.book, self.front, self.study, self.front.currency
        cased = [column for column in self.columns if self.case_sheets.sections[column]]
        return [
            ("Words", self._words),
            ("Capacity", lambda: write_capacity(book.create_sheet("Capacity"), front, self.keeping)),
            ("When to change", self._when),
            ("Inputs", lambda: write_inputs(book, self.rows, code)),
            ("Units", lambda: write_units(book, self.conversions)),
            ("Work", lambda: write_work(book, study.work, code, study.scenario.work_source)),
            *((column.title, self._column(column)) for column in self.columns),
            ("Replacement", self._replacing),
            ("Changes", lambda: write_changes(book, front)),
            *self._kept(),
            ("Sources and cautions", lambda: write_sources(book, front)),
            ("Checks", self._column(self.checks)),
            *((column.title, self._column(column)) for column in self.working),
            *((column.title + CASES, self._cases(column)) for column in cased),
            # Last, since they show what the others hold.
            ("Break-even", self._break_even),
            ("Sensitivity", self._sensitivity),
            ("Stresses", lambda: write_stresses(book.create_sheet("Stresses"), front, self.further.stressed)),
            ("Mixed plan", self._mixed_plan),
            ("Risk", lambda: write_risk(book.create_sheet("Risk"), front, usual_risk(study))),
            ("Switching", lambda: write_switching(book.create_sheet("Switching"), front)),
            ("To check", lambda: write_to_check(book.create_sheet("To check"), front)),
            ("Claims", self._claims),
            *([] if self.prefix else [(SIGN_OFF, lambda: write_sign_off(book.create_sheet(SIGN_OFF)))]),
            ("Summary", lambda: write_summary(book.create_sheet("Summary"), front)),
        ]

    def _make_cells(self, sheet: Worksheet) -> Cells:
        """Among several scenarios sheets are moved to another workbook, which rows kept as text could not follow."""
        results = self.front.results.setdefault(sheet.title, {})
        if self.prefix:
            return QuickCells(sheet, results)
        rows = self.front.ready[sheet.title] = ReadyRows(sheet, results, self.kept_out.without)
        return rows

    def _column(self, column: Column) -> Callable[[], object]:
        return lambda: self._lines(column)

    def _lines(self, column: Column) -> Worksheet:
        front = self.front
        return write_column(
            self.book, column, self.places, front.values, front.results, front.currency, self._make_cells
        )

    def _cases(self, column: Column) -> Callable[[], object]:
        front = self.front
        return lambda: write_case_sheet(
            self.book,
            column,
            self.case_sheets,
            front.values,
            self.worked,
            front.currency,
            self._make_cells,
        )

    def _kept(self) -> list[tuple[str, Callable[[], object]]]:
        """What makes a workbook a scenario of its own; among several scenarios, none is read back."""
        if self.prefix:
            return []
        scenario, keys = self.study.scenario, [row.key for row in self.rows if not isinstance(row, str)]
        return [
            ("Scenario", lambda: write_scenario(self.book, scenario, keys)),
            ("Forms", lambda: write_forms(self.book, scenario)),
        ]

    def _words(self) -> None:
        front = self.front
        sheet = self._lines(self.words)
        said = [*self.sentences, *self.keeping.sentences, *self.when.values(), *self.invoiced]
        said += self.replacing.values()
        write_words(sheet, front, [*said, *self.further.sentences], self.said_from)

    def _replacing(self) -> None:
        """The sheet stands already, with its lines: the sentence is put above them."""
        if self.replacing:
            self.front.say(self.book["Replacement"], 3, BEST, "Note")

    def _when(self) -> None:
        if self.when:
            write_when(self.book.create_sheet("When to change"), self.front, self.when)

    def _break_even(self) -> None:
        if self.further.volumes is not None:
            write_break_even(self.book.create_sheet("Break-even"), self.front, self.further.volumes)

    def _mixed_plan(self) -> None:
        found = None
        if len(self.study.scenario.presses) > 1:
            found = mixed(self.study, self.front.delivered)
        if found is not None and not found.one_press:
            write_mixed(self.book.create_sheet("Mixed plan"), self.front, found)

    def _claims(self) -> None:
        if self.study.scenario.plain("claims"):
            write_claims(self.book.create_sheet("Claims"), self.front)

    def _sensitivity(self) -> None:
        sheet = self.book.create_sheet("Sensitivity")
        write_sensitivity(sheet, self.front, self.further.set, self.further.ranked)


def _arrange(book: Workbook, front: Front) -> None:
    """Sheets in the template's order, on its paper; the workbook opens on the Summary."""
    scenario = front.study.scenario
    methods = {method.short for method in scenario.methods}
    for place, title in enumerate(front.template.order(book.sheetnames, methods)):
        book.move_sheet(title, place - book.sheetnames.index(title))
    book.active = book.sheetnames.index("Summary")
    paper = front.house.paper_code(scenario.currency, scenario.system)
    for sheet in book.worksheets:
        sheet.page_setup.paperSize = paper
        sheet.sheet_view.tabSelected = sheet.title == "Summary"


def _give_headings(book: Workbook, front: Front) -> None:
    """The template's headings in place of the usual ones."""
    methods = {method.short for method in front.study.scenario.methods}
    for sheet in book.worksheets:
        heading = front.template.title(sheet.title, front.facts, sheet.title in methods)
        if heading:
            put_text(sheet, 1, 1, heading, "Headline")


_PURPOSES = {
    "About": "this page: purpose, limits, colours, sheets",
    "Summary": "the verdict, the measures side by side, charts",
    "Words": "the sentences of the Summary, from the figures",
    "Inputs": "every number that may be changed, with range, status and source",
    "Units": "factors from the units shown to those reckoned in",
    "Work": "a year's work as reduced from the log",
    "Shop": "what is the same for every method: years, prices, wages, presses",
    "Replacement": "when to replace what is owned: cost by the year of the change",
    "Resources": "plates, litres, kilograms, kilowatt-hours and hours, a year, a plate and a thousand impressions",
    "Cash flow": "money by year, and what each method saves against today",
    "Comparison": "every measure of every method, and which is cheapest",
    "Changes": "inputs as delivered and as they are now",
    "Scenario": "texts and switches that this workbook is a scenario of, for the program to read",
    "Forms": "the work that the program reads with it, without names",
    "Sources and cautions": "where methods and figures come from, and what can hurt",
    "Checks": "the figures checked against one another",
    "Break-even": "where two methods cost the same: by volume, by price",
    "Sensitivity": "what each input's range does to the answer, and the map of the cheapest method",
    "Mixed plan": "several methods owned together, each press with one of them, as delivered",
    "When to change": "what changing in each month of year 1 would cost",
    "Switching": "how far each input alone must go to turn the answer, as delivered",
    "Claims": "what would have to be true for the claims stated, as delivered",
    "To check": "what nobody has confirmed yet, to print and fill in",
    "Risk": "how sure the answer is when every input is drawn from its range at once",
    "Stresses": "harsh things one at a time, and what becomes of the answer",
    "Stressed": "what each method costs under each stress",
    SIGN_OFF: "lines to sign on, the last sheet of the report",
    "Capacity": "whether each method keeps up with the plates wanted a day",
    "Cases": "the values that inputs take in further cases",
    "Volumes": "cost against volume, method by method and pair by pair",
    "Ranges": "each input at both ends of its range, ranked",
}


def purpose(study: Study, title: str) -> str:
    """What a sheet is for, in a few words."""
    if title in _PURPOSES:
        return _PURPOSES[title]
    if title.endswith(CASES):
        return f"lines of {title.removesuffix(CASES)} worked again for further cases"
    return next(m.label for m in study.scenario.methods if m.short == title) + ", worked line by line"
