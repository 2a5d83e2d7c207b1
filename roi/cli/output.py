"""Where results go: refused beforehand when they can't or mustn't be written, moved into place when whole."""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from roi.scenario.files import inside, is_workbook, load_toml
from roi.scenario.problems import BadInput, Problem

Writer = Callable[[Path], object]


def input_files(scenario: Path) -> list[Path]:
    """Every file a scenario is read from: itself, what it is based on, its method files, its job log and its ledger."""
    if is_workbook(scenario):
        return [scenario.resolve()]
    found: list[Path] = []
    here: Path | None = scenario
    while here is not None and here.resolve() not in found:
        tree = load_toml(here)
        found.append(here.resolve())
        methods = tree.get("methods")
        for name in ("log", "ledger"):
            table = tree.get(name)
            if isinstance(table, dict) and "file" in table:
                found.append(inside(here.parent, table["file"], f"{here.name}, {name}.file"))
        for name, method in methods.items() if isinstance(methods, dict) else ():
            use = method.get("use") if isinstance(method, dict) else None
            if isinstance(use, str) and use.endswith(".toml"):
                found.append(inside(scenario.parent, use, f"{here.name}, methods.{name}.use"))
        base = tree.get("based_on")
        here = inside(here.parent, base, f"{here.name}, based_on") if base is not None else None
    return found


def problems_of(option: str, path: Path, ending: str, inputs: Iterable[Path]) -> list[Problem]:
    """Why a result can't be written to a path: wrong ending, an input, read-only, no folder."""
    where = f"{option} {path}"
    found = []
    if path.suffix.lower() != ending:
        found.append(
            Problem(
                where,
                f"does not end in {ending}",
                f"write {option} {path.with_suffix(ending) if path.name else 'NAME' + ending}",
            )
        )
    if any(_same(path, other) for other in inputs):
        found.append(Problem(where, "is a file the scenario is read from", "give the result another name"))
    elif path.is_dir():
        found.append(Problem(where, "is a folder", "name a file in it"))
    elif path.exists() and not _writable(path):
        found.append(
            Problem(where, "is read-only", "give the result another name, or allow writing to the file")
        )
    elif not path.parent.is_dir():
        found.append(Problem(where, f"the folder {path.parent} does not exist", "make the folder first"))
    return found


def check_json(path: Path | None, scenario: Path) -> None:
    """Refuse a place for JSON before anything is reckoned, if one is named. Raises BadInput."""
    if path is not None and (problems := problems_of("--json", path, ".json", input_files(scenario))):
        raise BadInput(problems)


def write_all(results: Iterable[tuple[Path, Writer]]) -> None:
    """Write every result aside, then move all in place: a failure leaves old files whole. Raises BadInput."""
    made: list[tuple[Path, Path]] = []
    folders: list[tempfile.TemporaryDirectory[str]] = []
    here, mend = Path(), "write elsewhere"
    try:
        for here, writer in results:
            # In a folder of its own, the file gets the permissions any new file of the user's has.
            mend = f"no file can be made in the folder {here.parent}: write to another folder"
            folders.append(
                tempfile.TemporaryDirectory(dir=here.parent, prefix=".roi-", ignore_cleanup_errors=True)
            )
            mend = "make room there, or write elsewhere"
            draft = Path(folders[-1].name) / here.name
            writer(draft)
            made.append((draft, here))
        mend = "close it in other programs, or write elsewhere"
        for draft, here in made:
            os.replace(draft, here)
    except OSError as wrong:
        what = f"can't be written: {wrong.strerror or wrong}"
        raise BadInput([Problem(str(here), what, mend)]) from None
    finally:
        for folder in folders:
            folder.cleanup()


def text_writer(text: str) -> Writer:
    """What writes a text as UTF-8."""

    def write(path: Path) -> Any:
        return path.write_text(text, encoding="utf-8")

    return write


def json_writer(found: object) -> Writer:
    """What writes plain values as JSON. A number that is none is a fault of ours, and raises ValueError."""
    return text_writer(json.dumps(found, indent=2, ensure_ascii=False, allow_nan=False) + "\n")


def write_json(path: Path, found: object) -> None:
    """Write one result as JSON. Raises BadInput."""
    write_all([(path, json_writer(found))])


def _same(path: Path, other: Path) -> bool:
    if path.resolve() == other:
        return True
    return path.exists() and other.exists() and path.samefile(other)


def _writable(path: Path) -> bool:
    # An administrator may write to anything; the mark on the file still says that somebody wants it kept.
    return os.access(path, os.W_OK) and bool(path.stat().st_mode & 0o222)
