"""What benchmarks share: medians of seconds, cold commands, and the rows of the table they fill."""

from __future__ import annotations

import multiprocessing
import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "scenarios" / "us_two_press" / "shop.toml"
COMMAND = [sys.executable, "-c", "from roi.cli import main; main()"]


@dataclass(frozen=True)
class Row:
    """A line of the table: what was done, how long it took, what that is set against."""

    what: str
    took: str
    beside: str = ""


def median(work: Callable[[], object], times: int = 5) -> float:
    """Median seconds of a piece of work."""
    found = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return statistics.median(found)


def command(*words: str) -> None:
    """Run `roi` cold, in a process of its own."""
    subprocess.run([*COMMAND, *words], cwd=ROOT, check=True, stdout=subprocess.DEVNULL)


def alone(work: Callable[..., Any], *about: object) -> Any:
    """What a piece of work gives in a process of its own, so that its memory can be told."""
    with ProcessPoolExecutor(1, multiprocessing.get_context("spawn")) as pool:
        return pool.submit(work, *about).result()


def peak() -> float:
    """The most memory this process has held, in MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def seconds(value: float) -> str:
    """Seconds with two figures that count."""
    return f"{value:.2g} s" if value < 10 else f"{value:.0f} s"


def counting() -> Row:
    """How fast the machine is, so that figures of two machines can be set against each other."""

    def loop() -> int:
        total = 0
        for number in range(10_000_000):
            total += number
        return total

    return Row("for scale: ten million additions in a plain Python loop", seconds(median(loop, 3)))
