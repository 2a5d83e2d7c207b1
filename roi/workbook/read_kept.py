"""The Scenario sheet read back as `kept` wrote it, and how a row of a sheet states a number with its range.

What is read is laid down as a scenario file's values are, each with its cell; what can't be is a problem by sheet and cell.
"""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from roi.scenario.catalogue import STATUSES
from roi.scenario.files import SCHEMA, Key, Layers, Raw
from roi.scenario.problems import BadInput, Problem
from roi.scenario.stated import SURE
from roi.workbook.kept import (
    HOW_SURE,
    INPUT,
    LEDGER,
    LEDGER_YEAR,
    LIST,
    MEASURE,
    NO_SOURCE,
    NO_UNIT,
    NUMBER,
    ORDER,
    SAME,
    SCENARIO,
    SCENARIO_HEADS,
    SHIPPED,
    SHOP,
    SWITCH,
    TABLE,
    TEXT,
    key_of,
    key_text,
)  # fmt: skip
from roi.workbook.read_cells import Page

WHOSE = ("By", "Valid until")  # of a number on Inputs, these stand on Scenario
_KINDS = (TEXT, LIST, SWITCH, NUMBER, ORDER, INPUT, MEASURE, SAME, TABLE)


@dataclass
class Kept:
    """What Scenario states: values by key, in order, the units of those on Inputs, and how presses and methods are ordered.

    cells : file and cell of each thing said of the ledger, by its key
    """

    file: str
    values: dict[Key, Raw] = field(default_factory=dict)
    sizes: dict[str, dict[str, str]] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    keys: dict[str, Key] = field(default_factory=dict)
    whose: dict[str, dict[str, str]] = field(default_factory=dict)
    orders: dict[str, tuple[str, ...]] = field(default_factory=dict)
    ledger: tuple[dict[str, Any], str] | None = None
    cells: dict[str, str] = field(default_factory=dict)
    newer: bool = False

    def layers(self, path: Path) -> Layers:
        whole: dict[str, tuple[dict[str, Any], str, Path]] = {
            "sizes": (dict(self.sizes), f"{self.file}, {SCENARIO}, sizes", path.parent)
        }
        if self.ledger is not None:
            whole[LEDGER] = (*self.ledger, path.parent)
        return Layers(self.values, whole, self.orders.get("methods", ()), self.orders.get("presses", ()), [])


def read_scenario(page: Page, problems: list[Problem]) -> Kept:
    kept = Kept(page.file)
    if not page.find_heads([head for head in SCENARIO_HEADS if head not in WHOSE], problems, WHOSE):
        raise BadInput(problems)  # nothing else can be judged without it
    seen: dict[str, int] = {}
    for row in page.rows():
        name = page.text(row, "Key")
        if not name:
            if page.text(row, "Content"):
                problems.append(
                    Problem(page.at(row, "Key"), "the key is gone", "write it back, or clear the row")
                )
            continue
        if name in seen:
            what = f'"{name}" stands in row {seen[name]} already'
            problems.append(Problem(page.at(row, "Key"), what, "clear one of the two rows"))
            continue
        seen[name] = row
        _read_row(page, row, key_of(name), kept, problems)
    for needed in ("methods", "presses"):
        if needed not in kept.orders:
            what = f'the row "{needed}" of kind {ORDER} is missing'
            problems.append(Problem(f"{page.file}, {page.title}", what, 'write it back: ["one", "two"]'))
    if ("schema",) not in kept.values:
        what, mend = 'the row "schema" is missing', f"write it back: schema, {NUMBER}, {SHOP}, {SCHEMA}"
        problems.append(Problem(f"{page.file}, {page.title}", what, mend))
    return kept


def _read_row(page: Page, row: int, key: Key, kept: Kept, problems: list[Problem]) -> None:
    what = key_text(key)
    kind = page.choice(row, "Kind", _KINDS, problems, what=what)
    by = page.choice(row, "Stated by", (SHOP, SHIPPED), problems, what=what)
    cell = page.where(row, "Content")
    if kind == INPUT:
        kept.units[".".join(key)] = page.text(row, "Unit")
        kept.keys[".".join(key)] = key
        kept.whose[".".join(key)] = _whose(page, row, what, problems)
        # Holds the key's place until Inputs is read.
        kept.values[key] = Raw(None, page.file, by == SHIPPED, cell)
        return
    if kind == SAME:
        kept.values[key] = Raw(None, page.file, by == SHIPPED, cell, key_of(page.text(row, "Content")))
        return
    if kind == MEASURE:
        raw = read_measure(page, row, "Content", what, by == SHIPPED, problems, sure=False)
        if raw is not None:
            kept.values[key] = replace(raw, value={**_whose(page, row, what, problems), **raw.value})
        return
    value = _content(page, row, kind, what, problems)
    if value is None:
        return
    if key[0] == LEDGER:
        _lay_ledger(kept, key[1:], value, page, row)
    elif kind == ORDER:
        kept.orders[what] = tuple(value)
    elif key[0] == "sizes" and len(key) == 3:
        kept.sizes.setdefault(key[1], {})[key[2]] = value
    else:
        kept.values[key] = Raw(value, page.file, by == SHIPPED, cell)
    if key == ("currency",):
        page.currency = str(value)
    if key == ("schema",) and isinstance(value, (int, float)) and value > SCHEMA:
        kept.newer = True
        said = f"schema {value:g} is newer than this version reads ({SCHEMA})"
        problems.append(Problem(page.at(row, "Content"), said, "install a newer version"))


def _lay_ledger(kept: Kept, key: Key, value: Any, page: Page, row: int) -> None:
    """Lay what a row says of the ledger into its table."""
    if kept.ledger is None:
        kept.ledger = ({}, f"{page.file}, {page.title} {LEDGER}")
    kept.cells[key_text((LEDGER, *key))] = page.at(row, "Content")
    table = kept.ledger[0]
    for name in key[:-1]:
        below = table.setdefault(name, {})
        table = below if isinstance(below, dict) else {}
    if not key:
        table.update(value if isinstance(value, dict) else {})
    else:
        table[key[-1]] = _day(value) if key[0] in LEDGER_YEAR else value


def _whose(page: Page, row: int, what: str, problems: list[Problem]) -> dict[str, str]:
    """Who stated a number, and until when it is valid, where that is said."""
    said = {"by": page.text(row, WHOSE[0])} if WHOSE[0] in page.heads else {}
    if WHOSE[1] in page.heads:
        said["valid_until"] = page.date(row, WHOSE[1], problems, what=what)
    return {name: text for name, text in said.items() if text}


def _content(page: Page, row: int, kind: str, what: str, problems: list[Problem]) -> Any:
    """A text, list, switch or plain number; None, with a problem, where the cell doesn't hold one."""
    if kind == NUMBER:
        number = page.number(row, "Content", problems, what=what)
        return int(number) if isinstance(number, float) and number.is_integer() else number
    if kind == SWITCH:
        said = page.choice(row, "Content", ("yes", "no", "true", "false"), problems, what=what)
        return said in ("yes", "true")
    text = page.text(row, "Content")
    if kind == TEXT:
        return text
    try:
        found = json.loads(text)
    except json.JSONDecodeError:
        found = None
    if kind == TABLE and isinstance(found, dict):
        return {name: _day(x) if name in LEDGER_YEAR else x for name, x in found.items()}
    if kind == TABLE:
        mend = 'write it in curly brackets, texts in straight quotation marks: {"name": "value"}'
        problems.append(Problem(f"{page.at(row, 'Content')} ({what})", f"{text!r} is not a table", mend))
        return None
    if not isinstance(found, list) or (kind == ORDER and not all(isinstance(x, str) for x in found)):
        mend = 'write it in square brackets, texts in straight quotation marks: ["one", "two"]'
        problems.append(Problem(f"{page.at(row, 'Content')} ({what})", f"{text!r} is not a list", mend))
        return None
    return found


def _day(value: Any) -> Any:
    """A date as such; what is none stays, for the reader of the table to say so."""
    try:
        return dt.date.fromisoformat(value)
    except (TypeError, ValueError):
        return value


def read_measure(
    page: Page, row: int, value: str, what: str, shipped: bool, problems: list[Problem], *, sure: bool
) -> Raw | None:
    """A number with its range, status, source and date as a scenario file would state it; None where a cell is wrong."""
    before = len(problems)
    unit = page.text(row, "Unit").removesuffix(NO_UNIT)
    table: dict[str, Any] = {"best": page.number(row, value, problems, what=what), "unit": unit}
    for end in ("Low", "High"):
        if not sure or page.value(row, end) != "":
            table[end.lower()] = page.number(row, end, problems, what=what)
    if sure and page.text(row, HOW_SURE):
        table["sure"] = page.choice(row, HOW_SURE, SURE, problems, what=what)
    if not sure or page.text(row, "Status"):
        table["status"] = page.choice(row, "Status", STATUSES, problems, what=what)
    source = page.text(row, "Source")
    table["source"] = "" if source == NO_SOURCE else source
    if date := page.date(row, "Date", problems, what=what):
        table["date"] = date
    if len(problems) > before:
        return None
    if unit.startswith("%"):  # a share stands as a fraction in a cell, shown in per cent
        table |= {
            name: float(f"{table[name] * 100:.15g}") for name in ("best", "low", "high") if name in table
        }
    # Whoever says how a number is known has stated it.
    return Raw(table, page.file, shipped and table.get("status") == "default", page.where(row, value))


__all__ = ["WHOSE", "Kept", "read_measure", "read_scenario"]
