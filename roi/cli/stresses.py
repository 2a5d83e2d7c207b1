"""`roi stress`: harsh things one at a time, and what becomes of the answer: words first, then a table; JSON on request."""

from __future__ import annotations

import textwrap
from pathlib import Path

from roi.answers.stresses import Outcome, as_json, stresses
from roi.cli.output import check_json, write_json
from roi.cli.reading import DONE, Progress, reckon, refuse, say, wrapped
from roi.cli.sensitivity import aligned
from roi.engine.words import fixed
from roi.scenario.problems import BadInput

LABEL = 24


def run(scenario: Path, json_output: Path | None) -> int:
    """Read, reckon, try, write, print; the exit code."""
    try:
        with Progress() as progress:
            check_json(json_output, scenario)
            study, values = reckon(scenario, progress)
            progress.step("Trying the stresses")
            found = stresses(study, values)
            if json_output is not None:
                write_json(json_output, as_json(study, found))
    except BadInput as bad:
        return refuse(bad.problems)
    say(wrapped(study.scenario.name), bold=True)
    say()
    say(wrapped(found.sentence))
    basis = (
        f"One at a time, everything else as stated. In cash, after tax, {study.scenario.currency} a year: what staying costs "
        "above the cheapest, and what the cheapest is ahead of the next. By how much is stated under [stress]."
    )
    say(wrapped(basis))
    say()
    shorts: dict[str | None, str] = {name: sheet.method.short for name, sheet in study.methods.items()}
    shorts[None] = "none"
    rows = [
        ("What happens", "By", "Answer", "Cheapest then", "Staying costs more by", "Ahead of the next by")
    ]
    for o in found.outcomes:
        first, *more = textwrap.wrap(o.label, LABEL)
        behind = "can't" if o.behind is None else fixed(o.behind, 0)
        ahead = "none" if o.ahead is None else fixed(o.ahead, 0)
        rows.append((first, _by(o), "turns" if o.turns else "holds", shorts[o.cheapest], behind, ahead))
        rows += [(f"  {part}", "", "", "", "", "") for part in more]
    for number, line in enumerate(aligned(rows, "lrllrr", wrap_head=True)):
        say(line, bold=True if number < 2 else None)
    say()
    say(wrapped("Deepest in cash against staying, nothing stressed: year 1 before tax, the years after tax."))
    deep = [("", "In year 1", "After month", "Over the years", "At the end of year")]
    deep += [
        (shorts[d.method], fixed(d.in_year_1, 0), str(d.month), fixed(d.over_years, 0), str(d.year))
        for d in found.deepest
    ]
    for number, line in enumerate(aligned(deep, "lrrrr")):
        say(line, bold=True if number == 0 else None)
    if json_output is not None:
        say()
        say(f"Written: {json_output}")
    return DONE


def _by(outcome: Outcome) -> str:
    if outcome.by is None:
        return ""
    return f"{outcome.by:.0f}" if outcome.label.endswith("in year") else f"{outcome.by:+.0%}"
