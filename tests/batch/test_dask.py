"""A batch on a distributed engine: dask.distributed, installed for this test alone into a folder of its own.

Not part of an extra: where dask stands beside it, the library of units loads it at every start.
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.small_shop import SHOP

ROOT = Path(__file__).parents[2]
WANTED = "distributed>=2024.8"
SHOPS, SECONDS = 12, 240


@pytest.fixture(scope="module")
def engine(tmp_path_factory):
    """The folder that the engine is installed into."""
    folder = tmp_path_factory.mktemp("engine")
    got = subprocess.run(
        [
            sys.executable,
            "-m",
            "pip",
            "install",
            "-q",
            "--disable-pip-version-check",
            "--target",
            folder,
            WANTED,
        ],
        capture_output=True,
        text=True,
        timeout=SECONDS,
    )
    if got.returncode != 0:
        pytest.skip(f"dask.distributed can't be installed here: {got.stderr.strip().splitlines()[-1]}")
    return folder


def test_a_worker_killed_meanwhile_loses_nothing(engine, tmp_path):
    for number in range(SHOPS):
        shop = SHOP.replace("small = 300", f"small = {100 + 50 * number}")
        (tmp_path / f"shop_{number:02}.toml").write_text(shop)
    done = subprocess.run(
        [sys.executable, Path(__file__).with_name("on_dask.py"), tmp_path],
        env={**os.environ, "PYTHONPATH": f"{ROOT}{os.pathsep}{engine}"},
        capture_output=True,
        text=True,
        timeout=SECONDS,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith(f"{SHOPS} equal, worker "), done.stdout
