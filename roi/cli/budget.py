"""`roi budget`: a year's budget of staying and of switching: words first, then both ways by quarter; the workbook, and JSON."""

from __future__ import annotations

from pathlib import Path
from typing import Any, BinaryIO

from roi.answers.budget import CAUTION, as_json, budget_of
from roi.cli.language import look_of, tell_missing
from roi.cli.output import Writer, input_files, json_writer, problems_of, write_all
from roi.cli.reading import DONE, WANTING, Progress, read_any, refuse, say, wrapped
from roi.cli.sensitivity import aligned
from roi.engine.words import fixed
from roi.scenario.problems import BadInput, Problem
from roi.workbook.made import now
from roi.workbook.template import Template

_QUARTER = 3
_MOST_DATES = 5


def run(
    scenario: Path,
    year: int,
    month: int | None,
    method: str | None,
    output: Path,
    json_output: Path | None,
    template: str,
    language: str = "",
) -> int:
    """Read, reckon, write, print; the exit code."""
    try:
        with Progress() as progress:
            look = _check_files(scenario, output, json_output, template, language)
            progress.step("Reading the scenario and the work")
            stated = read_any(scenario)
            progress.step("Putting the budget together")
            budget = budget_of(stated, year, month, method, now().date())
            values, _ = budget.evaluate()
            found = as_json(budget, values)

            def workbook(file: BinaryIO) -> object:
                from roi.workbook.write import write_budget

                return write_budget(budget, file, look)

            results: list[tuple[Path, Writer]] = [(output, workbook)]
            if json_output is not None:
                from roi.workbook.kept_out import KeptOut

                results.append((json_output, json_writer(KeptOut([stated], look).from_data(found))))
            progress.step("Writing the workbook")
            write_all(results)
    except BadInput as bad:
        return refuse(bad.problems)
    _print(found)
    say(f"Written: {', '.join(str(path) for path, _ in results)}")
    tell_missing(look.tongue)
    return DONE if all(check["ok"] for check in found["checks"]) else WANTING


def _check_files(
    scenario: Path, output: Path, json_output: Path | None, template: str, language: str
) -> Template:
    """The template, once it, its language and the files to write are known to be good. Raises BadInput."""
    inputs = input_files(scenario)
    problems = problems_of("-o", output, ".xlsx", inputs)
    if json_output is not None:
        problems += problems_of("--json", json_output, ".json", inputs)
        if output.resolve() == json_output.resolve():
            problems.append(
                Problem(f"--json {json_output}", "is the workbook's file too", "give it another name")
            )
    look = look_of(template, language, problems)
    if problems:
        raise BadInput(problems)
    return look


def _print(found: dict[str, Any]) -> None:
    say(wrapped(found["scenario"]), bold=True)
    say()
    for sentence in found["sentences"]:
        say(wrapped(sentence))
    say()
    short = [month.split()[0] for month in found["months"]]
    names = [f"{short[q]}-{short[q + _QUARTER - 1]}" for q in range(0, len(short), _QUARTER)]
    say(f"{found['currency']}, before tax on profit: cash by quarter, and what the year is charged:")
    rows: list[tuple[str, ...]] = [("", *names, "Year", "Charged")]
    for name in ("staying", "switching"):
        rows += _way(name.capitalize(), found[name])
    for number, line in enumerate(aligned(rows, "l" + "r" * (len(names) + 2))):
        say(line, bold=True if number == 0 else None)
    say()
    for dated in found["dates"][:_MOST_DATES]:
        say(wrapped(f"{dated['when']}: {dated['what']}", "- ", "  "))
    if len(found["dates"]) > _MOST_DATES:
        say(f"... and {len(found['dates']) - _MOST_DATES} more dates: see the sheet Dates.")
    failed = [check["name"] for check in found["checks"] if not check["ok"]]
    say(f"Checks: {len(found['checks']) - len(failed)} of {len(found['checks'])} pass.")
    for name in failed:
        say(wrapped(f"failed: {name}", "  ", "    "), bold=True)
    say(wrapped(CAUTION))


def _way(name: str, way: dict[str, Any]) -> list[tuple[str, ...]]:
    """Running costs, what is paid or charged besides, and all, by quarter; then the year's cash, and what it is charged."""
    charged = {row["key"]: row["year"] for row in way["profit_and_loss"]}
    wanted = (
        ("running", f"{name}: running", charged["running"]),
        ("vat.running", "  tax on that", charged.get("vat.running")),
        ("once", "  besides", charged.get("charged.once")),
        ("cash", "  all", charged["profit"]),
    )
    rows = []
    for key, words, other in wanted:
        row = next((row for row in way["cash"] if row["key"] == key), None)
        if row is not None:
            quarters = [fixed(sum(row["months"][q : q + _QUARTER]), 0) for q in range(0, 12, _QUARTER)]
            charge = "" if other is None else fixed(other, 0)
            rows.append((words, *quarters, fixed(row["year"], 0), charge))
    return rows
