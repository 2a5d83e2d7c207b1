"""The forms that each row of a log stands for, from its columns: stated, or derived from quantity and
imposition.

Plates of one set, good impressions; the rules are in `imposition`. Rows found bad are marked in `BadRows` and
get harmless numbers, so that every kind of fault is found in one reading.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from roi.scenario.badrows import BadRows
from roi.scenario.cells import read_numbers, read_words
from roi.scenario.imposition import IMPOSITIONS, Forms, colours, forms_of, sides_of_pages
from roi.scenario.logspec import LogSpec
from roi.scenario.tables import Column
from roi.scenario.worklog import Index, Whole

MOST_PLATES = 16  # of one form; more is a typing error, no press carries so many units
MOST_PIECES = 1e8  # pieces or impressions; more is a typing error
MOST_SIDES = 1_000  # of one job; more is a typing error


def read_forms(columns: Mapping[str, Column], settings: LogSpec, bad: BadRows, where: str) -> Forms:
    """Forms of every row, bad ones included (the caller drops those); `where` is the scenario's table."""
    if "plates" in columns:
        plates = read_numbers(columns["plates"], settings.decimal, bad, low=1, high=MOST_PLATES, whole=True)
        good = read_numbers(columns["impressions"], settings.decimal, bad, low=0, high=MOST_PIECES)
        row = np.arange(plates.size)
        return Forms(row, np.zeros_like(row), plates.astype(np.int64), good)

    quantity = read_numbers(columns["quantity"], settings.decimal, bad, low=0, high=MOST_PIECES)
    number_up = read_numbers(columns["number_up"], settings.decimal, bad, low=1, high=10_000, whole=True)
    front, back = _colours(columns["colours"], bad)
    imposition = _imposition(columns["imposition"], front, back, settings, bad, where)
    perfecting = imposition == IMPOSITIONS.index("perfecting")
    most = np.where(perfecting, front + back, np.maximum(front, back))
    bad.add(
        most > MOST_PLATES,
        f"gives more than {MOST_PLATES} plates a form",
        "correct the typing error",
        columns["colours"],
    )
    sides = _sides(columns, settings, bad)
    # A row found bad may hold anything: one side of one plate keeps it harmless.
    wrong = bad.mask
    return forms_of(
        quantity,
        number_up,
        np.where(wrong, 1, front),
        np.where(wrong, 0, back),
        imposition,
        np.where(wrong, 0, sides),
    )


def _colours(column: Column, bad: BadRows) -> tuple[Whole, Whole]:
    """Colours of front and back, one each a row."""
    counts = np.array([colours(cell) for cell in column.cells], np.int64)[column.codes]
    none = np.asarray(counts.sum(axis=1) == 0)
    bad.add(
        none,
        "does not say colours",
        'write "4/1", or "4" for one side (and keep the spreadsheet program from making it a date)',
        column,
    )
    return counts[:, 0], counts[:, 1]


def _imposition(
    column: Column, front: Whole, back: Whole, settings: LogSpec, bad: BadRows, where: str
) -> Index:
    """Index into IMPOSITIONS; an empty cell is one side where only one is printed, and bad otherwise."""
    found = read_words(
        column, IMPOSITIONS, settings.words["imposition"], bad, f"{where} words.imposition", blank=True
    )
    two_sided = (front > 0) & (back > 0)
    single = IMPOSITIONS.index("one-side")
    bad.add(
        (found < 0) & two_sided, "is empty for a job with two printed sides", "say how it is imposed", column
    )
    bad.add(
        (found == single) & two_sided,
        "says one side for a job with colours on both",
        "correct the imposition or the colours",
        column,
    )
    return np.where(found < 0, single, found)


def _sides(columns: Mapping[str, Column], settings: LogSpec, bad: BadRows) -> Whole:
    """Printed sides by pages; 0 where the row states no pages."""
    if "pages" not in columns:
        return np.zeros(bad.mask.size, np.int64)
    pages = read_numbers(columns["pages"], settings.decimal, bad, low=1, high=1e6, whole=True, blank=0)
    per_side = read_numbers(
        columns["pages_per_side"], settings.decimal, bad, low=1, high=1e6, whole=True, blank=0
    )
    bad.add(
        (pages > 0) & (per_side == 0),
        "has a number, but pages a side is empty",
        "fill both in",
        columns["pages"],
    )
    sides = sides_of_pages(pages, np.maximum(per_side, 1))
    bad.add(
        sides > MOST_SIDES,
        f"gives more than {MOST_SIDES:,} printed sides",
        "correct the typing error",
        columns["pages"],
    )
    return sides
