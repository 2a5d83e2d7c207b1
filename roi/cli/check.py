"""`roi check`: every problem of a scenario, or else every likely mistake, with where and mend."""

from __future__ import annotations

from pathlib import Path

from roi.answers.invoices import told as as_invoiced
from roi.answers.mistakes import mistakes
from roi.answers.reconcile_words import doubt as baseline_doubt
from roi.cli.reading import BAD, DONE, WANTING, Progress, count, reckon, say, told, wrapped
from roi.scenario.files import is_workbook
from roi.scenario.problems import BadInput


def run(scenario: Path) -> int:
    """Read, reckon, judge, print; the exit code."""
    try:
        with Progress() as progress:
            study, values = reckon(scenario, progress)
            progress.step("Looking for mistakes")
            found = [*mistakes(study, values), *baseline_doubt(study)]
            if is_workbook(scenario):
                from roi.workbook.read_places import told_on_inputs

                found = told_on_inputs(scenario, found)
    except BadInput as bad:
        for problem in bad.problems:
            say(told(problem))
        say(f"{count(len(bad.problems), 'problem')}: the scenario can't be used.", bold=True)
        return BAD
    work = study.scenario.work
    if work.skipped:
        say("Rows left out of the job log", bold=True)
        for problem in work.skipped:
            say(told(problem))
        say()
    if work.notes:
        say("How the work was read", bold=True)
        for note in work.notes:
            say(wrapped(note, "- ", "  "))
        say()
    if invoices := as_invoiced(study, values):
        say("What last year's invoices say", bold=True)
        for sentence in invoices:
            say(wrapped(sentence, "- ", "  "))
        say()
    if found:
        say("Likely mistakes", bold=True)
        for problem in found:
            say(told(problem))
        say()
    say(
        f"No problems, {count(len(found), 'likely mistake')}."
        if found
        else "No problems, no likely mistakes.",
        bold=True,
    )
    return WANTING if found else DONE
