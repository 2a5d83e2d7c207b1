"""The sound files that mutants are made of: demonstrations cut short, the smallest shop, and what the program writes of them."""

from __future__ import annotations

import io
import tempfile
import tomllib
import zipfile
from functools import lru_cache
from pathlib import Path

from openpyxl import Workbook, load_workbook

from roi.model.study import build
from roi.scenario.scenario import read
from roi.workbook.write import write_input_book, write_workbook
from tests.fuzz.mutant import Base, Files
from tests.parity.recalculate import sheet_parts
from tests.small_shop import LEAN, SHOP

ROOT = Path(__file__).parents[2]
SCENARIOS = ROOT / "scenarios"
ROWS = 40  # of a demonstration's log

ANSWERS = {
    "name": "Invented shop", "today": "polyester", "plates": "10 in x 15 in: 220; 13 in x 19 3/8 in: 180",
    "runs": "48 40 9 3 0",
    "uncoated": "60 %", "price-now": "1.35; 2.20", "price-quoted": "2.70; 4.10", "chemistry": "1900",
    "quote": "18500", "years-left": "3",
}  # fmt: skip
# Numbers and optional tables of every kind, so that faults in them are met.
FULL = """
[money]
horizon = "7 year"
discount_rate = { best = "6 %/year", low = "4 %/year", high = "9 %/year", status = "estimate", source = "invented" }

[shop]
paper = { best = "0.05 USD/sheet", low = "0.03 USD/sheet", high = "0.08 USD/sheet" }
electricity = "0.18 USD/kWh"
work_days = "250 day/year"

[growth]
volume = "-2 %/year"

[leaving]
stock = "150 USD"

[methods.polyester.plates.price]
small = { best = "1.35 USD/plate", sure = "sure", status = "invoice", source = "invented", date = 2026-07-03 }

[methods.polyester.tasks.daily]
minutes = "12 min/day"

[methods.direct.plates.price]
small = "2.70 USD/plate"

[methods.direct.items.ink]
cost = "2.1 USD/m2"

[methods.direct.equipment.line]
price = { best = "18500 USD", sure = "about" }
contract = "900 USD/year"
"""
OWN_METHOD = """schema = 1
use = "direct"
label = "Own way"
short = "Own"

[plates.price]
small = "2.70 USD/plate"

[items.wash]
label = "Wash"
family = "consumables"
growth = "chemistry"
driver = "work day"
cost = "1.20 USD/day"

[equipment.line]
price = "12000 USD"
"""


def _full() -> str:
    return SHOP.replace("[methods.direct]\n", "") + FULL


@lru_cache(maxsize=1)
def scenarios() -> list[Base]:
    """Scenario files, each with the log and ledger it names."""
    ten = (SCENARIOS / "ten_answers" / "shop.toml").read_bytes()
    two = _two_press()
    room = _print_room()
    trade = {
        name: (SCENARIOS / "euro_trade" / name).read_bytes()
        for name in ("shop.toml", "busy.toml", "cautious.toml")
    }
    own = {
        "shop.toml": (SHOP + '\n[methods.own]\nuse = "own.toml"\n').encode(),
        "own.toml": OWN_METHOD.encode(),
    }
    return [
        Base("small", {"shop.toml": SHOP.encode()}, "shop.toml", "shop.toml"),
        Base("full", {"shop.toml": _full().encode()}, "shop.toml", "shop.toml"),
        Base("ten answers", {"shop.toml": ten}, "shop.toml", "shop.toml"),
        Base("two presses", two, "shop.toml", "shop.toml"),
        Base("print room", room, "shop.toml", "shop.toml"),
        Base("trade", trade, "shop.toml", "shop.toml"),
        Base("variant", trade, "busy.toml", "busy.toml"),
        Base("own method", own, "own.toml", "shop.toml"),
    ]


def _two_press() -> Files:
    text = (SCENARIOS / "us_two_press" / "shop.toml").read_bytes()
    lines = (SCENARIOS / "us_two_press" / "job_log.csv").read_bytes().splitlines(keepends=True)
    # Every ninetieth row: the whole year stays covered, and rows with mistakes are few.
    return {"shop.toml": text, "job_log.csv": b"".join([lines[0], *lines[1 : 1 + 90 * ROWS : 90]])}


def _print_room() -> Files:
    folder = SCENARIOS / "uk_print_room"
    book = load_workbook(folder / "job_log.xlsx", read_only=True)
    rows = list(book["Jobs"].iter_rows(values_only=True))
    book.close()
    short = Workbook()
    short.active.title = "Jobs"
    for row in [rows[0], *rows[1 : 1 + 50 * ROWS : 50]]:
        short.active.append(row)
    out = io.BytesIO()
    short.save(out)
    return {
        "shop.toml": (folder / "shop.toml").read_bytes(),
        "ledger.csv": (folder / "ledger.csv").read_bytes(),
        "job_log.xlsx": out.getvalue(),
    }


def _log() -> bytes:
    """A log all of whose rows are sound, on the smallest shop."""
    rows = ["Job,Form,Printed,Plates,Impressions,Stock,Ruling,Register,Rush"]
    for i in range(ROWS):
        day = f"2026-{i % 12 + 1:02}-{i % 28 + 1:02}"
        stock, ruling = ("coated", "bond", "")[i % 3], ("133", "150 lpi", "60/cm", "")[i % 4]
        rows.append(
            f"J{i // 2},{i % 2 + 1},{day},{i % 4 + 1},{250 * (i % 9 + 1)},{stock},{ruling},{'x' if i % 7 == 0 else ''},"
        )
    return ("\n".join(rows) + "\n").encode()


@lru_cache(maxsize=1)
def logs() -> list[Base]:
    """Job logs as CSV: refused at the first bad row, and with bad rows left out."""
    spec = (
        '\n[log]\nfile = "log.csv"\ndate_order = "year-first"\n{}\n[log.columns]\njob = "Job"\nform = "Form"\ndate = "Printed"\n'
        'plates = "Plates"\nimpressions = "Impressions"\nstock = "Stock"\nruling = "Ruling"\ntight = "Register"\nrush = "Rush"\n'
        '[log.words.stock]\nuncoated = ["bond"]\n'
    )
    shop = SHOP[: SHOP.index("[summary]")]
    found = []
    for name, more in (("refusing", ""), ("skipping", 'bad_rows = "skip"'), ("comma", 'decimal = "comma"')):
        files = {"shop.toml": (shop + spec.format(more)).encode(), "log.csv": _log()}
        found.append(Base(name, files, "log.csv", "shop.toml", {"number": 3, "date": 2, "jobs": True}))
    return found


@lru_cache(maxsize=1)
def log_books() -> list[Base]:
    """The same log as a workbook, every number and date as a spreadsheet holds it."""
    import datetime as dt

    book = Workbook()
    book.active.title = "Jobs"
    header, *rows = [line.split(",") for line in _log().decode().splitlines()]
    book.active.append(header)
    for job, form, day, plates, good, *rest in rows:
        book.active.append([job, int(form), dt.date.fromisoformat(day), int(plates), float(good), *rest])
    out = io.BytesIO()
    book.save(out)
    found = []
    for base in logs()[:2]:
        text = base.files["shop.toml"].replace(b"log.csv", b"log.xlsx")
        files = {"shop.toml": text, "log.xlsx": out.getvalue()}
        found.append(
            Base(base.name, files, "log.xlsx", "shop.toml", {"sheets": {"Jobs": "xl/worksheets/sheet1.xml"}})
        )
    return found


@lru_cache(maxsize=1)
def ledgers() -> list[Base]:
    """A ledger of the print room: [ledger] as it is there, and with bad rows left out."""
    room = {**_print_room()}
    skipping = room["shop.toml"].replace(b'file = "ledger.csv"', b'file = "ledger.csv"\nbad_rows = "skip"')
    notes = {"number": 3, "date": 0}
    return [
        Base("refusing", room, "ledger.csv", "shop.toml", notes),
        Base("skipping", {**room, "shop.toml": skipping}, "ledger.csv", "shop.toml", notes),
    ]


@lru_cache(maxsize=1)
def decisions() -> list[Base]:
    """Decision workbooks of the smallest shop, bare and with more stated."""
    found = []
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "book.xlsx"
        for kind, text in (("small", SHOP), ("full", _full())):
            (Path(name) / "shop.toml").write_text(text, "utf-8")
            study = build(read(Path(name) / "shop.toml"))
            write_workbook(study, study.evaluate(), path, LEAN)
            read_sheets = ("Inputs", "Scenario", "Forms", "Work", "Units")
            found.append(
                Base(
                    kind,
                    {"book.xlsx": path.read_bytes()},
                    "book.xlsx",
                    "book.xlsx",
                    _notes(path, read_sheets),
                )
            )
    return found


@lru_cache(maxsize=1)
def filled_in() -> list[Base]:
    """Workbooks to fill in: with answers, and with a job log pasted."""
    found = []
    sheets = ("Inputs", "Scenario", "Plates a month", "Job log", "Log columns")
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "shop.xlsx"
        write_input_book(ANSWERS, path)
        found.append(
            Base("answered", {"shop.xlsx": path.read_bytes()}, "shop.xlsx", "shop.xlsx", _notes(path, sheets))
        )
        book = load_workbook(path)
        for number in range(20):
            cells = [
                f"J{number}",
                f"2026-{number % 12 + 1:02}-10",
                None,
                ("small", "large")[number % 2],
                2,
                500 * (number + 1),
                133,
                "coated",
            ]
            for column, value in enumerate(cells, 1):
                book["Job log"].cell(6 + number, column).value = value
        sizes = {row[-1].value: row[1] for row in book["Log columns"].iter_rows() if row[-1].value}
        for key, words in (("log.words.size.small", "small"), ("log.words.size.large", "large")):
            sizes[key].value = words
        book.save(path)
        found.append(
            Base(
                "with a log", {"shop.xlsx": path.read_bytes()}, "shop.xlsx", "shop.xlsx", _notes(path, sheets)
            )
        )
    return found


def _notes(path: Path, sheets: tuple[str, ...]) -> dict[str, object]:
    """Which parts hold the sheets that are read, and the inputs: (sheet, cell, key, value) of each number under Value."""
    with zipfile.ZipFile(path) as package:
        parts = sheet_parts(package)
    book = load_workbook(path, read_only=True)
    rows = list(book["Inputs"].iter_rows())
    book.close()
    head = next(row for row in rows if any(cell.value == "Key" for cell in row))
    places = {str(cell.value): i for i, cell in enumerate(head) if cell.value}
    inputs = [
        (
            "Inputs",
            row[places["Value"]].coordinate,
            row[places["Key"]].value,
            float(row[places["Value"]].value),
        )
        for row in rows
        if len(row) > places["Key"]
        and row[places["Key"]].value
        and isinstance(row[places["Value"]].value, (int, float))
    ]
    return {"sheets": {name: parts[name] for name in sheets}, "inputs": inputs}


@lru_cache(maxsize=1)
def templates() -> list[Base]:
    """The shipped templates."""
    folder = ROOT / "workbook_templates"
    return [Base(p.stem, {p.name: p.read_bytes()}, p.name, p.name) for p in sorted(folder.glob("*.toml"))]


@lru_cache(maxsize=1)
def languages() -> list[Base]:
    """A sixtieth of the shipped language, with its numbers and pieces."""
    text = (ROOT / "roi" / "data" / "languages" / "de.toml").read_text("utf-8")
    lines = text.splitlines(keepends=True)
    short = "".join(line for i, line in enumerate(lines) if i < 30 or line.startswith("[") or i % 60 == 0)
    tomllib.loads(short)
    return [Base("short", {"words.toml": short.encode()}, "words.toml", "words.toml")]
