"""Figures of speed and memory on the demo: `python -m tests.benchmarks`. Nothing is asserted; draws are seeded.

Times are medians of a few runs on one core. What is expected stands beside each figure.
"""

from __future__ import annotations

import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from openpyxl import Workbook, load_workbook

from roi.engine.evaluate import BLOCK, Program
from roi.model.study import Study, build
from roi.scenario.scenario import read
from roi.workbook import write
from roi.workbook.styles import add_styles
from roi.workbook.write import write_workbook
from tests.benchmarks import risk, switching
from tests.benchmarks.one_core import keep_to_one_core

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "scenarios" / "us_two_press" / "shop.toml"
COMMAND = [sys.executable, "-c", "from roi.cli import main; main()"]


def median(work: Callable[[], object], times: int = 5) -> float:
    """Median seconds of a piece of work."""
    found = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return statistics.median(found)


def command(*words: str) -> None:
    subprocess.run([*COMMAND, *words], cwd=ROOT, check=True, stdout=subprocess.DEVNULL)


def cases(study: Study, count: int, seed: int = 7) -> dict[str, np.ndarray]:
    """Every input that has a range, drawn evenly within it."""
    draw = np.random.default_rng(seed)
    used = study.book.inputs
    return {
        s.key: draw.uniform(s.low, s.high, count) * s.factor
        for s in study.scenario.inputs.values()
        if s.key in used and s.low < s.high and not s.whole
    }


def million(study: Study, method: str, count: int = 1_000_000) -> float:
    """Seconds for a method's whole column: present cost in both views for each case. Drawing is not timed."""
    lines = study.methods[method].lines
    program = Program(study.book, [lines["present"], lines["present_full"]])
    spent, total = 0.0, 0.0
    for start in range(0, count, BLOCK):
        drawn = cases(study, min(BLOCK, count - start), start)
        begun = time.perf_counter()
        values = program.run(drawn)
        spent += time.perf_counter() - begun
        total += float(values[lines["present"]].sum())
    assert np.isfinite(total)
    return spent


def writing(study: Study, folder: Path) -> tuple[float, float]:
    """Seconds for writing the finished workbook, and for a bare dump of the same cells in the same styles."""
    values, path = study.evaluate(), folder / "out.xlsx"
    ours = median(lambda: write_workbook(study, values, path), 3)
    book = load_workbook(path)
    cells = [
        (
            s.title,
            [
                (c.row, c.column, c.value, c.style, c.number_format)
                for r in s.iter_rows()
                for c in r
                if c.value is not None
            ],
        )
        for s in book.worksheets
    ]

    def dump() -> None:
        bare = Workbook()
        add_styles(bare)
        for title, rows in cells:
            sheet = bare.create_sheet(title)
            for row, column, value, style, shown in rows:
                cell = sheet.cell(row, column, value)
                cell.style = style
                cell.number_format = shown
        bare.save(folder / "bare.xlsx")

    return ours, median(dump, 3)


def finishing(study: Study, folder: Path) -> float:
    """The finishing pass as a share of writing the whole workbook."""
    values, path, spent = study.evaluate(), folder / "out.xlsx", []
    real = write.finish

    def timed(*args: object, **more: object) -> None:
        begun = time.perf_counter()
        real(*args, **more)  # type: ignore[arg-type]
        spent.append(time.perf_counter() - begun)

    write.finish = timed
    try:
        whole = median(lambda: write_workbook(study, values, path), 3)
    finally:
        write.finish = real
    return statistics.median(spent) / whole


def main() -> None:
    """Print every figure."""
    keep_to_one_core()
    print(f"roi --help, cold: {median(lambda: command('--help')):.2f} s (expected 0.2)")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        cold = median(lambda: command("compare", str(DEMO), "-o", str(folder / "a.xlsx")), 3)
        print(f"roi compare on the demo, cold: {cold:.2f} s (expected 3)")
        for words in ("breakeven", "sensitivity"):
            took = median(lambda words=words: command(words, str(DEMO)), 3)  # type: ignore[misc]
            print(f"roi {words} on the demo, cold: {took:.2f} s")
        study = build(read(DEMO))
        ours, bare = writing(study, folder)
        print(
            f"writing: {ours:.2f} s, bare dump of the same cells {bare:.2f} s, ratio {ours / bare:.2f} (expected 2 at most)"
        )
        print(f"finishing pass: {finishing(study, folder):.1%} of writing (expected 15 % at most)")
    switching.report(study, median)
    print(f"{len(cases(study, 1))} inputs varying")
    for count in (10_000, 100_000, 1_000_000):
        for method in study.methods:
            print(f"{count:>9,} cases, {method}: {million(study, method, count):.2f} s", flush=True)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory {peak:,.0f} MB (expected 500)")
    risk.main()


if __name__ == "__main__":
    main()
