"""Rows of a log that stand there twice, as when a file was pasted below itself.

Without form numbers, forms of one job may well be alike: rows of a job that follow one another tell nothing. So a row counts
where it equals one further up and other jobs stand between them; or where every row of the log has its double, as when both
copies were sorted together. Counts are rows; what a count is a sign of is left to others.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from roi.scenario.tables import Column

NEEDED = ("job", "date")  # without these, rows alike are nothing odd
_MOST = 2**62


def repeated(columns: Mapping[str, Column], usable: npt.NDArray[np.bool_]) -> int:
    """How many usable rows equal an earlier one in every column that is read; 0 where job or date isn't, or job is empty.

    usable : a flag a row; rows left out anyway, as a job and form met before, count no more
    """
    if not columns.keys() >= set(NEEDED):
        return 0
    job = columns["job"]
    named = np.array([bool(text) for text in job.texts], np.bool_)[job.codes] & usable
    begins = np.ones(named.size, np.bool_)
    begins[1:] = job.codes[1:] != job.codes[:-1]
    run = np.cumsum(begins)[named]
    if not run.size:
        return 0
    key, kinds = np.zeros(run.size, np.int64), 1
    for column in columns.values():
        if kinds * len(column.cells) > _MOST:
            key = np.unique(key, return_inverse=True)[1].astype(np.int64)
            kinds = run.size
        key, kinds = key * len(column.cells) + column.codes[named], kinds * len(column.cells)
    _, first, alike, times = np.unique(key, return_index=True, return_inverse=True, return_counts=True)
    if not (times % 2).any():
        return int(run.size // 2)
    return int((run > run[first][alike]).sum())
