"""Figures of speed and memory: `python -m tests.benchmarks` prints them and writes them into DEVELOPERS.md, with growth.svg.

Nothing is asserted; draws are seeded. Times are medians of a few runs on one core, but for the batch, which is about two.
`--print` writes nothing. More on draws: `python -m tests.benchmarks.risk`, on switching values: `.switching`, on large
batches: `.batches 1000`.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Iterable, Iterator
from pathlib import Path

from roi.model.study import Study, build
from roi.scenario.scenario import read
from tests.benchmarks import batches, growth, logs, workbooks
from tests.benchmarks.measures import DEMO, ROOT, Row, alone, command, counting, median, seconds
from tests.benchmarks.one_core import keep_to_one_core
from tests.benchmarks.risk import METHODS, against_hand, drawing
from tests.benchmarks.speed_section import put, section

PLOT = Path(__file__).with_name("growth.svg")
DRAWS = 1_000_000


def main() -> None:
    """Measure, print, and write unless told not to."""
    begun = time.perf_counter()
    shared = list(told(batches.rows()))  # before the rest is kept to one core
    keep_to_one_core()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        study = build(read(DEMO))
        rows = [*told(measured(study, folder)), *shared]
        grown = growth.measured(study, folder)
    table = growth.table(grown)
    text = section(rows, table, PLOT.relative_to(ROOT).as_posix())
    print(text)
    print(f"{time.perf_counter() - begun:.0f} s in all", file=sys.stderr)
    if "--print" not in sys.argv:
        growth.plot(grown, PLOT)
        put(ROOT / "DEVELOPERS.md", text)


def told(rows: Iterable[Row]) -> Iterator[Row]:
    """Rows, each told on stderr as it comes."""
    for row in rows:
        print(f"{row.what}: {row.took} ({row.beside})", file=sys.stderr, flush=True)
        yield row


def measured(study: Study, folder: Path) -> Iterator[Row]:
    """Every row but those of the batch."""
    yield counting()
    yield Row("`roi --help`, cold", seconds(median(lambda: command("--help"))), "0.15 s wanted")
    out = str(folder / "demo.xlsx")
    cold = median(lambda: command("compare", str(DEMO), "-o", out), 3)
    yield Row("`roi compare` on the demo, cold, all sheets", seconds(cold), "2.2 s wanted")
    took, held = alone(drawing, DRAWS)
    yield Row(
        f"{DRAWS:,} draws, {METHODS} methods", seconds(took), f"10 s wanted; {held:,.0f} MB held at most"
    )
    engine, hand, ratio, lines = against_hand()
    yield Row(
        f"a column of {lines} lines, 100,000 cases",
        seconds(engine),
        f"numpy by hand {seconds(hand)}, ratio {ratio:.2f}",
    )
    yield from logs.rows(folder)
    yield from workbooks.rows(study, folder)


if __name__ == "__main__":
    main()
