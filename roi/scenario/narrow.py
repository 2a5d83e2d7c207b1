"""A scenario with part of its work: the same shop, prices and year, fewer forms.

Nothing else changes: the period stays, so that a year's work is reckoned from the log as before, and so do the days worked
and the shares of the months. Counts that belong to the whole log, such as rows left out, stay those of the whole.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import fields, replace
from typing import Any

import numpy as np

from roi.scenario.scenario import Scenario
from roi.scenario.worklog import Bools, Index, WorkLog

_NOT_A_FORM = "month_share"  # the one array of a log that isn't a row a form


def narrowed(scenario: Scenario, rows: Bools | Index) -> Scenario:
    """The scenario with only some rows of its work.

    rows : flags, one a row of the work, or the rows' positions; ValueError where they leave none
    """
    work = scenario.work
    kept: dict[str, Any] = {
        f.name: value[rows]
        for f in fields(WorkLog)
        if isinstance(value := getattr(work, f.name), np.ndarray) and f.name != _NOT_A_FORM
    }
    if not len(kept["weight"]):
        raise ValueError("no form is left")
    unknown = float(kept["weight"][kept["ruling"] == 0].sum())
    return replace(scenario, work=replace(work, **kept, ruling_unknown=unknown))


def on_presses(scenario: Scenario, presses: Collection[str]) -> Scenario:
    """The scenario with only the forms of some presses, by id; ValueError where those have none."""
    positions = [i for i, press in enumerate(scenario.presses) if press.id in presses]
    return narrowed(scenario, np.isin(scenario.work.press, positions))


__all__ = ["narrowed", "on_presses"]
