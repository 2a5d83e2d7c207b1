"""A scenario read from a workbook: one that this program wrote, as anyone has edited and saved it since.

Numbers stand on Inputs, everything else of the scenario on Scenario, the work on Forms (or, where the workbook is one to
fill in, on the sheets `read_filled_in` reads). Numbers are read through the catalogue as those of a file are, so that the
same is refused, and every problem names its sheet and cell. Nothing is laid below but what a press must have: a workbook
holds every key, those at their defaults too.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path

from roi.scenario.catalogue import entry_for, load
from roi.scenario.files import Key, Layers, Raw, left_out
from roi.scenario.problems import BadInput, Problem
from roi.scenario.scenario import Scenario, assemble
from roi.scenario.things import read_presses, read_sizes
from roi.workbook.kept import (
    CHECKED,
    FORMS,
    HOW_SURE,
    INPUTS,
    NO_SOURCE,
    SCENARIO,
    check_number,
    key_of,
    key_text,
)
from roi.workbook.read_cells import Page, Sheets
from roi.workbook.read_forms import read_forms, told_once, typed_over
from roi.workbook.read_kept import Kept, read_measure, read_scenario
from roi.workbook.read_words import in_cells

BUDGET, ACTUALS = "Budget", "Actuals"  # sheets by which a budget is known
INPUT_HEADS = ("Unit", "Value", "Low", "High", "Status", "Source", "Date", "Key")
LOG = "Job log"  # the sheet by which a workbook to fill in is known
STATED_BY, VALID_UNTIL = (
    "Stated by",
    "Valid until",
)  # on Inputs; on Scenario the first says whether the shop or the program did
_SEVERAL = re.compile(r"[A-J]_Inputs")
_AN_END = re.compile(
    r"(?P<sheet>\w+)!(?P<column>[A-Z]+)(?P<row>\d+) \((?P<key>.*)\)\.(?P<end>low|high|date|by|valid_until)$"
)
_FOLLOWS = re.compile(r"is missing|(?:low|high) .* is (?:above|below) best ")
_ENDS = {"by": "Stated by", "valid_until": "Valid until"}
_GONE = "write its row back as it was in the workbook you were given, key and all"
_UNIT_MEND = "write the unit back; a number in another unit goes into a scenario file"


def read_workbook(path: Path) -> Scenario:
    """Read a workbook as a scenario. Raises BadInput with every problem found, by sheet and cell."""
    problems: list[Problem] = []
    with Sheets(path) as sheets:
        _refuse_others(sheets)
        pages = {
            title: sheets.page(title, problems, why=why)
            for title, why in (
                (SCENARIO, "what the scenario states beside its numbers"),
                (INPUTS, "its numbers"),
            )
        }
        scenario_page, inputs_page = pages[SCENARIO], pages[INPUTS]
        if scenario_page is None or inputs_page is None:
            raise BadInput(problems)
        kept = read_scenario(scenario_page, problems)
        if kept.newer:
            raise BadInput(problems)
        sheets.currency = inputs_page.currency = scenario_page.currency
        _read_inputs(inputs_page, kept, problems)
        to_fill_in = FORMS not in sheets.titles and LOG in sheets.titles
        called: dict[str, list[str]] = {}
        if to_fill_in:
            # What a workbook to fill in takes is loaded only for one.
            from roi.workbook.read_books import read_books
            from roi.workbook.read_own import (
                read_choices,
                read_own_costs,
                read_presses_sheet,
                read_sizes_sheet,
            )

            words = read_choices(sheets, problems)
            called = read_presses_sheet(sheets, kept, problems)
            read_sizes_sheet(sheets, kept, problems)
            read_own_costs(sheets, kept, words, problems)
            read_books(sheets, kept, words, problems)
        _share(kept, problems)
        layers = kept.layers(path)
        presses = read_presses(_with_press_defaults(layers), layers.presses, [])
        if to_fill_in:
            from roi.workbook.read_filled_in import read_work

            sizes, _ = read_sizes(layers, sheets.file, [])
            read, period = read_work(sheets, presses, sizes, problems, called)
            # The ledger's year is the log's where it states none, as of a file.
            log = (period, f"{sheets.file}, {LOG}", path.parent)
            layers = replace(layers, work=read, whole={**layers.whole, "log": log})
        else:
            page = sheets.page(FORMS, problems, why="the work")
            found: list[Problem] = []
            check = _check_number(sheets, found)
            work = page and read_forms(
                page, [p.id for p in presses], list(layers.whole["sizes"][0]), check, found
            )
            problems += told_once(found)
            problems += typed_over(sheets, page) if page else []
            layers = replace(layers, work=work or None)
    layers = replace(layers, values=_with_press_defaults(layers))
    # A workbook to fill in holds its defaults on Scenario.
    home = SCENARIO if to_fill_in else INPUTS
    problems = problems or left_out(layers.values, f"{sheets.file}, {home}", _GONE)
    if problems:
        # What else is wrong is told too, where the work is there to go on with.
        further = _further(layers, path, (inputs_page, scenario_page), kept, problems)
        raise BadInput([*map(in_cells, problems), *further])
    try:
        return assemble(layers, path)
    except BadInput as bad:
        raise BadInput(_all_by_cell(bad.problems, (inputs_page, scenario_page), kept)) from None


def _check_number(sheets: Sheets, problems: list[Problem]) -> float | None:
    """The check number of the sheets that nobody may change; None, with a problem, where one is missing."""
    pages = [sheets.page(title, problems, why="what was fixed when it was written") for title in CHECKED]
    if None in pages:
        return None
    return check_number(
        x for page in pages if page for row in range(1, page.rows().stop) for x in page.cells(row)
    )


def _refuse_others(sheets: Sheets) -> None:
    if any(_SEVERAL.fullmatch(title) for title in sheets.titles):
        what = "holds several scenarios side by side"
        mend = "give each scenario's own workbook, written by roi compare with one scenario"
        raise BadInput([Problem(sheets.file, what, mend)])
    if SCENARIO in sheets.titles:
        return
    mend = "give the scenario that it was made from: a file, or the workbook of roi new --workbook or roi compare"
    if {BUDGET, ACTUALS} & set(sheets.titles):
        raise BadInput([Problem(sheets.file, "is a budget, which holds no scenario", mend)])
    if INPUTS not in sheets.titles:
        what = f'is no workbook of this program: it has no sheet "{SCENARIO}" and no sheet "{INPUTS}"'
        mend = "give one that roi new --workbook or roi compare wrote; paste a job log on its sheet Job log"
        raise BadInput([Problem(sheets.file, what, mend)])


def _read_inputs(page: Page, kept: Kept, problems: list[Problem]) -> None:
    """Lay the numbers of Inputs into their places; every key that Scenario promises must be there once."""
    if not page.find_heads(INPUT_HEADS, problems, (HOW_SURE, STATED_BY, VALID_UNTIL)):
        return
    seen: dict[str, int] = {}
    for row in page.rows():
        name = page.text(row, "Key")
        if not name:
            if page.value(row, "Value") != "":
                mend = "write the key back as it was, or clear the row"
                problems.append(Problem(page.at(row, "Key"), "the key of this row is gone", mend))
            continue
        if name in seen:
            what = f'"{name}" stands in row {seen[name]} already'
            problems.append(Problem(page.at(row, "Key"), what, "clear one of the two rows"))
            continue
        seen[name] = row
        key = kept.keys.get(name) or key_of(name)
        if HOW_SURE not in page.heads and name not in kept.units and key in kept.values:
            mend = f"change it there, or take this row out: {kept.values[key].cell}"
            problems.append(Problem(page.at(row, "Key"), f'"{name}" stands on {SCENARIO} too', mend))
            continue
        unit = page.text(row, "Unit")
        if name in kept.units and unit != kept.units[name]:
            what = f"the unit was {kept.units[name]} and is now {unit or 'empty'}"
            problems.append(Problem(f"{page.at(row, 'Unit')} ({name})", what, _UNIT_MEND))
            kept.values.pop(key, None)
            continue
        if name not in kept.units and entry_for(key) is None:
            what, mend = f'"{name}" is not a key known here', "write the key back as it was, or clear the row"
            problems.append(Problem(page.at(row, "Key"), what, mend))
            continue
        sure = HOW_SURE in page.heads
        shipped = kept.values[key].default if key in kept.values and not sure else False
        if sure and page.value(row, "Value") == "":
            _check_left_out(page, row, name, problems)
            if key in kept.values:  # its default, told where it would be stated
                kept.values[key] = replace(kept.values[key], cell=page.where(row, "Value"))
            continue
        raw = read_measure(page, row, "Value", name, shipped, problems, sure=sure)
        if raw is None:
            kept.values.pop(key, None)
        else:
            said = {**kept.whose.get(name, {}), **raw.value}
            if STATED_BY in page.heads:  # may be edited there
                by = page.text(row, STATED_BY)
                said["by"] = "" if by == NO_SOURCE else by
            if VALID_UNTIL in page.heads:
                until = page.date(row, VALID_UNTIL, problems, what=name)
                said = (
                    {**said, "valid_until": until}
                    if until
                    else {n: x for n, x in said.items() if n != "valid_until"}
                )
            kept.values[key] = replace(raw, value=said)
    for name, key in kept.keys.items():
        if name not in seen:
            what = f'the row of "{name}" is missing'
            mend = f"write it back: its key in the column Key, its unit ({kept.units[name]}) and value"
            problems.append(Problem(f"{page.file}, {page.title}", what, mend))
            kept.values.pop(key, None)


def _check_left_out(page: Page, row: int, name: str, problems: list[Problem]) -> None:
    """A row of a workbook to fill in without a value, which leaves the default: nothing else may be said on it."""
    heads = ("Low", "High", HOW_SURE, "Status", VALID_UNTIL, STATED_BY)
    said = [head for head in heads if page.value(row, head) != ""]
    if said:
        what = f"is empty, and {said[0]} says {page.text(row, said[0])}"
        mend = "type the number, or clear what stands beside it: the default counts then"
        problems.append(Problem(f"{page.at(row, 'Value')} ({name})", what, mend))


def _share(kept: Kept, problems: list[Problem]) -> None:
    """Give what is the same as another method's value that value, as it stands now."""
    told = {p.where for p in problems}
    for key, raw in list(kept.values.items()):
        if not raw.same:
            continue
        whose = kept.values.get(raw.same)
        if whose is not None and not whose.same:
            kept.values[key] = replace(whose, same=raw.same)
            continue
        del kept.values[key]
        if whose is not None or not told:  # a value that can't be read is told once, where it stands
            what = f'"{key_text(raw.same)}" is not the key of a value of its own'
            mend = "write back the key it was, or state the value and what kind it is"
            problems.append(Problem(f"{raw.file}, {raw.cell}", what, mend))


def _with_press_defaults(layers: Layers) -> dict[Key, Raw]:
    """The values, with what a press must have as shipped, for keys of a version newer than the workbook."""
    defaults = load("shop.toml").get("press_defaults", {})
    assert isinstance(defaults, Mapping)
    below: dict[Key, Raw] = {
        ("press_defaults", str(name)): Raw(value, "the shipped defaults", True)
        for name, value in defaults.items()
    }
    return {**below, **layers.values}


def _further(
    layers: Layers, path: Path, pages: tuple[Page, ...], kept: Kept, told: list[Problem]
) -> list[Problem]:
    """Problems of the other numbers, once some cells can't be read: those that don't follow from a missing one."""
    rows = {_row_of(p.where) for p in told}
    try:
        assemble(replace(layers, values=dict(layers.values)), path)
    except BadInput as bad:
        cells = _all_by_cell([p for p in bad.problems if not p.what.startswith("is missing")], pages, kept)
        return [p for p in cells if "!" in p.where and _row_of(p.where) not in rows]
    except KeyError:  # a number that everything hangs on is among those already told
        return []
    return []


def _row_of(where: str) -> str:
    """Sheet and row of a cell: what is wrong in a row is told once."""
    found = re.search(r", (.+?)!\$?[A-Z]+\$?(\d+)", where)
    return f"{found[1]}!{found[2]}" if found else where


def _all_by_cell(problems: Iterable[Problem], pages: tuple[Page, ...], kept: Kept) -> list[Problem]:
    """Problems told by cell, without those that follow from another of the same row."""
    found: list[Problem] = []
    rows: set[str] = set()
    for each in problems:
        told = in_cells(_ledger_by_cell(_by_cell(_of_key(each, pages), pages), kept))
        if not (_FOLLOWS.match(told.what) and _row_of(told.where) in rows):
            found.append(told)
        rows.add(_row_of(told.where))
    return found


def _ledger_by_cell(problem: Problem, kept: Kept) -> Problem:
    if kept.ledger is None or not problem.where.startswith(kept.ledger[1]):
        return problem
    from roi.workbook.read_books import ledger_by_cell

    return ledger_by_cell(problem, kept)


def _of_key(problem: Problem, pages: tuple[Page, ...]) -> Problem:
    """A problem of a key alone, such as one that is missing, told by the cell of its row on Inputs, where it has one."""
    page = pages[0]
    name = problem.where.removeprefix(f"{page.file}, ")
    if "!" in name or " " in name or "Key" not in page.heads:
        return problem
    row = next((row for row in page.rows() if page.text(row, "Key") == name), None)
    return problem if row is None else replace(problem, where=f"{page.at(row, 'Value')} ({name})")


def _by_cell(problem: Problem, pages: tuple[Page, ...]) -> Problem:
    """A problem of a low, a high or a date told by the cell that holds it."""
    found = _AN_END.search(problem.where)
    page = next((p for p in pages if found and p.title == found["sheet"]), None)
    if not found or page is None:
        return problem
    head = _ENDS.get(found["end"], found["end"].capitalize())
    cell = page.where(int(found["row"]), head)
    return replace(problem, where=f"{problem.where[: found.start()]}{cell} ({found['key']})")


__all__ = ["HOW_SURE", "INPUT_HEADS", "read_workbook"]
