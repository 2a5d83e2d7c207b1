"""The decision workbook: every sheet laid out, written, and finished with the results its formulas must have."""

from __future__ import annotations

import os
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from openpyxl import Workbook

import roi
from roi.answers.checks import checks
from roi.answers.ranges import Ranges, try_ranges
from roi.answers.verdict import verdict
from roi.engine.evaluate import Values, extend
from roi.model.study import Study
from roi.workbook.cells import Results
from roi.workbook.finish import finish
from roi.workbook.front import Front, write_about, write_changes, write_sources, write_words
from roi.workbook.inputs import lay_out_inputs, write_inputs, write_units
from roi.workbook.lines import write_column
from roi.workbook.placing import Places
from roi.workbook.styles import add_styles
from roi.workbook.summary import write_summary
from roi.workbook.work import lay_out_work, write_work


def write_workbook(study: Study, values: Values, path: Path) -> Results:
    """Write the workbook of a study; the old file stays whole until the new one is.

    `values` are the study's lines for its best case. Returns the result of every formula cell, by sheet and cell.
    Raises OSError when the file can't be written.
    """
    made = _now()
    book, front = _compose(study, values, made, try_ranges(study))
    with tempfile.TemporaryDirectory() as folder:
        draft = Path(folder) / "draft.xlsx"
        book.save(draft)
        finish(draft, path, front.results, alt_text=front.alt_text, made=made)
    return front.results


def results_of(study: Study, changes: dict[str, float]) -> Results:
    """What every formula cell must show once inputs are changed ({key: value in the engine's unit}), by sheet and cell."""
    return _compose(study, study.evaluate(changes), _now(), None)[1].results


def _compose(study: Study, values: Values, made: datetime, ranges: Ranges | None) -> tuple[Workbook, Front]:
    """All sheets, with the result of each formula beside them."""
    words, sentences = verdict(study)
    check_column, _, overall = checks(study)
    known = extend(values, [words, check_column])
    columns = [
        study.shop.column,
        *(s.column for s in study.methods.values()),
        study.cash_flow.column,
        study.comparison.column,
    ]
    places, results = Places(), Results()
    rows, conversions = lay_out_inputs(study.scenario, study.book, places)
    lay_out_work(study.work, places)
    ends = {column.title: places.lay_out(column) for column in (*columns, words, check_column)}

    book = Workbook()
    add_styles(book)
    about = book.active
    about.title = "About"
    summary = book.create_sheet("Summary")
    front = Front(study, places, known, results, made, ranges, rows)
    words_sheet = write_column(book, words, places, known, results, study.scenario.currency)
    write_words(words_sheet, front, sentences, ends["Words"] + 2)
    write_inputs(book, rows, study.scenario.currency)
    write_units(book, conversions)
    write_work(book, study.work, study.scenario.currency, study.scenario.work_source)
    for column in columns:
        write_column(book, column, places, known, results, study.scenario.currency)
    changed = write_changes(book, front)
    write_sources(book, front)
    write_column(book, check_column, places, known, results, study.scenario.currency)
    write_summary(summary, front, overall, changed)
    write_about(
        about,
        front,
        {
            title: _PURPOSES.get(title) or _method_words(study, title)
            for title in book.sheetnames
            if title != "About"
        },
    )
    book.calculation.fullCalcOnLoad = True
    book.properties.title = f"{study.scenario.name}: ways of making plates compared"
    book.properties.creator = f"roi {roi.__version__}"
    book.properties.description = (
        "What each way of making plates costs over years; live formulas, inputs on one sheet."
    )
    book.active = book.sheetnames.index("Summary")
    for sheet in book.worksheets:
        sheet.sheet_view.tabSelected = sheet.title == "Summary"
    return book, front


def _now() -> datetime:
    """The time the workbook is made; SOURCE_DATE_EPOCH fixes it, so that the same input gives the same bytes."""
    epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
    return (
        datetime.fromtimestamp(int(epoch), UTC)
        if epoch.isdigit()
        else datetime.now(UTC).replace(microsecond=0)
    )


_PURPOSES = {
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
}


def _method_words(study: Study, title: str) -> str:
    return next(m.label for m in study.scenario.methods if m.short == title) + ", worked line by line"
