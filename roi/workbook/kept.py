"""The sheets Scenario and Forms: with Inputs, all that a workbook needs to be a scenario of its own, read by `read_back`.

Scenario lists every key once, in the order in which it was stated: texts, lists and switches with their content, numbers
that stand on Inputs by name alone, numbers no figure asks for with their ranges,
and what a method has from the one it is the same as by that one's key. Forms holds the work, forms alike
put together, without names and dates of jobs. Everything on both was fixed when written; no formula refers to it.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from openpyxl import Workbook
from openpyxl.styles import Alignment
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from roi.model.alike import put_alike_together
from roi.model.tables import MONTHS
from roi.scenario.files import SCHEMA, Key
from roi.scenario.scenario import Scenario
from roi.scenario.stated import StatedInput
from roi.scenario.things import clean
from roi.scenario.worklog import FLAGS, WorkLog
from roi.workbook.cells import fit_label, fit_row, keep_as_it_is, put_number, put_text
from roi.workbook.placing import HEAD
from roi.workbook.styles import set_up_page

SCENARIO, FORMS, INPUTS = "Scenario", "Forms", "Inputs"
SCENARIO_HEADS = (
    "Key", "Kind", "Stated by", "Content", "Unit", "Low", "High", "Status", "Source", "Date", "By", "Valid until",
)  # fmt: skip
# What a row of Scenario holds.
TEXT, LIST, SWITCH, NUMBER, ORDER, INPUT, MEASURE, SAME = (
    "text", "list", "switch", "number", "order", "input", "measure", "same as",
)  # fmt: skip
TABLE, LEDGER, LEDGER_YEAR = "table", "ledger", ("from", "to")
SHOP, SHIPPED = "shop", "default"
HOW_SURE = "How sure"  # a heading of Inputs that only workbooks to fill in have
NO_UNIT, NO_SOURCE = (
    "number",
    "not stated",
)  # what stands where there is none: cells on Inputs are never empty
FORM_HEADS = (
    "Forms alike", "Bin", "Press", "Size", "Plates", "Good impressions", "Forms", "Jobs", "Ruling", "Kind of work",
)  # fmt: skip
LOAD_HEADS = ("Days by load", "Days a year", "Plates a day", "Area a day", "Which")
ABOUT, MONTH_TITLE, LEFT_OUT = "About the work", "Months", "Rows left out"
FORMULAS = "Formulas of each sheet"
PARTS_OF_A_PROBLEM = ("where", "what", "mend")
# Rows of the first table of Forms.
FACTS = (
    "Read from", "Days of the period", "Date", "Rows read", "Rows left out, count", "Forms without a ruling", "Forms in all",
    "Plates in all", "Loads from", "Check number of Work and Units", "Note",
)  # fmt: skip
CHECKED = ("Work", "Units")  # sheets whose numbers formulas use and nobody may change
TYPICAL, BUSY = "typical", "busy"
KINDS_OF_WORK = ("uncoated", *FLAGS)
_WRAPPED, _RUNS_ON = Alignment(wrap_text=True, vertical="top"), Alignment(vertical="top")
_RESOLVED: tuple[Key, ...] = (("schema",), ("name",), ("currency",), ("units",))
_NOT_KEPT = {("based_on",)}  # a workbook stands on its own


@dataclass(frozen=True)
class Row:
    """One row of Scenario: a key, what kind of thing it says, whether the shop or a default says it, and the content."""

    key: str
    kind: str
    by: str
    content: str | float
    stated: StatedInput | None = None


def scenario_rows(scenario: Scenario, on_inputs: Collection[str]) -> Iterator[Row]:
    """Every key of a scenario once; `on_inputs` are the keys of the numbers that stand on Inputs."""
    resolved = dict(zip(_RESOLVED, (SCHEMA, scenario.name, scenario.currency, scenario.system), strict=True))
    for name, value in resolved.items():
        yield Row(key_text(name), _kind(value), SHOP, _content(value))
    for size in scenario.sizes:
        yield Row(key_text(("sizes", size.id, "label")), TEXT, SHOP, size.name)
        yield Row(key_text(("sizes", size.id, "format")), TEXT, SHOP, size.format)
    yield Row("presses", ORDER, SHOP, _content([p.id for p in scenario.presses]))
    yield Row("methods", ORDER, SHOP, _content([m.id for m in scenario.methods]))
    if scenario.ledger is not None:
        yield from _ledger_rows(_ledger(scenario))
    for key, raw in scenario.raw.items():
        if key in _RESOLVED or key in _NOT_KEPT:
            continue
        by, stated = SHIPPED if raw.default else SHOP, scenario.inputs.get(key)
        if raw.same:
            yield Row(key_text(key), SAME, by, key_text(raw.same))
            continue
        if stated is None:
            yield Row(key_text(key), _kind(raw.value), by, _content(raw.value))
        elif stated.key in on_inputs:
            yield Row(key_text(key), INPUT, by, "", stated)
        else:
            yield Row(key_text(key), MEASURE, by, stated.best, stated)


def _ledger(scenario: Scenario) -> dict[str, Any]:
    """How a ledger is to be read: what [ledger] says but for its file, which stays behind, with the year it is of."""
    assert scenario.ledger is not None
    table = {name: value for name, value in scenario.ledger_table.items() if name != "file"}
    if scenario.ledger.year is not None:
        table |= dict(zip(LEDGER_YEAR, (day.isoformat() for day in scenario.ledger.year), strict=True))
    return table


def _ledger_rows(table: Mapping[str, Any], key: Key = (LEDGER,)) -> Iterator[Row]:
    """A row for each thing that [ledger] says, accounts and patterns each on its own; one that says nothing is a table."""
    if not table:
        yield Row(key_text(key), TABLE, SHOP, "{}")
    for name, value in table.items():
        if isinstance(value, Mapping) and value:
            yield from _ledger_rows(value, (*key, name))
        else:
            said: Any = (
                {}
                if isinstance(value, Mapping)
                else value
                if isinstance(value, (bool, int, float))
                else str(value)
            )
            kind = TABLE if isinstance(value, Mapping) else _kind(said)
            yield Row(key_text((*key, name)), kind, SHOP, "{}" if kind == TABLE else _content(said))


def write_scenario(
    book: Workbook, scenario: Scenario, on_inputs: Collection[str], to_fill_in: Collection[str] = ()
) -> Worksheet:
    """Write the Scenario sheet; `to_fill_in` are the keys of rows whose content wears the style of inputs."""
    sheet = book.create_sheet(SCENARIO)
    keep_as_it_is(sheet)
    put_text(sheet, 1, 1, "Scenario", "Headline")
    said = "What this workbook is a scenario of, beside the numbers on Inputs: fixed when written, formulas don't refer to it."
    put_text(sheet, 2, 1, said, "Note")
    put_text(
        sheet,
        3,
        1,
        "The program reads it when this workbook is given to it in place of a scenario file.",
        "Note",
    )
    widths = (50, 10, 10, 46, 16, 12, 12, 12, 44, 12, 18, 12)
    for i, (head, width) in enumerate(zip(SCENARIO_HEADS, widths, strict=True)):
        put_text(sheet, HEAD, i + 1, head, "Head")
        sheet.column_dimensions[get_column_letter(i + 1)].width = width
    for row, one in enumerate(scenario_rows(scenario, on_inputs), HEAD + 1):
        put_text(sheet, row, 1, one.key, "Label")
        put_text(sheet, row, 2, one.kind, "Label")
        put_text(sheet, row, 3, one.by, "Label")
        style = "Input" if one.key in to_fill_in else "Data"
        if isinstance(one.content, str):
            cell = put_text(sheet, row, 4, one.content, style)
            cell.alignment = _WRAPPED
            fit_label(sheet, row, one.content, widths[3])
        else:
            put_number(sheet, row, 4, one.content, style, "General")
        if one.stated is not None:
            put_text(sheet, row, 5, one.stated.shown or NO_UNIT, "Label")
            put_text(sheet, row, 11, one.stated.by, "Label")
            put_text(sheet, row, 12, one.stated.valid_until, "Label")
        if one.kind == MEASURE and one.stated is not None:
            put_number(sheet, row, 6, one.stated.low, "Data", "General")
            put_number(sheet, row, 7, one.stated.high, "Data", "General")
            for column, text in ((8, one.stated.status), (9, one.stated.source), (10, one.stated.date)):
                cell = put_text(sheet, row, column, text, "Data")
                cell.alignment = _WRAPPED
            fit_label(sheet, row, one.stated.source, widths[8])
    sheet.freeze_panes = sheet.cell(HEAD + 1, 2)
    set_up_page(sheet, head_rows=HEAD)
    return sheet


_FORMS_WIDTHS = (34, 18, 18, 18, 10, 16, 14, 14, 10, 34)


def write_forms(book: Workbook, scenario: Scenario) -> Worksheet:
    """Write the Forms sheet: what the work was read from, its months, days by load, and its forms."""
    work = put_alike_together(scenario)
    assert work.loads is not None and work.bin is not None and work.jobs is not None
    sheet = book.create_sheet(FORMS)
    keep_as_it_is(sheet)
    put_text(sheet, 1, 1, "Forms", "Headline")
    said = "The work, forms alike put together, without names and dates of jobs. Fixed when written; see Work for a year of it."
    put_text(sheet, 2, 1, said, "Note")
    for column, width in enumerate(_FORMS_WIDTHS, 1):
        sheet.column_dimensions[get_column_letter(column)].width = width
        put_text(sheet, HEAD, column, "What" if column == 1 else "", "Head")
    writer = _Lines(sheet, HEAD + 1)
    numbers = [cell.value for name in CHECKED for row in book[name].iter_rows() for cell in row]
    facts: dict[str, str | float] = dict(
        zip(FACTS, (*_facts(scenario, work), check_number(numbers)), strict=False)
    )
    writer.line(ABOUT, style="Section")
    for what, fact in facts.items():
        writer.line(what, fact)
    for note in work.notes:
        writer.line("Note", note)
    writer.line()
    if work.skipped:
        writer.line(LEFT_OUT, style="Section")
        for number, problem in enumerate(work.skipped, 1):
            for part, text in zip(
                PARTS_OF_A_PROBLEM, (problem.where, problem.what, problem.mend), strict=True
            ):
                writer.line(f"{number}, {part}", text)
        writer.line()
    writer.line(MONTH_TITLE, "Share of plates", style="Section")
    for month, share in zip(MONTHS, work.month_share.tolist(), strict=True):
        writer.line(month, share)
    writer.line()
    writer.line(*LOAD_HEADS, style="Section")
    for i, amounts in enumerate(zip(work.loads.days, work.loads.plates, work.loads.area, strict=True)):
        which = [name for name, at in ((TYPICAL, work.loads.typical), (BUSY, work.loads.busy)) if at == i]
        writer.line(f"Level {i + 1}", *map(float, amounts), ", ".join(which))
    writer.line()
    writer.line(*FORM_HEADS, style="Section")
    for i in range(len(work.weight)):
        kinds = ", ".join(name for name in KINDS_OF_WORK if getattr(work, name)[i])
        writer.line(
            f"Row {i + 1}", int(work.bin[i]), work.presses[work.press[i]], work.sizes[work.size[i]], int(work.plates[i]),
            float(work.good[i]), float(work.weight[i]), float(work.jobs[i]), float(work.ruling[i]), kinds,
        )  # fmt: skip
    sheet.freeze_panes = sheet.cell(HEAD + 1, 2)
    set_up_page(sheet, head_rows=HEAD)
    return sheet


def write_formula_counts(sheet: Worksheet, results: Mapping[str, Mapping[str, object]]) -> None:
    """Below the rest of Forms: how many formulas each sheet holds, so that one typed over is found when it is read back."""
    writer = _Lines(sheet, sheet.max_row + 2)
    writer.line(FORMULAS, "Formulas", style="Section")
    for title, cells in results.items():
        writer.line(title, len(cells))


def _facts(scenario: Scenario, work: WorkLog) -> tuple[str | float, ...]:
    assert work.loads is not None
    return (
        scenario.work_source, work.days, work.date_kind, work.rows_read, work.rows_skipped, work.ruling_unknown,
        float(work.weight.sum()), float(work.weight @ work.plates), work.loads.basis,
    )  # fmt: skip


def check_number(cells: Iterable[object]) -> float:
    """What the numbers among cells add up to, large ones drawn in: it changes with any of them."""
    return math.fsum(math.asinh(x) for x in cells if isinstance(x, (int, float)) and not isinstance(x, bool))


class _Lines:
    """Rows of cells, one below another."""

    def __init__(self, sheet: Worksheet, row: int) -> None:
        self._sheet, self._row = sheet, row

    def line(self, *cells: str | float, style: str = "") -> None:
        for column, cell in enumerate(cells, 1):
            if isinstance(cell, str):
                put_text(self._sheet, self._row, column, cell, style or ("Label" if column == 1 else "Data"))
                if len(cell) > 0.8 * _FORMS_WIDTHS[column - 1]:  # runs on to the right, over empty cells
                    self._sheet.cell(self._row, column).alignment = _RUNS_ON
                if len(cell) > sum(_FORMS_WIDTHS[column - 1 :]):  # beyond the last column paper would cut it
                    self._sheet.cell(self._row, column).alignment = _WRAPPED
                    fit_row(self._sheet, self._row, cell, _FORMS_WIDTHS[column - 1])
            else:
                shown = "0" if float(cell).is_integer() else "#,##0.0###"
                put_number(self._sheet, self._row, column, cell, "Data", shown)
        self._row += 1


def key_text(key: Key) -> str:
    """A key as it stands in a cell: names joined by points, those with other signs in quotation marks."""
    return ".".join(
        n if re.fullmatch(r"[A-Za-z0-9_-]+", n) else json.dumps(n, ensure_ascii=False) for n in key
    )


def key_of(text: str) -> Key:
    """The key a cell's text stands for; the inverse of `key_text`."""
    parts = re.findall(r'"(?:[^"\\]|\\.)*"|[^.]+', text.strip())
    return tuple(
        json.loads(p) if p.startswith('"') and p.endswith('"') and len(p) > 1 else p.strip() for p in parts
    )


def _kind(value: Any) -> str:
    if isinstance(value, bool):
        return SWITCH
    if isinstance(value, (int, float)):
        return NUMBER
    return LIST if isinstance(value, list) else TEXT


def _content(value: Any) -> str | float:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return value
    return json.dumps(value, ensure_ascii=False) if isinstance(value, list) else clean(value)


__all__ = [
    "ABOUT", "BUSY", "CHECKED", "FACTS", "FORMS", "FORM_HEADS", "HOW_SURE", "INPUT", "INPUTS", "KINDS_OF_WORK",
    "LEDGER", "LEDGER_YEAR", "LEFT_OUT", "LIST", "LOAD_HEADS", "MEASURE", "MONTH_TITLE", "NO_SOURCE", "NO_UNIT",
    "NUMBER", "ORDER", "PARTS_OF_A_PROBLEM", "Row", "SAME", "SCENARIO", "SCENARIO_HEADS", "SHIPPED", "SHOP",
    "SWITCH", "TABLE", "TEXT", "TYPICAL", "check_number", "key_of", "key_text", "scenario_rows", "write_forms",
    "write_scenario",
]  # fmt: skip
