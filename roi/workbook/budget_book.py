"""The workbook of a budget put together: the budget's own sheets in front, the study's sheets that they follow behind.

The study's break-even, sensitivity and the like are left out; of its cases there is one, the year with less work.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from openpyxl import Workbook

import roi
from roi.answers.budget import Budget
from roi.answers.ranges import Ranges
from roi.engine.column import Book, Column
from roi.engine.expression import Leaf
from roi.engine.functions import Array
from roi.workbook.budget_front import DATES, PURPOSES, write_about, write_dates, write_summary
from roi.workbook.budget_sheets import (
    ACTUALS,
    BUDGET,
    PROFIT,
    Voice,
    lay_out_actuals,
    write_actuals,
    write_budget,
    write_profit,
)
from roi.workbook.cases import CaseSheets, write_case_sheet
from roi.workbook.cells import QuickCells, Results, speak, spoken
from roi.workbook.compose import purpose
from roi.workbook.front import Front, write_changes, write_sources, write_words
from roi.workbook.inputs import lay_out_inputs, write_inputs, write_units
from roi.workbook.kept_out import KeptOut
from roi.workbook.lines import write_column
from roi.workbook.paper import set_paper
from roi.workbook.placing import Places
from roi.workbook.say_the_rest import names_of, say_the_rest
from roi.workbook.side_by_side import Joined
from roi.workbook.styles import add_styles
from roi.workbook.template import Template
from roi.workbook.work import lay_out_work, write_work

_FRONT = ("Summary", "About", BUDGET, PROFIT, ACTUALS, DATES)
_NOTHING = Ranges(False, "", "", 0.0, ())  # no sheet here speaks of ranges


def compose_budget(
    budget: Budget,
    made: datetime,
    template: Template,
    changes: Mapping[str, float] = {},
    typed: Mapping[Leaf, Array] = {},
) -> Joined:
    """Every sheet, with the result of each formula.

    changes : inputs changed since delivery, {input key: value in the engine's unit}
    typed : what is typed on Actuals since, shape (12,) for months and (1,) for the two single cells
    """
    study, scenario = budget.study, budget.study.scenario
    studied = [c for c in study.book.columns if c not in _left_out(budget)]
    first = [*studied, budget.year.column]
    places = Places()
    books = Book([*first, budget.less, *budget.columns])
    rows, conversions = lay_out_inputs(scenario, books, places)
    lay_out_work(study.work, places)
    lay_out_actuals(budget, places)
    for column in (*first, budget.less):
        places.lay_out(column)
    case_sheets = CaseSheets(budget.cases, first, places)
    for column in budget.columns:
        if column is not budget.words:
            places.lay_out(column)
    said_from = places.lay_out(budget.words) + 2
    known, worked = budget.evaluate(changes, typed)
    book = Workbook()
    add_styles(book, template.house)
    speak(book, template.tongue, names_of(scenario))
    joined = Joined(book)
    results: Results = joined.results
    front = Front(
        study, places, known, known, results, made, _NOTHING, rows, budget.overall, template, dict(changes)
    )
    voice = Voice(budget, places, known, results)
    about = book.active
    about.title = "About"
    for title in _FRONT:
        if title != "About":
            book.create_sheet(title)
    words = write_column(book, budget.words, places, known, results, scenario.currency)
    write_words(words, voice, budget.sentences, said_from)
    write_inputs(book, rows, scenario.currency)
    write_units(book, conversions)
    write_work(book, study.work, scenario.currency, scenario.work_source)
    for column in (*budget.columns, budget.year.column, budget.less, *studied):
        if column not in (budget.words, budget.checks):
            write_column(book, column, places, known, results, scenario.currency)
    for column in first:
        if case_sheets.sections[column]:
            write_case_sheet(
                book, column, case_sheets, known, worked, scenario.currency,
                lambda sheet: QuickCells(sheet, results.setdefault(sheet.title, {})),
            )  # fmt: skip
    write_changes(book, front)
    write_sources(book, front)
    write_column(book, budget.checks, places, known, results, scenario.currency)
    write_actuals(book[ACTUALS], voice)
    write_budget(book[BUDGET], voice)
    write_profit(book[PROFIT], voice)
    write_dates(book[DATES], budget, made.date().isoformat())
    summary = book["Summary"]
    overall = places.where("Summary").cell(budget.overall, 0)
    passed = float(known[budget.overall].flat[0]) == 1
    text = write_summary(
        summary, voice, made, template.house, overall, passed, front.changed, front.count_changed()
    )
    joined.alt_text[summary.title, 0] = spoken(summary, text)
    purposes = {title: PURPOSES.get(title) or purpose(study, title) for title in _order(book)}
    write_about(about, budget, made, purposes)
    _finish(book, budget, template)
    set_paper(book)
    say_the_rest(book, book.worksheets)
    KeptOut([scenario], template).from_book(book, results, joined.alt_text)
    return joined


def _left_out(budget: Budget) -> list[Column]:
    """Columns of the study that nothing of a budget refers to."""
    study = budget.study
    return [study.resources.column, *([study.replacement.column] if study.replacement is not None else [])]


def _order(book: Workbook) -> list[str]:
    return [*_FRONT, *(title for title in book.sheetnames if title not in _FRONT)]


def _finish(book: Workbook, budget: Budget, template: Template) -> None:
    """Sheets in order, paper, the sheet it opens on, and what the file says about itself."""
    scenario = budget.study.scenario
    for place, title in enumerate(_order(book)):
        book.move_sheet(title, place - book.sheetnames.index(title))
    paper = template.house.paper_code(scenario.currency, scenario.system)
    book.active = 0
    for sheet in book.worksheets:
        sheet.page_setup.paperSize = paper
        sheet.sheet_view.tabSelected = sheet.title == "Summary"
    book.calculation.fullCalcOnLoad = True
    book.properties.title = f"{scenario.name}: budget of platemaking, {budget.fiscal.month(0)} on"
    book.properties.creator = f"roi {roi.__version__}"
    book.properties.description = (
        "A year's budget month by month; live formulas, inputs on one sheet, actuals to type in."
    )


__all__ = ["compose_budget"]
