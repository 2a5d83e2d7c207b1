"""The work stated as a summary instead of a log: plates a month by size, shares of forms by run, colours and
stock.

Shares are fractions of forms, 0 to 1 (or "65 %"), of all sizes together or of one size where `by_size` says so. Each
is taken to be independent of the others. The result is a `WorkLog` of weighted rows for one year, so that everything
after it treats a summary and a log alike.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from roi.scenario.problems import BadInput, Problem
from roi.scenario.shares import TOLERANCE, months_of, share_of, shares_of, table_of
from roi.scenario.words import mend_name, quoted, unknown_keys
from roi.scenario.worklog import DAYS_PER_YEAR, Floats, WorkLog, nothing_to_work_on

# Good impressions that stand for a class: the geometric middle of its bounds, rounded. "under_1000" is taken
# from 250, and "more" has no upper bound: 80,000 (50,000 to 130,000) is an assumption, stated in the notes.
RUNS = {"under_1000": 500.0, "to_5000": 2_200.0, "to_15000": 8_700.0, "to_50000": 27_000.0, "more": 80_000.0}
DEFAULT_COLOURS = {1: 0.5, 2: 0.3, 4: 0.2}  # common practice for small commercial work, no source
FINE_RULING = 175.0  # lpi, of forms above 150 lpi; that of the others is unknown (0) until stated
MOST_COLOURS = 16
LEAST_PLATES, MOST_PLATES = 0.01, 1e8  # a month, of a size that has any
MOST_USUAL = 150  # lpi
MANY = 4  # colours from which a form can need tight register
SINGLE = ("uncoated", "tight", "above_150_lpi", "uv", "confined")
# What readers call the keys.
RUN_WORDS = {
    "under_1000": "under 1,000",
    "to_5000": "1,000 to 5,000",
    "to_15000": "5,000 to 15,000",
    "to_50000": "15,000 to 50,000",
    "more": "above 50,000",
}
SINGLE_WORDS = {
    "uncoated": "uncoated stock",
    "tight": "tight register",
    "above_150_lpi": "rulings above 150 lpi",
    "uv": "UV ink",
    "confined": "work that must not leave the building",
}
OF_FORMS = ("colours", "runs", *SINGLE)
KEYS = ("plates_per_month", *OF_FORMS, "usual_ruling", "by_size", "press", "month_share", "example")
# What `roi new` puts in where nothing is answered: an example only while it stands as it was put in.
EXAMPLE_PLATES = 200.0  # a month, of each size
EXAMPLE_RUNS = dict(zip(RUNS, (0.5, 0.4, 0.08, 0.02, 0.0), strict=True))
EXAMPLE_KEYS = ("plates_per_month", "runs")
EXAMPLE_NOTES = {
    EXAMPLE_KEYS: "Plates a month and run lengths are an example, not the shop's own",
    ("plates_per_month",): "Plates a month are an example, not the shop's own",
    ("runs",): "Run lengths are an example, not the shop's own",
}

_RULING = re.compile(r"(\d+(?:\.\d+)?)\s*lpi", re.IGNORECASE)
_PLATES = re.compile(r"(\d{1,3}(?:,\d{3})+|\d+(?:\.\d+)?)\s*(?:plates?)?\s*(?:/\s*month)?", re.IGNORECASE)


@dataclass(frozen=True)
class Mix:
    """Shares of forms: by class of run, by colours, and of each of SINGLE."""

    runs: Mapping[str, float]
    colours: Mapping[int, float]
    single: Mapping[str, float]

    @property
    def many(self) -> float:
        """The share with so many colours that they can be in tight register."""
        return sum(share for count, share in self.colours.items() if count >= MANY)


def read_summary(
    spec: Mapping[str, object],
    units: Mapping[str, int],
    sizes: Sequence[str],
    *,
    where: str = "[summary]",
    press_labels: Mapping[str, str] | None = None,
) -> WorkLog:
    """The work of one year as `spec`, the scenario's [summary] table, states it.

    Parameters
    ----------
    units : printing units by press id, in scenario order;  sizes : plate size ids, in scenario order
    where : how messages call the table;  press_labels : what notes call a press, its id where none is given

    The weights of each size's rows times their plates sum to twelve times its plates a month.

    Raises
    ------
    BadInput
        With every fault of the table: unknown keys, sizes or presses, numbers that are no shares, shares that
        miss 1.
    """
    problems = unknown_keys(spec, KEYS, where)
    if lacking := nothing_to_work_on(units, sizes, where):
        raise BadInput([*lacking, *problems])
    presses = tuple(units)
    plates = _plates(spec, sizes, where, problems)
    mixes = _mixes(spec, sizes, where, problems)
    press = _presses(spec, presses, sizes, where, problems)
    months = months_of(spec, where, problems)
    usual = _usual_ruling(spec, where, problems)
    example = _example(spec, plates, mixes, where, problems)
    if problems:
        raise BadInput(problems)
    rows = _rows(plates, mixes)
    flags = {key: rows[:, 3 + n] > 0 for n, key in enumerate(SINGLE)}
    size = rows[:, 1].astype(np.intp)
    never = np.zeros(size.size, np.bool_)
    return WorkLog(
        weight=rows[:, 0],
        job=np.full(size.size, "", object),
        day=np.full(size.size, "NaT", "datetime64[D]"),
        press=np.array([press[name] for name in sizes], np.intp)[size],
        size=size,
        plates=rows[:, 2].astype(np.int64),
        good=rows[:, -1],
        ruling=np.where(flags["above_150_lpi"], FINE_RULING, usual),
        uncoated=flags["uncoated"],
        tight=flags["tight"],
        uv=flags["uv"],
        abrasive=never,
        envelope=never,
        confined=flags["confined"],
        reprint=never,
        rush=never,
        presses=presses,
        sizes=tuple(sizes),
        days=DAYS_PER_YEAR,
        month_share=months,
        rows_read=0,
        rows_skipped=0,
        skipped=(),
        notes=(
            *example,
            *_notes(spec, mixes, [(press_labels or {}).get(p, p.replace("_", " ")) for p in presses]),
        ),
        date_kind="plating",
        ruling_unknown=0.0 if usual else float(rows[~flags["above_150_lpi"], 0].sum()),
    )


def example_of(notes: Sequence[str]) -> str:
    """Which of the notes on the work says that it is an example; "" where none does."""
    return next((note for note in notes if note in EXAMPLE_NOTES.values()), "")


def _example(
    spec: Mapping[str, object], plates: Floats, mixes: Sequence[Mix], where: str, problems: list[Problem]
) -> list[str]:
    """The note on what `example` names, as far as that still is what was put in; none where all of it was changed."""
    named = spec.get("example", [])
    if not isinstance(named, list) or any(name not in EXAMPLE_KEYS for name in named):
        mend = f"name {' and '.join(EXAMPLE_KEYS)} in square brackets, or take the line out"
        problems.append(Problem(f"{where} example", "is no list of what is an example", mend))
        return []
    stands = {
        "plates_per_month": bool((plates == EXAMPLE_PLATES).all()),
        "runs": all({r: mix.runs.get(r, 0.0) for r in RUNS} == EXAMPLE_RUNS for mix in mixes),
    }
    left = tuple(name for name in EXAMPLE_KEYS if name in named and stands[name])
    return [EXAMPLE_NOTES[left]] if left else []


def _rows(plates: Floats, mixes: Sequence[Mix]) -> Floats:
    """Every combination of weight above 0, a row: weight, size, colours, one 0 or 1 for each of SINGLE, good.

    `plates` a month and `mixes`, one a size.
    """
    rows = []
    for size, mix in enumerate(mixes):
        mean_plates = sum(count * share for count, share in mix.colours.items())
        for run, count in product(mix.runs, mix.colours):
            forms = 12 * plates[size] / mean_plates * mix.runs[run] * mix.colours[count]
            tight = min(1.0, mix.single["tight"] / mix.many) if count >= MANY else 0.0
            share = [tight if key == "tight" else mix.single[key] for key in SINGLE]
            for flags in product((0, 1), repeat=len(SINGLE)):
                weight = forms * math.prod(s if flag else 1 - s for flag, s in zip(flags, share, strict=True))
                if weight > 0:
                    rows.append((weight, size, count, *flags, RUNS[run]))
    return np.array(rows, np.float64)


def _notes(spec: Mapping[str, object], mixes: Sequence[Mix], presses: Sequence[str]) -> tuple[str, ...]:
    runs = {run for mix in mixes for run in mix.runs}
    by_size = spec.get("by_size", {})
    each = (
        [row for row in by_size.values() if isinstance(row, Mapping)] if isinstance(by_size, Mapping) else []
    )

    def stated(key: str) -> bool:
        return key in spec or (len(each) == len(mixes) and all(key in row for row in each))

    stand = ", ".join(f"{good:,.0f} for runs {RUN_WORDS[run]}" for run, good in RUNS.items() if run in runs)
    notes = [f"The work is a summary, not a log. Good impressions that stand for a class: {stand}"]
    if "more" in runs:
        notes.append(f"Runs above 50,000 are assumed to give {RUNS['more']:,.0f} impressions")
    if not stated("colours"):
        shares = ", ".join(
            f"{share:.0%} in {count} colour{'s' if count > 1 else ''}"
            for count, share in DEFAULT_COLOURS.items()
        )
        notes.append(f"The colours of the forms are not stated: default shares are taken, {shares}")
    if absent := [key for key in SINGLE if not stated(key)]:
        notes.append(f"Not stated and taken as 0: {', '.join(SINGLE_WORDS[key] for key in absent)}")
    if "usual_ruling" not in spec:
        notes.append(
            "How fine ordinary work is screened is not stated: up to 150 lpi it is taken to be within every "
            "method's reach"
        )
    if "press" not in spec and len(presses) > 1:
        notes.append(f"The press of each plate size is not stated: all work is taken to run on {presses[0]}")
    if "month_share" not in spec:
        notes.append("The share of each month is not stated: every month is taken alike")
    return tuple(notes)


def _plates(spec: Mapping[str, object], sizes: Sequence[str], where: str, problems: list[Problem]) -> Floats:
    """Plates a month, one a size."""
    at = f"{where} plates_per_month"
    table = table_of(spec, "plates_per_month", where, problems)
    problems += unknown_keys(table, sizes, at)
    plates = {}
    for size in sizes:
        value = table.get(size, 0)
        parts = _PLATES.fullmatch(value.strip()) if isinstance(value, str) else None
        if parts:
            plates[size] = float(parts[1].replace(",", ""))
        elif isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value < float("inf"):
            plates[size] = float(value)
        else:
            problems.append(
                Problem(
                    f"{at}.{size}",
                    f"{quoted(str(value))} is not plates a month",
                    'write 400 or "400 plates/month"',
                )
            )
        if plates.get(size, 0) > MOST_PLATES:
            what = f"{plates[size]:,.10g} plates a month are more than {MOST_PLATES:,.0f}"
            problems.append(Problem(f"{at}.{size}", what, "state the plates of one month, not impressions"))
        if 0 < plates.get(size, 0) < LEAST_PLATES:
            what = f"{quoted(str(value))} is less than {LEAST_PLATES:g} plates a month, one in eight years"
            problems.append(Problem(f"{at}.{size}", what, f"state 0, or {LEAST_PLATES:g} or more"))
    if not any(plates.values()) and not any(p.where.startswith(at) for p in problems):
        problems.append(
            Problem(at, "no plates are stated", f"state plates a month by size: {', '.join(sizes)}")
        )
    return np.array([plates.get(size, 0.0) for size in sizes])


def _mixes(
    spec: Mapping[str, object], sizes: Sequence[str], where: str, problems: list[Problem]
) -> list[Mix]:
    """The mix of each size: what `by_size` states of it, else what is stated of all."""
    every = _mix(spec, Mix({}, DEFAULT_COLOURS, dict.fromkeys(SINGLE, 0.0)), where, problems)
    table = table_of(spec, "by_size", where, problems)
    problems += unknown_keys(table, sizes, f"{where} by_size")
    mixes = []
    for size in sizes:
        at, mine = f"{where} by_size.{size}", table_of(table, size, f"{where} by_size", problems)
        problems += unknown_keys(mine, OF_FORMS, at)
        mixes.append(_mix(mine, every, at, problems) if mine else every)
    lacking = [size for size, mix in zip(sizes, mixes, strict=True) if not mix.runs]
    if lacking and not any("runs" in p.where for p in problems):
        of = "" if len(lacking) == len(sizes) else f" for {', '.join(lacking)}"
        problems.append(
            Problem(where, f"runs is missing{of}", f"state the shares of forms: {', '.join(RUNS)}")
        )
    return mixes


def _mix(spec: Mapping[str, object], otherwise: Mix, where: str, problems: list[Problem]) -> Mix:
    """Shares of forms as a table states them; `otherwise` where it says nothing."""
    runs, colours, single = otherwise.runs, otherwise.colours, dict(otherwise.single)
    if "runs" in spec:
        runs = shares_of(spec, "runs", RUNS, where, problems)
    if "colours" in spec:
        known = [str(count) for count in range(1, MOST_COLOURS + 1)]
        named = shares_of(spec, "colours", known, where, problems)
        colours = {int(name): share for name, share in named.items()}
    single |= {key: share_of(spec[key], f"{where} {key}", problems) for key in SINGLE if key in spec}
    mix = Mix(runs, colours, single)
    if colours and single["tight"] > mix.many + TOLERANCE:
        problems.append(
            Problem(
                f"{where} tight",
                f"{single['tight']:.3g} of all forms exceeds the {mix.many:.3g} that have four colours or more",
                "tight register is a share of all forms, found only among those of four colours or more",
            )
        )
    return mix


def _usual_ruling(spec: Mapping[str, object], where: str, problems: list[Problem]) -> float:
    """Lines per inch of the forms up to 150 lpi, 0 where nothing is said."""
    value = spec.get("usual_ruling", 0)
    parts = _RULING.fullmatch(value.strip()) if isinstance(value, str) else None
    number = float(parts[1]) if parts else value
    if isinstance(number, int | float) and not isinstance(number, bool) and 0 <= number <= MOST_USUAL:
        return float(number)
    mend = f'write "133 lpi", at most {MOST_USUAL}; finer work is above_150_lpi'
    problems.append(Problem(f"{where} usual_ruling", f"{quoted(str(value))} is no usual ruling", mend))
    return 0.0


def _presses(
    spec: Mapping[str, object],
    presses: Sequence[str],
    sizes: Sequence[str],
    where: str,
    problems: list[Problem],
) -> dict[str, int]:
    """Index of the press by size; the first press where none is stated."""
    at = f"{where} press"
    table = table_of(spec, "press", where, problems)
    problems += unknown_keys(table, sizes, at)
    found = dict.fromkeys(sizes, 0)
    for size in sizes:
        name = table.get(size, presses[0])
        if isinstance(name, str) and name in presses:
            found[size] = presses.index(name)
        else:
            problems.append(
                Problem(f"{at}.{size}", f"{quoted(str(name))} is not a press", mend_name(str(name), presses))
            )
    return found
