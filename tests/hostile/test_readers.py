"""Files from outside are opened by the two modules that hold the limits alone; SECURITY.md tells those limits and the tests."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

import roi
from roi.scenario import files, limits, package
from roi.units import quantity
from roi.workbook import logo, read_cells, read_language, toml_lines

PACKAGE = Path(roi.__file__).parent
HERE = Path(__file__).parent
PAGE = HERE.parents[1] / "SECURITY.md"
# What opens or evaluates, and where it may stand: on what comes with the package, or on what this program has just made.
ALLOWED = {
    "load_workbook": set(),
    "ExcelReader": {"scenario/package.py"},
    "ZipFile": {"scenario/package.py", "workbook/finish.py", "workbook/write.py"},
    "read_bytes": set(),
    "loads": {
        "scenario/limits.py", "scenario/catalogue.py", "workbook/input_rows.py", "workbook/kept.py", "workbook/read_kept.py",
    },
    "eval": set(), "exec": set(), "compile": set(), "__import__": set(), "system": set(), "Popen": set(), "urlopen": set(),
}  # fmt: skip
FORBIDDEN = {
    "socket",
    "urllib",
    "http",
    "requests",
    "ftplib",
    "smtplib",
    "pickle",
    "marshal",
    "shelve",
    "subprocess",
    "ctypes",
}


def calls(tree: ast.AST) -> set[str]:
    """Names of functions that are called bare or on a module; `re.compile` is the pattern's, not Python's."""
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            function = node.func
            if isinstance(function, ast.Name):
                found.add(function.id)
            elif isinstance(function, ast.Attribute) and ast.unparse(function) != "re.compile":
                found.add(function.attr)
    return found


def test_files_from_outside_are_opened_in_two_places() -> None:
    wrong = []
    for path in sorted(PACKAGE.rglob("*.py")):
        name = path.relative_to(PACKAGE).as_posix()
        tree = ast.parse(path.read_text("utf-8"))
        wrong += [
            f"{name} calls {called}" for called in calls(tree) & ALLOWED.keys() if name not in ALLOWED[called]
        ]
        for node in ast.walk(tree):
            modules = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            modules += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            wrong += [f"{name} imports {m}" for m in modules if m.partition(".")[0] in FORBIDDEN]
    assert wrong == []


def test_the_check_sees_what_it_looks_for() -> None:
    tree = ast.parse(
        "import re\nx = re.compile('a')\ny = path.read_bytes()\nz = openpyxl.load_workbook(p)\neval('1')"
    )
    assert calls(tree) == {"read_bytes", "load_workbook", "eval"}


@pytest.mark.parametrize(
    "told",
    [
        f"file {limits.LARGEST_FILE // 1_000_000} MB",
        f"all parts {package.LARGEST_UNPACKED // 1_000_000_000} GB",
        f"above {package.STEEP_FROM // 1_000_000} MB {package.STEEPEST} times",
        f"taken whole {package.LARGEST_WHOLE // 1_000_000} MB",
        f"before the sheets {package.LARGEST_BEFORE_SHEETS // 1_000_000} MB",
        f"{package.MOST_PARTS:,} parts",
        f"{package.MOST_ROWS:,} rows ({read_cells.MOST_ROWS:,} of a workbook of this program)",
        f"{package.MOST_COLUMNS:,} columns, {package.MOST_CELLS // 1_000_000} million cells",
        f"a line {limits.LONGEST_LINE // 1_000_000} MB, a row {limits.MOST_LINES_A_ROW:,} lines",
        f"scenario and language {files.LARGEST // 1_000_000} MB, template {toml_lines.LARGEST // 1_000} KB",
        f"{limits.MOST_STATED:,} things in a TOML file, {files.DEEPEST} levels in a scenario",
        f"{limits.LONGEST_TEXT:,} characters in a text",
        f"quantity {quantity.LONGEST_NUMBER} characters, unit {quantity.LONGEST}",
        f"{logo.LARGEST // 1_000} KB, {logo.MOST_PIXELS:,} pixels a side",
    ],
)
def test_the_page_tells_the_limits_that_are_kept(told: str) -> None:
    assert told in PAGE.read_text("utf-8")


def test_a_language_may_be_as_large_as_a_scenario_and_elements_as_told() -> None:
    assert read_language.LARGEST == files.LARGEST
    assert package.MOST_ELEMENTS == 1_000_000 and "a million elements that are no cells" in PAGE.read_text(
        "utf-8"
    )


def test_the_page_tells_how_long_the_most_cells_take_as_its_own_figures_do() -> None:
    """5 to 16 s a million times the cells that are read, in minutes; and a full sheet of nine columns fits."""
    page = " ".join(PAGE.read_text("utf-8").split())
    told = re.search(
        r"takes (\d+) seconds a million cells of numbers, (\d+) of texts, (\d+) of texts made", page
    )
    assert told is not None
    least, _, most = (int(figure) * package.MOST_CELLS / 1e6 / 60 for figure in told.groups())
    assert (round(least), round(most)) == (1, 3)
    assert f"{package.MOST_CELLS // 1_000_000} million cells, the most, take one to three minutes" in page
    assert 9 * package.MOST_ROWS <= package.MOST_CELLS < 10 * package.MOST_ROWS


def test_every_test_the_page_names_is_there() -> None:
    tests = "\n".join(path.read_text("utf-8") for path in HERE.glob("test_*.py"))
    column = " ".join(
        line.rsplit("|", 2)[1] for line in PAGE.read_text("utf-8").splitlines() if line.startswith("| ")
    )
    names = re.findall(r"`(\w+)`", column)
    assert len(names) > 15
    for name in names:
        assert (
            (HERE / f"{name}.py").is_file() or name in ("tests",) or re.search(rf"def test_\w*{name}", tests)
        ), name
    for heading in re.findall(r"\*([^*]+)\*", column):
        assert f"\n# {heading}\n" in tests, heading
