"""`roi reconcile`: the shop's ledger against what the reckoning says the method in use costs; JSON on request."""

from __future__ import annotations

import textwrap
from dataclasses import replace
from pathlib import Path

from roi.answers.reconcile import Closing, Reconciliation, closings, reconcile
from roi.answers.reconcile_words import SPREAD, as_json, closing, how_read, not_compared, outcome, told_share
from roi.answers.searched import told as told_value
from roi.cli.output import input_files, problems_of, write_json
from roi.cli.reading import DONE, WANTING, Progress, count, reckon, refuse, say, told, wrapped
from roi.cli.sensitivity import aligned
from roi.engine.words import fixed
from roi.scenario.files import is_workbook
from roi.scenario.ledger import OTHER_YEAR, UNMAPPED, Ledger, read_ledger, read_year
from roi.scenario.ledgerspec import EXAMPLE
from roi.scenario.problems import BadInput, Problem
from roi.scenario.scenario import Scenario, year_begins

LABEL = 28
_SHOWN = 10  # groups of unmapped rows, and rows of another year
_MOVED = 5  # inputs of a closing move that are shown


def run(scenario: Path, ledger: Path | None, year: str | None, json_output: Path | None) -> int:
    """Read, reckon, set against each other, write, print; the exit code."""
    try:
        with Progress() as progress:
            if json_output is not None:
                inputs = [*input_files(scenario), *([ledger.resolve()] if ledger is not None else [])]
                if problems := problems_of("--json", json_output, ".json", inputs):
                    raise BadInput(problems)
            study, _ = reckon(scenario, progress)
            progress.step("Reading the ledger")
            books = _books(study.scenario, ledger, year)
            progress.step("Setting it against the reckoning")
            found = reconcile(study, books)
            closed = closings(study, found)
            if json_output is not None:
                write_json(json_output, as_json(study, found, closed))
    except BadInput as bad:
        return refuse(bad.problems)
    _print(study.scenario, found, closed)
    if json_output is not None:
        say(f"Written: {json_output}")
    return DONE if found.reconciles else WANTING


def _books(scenario: Scenario, ledger: Path | None, year: str | None) -> Ledger:
    """The ledger named on the command line or in the scenario. Raises BadInput."""
    spec, file = scenario.ledger, scenario.path.name
    if spec is None and is_workbook(scenario.path):
        from roi.workbook.read_books import where_to_say

        raise BadInput([where_to_say(scenario.path)])
    if spec is None:
        what = "nothing says how the ledger is read: [ledger] is missing"
        raise BadInput([Problem(f"{file}, ledger", what, f"write [ledger] and below it {EXAMPLE}")])
    if ledger is None and year is None and scenario.books is not None:
        return scenario.books
    if year is not None:
        spec = spec.of_year(*read_year(year), "as --year says")
    if ledger is not None:
        if not ledger.is_file():
            raise BadInput([Problem(str(ledger), "there is no such file", "check the path")])
        if ledger.suffix.lower() not in (".csv", ".xlsx"):
            raise BadInput(
                [Problem(str(ledger), "is neither .csv nor .xlsx", "save the ledger as CSV or XLSX")]
            )
        spec = replace(spec, path=ledger)
    try:
        return read_ledger(spec, begins=year_begins(scenario.inputs))
    except BadInput as bad:
        if not is_workbook(scenario.path):
            raise
        from roi.workbook.read_books import told_by_cell

        raise BadInput(told_by_cell(scenario.path, bad.problems)) from None


def _print(scenario: Scenario, found: Reconciliation, closed: list[Closing]) -> None:
    ledger, currency = found.ledger, scenario.currency
    short = scenario.method(scenario.current).short
    say(wrapped(scenario.name), bold=True)
    say()
    say(wrapped(outcome(found, currency)))
    say(
        wrapped(
            f"{currency} a year, {short} as used today, at today's prices and the volume of the log's year, before tax, in cash:"
        )
    )
    _tell(table(found))
    if found.untold:
        say()
        say("Not compared", bold=True)
        for part in found.untold:
            say(wrapped(not_compared(part, currency), "- ", "  "))
    if closed:
        say()
        say("What would close it (a distance, not a chance)", bold=True)
        for each in closed:
            say(wrapped(closing(each, currency)))
            if each.head.split(".")[0] == "equipment":
                say(wrapped(SPREAD))
            _tell(moves(each))
            if each is not closed[-1]:
                say()
    say()
    say("How the ledger was read", bold=True)
    for sentence in how_read(found):
        say(wrapped(sentence, "- ", "  "))
    _tell(_unmapped(ledger))
    _tell(_other_year(ledger))
    for title, problems in (("Rows left out of the ledger", ledger.skipped), ("To look at", ledger.doubts)):
        if problems:
            say()
            say(title, bold=True)
            for problem in problems:
                say(told(problem))
    say()


def _tell(rows: list[str]) -> None:
    if rows:
        say()
        for number, line in enumerate(rows):
            say(line, bold=True if number == 0 else None)


def table(found: Reconciliation) -> list[str]:
    """Parts and whole as lines of text, the first the heading: books, reckoning, what is not explained."""
    rows = [("", "Books", "Reckoning", "Unexplained", "%", "")]
    for part in (*found.parts, found.whole):
        beyond = part.head in found.beyond if part.head else found.whole_beyond
        sign = "-" if part.difference < 0 else ""
        told_as = told_share(part).removesuffix(" %")
        share = "none" if part.share is None else sign + told_as if told_as else "-"
        rows.append(
            (
                part.label,
                fixed(part.books, 0),
                fixed(part.model, 0),
                fixed(part.difference, 0),
                share,
                "beyond" if beyond else "",
            )
        )
    return aligned(rows, "lrrrrl")


def moves(each: Closing) -> list[str]:
    """The inputs that count most in a closing move, where they stand and their ends, as lines of text."""
    rows: list[tuple[str, ...]] = [("The inputs that count most", "Best", "Moved to", "End of range")]
    for m in each.joint.moved[:_MOVED]:
        first, *more = textwrap.wrap(m.stated.label, LABEL)
        at = "its end" if m.at is None else told_value(m.stated, m.at)
        rows.append((first, told_value(m.stated, m.best), at, told_value(m.stated, m.end)))
        rows += [(f"  {part}", "", "", "") for part in more]
    return aligned(rows, "lrrr") if len(rows) > 1 else []


def _unmapped(ledger: Ledger) -> list[str]:
    """Rows mapped to nothing, grouped, the largest first."""
    groups = ledger.groups(UNMAPPED)
    rows = [("Mapped to nothing: account, supplier", "Rows", "Amount")]
    for group in groups[:_SHOWN]:
        name = ", ".join(text for text in (group.account, group.supplier) if text) or "(no text)"
        rows.append(
            (textwrap.shorten(name, 52, placeholder="..."), f"{group.rows:,}", fixed(group.amount, 2))
        )
    if not groups:
        return []
    more = [f"... and {count(len(groups) - _SHOWN, 'more group')}: --json"] if len(groups) > _SHOWN else []
    return [*aligned(rows, "lrr"), *more]


def _other_year(ledger: Ledger) -> list[str]:
    """Rows of another year that an account stands for, in the file's order."""
    found = [row for row in ledger.of(OTHER_YEAR) if row.head]
    rows = [("Other year: row", "Account, supplier", "Amount", "Why")]
    for row in found[:_SHOWN]:
        name = ", ".join(text for text in (row.account, row.supplier) if text)
        rows.append(
            (str(row.row), textwrap.shorten(name, 36, placeholder="..."), fixed(row.amount, 2), row.why)
        )
    if not found:
        return []
    more = [f"... and {count(len(found) - _SHOWN, 'more row')}: --json"] if len(found) > _SHOWN else []
    return [*aligned(rows, "rlrl"), *more]


__all__ = ["moves", "run", "table"]
