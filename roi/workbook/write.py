"""The decision workbook: composed, saved, and finished with the results its formulas must have."""

from __future__ import annotations

import gc
import tempfile
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from openpyxl import Workbook
from openpyxl.writer.excel import ExcelWriter

from roi.engine.evaluate import Values
from roi.model.study import Study
from roi.workbook.cells import Results
from roi.workbook.compose import compose
from roi.workbook.finish import AltTexts, finish
from roi.workbook.made import now
from roi.workbook.read_template import DEFAULT, load_template
from roi.workbook.ready import ReadyRows
from roi.workbook.template import Template
from roi.workbook.tongue import Tongue

if TYPE_CHECKING:
    from roi.answers.budget import Budget


def write_workbook(
    study: Study, values: Values, path: Path | BinaryIO, template: Template | None = None
) -> Results:
    """Write the workbook of a study; the old file stays whole until the new one is.

    `values` are the study's lines at the best values; `path` may be an open binary file; `template` None is the shipped
    default's. Returns the result of every formula cell, by sheet and cell. Raises OSError when the file can't be written.
    """
    made = now()
    with _uncollected():
        book, front = compose(study, values, made, template or load_template(DEFAULT))
        _save(book, path, front.results, front.alt_text, made, front.ready)
    return front.results


def write_side_by_side(
    studies: Sequence[Study],
    values: Sequence[Values],
    path: Path | BinaryIO,
    template: Template | None = None,
    *,
    everything: bool = False,
) -> Results:
    """Write one workbook of several studies side by side; as `write_workbook`, with the values of each study.

    everything : with all the sheets the template wants of each, instead of those a small layout has
    """
    # Not on top: a tenth of a second that a comparison needn't wait. So too below.
    from roi.workbook.side_by_side import compose_side_by_side, small

    made = now()
    look = template or load_template(DEFAULT)
    with _uncollected():
        joined = compose_side_by_side(studies, values, made, look if everything else small(look))
        _save(joined.book, path, joined.results, joined.alt_text, made)
    return joined.results


def write_budget(budget: Budget, path: Path | BinaryIO, template: Template | None = None) -> Results:
    """Write the workbook of a budget; as `write_workbook`."""
    from roi.workbook.budget_book import compose_budget

    made = now()
    with _uncollected():
        joined = compose_budget(budget, made, template or load_template(DEFAULT))
        _save(joined.book, path, joined.results, joined.alt_text, made)
    return joined.results


def write_input_book(
    answers: Mapping[str, str], path: Path | BinaryIO, tongue: Tongue | None = None
) -> Results:
    """Write the workbook to fill in, with good answers in it (`scenario.starter`); as `write_workbook`.

    tongue : the language of its labels; None is English
    """
    from roi.workbook.input_book import compose_input

    made = now()
    book, results = compose_input(answers, made, tongue)
    _save(book, path, results, {}, made)
    return results


def _save(
    book: Workbook,
    path: Path | BinaryIO,
    results: Results,
    alt_text: AltTexts,
    made: datetime,
    ready: Mapping[str, ReadyRows] | None = None,
) -> None:
    rows = {sheet.title: ReadyRows(sheet, results.get(sheet.title, {})) for sheet in book.worksheets}
    rows.update(ready or {})
    for each in rows.values():
        each.take_cells()
    with tempfile.TemporaryFile() as draft:
        # Not packed: the finishing pass reads it at once.
        with zipfile.ZipFile(draft, "w") as package:
            ExcelWriter(book, package).save()
        finish(draft, path, results, alt_text=alt_text, ready=rows, made=made)


def results_of(study: Study, changes: dict[str, float], template: Template | None = None) -> Results:
    """What every formula cell must show once inputs are changed ({key: value in the engine's unit}), by sheet and cell."""
    return compose(study, study.evaluate(), now(), template or load_template(DEFAULT), changes)[1].results


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
