"""Problems in the words of a spreadsheet: what a scenario file would have written is, in a workbook, typed in a cell.

Readers that files and workbooks share say what to write in a file. Here their mends are said anew for whoever has only cells;
what they don't know by pattern stays as it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from roi.scenario.files import is_workbook
from roi.scenario.problems import Problem
from roi.workbook.read_typed import per_cent_mend

_VALUE = r'(?:"[^"]*"|[\w.-]+)'
# In order: a mend goes through all of them.
_MENDS: tuple[tuple[str, str], ...] = (
    (r"state count_switches = true in \[shop\] to count (.*?); ",
     r"to count \1 add a row on Scenario: Key shop.count_switches, Kind switch, Stated by shop, Content yes; "),
    (r"^state years_left, ", "type "),
    (r"state usual_ruling in \[summary\]", "paste a job log with its rulings, if any work is fine"),
    (r'write it like "7 min" or "3\.20 USD/plate"', "type the number alone; its unit stands beside it"),
    (r'write 0\.65 or "65 %"', "type 65 % or 0.65"),
    (r'(write|state) \w+ = "(the header of that column|Its header)"', r"type the heading of that column, or clear the cell"),
    (r'write account = "the header of that column", or supplier', "type the heading of that column, or the supplier's"),
    (r'state date_order = "day-first" or "month-first"', 'choose day-first or month-first as "Order of day and month"'),
    (r"state date_order if all are so", 'choose the "Order of day and month" if all are so'),
    (r'state decimal = "(\w+)"', r'choose \1 as "Decimal mark"'),
    (r'if they are, write charges = "(\w+)"', r'if they are, choose \1 as "Charges are"'),
    (r"state from and to in \[ledger\]", 'fill in "First day of the year" and "Last day of the year"'),
    (r"state both from and to, or none", "fill in both the first and the last day, or neither"),
    (r"if a year is mistyped, state from and to", "if a year is mistyped, correct it; else fill in the first and last day"),
    (r"correct it, or from and to", "correct it, or the first and last day"),
    (r"in \[ledger\.accounts\] give each its family, or leave it out: (.*)",
     r"type each account, and choose beside it what it stands for, or Left out: \1"),
    (r' = "\.\.\."', ""),
    (r"write \w+ = (\d{4}-\d\d-\d\d)[^;]*", r"type a date, like \1, or clear the cell"),
    (r"write by = .*", "type the name of who stated the number"),
    (r'(?:write|state) tolerance = "10 %"', "type 10 %"),
    (r'state the (rate|share not recovered) too, like \w+ = "([\d %]+)"', r"type the \1 too, like \2, or clear the other"),
    (r'state it(?: too)?,? like "[^"]*"', "type its Value"),
    (r'state the first year it holds, like "[^"]*"', "type the first year it holds"),
    (r'state (how long the notice is|the months still due), like "[^"]*"', r"type \1 as its Value"),
    (r"state what a month of notice costs", "type as its Value what a month of notice costs"),
    (rf"(?:write|state) [\w.]+ = ({_VALUE})", r"type \1"),
    (r"list the word under .*? words\.press", "correct it, or add the word on Presses, to what your log calls the press"),
    (r"list the word under .*? words\.size", 
     "correct it, or add the word on Log columns, below Words it uses for things; a further size goes on Plate sizes"),
    (r"write yes or no, or list the word under .*? words\.yes or .*? words\.no as (\w+)",
     r"write yes or no, or add the word on Log columns, below Words it uses for things (Key log.words.yes.\1 or words.no.\1)"),
    (r"list the word under .*? words\.\w+", "correct it, or add the word on Log columns, below Words it uses for things"),
    (r"\(ids: ", "(known: "),
    (r"^fill it in$", "fill it in, or clear the row"),
    (r"state shares of forms by .*", "type shares that add up to 100 %"),
    (r"state shares of all forms|state shares of the year", "type shares that add up to 100 %"),
    (r"state the shares of forms: .*", "type the shares of forms by run, which add up to 100 %"),
    (r"^state (-?[\d.,e+]+ .*or (?:more|less))$", r"type \1"),
    (r"^state (-?[\d.]+)$", r"type \1"),
)  # fmt: skip


def in_words_of(path: Path, problems: Iterable[Problem]) -> list[Problem]:
    """Problems of the scenario at `path`, in the words of a spreadsheet where it is a workbook."""
    return [in_cells(problem) if is_workbook(path) else problem for problem in problems]


def in_cells(problem: Problem) -> Problem:
    """The same problem in the words of a spreadsheet."""
    what, mend = problem.what, problem.mend
    for pattern, words in _MENDS:
        mend = re.sub(pattern, words, mend)
    if found := re.search(r"the shares add up to ([\d.]+), not 1", what):
        what = what.replace(found[0], f"the shares add up to {float(found[1]) * 100:.4g} %, not 100 %")
    if what.endswith("is not a unit known here") and not mend:
        mend = "write the unit back as it was"
    what = re.sub(r"^runs is missing", "the shares of forms by run are missing", what)
    what = re.sub(r"^(\w+) is not mapped$", r"no heading is named for \1", what)
    if share := re.match(r"(\d+(?:\.\d+)?) % is above (\d+(?:\.\d+)?) %$", what):
        typed = float(share[1]) / 100
        if typed > 1 and typed <= float(share[2]):
            what, mend = f"{typed:.6g} is {share[1]} %", per_cent_mend(typed)
    return replace(problem, what=what, mend=mend)


__all__ = ["in_cells", "in_words_of"]
