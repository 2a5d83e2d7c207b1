"""The sheet Ledger and accounts of an input workbook read back: how a ledger is read, and account codes for a budget.

It states a ledger once an account or words in its rows are filled in. What is wrong with a ledger is told by the cell that
says so, in an input workbook and in one that `roi compare` wrote; amounts and rows are left to the reader of ledgers.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

from roi.scenario.files import Raw
from roi.scenario.ledgerspec import LEAVE_OUT
from roi.scenario.problems import BadInput, Problem
from roi.scenario.words import fold
from roi.workbook.input_choices import STANDS_FOR
from roi.workbook.input_ledger import BOOKS, BOOKS_HEADS, IN_BOOKS, STANDS
from roi.workbook.kept import LEDGER, SCENARIO, SHOP, TEXT, key_of
from roi.workbook.read_cells import Page, Sheets
from roi.workbook.read_kept import Kept, read_scenario
from roi.workbook.read_own import Words, chosen, read_choices
from roi.workbook.read_words import in_cells

_DAYS = ("from", "to")
_MEANT = {"account": "accounts", "pattern": "patterns"}
_EXAMPLE = "type an account as your ledger writes it, and choose beside it what it stands for"


def read_books(sheets: Sheets, kept: Kept, words: Words, problems: list[Problem]) -> None:
    """Lay down the account codes, and the ledger where an account or words stand for something."""
    if BOOKS not in sheets.titles:
        return
    page = sheets.page(BOOKS, problems, why="your ledger and accounts")
    if page is None or not page.find_heads(BOOKS_HEADS, problems):
        return
    table: dict[str, Any] = {}
    for row in page.rows():
        key = key_of(page.text(row, "Key"))
        filled = page.value(row, IN_BOOKS) != "" or page.value(row, STANDS) != ""
        if len(key) > 1 and key[0] == LEDGER and key[1] not in _MEANT:
            kept.cells[".".join(key)] = page.at(row, IN_BOOKS)
        if not filled or len(key) < 2:
            continue
        if key[0] == "accounts":
            kept.values[key] = Raw(page.text(row, IN_BOOKS), page.file, False, page.where(row, IN_BOOKS))
        elif key[1] in _MEANT:
            _read_meaning(page, row, _MEANT[key[1]], table, kept, words, problems)
        else:
            _read_setting(page, row, key, table, problems)
    if "accounts" in table or "patterns" in table:
        kept.ledger = (table, f"{page.file}, {BOOKS}")


def _read_meaning(
    page: Page, row: int, name: str, table: dict[str, Any], kept: Kept, words: Words, problems: list[Problem]
) -> None:
    """One account, or words of a row, and what it stands for."""
    text = page.text(row, IN_BOOKS)
    if not text:
        mend = "type what your ledger calls it, or clear what stands beside it"
        problems.append(Problem(page.at(row, IN_BOOKS), f'is empty, and "{STANDS}" is filled in', mend))
        return
    head = chosen(page, row, STANDS, words[STANDS_FOR], problems)
    meanings = table.setdefault(name, {})
    if fold(text) in map(fold, meanings):
        problems.append(
            Problem(page.at(row, IN_BOOKS), f"{text!r} stands there twice", "clear one of the two rows")
        )
    if head:
        meanings[text] = head
        kept.cells[f"ledger.{name}.{text}"] = page.at(row, STANDS)


def _read_setting(
    page: Page, row: int, key: tuple[str, ...], table: dict[str, Any], problems: list[Problem]
) -> None:
    """How a ledger is read: a column's heading, a word of few, a day or a share."""
    name = key[-1]
    if key[1] == "columns":
        table.setdefault("columns", {})[name] = page.text(row, IN_BOOKS)
    elif name in _DAYS:
        day = page.date(row, IN_BOOKS, problems)
        if day:
            table[name] = dt.date.fromisoformat(day)
    elif name == "tolerance":
        share = page.number(row, IN_BOOKS, problems, unit="%")
        if share is not None:
            table[name] = share
    else:
        table[name] = page.text(row, IN_BOOKS).lower()


def where_to_say(path: Path) -> Problem:
    """What is to be filled in, of a workbook that says nothing of a ledger, and where."""
    with Sheets(path) as sheets:
        what = "nothing says what the accounts of a ledger stand for"
        if BOOKS in sheets.titles:
            cell = _first_account(sheets)
            return Problem(cell, what, _EXAMPLE)
        page = sheets.page(SCENARIO, [], why="the scenario")
        row = len(page.rows()) + page.head_row + 1 if page else 1
        mend = (
            f"add a row for each account: Key ledger.accounts.5010 (with your account), Kind {TEXT}, Stated by {SHOP}, Content "
            f'consumables, waste, energy, equipment or {LEAVE_OUT}; or fill in "{BOOKS}" of the workbook that roi new --workbook '
            "writes"
        )
        return Problem(f"{path.name}, {SCENARIO}!A{row}", what, mend)


def _first_account(sheets: Sheets) -> str:
    page = sheets.page(BOOKS, [], why="your ledger")
    if page is not None and page.find_heads(BOOKS_HEADS, []):
        for row in page.rows():
            if page.text(row, "Key") == "ledger.account.1":
                return page.at(row, IN_BOOKS)
    return f"{sheets.file}, {BOOKS}"


def told_by_cell(path: Path, problems: Iterable[Problem]) -> list[Problem]:
    """Problems of reading a ledger, those of what the workbook at `path` says of it by sheet and cell, in its words."""
    kept = Kept(path.name)
    with Sheets(path) as sheets:
        if BOOKS in sheets.titles:
            read_books(sheets, kept, read_choices(sheets, []), [])
            cell = _first_account(sheets)
        else:
            page = sheets.page(SCENARIO, [], why="the scenario")
            if page is not None:
                try:
                    kept = read_scenario(page, [])
                except BadInput:
                    return list(problems)
            cell = f"{path.name}, {SCENARIO}"
    return [ledger_by_cell(problem, kept, cell) for problem in problems]


def ledger_by_cell(problem: Problem, kept: Kept, otherwise: str = "") -> Problem:
    """One problem of the ledger's table told by the cell that says it; `otherwise` where none does."""
    at = kept.ledger[1] if kept.ledger else f"{kept.file}, {BOOKS}"
    if not problem.where.startswith(at):
        return in_cells(problem)
    rest = problem.where.removeprefix(at).strip()
    key = f"{LEDGER}." + re.sub(r"^(columns|accounts|patterns) ", r"\1.", rest)
    if unnamed := re.match(r"(\w+) is not mapped", problem.what):
        key += f".{unnamed[1]}"
    found = next((cell for name, cell in kept.cells.items() if fold(name) == fold(key)), "")
    found = found or next((cell for name, cell in kept.cells.items() if name.startswith(f"{key}.")), "")
    told = in_cells(replace(problem, where=found or otherwise or problem.where))
    if found or SCENARIO not in at:
        return told
    mend = f"add a row: Key {key}, Kind {TEXT}, Stated by {SHOP}, and as Content what it is ({told.mend})"
    return replace(told, mend=mend)


__all__ = ["ledger_by_cell", "read_books", "told_by_cell", "where_to_say"]
