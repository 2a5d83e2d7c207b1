"""Every extreme shop in full: `python -m tests.extremes` runs all commands on each and recalculates whole workbooks.

Prints what took how long and every fault: a figure that is no number, a crash, a difference between the engine and IronCalc or
LibreOffice. Then 200 shops with many inputs at their limits. Exits 1 when it finds any. With names of shops after
it only those. Takes some twenty minutes on one core.
"""

from __future__ import annotations

import re
import sys
import tempfile
import time
from pathlib import Path

from click.testing import CliRunner

from roi.cli import main as roi
from roi.model.study import build
from roi.scenario.scenario import read
from roi.workbook.write import write_workbook
from tests.extremes.limits import at_limits, faults_at_limits
from tests.extremes.shops import extremes, many_methods, many_sizes, money
from tests.extremes.test_extremes import NO_NUMBER
from tests.parity.recalculate import differences, ironcalc_values, libreoffice_missing, libreoffice_values

DRAWS = 200
COMMANDS = (
    ("check",), ("compare", "-o", "out.xlsx", "--json", "out.json"), ("brief", "-o", "out.html"),
    ("budget", "--year", f"{time.localtime().tm_year + 1}", "-o", "budget.xlsx"), ("explain", "direct.Present cost"),
    ("breakeven",), ("sensitivity",), ("risk",), ("switching",), ("stress",), ("mix",), ("confirm",),
    ("claim", "pays back in 18 months"),
)  # fmt: skip


def main(wanted: list[str]) -> int:
    """Run it; the exit code."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shops = extremes(folder) | {
            "two hundred sizes": many_sizes(200),
            "ten methods over forty years": many_methods(10, money(horizon="40 year")),
        }
        faults, stored, paths = [], [], []
        for shop in [s for s in shops if not wanted or s in wanted]:
            path = shops[shop].write(folder / shop)
            began = time.process_time()
            faults += [f"{shop}: {fault}" for fault in _commands(path)]
            said = time.process_time() - began
            study = build(read(path))
            paths.append(path.parent / "whole.xlsx")
            stored.append(write_workbook(study, study.evaluate(), paths[-1]))
            found = differences(stored[-1], ironcalc_values(paths[-1]))
            faults += [f"{shop}, IronCalc: {fault}" for fault in found]
            print(
                f"{shop}: {sum(map(len, stored[-1].values())):,} formulas, commands {said:.1f} s", flush=True
            )
        if not wanted:
            faults += _at_limits(folder)
        if (why := libreoffice_missing()) is not None:
            print(why)
        else:
            # One at a time: in one batch they fill the memory.
            for path, results in zip(paths, stored, strict=True):
                found = differences(results, libreoffice_values([path])[0])
                faults += [f"{path.parent.name}, LibreOffice: {fault}" for fault in found]
    print(*faults or ["nothing found"], sep="\n")
    return 1 if faults else 0


def _at_limits(folder: Path) -> list[str]:
    """What goes wrong with shops whose inputs stand at their limits."""
    faults, refused = [], 0
    for seed in range(DRAWS):
        told, found = faults_at_limits(at_limits(seed).write(folder / f"limits {seed}"))
        faults += [f"at its limits, seed {seed}: {fault}" for fault in found]
        refused += told
    print(f"{DRAWS} shops with inputs at their limits: {refused} refused", flush=True)
    return faults


def _commands(path: Path) -> list[str]:
    """What goes wrong when each command reads the scenario."""
    faults = []
    for command, *more in COMMANDS:
        words = [
            str(path.parent / word) if word.endswith((".xlsx", ".json", ".html")) else word for word in more
        ]
        done = CliRunner().invoke(roi, [command, str(path), *words])
        said = done.output.replace(str(path.parent), "")
        if done.exit_code > (command == "check"):
            faults.append(f"{command}: exit {done.exit_code}, {done.exception!r}: {said[-300:]}")
        faults += [f"{command}: says {odd!r}" for odd in re.findall(NO_NUMBER, said)]
    return faults


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
