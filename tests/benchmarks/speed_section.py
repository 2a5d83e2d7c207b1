"""Puts what was measured into the section "Speed" of DEVELOPERS.md, between its two markers."""

from __future__ import annotations

import os
import platform
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from tests.benchmarks.measures import Row

BEGIN, END = "<!-- speed -->", "<!-- /speed -->"


def section(rows: Sequence[Row], grown: Sequence[str], plot: str) -> str:
    """The text between the markers."""
    lines = [
        f"Measured in one run by `python -m tests.benchmarks`, Python {platform.python_version()}, numpy {np.__version__}, "
        f"a machine of {os.cpu_count()} cores; medians, on one core but for the batch.",
        "",
        "| what | took | beside |",
        "| --- | --- | --- |",
        *(f"| {row.what} | {row.took} | {row.beside} |" for row in rows),
        "",
        *grown,
        "",
        f"![Seconds against size]({plot})",
    ]
    return "\n".join(lines)


def rewritten(text: str, between: str) -> str:
    """A document with other text between the markers. Raises ValueError where they don't stand there once, in order."""
    head, begun, rest = text.partition(BEGIN)
    _, ended, tail = rest.partition(END)
    if not begun or not ended or BEGIN in tail or END in tail:
        raise ValueError(f"wanted {BEGIN} and then {END}, each once")
    return f"{head}{BEGIN}\n{between}\n{END}{tail}"


def put(path: Path, between: str) -> None:
    """Rewrite the document's section."""
    path.write_text(rewritten(path.read_text(encoding="utf-8"), between), encoding="utf-8")
