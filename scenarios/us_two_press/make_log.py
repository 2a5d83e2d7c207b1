"""Writes job_log.csv, the job log of an invented shop: no real firm, job or customer is in it.

One calendar year of two presses, a row a form, in the shop's own words, with about 1 % typing errors, as
real logs have them. Impressions are good ones each plate gives. Deterministic: only uniform draws of one
seeded generator and sorting are used, which give the same file with every version of numpy. Run as a script
it writes the file beside itself and prints what the year adds up to. Prices and the scenario itself are left
to shop.toml.

Shares are of forms. 46.9 % have one colour, 34 % two, 0.8 % three, 18.3 % four, within two points of 45, 33,
2 and 20: at 1.26 forms a job that gives about 619 plates a month, 613 of them in rows without a typing error.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
from dataclasses import dataclass
from pathlib import Path

import numpy as np

SEED = 20251
YEAR = 2025
HOLIDAYS = {
    dt.date(2025, 1, 1),
    dt.date(2025, 5, 26),
    dt.date(2025, 7, 4),
    dt.date(2025, 9, 1),
    dt.date(2025, 11, 27),
    dt.date(2025, 12, 25),
}
FIRST_JOB = 25001
HEADER = (
    "Job",
    "Form",
    "Printed",
    "Press",
    "Plate",
    "Plates",
    "Impressions",
    "Stock",
    "Ruling",
    "Register",
    "Envelope",
    "Reprint",
    "Rush",
)

JOBS_BY_FORMS = {1: 2440, 2: 540, 3: 100, 4: 20}  # 3,100 jobs, 3,900 forms
FRONTS_BY_COLOURS = {1: 1349, 2: 1126, 3: 31, 4: 594}  # first form of each job
BACKS_BY_COLOURS = {1: 480, 2: 200, 4: 120}  # further forms
MONTH_SHARES = (7, 7.5, 8.5, 9, 8.5, 7.5, 6.5, 8, 9.5, 10.5, 9.5, 8)  # % of forms
# Good impressions at shares of forms; between them interpolated in the logarithm.
IMPRESSIONS_AT = {
    0.0: 100,
    0.25: 500,
    0.5: 1_100,
    0.6: 1_400,
    0.75: 2_500,
    0.83: 3_000,
    0.9: 5_700,
    0.96: 7_500,
    0.98: 11_000,
    0.99: 20_000,
    1.0: 30_000,
}
LONGEST = (52_000, 58_000, 67_000, 85_000)

ENVELOPE_JOBS = 420
CANCELLED = 6
UNCOATED = 0.65
FINE = 0.05
UNKNOWN_RULING = 0.08

# Press: units, sheets an hour, make-ready minutes a pass, staffed hours a year.
PRESSES = {"two_colour": (2, 6_000, 14, 1_700), "one_colour": (1, 5_000, 8, 1_700)}
RUNNING_WASTE = 0.04
MAKE_READY_SHEETS = 25  # a pass


@dataclass
class Form:
    """One form as it really was, before anybody mistyped it."""

    job: int
    number: int
    day: dt.date
    press: str
    plate: str
    plates: int
    impressions: int
    stock: str
    ruling: str
    tight: bool
    envelope: bool
    reprint: bool
    rush: bool


def make_forms() -> list[Form]:
    """The year's forms by date, job and form number."""
    rng = np.random.Generator(np.random.PCG64(SEED))
    counts = _shuffled(rng, np.repeat(list(JOBS_BY_FORMS), list(JOBS_BY_FORMS.values())))
    jobs = counts.size
    fronts = _shuffled(rng, np.repeat(list(FRONTS_BY_COLOURS), list(FRONTS_BY_COLOURS.values())))
    backs = iter(_shuffled(rng, np.repeat(list(BACKS_BY_COLOURS), list(BACKS_BY_COLOURS.values()))).tolist())
    colours = [
        [int(front), *(next(backs) for _ in range(n - 1))] for front, n in zip(fronts, counts, strict=True)
    ]
    most = np.array([max(c) for c in colours])
    good = _impressions(rng, counts, most)
    days = np.sort(_days(rng, counts))

    # Envelopes are single forms of one or two colours.
    could = np.flatnonzero((most <= 2) & (counts == 1) & (good < 20_000))
    envelope = np.zeros(jobs, bool)
    envelope[_shuffled(rng, could)[:ENVELOPE_JOBS]] = True
    # The one-colour press takes envelopes, most one-colour work and some two-colour work in two passes.
    on_small = envelope | (rng.random(jobs) < np.select([most == 1, most == 2], [0.97, 0.22], 0.0))
    coated = _share(rng, counts, 1 - UNCOATED, np.where(envelope, 0.0, np.where(most >= 3, 4.0, 1.0)))
    fine = _share(rng, counts, FINE, np.where(coated & (most >= 3), 1.0, 0.02))
    unknown = _share(rng, counts, UNKNOWN_RULING, np.where(fine, 0.0, 1.0))
    tight = (most >= 4) & (rng.random(jobs) < 1 / 3)
    reprint, rush = rng.random(jobs) < 0.12, rng.random(jobs) < 0.03
    plain = np.flatnonzero((counts == 1) & (good < 5_000))
    good[_shuffled(rng, plain)[:CANCELLED]] = 0
    picks = rng.random((jobs, 3))

    forms = []
    for j in range(jobs):
        stocks = ("wove",) if envelope[j] else ("gloss", "silk") if coated[j] else ("bond", "offset", "index")
        rulings = (
            ("175", "175", "175 lpi", "200")
            if fine[j]
            else ("",)
            if unknown[j]
            else ("133", "133", "150", "150 lpi")
        )
        for number, plates in enumerate(colours[j], start=1):
            forms.append(
                Form(
                    FIRST_JOB + j,
                    number,
                    dt.date.fromordinal(int(days[j])),
                    "one_colour" if on_small[j] else "two_colour",
                    _plate(bool(on_small[j]), bool(envelope[j]), picks[j, 0]),
                    plates,
                    int(good[j]),
                    stocks[int(picks[j, 1] * len(stocks))],
                    rulings[int(picks[j, 2] * len(rulings))],
                    bool(tight[j]) and plates >= 4,
                    bool(envelope[j]),
                    bool(reprint[j]),
                    bool(rush[j]),
                )
            )
    return forms


def make_rows() -> list[list[str]]:
    """The rows below the header as the shop keeps them, typing errors included."""
    rows = [
        [
            str(f.job),
            str(f.number),
            f.day.strftime("%m/%d/%Y"),
            {"two_colour": "2-color", "one_colour": "1-color"}[f.press],
            {
                "large": "Large",
                "large_long": "Large long",
                "letter": "Letter",
                "envelope": "Env",
                "tabloid": "Tabloid",
            }[f.plate],
            str(f.plates),
            f"{f.impressions:,}" if f.impressions >= 10_000 else str(f.impressions),
            f.stock,
            f.ruling,
            "tight" if f.tight else "",
            "x" if f.envelope else "",
            "x" if f.reprint else "",
            "x" if f.rush else "",
        ]
        for f in make_forms()
    ]
    return _mistyped(rows)


def csv_text() -> str:
    """The whole file as text, lines ended by a line feed."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows([HEADER, *make_rows()])
    return out.getvalue()


def press_use(forms: list[Form]) -> dict[str, float]:
    """Hours needed by hours staffed, by press: running (waste and make-ready sheets too) and make-readies."""
    use = {}
    for press, (units, speed, minutes, staffed) in PRESSES.items():
        hours = 0.0
        for f in forms:
            if f.press == press:
                passes = -(-f.plates // units)
                gross = f.impressions * (1 + RUNNING_WASTE) + MAKE_READY_SHEETS
                hours += passes * (gross / speed + minutes / 60)
        use[press] = hours / staffed
    return use


def _shuffled(rng: np.random.Generator, values: np.ndarray) -> np.ndarray:
    return np.asarray(values)[np.argsort(rng.random(len(values)), kind="stable")]


def _share(rng: np.random.Generator, counts: np.ndarray, share: float, weight: np.ndarray) -> np.ndarray:
    """Jobs drawn, the likelier the larger their weight, until they hold `share` of the forms."""
    with np.errstate(divide="ignore"):
        order = np.argsort(rng.random(counts.size) / weight, kind="stable")
    drawn = np.zeros(counts.size, bool)
    drawn[order[np.cumsum(counts[order]) <= share * counts.sum()]] = True
    return drawn


def _impressions(rng: np.random.Generator, counts: np.ndarray, most: np.ndarray) -> np.ndarray:
    """Good impressions of each job; four-colour jobs tend to be shorter, the longest are single forms."""
    rank = rng.random(counts.size) ** np.where(most >= 3, 2.0, 1.0)
    rank[counts > 1] = np.minimum(rank[counts > 1], 0.98 + 0.001 * rng.random((counts > 1).sum()))
    order = np.argsort(rank, kind="stable")
    before = np.cumsum(counts[order]) - counts[order]
    at = (before + counts[order] / 2) / counts.sum()
    good = np.empty(counts.size, np.int64)
    good[order] = (
        np.rint(np.exp(np.interp(at, list(IMPRESSIONS_AT), np.log(list(IMPRESSIONS_AT.values())))) / 5) * 5
    )
    good[order[-len(LONGEST) :]] = LONGEST
    return good


def _days(rng: np.random.Generator, counts: np.ndarray) -> np.ndarray:
    """A working day (as an ordinal) for each job, in order of months, by the month shares."""
    ends = np.cumsum(MONTH_SHARES) / sum(MONTH_SHARES) * counts.sum()
    month = np.searchsorted(ends, np.cumsum(counts) - counts / 2)
    spread = rng.random(counts.size)
    days = np.empty(counts.size, np.int64)
    for m in range(12):
        first = dt.date(YEAR, m + 1, 1)
        after = dt.date(YEAR + (m == 11), (m + 1) % 12 + 1, 1)
        every = [first + dt.timedelta(n) for n in range((after - first).days)]
        open_days = np.array([d.toordinal() for d in every if d.weekday() < 5 and d not in HOLIDAYS])
        here = month == m
        days[here] = open_days[(spread[here] * open_days.size).astype(int)]
    return days


def _plate(on_small: bool, envelope: bool, pick: float) -> str:
    """Three working sizes and two rare ones."""
    if not on_small:
        return "large_long" if pick < 0.012 else "large"
    if envelope:
        return "envelope"
    return "tabloid" if pick < 0.015 else "letter"


def _mistyped(rows: list[list[str]]) -> list[list[str]]:
    """The rows with forty typing errors, each in a row of its own."""
    rng = np.random.Generator(np.random.PCG64(SEED + 1))
    order = iter(_shuffled(rng, np.arange(len(rows))).tolist())
    column = {name: place for place, name in enumerate(HEADER)}

    def some(count: int, name: str, typed: dict[int, str] | None = None, text: str = "") -> None:
        for n in range(count):
            rows[next(order)][column[name]] = (typed or {}).get(n, text)

    for _ in range(6):  # the letter O for a zero
        row = next(r for r in (rows[n] for n in order) if "0" in r[column["Impressions"]].strip("0"))
        row[column["Impressions"]] = row[column["Impressions"]].replace("0", "O", 1)
    some(5, "Printed", {0: "02/30/2025", 1: "6/31/2025"}, "13/45/2025")
    some(6, "Press", {0: "2-colr", 1: "1-colour press", 2: "2color"}, "1-colr")
    some(6, "Plate")
    some(4, "Impressions", {0: "-500", 1: "-1200"}, "-2500")
    some(3, "Impressions", {0: "12.5.00"}, "1.250.0")
    some(4, "Plates", {0: "44", 1: "22"}, "0")
    doubled = sorted((next(order) for _ in range(6)), reverse=True)
    for n in doubled:
        rows.insert(n + 1, list(rows[n]))
    return rows


def main() -> None:
    forms = make_forms()
    target = Path(__file__).with_name("job_log.csv")
    target.write_bytes(csv_text().encode("utf-8"))
    plates = sum(f.plates for f in forms)
    print(
        f"{target.name}: {len({f.job for f in forms}):,} jobs, {len(forms):,} forms, "
        f"{plates / 12:.0f} plates a month"
    )
    for press, use in press_use(forms).items():
        print(f"{press}: {use:.0%} of the hours staffed")


if __name__ == "__main__":
    main()
