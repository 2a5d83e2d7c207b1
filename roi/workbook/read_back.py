"""A scenario read from a workbook: one that this program wrote, as anyone has edited and saved it since.

Numbers stand on Inputs, everything else of the scenario on Scenario, the work on Forms (or, where the workbook is one to
fill in, on the sheets `read_filled_in` reads). Numbers are read through the catalogue as those of a file are, so that the
same is refused, and every problem names its sheet and cell. Nothing is laid below but what a press must have: a workbook
holds every key, those at their defaults too.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from roi.scenario.catalogue import entry_for, load
from roi.scenario.files import Key, Layers, Raw
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

INPUT_HEADS = ("Unit", "Value", "Low", "High", "Status", "Source", "Date", "Key")
STATED_BY = "Stated by"  # on Inputs; on Scenario it says whether the shop or the program did
_SEVERAL = re.compile(r"[A-J]_Inputs")
_AN_END = re.compile(
    r"(?P<sheet>\w+)!(?P<column>[A-Z]+)(?P<row>\d+) \((?P<key>.*)\)\.(?P<end>low|high|date)$"
)
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
        _read_inputs(inputs_page, kept, problems)
        _share(kept, problems)
        layers = kept.layers(path)
        presses = read_presses(_with_press_defaults(layers), layers.presses, [])
        if FORMS in sheets.titles or "Job log" not in sheets.titles:
            page = sheets.page(FORMS, problems, why="the work")
            found: list[Problem] = []
            check = _check_number(sheets, found)
            work = page and read_forms(
                page, [p.id for p in presses], list(layers.whole["sizes"][0]), check, found
            )
            problems += told_once(found)
            problems += typed_over(sheets, page) if page else []
            layers = replace(layers, work=work or None)
        else:
            # A workbook to fill in; what that takes is loaded only for one.
            from roi.workbook.read_filled_in import read_work

            sizes, _ = read_sizes(layers, sheets.file, [])
            layers = replace(layers, work=read_work(sheets, presses, sizes, problems))
    layers = replace(layers, values=_with_press_defaults(layers))
    if problems:
        # What else is wrong is told too, where the work is there to go on with.
        raise BadInput([*problems, *_further(layers, path, inputs_page, problems)])
    try:
        return assemble(layers, path)
    except BadInput as bad:
        raise BadInput([_by_cell(p, (inputs_page, scenario_page)) for p in bad.problems]) from None


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
    if INPUTS not in sheets.titles and SCENARIO not in sheets.titles:
        what = f'is no workbook of this program: it has no sheet "{INPUTS}" and no sheet "{SCENARIO}"'
        mend = "give one that roi compare or roi new --workbook wrote; a job log is named in a scenario, under [log]"
        raise BadInput([Problem(sheets.file, what, mend)])


def _read_inputs(page: Page, kept: Kept, problems: list[Problem]) -> None:
    """Lay the numbers of Inputs into their places; every key that Scenario promises must be there once."""
    if not page.find_heads(INPUT_HEADS, problems, (HOW_SURE, STATED_BY)):
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
            kept.values[key] = replace(raw, value=said)
    for name, key in kept.keys.items():
        if name not in seen:
            what = f'the row of "{name}" is missing'
            mend = f"write it back: its key in the column Key, its unit ({kept.units[name]}) and value"
            problems.append(Problem(f"{page.file}, {page.title}", what, mend))
            kept.values.pop(key, None)


def _check_left_out(page: Page, row: int, name: str, problems: list[Problem]) -> None:
    """A row of a workbook to fill in without a value, which leaves the default: nothing else may be said on it."""
    said = [head for head in ("Low", "High", HOW_SURE, "Status") if page.value(row, head) != ""]
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


def _further(layers: Layers, path: Path, page: Page, told: list[Problem]) -> list[Problem]:
    """Problems of the other numbers, once some cells can't be read: those that don't follow from a missing one."""
    try:
        assemble(replace(layers, values=dict(layers.values)), path)
    except BadInput as bad:
        cells = (_by_cell(p, (page,)) for p in bad.problems)
        return [p for p in cells if "!" in p.where and p not in told]
    except KeyError:  # a number that everything hangs on is among those already told
        return []
    return []


def _by_cell(problem: Problem, pages: tuple[Page, ...]) -> Problem:
    """A problem of a low, a high or a date told by the cell that holds it."""
    found = _AN_END.search(problem.where)
    page = next((p for p in pages if found and p.title == found["sheet"]), None)
    if not found or page is None:
        return problem
    cell = page.where(int(found["row"]), found["end"].capitalize())
    return replace(problem, where=f"{problem.where[: found.start()]}{cell} ({found['key']})")


__all__ = ["HOW_SURE", "INPUT_HEADS", "read_workbook"]
