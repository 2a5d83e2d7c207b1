"""`roi sensitivity`: what the answer depends on, in words, tables, bars and maps of plain characters; JSON on request."""

from __future__ import annotations

import shutil
import textwrap
from collections.abc import Sequence
from pathlib import Path

from roi.answers.sensitivity import Grid, Map, Sensitivity, Side, Tried, as_json, sensitivity
from roi.cli.output import check_json, write_json
from roi.cli.reading import DONE, WIDTH, Progress, reckon, refuse, say, wrapped
from roi.engine.words import fixed
from roi.model.study import Study
from roi.scenario.problems import BadInput

WIDEST = 100  # columns: longer lines are hard to follow
LEAST_BAR = 20
LABEL = 36
GAP = "  "
LOW, HIGH, BOTH, TO_LOW, TO_HIGH, BEST, NOUGHT = "LHX-=|:"
Row = Sequence[str]


def run(scenario: Path, json_output: Path | None) -> int:
    """Read, reckon, try, write, print; the exit code."""
    try:
        with Progress() as progress:
            check_json(json_output, scenario)
            study, values = reckon(scenario, progress)
            progress.step("Trying the inputs over their ranges")
            found = sensitivity(study, values)
            if json_output is not None:
                write_json(json_output, as_json(study, found))
    except BadInput as bad:
        return refuse(bad.problems)
    _Printer(study, found).print()
    if json_output is not None:
        say(f"Written: {json_output}")
    return DONE


class _Printer:
    def __init__(self, study: Study, found: Sensitivity) -> None:
        self.found, self.currency = found, study.scenario.currency
        self.scenario = study.scenario.name
        self.short: dict[str | None, str] = {
            name: sheet.method.short for name, sheet in study.methods.items()
        }
        self.short[None] = "none"
        self.width = min(max(shutil.get_terminal_size((WIDTH, 24)).columns, WIDTH), WIDEST)

    def print(self) -> None:
        found = self.found
        say(wrapped(self.scenario), bold=True)
        say()
        for sentence in found.sentences:
            say(wrapped(sentence))
        say(
            wrapped(
                f"In cash, after tax, {self.currency} a year. Each input over its own range, the others at their best."
            )
        )
        say()
        if found.inputs:
            self._tell(ranges(found.inputs))
            self._tell_bars()
            self._tell_none()
        if found.grid is not None:
            self._tell_grid(found.grid)
        for each in found.maps:
            self._tell_map(each)

    def _tell(self, rows: list[str]) -> None:
        """Lines of a table, the first the heading, and an empty line."""
        for number, line in enumerate(rows):
            say(line, bold=True if number == 0 else None)
        say()

    def _tell_bars(self) -> None:
        say(wrapped(self.found.title), bold=True)
        rivals = self.found.best.lead is not None
        if rivals:
            legend = f"{LOW} the lead with the input at its low, {HIGH} at its high, {BOTH} both alike; {BEST} at best"
            if self.found.passes_nought:
                legend += f"; {NOUGHT} no lead: to the left of it another method is the cheapest"
            say(wrapped(f"{legend}. An end that stands at {BEST}, or does not exist, has no letter."))
        head = ("", f"Lead at low, {LOW}", "Cheapest then", f"Lead at high, {HIGH}", "Cheapest then")
        rows = [
            (str(rank), *(text for end in (t.at_low, t.at_high) for text in (_lead(end.lead), self.short[end.cheapest])))
            for rank, t in enumerate(self.found.inputs, 1)
        ]  # fmt: skip
        texts = aligned([head, *rows], "rrlrl", wrap_head=True)
        extra = len(texts) - len(rows)
        columns = max(self.width - max(map(len, texts)) - len(GAP), LEAST_BAR)
        left = max(map(len, texts))
        bars = [bar(self.found, tried, columns) if rivals else "" for tried in self.found.inputs]
        for number, text in enumerate(texts):
            drawn = "" if number < extra else bars[number - extra]
            say(f"{text.ljust(left)}{GAP}{drawn}".rstrip(), bold=True if number < extra else None)
        say()

    def _tell_none(self) -> None:
        grid = [cell for row in self.found.grid.cells for cell in row] if self.found.grid else []
        ends = [end for tried in self.found.inputs for end in (tried.at_low, tried.at_high)]
        if any(outcome.lead is None for outcome in (*ends, *grid)):
            leader = self.short[self.found.best.cheapest]
            say(wrapped(f"A lead of none: {leader} can't do the work there, or every other method can't."))
            say()

    def _tell_grid(self, grid: Grid) -> None:
        down, across = grid.down, grid.across
        say(
            wrapped(
                f"Two inputs together: {_named(down)} down, {_named(across)} across, each from low over best to high"
            ),
            bold=True,
        )
        leader = self.short[self.found.best.cheapest]
        head = ["", *(_figure(x, across.percent) for x in across.values)]
        side = [_figure(x, down.percent) for x in down.values]
        for title, cells in (
            ("Cheapest method", [[self.short[c.cheapest] for c in row] for row in grid.cells]),
            (f"Lead of {leader}, {self.currency} a year", [[_lead(c.lead) for c in row] for row in grid.cells]),
        ):  # fmt: skip
            say(wrapped(title))
            rows = [head, *([name, *row] for name, row in zip(side, cells, strict=True))]
            for lines in folded(rows, 1, self.width):
                self._tell(lines)

    def _tell_map(self, each: Map) -> None:
        title = {
            "forms": "Cheapest method with as many forms a year, runs shorter or longer",
            "impressions": "Cheapest method with as many impressions a year, so fewer forms where runs are longer",
        }[each.held]
        say(wrapped(title), bold=True)
        say(
            wrapped(
                "Down: mean run, impressions a form, and in % of the shop's own. Across: plates a month at the shop's own runs."
            )
        )
        head = ["Mean run", "of own", *(fixed(x, 0) for x in each.plates)]
        rows = [
            [fixed(mean, 0), _figure(share * 100, True, 3), *(self.short[name] for name in names)]
            for mean, share, names in zip(each.runs, each.shares, each.cheapest, strict=True)
        ]
        for lines in folded([head, *rows], 2, self.width):
            self._tell(lines)


def ranges(inputs: Sequence[Tried]) -> list[str]:
    """Rank, input, unit, low, best and high; long names run on below."""
    rows: list[Row] = [("", "Input", "Unit", "Low", "Best", "High")]
    for rank, tried in enumerate(inputs, 1):
        first, *more = textwrap.wrap(tried.label, LABEL)
        figures = [_figure(x, tried.percent) for x in (tried.low, tried.best, tried.high)]
        rows.append((str(rank), first, tried.unit or "number", *figures))
        rows += [("", f"  {part}", "", "", "", "") for part in more]
    return aligned(rows, "rllrrr")


def bar(found: Sensitivity, tried: Tried, columns: int) -> str:
    """The lead from the least of all to the greatest, drawn over so many columns.

    From the lead at the best values runs one stroke to that at low, another to that at high; where they run the same
    way the nearer end is drawn over the farther one.
    """
    last = columns - 1

    def column(lead: float) -> int:
        return round(found.place(lead) * last)

    drawn = [" "] * columns
    least, _ = found.span
    best = column(found.best.lead if found.best.lead is not None else least)
    ends = [
        (column(end.lead), letter, stroke)
        for end, letter, stroke in ((tried.at_low, LOW, TO_LOW), (tried.at_high, HIGH, TO_HIGH))
        if end.lead is not None
    ]
    for at, _, stroke in sorted(ends, key=lambda end: -abs(end[0] - best)):
        for i in range(min(at, best), max(at, best) + 1):
            drawn[i] = stroke
    if found.passes_nought:
        drawn[column(0)] = NOUGHT
    for at, letter, _ in ends:
        drawn[at] = BOTH if len(ends) == 2 and ends[0][0] == ends[1][0] else letter
    drawn[best] = BEST
    return "".join(drawn)


def aligned(rows: Sequence[Row], sides: str, wrap_head: bool = False) -> list[str]:
    """Rows as lines of text; `sides` says l or r for each column. A head may break between its last words."""
    heads: list[list[str]] = [list(rows[0])]
    if wrap_head:
        halves = [cell.rsplit(" ", 1 if cell.count(" ") < 3 else 2) for cell in rows[0]]
        heads = [
            [half[0] if len(half) > 1 else "" for half in halves],
            [" ".join(half[1:]) if len(half) > 1 else half[0] for half in halves],
        ]
    every = [*heads, *rows[1:]]
    widths = [max(len(row[i]) for row in every) for i in range(len(sides))]
    return [
        GAP.join(
            cell.rjust(w) if side == "r" else cell.ljust(w)
            for cell, w, side in zip(row, widths, sides, strict=True)
        ).rstrip()
        for row in every
    ]


def folded(rows: Sequence[Row], side: int, width: int) -> list[list[str]]:
    """A table in as many blocks of columns as the width asks for, the first `side` columns repeated in each."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    room = width - sum(widths[:side]) - len(GAP) * (side - 1)
    each = max(room // (max(widths[side:]) + len(GAP)), 1)
    columns = len(widths) - side
    blocks = -(-columns // each)
    # Blocks of like size read better than one full and a leftover.
    each = -(-columns // blocks)
    return [
        aligned([[*row[:side], *row[first : first + each]] for row in rows], "r" * (side + min(each, len(widths) - first)))
        for first in range(side, len(widths), each)
    ]  # fmt: skip


def _lead(lead: float | None) -> str:
    return "none" if lead is None else fixed(lead, 0)


def _figure(value: float, percent: bool, digits: int = 6) -> str:
    text = f"{value:,.{digits}g}"
    text = f"{value:,.0f}" if "e" in text and abs(value) >= 1 else text
    return f"{text} %" if percent else text


def _named(side: Side) -> str:
    return f"{side.label} ({side.unit})" if side.unit and not side.percent else side.label
