"""The language that a command writes in: the template with it, and what is told where it lacks words."""

from __future__ import annotations

from dataclasses import replace

import click

from roi.cli.reading import count, wrapped
from roi.scenario.problems import BadInput, Problem
from roi.workbook.read_language import load_language
from roi.workbook.read_template import load_template
from roi.workbook.template import Template
from roi.workbook.tongue import Tongue


def look_of(template: str, language: str, problems: list[Problem]) -> Template:
    """The template of this name or file, in a language where one is named, else in its own; problems are added to the list."""
    look = Template()
    try:
        look = load_template(template)
    except BadInput as bad:
        problems += bad.problems
    if language:
        try:
            look = replace(look, tongue=load_language(language))
        except BadInput as bad:
            problems += bad.problems
    return look


def tell_missing(tongue: Tongue | None) -> None:
    """Say on stderr, in one line, how many phrases a language had no words for in what was written; nothing where none."""
    if tongue is not None and (missing := tongue.missing()):
        stays = "it stays" if len(missing) == 1 else "they stay"
        text = f"{tongue.name} has no words for {count(len(missing), 'phrase')} of {tongue.asked():,}: {stays} English."
        click.echo(wrapped(text), err=True)


__all__ = ["look_of", "tell_missing"]
