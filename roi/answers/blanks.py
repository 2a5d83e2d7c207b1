"""The list of what to check as a scenario file of its own, with a blank for each number: filled in, it is read as it is.

Every line to fill in is a comment, so that what is not filled in stays as it was. Text only; nothing is computed.
"""

from __future__ import annotations

import json
import re
import textwrap
from collections.abc import Sequence

from roi.answers.confirming import ToConfirm
from roi.answers.searched import best_shown, told
from roi.scenario.files import SCHEMA
from roi.scenario.scenario import Scenario
from roi.scenario.stated import StatedInput

BLANK = "____"
_WIDTH = 118


def overlay(scenario: Scenario, found: Sequence[ToConfirm]) -> str:
    """A scenario based on the one given, in TOML: for each input how to confirm it and a line to be filled in.

    It must stand in the folder of the scenario it is based on.
    """
    title = json.dumps(f"{scenario.name}: as checked", ensure_ascii=False)
    head = [
        "# What to check next, most worth checking first. Print this, fill it in at the press, the processor and the desk, and",
        f"# type it back: put the number in place of {BLANK}, say under source where it comes from, and take away the # before",
        "# the line. Lines left as they are change nothing.",
        f"schema = {SCHEMA}",
        f"based_on = {json.dumps(scenario.path.name, ensure_ascii=False)}",
        f"name = {title}",
    ]
    parts = [part for rank, one in enumerate(found, 1) for part in ("", *_lines(rank, one))]
    return "\n".join([*head, *parts]) + "\n"


def _lines(rank: int, one: ToConfirm) -> list[str]:
    stated, way = one.stated, one.way
    now = told(stated, best_shown(stated), 6)
    said = f"{rank}. {stated.label}: now {now} ({stated.status}). {way.kind}, {way.where}: {way.words}"
    told_lines = textwrap.wrap(
        said, _WIDTH, initial_indent="# ", subsequent_indent="#    ", break_on_hyphens=False
    )
    return [*told_lines, f"# {line(one)}"]


def line(one: ToConfirm) -> str:
    """The line that states the number, with a blank for it: 'shop.rent = { best = "____ USD/m2/year", ... }'."""
    stated = one.stated
    blank = json.dumps(f"{BLANK} {stated.shown}", ensure_ascii=False) if stated.shown else BLANK
    return f'{_key(stated)} = {{ best = {blank}, status = "{one.way.status}", source = "" }}'


def _key(stated: StatedInput) -> str:
    names = stated.key.split(".")
    return ".".join(
        n if re.fullmatch(r"[A-Za-z0-9_-]+", n) else json.dumps(n, ensure_ascii=False) for n in names
    )


__all__ = ["BLANK", "line", "overlay"]
