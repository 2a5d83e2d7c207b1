"""`roi check`: every problem of a scenario, or else every likely mistake in it."""

from __future__ import annotations

from pathlib import Path

import click

from roi.answers.mistakes import mistakes
from roi.cli.reading import DONE, WANTING, Progress, count, reckon, refuse, told
from roi.scenario.problems import BadInput


def run(scenario: Path) -> int:
    """Read, reckon, look; the exit code."""
    try:
        with Progress() as progress:
            study, values = reckon(scenario, progress)
            progress.step("Looking for mistakes")
            found = mistakes(study, values)
    except BadInput as bad:
        return refuse(bad.problems)
    for problem in found:
        click.echo(told(problem))
    if not found:
        click.echo("No problem and no likely mistake found.")
        return DONE
    click.echo(count(len(found), "likely mistake") + "; the scenario can be used.")
    return WANTING
