"""The sheet Choices of an input workbook: every list that cells offer, each word with the key the program knows it by.

Cells elsewhere offer the words; reading goes from a word to its key on this sheet, so that the words may be in any language.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from openpyxl import Workbook

from roi.answers.reconcile import head_label
from roi.scenario.catalogue import drivers
from roi.scenario.ledgerspec import INVOICED, LEAVE_OUT
from roi.scenario.scenario import Scenario
from roi.workbook.cells import put_kept, put_text
from roi.workbook.input_cells import END, new_sheet, section
from roi.workbook.placing import HEAD

CHOICES = "Choices"
CHOICE_HEADS = ("Word", "List", "Key")
METHODS, KINDS, COUNTED, GROWTH, STANDS_FOR = "method", "kind", "counted by", "growth", "stands for"
WORKING_TIME = "labour time"
_TITLES = {
    METHODS: "Methods", KINDS: "Kinds of cost", COUNTED: "What a cost is counted by", GROWTH: "What a price grows with",
    STANDS_FOR: "What an account may stand for",
}  # fmt: skip
_KINDS = {
    "Consumables": "consumables", "Waste": "waste", "Energy": "energy", "Equipment": "equipment", "Room": "room",
    "Working time, in minutes": WORKING_TIME,
}  # fmt: skip
# Counts that every method has; those of bought-in plates and baths belong to some methods only.
_COUNTED = (
    "plate imaged", "plate on press", "form", "job", "remake", "stop", "work day", "week", "month", "year", "order",
)  # fmt: skip
_APART = {"consumables": ("plates", "chemistry", "bought_in", "general"), "equipment": ("service",)}


@dataclass(frozen=True)
class Choices:
    """Where each list stands: `cells` by the list's name, for validation; `words` of each, by key."""

    cells: Mapping[str, str]
    words: Mapping[str, Mapping[str, str]]


def lay_out_choices(scenario: Scenario) -> Choices:
    """Give each list its rows."""
    growths = dict.fromkeys(key[1] for key in scenario.raw if key[0] == "growth" and key[1] != "volume")
    lists: dict[str, dict[str, str]] = {
        METHODS: {method.id: method.label for method in scenario.methods},
        KINDS: {key: word for word, key in _KINDS.items()},
        COUNTED: {name: name[:1].upper() + name[1:] for name in _COUNTED if name in drivers()},
        GROWTH: {"general": "General inflation"}
        | {name: name.replace("_", " ").capitalize() for name in growths},
        STANDS_FOR: {head: head_label(head) for family in INVOICED for head in (family, *_within(family))}
        | {LEAVE_OUT: "Left out"},
    }
    cells, row = {}, HEAD + 1
    for name, words in lists.items():
        cells[name] = f"{CHOICES}!$A${row + 1}:$A${row + len(words)}"
        row += len(words) + 1
    return Choices(cells, lists)


def _within(family: str) -> list[str]:
    """The heads within a family of costs that a ledger commonly tells apart."""
    return [f"{family}.{group}" for group in _APART.get(family, ())]


def write_choices(book: Workbook, choices: Choices) -> None:
    """Write them."""
    sheet = new_sheet(book, CHOICES, CHOICES, CHOICE_HEADS, (40, 20, 30), (
        "What the lists in other sheets offer. Nothing is to be filled in here.",
        "The program reads a word by the key beside it.",
    ))  # fmt: skip
    row = HEAD + 1
    for name, words in choices.words.items():
        section(sheet, row, _TITLES[name], len(CHOICE_HEADS))
        for place, (key, word) in enumerate(words.items(), row + 1):
            put_text(sheet, place, 1, word, "Data")
            put_kept(sheet, place, 2, name, "Label")
            put_kept(sheet, place, 3, key, "Label")
        row += len(words) + 1
    section(sheet, row, END, len(CHOICE_HEADS))
    sheet.freeze_panes = sheet.cell(HEAD + 1, 2)


__all__ = [
    "CHOICES", "CHOICE_HEADS", "COUNTED", "Choices", "GROWTH", "KINDS", "METHODS", "STANDS_FOR", "WORKING_TIME",
    "lay_out_choices", "write_choices",
]  # fmt: skip
