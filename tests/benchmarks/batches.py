"""Speed of a batch: seeded variations of the small shop on one process, on two, and on a distributed engine's loopback.

`python -m tests.benchmarks.batches 1000` takes that many scenarios. Nothing is asserted.
"""

from __future__ import annotations

import os
import random
import statistics
import sys
import tempfile
import time
from collections.abc import Iterable
from importlib.util import find_spec
from pathlib import Path

from roi.batch import RECKONED, Outcome, batch, in_processes
from tests.benchmarks.measures import Row, alone, seconds
from tests.small_shop import SHOP

MANY = 100
WORKERS = 2


def main() -> None:
    """Print the rows for as many scenarios as asked for."""
    for row in rows(int(sys.argv[1]) if len(sys.argv) > 1 else MANY):
        print(f"{row.what}: {row.took} ({row.beside})")


def rows(count: int = MANY) -> list[Row]:
    """One process, two, and where more than one pays: where both take equally long, by straight lines."""
    with tempfile.TemporaryDirectory() as name:
        files = write_shops(Path(name), count)
        one, each = alone(on_one, files)
        two, first = timed(in_processes(files, WORKERS))
        start = max(first - each, 0.0)
        # One process takes n x each; two take their start and then n x `shared`.
        shared = max(two - start, 0.0) / count
        worth = (
            f"worth it from {start / (each - shared):.0f} scenarios" if each > shared else "not worth it here"
        )
        cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
        return [
            Row(f"batch of {count:,} small scenarios, one process", seconds(one), f"{seconds(each)} each"),
            Row(
                f"the same on {WORKERS} processes, {cores} cores",
                seconds(two),
                f"{one / two:.2f} times one (1.8 wanted); first outcome after {seconds(first)}: {worth}",
            ),
            on_dask(files, one, each),
        ]


def on_one(files: list[Path]) -> tuple[float, float]:
    """Seconds for all scenarios in this process, and for the middle one of them."""
    took, last = [], time.perf_counter()
    for outcome in batch(files):
        took.append(time.perf_counter() - last)
        last = time.perf_counter()
        assert outcome.state == RECKONED, outcome
    return sum(took), statistics.median(took)


def timed(outcomes: Iterable[Outcome]) -> tuple[float, float]:
    """Seconds for all and until the first."""
    begun, first = time.perf_counter(), 0.0
    for outcome in outcomes:
        first = first or time.perf_counter() - begun
        assert outcome.state == RECKONED, outcome
    return time.perf_counter() - begun, first


def on_dask(files: list[Path], one: float, each: float) -> Row:
    """On dask.distributed with two processes of this machine, starting it told apart."""
    what = f"the same on dask.distributed's loopback, {WORKERS} workers"
    if find_spec("distributed") is None:
        return Row(what, "not measured", "dask.distributed is not installed")
    from distributed import Client, LocalCluster

    begun = time.perf_counter()
    with (
        LocalCluster(
            n_workers=WORKERS, threads_per_worker=1, host="127.0.0.1", dashboard_address="127.0.0.1:0"
        ) as cluster,
        Client(cluster) as client,
    ):
        ready = time.perf_counter() - begun
        took, first = timed(batch(files, client.get_executor()))
    start = ready + max(first - each, 0.0)
    shared = max(took - max(first - each, 0.0), 0.0) / len(files)
    worth = f"worth it from {start / (each - shared):.0f} scenarios" if each > shared else "not worth it here"
    return Row(
        what, seconds(took), f"{one / took:.2f} times one process; starting it {seconds(ready)}: {worth}"
    )


def write_shops(folder: Path, count: int) -> list[Path]:
    """Seeded variations of the small shop: more or fewer plates, longer or shorter runs, an older or newer machine."""
    draw, files = random.Random(7), []
    for number in range(count):
        short = draw.uniform(0.1, 0.9)
        text = SHOP.replace("Invented shop", f"Invented shop {number}")
        text = text.replace("small = 300", f"small = {draw.randrange(40, 2000)}")
        text = text.replace('"4 year"', f'"{draw.randrange(0, 7)} year"')
        text = text.replace(
            "under_1000 = 0.4, to_5000 = 0.6", f"under_1000 = {short:.3f}, to_5000 = {1 - short:.3f}"
        )
        files.append(folder / f"shop_{number:05}.toml")
        files[-1].write_text(text, encoding="utf-8")
    return files


if __name__ == "__main__":
    main()
