"""`roi risk`: how sure the answer is, in words, then small tables; JSON on request."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from roi.answers.risk import SHARE_POINTS, risk
from roi.answers.risk_results import Risk
from roi.answers.risk_words import as_json, sentences, told_share, why_no_shares, worth_telling
from roi.cli.output import check_json, write_json
from roi.cli.reading import DONE, Progress, reckon, refuse, say, wrapped
from roi.cli.sensitivity import aligned
from roi.engine.words import fixed
from roi.model.study import Study
from roi.scenario.problems import BadInput
from roi.scenario.risk import risk_settings

LISTED = 10
LABEL = 44


def run(
    scenario: Path, draws: int | None, seed: int | None, shape: str | None, json_output: Path | None
) -> int:
    """Read, reckon, draw, write, print; the exit code."""
    try:
        with Progress() as progress:
            check_json(json_output, scenario)
            study, _ = reckon(scenario, progress)
            settings = risk_settings(study.scenario)
            stated = {"draws": draws, "seed": seed, "shape": shape}
            settings = replace(settings, **{k: v for k, v in stated.items() if v is not None})  # type: ignore[arg-type]

            def tell(done: int, whole: int) -> None:
                progress.step(f"Drawing and judging: {done:,} of {whole:,} cases")

            found = risk(study, settings, shares=SHARE_POINTS, progress=tell)
            if json_output is not None:
                write_json(json_output, as_json(study, found))
    except BadInput as bad:
        return refuse(bad.problems)
    _print(study, found)
    if json_output is not None:
        say(f"Written: {json_output}")
    return DONE


def _print(study: Study, found: Risk) -> None:
    say(wrapped(study.scenario.name), bold=True)
    say()
    for sentence in sentences(study, found):
        say(wrapped(sentence))
    say()
    _tell(methods(study, found))
    say(
        wrapped(
            f"Savings against {study.methods[study.scenario.current].method.short}, {study.scenario.currency} a year, in cash "
            "after tax: 10, 50 and 90 % of the draws stay below. Regret: what choosing the method costs above the cheapest, "
            "expected, in money of today, once."
        )
    )
    for name, method in found.methods.items():
        if method.able < 1:
            told = told_share(method.able, found.settings.draws)
            short = study.methods[name].method.short
            of_those = "; its saving and regret are of those" if method.able else ""
            say(wrapped(f"{short} can do the work in {told}{of_those}."))
    say()
    if worth := worth_telling(found, LISTED):
        say(
            wrapped(f"What knowing an input before choosing is worth, {study.scenario.currency}, once"),
            bold=True,
        )
        rows: list[tuple[str, ...]] = [("Input", "Worth", "+-")]
        rows += [
            row
            for known in worth
            for row in _labelled(known.label, fixed(known.value, 0), fixed(known.error, 0))
        ]
        _tell(aligned(rows, "lrr"))
    if found.shares is not None and found.challenger is not None:
        say(
            wrapped(
                f"What the saving of {study.methods[found.challenger].method.short} varies with: share of its variance, "
                "alone and with all it acts together with"
            ),
            bold=True,
        )
        rows = [("Input or group", "Alone", "+-", "In all", "+-")]
        shown = [s for s in found.shares.shares if s.keys][:LISTED]
        rest = [s for s in found.shares.shares if not s.keys]
        for share in [*shown, *rest]:
            parts = (share.first, share.first_error, share.total, share.total_error)
            figures = (_percent(x) for x in parts)
            rows += _labelled(share.label, *figures)
        _tell(aligned(rows, "lrrrr"))
        say(
            wrapped(
                f"Estimated from {found.shares.evaluations:,} cases: n (d + 2) with n = {found.shares.points:,} and "
                f"d = {len(found.shares.shares)}; a share may come out a little below nothing. +-: the standard "
                "error of the figure before it."
            )
        )
    if why := why_no_shares(study, found):
        say(wrapped(why))


def _tell(rows: Sequence[str]) -> None:
    for number, line in enumerate(rows):
        say(line, bold=True if number == 0 else None)
    say()


def methods(study: Study, found: Risk) -> list[str]:
    """The methods side by side as lines of text; the first two are headings."""
    rows: list[Sequence[str]] = [
        (
            "Method",
            "Cheapest cash",
            "Cheapest full",
            "Saving P10",
            "Saving P50",
            "Saving P90",
            "Expected regret",
        )
    ]
    for name, method in found.methods.items():
        saving = method.saving
        amounts = (
            ["none"] * 3 if saving is None else [fixed(x, 0) for x in (saving.p10, saving.p50, saving.p90)]
        )
        if name == study.scenario.current:
            amounts = ["current", "", ""]
        regret = "none" if method.regret is None else fixed(method.regret, 0)
        chances = (_percent(method.chance), _percent(method.chance_full))
        rows.append((study.methods[name].method.short, *chances, *amounts, regret))
    return aligned(rows, "lrrrrrr", wrap_head=True)


def _labelled(label: str, *figures: str) -> list[tuple[str, ...]]:
    """A row whose long label runs on below."""
    first, *more = textwrap.wrap(label, LABEL)
    return [(first, *figures), *((f"  {part}", *("" for _ in figures)) for part in more)]


def _percent(share: float) -> str:
    return f"{fixed(share * 100, 1)} %"
