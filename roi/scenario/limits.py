"""How large a file from outside may be, where it may lie, and reading one without trusting it.

Sizes are bytes, lengths characters. The limits are far above any shop's files, a job log of a million rows among them, and low
enough that a file made to do harm is refused in seconds. What a package (.xlsx) may hold is in `package`.
"""

from __future__ import annotations

import errno
import math
import os
import re
import stat
import tomllib
from pathlib import Path, PureWindowsPath
from typing import Any

LARGEST_FILE = 200_000_000  # of a log, ledger or workbook
LONGEST_LINE = 1_000_000  # of a log or ledger as text
MOST_LINES_A_ROW = 1_000  # that one row of a text file may run over, in quoted cells
LONGEST_TEXT = 5_000  # of a key or a text in a TOML file
MOST_STATED = 20_000  # keys and entries of lists in one TOML file
_LARGEST_WHOLE_NUMBER = 2**63  # TOML 1.0 asks for no larger ones
# A key of many parts takes the parser time that grows with their square; no file needs more than ten.
_MANY_PARTS = re.compile(
    r"""(?<![A-Za-z0-9_-])(?:(?:[A-Za-z0-9_-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){40}"""
)
# Names that stand for devices in any folder on some systems.
_DEVICES = re.compile(r"(?:con|prn|aux|nul|com[0-9]|lpt[0-9])(?:\..*)?", re.I)


def read_whole(path: Path, most: int) -> bytes:
    """A file's bytes. Raises OSError where it can't be read, is no plain file (a pipe would keep one waiting, a device never end)
    or is larger than `most`, whatever size it said it has.
    """
    with open(path, "rb", opener=_without_waiting) as file:
        if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
            raise OSError(errno.EINVAL, "it is a device or a pipe, not a file", str(path))
        content = file.read(most + 1)
    if len(content) > most:
        raise OSError(errno.EFBIG, f"it is larger than {most:,} bytes", str(path))
    return content


def _without_waiting(path: str, flags: int) -> int:
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))


def leaves(folder: Path, name: str) -> bool:
    """Whether a file's name leads out of a folder, by itself or by a link. A server is not asked."""
    return leads_out(name) or not (folder / name).resolve().is_relative_to(folder.resolve())


def leads_out(name: str) -> bool:
    """Whether a file's name leads out of any folder: by .., from the root, by a drive or server, or to a device.

    Names are judged by the rules of every system, since a file written on one is read on another.
    """
    strict = PureWindowsPath(name)
    return bool(
        strict.anchor or ".." in strict.parts or any(_DEVICES.fullmatch(part) for part in strict.parts)
    )


def parsed(text: str) -> dict[str, Any]:
    """The tree of a TOML text.

    Raises ValueError where it is none, or states what no scenario, template or language needs: more than MOST_STATED things,
    texts of more than LONGEST_TEXT characters, numbers beyond 64 bits or without end; RecursionError where brackets are nested
    too deeply or a key has more than 40 parts.
    """
    if found := _MANY_PARTS.search(text):
        line = text.count("\n", 0, found.start()) + 1
        raise RecursionError(f"a key has more than 40 parts (at line {line}, column 1)")
    try:
        tree = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        raise
    except ValueError:  # the language's own limit on digits
        raise ValueError("a whole number has thousands of digits") from None
    left = MOST_STATED
    level: list[tuple[str, Any]] = [("", tree)]
    while level:
        below = []
        for place, node in level:
            for key, value in node.items() if isinstance(node, dict) else enumerate(node, 1):
                left -= 1
                if left < 0:
                    raise ValueError(f"more than {MOST_STATED:,} things are stated")
                here = f"{place}.{key}" if place else str(key)
                if len(here) > 2 * LONGEST_TEXT or (isinstance(key, str) and len(key) > LONGEST_TEXT):
                    raise ValueError(f"{here[:60]}... is a name of more than {LONGEST_TEXT:,} characters")
                _check(here, value)
                if isinstance(value, dict | list):
                    below.append((here, value))
        level = below
    return tree


def _check(place: str, value: object) -> None:
    if isinstance(value, str) and len(value) > LONGEST_TEXT:
        raise ValueError(f"{place[:200]} is a text of more than {LONGEST_TEXT:,} characters")
    if isinstance(value, int) and not -_LARGEST_WHOLE_NUMBER <= value < _LARGEST_WHOLE_NUMBER:
        raise ValueError(f"{place[:200]} is a whole number beyond 64 bits")
    if isinstance(value, float) and not math.isfinite(value):
        raise ValueError(f"{place[:200]} is a number without end, or none")


__all__ = ["LARGEST_FILE", "LONGEST_LINE", "MOST_LINES_A_ROW", "leads_out", "leaves", "parsed", "read_whole"]
