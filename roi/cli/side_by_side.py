"""`roi compare` with several scenarios: what each says and what they say together, the workbook and JSON on disk."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO

from roi.answers.side_by_side import LETTERS, LinedUp, found, lined_up, refused, verdicts
from roi.cli.compare import check_files, payback
from roi.cli.language import tell_missing
from roi.cli.output import Writer, input_files, json_writer, write_all
from roi.cli.reading import DONE, WANTING, Progress, count, reckon, refuse, say, wrapped
from roi.engine.words import fixed
from roi.scenario.problems import BadInput, Problem
from roi.units.quantity import currencies

if TYPE_CHECKING:
    from roi.engine.evaluate import Values
    from roi.model.study import Study
    from roi.workbook.template import Template

MOST_INPUTS = 8
_HEADS = (
    ("", ""),
    ("In", "use"),
    ("Cheapest", "in cash"),
    ("Saves", "a year"),
    ("First", "cost"),
    ("Payback", "years"),
    ("Cost a", "plate"),
    ("", "in"),
)


def run(
    scenarios: Sequence[Path],
    output: Path | None,
    json_output: Path | None,
    template: str,
    everything: bool,
    language: str = "",
) -> int:
    """Read and reckon every scenario, write, print; the exit code."""
    try:
        if problems := refused(scenarios):
            raise BadInput(problems)
        with Progress() as progress:
            look, reckoned = _reckon_all(scenarios, output, json_output, (template, language), progress)
            studies, values = [study for study, _ in reckoned], [held for _, held in reckoned]
            lined = lined_up(studies)
            data = found(lined, values)
            progress.step("Writing")
            written = _write(studies, values, data, output, json_output, look, everything)
    except BadInput as bad:
        return refuse(bad.problems)
    _print(lined, values, data)
    if written:
        say(f"Written: {', '.join(str(path) for path in written)}")
    tell_missing(look.tongue)
    passed = [check["ok"] for scenario in data["scenarios"] for check in scenario["checks"]]
    return DONE if all(passed) else WANTING


def _reckon_all(
    scenarios: Sequence[Path],
    output: Path | None,
    json_output: Path | None,
    layout: tuple[str, str],
    progress: Progress,
) -> tuple[Template, list[tuple[Study, Values]]]:
    """The template, and every scenario reckoned. Raises BadInput with every problem of every file, each once."""
    inputs: list[Path] = []
    reckoned: list[tuple[Study, Values]] = []
    problems: list[Problem] = []
    alike = len({path.name for path in scenarios}) < len(scenarios)
    for path in scenarios:
        try:
            inputs += input_files(path)
            reckoned.append(reckon(path, progress))
        except BadInput as bad:
            folder = f"{path.resolve().parent.name}/" if alike else ""
            problems += [
                p if str(path) in p.where else Problem(folder + p.where, p.what, p.mend) for p in bad.problems
            ]
    try:
        look = check_files(inputs, output, json_output, *layout)
    except BadInput as bad:
        problems += bad.problems
    if problems:  # variants share what they are based on, and its problems
        raise BadInput(dict.fromkeys(problems))
    return look, reckoned


def _write(
    studies: list[Study],
    values: list[Values],
    data: dict[str, Any],
    output: Path | None,
    json_output: Path | None,
    look: Template,
    everything: bool,
) -> list[Path]:
    """Write what is asked for. Returns the files written."""
    results: list[tuple[Path, Writer]] = []
    if output is not None:

        def workbook(file: BinaryIO) -> object:
            from roi.workbook.write import write_side_by_side

            return write_side_by_side(studies, values, file, look, everything=everything)

        results.append((output, workbook))
    if json_output is not None:
        from roi.workbook.kept_out import KeptOut

        shown = KeptOut([study.scenario for study in studies], look).from_data(data)
        results.append((json_output, json_writer(shown)))
    write_all(results)
    return [path for path, _ in results]


def _print(lined: LinedUp, values: Sequence[Values], data: dict[str, Any]) -> None:
    known = lined.values(values)
    for sentence in lined.said(known):
        say(wrapped(sentence), bold=True)
    for letter, name, study, held in zip(LETTERS, lined.names, lined.studies, values, strict=False):
        say()
        say(wrapped(f"{letter}: {name}"), bold=True)
        for text in filter(None, verdicts(study, held)):
            say(wrapped(text, "   ", "   "))
    say()
    for number, line in enumerate(table(lined, data)):
        say(line, bold=number < 2)
    say()
    differing = data["differences"]
    inputs = differing["inputs"]
    same = count(differing["inputs_equal"], "input")
    say(wrapped(f"{count(len(inputs), 'input')} not the same in all; {same} the same."))
    told = sorted(inputs, key=lambda one: (not one["in_all"], "value" not in one["differs_in"]))
    for one in told[:MOST_INPUTS]:
        also = (
            "" if "value" in one["differs_in"] or not one["in_all"] else f" ({', '.join(one['differs_in'])})"
        )
        say(wrapped(f"{one['label']}: {_stated(one['stated'])}{also}", "- ", "  "))
    if len(inputs) > MOST_INPUTS:
        say(f"... and {len(inputs) - MOST_INPUTS} more: What differs in the workbook, or --json")
    for scenario in data["scenarios"]:
        for check in scenario["checks"]:
            if not check["ok"]:
                say(wrapped(f"{scenario['letter']}: failed: {check['name']}", "  ", "    "), bold=True)


def _stated(stated: Sequence[dict[str, Any] | None]) -> str:
    """An input's values, a letter each."""
    told = zip(LETTERS, stated, strict=False)
    return ", ".join(
        f"{letter} " + ("-" if one is None else f"{one['best']:.6g} {one['unit']}".strip())
        for letter, one in told
    )


def table(lined: LinedUp, data: dict[str, Any]) -> list[str]:
    """A line a scenario, of the method that is cheapest in cash; the first two lines are headings."""
    rows: list[tuple[str, ...]] = [tuple(head[0] for head in _HEADS), tuple(head[1] for head in _HEADS)]
    for study, scenario in zip(lined.studies, data["scenarios"], strict=True):
        short = {name: sheet.method.short for name, sheet in study.methods.items()}
        begins = (scenario["letter"], short[scenario["current"]])
        if scenario["cheapest"] is None:
            rows.append((*begins, "none", *["none"] * 4, scenario["currency"]))
            continue
        cheapest, saving = scenario["methods"][scenario["cheapest"]], scenario["saving_a_year"]["cash"]
        stays = scenario["cheapest"] == scenario["current"]
        rows.append(
            (
                *begins,
                short[scenario["cheapest"]],
                "none" if saving is None else fixed(saving, 0),
                fixed(cheapest["first_cost"], 0),
                "-" if stays else payback(cheapest, scenario["horizon_years"]),
                "none" if cheapest["cost_per_plate"] is None
                else fixed(cheapest["cost_per_plate"], currencies()[scenario["currency"]]),
                scenario["currency"],
            )
        )  # fmt: skip
    widths = [max(len(row[place]) for row in rows) for place in range(len(_HEADS))]
    return [
        "  ".join(
            cell.ljust(w) if place < 3 else cell.rjust(w)
            for place, (cell, w) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]
