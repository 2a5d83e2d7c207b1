"""The sheets Presses, Own costs and Choices of an input workbook read back, as `input_own` and `input_choices` wrote them.

What they state is laid down as a scenario file's values are, each with its cell; what can't be is a problem by sheet and
cell. Own costs are in the workbook's currency for each thing counted; of working time they are minutes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from roi.scenario.catalogue import drivers
from roi.scenario.files import Raw
from roi.scenario.problems import Problem
from roi.scenario.words import fold, mend_name
from roi.units.quantity import UnreadableQuantity, read_size
from roi.workbook.input_choices import (
    CHOICE_HEADS,
    CHOICES,
    COUNTED,
    GROWTH,
    KINDS,
    METHODS,
    STANDS_FOR,
    WORKING_TIME,
)
from roi.workbook.input_own import OWN_COSTS, OWN_HEADS, PRESS_HEADS, PRESSES, SIZE_HEADS, SIZES
from roi.workbook.read_cells import Page, Sheets
from roi.workbook.read_kept import Kept, read_measure

_LISTS = (METHODS, KINDS, COUNTED, GROWTH, STANDS_FOR)
_GRADE = "prepress"  # whose working time an own task is


@dataclass
class Listed:
    """A list that cells offer: the key of each word, folded (keys themselves count as words), and the words as they stand."""

    keys: dict[str, str] = field(default_factory=dict)
    words: list[str] = field(default_factory=list)


Words = Mapping[str, Listed]


def read_choices(sheets: Sheets, problems: list[Problem]) -> Words:
    """Every list, by its name; empty ones where the workbook has no such sheet."""
    found = {name: Listed() for name in _LISTS}
    if CHOICES not in sheets.titles:
        return found
    page = sheets.page(CHOICES, problems, why="what lists offer")
    if page is None or not page.find_heads(CHOICE_HEADS, problems):
        return found
    for row in page.rows():
        name, key, word = (page.text(row, head) for head in ("List", "Key", "Word"))
        if name in found and key:
            found[name].keys.setdefault(fold(key), key)
            found[name].keys[fold(word)] = key
            found[name].words.append(word)
    return found


def chosen(page: Page, row: int, head: str, listed: Listed, problems: list[Problem]) -> str:
    """The key of the word in a cell; "", with a problem, where it is empty or none of the list."""
    text = page.text(row, head)
    if found := listed.keys.get(fold(text)):
        return found
    said = f"{text!r} is not in the list" if text else "is empty"
    mend = mend_name(text, listed.words) if text else f"choose from the list: {', '.join(listed.words)}"
    problems.append(Problem(page.at(row, head), said, mend))
    return ""


def read_presses_sheet(sheets: Sheets, kept: Kept, problems: list[Problem]) -> dict[str, list[str]]:
    """Lay down the presses named; the words a job log uses for each, by its id."""
    if PRESSES not in sheets.titles:
        return {}
    page = sheets.page(PRESSES, problems, why="the presses")
    if page is None or not page.find_heads(PRESS_HEADS, problems):
        return {}
    names: dict[str, str] = {}
    words: dict[str, list[str]] = {}
    rows: dict[str, int] = {}
    for row in page.rows():
        key = page.text(row, "Key")
        if not key:
            continue
        rows[key] = row
        label = page.text(row, "Press")
        said = [head for head in PRESS_HEADS[2:5:2] if page.value(row, head) != ""]
        if not label:
            if said:
                mend = "give the press a name, or clear the row"
                problems.append(
                    Problem(page.at(row, "Press"), f'is empty, and "{said[0]}" is filled in', mend)
                )
                names[key] = key
            continue
        if fold(label) in map(fold, names.values()):
            problems.append(
                Problem(page.at(row, "Press"), f"{label!r} names two presses", "give each its own name")
            )
            label = f"{label}, {key}"  # told once: names of numbers follow from it
        names[key] = label
        kept.values["presses", key, "label"] = Raw(label, page.file, False, page.where(row, "Press"))
        if page.value(row, "Printing units") != "":
            _lay_units(page, row, key, kept, problems)
        if called := [
            word.strip() for word in page.text(row, "Called in your job log").split(",") if word.strip()
        ]:
            words[key] = called
    if not names:
        at = page.at(next(iter(rows.values()), page.head_row + 1), "Press")
        problems.append(Problem(at, "no press is named", "give the press a name"))
        return {}
    kept.orders["presses"] = tuple(names)
    _drop_unnamed(page, kept, names, rows, problems)
    return words


def read_sizes_sheet(sheets: Sheets, kept: Kept, problems: list[Problem]) -> None:
    """Lay down the plate sizes named beside those of Scenario."""
    if SIZES not in sheets.titles:
        return
    page = sheets.page(SIZES, problems, why="further plate sizes")
    if page is None or not page.find_heads(SIZE_HEADS, problems):
        return
    for row in page.rows():
        key, label, format_ = (page.text(row, head) for head in ("Key", "Plate size", "Format"))
        if not key or not (label or format_):
            continue
        if not label or not format_:
            head, other = ("Plate size", "Format") if not label else ("Format", "Plate size")
            mend = "a size has both: fill it in, or clear the row"
            problems.append(Problem(page.at(row, head), f'is empty, and "{other}" is filled in', mend))
        elif fold(label) in [fold(size.get("label", name)) for name, size in kept.sizes.items()]:
            mend = "give each its own name"
            problems.append(Problem(page.at(row, "Plate size"), f"{label!r} names two plate sizes", mend))
        try:
            read_size(format_ or "10 in x 15 in")
        except UnreadableQuantity as wrong:
            problems.append(Problem(page.at(row, "Format"), str(wrong), wrong.mend))
            format_ = "10 in x 15 in"  # told once: the rest can be judged with any
        kept.sizes.setdefault(key, {"label": label or key, "format": format_ or "10 in x 15 in"})


def _lay_units(page: Page, row: int, key: str, kept: Kept, problems: list[Problem]) -> None:
    """Lay down how many colours a press prints in one pass."""
    number = page.number(row, "Printing units", problems)
    if number is not None:
        whole = int(number) if float(number).is_integer() else number
        where = page.where(row, "Printing units")
        kept.values["presses", key, "printing_units"] = Raw(whole, page.file, False, where)


def _drop_unnamed(
    page: Page, kept: Kept, names: Mapping[str, str], rows: Mapping[str, int], problems: list[Problem]
) -> None:
    """Take out what Scenario and Inputs say of presses nobody named; a number of one is a problem, told once a press."""
    told: set[str] = set()
    for key in [key for key in kept.values if key[0] == "presses" and key[1] not in names]:
        raw = kept.values.pop(key)
        if not raw.default and key[1] in rows and key[1] not in told and raw.cell.startswith("Inputs"):
            told.add(key[1])
            what = f"is empty, and {raw.cell} states a number of this press"
            problems.append(
                Problem(page.at(rows[key[1]], "Press"), what, "give the press a name, or clear that number")
            )


def read_own_costs(sheets: Sheets, kept: Kept, words: Words, problems: list[Problem]) -> None:
    """Lay down the costs of the shop's own: an item of its method, or a task where it is working time."""
    if OWN_COSTS not in sheets.titles:
        return
    page = sheets.page(OWN_COSTS, problems, why="costs of your own")
    if page is None or not page.find_heads(OWN_HEADS, problems):
        return
    for row in page.rows():
        key = page.text(row, "Key")
        filled = [head for head in OWN_HEADS[:-1] if page.value(row, head) != ""]
        if key and filled:
            _read_own_cost(page, row, key, filled, kept, words, problems)


def _read_own_cost(
    page: Page, row: int, key: str, filled: list[str], kept: Kept, words: Words, problems: list[Problem]
) -> None:
    before = len(problems)
    label = page.text(row, "What it is")
    if not label:
        what = f'is empty, and "{filled[0]}" is filled in'
        problems.append(Problem(page.at(row, "What it is"), what, "give the cost a name, or clear the row"))
    method, kind, counted = (
        chosen(page, row, head, words[name], problems)
        for head, name in (("Method", METHODS), ("Kind of cost", KINDS), ("Counted by", COUNTED))
    )
    growth = "general"
    if page.text(row, "Price grows with"):
        growth = chosen(page, row, "Price grows with", words[GROWTH], problems)
    raw = read_measure(page, row, "Amount", "", False, problems, sure=True)
    whose = {"by": page.text(row, "Stated by"), "valid_until": page.date(row, "Valid until", problems)}
    if raw is None or len(problems) > before:
        return
    per = drivers()[counted]["unit"]
    task = kind == WORKING_TIME
    here = ("methods", method, "tasks" if task else "items", key)
    texts = {"label": ("What it is", label), "driver": ("Counted by", counted)}
    if task:
        texts["grade"] = ("Kind of cost", _GRADE)
    else:
        texts |= {"family": ("Kind of cost", kind), "growth": ("Price grows with", growth)}
    for name, (head, text) in texts.items():
        kept.values[*here, name] = Raw(text, page.file, False, page.where(row, head))
    unit = f"min/{per}" if task else f"{page.currency}/{per}"
    kept.values[*here, "minutes" if task else "cost"] = replace(
        raw, value={**raw.value, **{name: text for name, text in whose.items() if text}, "unit": unit}
    )


__all__ = [
    "Listed",
    "Words",
    "chosen",
    "read_choices",
    "read_own_costs",
    "read_presses_sheet",
    "read_sizes_sheet",
]
