"""A small TOML file read so that each problem names its line, and all are told at once.

The TOML reader keeps no lines, so a problem's line is found again by looking for its table, key and value in the text.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Collection, Sequence
from pathlib import Path
from typing import Any

from roi.scenario.limits import parsed, read_whole
from roi.scenario.problems import BadInput, Problem
from roi.scenario.things import clean

LARGEST = 100_000  # bytes


class TomlLines:
    """The tables of a file, and the problems found in them so far."""

    def __init__(self, path: Path) -> None:
        self.file, self.folder = path.name, path.parent
        self.problems: list[Problem] = []
        text = _text_of(path)
        self.lines = text.splitlines()
        try:
            self.tree: dict[str, Any] = parsed(text)
        except (ValueError, RecursionError) as wrong:
            raise BadInput([self._syntax(wrong)]) from None

    def keys(self, table: str, known: Sequence[str]) -> None:
        """Note every key of a table ("" for the file itself) that isn't known."""
        for key in self.table(table) if table else self.tree:
            if key not in known:
                mend = meant(key, known) or f"known here: {', '.join(known)}"
                self.wrong(table, key, "is not a key known here", mend)

    def table(self, name: str) -> dict[str, Any]:
        """A table as stated; empty where it is left out or none, the latter noted once."""
        found = self.tree.get(name, {})
        if isinstance(found, dict):
            return found
        self.wrong("", name, "is not a table", f"write [{name}] on a line of its own, and its keys below")
        self.tree[name] = {}
        return {}

    def listed(self, table: str, key: str) -> list[Any] | None:
        """A list as stated; None where it is left out or none, the latter noted."""
        value = self.table(table).get(key)
        if value is None or isinstance(value, list):
            return value
        self.wrong(table, key, "is not a list", f"write {key} = [ ... ]")
        return None

    def wrong(self, table: str, key: str, what: str, mend: str, value: object = None, times: int = 0) -> None:
        """Note a problem with a key, or with one text in it that stands there `times` times before."""
        line = line_of(self.lines, table, key, value if isinstance(value, str) else None, times)
        name = ".".join(part for part in (table, key) if part)
        where = f"{self.file}, line {line}, {name}" if line else f"{self.file}, {name}"
        self.problems.append(Problem(where, what, mend))

    def refuse(self) -> None:
        """Raise BadInput with every problem noted, by line, if there is one."""
        if self.problems:
            raise BadInput(sorted(self.problems, key=_line_number))

    def _syntax(self, wrong: Exception) -> Problem:
        found = re.search(r"at line (\d+), column (\d+)", str(wrong))
        # At its end the file lacks something, and the last line is the one to look at.
        number = int(found[1]) if found else len(self.lines)
        mend = "look for a missing quotation mark, comma, bracket or = sign there"
        return Problem(f"{self.file}, line {number}", f"is not TOML: {wrong}", mend)


def line_of(lines: Sequence[str], table: str, key: str, value: str | None = None, times: int = 0) -> int:
    """Number of the line where a key, or one value in it, stands: 0 where neither key nor table is found.

    `times` is how often the value stands there before the one meant.
    """
    name, inner = re.escape(key), "".join(re.escape(table) + r"\s*\.\s*" if table else "")
    here, start, head = "", 0, 0
    for number, line in enumerate(lines, 1):
        if header := re.match(r"\s*\[+\s*([\w. -]+?)\s*\]+\s*(?:#|$)", line):
            here = header[1]
            head = number if here == (table or key) and not head else head
            continue
        within = here == table and re.match(rf"""\s*["']?{name}["']?\s*=""", line)
        if within or (not here and table and re.match(rf"\s*{inner}{name}\s*=", line)):
            start = number
            break
        if here == f"{table}.{key}" and not start:
            start = number
            break
    if value is None or not (start or head):
        return start or head
    below = ["" if line.lstrip().startswith("#") else line for line in lines[(start or head) - 1 :]]
    # A heading may repeat the name of its sheet: looked at when the value stands nowhere else.
    bare = [re.sub(r"""\btitle\s*=\s*("[^"]*"|'[^']*')""", "", line) for line in below]
    for held, wanted in ((bare, (f'"{value}"', f"'{value}'")), (below, (value,))):
        before = times
        for number, line in enumerate(held, start or head):
            before -= sum(line.count(text) for text in wanted)
            if before < 0:
                return number
    return start or head


def _text_of(path: Path) -> str:
    """The text of a template's file. Raises BadInput with the reason it can't be had."""
    try:
        if path.stat().st_size > LARGEST:
            what = f"is larger than {LARGEST:,} bytes"
            raise BadInput([Problem(path.name, what, "it is to be a small text file")])
        return read_whole(path, LARGEST).decode("utf-8-sig")
    except FileNotFoundError:
        beside = [p.name for p in path.parent.glob("*.toml")] if path.parent.is_dir() else []
        mend = meant(path.name, beside) or "check the path"
        raise BadInput([Problem(str(path), "does not exist", mend)]) from None
    except UnicodeDecodeError as wrong:
        what = f"is not UTF-8 text (byte {wrong.start})"
        raise BadInput([Problem(path.name, what, "save it as UTF-8")]) from None
    except OSError as wrong:
        what = f"can't be read: {wrong.strerror or wrong}"
        raise BadInput([Problem(str(path), what, "name a .toml file that may be read")]) from None


def meant(name: str, known: Collection[str]) -> str:
    """Which of the known names was likely meant, as a question; empty where none is near."""
    by_letters = {other.casefold(): other for other in known}
    near = difflib.get_close_matches(name.casefold(), by_letters, 1)
    return f'was "{by_letters[near[0]]}" meant?' if near else ""


def short(value: object) -> str:
    """A value in quotation marks, cut to 40 characters."""
    text = clean(value)
    return f'"{text[:40]}..."' if len(text) > 40 else f'"{text}"'


def _line_number(problem: Problem) -> int:
    found = re.search(r", line (\d+)", problem.where)
    return int(found[1]) if found else 0
