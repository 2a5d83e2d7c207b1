"""Faults in a table saved as CSV: cells, rows and columns changed, other separators and marks, rows without end.

A base's notes say where the number stands that is summed (`number`, a position in a row).
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from random import Random

from tests.fuzz import mutate_bytes
from tests.fuzz.mutant import NOTHING, Base, Change, Claim, Operation

Rows = list[list[str]]


def rows_of(content: bytes) -> Rows:
    return list(csv.reader(io.StringIO(content.decode(), newline="")))


def written(rows: Rows, delimiter: str = ",", quoting: int = csv.QUOTE_MINIMAL) -> bytes:
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=delimiter, quoting=quoting, lineterminator="\n").writerows(rows)
    return out.getvalue().encode()


def _claim(rows: Rows, base: Base) -> Claim:
    """Rows below the header, and what their numbers add up to, for a file all of whose rows are sound."""
    return Claim(rows=len(rows) - 1, total=sum(float(row[_number(base)]) for row in rows[1:]))


def _number(base: Base) -> int:
    place = base.notes["number"]
    assert isinstance(place, int)
    return place


def _on_rows(change: Callable[[Random, Rows, Base], Claim]) -> Operation:
    def operate(draw: Random, base: Base) -> Change:
        rows = rows_of(base.content)
        claim = change(draw, rows, base)
        return written(rows), claim

    return operate


def odd_cell(draw: Random, rows: Rows, base: Base) -> Claim:
    row = draw.choice(rows[1:])
    row[draw.randrange(len(row))] = draw.choice(mutate_bytes.ODD_TEXTS)
    return Claim(rows=len(rows) - 1)


def odd_header(draw: Random, rows: Rows, base: Base) -> Claim:
    rows[0][draw.randrange(len(rows[0]))] = draw.choice([*mutate_bytes.ODD_TEXTS, *rows[0]])
    return NOTHING


def number_changed(draw: Random, rows: Rows, base: Base) -> Claim:
    row = draw.choice(rows[1:])
    row[_number(base)] = str(draw.randrange(1, 5))
    return _claim(rows, base)


def row_gone(draw: Random, rows: Rows, base: Base) -> Claim:
    del rows[draw.randrange(1, len(rows))]
    return _claim(rows, base)


def row_doubled(draw: Random, rows: Rows, base: Base) -> Claim:
    rows.insert(draw.randrange(1, len(rows)), list(draw.choice(rows[1:])))
    return _claim(rows, base)


def shuffled(draw: Random, rows: Rows, base: Base) -> Claim:
    below = rows[1:]
    draw.shuffle(below)
    rows[1:] = below
    return _claim(rows, base)


def cells_swapped(draw: Random, rows: Rows, base: Base) -> Claim:
    row = draw.choice(rows[1:])
    a, b = draw.sample(range(len(row)), 2)
    row[a], row[b] = row[b], row[a]
    return Claim(rows=len(rows) - 1)


def columns_swapped(draw: Random, rows: Rows, base: Base) -> Claim:
    claim = _claim(rows, base)
    a, b = draw.sample(range(len(rows[0])), 2)
    for row in rows:
        row[a], row[b] = row[b], row[a]
    return claim


def column_gone(draw: Random, rows: Rows, base: Base) -> Claim:
    place = draw.randrange(len(rows[0]))
    for row in rows:
        del row[place]
    return Claim(rows=len(rows) - 1)


def column_added(draw: Random, rows: Rows, base: Base) -> Claim:
    claim = _claim(rows, base)
    for row in rows:
        row.append("more")
    return claim


def ragged(draw: Random, rows: Rows, base: Base) -> Claim:
    row = draw.choice(rows[1:])
    if draw.random() < 0.5:
        row += ["extra"] * draw.choice([1, 3, 2000])
    else:
        del row[draw.randrange(1, len(row)) :]
    return Claim(rows=len(rows) - 1)


def blank_rows(draw: Random, rows: Rows, base: Base) -> Claim:
    """Empty rows and rows of separators alone count as nothing."""
    claim = _claim(rows, base)
    for _ in range(draw.randrange(1, 5)):
        rows.insert(draw.randrange(len(rows) + 1), draw.choice([[], [""] * len(rows[0]), [" "] * 3]))
    return claim


def odd_dates(draw: Random, rows: Rows, base: Base) -> Claim:
    """Some or all dates in another order, or as a spreadsheet's number."""
    place = base.notes["date"]
    assert isinstance(place, int)
    form = draw.choice(
        [
            "{2}/{1}/{0}",
            "{1}/{2}/{0}",
            "{2}.{1}.{0}",
            "{0}{1}{2}",
            "{0}-{1}-{2}T08:00",
            "45{2}{1}",
            "{2}-Feb-{0}",
        ]
    )
    share = draw.choice([0.05, 0.5, 1])
    for row in rows[1:]:
        parts = row[place].split("-")
        if len(parts) == 3 and draw.random() < share:
            row[place] = form.format(*parts)
    return Claim(rows=len(rows) - 1)


def odd_numbers(draw: Random, rows: Rows, base: Base) -> Claim:
    form = draw.choice(
        [
            "{},0",
            "{}.0",
            "{}.5",
            "0{}",
            "{}e2",
            "-{}",
            "({})",
            "{}-",
            "+{}",
            "{} ",
            "1,{}",
            "{}000000000",
            "$ {}",
            "{}%",
        ]
    )
    share = draw.choice([0.05, 0.5, 1])
    for row in rows[1:]:
        if draw.random() < share:
            row[_number(base)] = form.format(row[_number(base)])
    return Claim(rows=len(rows) - 1)


def other_separator(draw: Random, base: Base) -> Change:
    rows = rows_of(base.content)
    quoting = draw.choice([csv.QUOTE_MINIMAL, csv.QUOTE_ALL])
    return written(rows, draw.choice([";", "\t", ","]), quoting), _claim(rows, base)


def marked_or_windows(draw: Random, base: Base) -> Change:
    """A byte order mark, or Windows' encoding with an accented letter in a cell."""
    rows = rows_of(base.content)
    if draw.random() < 0.5:
        return b"\xef\xbb\xbf" + base.content, _claim(rows, base)
    rows[0].append("Größe")
    for row in rows[1:]:
        row.append("")
    return written(rows).decode().encode("cp1252"), _claim(rows, base)


def many_rows(draw: Random, base: Base) -> Change:
    """The same rows again and again, every job with a number of its own where it has one."""
    rows = rows_of(base.content)
    times = draw.choice([20, 100, 100, 1000])
    body = [
        [f"{row[0]}{i}" if base.notes.get("jobs") else row[0], *row[1:]]
        for i in range(times)
        for row in rows[1:]
    ]
    return written([rows[0], *body]), _claim([rows[0], *body], base)


def wide(draw: Random, base: Base) -> Change:
    rows = rows_of(base.content)
    claim = _claim(rows, base)
    return written([[*row, *(str(i) for i in range(5000))] for row in rows]), claim


OPERATIONS: dict[str, tuple[float, Operation]] = {
    "cell odd": (14, _on_rows(odd_cell)),
    "header odd": (4, _on_rows(odd_header)),
    "number changed": (8, _on_rows(number_changed)),
    "row gone": (3, _on_rows(row_gone)),
    "row doubled": (3, _on_rows(row_doubled)),
    "rows shuffled": (3, _on_rows(shuffled)),
    "cells swapped": (4, _on_rows(cells_swapped)),
    "columns swapped": (2, _on_rows(columns_swapped)),
    "column gone": (3, _on_rows(column_gone)),
    "column added": (2, _on_rows(column_added)),
    "ragged row": (4, _on_rows(ragged)),
    "blank rows": (2, _on_rows(blank_rows)),
    "dates odd": (6, _on_rows(odd_dates)),
    "numbers odd": (6, _on_rows(odd_numbers)),
    "other separator": (3, other_separator),
    "marked or Windows text": (2, marked_or_windows),
    "many rows": (1, many_rows),
    "many columns": (1, wide),
    **{f"text: {name}": (weight, work) for name, (weight, work) in mutate_bytes.OPERATIONS.items()},
}
