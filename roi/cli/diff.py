"""`roi diff`: what differs between two scenarios, files or workbooks: inputs, texts, and what comes of them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from roi.answers.what_changed import Changed, as_json, what_changed
from roi.cli.output import input_files, problems_of, write_json
from roi.cli.reading import DONE, WANTING, Progress, count, reckon, refuse, say, wrapped
from roi.engine.words import fixed
from roi.scenario.problems import BadInput, Problem

MOST_TOLD = 40


def run(first: Path, second: Path, json_output: Path | None) -> int:
    """Read and reckon both, print, write; the exit code: 0 when nothing differs, else 1."""
    try:
        with Progress() as progress:
            _check_files(first, second, json_output)
            sides = [_reckoned(path, progress) for path in (first, second)]
            found = what_changed(sides[0], sides[1])
            if json_output is not None:
                write_json(json_output, as_json(found, (str(first), str(second))))
    except BadInput as bad:
        return refuse(bad.problems)
    _print(found, first, second)
    if json_output is not None:
        say(f"Written: {json_output}")
    return DONE if found.same else WANTING


def _reckoned(path: Path, progress: Progress) -> Any:
    try:
        return reckon(path, progress)
    except BadInput as bad:
        told = f"{path.parent.name}/" if path.parent.name else ""
        raise BadInput([Problem(told + p.where, p.what, p.mend) for p in bad.problems]) from None


def _check_files(first: Path, second: Path, json_output: Path | None) -> None:
    if json_output is None:
        return
    problems = problems_of("--json", json_output, ".json", [*input_files(first), *input_files(second)])
    if problems:
        raise BadInput(problems)


def _print(found: Changed, first: Path, second: Path) -> None:
    say(wrapped(f"A: {found.names[0]}, {first}"), bold=True)
    say(wrapped(f"B: {found.names[1]}, {second}"), bold=True)
    say()
    for sentence in found.sentences():
        say(wrapped(sentence))
    if found.inputs:
        say()
        say("Inputs", bold=True)
        for row in found.inputs[:MOST_TOLD]:
            say(wrapped(f"{row.label} [{row.key}]", "- ", "  "))
            for name, a, b in row.told():
                say(wrapped(f"{name}: {a} -> {b}", "    ", "      "))
        _more(len(found.inputs))
    if found.texts:
        say()
        say("Texts and structure", bold=True)
        for text in found.texts[:MOST_TOLD]:
            say(wrapped(f"{text.label}: {text.texts[0]} -> {text.texts[1]}", "- ", "  "))
        _more(len(found.texts))
    if found.results:
        say()
        say("What comes of it", bold=True)
        for method, rows in found.by_method().items():
            say(wrapped(method, "- ", "  "))
            for one in rows:
                say(
                    wrapped(
                        f"{one.label}: {_money(one.a)} -> {_money(one.b)}{_change(one.a, one.b)}",
                        "    ",
                        "      ",
                    )
                )
    say()
    say(f"{count(found.equal, 'input')} the same in both.")


def _more(number: int) -> None:
    if number > MOST_TOLD:
        say(f"... and {number - MOST_TOLD} more: --json tells all")


def _money(amount: float | None) -> str:
    return "none" if amount is None else fixed(amount, 2)


def _change(a: float | None, b: float | None) -> str:
    if a is None or b is None:
        return ""
    by = f", {(b - a) / abs(a):+.1%}" if a else ""
    return f" ({'+' if b >= a else ''}{fixed(b - a, 2)}{by})"


__all__ = ["run"]
