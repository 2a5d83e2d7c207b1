"""`roi claim`: what would have to be true for a claim such as "pays back in 18 months"; JSON on request."""

from __future__ import annotations

import textwrap
from pathlib import Path

from roi.answers.claim_words import as_json, sentences
from roi.answers.claims import Needed, needed, read
from roi.answers.searched import DIGITS, rounded_away, told, told_turning
from roi.cli.output import check_json, write_json
from roi.cli.reading import DONE, Progress, reckon, refuse, say, wrapped
from roi.cli.sensitivity import aligned
from roi.scenario.problems import BadInput

LABEL = 32
_TOGETHER = 5  # inputs of the joint move that are shown


def run(scenario: Path, text: str, method: str | None, json_output: Path | None, most: int) -> int:
    """Read, reckon, seek, write, print; the exit code."""
    try:
        with Progress() as progress:
            check_json(json_output, scenario)
            study, _ = reckon(scenario, progress)
            progress.step("Seeking what would have to be true")
            found = needed(study, read(text, study.scenario.currency), method)
            if json_output is not None:
                write_json(json_output, as_json(study, found))
    except BadInput as bad:
        return refuse(bad.problems)
    say(wrapped(study.scenario.name), bold=True)
    say()
    for sentence in sentences(study, found):
        say(wrapped(sentence))
    say(wrapped("In cash, after tax; other inputs at their best. Searched: a quarter to four times best."))
    say(wrapped("Values are rounded away from best, so that as written they do it."))
    _tell(alone_table(found, most))
    if len(found.met) > most:
        say(f"Shown are the first {most} of {len(found.met)}: --most tells how many.")
    _tell(joint_table(found))
    if json_output is not None:
        say(f"Written: {json_output}")
    return DONE


def _tell(rows: list[str]) -> None:
    if len(rows) > 2:
        say()
        for number, line in enumerate(rows):
            say(line, bold=True if number < 2 else None)


def alone_table(found: Needed, most: int) -> list[str]:
    """Inputs that alone would do it, nearest first, as lines of text; the first two are the heading."""
    rows: list[tuple[str, ...]] = [
        ("Alone", "Best", "Ends at" if found.so else "So at", "Change, % of best", "Change, % of range", "In range")
    ]  # fmt: skip
    for each in found.met[:most]:
        assert each.told is not None
        first, *more = textwrap.wrap(each.stated.label, LABEL)
        change, share = each.change_percent, each.share_of_range
        rows.append(
            (
                first,
                told(each.stated, each.best),
                told_turning(each.stated, each.told),
                "none" if change is None else f"{change:+,.0f}",
                "none" if share is None else f"{share * 100:,.0f}",
                "yes" if each.within else "no",
            )
        )
        rows += [(f"  {part}", "", "", "", "", "") for part in more]
    return aligned(rows, "lrrrrl", wrap_head=True)


def joint_table(found: Needed) -> list[str]:
    """The inputs that move the claim most, where they stand when all move together, and their ends."""
    if found.joint.share is None:
        return []
    rows: list[tuple[str, ...]] = [("Together: the widest", "Best", "Moved to", "End of range")]
    for each in found.joint.moved[:_TOGETHER]:
        assert each.at is not None
        first, *more = textwrap.wrap(each.stated.label, LABEL)
        at = told(each.stated, rounded_away(each.at, each.best, DIGITS[0]), DIGITS[-1])
        rows.append((first, told(each.stated, each.best), at, told(each.stated, each.end)))
        rows += [(f"  {part}", "", "", "") for part in more]
    return aligned(rows, "lrrr", wrap_head=True)
