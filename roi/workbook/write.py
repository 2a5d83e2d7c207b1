"""The decision workbook: every sheet laid out, written, and finished with the results its formulas must have."""

from __future__ import annotations

import gc
import os
import tempfile
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from openpyxl import Workbook
from openpyxl.writer.excel import ExcelWriter

import roi
from roi.answers.checks import checks
from roi.answers.ranges import try_ranges
from roi.answers.verdict import verdict
from roi.answers.workings import workings
from roi.engine.cases import Trial, Worked
from roi.engine.column import Book, Column
from roi.engine.evaluate import Values, extend
from roi.model.study import Study
from roi.scenario.things import CASES
from roi.workbook.break_even import write_break_even
from roi.workbook.cases import CaseSheets, write_case_sheet
from roi.workbook.cells import Results, put_text
from roi.workbook.finish import finish
from roi.workbook.front import Front, write_about, write_changes, write_sources, write_words
from roi.workbook.inputs import lay_out_inputs, write_inputs, write_units
from roi.workbook.lines import write_column
from roi.workbook.placing import Places
from roi.workbook.read_template import DEFAULT, load_template
from roi.workbook.sensitivity import write_sensitivity
from roi.workbook.styles import add_styles
from roi.workbook.summary import write_summary
from roi.workbook.template import Template
from roi.workbook.work import lay_out_work, write_work


def write_workbook(study: Study, values: Values, path: Path, template: Template | None = None) -> Results:
    """Write the workbook of a study; the old file stays whole until the new one is.

    `values` are the study's lines for its best case; `template` None is the shipped default's. Returns the result of
    every formula cell, by sheet and cell. Raises OSError when the file can't be written.
    """
    made = _now()
    with _uncollected():
        book, front = _compose(study, values, values, made, template)
        with tempfile.TemporaryFile() as draft:
            # Not packed: the finishing pass reads it at once.
            with zipfile.ZipFile(draft, "w") as package:
                ExcelWriter(book, package).save()
            finish(draft, path, front.results, alt_text=front.alt_text, made=made)
    return front.results


@contextmanager
def _uncollected() -> Iterator[None]:
    """No garbage collection meanwhile: among half a million cells in use it finds nothing, over and over."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def results_of(study: Study, changes: dict[str, float], template: Template | None = None) -> Results:
    """What every formula cell must show once inputs are changed ({key: value in the engine's unit}), by sheet and cell."""
    return _compose(study, study.evaluate(changes), study.evaluate(), _now(), template, changes)[1].results


def _compose(
    study: Study,
    values: Values,
    delivered: Values,
    made: datetime,
    template: Template | None,
    changes: dict[str, float] | None = None,
) -> tuple[Workbook, Front]:
    """All sheets, with the result of each formula beside them."""
    template = template or load_template(DEFAULT)
    scenario, ranges = study.scenario, try_ranges(study)
    words, sentences = verdict(study)
    check_column, _, overall = checks(study)
    columns = [
        study.shop.column,
        *(s.column for s in study.methods.values()),
        study.cash_flow.column,
        study.comparison.column,
    ]
    further = workings(
        study, ranges, break_even=template.wants("Break-even"), sensitivity=template.wants("Sensitivity")
    )
    known = values
    worked: dict[Trial, Worked] = {}
    books = [*columns]
    if further.columns:
        known, worked = further.evaluate(values, changes or {})
        books += [further.set.column, *further.columns]
    known = extend(known, [words, check_column])

    places, results = Places(), Results()
    rows, conversions = lay_out_inputs(scenario, Book(books), places, further.set.bounds)
    lay_out_work(study.work, places)
    for column in columns:
        places.lay_out(column)
    if further.columns:
        places.lay_out(further.set.column)
    case_sheets = CaseSheets(further.cases, columns, places)
    for column in (*further.columns, check_column):
        places.lay_out(column)
    said_from = places.lay_out(words) + 2

    book = Workbook()
    add_styles(book, template.house)
    front = Front(study, places, known, delivered, results, made, ranges, rows, overall, template)

    def column_sheet(column: Column) -> Callable[[], object]:
        return lambda: write_column(book, column, places, known, results, scenario.currency)

    def words_sheet() -> None:
        sheet = write_column(book, words, places, known, results, scenario.currency)
        write_words(sheet, front, [*sentences, *further.sentences], said_from)

    def cases_sheet(column: Column) -> Callable[[], object]:
        return lambda: write_case_sheet(book, column, case_sheets, known, worked, results, scenario.currency)

    # In the order of writing, which is the usual order of those that the template doesn't list.
    makers: list[tuple[str, Callable[[], object]]] = [
        ("Words", words_sheet),
        ("Inputs", lambda: write_inputs(book, rows, scenario.currency)),
        ("Units", lambda: write_units(book, conversions)),
        ("Work", lambda: write_work(book, study.work, scenario.currency, scenario.work_source)),
        *((column.title, column_sheet(column)) for column in columns),
        ("Changes", lambda: write_changes(book, front)),
        ("Sources and cautions", lambda: write_sources(book, front)),
        ("Checks", column_sheet(check_column)),
    ]
    if further.columns:
        makers += [(column.title, column_sheet(column)) for column in (further.set.column, *further.columns)]
        makers += [
            (column.title + CASES, cases_sheet(column)) for column in columns if case_sheets.sections[column]
        ]
    # Written last, since they show what the others hold.
    if (against_volume := further.volumes) is not None:
        makers.append(
            ("Break-even", lambda: write_break_even(book.create_sheet("Break-even"), front, against_volume))
        )
    if template.wants("Sensitivity"):
        makers.append(
            (
                "Sensitivity",
                lambda: write_sensitivity(
                    book.create_sheet("Sensitivity"), front, further.set, further.ranked
                ),
            )
        )
    makers.append(("Summary", lambda: write_summary(book.create_sheet("Summary"), front)))
    about = book.active
    about.title = "About"
    for title, make in makers:
        if template.wants(title):
            make()
    _arrange(book, front)
    write_about(
        about,
        front,
        {title: _PURPOSES.get(title) or _method_words(study, title) for title in book.sheetnames},
    )
    _give_headings(book, front)
    book.calculation.fullCalcOnLoad = True
    book.properties.title = f"{scenario.name}: ways of making plates compared"
    book.properties.creator = f"roi {roi.__version__}"
    book.properties.description = (
        "What each way of making plates costs over years; live formulas, inputs on one sheet."
    )
    return book, front


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


def _now() -> datetime:
    """The time the workbook is made; SOURCE_DATE_EPOCH fixes it, so that the same input gives the same bytes."""
    epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
    return (
        datetime.fromtimestamp(int(epoch), UTC)
        if epoch.isdigit()
        else datetime.now(UTC).replace(microsecond=0)
    )


_PURPOSES = {
    "About": "this page: purpose, limits, colours, sheets",
    "Summary": "the verdict, the measures side by side, charts",
    "Words": "the sentences of the Summary, from the figures",
    "Inputs": "every number that may be changed, with range, status and source",
    "Units": "factors from the units shown to those reckoned in",
    "Work": "a year's work as reduced from the log",
    "Shop": "what is the same for every method: years, prices, wages, presses",
    "Cash flow": "money by year, and what each method saves against today",
    "Comparison": "every measure of every method, and which is cheapest",
    "Changes": "inputs as delivered and as they are now",
    "Sources and cautions": "where methods and figures come from, and what can hurt",
    "Checks": "the figures checked against one another",
    "Break-even": "where two methods cost the same: by volume, by price",
    "Sensitivity": "what each input's range does to the answer, and the map of the cheapest method",
    "Cases": "the values that inputs take in further cases",
    "Volumes": "cost against volume, method by method and pair by pair",
    "Ranges": "each input at both ends of its range, ranked",
}


def _method_words(study: Study, title: str) -> str:
    if title.endswith(CASES):
        return f"lines of {title.removesuffix(CASES)} worked again for further cases"
    return next(m.label for m in study.scenario.methods if m.short == title) + ", worked line by line"
