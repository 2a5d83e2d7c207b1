"""Jobs ganged on one form: their rows share it, and what one of them needs the form needs.

A gang is a number a row, -1 where the row shares no form.
"""

from __future__ import annotations

import numpy as np

from roi.scenario.imposition import Forms
from roi.scenario.worklog import Bools, Floats, Index


def differing(gang: Index, usable: Bools, *columns: Index) -> Bools:
    """Rows that differ in any of `columns` from the first usable row of their gang; one a row."""
    rows = np.flatnonzero((gang >= 0) & usable)
    _, first, inverse = np.unique(gang[rows], return_index=True, return_inverse=True)
    lead = rows[first][inverse]
    differs = np.zeros(gang.size, np.bool_)
    for column in columns:
        differs[rows] |= column[rows] != column[lead]
    return differs


def highest(gang: Index, usable: Bools, values: Floats) -> Floats:
    """`values` (one a row), each gang's rows raised to the highest of its usable rows."""
    rows = np.flatnonzero((gang >= 0) & usable)
    _, first, inverse = np.unique(gang[rows], return_index=True, return_inverse=True)
    top = values[rows[first]]
    np.maximum.at(top, inverse, values[rows])
    raised = values.copy()
    raised[rows] = top[inverse]
    return raised


def merged(forms: Forms, gang: Index) -> Forms:
    """Forms of usable rows, those of a gang in the same place made one, in the row of the first.

    It has the most plates and the most impressions any of them asks for.
    """
    key = gang[forms.row]
    if not (key >= 0).any():
        return forms
    alone = -1 - np.arange(key.size)
    shared = np.where(key >= 0, key * (forms.place.max() + 1) + forms.place, alone)
    _, first, inverse = np.unique(shared, return_index=True, return_inverse=True)
    plates, good = forms.plates[first], forms.good[first]
    np.maximum.at(plates, inverse, forms.plates)
    np.maximum.at(good, inverse, forms.good)
    order = np.argsort(first)
    first = first[order]
    return Forms(forms.row[first], forms.place[first], plates[order], good[order])
