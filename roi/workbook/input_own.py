"""The sheets Presses and Own costs of an input workbook: what a shop may have beside what it starts with, a row each.

A further press takes its numbers from Inputs, where it has rows; an own cost states its amount here. Rows that are empty say
nothing. `read_own` reads them back, by the headings and keys written here.
"""

from __future__ import annotations

from openpyxl import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from roi.scenario.catalogue import STATUSES
from roi.scenario.scenario import Scenario
from roi.scenario.stated import SURE
from roi.workbook.cells import put_kept, put_number
from roi.workbook.input_cells import END, Guards, new_sheet, section
from roi.workbook.input_choices import COUNTED, GROWTH, KINDS, METHODS, Choices
from roi.workbook.kept import HOW_SURE, NO_UNIT
from roi.workbook.placing import HEAD

PRESSES, SIZES, OWN_COSTS = "Presses", "Plate sizes", "Own costs"
PRESS_HEADS = ("Press", "Unit", "Printing units", "Default", "Called in your job log", "Key")
MOST_PRESSES, MOST_UNITS = 4, 12
SIZE_HEADS = ("Plate size", "Format", "Key")
MOST_SIZES = 8
OWN_HEADS = (
    "What it is", "Method", "Kind of cost", "Counted by", "Price grows with", "Amount", "Low", "High", HOW_SURE, "Status",
    "Source", "Date", "Valid until", "Stated by", "Key",
)  # fmt: skip
_OWN_WIDTHS = (34, 28, 18, 18, 18, 12, 10, 10, 10, 11, 30, 12, 12, 18, 12)
OWN_ROWS = 12
_MOST = 1e9  # of an amount


def press_keys(scenario: Scenario) -> list[str]:
    """The ids that rows of Presses stand for: the presses there are, then those that may be added."""
    there = [press.id for press in scenario.presses]
    return [*there, *(f"press_{number}" for number in range(len(there) + 1, MOST_PRESSES + 1))]


def write_presses(book: Workbook, scenario: Scenario) -> Worksheet:
    """Write Presses."""
    sheet = new_sheet(book, PRESSES, PRESSES, PRESS_HEADS, (34, 12, 14, 12, 46, 18), (
        "A row a press: give it a name and it counts. Its speed, hours and rates are on Inputs, under Presses.",
        "What your job log calls it, where that is another name; several names with commas between them.",
    ))  # fmt: skip
    guards = Guards(sheet)
    labels = {press.id: press.label for press in scenario.presses}
    units = scenario.presses[0].units
    for row, key in enumerate(press_keys(scenario), HEAD + 1):
        guards.text(
            row, 1, labels.get(key, ""), "Press", "The name of the press; empty: there is no such press."
        )
        put_kept(sheet, row, 2, NO_UNIT, "Label")
        guards.number(
            row, 3, None, "0", 1, MOST_UNITS, "Printing units",
            f"A whole number from 1 to {MOST_UNITS}: how many colours the press prints in one pass.", whole=True,
        )  # fmt: skip
        put_number(sheet, row, 4, units, "Data", "0")
        guards.text(row, 5, "", "In your job log", "The names your job log uses for this press.")
        put_kept(sheet, row, 6, key, "Label")
    section(sheet, HEAD + 1 + MOST_PRESSES, END, len(PRESS_HEADS))
    sheet.freeze_panes = sheet.cell(HEAD + 1, 2)
    return sheet


def further_sizes(scenario: Scenario) -> dict[str, str]:
    """What plate sizes that may be added are called until they are named, by id."""
    taken = {size.id for size in scenario.sizes}
    numbers = range(len(taken) + 1, MOST_SIZES + 1)
    return {key: f"Size {number}" for number in numbers if (key := f"size_{number}") not in taken}


def write_sizes(book: Workbook, scenario: Scenario) -> Worksheet:
    """Write Plate sizes: those beside the ones that Scenario names."""
    sheet = new_sheet(book, SIZES, SIZES, SIZE_HEADS, (34, 34, 18), (
        "Plate sizes beside those that Scenario names, a row each: give it a name, as your job log calls it, and a format.",
        "Its plates a month are on Plates a month, its prices on Inputs; without a price it is priced by its area.",
    ))  # fmt: skip
    guards = Guards(sheet)
    sizes = further_sizes(scenario)
    for row, key in enumerate(sizes, HEAD + 1):
        guards.text(row, 1, "", "Plate size", "The name of the size; empty: there is no such size.")
        guards.text(row, 2, "", "Format", 'Both sides, like "13 in x 19 3/8 in" or "400 mm x 510 mm".')
        put_kept(sheet, row, 3, key, "Label")
    section(sheet, HEAD + 1 + len(sizes), END, len(SIZE_HEADS))
    sheet.freeze_panes = sheet.cell(HEAD + 1, 2)
    return sheet


def write_own(book: Workbook, currency: str, choices: Choices) -> Worksheet:
    """Write Own costs."""
    sheet = new_sheet(book, OWN_COSTS, OWN_COSTS, OWN_HEADS, _OWN_WIDTHS, (
        f"Costs of your own that Inputs doesn't list, a row each. Amount is in {currency} for each thing counted: 120 and Month "
        f"is 120 {currency} a month.",
        "Working time is in minutes. Left empty, a price grows with general inflation, and an amount may be 15 % off.",
    ))  # fmt: skip
    guards = Guards(sheet)
    for number in range(1, OWN_ROWS + 1):
        row = HEAD + number
        guards.text(
            row, 1, "", "What it is", "Your name for the cost, like Gloves and wipes. Empty: no such cost."
        )
        guards.listed(row, 2, "", choices.cells[METHODS], "Method", "The method that has this cost.")
        guards.listed(
            row, 3, "", choices.cells[KINDS], "Kind of cost", "The kind of cost that it is added to."
        )
        guards.listed(
            row,
            4,
            "",
            choices.cells[COUNTED],
            "Counted by",
            "What the amount is paid or worked for, each time.",
        )
        guards.listed(
            row, 5, "", choices.cells[GROWTH], "Price grows with", "Whose prices it follows over the years."
        )
        for column in (6, 7, 8):
            guards.number(row, column, None, "#,##0.00##", 0, _MOST, "Amount", "A number, 0 or more.")
        guards.choice(row, 9, "", tuple(SURE), "How sure", "Instead of Low and High: how far it may be off.")
        guards.choice(row, 10, "", STATUSES, "Status", "How the number is known.")
        guards.text(row, 11, "", "Source", "Where the number comes from: invoice, quote, meter, stopwatch.")
        guards.date(row, 12, "", "Date", "Of the invoice or quote.")
        guards.date(row, 13, "", "Valid until", "The last day on which the quote holds.")
        guards.text(row, 14, "", "Stated by", "Who says so.")
        put_kept(sheet, row, 15, f"own_{number}", "Label")
    section(sheet, HEAD + 1 + OWN_ROWS, END, len(OWN_HEADS))
    sheet.freeze_panes = sheet.cell(HEAD + 1, 2)
    return sheet


__all__ = [
    "OWN_COSTS",
    "OWN_HEADS",
    "OWN_ROWS",
    "PRESSES",
    "PRESS_HEADS",
    "SIZES",
    "SIZE_HEADS",
    "further_sizes",
    "press_keys",
    "write_own",
    "write_presses",
    "write_sizes",
]
