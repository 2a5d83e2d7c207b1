"""The period a log covers: its days, the plates' spread over calendar months, and what looks odd about the
dates.

Days are counted inclusively. Shares are fractions that sum to 1.
"""

from __future__ import annotations

import datetime as dt

import numpy as np

from roi.scenario.worklog import Days, Floats

SHORT_LOG = 90.0  # days; below, a season is taken for a year
LONG_LOG = 800.0  # days; above, one mistyped year is the likelier reason
ONE_MONTH = 31.0  # days
BUNCHED, BUNCHED_LAST = 0.40, 1 / 3  # shares of the plates


def bounds(day: Days, stated: tuple[dt.date, dt.date] | None) -> tuple[np.datetime64, np.datetime64]:
    """First and last day of the period: as stated, else the first and last date of the log."""
    if stated is None:
        return day.min(), day.max()
    return np.datetime64(stated[0], "D"), np.datetime64(stated[1], "D")


def length(first: np.datetime64, last: np.datetime64) -> float:
    """Days from first to last, both counted."""
    return float((last - first) / np.timedelta64(1, "D")) + 1


def month_shares(day: Days, plates: Floats, first: np.datetime64, last: np.datetime64) -> Floats:
    """Share of plates by calendar month, shape (12,), of a year like the period.

    A month's plates are divided by how often the period holds it, in fractions of a month, so that a month
    seen twice or by half counts once. Months the period holds by less than half take the mean of the others
    (when all are held by less than half, the ones touched count as held).
    """
    dates = np.arange(first, last + np.timedelta64(1, "D"), dtype="datetime64[D]")
    starts = dates.astype("datetime64[M]")
    ends = (starts + np.timedelta64(1, "M")).astype("datetime64[D]")
    month_days = (ends - starts.astype("datetime64[D]")).astype(float)
    held = np.bincount(_month(dates), 1 / month_days, minlength=12)
    total = np.bincount(_month(day), plates, minlength=12)
    covered = held >= 0.5
    if not (covered & (total > 0)).any():
        covered = held > 0
    rate = np.divide(total, held, out=np.zeros(12), where=covered)
    rate[~covered] = rate[covered].mean()
    return np.asarray(rate / rate.sum(), np.float64)


def date_notes(day: Days, plates: Floats, days: float, *, stated: bool) -> list[str]:
    """What a reader should know: a short log, a suspiciously long one, dates bunched like invoice dates."""
    notes = []
    if days < SHORT_LOG:
        notes.append(
            f"the log covers {days:.0f} day{'s' if days > 1 else ''}: under {SHORT_LOG:.0f} days a season may pass for a year"
        )
    if days > LONG_LOG and not stated:
        notes.append(
            f"the log covers {days:,.0f} days, {day.min()} to {day.max()}: "
            "if a year is mistyped, state from and to"
        )
    if bunched := bunching(day, plates, days):
        notes.append(f"{bunched}; for days' loads they are spread evenly over each month's work days")
    return notes


def bunching(day: Days, plates: Floats, days: float) -> str:
    """How dates bunch in a way that plate-making does not, in words; "" where they don't, or one month can't show it.

    More than a third of the plates on the last working day of a month, or two fifths on the last two or on one
    day of the month.
    """
    if days <= ONE_MONTH:
        return ""
    next_month = (day.astype("datetime64[M]") + np.timedelta64(1, "M")).astype("datetime64[D]")
    for working_days, most, words in (
        (2, BUNCHED, "the last two working days of a month: dates bunch at month end, they"),
        (1, BUNCHED_LAST, "the last working day of a month: dates bunch at month end, they"),
    ):
        late = day >= np.busday_offset(next_month, -working_days, roll="forward")
        share = plates[late].sum() / plates.sum()
        if share > most:
            return f"{share:.0%} of the plates fall on {words} look like invoice dates"
    day_of_month = ((day - day.astype("datetime64[M]").astype("datetime64[D]")).astype(int)) + 1
    by_day = np.bincount(day_of_month, plates) / plates.sum()
    if by_day.max() > BUNCHED:
        return f"{by_day.max():.0%} of the plates fall on day {by_day.argmax()} of a month: they look like invoice dates"
    return ""


def _month(day: Days) -> np.ndarray:
    """0 for January to 11 for December."""
    return np.asarray(day.astype("datetime64[M]").astype(int) % 12)
