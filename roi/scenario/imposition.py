"""Plates and impressions of a job's forms, from quantity, number up, colours, imposition and pages.

Plates are those of one set, impressions are good ones each plate gives. The rules:

- *Number up* is how many finished pieces (for pages: copies of the section) one sheet yields once it is
  printed and cut; sheets = quantity / number up, rounded up.
- *Sheetwise*: each side is a form with the plates of its own colours; each gives one impression a sheet.
- *Work-and-turn, work-and-tumble*: fronts and backs stand side by side on one form that prints both sides of
  the sheet: one set of plates, two impressions a sheet. A piece is half front, half back over the two runs,
  so the sheet still yields number-up pieces. Plates = the larger of the two colour counts (the front's, as a
  log writes it).
- *Perfecting*: both sides in one pass are one form, its plates are those of both sides, one impression a
  sheet.
- *One side*, or no colours on the other side: one form.
- *Pages*: sides = pages / pages a side, rounded up, in place of one or two. Sheetwise sides alternate front
  and back; perfected sides go in pairs, an odd one alone with the front's colours; a work-and-turn form
  carries one side's pages.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np

from roi.scenario.tables import Cell, as_text
from roi.scenario.worklog import Bools, Floats, Index, Whole

IMPOSITIONS = ("one-side", "sheetwise", "work-and-turn", "work-and-tumble", "perfecting")
_COLOURS = re.compile(r"(\d{1,3})(?:\s*[/+]\s*(\d{1,3}))?")


@dataclass(frozen=True)
class Forms:
    """One entry a form: `row` it comes from, `place` within its row (0, 1, ..), `plates`, `good`."""

    row: Index
    place: Index
    plates: Whole
    good: Floats


def colours(cell: Cell) -> tuple[int, int]:
    """Colours of front and back: "4/1" is (4, 1), "4" is (4, 0). (0, 0) where the cell says no such thing."""
    parts = _COLOURS.fullmatch(as_text(cell))
    return (int(parts[1]), int(parts[2] or 0)) if parts else (0, 0)


def sides_of_pages(pages: Floats, pages_per_side: Floats) -> Whole:
    """Printed sides, pages / pages a side rounded up; 0 where pages is 0, that is not stated."""
    return np.asarray(np.ceil(pages / pages_per_side), np.int64)


def is_turned(imposition: Index) -> Bools:
    """Where one form prints both sides of the sheet."""
    return np.isin(imposition, [IMPOSITIONS.index("work-and-turn"), IMPOSITIONS.index("work-and-tumble")])


def forms_of(
    quantity: Floats, number_up: Floats, front: Whole, back: Whole, imposition: Index, sides: Whole
) -> Forms:
    """The forms of each job row, in row order.

    Parameters
    ----------
    quantity : finished pieces, 0 or more;  number_up : 1 or more
    front, back : colours, not both 0;  imposition : index into IMPOSITIONS
    sides : printed sides by pages, 0 where pages are not stated
    All of shape (rows,).
    """
    sheets = np.ceil(quantity / number_up)
    turned = is_turned(imposition)
    both = (front > 0) & (back > 0) & ~turned
    paired = both & (imposition == IMPOSITIONS.index("perfecting"))
    sides = np.where(sides > 0, sides, np.where(both, 2, 1))
    more = np.maximum(front, back)

    first_count = np.where(paired, sides // 2, np.where(both, sides - sides // 2, sides))
    first_plates = np.where(paired, front + back, np.where(both, front, more))
    second_count = np.where(paired, sides % 2, np.where(both, sides // 2, 0))
    second_plates = np.where(paired, front, back)

    rows = np.arange(quantity.size)
    row = np.concatenate([np.repeat(rows, first_count), np.repeat(rows, second_count)])
    plates = np.concatenate([np.repeat(first_plates, first_count), np.repeat(second_plates, second_count)])
    order = np.argsort(row, kind="stable")
    row, plates = row[order], plates[order]
    starts = np.cumsum(first_count + second_count) - (first_count + second_count)
    good = sheets * np.where(turned, 2.0, 1.0)
    return Forms(row, np.arange(row.size) - starts[row], plates, good[row])
