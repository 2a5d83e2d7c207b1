"""Imports point downward only, and the command line starts without its heavy libraries."""

import ast
from pathlib import Path

import pytest

import roi

PACKAGE = Path(roi.__file__).parent
ROOMS = [
    "data",
    "units",
    "engine",
    "scenario",
    "model",
    "answers",
    "workbook",
    "page",
    "batch",  # a module of its own
    "cli",
]  # the lowest first
HEAVY = {"numpy", "numpy_financial", "openpyxl", "pint", "matplotlib", "jinja2"}
COMMANDS = PACKAGE / "cli" / "__init__.py"


def imported(statement, package):
    """Full names of the modules that an import statement asks for; `package` is the one it stands in."""
    if isinstance(statement, ast.Import):
        return [name.name for name in statement.names]
    if isinstance(statement, ast.ImportFrom):
        parents = package.split(".")
        base = ".".join(parents[: len(parents) - statement.level + 1]) if statement.level else ""
        module = ".".join(part for part in (base, statement.module) if part)
        # "from roi import cli" asks for a room as much as "import roi.cli" does.
        return [f"{module}.{name.name}" for name in statement.names]
    return []


def upward_imports(folder):
    """Every import of a higher room below `folder`, as "file:line: room imports module"."""
    found = []
    for file in sorted(folder.rglob("*.py")):
        inside = file.relative_to(folder)
        which = inside.parts[0].removesuffix(".py")
        if which not in ROOMS:
            continue
        room = ROOMS.index(which)
        package = ".".join(("roi", *inside.parent.parts))
        for statement in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            for name in imported(statement, package):
                parts = name.split(".")
                if parts[0] == "roi" and len(parts) > 1 and parts[1] in ROOMS[room + 1 :]:
                    found.append(f"roi/{inside.as_posix()}:{statement.lineno}: {ROOMS[room]} imports {name}")
    return found


def run_when_imported(tree):
    """Statements of a module outside functions: those that run when it is imported."""
    todo = list(tree.body)
    while todo:
        statement = todo.pop()
        yield statement
        if not isinstance(statement, ast.FunctionDef | ast.AsyncFunctionDef):
            todo.extend(child for child in ast.iter_child_nodes(statement) if isinstance(child, ast.stmt))


def test_imports_point_downward():
    assert upward_imports(PACKAGE) == []


def test_every_room_is_known():
    rooms = {folder.name for folder in PACKAGE.iterdir() if (folder / "__init__.py").exists()}
    rooms |= {file.stem for file in PACKAGE.glob("*.py")} - {"__init__", "__main__"}
    assert rooms == set(ROOMS)


@pytest.mark.parametrize(
    "text",
    [
        "import roi.workbook.finish",
        "from roi.workbook import finish",
        "from roi.workbook.finish import finish",
        "from roi import workbook",
        "from ..workbook import finish",
        "from .. import workbook",
        "def late():\n    import roi.workbook",
    ],
)
def test_the_check_sees_an_upward_import(tmp_path, text):
    (tmp_path / "model").mkdir()
    (tmp_path / "model" / "wrong.py").write_text(text)
    (found,) = upward_imports(tmp_path)
    assert found.startswith("roi/model/wrong.py:") and ": model imports roi.workbook" in found


@pytest.mark.parametrize(
    "text", ["import roi", "from roi import __version__", "from . import other", "import numpy"]
)
def test_the_check_lets_others_pass(tmp_path, text):
    (tmp_path / "model").mkdir()
    (tmp_path / "model" / "right.py").write_text(text)
    assert upward_imports(tmp_path) == []


@pytest.mark.skipif(not COMMANDS.read_text().strip(), reason="roi/cli/__init__.py has no code yet")
def test_the_command_line_starts_without_heavy_libraries():
    tree = ast.parse(COMMANDS.read_text(encoding="utf-8"))
    names = [name for statement in run_when_imported(tree) for name in imported(statement, "roi.cli")]
    assert names
    assert HEAVY.isdisjoint(name.split(".")[0] for name in names)
