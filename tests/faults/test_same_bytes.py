"""The same scenario gives the same bytes of every product, whatever differs around the program but SOURCE_DATE_EPOCH.

Outside reference: the files themselves, made twice; zipfile and the PNG standard (chunks tIME and tEXt) for dates and names.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from click.testing import CliRunner

from roi.cli import main
from tests.faults.harm import EPOCH, ROOT, files
from tests.small_shop import SHOP

MAKER = Path(__file__).with_name("make_products.py")
MINE = 'schema = 1\nuse = "direct"\n[stations.imager]\nhands_on = "2 min/plate"\n'
INPUTS = {
    "shop.toml": SHOP.replace("[methods.direct]", '[methods.direct]\nuse = "mine.toml"'),
    "other.toml": SHOP.replace("Invented shop", "Another invented shop"),
    "mine.toml": MINE,
    "look.toml": "schema = 1\n",
}
# Two ways a program may find itself: order of hashing, zone, language, folder, width of the screen.
AROUND = (
    {"PYTHONHASHSEED": "1", "TZ": "AAA+12", "LC_ALL": "C", "COLUMNS": "80", "OPENBLAS_NUM_THREADS": "1"},
    {"PYTHONHASHSEED": "4242", "TZ": "BBB-14", "LC_ALL": "C.UTF-8", "COLUMNS": "200", "LANG": "de_DE.UTF-8"},
)


@pytest.fixture(scope="module")
def twice(tmp_path_factory: pytest.TempPathFactory) -> list[dict[str, bytes]]:
    """All products, made in two folders whose files were put there in opposite order, from two current folders, at once."""
    started, outputs = [], []
    for number, around in enumerate(AROUND):
        folder = tmp_path_factory.mktemp(f"shop{number}" * (1 + number))
        for name, text in sorted(INPUTS.items(), reverse=bool(number)):
            (folder / name).write_text(text, encoding="utf-8")
            if number:
                (folder / f"beside {name}").write_text("not read", encoding="utf-8")
        env = {**os.environ, "PYTHONPATH": str(ROOT), "SOURCE_DATE_EPOCH": EPOCH, **around}
        command = [sys.executable, str(MAKER), str(folder)]
        where = folder if number else ROOT
        started.append(
            subprocess.Popen(command, env=env, cwd=where, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        )
        outputs.append(folder / "out")
    said = [process.communicate(timeout=600) for process in started]
    assert [process.returncode for process in started] == [0, 0], said
    return [files(folder) for folder in outputs]


def test_every_product_has_the_same_bytes(twice: list[dict[str, bytes]]) -> None:
    first, second = twice
    assert first.keys() == second.keys()
    kinds = {Path(name).suffix for name in first}
    assert kinds == {".xlsx", ".json", ".html", ".svg", ".png", ".toml"} and len(first) > 15
    assert [name for name in first if first[name] != second[name]] == []


def test_no_product_tells_the_day_or_the_machine(twice: list[dict[str, bytes]], tmp_path: Path) -> None:
    """Dates of a zip's members are the least that the format holds, 1980; documents say the stated moment."""
    for name, content in twice[0].items():
        if name.endswith(".xlsx"):
            (tmp_path / "book.xlsx").write_bytes(content)
            with zipfile.ZipFile(tmp_path / "book.xlsx") as book:
                assert {member.date_time for member in book.infolist()} == {(1980, 1, 1, 0, 0, 0)}
                core = book.read("docProps/core.xml").decode()
            assert set(re.findall(r"\d{4}-\d\d-\d\dT[\d:]+Z", core)) == {"2026-09-21T14:13:20Z"}
        elif name.endswith(".png"):
            assert b"tIME" not in content and b"Software" not in content
        elif name.endswith((".html", ".svg", ".json")):
            assert str(ROOT).encode() not in content and b"matplotlib" not in content


def test_stored_results_have_thirteen_digits_at_most(twice: list[dict[str, bytes]], tmp_path: Path) -> None:
    """Machines differ in the last of sixteen."""
    (tmp_path / "book.xlsx").write_bytes(twice[0]["shop.xlsx"])
    longest = 0
    with zipfile.ZipFile(tmp_path / "book.xlsx") as book:
        for name in book.namelist():
            if name.startswith("xl/worksheets/sheet"):
                for number in re.findall(r"</f><v>(-?[\d.]+(?:e[-+]\d+)?)</v>", book.read(name).decode()):
                    digits = number.lstrip("-").split("e")[0].replace(".", "").strip("0")
                    longest = max(longest, len(digits))
    assert longest == 13


@pytest.mark.parametrize("stated", ["yesterday", "-5", "1.5", "²", "9" * 30])
def test_a_date_that_is_none_is_told(tmp_path: Path, stated: str) -> None:
    (tmp_path / "shop.toml").write_text(SHOP, encoding="utf-8")
    words = ["compare", str(tmp_path / "shop.toml"), "-o", str(tmp_path / "out.xlsx")]
    done = CliRunner().invoke(main, words, env={"SOURCE_DATE_EPOCH": stated})
    said = " ".join(done.stderr.split())
    assert done.exit_code == 2 and "SOURCE_DATE_EPOCH" in said and "mend: set it to such a number" in said
    assert "1 problem to mend." in said and not (tmp_path / "out.xlsx").exists()
