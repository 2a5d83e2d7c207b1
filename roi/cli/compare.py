"""`roi compare`: the verdict and a short table on the screen, the workbook and JSON on disk."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any, BinaryIO

from roi.answers.compare import as_json
from roi.answers.mistakes import beside_the_verdict
from roi.answers.reconcile_words import baseline
from roi.answers.verdict import sentences
from roi.cli.language import look_of, tell_missing
from roi.cli.output import Writer, input_files, json_writer, problems_of, write_all
from roi.cli.reading import DONE, WANTING, Progress, count, reckon, refuse, say, wrapped
from roi.engine.words import fixed
from roi.scenario.files import is_workbook
from roi.scenario.problems import BadInput, Problem
from roi.units.quantity import currencies
from roi.workbook.template import Template

MOST_DOUBTS = 5
_HEADS = (
    ("", "Method"),
    ("", "Feasible"),
    ("First", "cost"),
    ("Running", "year 1"),
    ("Equivalent", "a year"),
    ("Cost a", "plate"),
    ("Payback", "years"),
)


def run(scenario: Path, output: Path, json_output: Path | None, template: str, language: str = "") -> int:
    """Read, reckon, write, print; the exit code."""
    try:
        with Progress() as progress:
            look = check_files(input_files(scenario), output, json_output, template, language)
            study, values = reckon(scenario, progress)
            found = as_json(study, values)
            said = [text for text in (*sentences(study, values), baseline(study)) if text]
            doubts = beside_the_verdict(study, values)
            if is_workbook(scenario):
                from roi.workbook.read_places import told_on_inputs

                doubts = told_on_inputs(scenario, doubts)
            results: list[tuple[Path, Writer]] = []

            def workbook(file: BinaryIO) -> object:
                from roi.workbook.write import write_workbook

                return write_workbook(study, values, file, look)

            results.append((output, workbook))
            if json_output is not None:
                from roi.workbook.kept_out import KeptOut

                shown = KeptOut([study.scenario], look).from_data(found)
                results.append((json_output, json_writer(shown)))
            progress.step("Writing the workbook")
            write_all(results)
    except BadInput as bad:
        return refuse(bad.problems)
    short = {name: sheet.method.short for name, sheet in study.methods.items()}
    _print(found, said, short)
    work = study.scenario.work
    if work.rows_skipped:
        say(
            f"{work.rows_skipped:,} of {count(work.rows_read, 'row')} of the job log left out: see roi check."
        )
    _tell(doubts)
    _tell_checks(found)
    say(f"Written: {', '.join(str(path) for path, _ in results)}")
    tell_missing(look.tongue)
    return DONE if all(check["ok"] for check in found["checks"]) else WANTING


def check_files(
    inputs: Sequence[Path], output: Path | None, json_output: Path | None, template: str, language: str = ""
) -> Template:
    """The template, once it, its language and the files to write are known to be good. Raises BadInput.

    language : a language's name or file, in place of the template's own where it isn't ""
    """
    problems = problems_of("-o", output, ".xlsx", inputs) if output is not None else []
    if json_output is not None:
        problems += problems_of("--json", json_output, ".json", inputs)
        if output is not None and json_output.resolve() == output.resolve():
            problems.append(
                Problem(f"--json {json_output}", "is the workbook's file too", "give it another name")
            )
    look = look_of(template, language, problems)
    if problems:
        raise BadInput(problems)
    return look


def _print(found: dict[str, Any], said: list[str], short: dict[str, str]) -> None:
    say(wrapped(found["scenario"]), bold=True)
    say()
    for sentence in said:
        say(wrapped(sentence))
    say()
    say(
        f"{found['currency']}, over {count(found['horizon_years'], 'year')}; "
        "equivalent and plate after tax, first and running before:"
    )
    for number, line in enumerate(table(found, short)):
        say(line, bold=number < 2)
    say()
    for name, method in found["methods"].items():
        if not method["feasible"]:
            say(wrapped(f"{short[name]}: {method['notes'][0]}."))
    used = found["defaults_in_use"]
    if used:
        say(f"{count(len(used), 'figure')} in use still taken from shipped defaults: see Inputs.")


def _tell(doubts: list[Problem]) -> None:
    """The first likely mistakes in a sentence each, and how many more there are."""
    if not doubts:
        return
    say("Likely mistakes (roi check tells how to mend them)", bold=True)
    for problem in doubts[:MOST_DOUBTS]:
        say(wrapped(f"{problem.where}: {problem.what.split('. ')[0]}", "- ", "  "))
    if len(doubts) > MOST_DOUBTS:
        say(f"... and {len(doubts) - MOST_DOUBTS} more: roi check")


def _tell_checks(found: dict[str, Any]) -> None:
    failed = [check["name"] for check in found["checks"] if not check["ok"]]
    say(f"Checks: {len(found['checks']) - len(failed)} of {len(found['checks'])} pass.")
    for name in failed:
        say(wrapped(f"failed: {name}", "  ", "    "), bold=True)


def table(found: dict[str, Any], short: dict[str, str]) -> list[str]:
    """The methods side by side as lines of text; the first two are headings."""
    decimals = currencies()[found["currency"]]
    rows: list[tuple[str, ...]] = [tuple(h[0] for h in _HEADS), tuple(h[1] for h in _HEADS)]
    for name, method in found["methods"].items():
        rows.append(
            (
                short[name],
                ("too slow" if method["too_slow"] else "yes") if method["feasible"] else "no",
                _money(method["first_cost"]),
                _money(method["running_cost_year_1"]),
                _money(method["equivalent_annual_cost"]),
                _money(method["cost_per_plate"], decimals),
                "current" if name == found["current"] else payback(method, found["horizon_years"]),
            )
        )
    widths = [max(len(row[i]) for row in rows) for i in range(len(_HEADS))]
    return [
        "  ".join(
            cell.ljust(w) if i < 2 else cell.rjust(w)
            for i, (cell, w) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]


def _money(amount: float | None, decimals: int = 0) -> str:
    return "none" if amount is None else fixed(amount, decimals)


def payback(method: dict[str, Any], years: int) -> str:
    saving = method["against_current"]
    if saving is None:
        return "none"
    years_needed = saving["simple_payback_years"]
    return f"not in {years}" if years_needed is None else fixed(years_needed, 1)
