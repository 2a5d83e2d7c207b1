"""Many scenarios, each reckoned by itself into one small plain record; the caller chooses on what.

Any executor of `concurrent.futures`, or one that does as these do, such as a distributed engine's, takes the work: nothing
here schedules. A scenario is a task of its own, since one takes a tenth of a second and handing it over a thousandth. Present
costs are after tax, in the scenario's own currency, costs positive. What a batch says together is left to its reader.
"""

from __future__ import annotations

import gc
import multiprocessing
import os
import signal
import threading
from collections.abc import Iterable, Iterator
from concurrent.futures import (
    BrokenExecutor,
    CancelledError,
    Executor,
    Future,
    ProcessPoolExecutor,
    ThreadPoolExecutor,
)
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from roi.scenario.problems import BadInput, Problem

RECKONED, REFUSED, FAILED, LOST = "reckoned", "refused", "failed", "lost"
SUSPECTS = 4  # a worker: what a broken pool may have been at is among so many of the first not done


@dataclass(frozen=True)
class Outcome:
    """What came of one scenario: numbers and texts only, so that it can be sent anywhere.

    file : the scenario's path, as it was given
    state : "reckoned"; "refused", the scenario can't be used; "failed", a fault of the program; "lost", what worked on it ended
    problems : why it is not reckoned, empty where it is
    cheapest, cheapest_full_cost : ids of methods, None where no method can do the work
    too_close : whether draws leave the cheapest open, None where there is nothing to choose
    present_cost, present_cost_full : by method id, in currency, None where there is none
    feasible : ids of the methods that can do the work;  failed_checks : checks of figures against each other that fail
    """

    file: str
    state: str
    problems: tuple[Problem, ...] = ()
    name: str = ""
    currency: str = ""
    horizon_years: int | None = None
    current: str = ""
    cheapest: str | None = None
    cheapest_full_cost: str | None = None
    too_close: bool | None = None
    verdict: str = ""
    present_cost: dict[str, float | None] = field(default_factory=dict)
    present_cost_full: dict[str, float | None] = field(default_factory=dict)
    feasible: tuple[str, ...] = ()
    failed_checks: tuple[str, ...] = ()


def batch(scenarios: Iterable[str | os.PathLike[str]], executor: Executor | None = None) -> Iterator[Outcome]:
    """Reckon scenario files or workbooks, and yield what came of each, in the order given. Raises TypeError for a single path.

    All are handed to the executor when the first is asked for; those not begun are called back when nobody asks for more.
    A scenario that can't be used, a fault of the program or a worker that ends is an outcome too and stops no other.

    Parameters
    ----------
    scenarios : paths, which must lead to the same files wherever the executor works
    executor : where they are reckoned, left running; None for one after another in this process
    """
    files = _paths(scenarios)
    return _here(files) if executor is None else _on(executor, files)


def _here(files: list[str]) -> Iterator[Outcome]:
    with ThreadPoolExecutor(1) as here:
        yield from _on(here, files)


def _on(executor: Executor, files: list[str]) -> Iterator[Outcome]:
    tasks: list[Future[Outcome]] = []
    try:
        tasks.extend(_handed_over(executor, file) for file in files)
        for file, task in zip(files, tasks, strict=True):
            yield _outcome(file, task)
    finally:
        for task in tasks:
            task.cancel()


def in_processes(scenarios: Iterable[str | os.PathLike[str]], workers: int) -> Iterator[Outcome]:
    """As `batch`, on so many processes of this machine. A process that ends loses nothing but what ends it.

    What a pool left undone when it broke goes on in a fresh one. The first of it, which it may have been at, are done one
    by one before, so that only a scenario that ends its process twice is lost. A program that calls this must have its own
    beginning below `if __name__ == "__main__":`, since each process reads it. Raises ValueError for no workers, and as `batch`.
    """
    if workers < 1:
        raise ValueError(f"{workers} workers: 1 or more are wanted")
    return _in_pools(_paths(scenarios), workers)


def _in_pools(left: list[str], workers: int) -> Iterator[Outcome]:
    while left:
        undone: list[Outcome] = []
        outcomes = _in_pool(left, workers)
        for outcome in outcomes:
            if outcome.state == LOST:
                undone = [outcome, *outcomes]
                break
            yield outcome
        suspects = undone[: SUSPECTS * workers]
        for outcome in suspects:
            yield from _in_pool([outcome.file], 1) if outcome.state == LOST else [outcome]
        left = [outcome.file for outcome in undone[len(suspects) :]]


def _paths(scenarios: Iterable[str | os.PathLike[str]]) -> list[str]:
    """The paths as texts. Raises TypeError for a single one, whose letters would each be taken for one."""
    if isinstance(scenarios, (str, bytes, os.PathLike)):
        raise TypeError(f"a batch takes several paths, such as [{str(scenarios)!r}], not a single one")
    return [os.fspath(path) for path in scenarios]


def reckon(file: str) -> Outcome:
    """Read and reckon one scenario, all in this process."""
    from roi.answers.compare import as_json
    from roi.answers.side_by_side import verdicts
    from roi.engine.errors import EngineError
    from roi.model.study import build

    path = Path(file)
    try:
        study = build(_read(path))
        values = study.evaluate()
    except BadInput as bad:
        return Outcome(file, REFUSED, tuple(bad.problems))
    except EngineError as wrong:
        mend = "give the things named different labels; if they have, this is a fault of the program"
        return Outcome(file, REFUSED, (Problem(path.name, f"can't be put together: {wrong}", mend),))
    found = as_json(study, values)
    methods: dict[str, dict[str, Any]] = found["methods"]
    chance = found["chance_of_cheapest"]
    return Outcome(
        file,
        RECKONED,
        name=found["scenario"],
        currency=found["currency"],
        horizon_years=found["horizon_years"],
        current=found["current"],
        cheapest=found["cheapest"],
        cheapest_full_cost=found["cheapest_full_cost"],
        too_close=None if chance is None else chance["too_close_to_call"],
        verdict=verdicts(study, values)[0],
        present_cost={name: method["present_cost"] for name, method in methods.items()},
        present_cost_full={name: method["present_cost_full"] for name, method in methods.items()},
        feasible=tuple(name for name, method in methods.items() if method["feasible"]),
        failed_checks=tuple(check["name"] for check in found["checks"] if not check["ok"]),
    )


def _read(path: Path) -> Any:
    from roi.scenario.files import is_workbook

    if is_workbook(path):
        from roi.workbook.read_back import read_workbook

        return read_workbook(path)
    from roi.scenario.scenario import read

    return read(path)


def _handed_over(executor: Executor, file: str) -> Future[Outcome]:
    try:
        return executor.submit(reckon, file)
    except BrokenExecutor as broken:  # met again where its outcome is asked for
        task: Future[Outcome] = Future()
        task.set_exception(broken)
        return task


def _outcome(file: str, task: Future[Outcome]) -> Outcome:
    """What a task gave, waited for; or why it gave nothing."""
    try:
        wrong = task.exception()
    except CancelledError:
        what, mend = "was called back before it was reckoned", "run it again"
        return Outcome(file, LOST, (Problem(file, what, mend),))
    if wrong is None:
        return task.result()
    if not isinstance(wrong, Exception):  # a request to stop
        raise wrong
    if isinstance(wrong, BrokenExecutor):
        what = "is not reckoned: a process that worked on the batch ended, perhaps for want of memory"
        return Outcome(file, LOST, (Problem(file, what, "run it again by itself"),))
    what = f"is not reckoned: {type(wrong).__name__}: {wrong}"
    return Outcome(file, FAILED, (Problem(file, what, "this is a fault of the program, or of the machine"),))


def _in_pool(files: list[str], workers: int) -> Iterator[Outcome]:
    # Processes that begin anew, since those that are split off inherit locks that other threads hold.
    anew = multiprocessing.get_context("spawn")
    workers = min(workers, len(files))
    pool = ProcessPoolExecutor(workers, anew, _begin)
    try:
        with _ctrl_c_waits():
            for _ in range(workers):
                pool.submit(int)  # starts a process
        yield from _on(pool, files)
    finally:
        pool.shutdown(cancel_futures=True)


@contextmanager
def _ctrl_c_waits() -> Iterator[None]:
    """Ctrl-C waits within this; in processes started here until `_begin`, so that they print nothing of it while they load."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _begin() -> None:
    """Make a process end silently at Ctrl-C, and with the one that started it even if that is killed."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    if hasattr(signal, "pthread_sigmask"):
        signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})
    threading.Thread(target=_end_with_parent, daemon=True).start()
    gc.set_threshold(100_000, 10, 5)  # nearly all that is made is in use until a scenario is done


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


__all__ = ["FAILED", "LOST", "RECKONED", "REFUSED", "Outcome", "batch", "in_processes", "reckon"]
