"""`roi compare`: the verdict and a short table on the screen, the workbook and JSON on disk."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

from roi.answers.compare import as_json
from roi.answers.verdict import sentences
from roi.cli.output import Writer, input_files, problems_of, text_writer, write_all
from roi.cli.reading import DONE, WANTING, Progress, count, reckon, refuse, wrapped
from roi.scenario.problems import BadInput, Problem
from roi.units.quantity import currencies

_HEADS = (
    ("", "Method"),
    ("", "Feasible"),
    ("First", "cost"),
    ("Running", "year 1"),
    ("Equivalent", "a year"),
    ("Cost a", "plate"),
    ("Payback", "years"),
)


def run(scenario: Path, output: Path, json_output: Path | None) -> int:
    """Read, reckon, write, print; the exit code."""
    try:
        with Progress() as progress:
            _check_outputs(scenario, output, json_output)
            study, values = reckon(scenario, progress)
            found = as_json(study, values)
            said = sentences(study, values)
            results: list[tuple[Path, Writer]] = []

            def workbook(path: Path) -> object:
                from roi.workbook.write import write_workbook

                return write_workbook(study, values, path)

            results.append((output, workbook))
            if json_output is not None:
                text = json.dumps(found, indent=2, ensure_ascii=False, allow_nan=False)
                results.append((json_output, text_writer(text + "\n")))
            progress.step("Writing the workbook")
            write_all(results)
    except BadInput as bad:
        return refuse(bad.problems)
    short = {name: sheet.method.short for name, sheet in study.methods.items()}
    _print(found, said, short, [str(path) for path, _ in results])
    return DONE if all(check["ok"] for check in found["checks"]) else WANTING


def _check_outputs(scenario: Path, output: Path, json_output: Path | None) -> None:
    inputs = input_files(scenario)
    problems = problems_of("-o", output, ".xlsx", inputs)
    if json_output is not None:
        problems += problems_of("--json", json_output, ".json", inputs)
        if json_output.resolve() == output.resolve():
            problems.append(
                Problem(f"--json {json_output}", "is the workbook's file too", "give it another name")
            )
    if problems:
        raise BadInput(problems)


def _print(found: dict[str, Any], said: list[str], short: dict[str, str], written: list[str]) -> None:
    click.secho(wrapped(found["scenario"]), bold=True)
    click.echo()
    for sentence in said:
        click.echo(wrapped(sentence))
    click.echo()
    click.echo(
        f"{found['currency']}, over {count(found['horizon_years'], 'year')}; "
        "equivalent and plate after tax, first and running before:"
    )
    for number, line in enumerate(table(found, short)):
        click.secho(line, bold=number < 2)
    click.echo()
    for name, method in found["methods"].items():
        if not method["feasible"]:
            click.echo(wrapped(f"{short[name]}: {method['notes'][0]}."))
    used = found["defaults_in_use"]
    if used:
        click.echo(f"{count(len(used), 'figure')} in use still taken from shipped defaults: see Inputs.")
    failed = [check["name"] for check in found["checks"] if not check["ok"]]
    click.echo(f"Checks: {len(found['checks']) - len(failed)} of {len(found['checks'])} pass.")
    for name in failed:
        click.secho(wrapped(f"failed: {name}", "  ", "    "), bold=True)
    click.echo(f"Written: {', '.join(written)}")


def table(found: dict[str, Any], short: dict[str, str]) -> list[str]:
    """The methods side by side as lines of text; the first two are headings."""
    decimals = currencies()[found["currency"]]
    rows: list[tuple[str, ...]] = [tuple(h[0] for h in _HEADS), tuple(h[1] for h in _HEADS)]
    for name, method in found["methods"].items():
        rows.append(
            (
                short[name],
                "yes" if method["feasible"] else "no",
                _money(method["first_cost"]),
                _money(method["running_cost_year_1"]),
                _money(method["equivalent_annual_cost"]),
                _money(method["cost_per_plate"], decimals),
                _payback(method, found["horizon_years"]),
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
    return "none" if amount is None else f"{amount:,.{decimals}f}"


def _payback(method: dict[str, Any], years: int) -> str:
    saving = method["against_current"]
    if saving is None:
        return "current"
    payback = saving["simple_payback_years"]
    return f">{years}" if payback is None else f"{payback:.1f}"
