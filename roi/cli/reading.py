"""What every command does with a scenario: read it, reckon it, and say its problems instead of failing."""

from __future__ import annotations

import os
import re
import sys
import textwrap
from collections.abc import Iterable
from pathlib import Path
from threading import Timer
from types import TracebackType
from typing import TYPE_CHECKING

import click

from roi.cli.stopping import NOBODY_READS
from roi.scenario.telling import listening
from roi.scenario.words import spelled

if TYPE_CHECKING:
    from roi.engine.evaluate import Values
    from roi.model.study import Study
    from roi.scenario.problems import Problem
    from roi.scenario.scenario import Scenario

WIDTH = 80
DONE, WANTING, BAD = 0, 1, 2
# Control characters but tab and line feed; marks of direction, which make text read otherwise than it stands; halves of letters.
_STEERING = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]"
)
PATIENCE = 1.0  # seconds before a reader at a terminal is told what is going on


class Unheard(click.ClickException):
    """What was to be printed can't be: stdout is closed or full. Shown on stderr; exits with BAD."""

    exit_code = BAD

    def __init__(self, why: str) -> None:
        super().__init__(
            f"can't print: stdout {why}. Mend: print to a terminal, or to a file on a disk with room."
        )


def say(text: str = "", bold: bool | None = None) -> None:
    """Print one text on stdout. Raises Unheard when it can't be printed; ends the command when nobody reads it any more."""
    if sys.stdout is None:
        raise Unheard("is closed")
    try:
        click.secho(printable(text), bold=bold)
    except BrokenPipeError:  # as with "| head -1": nobody wants the rest
        drop_stdout()
        raise click.exceptions.Exit(NOBODY_READS) from None
    except OSError as wrong:
        drop_stdout()
        raise Unheard(f"fails ({wrong.strerror or wrong})") from None


def drop_stdout() -> None:
    """Send what stdout still holds nowhere: Python would try it again at its end, and complain."""
    try:
        number = sys.stdout.fileno()
    except (OSError, ValueError):  # a stand-in without a file behind it holds nothing back
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, number)
    os.close(nowhere)


class Progress:
    """A line on stderr saying what is being done, from a second on, at a terminal only."""

    def __init__(self, patience: float = PATIENCE) -> None:
        self._now, self._shown = "", False
        self._timer = Timer(patience, self._begin)
        self._timer.daemon = True
        self._listening = listening(self.step)

    def __enter__(self) -> Progress:
        if sys.stderr.isatty():
            self._timer.start()
        self._listening.__enter__()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._listening.__exit__(kind, error, trace)
        self._timer.cancel()
        if self._shown:
            click.echo("\r" + " " * (WIDTH - 1) + "\r", nl=False, err=True)
            self._shown = False

    def step(self, doing: str) -> None:
        """Say what comes next."""
        self._now = doing
        if self._shown:
            self._show()

    def _begin(self) -> None:
        self._shown = True
        self._show()

    def _show(self) -> None:
        click.echo(f"\r{self._now + ' ...':<{WIDTH - 1}}", nl=False, err=True)


def reckon(path: Path, progress: Progress) -> tuple[Study, Values]:
    """Read a scenario and compute every line. Raises BadInput with every problem of the scenario."""
    from roi.engine.errors import EngineError
    from roi.model.study import build
    from roi.scenario.problems import BadInput, Problem

    progress.step("Reading the scenario and the work")
    scenario = read_any(path)
    progress.step("Putting the reckoning together")
    try:
        study = build(scenario)
    except EngineError as wrong:
        mend = "give the things named different labels; if they have, this is a fault of the program"
        raise BadInput([Problem(path.name, f"can't be put together: {wrong}", mend)]) from None
    progress.step("Reckoning")
    return study, study.evaluate()


def read_any(path: Path) -> Scenario:
    """Read a scenario from a file or from a workbook, by its name. Raises BadInput with every problem."""
    from roi.scenario.files import is_workbook

    if is_workbook(path):
        from roi.workbook.read_back import read_workbook

        scenario = read_workbook(path)
    else:
        from roi.scenario.scenario import read

        scenario = read(path)
    _tell_unread(path)
    return scenario


def _tell_unread(path: Path) -> None:
    """Say on stderr which macros, links and the like the workbooks that were read hold, since nothing is made of them."""
    from roi.cli.output import input_files

    for file in input_files(path):
        if file.suffix.lower() in (".xlsx", ".xlsm"):
            from roi.scenario.package import unread

            if sentence := unread(file):
                if sys.stderr.isatty():  # what is being done stands there
                    click.echo("\r" + " " * (WIDTH - 1) + "\r", nl=False, err=True)
                click.echo(wrapped(sentence), err=True)


def refuse(problems: Iterable[Problem]) -> int:
    """Print problems on stderr, one by one, and their count; the exit code."""
    listed = list(problems)
    for problem in listed:
        click.echo(told(problem), err=True)
    click.echo(count(len(listed), "problem") + " to mend.", err=True)
    return BAD


def told(problem: Problem) -> str:
    """A problem for a reader: where and what, then how to mend it, wrapped."""
    text = wrapped(f"{problem.where}: {problem.what}", "", "  ")
    return text + ("\n" + wrapped(f"mend: {problem.mend}", "  ", "    ") if problem.mend else "")


def wrapped(text: str, first: str = "", rest: str = "") -> str:
    """Text in lines of at most 80 columns; a word longer than a line, such as a path, stays whole."""
    return textwrap.fill(
        printable(text),
        WIDTH,
        initial_indent=first,
        subsequent_indent=rest,
        break_long_words=False,
        break_on_hyphens=False,
    )


def printable(text: str) -> str:
    """Text in which signs that would steer a terminal, or turn the direction of writing, are spelled out: \\x1b."""
    return _STEERING.sub(lambda found: ascii(found[0])[1:-1], spelled(text))


def count(number: int, what: str) -> str:
    """ "1 problem", "2 problems"."""
    return f"{number:,} {what}" + ("" if number == 1 else "s")
