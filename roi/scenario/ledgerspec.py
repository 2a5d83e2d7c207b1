"""The [ledger] table of a scenario, checked: which file, which columns, which year, and what each account stands for.

Nothing of the ledger itself is read here. An account or pattern stands for a *head*, a family of running costs such as
"consumables" or one of its price groups such as "consumables.chemistry", or is left out with a reason. Wages and press time
are no invoices, so nothing stands for those families. Tolerances are shares: 0.1 for 10 %.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from roi.scenario.catalogue import FAMILIES, load
from roi.scenario.cells import DECIMALS
from roi.scenario.dates import ORDERS
from roi.scenario.logspec import choice_in, file_beside, period_in, table_in
from roi.scenario.problems import BadInput, Problem
from roi.scenario.things import clean
from roi.scenario.words import fold, mend_name, quoted, unknown_keys
from roi.units.quantity import UnreadableQuantity, split_number

NOT_INVOICED = {"labour": "wages are no invoices", "press": "press time is no invoice"}
INVOICED = tuple(family for family in FAMILIES if family not in NOT_INVOICED)
LEAVE_OUT = "leave out"
TOLERANCE = 0.10  # convention of this tool
COLUMNS = ("date", "account", "supplier", "text", "amount")
USUAL_COLUMNS = ("date", "account", "supplier", "amount")
KEYS = (
    "file", "sheet", "date_order", "decimal", "bad_rows", "charges", "from", "to", "tolerance", "columns", "accounts",
    "patterns",
)  # fmt: skip
EXAMPLE = '[ledger.accounts] "5010" = "consumables" (or "waste", "equipment.service", "leave out: internal")'


@dataclass(frozen=True)
class Meaning:
    """What rows of an account or pattern stand for: a head, or left out (`head` empty) for a `reason`."""

    head: str
    reason: str = ""


@dataclass(frozen=True)
class LedgerSpec:
    """`columns`: our name -> header; `accounts`: folded account -> meaning; `patterns`: folded words and meaning, in the
    order stated.

    path : None where the scenario names no file;  date_order : None to be found
    year : first and last day, None to be taken from the ledger;  year_said : where it is stated, for readers
    negative : whether charges are negative amounts;  tolerance : share of the books
    where : the table's name, for messages
    """

    path: Path | None
    sheet: str | None
    date_order: str | None
    decimal: str
    skip_bad: bool
    negative: bool
    year: tuple[dt.date, dt.date] | None
    year_said: str
    tolerance: float
    columns: dict[str, str]
    accounts: dict[str, Meaning]
    patterns: tuple[tuple[str, Meaning], ...]
    where: str

    @property
    def heads(self) -> tuple[str, ...]:
        """The heads that something stands for, in the order of the families, a family before its price groups."""
        named = {m.head for m in (*self.accounts.values(), *(m for _, m in self.patterns)) if m.head}
        order = [head for family in INVOICED for head in (family, *(f"{family}.{g}" for g in price_groups()))]
        return tuple(head for head in order if head in named)

    def of_year(self, first: dt.date, last: dt.date, said: str) -> LedgerSpec:
        """The same for another year."""
        return replace(self, year=(first, last), year_said=said)


def price_groups() -> tuple[str, ...]:
    """The names of the groups in which prices grow: what a head may say after its family."""
    growth = load("shop.toml")["growth"]
    assert isinstance(growth, Mapping)
    return (*(name for name in growth if name != "volume"), "general")


def read_ledger_spec(
    spec: Mapping[str, object], folder: Path, where: str, log_period: tuple[dt.date, dt.date] | None
) -> LedgerSpec:
    """The checked table. `log_period` is what [log] states as its period: the ledger's year where [ledger] states none.

    Raises
    ------
    BadInput
        With every fault of the table: unknown or misspelt keys, wrong types or choices, a file outside the scenario's
        folder, half a period, columns missing or mapped twice, accounts that stand for nothing known.
    """
    problems = [*unknown_keys(spec, KEYS, where)]
    path = None
    if "file" in spec:
        path = file_beside(folder, spec["file"], where, problems, "ledger", "ledger.csv")
    sheet = spec.get("sheet")
    if sheet is not None and not isinstance(sheet, str):
        problems.append(Problem(f"{where} sheet", "must be the name of a sheet", 'write sheet = "2026"'))
    order = choice_in(spec, "date_order", ORDERS, None, where, problems)
    decimal = choice_in(spec, "decimal", DECIMALS, "point", where, problems)
    bad_rows = choice_in(spec, "bad_rows", ("refuse", "skip"), "refuse", where, problems)
    charges = choice_in(spec, "charges", ("positive", "negative"), "positive", where, problems)
    year, said = period_in(spec, where, problems), "as stated in [ledger]"
    if year is None and log_period is not None:
        year, said = log_period, "as [log] states its period"
    columns = _columns(table_in(spec, "columns", where, problems, "ledger"), where, problems)
    accounts = {
        fold(name): meaning
        for name, meaning in _meanings(
            table_in(spec, "accounts", where, problems, "ledger"), f"{where} accounts", problems
        )
    }
    patterns = _meanings(table_in(spec, "patterns", where, problems, "ledger"), f"{where} patterns", problems)
    tolerance = _tolerance(spec.get("tolerance"), f"{where} tolerance", problems)
    if problems:
        raise BadInput(problems)
    return LedgerSpec(
        path=path,
        sheet=sheet if isinstance(sheet, str) else None,
        date_order=order,
        decimal=str(decimal),
        skip_bad=bad_rows == "skip",
        negative=charges == "negative",
        year=year,
        year_said=said if year is not None else "",
        tolerance=tolerance,
        columns=columns,
        accounts=accounts,
        patterns=tuple((fold(name), meaning) for name, meaning in patterns),
        where=where,
    )


def _columns(table: Mapping[str, object], where: str, problems: list[Problem]) -> dict[str, str]:
    at = f"{where} columns"
    if not table:
        return {name: name for name in USUAL_COLUMNS}
    problems += unknown_keys(table, COLUMNS, at)
    columns: dict[str, str] = {}
    by_header: dict[str, str] = {}
    for name, header in table.items():
        if not isinstance(header, str) or not header.strip():
            what = "must be a header of the ledger"
            problems.append(Problem(f"{at}.{name}", what, f'write {name} = "Its header"'))
            continue
        columns[name] = header
        other = by_header.setdefault(fold(header), name)
        if other != name:
            what = f"{quoted(header)} is already mapped to {other}"
            problems.append(Problem(f"{at}.{name}", what, "map a column once"))
    problems += [
        Problem(at, f"{name} is not mapped", f'write {name} = "the header of that column"')
        for name in ("date", "amount")
        if name not in table
    ]
    if "account" not in table and "supplier" not in table:
        mend = 'write account = "the header of that column", or supplier'
        problems.append(Problem(at, "neither account nor supplier is mapped", mend))
    return columns


def _meanings(table: Mapping[str, object], where: str, problems: list[Problem]) -> list[tuple[str, Meaning]]:
    found: list[tuple[str, Meaning]] = []
    for name, value in table.items():
        if not fold(name):
            problems.append(Problem(where, "an empty name stands for every row", "name an account or words"))
        elif not isinstance(value, str):
            problems.append(Problem(f"{where}.{clean(name)}", "must be a text", EXAMPLE))
        elif meaning := _meaning(value):
            found.append((name, meaning))
        else:
            problems.append(_unknown(f"{where}.{clean(name)}", value))
    return found


def _meaning(value: str) -> Meaning | None:
    text = fold(value)
    if text == LEAVE_OUT or text.startswith(f"{LEAVE_OUT}:"):
        return Meaning("", clean(value.partition(":")[2]) or "as stated")
    family, dot, group = text.partition(".")
    if family in INVOICED and (not dot or group in price_groups()):
        return Meaning(text)
    return None


def _unknown(where: str, value: str) -> Problem:
    family, _, group = fold(value).partition(".")
    if family in NOT_INVOICED:
        return Problem(
            where, f"{NOT_INVOICED[family]}: they can't be compared", f'write "{LEAVE_OUT}: {family}"'
        )
    if family in INVOICED:
        return Problem(where, f"{quoted(group)} is no group of prices", mend_name(group, price_groups()))
    return Problem(where, f"{quoted(value)} is no family of costs", mend_name(value, (*INVOICED, LEAVE_OUT)))


def _tolerance(value: object, where: str, problems: list[Problem]) -> float:
    if value is None:
        return TOLERANCE
    mend = 'write tolerance = "10 %"'
    share = float("nan")
    if isinstance(value, str):
        try:
            number, unit = split_number(value)
            share = number / 100 if unit in ("%", "percent") else share
        except UnreadableQuantity:
            pass
    elif isinstance(value, int | float) and not isinstance(value, bool):
        share = float(value)
    if not 0 <= share <= 1:
        problems.append(Problem(where, f"{quoted(str(value))} is no share from 0 to 100 %", mend))
        return TOLERANCE
    return share


def known_words(names: Iterable[str]) -> str:
    """Accounts ready to be copied into a scenario, each with a question mark for its head."""
    return ", ".join(f'{quoted(name)} = "..."' for name in names)


__all__ = [
    "COLUMNS", "EXAMPLE", "INVOICED", "LEAVE_OUT", "NOT_INVOICED", "TOLERANCE", "LedgerSpec", "Meaning", "known_words",
    "price_groups", "read_ledger_spec",
]  # fmt: skip
