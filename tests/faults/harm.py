"""Orders for the driver that does harm to commands, and what tests look for afterwards."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

DRIVER = Path(__file__).with_name("driver.py")
ROOT = Path(__file__).parents[2]
EPOCH = "1790000000"  # 2026-09-21T14:13:20Z, by the date command
STALE = re.compile(r"\..*\.[0-9a-f]{8}\.part")
KILL, TERM, INT = int(signal.SIGKILL), int(signal.SIGTERM), int(signal.SIGINT)
ENDS = {KILL: -KILL, TERM: 128 + TERM, INT: 128 + INT}  # bash's manual: 128 and the signal's number
SMALL_TEMPLATE = 'schema = 1\n[workbook]\nsheets = [{ sheet = "Summary" }, { sheet = "Inputs" }]\n'


def carried_out(orders: list[dict[str, Any]], folder: Path) -> list[dict[str, Any]]:
    """The results of orders, run from a folder, with temporary files of the system in its `tmp`."""
    (folder / "tmp").mkdir(exist_ok=True)
    (folder / "tmp").chmod(0o777)
    env = {**os.environ, "PYTHONPATH": str(ROOT), "TMPDIR": str(folder / "tmp"), "OPENBLAS_NUM_THREADS": "1"}
    env |= {"SOURCE_DATE_EPOCH": EPOCH, "COLUMNS": "80"}
    done = subprocess.run(
        [sys.executable, DRIVER],
        input=json.dumps(orders),
        cwd=folder,
        env=env,
        capture_output=True,
        text=True,
        timeout=600,
    )
    assert done.returncode == 0, done.stderr
    found: list[dict[str, Any]] = json.loads(done.stdout)
    assert len(found) == len(orders)
    for one in found:
        assert "Traceback" not in one["err"] + one["out"], one
        assert "Exception ignored" not in one["err"], one
    return found


def files(folder: Path) -> dict[str, bytes]:
    """What lies in a folder, by name, the system's temporary files left out."""
    return {
        str(file.relative_to(folder)): file.read_bytes()
        for file in folder.rglob("*")
        if file.is_file() and "tmp" not in file.relative_to(folder).parts
    }


def clear(found: dict[str, Any], lines: int = 3) -> str:
    """What a failed command said on stderr, on one line; it must be short and say how to mend it."""
    said = found["err"].strip()
    assert found["code"] == 2, found
    assert "mend: " in said and said.endswith("1 problem to mend."), said
    assert len(re.sub(r"/\S+", "", said)) < 100 * lines, said
    return " ".join(said.split())
