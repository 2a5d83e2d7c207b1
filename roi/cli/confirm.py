"""`roi confirm`: what to check next and how, ranked; JSON on request, and a scenario with blanks to be filled in."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from pathlib import Path

from roi.answers.blanks import overlay
from roi.answers.confirming import ToConfirm, as_json, errors_of_knowing, to_confirm, worth_of_knowing
from roi.answers.searched import best_shown, told
from roi.cli.output import input_files, json_writer, problems_of, text_writer, write_all
from roi.cli.reading import DONE, Progress, count, reckon, refuse, say, wrapped
from roi.cli.sensitivity import aligned
from roi.engine.words import fixed
from roi.scenario.files import is_workbook
from roi.scenario.problems import BadInput, Problem
from roi.scenario.words import spelled

LABEL = 30
_LEFT = "Lead left: what it would still be ahead by, a year, at the worst value. In cash, after tax."


def run(scenario: Path, json_output: Path | None, output: Path | None, most: int, drawn: bool) -> int:
    """Read, reckon, rank, write, print; the exit code."""
    try:
        with Progress() as progress:
            _check_files(scenario, json_output, output)
            study, _ = reckon(scenario, progress)
            progress.step("Weighing what is not confirmed")
            every = to_confirm(study)
            if drawn:
                every = to_confirm(study, worth_of_knowing(study), errors_of_knowing(study))
            found, results = every[:most], []
            if json_output is not None:
                basis = "worth_of_knowing" if drawn else "loss_if_wrong"
                results.append((json_output, json_writer(as_json(study, found, basis))))
            if output is not None:
                results.append((output, text_writer(overlay(study.scenario, found))))
            write_all(results)
    except BadInput as bad:
        return refuse(bad.problems)
    code = study.scenario.currency
    say(wrapped(study.scenario.name), bold=True)
    say()
    for sentence in sentences(every, code, drawn):
        say(wrapped(sentence))
    if found:
        say()
        rows = table(found, drawn)
        for number, line in enumerate(rows):
            say(line, bold=True if number < 2 else None)
        say()
        for rank, one in enumerate(found, 1):
            say(wrapped(f"{rank}. {one.way.kind}, {one.way.where}: {one.way.words}", "", "   "))
    if len(every) > len(found):
        say()
        say(f"Shown are the first {len(found)} of {len(every)}: --most tells how many.")
    for path, _ in results:
        say(f"Written: {path}")
    return DONE


def _check_files(scenario: Path, json_output: Path | None, output: Path | None) -> None:
    """Raises BadInput where a result can't or mustn't be written; a list once filled in is never written over."""
    problems: list[Problem] = []
    if json_output is not None:
        problems += problems_of("--json", json_output, ".json", input_files(scenario))
    if output is not None:
        where = f"-o {output}"
        if is_workbook(scenario):
            mend = "print the sheet To check of the workbook, and put what you find out on its sheet Inputs"
            raise BadInput(
                [Problem(where, "a list with blanks builds on a scenario file, not on a workbook", mend)]
            )
        problems += problems_of("-o", output, ".toml", input_files(scenario))
        if output.is_file() and not problems:
            problems.append(
                Problem(where, "is there already, perhaps filled in", "give the list another name")
            )
        if spelled(scenario.name) != scenario.name:
            what = "would name the scenario it builds on, whose name has signs that no text can hold"
            problems.append(Problem(where, what, "give the scenario's file another name"))
        if output.parent.resolve() != scenario.parent.resolve():
            mend = f"write -o {scenario.parent / output.name}"
            problems.append(Problem(where, "is not in the folder of the scenario it is based on", mend))
    if problems:
        raise BadInput(problems)


def sentences(every: Sequence[ToConfirm], currency: str, drawn: bool = False) -> list[str]:
    """How many inputs are unconfirmed, and how many of them alone would make the choice the wrong one."""
    if not every:
        return ["Every input in use is confirmed: none is a default or an estimate."]
    first = f"{count(len(every), 'input')} in use still a default or an estimate; "
    if drawn:
        some = sum(one.worth is not None and one.worth > 0 for one in every)
        return [
            f"{first}{some or 'none'} of them would be worth knowing before choosing, by the scenario's draws: worths "
            "that don't stand out from the noise of the draws by two standard errors (+-) are told as 0.",
            f"Worth: what the choice would gain on average if that input alone were known, {currency} of today, once. {_LEFT}",
        ]
    turning = sum(one.worth is None or one.worth > 0 for one in every)
    return [
        f"{first}{turning or 'none'} of them, each alone and within its own range, would make another method the cheapest.",
        f"Loss: what the answer as it stands would cost more than the best other method, {currency} a year, at the worst "
        f"value within the range. {_LEFT}",
    ]


def table(found: Sequence[ToConfirm], drawn: bool = False) -> list[str]:
    """Rank, input, value now, how to confirm it, and what is at stake; the first two lines are the heading."""
    at_stake = ("Worth once", "+-") if drawn else ("Loss a year",)
    rows: list[tuple[str, ...]] = [("", "Input", "Now", "How", *at_stake, "Lead left")]
    for rank, one in enumerate(found, 1):
        first, *more = textwrap.wrap(one.stated.label, LABEL)
        now = told(one.stated, best_shown(one.stated))
        loss = "can't work" if one.worth is None else fixed(one.worth, 0)
        lead = "none" if one.least_lead is None else fixed(max(one.least_lead, 0.0), 0)
        figures = (loss, fixed(one.worth_error or 0.0, 0)) if drawn else (loss,)
        rows.append((str(rank), first, now, one.way.kind, *figures, lead))
        rows += [("", f"  {part}", *("" for _ in range(len(rows[0]) - 2))) for part in more]
    return aligned(rows, "rlrlr" + "r" * len(at_stake), wrap_head=True)
