"""`roi switching`: how far each input alone must go before another method is the cheapest; JSON on request."""

from __future__ import annotations

import textwrap
from pathlib import Path

from roi.answers.searched import told, told_turning
from roi.answers.switching import SwitchingValues, switching_values
from roi.answers.switching_words import as_json, sentences, turning_points
from roi.cli.output import check_json, write_json
from roi.cli.reading import DONE, Progress, reckon, refuse, say, wrapped
from roi.cli.sensitivity import aligned
from roi.model.study import Study
from roi.scenario.problems import BadInput

LABEL = 30
_HEADS = ("Input", "Best", "Switching value", "Change, % of best", "Change, % of range", "Cheapest then")


def run(scenario: Path, json_output: Path | None, full: bool) -> int:
    """Read, reckon, search, write, print; the exit code."""
    try:
        with Progress() as progress:
            check_json(json_output, scenario)
            study, _ = reckon(scenario, progress)
            progress.step("Searching every input")
            found = switching_values(study, "full" if full else "cash")
            if json_output is not None:
                write_json(json_output, as_json(study, found))
    except BadInput as bad:
        return refuse(bad.problems)
    say(wrapped(study.scenario.name), bold=True)
    say()
    for sentence in (*sentences(study, found), turning_points(study, found)):
        say(wrapped(sentence))
    say()
    say(
        wrapped(
            "A switching value is the value itself; beside it the change it takes from best, in per cent of best and of the "
            "input's own range from low to high. Searched: a quarter to four times best, within what is possible; a "
            "screen ruling, which comes in grades, at its own low and high alone. Compared: "
            f"present cost after tax, {'at full cost' if full else 'in cash'}, {study.scenario.currency}."
        )
    )
    rows = table(study, found)
    if len(rows) > 2:
        say()
        for number, line in enumerate(rows):
            say(line, bold=True if number < 2 else None)
        say()
        say(
            wrapped(
                "s: a step passes one over the other there; elsewhere both cost the same. Values are rounded away from best, so "
                "that as written they turn the answer."
            )
        )
    if json_output is not None:
        say(f"Written: {json_output}")
    return DONE


def table(study: Study, found: SwitchingValues) -> list[str]:
    """The inputs that switch the cheapest method as lines of text, the first two the heading."""
    short = {name: sheet.method.short for name, sheet in study.methods.items()}
    rows: list[tuple[str, ...]] = [_HEADS]
    for each in found.switching:
        switch = each.nearest
        assert switch is not None
        first, *more = textwrap.wrap(each.stated.label, LABEL)
        change, share = switch.change_percent, switch.share_of_range
        rows.append(
            (
                first,
                told(each.stated, each.best),
                told_turning(each.stated, switch.told) + (" s" if switch.kind == "jump" else ""),
                "none" if change is None else f"{change:+,.0f}",
                "none" if share is None else f"{share * 100:,.0f}",
                "none" if switch.after is None else short[switch.after],
            )
        )
        rows += [(f"  {part}", "", "", "", "", "") for part in more]
    return aligned(rows, "lrrrrl", wrap_head=True)
