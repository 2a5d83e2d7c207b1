"""`roi batch`: every scenario of a folder reckoned, a line each on the screen or in a table file, and what they say together."""

from __future__ import annotations

import csv
import io
import os
from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from roi.batch import LOST, RECKONED, Outcome, batch, in_processes
from roi.cli.output import Writer, input_files, json_writer, problems_of, text_writer, write_all
from roi.cli.reading import BAD, DONE, WANTING, Progress, count, printable, refuse, say, told, wrapped
from roi.scenario.files import LARGEST, is_workbook
from roi.scenario.limits import parsed, read_whole
from roi.scenario.problems import BadInput, Problem

FEW = 20  # scenarios one process does before a second is ready; so many are told line by line, too
MOST_REFUSED = 5
STATES = (
    "currency",
    "current",
    "based_on",
)  # a scenario states one of these, method files and templates none
_COLUMNS = (
    "file",
    "state",
    "name",
    "currency",
    "horizon_years",
    "current",
    "cheapest",
    "cheapest_full_cost",
    "too_close",
)


def run(folder: Path, output: Path | None, json_output: Path | None, workers: int | None) -> int:
    """Find the scenarios, reckon them, write, print; the exit code."""
    try:
        files, others, workbooks = scenario_files(folder)
        inputs = [path for file in files for path in _inputs(file)]
        problems = [
            *(problems_of("-o", output, ".csv", inputs) if output is not None else []),
            *(problems_of("--json", json_output, ".json", inputs) if json_output is not None else []),
        ]
        if problems:
            raise BadInput(problems)
        with Progress() as progress:
            outcomes = _reckon_all(files, workers or _fitting(len(files)), progress)
            progress.step("Writing")
            written = _write(outcomes, output, json_output)
    except BadInput as bad:
        return refuse(bad.problems)
    _print(folder, outcomes, others, workbooks)
    if written:
        say(f"Written: {', '.join(str(path) for path in written)}")
    good = [outcome for outcome in outcomes if outcome.state == RECKONED]
    if not good:
        return BAD
    return DONE if len(good) == len(outcomes) and not any(o.failed_checks for o in good) else WANTING


def scenario_files(folder: Path) -> tuple[list[Path], list[Path], int]:
    """The scenario files in a folder and in those below it, by name; .toml files that are none; how many workbooks there are.

    A file that can't be read is taken for a scenario, so that it is told. Workbooks are left out: most are job logs, ledgers or
    results. Raises BadInput.
    """
    if not folder.is_dir():
        raise BadInput([Problem(str(folder), "is no folder", "name the folder that the scenarios are in")])
    found: dict[bool, list[Path]] = {True: [], False: []}
    workbooks = 0
    for path in sorted(folder.rglob("*")):
        if path.suffix.lower() == ".toml":
            found[_is_scenario(path)].append(path)
        workbooks += is_workbook(path)
    if not found[True]:
        mend = "name the folder that the .toml files of the scenarios are in"
        raise BadInput([Problem(str(folder), "holds no scenario", mend)])
    return found[True], found[False], workbooks


def _is_scenario(path: Path) -> bool:
    try:
        stated = parsed(read_whole(path, LARGEST).decode("utf-8-sig"))
    except (OSError, ValueError, RecursionError):
        return True
    return any(key in stated for key in STATES)


def _inputs(file: Path) -> list[Path]:
    """The files a scenario is read from; itself alone where that can't be told."""
    try:
        return input_files(file)
    except BadInput:
        return [file]


def _fitting(scenarios: int) -> int:
    """Processes worth starting: one for few scenarios, else as many as there are cores for this program."""
    if scenarios <= FEW:
        return 1
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _reckon_all(files: Sequence[Path], workers: int, progress: Progress) -> list[Outcome]:
    outcomes: list[Outcome] = []
    bad = 0
    progress.step(f"Reckoning {count(len(files), 'scenario')}")
    for outcome in batch(files) if workers == 1 else in_processes(files, workers):
        outcomes.append(outcome)
        bad += outcome.state != RECKONED
        so_far = f"{len(outcomes):,} of {count(len(files), 'scenario')}"
        progress.step(so_far + (f", {bad:,} not reckoned" if bad else ""))
    return outcomes


def _write(outcomes: list[Outcome], output: Path | None, json_output: Path | None) -> list[Path]:
    results: list[tuple[Path, Writer]] = []
    if output is not None:
        results.append((output, text_writer("\ufeff" + table(outcomes))))
    if json_output is not None:
        results.append((json_output, json_writer({"schema": 1, "scenarios": [asdict(o) for o in outcomes]})))
    write_all(results)
    return [path for path, _ in results]


def table(outcomes: Sequence[Outcome]) -> str:
    """A line a scenario as CSV: its measures, present costs by method in both views, the verdict, its problems."""
    methods = list(dict.fromkeys(name for outcome in outcomes for name in outcome.present_cost))
    text = io.StringIO()
    lines = csv.writer(text, lineterminator="\r\n")
    lines.writerow(
        [
            *_COLUMNS,
            *(f"present_cost.{name}" for name in methods),
            *(f"present_cost_full.{name}" for name in methods),
            "feasible",
            "verdict",
            "failed_checks",
            "problems",
        ]
    )
    for o in outcomes:
        cells: list[Any] = [
            *(getattr(o, column) for column in _COLUMNS),
            *(o.present_cost.get(name) for name in methods),
            *(o.present_cost_full.get(name) for name in methods),
            " ".join(o.feasible),
            o.verdict,
            "; ".join(o.failed_checks),
            "; ".join(f"{p.where}: {p.what}" for p in o.problems),
        ]
        lines.writerow([_harmless(cell) for cell in cells])
    return text.getvalue()


def _harmless(cell: Any) -> Any:
    """A cell as it is; before a text that a spreadsheet program would take for a formula, an apostrophe.

    In some countries such programs part cells at semicolons, within quotation marks too.
    """
    from roi.workbook.cells import acts_as_formula

    if not isinstance(cell, str):
        return cell
    parts = printable(cell).split(";")
    return ";".join(f"'{part}" if acts_as_formula(part) else part for part in parts)


def _print(folder: Path, outcomes: Sequence[Outcome], others: Sequence[Path], workbooks: int) -> None:
    good = [outcome for outcome in outcomes if outcome.state == RECKONED]
    bad = [outcome for outcome in outcomes if outcome.state != RECKONED]
    if len(good) <= FEW:
        for outcome in good:
            say(wrapped(f"{outcome.file}: {outcome.verdict}", "", "  "))
        if good:
            say()
    say(f"{count(len(outcomes), 'scenario')}, {len(good):,} reckoned", bold=True)
    stay = sum(o.cheapest == o.current for o in good)
    none = sum(o.cheapest is None for o in good)
    changes = Counter(f"change to {o.cheapest}" for o in good if o.cheapest not in (o.current, None))
    for what, number in (
        ("stay as they are", stay),
        *changes.most_common(),
        ("have no method that can do the work", none),
    ):
        if number:
            say(wrapped(f"{number:,} {what}", "- ", "  "))
    if close := sum(bool(o.too_close) for o in good):
        say(wrapped(f"{close:,} of these too close to call"))
    if wrong := [o for o in good if o.failed_checks]:
        say(wrapped(f"{len(wrong):,} with a failed check of its figures, first {wrong[0].file}"), bold=True)
    for outcome in bad[:MOST_REFUSED]:
        say()
        say(wrapped(f"{outcome.file}: {outcome.state}"), bold=True)
        for problem in outcome.problems[:MOST_REFUSED]:
            say(told(problem))
    if len(bad) > MOST_REFUSED:
        say(f"... and {len(bad) - MOST_REFUSED:,} more not reckoned: -o or --json lists them")
    if lost := [o for o in bad if o.state == LOST]:
        say(wrapped(f"{len(lost):,} lost with a process that ended: run these again."), bold=True)
    if others:
        named = ", ".join(str(path.relative_to(folder)) for path in others[:MOST_REFUSED])
        more = "" if len(others) <= MOST_REFUSED else ", ..."
        say(wrapped(f"{count(len(others), 'file')} left out, as no scenario: {named}{more}"))
    if workbooks:
        say(wrapped(f"{count(workbooks, 'workbook')} left out: roi compare reads one that holds a scenario"))
