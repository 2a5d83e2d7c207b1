"""Depreciation schedules for tax: percentages by year from shipped data, or a straight line over stated years."""

from __future__ import annotations

import difflib
from dataclasses import dataclass

from roi.scenario.catalogue import data_file, load
from roi.scenario.files import Key, Raw
from roi.scenario.problems import Problem


@dataclass(frozen=True)
class TaxSchedule:
    """`shares` of cost relieved in the first, second, ... year after purchase; empty where nothing is relieved."""

    id: str
    label: str
    shares: tuple[float, ...]
    source: str
    caution: str


def read_schedule(values: dict[Key, Raw], file: str, problems: list[Problem]) -> TaxSchedule:
    """The schedule that money.tax_schedule names; a straight line over 5 years where none is named."""
    raw = values.get(("money", "tax_schedule"), Raw("straight_line", file, True))
    known = sorted(
        f.name.removesuffix(".toml") for f in data_file("tax").iterdir() if f.name.endswith(".toml")
    )
    if raw.value not in known:
        near = difflib.get_close_matches(str(raw.value), known, 1)
        mend = f'was "{near[0]}" meant?' if near else f"one of {', '.join(known)}"
        where = raw.at(("money", "tax_schedule"))
        if not any(p.where == where for p in problems):  # what is no text has been told
            problems.append(Problem(where, f"{raw.value!r} is not a schedule known here", mend))
        return TaxSchedule("none", "", (), "", "")
    table = load("tax", f"{raw.value}.toml")
    years = values.get(("money", "tax_years"), Raw(5, file, True))
    label = str(table["label"])
    shares: tuple[float, ...] = ()
    if table["kind"] == "percentages":
        shares = tuple(float(p) / 100 for p in table["percentages"])  # type: ignore[attr-defined]
    elif table["kind"] == "straight line":
        if not isinstance(years.value, int) or isinstance(years.value, bool) or not 1 <= years.value <= 40:
            where, what = years.at(("money", "tax_years")), f"{years.value!r} is not a number of years"
            problems.append(Problem(where, what, "state a whole number from 1 to 40"))
            return TaxSchedule("none", "", (), "", "")
        shares = (1 / years.value,) * years.value
        label = f"{label}, {years.value} years"
    return TaxSchedule(str(raw.value), label, shares, str(table["source"]), str(table["caution"]))
