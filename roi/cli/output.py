"""Where results go: refused beforehand when they can't or mustn't be written, put in place when all are whole."""

from __future__ import annotations

import errno
import io
import json
import os
import tempfile
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import BinaryIO

from roi.scenario.files import inside, is_workbook, load_toml
from roi.scenario.problems import BadInput, Problem
from roi.scenario.words import spelled
from roi.workbook.in_place import put_in_place
from roi.workbook.made import now

Writer = Callable[[BinaryIO], object]
DATED = (".xlsx", ".html")  # results that say when they were made
_FULL = (errno.ENOSPC, errno.EFBIG, getattr(errno, "EDQUOT", errno.ENOSPC))


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
    """Why a result can't be written to a path: wrong ending, an input, read-only, no folder, no date."""
    where = f"{option} {path}"
    found = problem_of_date() if ending in DATED else []
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
    elif path.exists() and not path.is_file():
        found.append(Problem(where, "is a device or a pipe", "name a file"))
    elif not path.parent.is_dir():
        found.append(Problem(where, f"the folder {path.parent} does not exist", "make the folder first"))
    elif not os.access(path.parent, os.W_OK | os.X_OK):
        found.append(Problem(where, f"the folder {path.parent} is read-only", "write to another folder"))
    return found


def check_json(path: Path | None, scenario: Path) -> None:
    """Refuse a place for JSON before anything is reckoned, if one is named. Raises BadInput."""
    if path is not None and (problems := problems_of("--json", path, ".json", input_files(scenario))):
        raise BadInput(problems)


def problem_of_date() -> list[Problem]:
    """Why products can't say when they were made, said before anything is reckoned."""
    try:
        now()
    except BadInput as bad:
        return bad.problems
    return []


def write_all(results: Iterable[tuple[Path, Writer]], making: Path | None = None) -> None:
    """Make every result whole in memory, then put all in place: a failure leaves old files whole. Raises BadInput.

    making : a folder to make first where there is none; it is gone again when nothing could be written
    """
    whole: list[tuple[Path, bytes]] = []
    for here, writer in results:
        held = io.BytesIO()
        try:
            writer(held)
        except OSError as wrong:
            # Only the drafts of large sheets have touched a disk so far.
            mend = f"make room in {tempfile.tempdir or 'the folder of temporary files'}, or name another folder in TMPDIR"
            raise BadInput([_unwritten(here, wrong, mend)]) from None
        whole.append((here, held.getvalue()))
    try:
        put_in_place(whole, making)
    except OSError as wrong:
        here = Path(wrong.filename or ".")
        mend = f"no file can be made in the folder {here.parent}: write to another folder"
        if wrong.errno in _FULL:
            mend = "make room there, or write elsewhere"
        elif wrong.filename2 is not None:
            mend = "close it in the spreadsheet program, or whatever has it open, or write elsewhere"
        elif here == making:
            mend = "choose another folder"
        raise BadInput([_unwritten(here, wrong, mend)]) from None


def _unwritten(here: Path, wrong: OSError, mend: str) -> Problem:
    return Problem(str(here), f"can't be written: {wrong.strerror or wrong}", mend)


def text_writer(text: str) -> Writer:
    """What writes a text as UTF-8."""

    return lambda file: file.write(text.encode("utf-8"))


def json_writer(found: object) -> Writer:
    """What writes plain values as JSON. A number that is none is a fault of ours, and raises ValueError."""
    text = json.dumps(found, indent=2, ensure_ascii=False, allow_nan=False)
    return text_writer(spelled(text, "\\\\") + "\n")


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
