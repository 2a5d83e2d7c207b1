"""A year's work for a workbook to keep: forms alike in all the reckoning asks of them put together into one row.

Names of jobs and dates stay behind. Each row says which run bin it belongs to, how many of the jobs it stands for, and
the levels of load go with it, so that classes, bins, days and totals come out as they did from every single form.
"""

from __future__ import annotations

import numpy as np

from roi.model.loads import load_levels
from roi.model.reduce import jobs_of, sort_rows
from roi.scenario.scenario import Scenario
from roi.scenario.worklog import FLAGS, WorkLog

_ALIKE = ("press", "size", "plates", "ruling", "uncoated", *FLAGS)


def put_alike_together(scenario: Scenario) -> WorkLog:
    """The scenario's work, a row for all forms of a bin that are alike; work kept by a workbook stays as it is.

    `weight` of a row is that of its forms together, `good` their mean. Row numbers and job numbers are left out.
    """
    work = scenario.work
    if work.bin is not None:
        return work
    keys = np.column_stack(
        [sort_rows(scenario).member, *(getattr(work, name).astype(float) for name in _ALIKE)]
    ).astype(float)
    rows, which = np.unique(keys, axis=0, return_inverse=True)
    which = which.reshape(-1)
    weight = np.asarray(np.bincount(which, work.weight), np.float64)
    bins, *alike = rows.T
    held = {
        name: column.astype(getattr(work, name).dtype) for name, column in zip(_ALIKE, alike, strict=True)
    }
    return WorkLog(
        weight=weight,
        good=np.bincount(which, work.weight * work.good) / weight,
        job=np.full(len(weight), "", object),
        day=np.full(len(weight), "NaT", "datetime64[D]"),
        **held,
        presses=work.presses,
        sizes=work.sizes,
        days=work.days,
        month_share=work.month_share,
        rows_read=work.rows_read,
        rows_skipped=work.rows_skipped,
        skipped=work.skipped,
        notes=work.notes,
        date_kind=work.date_kind,
        ruling_unknown=work.ruling_unknown,
        repeated=work.repeated,
        bin=bins.astype(np.intp) + 1,
        jobs=np.asarray(np.bincount(which, jobs_of(work)), np.float64),
        loads=load_levels(scenario),
    )


__all__ = ["put_alike_together"]
