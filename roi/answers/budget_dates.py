"""Dates that a budget year must know: quotes that run out, prices that rise on a month, notice to be given. As delivered.

Dates are YYYY-MM-DD or a month and its year; nothing is reckoned from them here.
"""

from __future__ import annotations

import calendar
import math
from dataclasses import dataclass

from roi.model.study import Study
from roi.scenario.stated import NO_SOURCE, StatedInput

_NAMES = calendar.month_abbr  # January at 1


@dataclass(frozen=True)
class Fiscal:
    """A fiscal year: the calendar year it begins in, and the month, 1 for January."""

    year: int
    begins: int

    def month(self, place: int) -> str:
        """The month at a place from 0, negative before the year: "Aug 2026"."""
        year, month = divmod(self.begins - 1 + place, 12)
        return f"{_NAMES[month + 1]} {self.year + year}"

    def first_day_of(self, place: int) -> str:
        """The first day of the month at a place, YYYY-MM-DD."""
        year, month = divmod(self.begins - 1 + place, 12)
        return f"{self.year + year:04d}-{month + 1:02d}-01"

    @property
    def last_day(self) -> str:
        """The last day, YYYY-MM-DD."""
        year, month = divmod(self.begins - 1 + 11, 12)
        year += self.year
        return f"{year:04d}-{month + 1:02d}-{calendar.monthrange(year, month + 1)[1]:02d}"


@dataclass(frozen=True)
class Dated:
    """Something with a date: `kind` is "quote", "price" or "notice"."""

    kind: str
    when: str
    what: str


def dates(study: Study, fiscal: Fiscal, today: str) -> list[Dated]:
    """Quotes that run out by the year's end, price rises within the year, notice; earliest kinds first."""
    return [*_quotes(study, fiscal, today), *_rises(study, fiscal), *_notice(study, fiscal)]


def _quotes(study: Study, fiscal: Fiscal, today: str) -> list[Dated]:
    used = study.book.inputs
    stated = [s for s in study.scenario.inputs.values() if s.key in used and s.valid_until]
    due = sorted(
        (s for s in stated if s.valid_until <= fiscal.last_day), key=lambda s: (s.valid_until, s.key)
    )
    month = study.scenario.stated("leaving", "month")
    switch = 0 if month is None else round(month.best)
    found = []
    for s in due:
        source = f", {s.source}" if s.source not in ("", NO_SOURCE) else ""
        found.append(
            Dated("quote", s.valid_until, f"{s.label}: {_run_out(s, today, fiscal, switch)}{source}")
        )
    return found


def _run_out(stated: StatedInput, today: str, fiscal: Fiscal, switch: int) -> str:
    if stated.valid_until < today:
        return "has run out"
    if stated.valid_until < fiscal.first_day_of(switch):
        return f"runs out before the switch at the start of {fiscal.month(switch)}; order before it does, or ask for longer"
    return "runs out then; order or ask again before"


def _rises(study: Study, fiscal: Fiscal) -> list[Dated]:
    found = []
    for group in study.scenario.names("price_steps"):
        change, year, month = (
            study.scenario.stated("price_steps", group, key) for key in ("change", "year", "month")
        )
        if change is None or year is None or year.best != 1:
            continue
        place = 0 if month is None else round(month.best) - 1
        found.append(
            Dated(
                "price",
                fiscal.month(place),
                f"Prices of {group.replace('_', ' ')} change by {change.best:+.1%}",
            )
        )
    return found


def _notice(study: Study, fiscal: Fiscal) -> list[Dated]:
    notice, month = study.scenario.stated("leaving", "notice"), study.scenario.stated("leaving", "month")
    if notice is None or month is None or not notice.best:
        return []
    months, switch = notice.best * notice.factor, round(month.best)
    if months > switch:
        # As the reckoning counts (model.dues): notice begins with the year, and what of it is left at the switch is paid.
        what = (
            f"The {months:g} months of notice count from the start of this month: {months - switch:g} of them lie after the "
            f"switch at the start of {fiscal.month(switch)} and are paid"
        )
        return [Dated("notice", fiscal.month(0), what)]
    # Whole months: notice given within a month counts from its end.
    by = fiscal.month(switch - 1 - math.ceil(months))
    what = f"Last month to give the {months:g} months of notice, to leave the old method at the start of {fiscal.month(switch)}"
    return [Dated("notice", by, what)]


__all__ = ["Dated", "Fiscal", "dates"]
