"""How time grows with the size of things: jobs, plate sizes, methods, years and cases, as rows of a table and as a plot.

Reckoning is reading, putting together and working one case; writing is the whole workbook. Cases are worked without writing.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from roi.engine.evaluate import BLOCK, Program
from roi.model.study import Study, build
from roi.scenario.scenario import read
from roi.workbook.write import write_workbook
from tests.benchmarks.logs import write_csv
from tests.benchmarks.measures import DEMO, median, seconds
from tests.small_shop import SHOP

JOBS = (1_000, 10_000, 100_000, 1_000_000)
SIZES = (1, 10, 50, 200)
METHODS = (2, 4, 7, 10)
YEARS = (5, 10, 20, 40)
CASES = (1_000, 10_000, 100_000)


@dataclass(frozen=True)
class Growth:
    """Median seconds by size of one thing, by what was done."""

    what: str
    sizes: tuple[int, ...]
    took: dict[str, list[float]]


def measured(study: Study, folder: Path) -> list[Growth]:
    """Every growth; `study` is the demo."""
    return [
        scenarios("forms in the log", JOBS, lambda n: with_forms(n, folder), writing=False),
        scenarios("plate sizes", SIZES, lambda n: small(folder, sizes=n)),
        scenarios("methods", METHODS, lambda n: small(folder, methods=n)),
        scenarios("years", YEARS, lambda n: small(folder, years=n)),
        Growth("cases", CASES, {"all lines of the demo's methods": [worked(study, n) for n in CASES]}),
    ]


def scenarios(what: str, sizes: tuple[int, ...], make: Callable[[int], Path], writing: bool = True) -> Growth:
    """Reckon a scenario of each size, and write its workbook."""
    took: dict[str, list[float]] = {"reckoning": []} | ({"writing": []} if writing else {})
    for size in sizes:
        path = make(size)
        study = build(read(path))
        values = study.evaluate()
        took["reckoning"].append(median(lambda path=path: build(read(path)).evaluate(), 3))  # type: ignore[misc]
        if writing:
            out = path.with_suffix(".xlsx")
            took["writing"].append(median(lambda: write_workbook(study, values, out), 1))  # noqa: B023
    return Growth(what, sizes, took)


def with_forms(count: int, folder: Path) -> Path:
    """The demo on a log of so many rows."""
    path = folder / "forms.toml"
    log = folder / f"log_{count}.csv"
    if not log.exists():
        write_csv(log, count)
    path.write_text(
        DEMO.read_text(encoding="utf-8").replace('"job_log.csv"', f'"{log.name}"'), encoding="utf-8"
    )
    return path


def small(folder: Path, sizes: int = 1, methods: int = 2, years: int = 7) -> Path:
    """The small shop with so many plate sizes, methods and years."""
    heads = "\n".join(f'size_{i} = "{330 + i} mm x {492 + i} mm"' for i in range(1, sizes))
    plates = "".join(f", size_{i} = {20 + i}" for i in range(1, sizes))
    further = "\n".join(f'[methods.line_{i}]\nuse = "direct"\nshort = "Line {i}"' for i in range(2, methods))
    text = SHOP.replace('small = "330 mm x 492 mm"', f'small = "330 mm x 492 mm"\n{heads}')
    text = text.replace("small = 300", f"small = 300{plates}")
    path = folder / f"small_{sizes}_{methods}_{years}.toml"
    path.write_text(f'{text}\n[money]\nhorizon = "{years} year"\n{further}\n', encoding="utf-8")
    return path


def worked(study: Study, count: int, seed: int = 7) -> float:
    """Seconds for the present costs of every method in so many cases, drawn evenly; drawing is not timed."""
    lines = [sheet.lines[row] for sheet in study.methods.values() for row in ("present", "present_full")]
    program, total = Program(study.book, lines), 0.0
    for start in range(0, count, BLOCK):
        drawn = cases(study, min(BLOCK, count - start), seed + start)
        total += median(lambda drawn=drawn: program.run(drawn), 1)  # type: ignore[misc]
    return total


def cases(study: Study, count: int, seed: int = 7) -> dict[str, np.ndarray]:
    """Every input that has a range, drawn evenly within it."""
    draw = np.random.default_rng(seed)
    used = study.book.inputs
    return {
        s.key: draw.uniform(s.low, s.high, count) * s.factor
        for s in study.scenario.inputs.values()
        if s.key in used and s.low < s.high and not s.whole
    }


def table(grown: list[Growth]) -> list[str]:
    """Lines of a Markdown table: a row for each thing and what was done, its sizes beside its seconds."""
    lines = ["| growing | done | seconds by size | a tenfold takes |", "| --- | --- | --- | --- |"]
    for growth in grown:
        for done, took in growth.took.items():
            by_size = ", ".join(f"{n:,}: {seconds(t)}" for n, t in zip(growth.sizes, took, strict=True))
            span = math.log10(growth.sizes[-1] / growth.sizes[0])
            tenfold = (took[-1] / took[0]) ** (1 / span)
            lines.append(f"| {growth.what} | {done} | {by_size} | {tenfold:.1f} times as long |")
    return lines


def plot(grown: list[Growth], path: Path) -> None:
    """One small drawing for each thing, both axes logarithmic, as SVG. The same figures give the same bytes."""
    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context({"svg.hashsalt": "growth", "svg.fonttype": "none", "font.size": 8}):
        figure = Figure(figsize=(10, 2.4), layout="constrained")
        for axes, growth in zip(figure.subplots(1, len(grown), sharey=True), grown, strict=True):
            for (done, took), look in zip(growth.took.items(), ("o-", "s--"), strict=False):
                axes.loglog(growth.sizes, took, look, label=done, markersize=3, linewidth=1)
            axes.set_title(growth.what, fontsize=8)
            axes.minorticks_off()
            axes.set_xticks(growth.sizes, [_short(n) for n in growth.sizes])
            axes.grid(True, linewidth=0.3)
            axes.legend(fontsize=6, frameon=False)
        figure.supylabel("seconds", fontsize=8)
        figure.savefig(path, format="svg", metadata={"Date": None, "Creator": None})


def _short(number: int) -> str:
    """1k, 10k, 1M: room on an axis is short."""
    for size, letter in ((1_000_000, "M"), (1_000, "k")):
        if number >= size:
            return f"{number // size}{letter}"
    return str(number)
