"""Every command that writes, stopped at any moment, on a full disk, beside another run: old files whole or new files whole.

Outside reference: the operating system; a run that nobody disturbs gives the bytes that a whole file has.
"""

from __future__ import annotations

import json
import os
import random
import re
import subprocess
import sys
import zipfile
from pathlib import Path
from typing import Any

import pytest

from roi.cli.stopping import TOLD
from tests.faults.harm import ENDS, INT, KILL, ROOT, SMALL_TEMPLATE, STALE, TERM, carried_out, clear, files
from tests.small_shop import SHOP

MOMENTS = 6
LEDGER = "\n[ledger]\nfrom = 2026-01-01\nto = 2026-12-31\n[ledger.accounts]\n5010 = 'consumables.plates'\n"
BOOKS = "date,account,supplier,amount\n2026-03-01,5010,invented supplier,900\n"

# What each command writes; in a folder that has shop.toml, other.toml, lean.toml and ledger.csv.
COMMANDS: dict[str, tuple[list[str], list[str]]] = {
    "compare": (
        ["compare", "shop.toml", "-o", "out.xlsx", "--json", "out.json", "--template", "lean.toml"],
        ["out.xlsx", "out.json"],
    ),
    "budget": (["budget", "shop.toml", "--year", "2027", "-o", "budget.xlsx"], ["budget.xlsx"]),
    "brief": (["brief", "shop.toml", "-o", "page.html", "--charts", "charts"], ["page.html"]),
    "new": (["new", "fresh", "--no-ask", "--workbook"], []),
    "reconcile": (["reconcile", "shop.toml", "ledger.csv", "--json", "books.json"], ["books.json"]),
    "side_by_side": (["compare", "shop.toml", "other.toml", "--json", "both.json"], ["both.json"]),
}

FULL = ("compare", "brief", "new")  # a workbook; a page and a folder of charts; a folder


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with the inputs of all commands."""
    (tmp_path / "shop.toml").write_text(SHOP + LEDGER)
    (tmp_path / "other.toml").write_text(SHOP.replace("Invented shop", "Another invented shop") + LEDGER)
    (tmp_path / "lean.toml").write_text(SMALL_TEMPLATE)
    (tmp_path / "ledger.csv").write_text(BOOKS)
    return tmp_path


def test_compare_killed_at_moments_all_over_its_run(folder: Path) -> None:
    """Old files first. After each signal both are whole; but for a kill both are of one run, and nothing else lies anywhere."""
    words, outputs = COMMANDS["compare"]
    inputs = files(folder)
    old = {name: b"old " + name.encode() for name in outputs}
    draw = random.Random(20261125)
    orders: list[dict[str, Any]] = [{"words": words}]
    for n in range(MOMENTS):
        here = folder / str(n)
        (here / "tmp").mkdir(parents=True)
        for name, text in (inputs | old).items():
            (here / name).write_bytes(text)
        part = draw.uniform(0.0, 1.1)
        orders.append({"words": words, "cwd": str(here), "signal": (KILL, TERM, INT)[n % 3], "part": part})
    undisturbed, *results = carried_out(orders, folder)
    assert undisturbed["code"] == 0, undisturbed
    new = {name: (folder / name).read_bytes() for name in outputs}
    ended = 0
    for order, found in zip(orders[1:], results, strict=True):
        here = Path(order["cwd"])
        there = files(here)
        # Before and after its own work a command meets a signal as any program does.
        assert found["code"] in (0, ENDS[order["signal"]], -order["signal"]), found
        ended += found["code"] != 0
        stale = {name for name in there if STALE.fullmatch(name)}
        assert there.keys() - stale == inputs.keys() | set(outputs)
        assert all(there[name] in (old[name], new[name]) for name in outputs)
        if order["signal"] != KILL:
            assert not stale and list((here / "tmp").iterdir()) == []
            assert len({there[name] == new[name] for name in outputs}) == 1
            assert found["code"] <= 0 or found["err"].endswith("the old one or the new one, whole.\n")
        assert {name: text for name, text in there.items() if name in inputs} == inputs
    assert ended >= MOMENTS // 2


def test_every_command_on_a_full_disk_or_stopped_on_its_way(folder: Path) -> None:
    """A file may have few bytes, in the three that write in ways of their own; in the others Ctrl-C after the first tenth of a
    second of reckoning. Nothing changes, and all is told."""
    for _, outputs in COMMANDS.values():
        for name in outputs:
            (folder / name).write_bytes(b"old")
    before = files(folder)
    orders: list[dict[str, Any]] = [
        {"words": words} | ({"limit": 3000} if name in FULL else {"signal": INT, "after": 0.1})
        for name, (words, _) in COMMANDS.items()
    ]
    for order, found in zip(orders, carried_out(orders, folder), strict=True):
        if "limit" in order:
            assert "File too large" in clear(found)
        else:
            assert found["code"] == 130 and found["err"].strip().startswith("Stopped."), found
            assert found["out"] == ""
    assert files(folder) == before
    assert list((folder / "tmp").iterdir()) == []
    assert not (folder / "charts").exists() and not (folder / "fresh").exists()


def test_two_runs_on_one_output_leave_one_of_the_two(folder: Path) -> None:
    words, _ = COMMANDS["compare"]
    other = ["other.toml" if word == "shop.toml" else word for word in words]
    results = carried_out([{"words": words, "beside": True}, {"words": other}], folder)
    assert [found["code"] for found in results] == [0, 0], results
    names = ("Invented shop", "Another invented shop")
    assert json.loads((folder / "out.json").read_text())["scenario"] in names
    with zipfile.ZipFile(folder / "out.xlsx") as book:
        assert book.testzip() is None
        title = re.findall("<dc:title[^>]*>(.*?)</dc:title>", book.read("docProps/core.xml").decode())
    assert len(title) == 1 and title[0].startswith(names)
    assert not [name for name in files(folder) if STALE.fullmatch(name)]


def test_ctrl_c_where_an_answer_is_awaited(folder: Path) -> None:
    before = files(folder)
    (found,) = carried_out([{"words": ["new", "fresh"], "terminal": True, "signal": INT}], folder)
    assert found["code"] == 130 and "Stopped." in found["out"] and "Aborted" not in found["out"]
    assert files(folder) == before and not (folder / "fresh").exists()


def test_what_is_no_place_for_a_result_is_refused_before_anything_is_reckoned(folder: Path) -> None:
    (folder / "book.xlsx").mkdir()
    os.mkfifo(folder / "pipe.xlsx")
    (folder / "mine.html").symlink_to("shop.toml")
    before = sorted(files(folder))
    orders = [
        {"words": ["compare", "shop.toml", "-o", "book.xlsx"]},
        {"words": ["budget", "shop.toml", "--year", "2027", "-o", "pipe.xlsx"]},
        {"words": ["compare", "shop.toml", "-o", "none/out.xlsx"]},
        {"words": ["brief", "shop.toml", "-o", "mine.html"]},
        {"words": ["compare", "shop.toml", "other.toml", "-o", "shop.toml"]},
        {"words": ["reconcile", "shop.toml", "ledger.csv", "--json", "ledger.csv"]},
    ]
    says = ["is a folder", "is a device or a pipe", "does not exist", "is a file the scenario is read from"]
    for words, found in zip([*says, "is a file", "is a file"], carried_out(orders, folder), strict=True):
        assert found["code"] == 2 and words in " ".join(found["err"].split()), found
    assert sorted(files(folder)) == before


@pytest.mark.parametrize("then", ["time.sleep(20)", "os.read(os.pipe()[0], 1)"])
def test_ctrl_c_met_while_an_object_is_taken_away_ends_the_command_all_the_same(then: str) -> None:
    """Nothing can be raised out of __del__: Python prints what was met there and goes on, here to wait for something."""
    code = f"""
import os, time
from click.exceptions import Exit
from roi.cli.stopping import told_when_stopped

class Left:
    def __del__(self):
        raise KeyboardInterrupt

try:
    with told_when_stopped():
        Left()
        {then}
        print("went on")
except Exit as ended:
    print(ended.exit_code)
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, timeout=60)
    assert done.stdout == "130\n" and done.stderr.strip() == TOLD
