"""A process that judges mutants under limits of time and memory, and its keeper, which outlives it.

Limits: SECONDS of processor time a mutant, and MEMORY bytes of address space for the whole process, programs and libraries in it.
A worker that dies, or is stuck where it can't be interrupted, is replaced; the mutant it had is wrong.
"""

from __future__ import annotations

import contextlib
import io
import resource
import signal
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnProcess
from pathlib import Path

SECONDS = 5  # of processor time: the most a mutant may take; twice that where a command reads it too
PATIENCE = 120  # seconds without a word from a worker, after which it is ended
MEMORY = 2_000_000_000  # bytes of address space; libraries alone take up 0.6 GB of it

Task = tuple[str, str, int, int]  # "judge" or "recalculate", family, seed, number


@dataclass(frozen=True)
class Report:
    """What became of one task. seconds: processor time; memory: bytes, the most the process has held so far."""

    task: Task
    base: str
    kind: str
    outcome: str
    why: str
    note: str
    seconds: float
    memory: int


class _TooLong(BaseException):
    """The time is up; no `except Exception` on the way catches it."""


def _up(*_: object) -> None:
    raise _TooLong


def _work(pipe: Connection) -> None:
    from tests.fuzz.judge import COMMANDS, WRONG, Judge, Judged, commands, made

    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    commands()  # what they need is loaded before the time of a mutant runs
    signal.signal(signal.SIGPROF, _up)
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is the main process's matter
    with tempfile.TemporaryDirectory(prefix="fuzz-") as name:
        judge = Judge(Path(name))
        while (task := pipe.recv()) is not None:
            what, family, seed, number = task
            mutant = made(family, seed, number)
            begun = time.process_time()
            try:
                with contextlib.redirect_stderr(io.StringIO()):
                    if what == "judge":
                        signal.setitimer(signal.ITIMER_PROF, SECONDS if number % COMMANDS else 2 * SECONDS)
                        judged = judge.judge(mutant, number)
                    else:
                        found = judge.recalculated(mutant)
                        judged = (
                            Judged(WRONG, f"{len(found)} cells differ: {found[0]}")
                            if found
                            else Judged("equal")
                        )
            except _TooLong:
                judged = Judged(WRONG, f"takes more than {SECONDS} s")
            finally:
                signal.setitimer(signal.ITIMER_PROF, 0)
            spent = time.process_time() - begun
            held = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
            pipe.send(
                Report(task, mutant.base, mutant.kind, judged.outcome, judged.why, judged.note, spent, held)
            )


class Keeper:
    """One worker, replaced when it dies."""

    def __init__(self) -> None:
        self._process: SpawnProcess | None = None
        self._task: Task | None = None
        self._since = 0.0

    @property
    def pipe(self) -> Connection:
        return self._pipe

    def give(self, task: Task) -> None:
        if self._process is None:
            self._pipe, other = get_context("spawn").Pipe()
            self._process = get_context("spawn").Process(target=_work, args=(other,), daemon=True)
            self._process.start()
            other.close()
        self._task, self._since = task, time.monotonic()
        self._pipe.send(task)

    def taken(self, ready: bool) -> Report | None:
        """The report on the task given, None where it isn't done; a report of its death where the worker has died."""
        assert self._task is not None and self._process is not None
        if ready:
            try:
                report = self._pipe.recv()
                assert isinstance(report, Report)
                return report
            except EOFError:
                self._process.join()
                why = f"the process died (exit {self._process.exitcode})"
        elif time.monotonic() - self._since > PATIENCE:
            self._process.kill()
            self._process.join()
            why = f"no word for {PATIENCE} s"
        else:
            return None
        self._pipe.close()
        self._process = None
        return Report(self._task, "?", "?", "wrong", why, "", 0.0, 0)

    def end(self) -> None:
        if self._process is not None:
            self._pipe.send(None)
            self._process.join(10)
            self._process = None


def run(tasks: Iterator[Task], workers: int) -> Iterator[Report]:
    """The report of every task, as they come in."""
    from multiprocessing.connection import wait

    keepers = [Keeper() for _ in range(workers)]
    try:
        busy = [keeper for keeper in keepers if _next(keeper, tasks)]
        while busy:
            ready = wait([keeper.pipe for keeper in busy], timeout=5)
            for keeper in list(busy):
                report = keeper.taken(keeper.pipe in ready)
                if report is None:
                    continue
                yield report
                if not _next(keeper, tasks):
                    busy.remove(keeper)
    finally:
        for keeper in keepers:
            keeper.end()


def _next(keeper: Keeper, tasks: Iterator[Task]) -> bool:
    task = next(tasks, None)
    if task is not None:
        keeper.give(task)
    return task is not None
