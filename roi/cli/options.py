"""Options that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

FILE = click.Path(path_type=Path)


def json_option(what: str = "Write everything found, unrounded, as JSON too.") -> Callable[[Any], Any]:
    """`--json OUT.json`; `what` is its help."""
    return click.option("--json", "json_output", type=FILE, metavar="OUT.json", help=what)


def language_option(what: str) -> Callable[[Any], Any]:
    """`--language NAME-or-FILE`; `what` says which words it is of."""
    return click.option(
        "--language",
        default="",
        metavar="NAME-or-FILE",
        help=f"The language of {what}: en, de, or a .toml file of your own. What it has no words for stays "
        "English, and is counted on stderr.",
    )
