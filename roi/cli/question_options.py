"""The ten questions as options of `roi new`: one option a question, its words the help."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

from roi.scenario.questions import QUESTIONS, Question


def question_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command an option for each question, in their order."""
    for question in reversed(QUESTIONS):
        command = click.option(
            f"--{question.option}", question.name, metavar="ANSWER", default="", help=_help(question)
        )(command)
    return command


def by_option(answers: dict[str, str]) -> dict[str, str]:
    """Answers by the options' names instead of Python's."""
    return {question.option: answers[question.name] for question in QUESTIONS}


def _help(question: Question) -> str:
    words = question.words.replace(" ({now_task_unit})", "").replace("{currency}", "of that currency")
    choices = f" One of: {', '.join(question.choices)}." if question.choices else ""
    before = f"{question.number}. " if question.number else ""
    return f'{before}{words}{choices} Such as "{question.example}".'


__all__ = ["by_option", "question_options"]
