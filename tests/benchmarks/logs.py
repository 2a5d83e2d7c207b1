"""Speed and memory of reading job logs: the demo's rows again and again under new job numbers, as CSV and XLSX."""

from __future__ import annotations

import csv
import datetime as dt
import tomllib
from itertools import islice
from pathlib import Path

from openpyxl import Workbook

from roi.scenario.joblog import read_log
from tests.benchmarks.measures import DEMO, Row, alone, median, peak, seconds

CSV_ROWS = (10_000, 100_000, 1_000_000)
XLSX_ROWS = 100_000


def rows(folder: Path) -> list[Row]:
    """Write the logs and read them, each size in a process of its own."""
    found = []
    for count in CSV_ROWS:
        path = write_csv(folder / f"log_{count}.csv", count)
        took, held = alone(reading, path, 3)
        beside = "3 s wanted" if count == max(CSV_ROWS) else ""
        found.append(Row(f"job log, {count:,} CSV rows", seconds(took), _beside(held, beside)))
    path = write_xlsx(folder / "log.xlsx", folder / f"log_{XLSX_ROWS}.csv")
    took, held = alone(reading, path, 1)
    found.append(
        Row(f"job log, {XLSX_ROWS:,} XLSX rows", seconds(took), _beside(held, "rows are told meanwhile"))
    )
    return found


def _beside(held: float, more: str) -> str:
    return "; ".join(filter(None, [more, f"{held:,.0f} MB held at most"]))


def reading(path: Path, times: int) -> tuple[float, float]:
    """Median seconds of reading a log as the demo describes its own, and the most memory held in MB."""
    demo = tomllib.loads(DEMO.read_text(encoding="utf-8"))
    spec = {**demo["log"], "file": path.name}
    units = {name: press["printing_units"] for name, press in demo["presses"].items()}
    took = median(lambda: read_log(spec, path.parent, units, list(demo["sizes"])), times)
    return took, peak()


def demo_rows() -> list[list[str]]:
    """The demo's log, its header first."""
    with (DEMO.parent / "job_log.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


def write_csv(path: Path, count: int) -> Path:
    """A log of `count` rows, no job number twice but within a job."""
    header, *body = demo_rows()
    with path.open("w", encoding="utf-8", newline="") as file:
        out = csv.writer(file)
        out.writerow(header)
        for number in range(count):
            round_, place = divmod(number, len(body))
            job, *rest = body[place]
            out.writerow([f"{job}-{round_}" if round_ else job, *rest])
    return path


def write_xlsx(path: Path, source: Path) -> Path:
    """The rows of a CSV log as a workbook, with real numbers and dates."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet("Jobs")
    with source.open(encoding="utf-8", newline="") as file:
        lines = csv.reader(file)
        sheet.append(next(lines))
        for line in islice(lines, XLSX_ROWS):
            sheet.append([_typed(cell) for cell in line])
    book.save(path)
    return path


def _typed(cell: str) -> object:
    if cell.isdecimal():
        return int(cell)
    try:
        return dt.datetime.strptime(cell, "%m/%d/%Y")
    except ValueError:
        return cell or None
