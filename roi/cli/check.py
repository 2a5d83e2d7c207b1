"""`roi check`: every problem of a scenario, or else every likely mistake, with where and mend."""

from __future__ import annotations

from pathlib import Path

import click

from roi.answers.mistakes import mistakes
from roi.cli.reading import BAD, DONE, WANTING, Progress, count, reckon, told, wrapped
from roi.scenario.problems import BadInput


def run(scenario: Path) -> int:
    """Read, reckon, judge, print; the exit code."""
    try:
        with Progress() as progress:
            study, values = reckon(scenario, progress)
            progress.step("Looking for mistakes")
            found = mistakes(study, values)
    except BadInput as bad:
        for problem in bad.problems:
            click.echo(told(problem))
        click.secho(f"{count(len(bad.problems), 'problem')}: the scenario can't be used.", bold=True)
        return BAD
    work = study.scenario.work
    if work.skipped:
        click.secho("Rows left out of the job log", bold=True)
        for problem in work.skipped:
            click.echo(told(problem))
        click.echo()
    if work.notes:
        click.secho("How the work was read", bold=True)
        for note in work.notes:
            click.echo(wrapped(note, "- ", "  "))
        click.echo()
    if found:
        click.secho("Likely mistakes", bold=True)
        for problem in found:
            click.echo(told(problem))
        click.echo()
    click.secho(
        f"No problems, {count(len(found), 'likely mistake')}."
        if found
        else "No problems, no likely mistakes.",
        bold=True,
    )
    return WANTING if found else DONE
