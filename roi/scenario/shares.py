"""Shares as a scenario states them: one, several that add up to 1, one a month; and the tables they stand in.

Shares are fractions, 0 to 1, written 0.65 or "65 %". What can't be read is a problem, and 0 stands in its place.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

import numpy as np

from roi.scenario.problems import Problem
from roi.scenario.words import quoted, unknown_keys
from roi.scenario.worklog import Floats

TOLERANCE = 0.005  # how far shares may miss 1 by rounding

_SHARE = re.compile(r"(\d+(?:\.\d+)?)\s*(%?)")


def table_of(
    spec: Mapping[str, object], key: str, where: str, problems: list[Problem]
) -> Mapping[str, object]:
    """The table of that key, empty where it isn't stated."""
    value = spec.get(key, {})
    if isinstance(value, Mapping):
        return value
    problems.append(Problem(f"{where} {key}", "must be a table", f"write {key} = {{ name = value }}"))
    return {}


def share_of(value: object, where: str, problems: list[Problem]) -> float:
    """A fraction from 0 to 1; 0 and a problem where the value is none."""
    share = float("nan")
    if isinstance(value, int | float) and not isinstance(value, bool):
        share = float(value)
    elif isinstance(value, str) and (parts := _SHARE.fullmatch(value.strip())):
        share = float(parts[1]) / (100 if parts[2] else 1)
    if 0 <= share <= 1:
        return share
    problems.append(
        Problem(where, f"{quoted(str(value))} is not a share from 0 to 1", 'write 0.65 or "65 %"')
    )
    return 0.0


def shares_of(
    spec: Mapping[str, object],
    key: str,
    known: Sequence[str] | Mapping[str, object],
    where: str,
    problems: list[Problem],
) -> dict[str, float]:
    """Shares by name, those above 0, brought to a sum of exactly 1."""
    at = f"{where} {key}"
    table = table_of(spec, key, where, problems)
    problems += unknown_keys(table, known, at)
    shares = {
        name: share_of(value, f"{at}.{name}", problems) for name, value in table.items() if name in known
    }
    if key in spec and not table and isinstance(spec[key], Mapping):
        problems.append(Problem(at, "is empty", f"state shares of forms by {', '.join(known)}"))
    total = sum(shares.values())
    if shares and abs(total - 1) > TOLERANCE and not any(p.where.startswith(at) for p in problems):
        problems.append(Problem(at, f"the shares add up to {total:.4g}, not 1", "state shares of all forms"))
    return {name: share / total for name, share in shares.items() if share > 0}


def months_of(spec: Mapping[str, object], where: str, problems: list[Problem]) -> Floats:
    """Twelve shares of the year, January first; all alike where none are stated."""
    if "month_share" not in spec:
        return np.full(12, 1 / 12)
    value, at = spec["month_share"], f"{where} month_share"
    if not isinstance(value, list) or len(value) != 12:
        problems.append(Problem(at, "must be a list of twelve shares", "one a month, January first"))
        return np.full(12, 1 / 12)
    before = len(problems)
    shares = np.array([share_of(v, f"{at}[{n}]", problems) for n, v in enumerate(value, start=1)])
    if len(problems) == before and abs(shares.sum() - 1) > TOLERANCE:
        problems.append(
            Problem(at, f"the shares add up to {shares.sum():.4g}, not 1", "state shares of the year")
        )
    return np.asarray(shares / (shares.sum() or 1.0), np.float64)
