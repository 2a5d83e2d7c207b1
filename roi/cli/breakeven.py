"""`roi breakeven`: where one method becomes cheaper than another, in words and as a table; JSON on request."""

from __future__ import annotations

from pathlib import Path

from roi.answers.breakeven import (
    HORIZON,
    BreakEven,
    as_json,
    break_even,
    by_crossing,
    ends_of,
    sentences,
    told,
)
from roi.answers.compare import horizon
from roi.cli.output import check_json, write_json
from roi.cli.reading import DONE, Progress, count, reckon, refuse, say, wrapped
from roi.model.study import Study
from roi.scenario.problems import BadInput

_HEADS = ("Pair", "At", "Kind", "Costs less below", "Costs less above")


def run(scenario: Path, by: str | None, json_output: Path | None) -> int:
    """Read, reckon, seek, write, print; the exit code."""
    try:
        with Progress() as progress:
            check_json(json_output, scenario)
            study, values = reckon(scenario, progress)
            progress.step("Seeking where costs cross")
            found = break_even(study, by)
            said = sentences(study, found)
            if json_output is not None:
                write_json(json_output, as_json(found))
    except BadInput as bad:
        return refuse(bad.problems)
    say(wrapped(study.scenario.name), bold=True)
    say()
    for sentence in said:
        say(wrapped(sentence, "- ", "  "))
    over = found[0].quantity
    low, high = told([over.low, over.high], over)
    years = "the years looked ahead" if over.key == HORIZON else count(horizon(study, values), "year")
    say()
    say(wrapped(f"Looked at: {over.label}, {low} to {high} {over.unit}".rstrip()))
    say(f"Compared: present cost over {years}, after tax, in cash, {study.scenario.currency}")
    rows = table(study, found)
    if len(rows) > 1:
        say()
    for number, line in enumerate(rows if len(rows) > 1 else []):
        say(line, bold=True if number == 0 else None)
    if json_output is not None:
        say(f"Written: {json_output}")
    return DONE


def table(study: Study, found: list[BreakEven]) -> list[str]:
    """Every crossing as a line of text; the first is the heading."""
    short = {name: sheet.method.short for name, sheet in study.methods.items()}
    rows = [_HEADS]
    for number, pair in enumerate(found, 1):
        places = told(ends_of(pair.crossings), pair.quantity) if pair.crossings else []
        for ends, crossing in zip(by_crossing(pair.crossings, places), pair.crossings, strict=True):
            place = " to ".join(ends)
            below, above = (
                "neither" if name is None else short[name] for name in (crossing.below, crossing.above)
            )
            kind = "step" if crossing.kind == "jump" else crossing.kind
            rows.append((str(number), place, kind, below, above))
    widths = [max(len(row[i]) for row in rows) for i in range(len(_HEADS))]
    return [
        "  ".join(
            cell.rjust(w) if i < 2 else cell.ljust(w)
            for i, (cell, w) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]
