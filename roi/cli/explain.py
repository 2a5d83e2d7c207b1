"""`roi explain`: one figure's tree on the screen."""

from __future__ import annotations

from pathlib import Path

from roi.answers.explain import explain, find
from roi.cli.reading import DONE, Progress, reckon, refuse, say
from roi.scenario.problems import BadInput


def run(scenario: Path, line: str, depth: int, row: int | None) -> int:
    """Read, reckon, print; the exit code."""
    try:
        with Progress() as progress:
            study, values = reckon(scenario, progress)
            said = explain(study, values, find(study, line), depth, row)
    except BadInput as bad:
        return refuse(bad.problems)
    for text in said:
        say(text)
    return DONE
