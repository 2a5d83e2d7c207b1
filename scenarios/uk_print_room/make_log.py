"""Writes job_log.xlsx, the job log of an invented university print room: no real university, job or person is in it.

One year from August of two A3 presses on processed metal, a row a form, as the room's job system exports it: dates
day first, most of them text; numbers as text with a point between thousands and a decimal comma, since whoever set
the export up had a continental computer. About 1 % of the rows hold typing errors. Impressions are good ones each
plate gives; none below 300, which go to the toner machines and never reach this log. Deterministic: only
`random()` of one seeded generator and sorting are used. Prices and the scenario are left to shop.toml, spending to
make_ledger.py.

Months are shares of plates, January first: April and May bring exam papers, September the start of term.
"""

from __future__ import annotations

import datetime as dt
import random
from dataclasses import dataclass
from itertools import pairwise
from math import exp, log
from pathlib import Path
from typing import TypeVar

from openpyxl import Workbook

SEED = 20258
FIRST_DAY, LAST_DAY = dt.date(2025, 8, 1), dt.date(2026, 7, 31)
MONTH_SHARES = (7, 7, 9, 11, 12, 6, 6, 9, 13, 9, 7, 4)  # % of plates, January first
EXAM_MONTHS = (4, 5)
CLOSED = [
    (dt.date(2025, 8, 25), dt.date(2025, 8, 25)),
    (dt.date(2025, 12, 22), dt.date(2026, 1, 2)),
    (dt.date(2026, 4, 2), dt.date(2026, 4, 7)),
    (dt.date(2026, 5, 4), dt.date(2026, 5, 4)),
    (dt.date(2026, 5, 25), dt.date(2026, 5, 25)),
]
FORMS_BY_COLOURS = {1: 1330, 2: 720, 4: 150}  # 2,200 forms, 3,370 plates
TWO_FORM_JOBS = 250
# Good impressions at shares of forms; between them interpolated in the logarithm.
IMPRESSIONS_AT = (
    (0.0, 300),
    (0.25, 420),
    (0.5, 600),
    (0.75, 1_100),
    (0.9, 2_500),
    (0.97, 6_000),
    (1.0, 28_000),
)
CANCELLED = 4
FIRST_DOCKET = 61_001
HEADER = (
    "Docket",
    "Form",
    "Plated",
    "Press",
    "Plate",
    "Plates",
    "Good sheets",
    "Stock",
    "Screen",
    "Register",
    "Handling",
    "Reprint",
    "Same day",
)
PRESSES = {"two_colour": "A3 two-col", "one_colour": "A3 one-col"}
PLATES = {"wide": "335x490", "narrow": "325x450"}
# How many rows are mistyped, by what is wrong with them; 22 of 2,203 rows are 1 %.
ERRORS = {
    "letter O in a number": 4,
    "no such day": 4,
    "press misspelt": 3,
    "plate left out": 3,
    "negative number": 2,
    "two decimal commas": 1,
    "no such count of plates": 2,
    "entered twice": 3,
}
INVENTED = "All jobs of this log are invented. No real university, job or person is in it."

Cell = str | int | dt.date | None
T = TypeVar("T")


@dataclass
class Form:
    """One form as it really was, before anybody mistyped it; `screen` in lines per cm, 0 where not noted."""

    docket: int
    number: int
    day: dt.date
    press: str
    plate: str
    plates: int
    impressions: int
    stock: str
    screen: float
    tight: bool
    confined: bool
    reprint: bool
    rush: bool


def make_forms() -> list[Form]:
    """The year's forms by date, docket and form number."""
    draw = random.Random(SEED)
    colours = _shuffled(draw, [c for c, count in FORMS_BY_COLOURS.items() for _ in range(count)])
    jobs = _shuffled(draw, [2] * TWO_FORM_JOBS + [1] * (len(colours) - 2 * TWO_FORM_JOBS))
    runs = _shuffled(draw, [_impressions((n + 0.5) / len(jobs)) for n in range(len(jobs))])
    left = iter(colours)
    job_colours = [[next(left) for _ in range(count)] for count in jobs]
    days = _days(draw, [sum(job) for job in job_colours])

    forms = []
    for job, (counts, day, run) in enumerate(zip(job_colours, days, runs, strict=True)):
        most = max(counts)
        exam = day.month in EXAM_MONTHS and most == 1 and draw.random() < 0.6
        wide = draw.random() < {1: 0.12, 2: 0.9}.get(most, 1.0)
        press, plate = ("two_colour", "wide") if wide else ("one_colour", "narrow")
        stock = "silk" if draw.random() < (0.6 if most == 4 else 0.12) else "bond"
        screens = (52.0, 59.0, 68.5, 0.0)
        picked = screens[_pick(draw, (0.66, 0.27, 0.04, 0.03))]
        screen = 52.0 if exam else picked  # exam papers are text and line drawings
        tight = most == 4 and draw.random() < 0.3
        reprint, rush = draw.random() < 0.15, draw.random() < 0.04
        for number, plates in enumerate(counts, start=1):
            forms.append(
                Form(
                    FIRST_DOCKET + job,
                    number,
                    day,
                    press,
                    plate,
                    plates,
                    run,
                    stock,
                    screen,
                    tight and plates == 4,
                    exam,
                    reprint and not exam,
                    rush,
                )
            )
    for n in _shuffled(draw, [n for n, form in enumerate(forms) if form.impressions < 1_000])[:CANCELLED]:
        forms[n].impressions = 0
    return forms


def make_rows() -> list[list[Cell]]:
    """The rows below the header as the room keeps them, typing errors included."""
    draw = random.Random(SEED + 1)
    rows: list[list[Cell]] = []
    for f in make_forms():
        # One date in eight was typed into a real date cell, one number in five into a number cell.
        day: Cell = f.day if draw.random() < 0.125 else f.day.strftime("%d/%m/%Y")
        good: Cell = f.impressions if draw.random() < 0.2 else f"{f.impressions:,}".replace(",", ".")
        screen = f"{f.screen:.1f}/cm".replace(".", ",") if f.screen else None
        rows.append(
            [
                str(f.docket),
                f.number,
                day,
                PRESSES[f.press],
                PLATES[f.plate],
                f.plates,
                good,
                f.stock,
                screen,
                "close" if f.tight else None,
                "exam, stays in" if f.confined else "open",
                "yes" if f.reprint else "no",
                "yes" if f.rush else "no",
            ]
        )
    return _mistyped(draw, rows)


def workbook() -> Workbook:
    """The log as a workbook: the jobs, and a sheet that says they are invented."""
    book = Workbook()
    jobs = book.active
    jobs.title = "Jobs"
    for row in (HEADER, *make_rows()):
        jobs.append(row)
    for (cell,) in jobs.iter_rows(min_row=2, min_col=3, max_col=3):
        cell.number_format = "DD/MM/YYYY" if isinstance(cell.value, dt.date) else "@"
    jobs.freeze_panes = "A2"
    jobs.column_dimensions["C"].width = 12
    book.create_sheet("About").append([INVENTED])
    return book


def open_days() -> list[dt.date]:
    """Days on which the room works."""
    every = (FIRST_DAY + dt.timedelta(n) for n in range((LAST_DAY - FIRST_DAY).days + 1))
    return [d for d in every if d.weekday() < 5 and not any(a <= d <= b for a, b in CLOSED)]


def _pick(draw: random.Random, shares: tuple[float, ...]) -> int:
    at, drawn = 0.0, draw.random()
    for n, share in enumerate(shares):
        at += share
        if drawn < at:
            return n
    return len(shares) - 1


def _shuffled(draw: random.Random, values: list[T]) -> list[T]:
    keyed = [(draw.random(), n) for n in range(len(values))]
    return [values[n] for _, n in sorted(keyed)]


def _impressions(share: float) -> int:
    for (low, few), (high, many) in pairwise(IMPRESSIONS_AT):
        if share <= high:
            part = (share - low) / (high - low)
            return round(exp(log(few) + part * (log(many) - log(few))) / 10) * 10
    raise AssertionError(share)


def _days(draw: random.Random, plates: list[int]) -> list[dt.date]:
    """A working day for each job, in order of days, so that each month gets its share of the plates."""
    months = [(FIRST_DAY.month - 1 + n) % 12 for n in range(12)]
    ends, at = [], 0.0
    for month in months:
        at += MONTH_SHARES[month] / 100 * sum(plates)
        ends.append(at)
    by_month: list[list[dt.date]] = [[d for d in open_days() if d.month == m + 1] for m in months]
    found, done, here = [], 0.0, 0
    for count in plates:
        while done + count / 2 > ends[here] and here < 11:
            here += 1
        done += count
        found.append(by_month[here][int(draw.random() * len(by_month[here]))])
    return sorted(found)


def _mistyped(draw: random.Random, rows: list[list[Cell]]) -> list[list[Cell]]:
    """The rows with `ERRORS`, each in a row of its own."""
    order = iter(_shuffled(draw, list(range(len(rows)))))
    column = {name: place for place, name in enumerate(HEADER)}

    def some(kind: str, name: str, *typed: Cell) -> None:
        for n in range(ERRORS[kind]):
            rows[next(order)][column[name]] = typed[n % len(typed)]

    some("letter O in a number", "Good sheets", "4OO", "1.O20", "65O", "5O0")
    some("no such day", "Plated", "31/06/2026", "30/02/2026", "14/13/2025", "00/10/2025")
    some("press misspelt", "Press", "A3 tow-col", "A3 one-cl", "A4 one-col")
    some("plate left out", "Plate", None)
    some("negative number", "Good sheets", "-600", -450)
    some("two decimal commas", "Good sheets", "1,2,50")
    some("no such count of plates", "Plates", 0, 22)
    doubled = sorted((next(order) for _ in range(ERRORS["entered twice"])), reverse=True)
    for n in doubled:
        rows.insert(n + 1, list(rows[n]))
    return rows


def main() -> None:
    target = Path(__file__).with_name("job_log.xlsx")
    workbook().save(target)
    forms = make_forms()
    plates = sum(f.plates for f in forms)
    print(
        f"{target.name}: {len(forms):,} forms, {plates / 12:.0f} plates a month, {len(open_days())} days open, "
        f"{sum(ERRORS.values())} rows mistyped"
    )


if __name__ == "__main__":
    main()
