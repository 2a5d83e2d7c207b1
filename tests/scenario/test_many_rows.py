"""Logs of many rows: the same cells as the csv module gives row by row, memory held by distinct cells, progress told."""

import csv
import io
import random
import sys
import threading
import time
import tracemalloc

import pytest

from roi.cli.reading import Progress
from roi.scenario import tables
from roi.scenario.problems import BadInput
from roi.scenario.tables import read_table
from roi.scenario.telling import listening, tell

HEADER = ["Job", "Day", "Plates", "Note"]
WANTED = {"job": "Job", "plates": "Plates", "note": "Note"}
CELLS = ["", " ", "1", "1 ", "é", "a,b", 'q"q', "two\nlines", "=1+1", "\u00a0", "1;2"]


def read(path):
    return read_table(path, WANTED, sheet=None, where="[log]")


def plainly(path, delimiter):
    """(row number, job, plates, note, too long) of every row that isn't blank, one row after another."""
    found = []
    with path.open(encoding="utf-8-sig", newline="") as file:
        for number, row in enumerate(csv.reader(file, delimiter=delimiter), start=1):
            if number > 1 and any(cell.strip() for cell in row):
                job, _, plates, note = [*row, "", "", "", ""][:4]
                found.append((number, job, plates, note, any(cell.strip() for cell in row[4:])))
    return found


@pytest.mark.parametrize("seed", range(12))
def test_a_dirty_table_reads_as_the_csv_module_reads_it_row_by_row(tmp_path, seed):
    draw = random.Random(seed)
    count = draw.choice([1, tables.ROWS_AT_ONCE - 1, tables.ROWS_AT_ONCE, 2 * tables.ROWS_AT_ONCE + 1])
    dirt = draw.choice([0.0, 0.002, 0.3])
    rows = []
    for number in range(count):
        row = [f"{number}", "2025-01-02", draw.choice("1234"), draw.choice(CELLS)]
        if draw.random() < dirt:
            row = draw.choice([[], ["", " "], row[:2], [*row, ""], [*row, "x"], ["", *row[1:]], [" "] * 9])
        rows.append(row)
    delimiter = draw.choice(",;\t")
    path = tmp_path / "log.csv"
    with path.open("w", encoding=draw.choice(["utf-8", "utf-8-sig"]), newline="") as file:
        csv.writer(file, delimiter=delimiter).writerows([HEADER, *rows, ["last", "", "1", ""]])

    table = read(path)

    columns = [[table.columns[n].cells[code] for code in table.columns[n].codes] for n in WANTED]
    assert list(zip(table.rows.tolist(), *columns, table.too_long.tolist(), strict=True)) == plainly(
        path, delimiter
    )


def test_memory_goes_by_distinct_cells_and_not_by_the_file(tmp_path):
    path, rows = tmp_path / "log.csv", 25_000
    note = "a long remark that stands on every tenth row " * 8
    with path.open("w", newline="") as file:
        out = csv.writer(file)
        out.writerow(HEADER)
        out.writerows(["job", "2025-01-02", n % 4, note + str(n % 10)] for n in range(rows))
    tracemalloc.start()
    try:
        read(path)
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert path.stat().st_size > 350 * rows
    # 3 codes of 4 bytes, twice while they are put together, a row number of 8, and less than 5 MB that doesn't grow.
    assert most < (2 * (3 * 4 + 8) + 10) * rows + 5_000_000


def test_how_far_the_reading_is_gets_told_to_who_listens(tmp_path, monkeypatch):
    monkeypatch.setattr(tables, "ROWS_TOLD", 1000)
    path = tmp_path / "log.csv"
    path.write_text("Job,Day,Plates,Note\n" + "1,2025-01-02,2,\n" * 2_600)
    heard = []
    with listening(heard.append):
        read(path)
        other = threading.Thread(target=tell, args=("another thread's",))
        other.start()
        other.join()
    read(path)
    assert heard == ["Reading log.csv, row 1,001", "Reading log.csv, row 2,001"]


def test_the_command_line_shows_what_is_told_at_a_terminal(monkeypatch):
    class Terminal(io.StringIO):
        def isatty(self):
            return True

    shown = Terminal()
    monkeypatch.setattr(sys, "stderr", shown)
    with Progress(patience=0):
        deadline = time.monotonic() + 10
        while not shown.getvalue() and time.monotonic() < deadline:
            time.sleep(0.01)
        tell("Reading jobs.xlsx, row 5,001")
    assert "\rReading jobs.xlsx, row 5,001 ..." in shown.getvalue()
    monkeypatch.setattr(sys, "stderr", quiet := io.StringIO())
    with Progress(patience=0):
        tell("Reading jobs.xlsx, row 5,001")
    assert quiet.getvalue() == ""


def test_letters_are_told_apart_wherever_a_block_ends(tmp_path, monkeypatch):
    monkeypatch.setattr(tables, "BYTES_AT_ONCE", 5)
    path = tmp_path / "log.csv"
    text = "Job,Day,Plates,Note\n" + "é,,1,ééé\n" * 9
    path.write_bytes(text.encode())
    assert read(path).columns["note"].cells == ("ééé",) and read(path).notes == ()
    path.write_bytes(text.encode("cp1252"))
    assert read(path).columns["note"].cells == ("ééé",) and "Windows-1252" in read(path).notes[0]
    path.write_bytes(text.encode("cp1252") + b"\x81,,1,\n")
    with pytest.raises(BadInput, match=r"log\.csv, line 11: has bytes that are no text"):
        read(path)


@pytest.mark.parametrize(
    "text",
    [
        "Job;Day;Plates;Note\r7;;2;x\r",  # lines end as they did on old machines
        "\nJob;Day;Plates;Note\n7;;2;x\n",  # a blank line doesn't choose the separator
    ],
)
def test_odd_beginnings_and_line_ends_are_read(tmp_path, text):
    path = tmp_path / "log.csv"
    path.write_bytes(text.encode())
    assert [read(path).columns[name].cells for name in WANTED] == [("7",), ("2",), ("x",)]
