"""A shop's job log, read into a `WorkLog`: one row a form.

The scenario says which file, columns and words (`logspec`); this file puts the parts together: columns
(`tables`), what cells say (`cells`, `dates`), forms of a job (`imposition`), the period (`period`). Rows that
can't be used are all found before any is refused. Quantities are as in `WorkLog`; nothing is costed here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import count
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from roi.scenario import gangs, period
from roi.scenario.badrows import BadRows
from roi.scenario.cells import read_rulings, read_words, read_yes_no
from roi.scenario.dates import find_order, read_days
from roi.scenario.forms import read_forms
from roi.scenario.imposition import Forms
from roi.scenario.logspec import STOCKS, LogSpec, read_log_spec
from roi.scenario.problems import BadInput, Problem
from roi.scenario.tables import Column, Table, read_table
from roi.scenario.twice import repeated
from roi.scenario.worklog import FLAGS, Bools, Days, Floats, Index, WorkLog

__all__ = ["WorkLog", "read_log"]


@dataclass(frozen=True)
class _Rows:
    """What the columns say, one entry a row, bad rows still in; `gang` is -1 where a row shares no form."""

    day: Days
    press: Index
    size: Index
    stock: Index
    ruling: Floats
    gang: Index
    flags: dict[str, Bools]


def read_log(
    spec: Mapping[str, object],
    folder: Path,
    units: Mapping[str, int],
    sizes: Sequence[str],
    *,
    where: str = "[log]",
    press_labels: Mapping[str, str] | None = None,
    size_labels: Mapping[str, str] | None = None,
    rows: Iterable[Sequence[object]] | None = None,
) -> WorkLog:
    """Read the log that `spec`, the scenario's [log] table, describes.

    Parameters
    ----------
    folder : the scenario's folder; the file is looked for in it
    units : printing units by press id, in scenario order;  sizes : plate size ids, in scenario order
    where : how messages call the table;  press_labels, size_labels : id -> label, further words for them
    rows : the rows of the file where they are at hand: it is then not opened

    Raises
    ------
    BadInput
        The table, the file or (unless `bad_rows = "skip"`) any row can't be used; no usable row is left.
    """
    settings = read_log_spec(spec, folder, list(units), sizes, where, press_labels, size_labels)
    table = read_table(settings.path, settings.columns, sheet=settings.sheet, where=where, held=rows)
    bad = BadRows(settings.path.name, table.rows)
    bad.add(
        table.too_long,
        "more cells than the header",
        "put quotation marks around text or numbers with a separator",
    )

    day, order_note = _days(table.columns["date"], settings, bad, where)
    said = _columns(table, settings, day, tuple(units), tuple(sizes), bad, where)
    forms = read_forms(table.columns, settings, bad, where)
    _doubled(table.columns, settings, bad)

    usable = ~bad.mask
    if bad.problems and not settings.skip_bad:
        raise BadInput(bad.problems)
    if not usable.any():
        raise BadInput(
            [*bad.problems, Problem(settings.path.name, "no usable row is left", "mend the faults above")]
        )
    kept = usable[forms.row]
    forms = gangs.merged(
        Forms(forms.row[kept], forms.place[kept], forms.plates[kept], forms.good[kept]), said.gang
    )
    return _work_log(
        table, settings, _shared(said, usable), forms, bad, tuple(units), tuple(sizes), order_note
    )


def _days(column: Column, settings: LogSpec, bad: BadRows, where: str) -> tuple[Days, str]:
    """The day of each row; the order is the one stated, else the one found, else asked for."""
    order, doubt = settings.date_order, ""
    if order is None:
        order, doubt = find_order(column.cells)
    if order is None:
        bad.problems.append(
            Problem(f"{where} date_order", doubt, 'state date_order = "day-first" or "month-first"')
        )
        # Without an order no row can be used, so that skipping bad rows can't get round the question.
        bad.mask[:] = True
        return np.full(column.codes.size, "NaT", "datetime64[D]"), ""
    day = read_days(column.cells, order)[column.codes]
    empty = np.array([not text for text in column.texts])[column.codes]
    bad.add(empty, "is empty", "fill it in", column)
    bad.add(
        np.isnat(day) & ~empty,
        f"is not a {order} date",
        "correct it, or state date_order if all are so",
        column,
    )
    if settings.period is not None:
        first, last = (np.datetime64(d, "D") for d in settings.period)
        # A comparison with "not a date" is false, so unread dates are not told twice.
        bad.add(
            (day < first) | (day > last),
            f"is outside {first} to {last}",
            "correct it, or from and to",
            column,
        )
    return day, f"dates read as {order} ({'stated' if settings.date_order else 'detected'})"


def _columns(
    table: Table,
    settings: LogSpec,
    day: Days,
    presses: tuple[str, ...],
    sizes: tuple[str, ...],
    bad: BadRows,
    where: str,
) -> _Rows:
    columns, words, n = table.columns, settings.words, table.rows.size

    def index(name: str, ids: tuple[str, ...], absent: int, *, blank: bool = False) -> Index:
        if name not in columns:
            return np.full(n, absent, np.intp)
        return read_words(columns[name], ids, words[name], bad, f"{where} words.{name}", blank=blank)

    flags = {
        flag: read_yes_no(columns[flag], bad, flag, f"{where} words", settings.yes[flag], settings.no[flag])
        if flag in columns
        else np.zeros(n, np.bool_)
        for flag in FLAGS
    }
    rows = _Rows(
        day=day,
        press=index("press", presses, 0),
        size=index("size", sizes, 0),
        stock=index("stock", STOCKS, -1, blank=True),
        ruling=read_rulings(columns["ruling"], settings.decimal, bad) if "ruling" in columns else np.zeros(n),
        gang=_key(columns["gang"], n) if "gang" in columns else np.full(n, -1, np.intp),
        flags=flags,
    )
    if "gang" not in columns:
        return rows
    bad.add(
        gangs.differing(rows.gang, ~bad.mask, rows.press, rows.size),
        "has rows that differ in press or plate size from its first",
        "jobs of a gang share one form",
        columns["gang"],
    )
    return rows


def _shared(rows: _Rows, usable: Bools) -> _Rows:
    """Rows of a gang share what any one of them needs; a shared form is a reprint only if all of them are."""
    flags = {
        flag: gangs.highest(rows.gang, usable, has.astype(float)) > 0 for flag, has in rows.flags.items()
    }
    flags["reprint"] = gangs.highest(rows.gang, usable, (~rows.flags["reprint"]).astype(float)) == 0
    return replace(rows, ruling=gangs.highest(rows.gang, usable, rows.ruling), flags=flags)


def _key(column: Column, n: int) -> Index:
    """A number a distinct text, one a row; -1 where the cell is empty."""
    known: defaultdict[str, int] = defaultdict(count().__next__, {"": -1})
    keys = np.fromiter(map(known.__getitem__, column.texts), np.intp, len(column.texts))
    return np.asarray(keys[column.codes].reshape(n), np.intp)


def _doubled(columns: Mapping[str, Column], settings: LogSpec, bad: BadRows) -> None:
    """The same job and form once more: the first row stands. Without form numbers nothing can be told."""
    if "form" not in columns:
        return
    n = bad.mask.size
    job, form = _key(columns["job"], n), _key(columns["form"], n)
    # When bad rows are left out, a row entered again after a mistyped one is no double.
    judged = np.flatnonzero((job >= 0) & ~(bad.mask if settings.skip_bad else np.zeros(n, np.bool_)))
    pair = job[judged] * (form.max() + 2) + form[judged] + 1
    _, first = np.unique(pair, return_index=True)
    doubled = np.zeros(n, np.bool_)
    doubled[np.delete(judged, first)] = True
    bad.add(
        doubled,
        "repeats a job and form number met before",
        "delete the row, or give the form its own number",
        columns["job"],
    )


def _work_log(
    table: Table,
    settings: LogSpec,
    rows: _Rows,
    forms: Forms,
    bad: BadRows,
    presses: tuple[str, ...],
    sizes: tuple[str, ...],
    order_note: str,
) -> WorkLog:
    row = forms.row
    day, weight, plates = rows.day[row], np.ones(row.size), forms.plates.astype(float)
    first, last = period.bounds(day, settings.period)
    days = period.length(first, last)
    unknown_stock = int((rows.stock[row] < 0).sum())
    unknown_ruling = float((rows.ruling[row] == 0).sum())
    read, skipped = int(table.rows.size), int(bad.mask.sum())

    notes = [
        *table.notes,
        order_note,
        *period.date_notes(day, plates, days, stated=settings.period is not None),
    ]
    if skipped:
        notes.append(f"{skipped:,} of {read:,} rows ({skipped / read:.1%}) can't be used and are left out")
    if unknown_stock:
        notes.append(f"the stock of {unknown_stock:,} of {row.size:,} forms is unknown: they count as coated")
    if unknown_ruling:
        notes.append(
            f"the ruling of {unknown_ruling:,.0f} of {row.size:,} forms is unknown: it bars no method"
        )
    cancelled = int((forms.good == 0).sum())
    if cancelled:
        notes.append(
            f"{cancelled:,} forms have plates and no impressions: they count as plated and cancelled"
        )
    flags: dict[str, Any] = {flag: has[row] for flag, has in rows.flags.items()}
    return WorkLog(
        weight=weight,
        job=_jobs(table.columns, row),
        day=day,
        press=rows.press[row],
        size=rows.size[row],
        plates=forms.plates,
        good=forms.good,
        ruling=rows.ruling[row],
        uncoated=rows.stock[row] == STOCKS.index("uncoated"),
        **flags,
        presses=presses,
        sizes=sizes,
        days=days,
        month_share=period.month_shares(day, plates, first, last),
        rows_read=read,
        rows_skipped=skipped,
        skipped=tuple(bad.problems),
        notes=tuple(notes),
        date_kind=settings.date_is,
        ruling_unknown=unknown_ruling,
        row=table.rows[row],
        repeated=repeated(table.columns, ~bad.mask),
    )


def _jobs(columns: Mapping[str, Column], row: Index) -> npt.NDArray[np.object_]:
    if "job" not in columns:
        return np.full(row.size, "", object)
    column = columns["job"]
    return np.asarray(np.array(column.texts, object)[column.codes[row]])
