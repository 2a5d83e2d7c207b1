"""The work of an input workbook: its pasted job log, or else its plates a month, read as those of a scenario file are.

A pasted log is left to `read_pasted_log`. Of plates a month, what is left empty is not stated; every problem names its cell.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from roi.scenario.problems import BadInput, Problem
from roi.scenario.summary import read_summary
from roi.scenario.things import Press, Size
from roi.scenario.words import fold, mend_name
from roi.scenario.worklog import WorkLog
from roi.workbook.input_sheets import LOG, LOG_COLUMNS, PLATES, PLATES_HEADS
from roi.workbook.read_cells import Page, Sheets
from roi.workbook.read_pasted_log import PastedLog
from roi.workbook.read_typed import per_cent_mend

_MONTHS = 12


def read_work(
    sheets: Sheets,
    presses: Sequence[Press],
    sizes: Sequence[Size],
    problems: list[Problem],
    called: Mapping[str, Sequence[str]],
) -> tuple[tuple[WorkLog, str] | None, dict[str, Any]]:
    """The work and what it was read from, and the log's period as it is stated; None, with problems, where neither sheet
    states the work.

    called : further words of the job log for presses, by their ids
    """
    pages = {
        title: sheets.page(title, problems, why=why)
        for title, why in (
            (LOG, "the job log"),
            (LOG_COLUMNS, "what it calls things"),
            (PLATES, "plates a month"),
        )
    }
    log, columns, plates = pages[LOG], pages[LOG_COLUMNS], pages[PLATES]
    if log is None or columns is None or plates is None:
        return None, {}
    reader = PastedLog(log, columns, presses, sizes, called)
    if reader.empty:
        return _from_plates(plates, presses, sizes, problems), {}
    work = reader.read(problems)
    if work is None:
        return None, {}
    filled = plates.find_heads(PLATES_HEADS, []) and any(
        plates.text(row, "Key") and plates.value(row, "Value") != "" for row in plates.rows()
    )
    if filled:
        work = replace(work, notes=(*work.notes, f"{PLATES} isn't read, since {LOG} holds rows"))
    return (work, f"job log in {sheets.file}"), reader.period


def _from_plates(
    page: Page, presses: Sequence[Press], sizes: Sequence[Size], problems: list[Problem]
) -> tuple[WorkLog, str] | None:
    """The work as Plates a month states it."""
    before = len(problems)
    if not page.find_heads(PLATES_HEADS, problems):
        return None
    cells: dict[str, str] = {}
    spec: dict[str, Any] = {}
    months: dict[int, float] = {}
    for row in page.rows():
        key = page.text(row, "Key")
        if not key or page.value(row, "Value") == "":
            cells.setdefault(key, page.at(row, "Value"))
            continue
        if key in cells:
            problems.append(
                Problem(page.at(row, "Key"), f'"{key}" stands twice', "clear one of the two rows")
            )
            continue
        cells[key] = page.at(row, "Value")
        head, *names = key.split(".")
        if head != "summary" or not _fits(names, spec):
            mend = "write the key back as it was, or clear the row"
            problems.append(Problem(page.at(row, "Key"), f'"{key}" is not a key known here', mend))
            continue
        if names[0] == "press":
            name = _press(page, row, presses, problems)
            spec.setdefault("press", {})[names[-1]] = name
            continue
        number = page.number(row, "Value", problems)
        if number is None:
            continue
        if number > 1 and page.text(row, "Unit") == "%":
            problems.append(
                Problem(cells[key], f"{number:.6g} is {number * 100:.6g} %", per_cent_mend(number))
            )
            continue
        if names[0] == "month_share":
            months[int(names[1])] = number
        elif len(names) == 2:
            spec.setdefault(names[0], {})[names[1]] = number
        else:
            spec[names[0]] = number
    if months:
        spec["month_share"] = [months.get(month, 0.0) for month in range(1, _MONTHS + 1)]
    if len(problems) > before:
        return None
    at = f"{page.file}, {PLATES}"
    if not spec.get("plates_per_month"):
        mend = f"fill in Value, a row a plate size; or paste your job log on {LOG}"
        first = next((cell for key, cell in cells.items() if key.startswith("summary.plates_per_month")), at)
        problems.append(Problem(first, "no plates a month are stated, and there is no job log", mend))
        return None
    try:
        work = read_summary(
            spec, {p.id: p.units for p in presses}, [s.id for s in sizes], where=at,
            press_labels={p.id: p.label for p in presses},
        )  # fmt: skip
    except BadInput as bad:
        problems += [_summary_by_cell(p, at, cells) for p in bad.problems]
        return None
    return work, f"plates a month in {page.file}"


def _fits(names: list[str], spec: dict[str, Any]) -> bool:
    """Whether the names of a key can stand beside those that are there: one for a number, two for one of a table."""
    if names[:1] == ["month_share"]:
        return names[1:] in [[str(month)] for month in range(1, _MONTHS + 1)]
    if names[:1] == ["press"]:
        return len(names) == 2
    if len(names) == 1:
        return names[0] not in spec
    return len(names) == 2 and isinstance(spec.get(names[0], {}), dict)


def _press(page: Page, row: int, presses: Sequence[Press], problems: list[Problem]) -> str:
    """The id of the press that a cell names."""
    names = {fold(word): press.id for press in presses for word in (press.id, press.label)}
    text = page.text(row, "Value")
    if fold(text) not in names:
        said = mend_name(text, [press.label for press in presses])
        problems.append(Problem(page.at(row, "Value"), f"{text!r} is not a press that Presses names", said))
    return names.get(fold(text), "")


def _summary_by_cell(problem: Problem, at: str, cells: dict[str, str]) -> Problem:
    key = "summary." + problem.where.removeprefix(at).strip()
    key = re.sub(r"\[(\d+)\]", r".\1", key)
    cell = cells.get(key) or next((c for name, c in cells.items() if name.startswith(f"{key}.")), None)
    return replace(problem, where=cell) if cell else problem


__all__ = ["read_work"]
