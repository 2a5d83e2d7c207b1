"""The work to be plated, one row a form, as arrays: what every later step starts from.

Plates are printing plates of one set; impressions are good ones, before waste. No prices. What the numbers
mean for plate life, reach and money is left to the model; how they are read is left to `joblog` and
`summary`.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from roi.scenario.problems import Problem

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Whole = npt.NDArray[np.int64]
Index = npt.NDArray[np.intp]
Days = npt.NDArray[np.datetime64]

DAYS_PER_YEAR = 365.25
FLAGS = ("uv", "tight", "abrasive", "envelope", "confined", "reprint", "rush")
DATE_KINDS = ("plating", "press", "invoice", "delivery")


@dataclass(frozen=True)
class Loads:
    """Levels of load, shape (n,) each, n from 1 to 24, in rising order of minutes.

    days : days a year;  plates : plates a day;  area : m2 a day
    typical, busy : positions of those days, from 0; the last level is the busiest day
    basis : in words, what the days are taken from
    """

    days: Floats
    plates: Floats
    area: Floats
    typical: int
    busy: int
    basis: str


@dataclass(frozen=True)
class WorkLog:
    """Forms of a period; every array is 1-D, one row a form, all of one length.

    weight : forms this row stands for in the period (1 for a log row; any positive number for a summary row)
    job : job number as text, "" where none
    day : datetime64[D], NaT where none (summary)
    press, size : indices into `presses` and `sizes`
    plates : printing plates of one set, that is colours of the form, 1 or more
    good : good impressions each plate gives, 0 or more (0 = plated and cancelled; work-and-turn is already
    doubled)
    ruling : lines per inch, 0 = unknown
    uncoated : False where the stock is unknown (the count is in `notes`)
    tight : tight four-colour register;  confined : must not leave the building
    days : days of the period;  month_share : shape (12,), share of plates by calendar month, sums to 1
    rows_read : rows of the file below its header, blank ones left out;  rows_skipped : how many of them were
    left out
    skipped : why, one problem a kind;  notes : what a reader must know about the reading
    date_kind : what the date says, one of plating, press, invoice, delivery
    ruling_unknown : weight of the forms without a ruling
    row : row of the file that a form was read from, the header being the first; None for a summary
    repeated : rows of the file that equal an earlier one in all that is read, job and date among it, as `twice` counts

    Of work that a workbook has kept, forms alike put together into a row, and None elsewhere:

    bin : the run bin of the row's forms, from 1: it stays when plate lives change
    jobs : jobs of the period; a job's forms of different rows share it evenly
    loads : levels of load
    """

    weight: Floats
    job: npt.NDArray[Any]
    day: Days
    press: Index
    size: Index
    plates: Whole
    good: Floats
    ruling: Floats
    uncoated: Bools
    tight: Bools
    uv: Bools
    abrasive: Bools
    envelope: Bools
    confined: Bools
    reprint: Bools
    rush: Bools
    presses: tuple[str, ...]
    sizes: tuple[str, ...]
    days: float
    month_share: Floats
    rows_read: int
    rows_skipped: int
    skipped: tuple[Problem, ...]
    notes: tuple[str, ...]
    date_kind: str
    ruling_unknown: float
    row: Whole | None = None
    repeated: int = 0
    bin: Index | None = None
    jobs: Floats | None = None
    loads: Loads | None = None

    @property
    def per_year(self) -> float:
        """Years' worth factor, 1/year: a sum over the log times this is the yearly amount."""
        return DAYS_PER_YEAR / self.days


def nothing_to_work_on(presses: Collection[str], sizes: Collection[str], where: str) -> list[Problem]:
    """A problem for each of press and plate size the scenario has none of: work can't be read without."""
    return [
        Problem(where, f"the scenario states no {what}", f"state the shop's {what} first")
        for what, ids in (("press", presses), ("plate size", sizes))
        if not ids
    ]
