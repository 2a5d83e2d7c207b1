"""What single cells of a log say: numbers, rulings, yes or no, words of the scenario.

Numbers come without a unit, rulings in lines per inch. Every reader works on the distinct cells of a column,
marks in `BadRows` the rows it can't use, and leaves a harmless value in their place.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping

import numpy as np

from roi.scenario.badrows import BadRows, distinct
from roi.scenario.tables import Cell, Column, as_text
from roi.scenario.words import fold, nearest, quoted
from roi.scenario.worklog import Bools, Floats, Index

DECIMALS = ("point", "comma")
CM_PER_INCH = 2.54
HIGHEST_RULING = 1000.0  # lpi; far above any screen a plate can hold

YES = frozenset({"yes", "y", "1", "true", "x"})
NO = frozenset({"", "no", "n", "0", "false", "-"})
NO_RULING = frozenset({"", "-", "?", "n/a", "unknown"})

_SPACES = "[ \u00a0\u202f]"  # space, no-break space and narrow no-break space, all used to group thousands
_NUMBER = {
    mark: re.compile(
        rf"[+-]?(?:\d{{1,3}}(?:{group}\d{{3}})+|\d{{1,3}}(?:{_SPACES}\d{{3}})+|\d+)(?:{re.escape(dot)}\d*)?"
    )
    for mark, group, dot in (("point", ",", "."), ("comma", r"\.", ","))
}
_RULING = re.compile(r"(?P<number>[\d.,]+)\s*(?P<unit>lpi|l/in|/in|lpcm|l/cm|/cm)?", re.IGNORECASE)


def number(cell: Cell, decimal: str) -> float:
    """The number a cell states, NaN when it states none; `decimal` says what "1,234" and "1.234" mean."""
    if isinstance(cell, float):
        return cell
    text = as_text(cell)
    if not _NUMBER[decimal].fullmatch(text):
        return float("nan")
    if decimal == "comma":
        text = text.replace(".", "").replace(",", ".")
    return float(re.sub(rf"{_SPACES}|,", "", text))


def read_numbers(
    column: Column,
    decimal: str,
    bad: BadRows,
    *,
    low: float,
    high: float,
    whole: bool = False,
    blank: float | None = None,
) -> Floats:
    """One number a row, from `low` to `high`, whole if asked; an empty cell is `blank`, or bad where that is
    None.

    Rows found bad hold a harmless number from `low` to `high`.
    """
    values = np.array([number(cell, decimal) for cell in column.cells])
    empty = np.array([not text for text in column.texts])
    if blank is not None:
        values[empty] = blank
    else:
        bad.add(empty[column.codes], "is empty", "fill it in", column)
    unread = np.isnan(values) & ~empty
    other = "comma" if decimal == "point" else "point"
    bad.add(
        unread[column.codes],
        "is not a number",
        f'write digits only; for a decimal {other} state decimal = "{other}"',
        column,
    )
    known = np.where(np.isnan(values), low, values)
    # An empty cell's stand-in is ours, not the log's: it is not judged.
    bad.add(
        ((known < low) & ~empty)[column.codes], f"is below {low:,.0f}", "correct the typing error", column
    )
    bad.add(
        ((known > high) & ~empty)[column.codes], f"is above {high:,.0f}", "correct the typing error", column
    )
    if whole:
        broken = known != np.floor(known)
        bad.add((broken & ~empty)[column.codes], "is not a whole number", "correct the typing error", column)
        known = np.where(broken, low, known)
    known = np.where(empty, known, np.clip(known, low, high))
    return np.asarray(known[column.codes], np.float64)


def ruling(cell: Cell, decimal: str) -> float:
    """Lines per inch; 0 where the cell is empty, 0 or says unknown, NaN where it can't be read.

    "70/cm" is 70 x 2.54 lpi; a bare number is lpi.
    """
    text = as_text(cell)
    if fold(text) in NO_RULING:
        return 0.0
    parts = _RULING.fullmatch(text)
    # A spreadsheet's own number needs no reading, whatever mark the log's texts use.
    value = cell if isinstance(cell, float) else number(parts["number"], decimal) if parts else float("nan")
    if parts and parts["unit"] and parts["unit"].lower().endswith("cm"):
        value *= CM_PER_INCH
    return value if 0 <= value <= HIGHEST_RULING else float("nan")


def read_rulings(column: Column, decimal: str, bad: BadRows) -> Floats:
    """One ruling a row in lines per inch, 0 = unknown."""
    values = np.array([ruling(cell, decimal) for cell in column.cells])
    bad.add(np.isnan(values)[column.codes], "is not a ruling", 'write "175", "175 lpi" or "70/cm"', column)
    return np.asarray(np.nan_to_num(values)[column.codes], np.float64)


def read_yes_no(
    column: Column, bad: BadRows, flag: str, where: str, yes: Collection[str], no: Collection[str]
) -> Bools:
    """One True or False a row; `yes` and `no` are folded words of the scenario that add to the usual ones."""
    words = [fold(text) for text in column.texts]
    says_yes = np.array([w in yes or (w in YES and w not in no) for w in words], np.bool_)
    says_no = np.array([w in no or w in NO for w in words], np.bool_)
    bad.add(
        ~(says_yes | says_no)[column.codes],
        "is neither yes nor no",
        f"write yes or no, or list the word under {where}.yes or {where}.no as {flag}",
        column,
    )
    return np.asarray(says_yes[column.codes], np.bool_)


def read_words(
    column: Column,
    ids: tuple[str, ...],
    meaning: Mapping[str, str],
    bad: BadRows,
    where: str,
    *,
    blank: bool = False,
) -> Index:
    """One index into `ids` a row; -1 where the cell is empty and may be (`blank`), 0 in rows found bad.

    `meaning` maps folded words to ids; `where` is the scenario's table in which a word can be listed.
    """
    texts = column.texts
    empty = np.array([not text for text in texts])
    index = np.array([ids.index(meaning[fold(t)]) if fold(t) in meaning else -1 for t in texts], np.intp)
    if not blank:
        bad.add(empty[column.codes], "is empty", "fill it in", column)
    strange = ((index < 0) & ~empty)[column.codes]
    guesses = [(text, nearest(text, meaning)) for text in distinct(column, strange)]
    near = "; ".join(f"{quoted(text)} is nearest to {meaning[word]}" for text, word in guesses if word)
    mend = f"list the word under {where}" + f" ({near or 'ids: ' + ', '.join(ids)})"
    bad.add(strange, "holds a word that is not listed", mend, column)
    rows = index[column.codes]
    return np.asarray(rows if blank else np.maximum(rows, 0), np.intp)
