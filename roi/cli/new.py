"""`roi new`: the ten questions asked one after another, or taken as options, and a starter written from the answers."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path

import click

from roi.cli.language import tell_missing
from roi.cli.output import Writer, text_writer, write_all
from roi.cli.reading import BAD, DONE, count, refuse, say, told, wrapped
from roi.scenario.dollar_rate import UNKNOWN, read_rate, said_back
from roi.scenario.problems import BadInput, Problem
from roi.scenario.questions import NOT_KNOWN, QUESTIONS, TITLES, Question
from roi.scenario.starter import FILE, Unclear, asked, example, unclear, words, write
from roi.workbook.made import now
from roi.workbook.read_language import load_language
from roi.workbook.tongue import Tongue

WORKBOOK = "shop.xlsx"


def run(folder: Path, given: Mapping[str, str], workbook: bool, ask: bool, language: str = "") -> int:
    """Ask, check, write, say what comes next; the exit code.

    given : answers by option;  ask : whether the rest is asked for, at a terminal;  language : of the workbook
    """
    target = folder / (WORKBOOK if workbook else FILE)
    try:
        _check_target(folder, target)
        if language and not workbook:
            mend = "add --workbook, or leave it out: a scenario file's keys are the same in every language"
            raise BadInput([Problem(f"--language {language}", "is the language of a workbook", mend)])
        tongue = load_language(language)
        answers = _given(given)
        if ask and at_terminal():
            _ask(answers, given)
        text = write(answers, today=now().date())
        write_all([(target, _writer(target, text, answers, tongue))], making=folder)
    except BadInput as bad:
        return refuse(bad.problems)
    except Unclear as wrong:
        return refuse([Problem("roi new", str(wrong), wrong.mend)])
    _tell(target, answers, workbook)
    tell_missing(tongue)
    return DONE


def at_terminal() -> bool:
    """Whether somebody is there to answer."""
    return sys.stdin is not None and sys.stdin.isatty()


def _check_target(folder: Path, target: Path) -> None:
    """Raises BadInput where the starter can't be written: nothing is ever written over."""
    if folder.exists() and not folder.is_dir():
        raise BadInput([Problem(str(folder), "is a file, not a folder", "name a folder, or a new one")])
    if target.exists():
        mend = "name another folder, or move the file away; nothing is written over"
        raise BadInput([Problem(str(target), "is there already", mend)])
    if not folder.is_dir() and not folder.parent.is_dir():
        raise BadInput(
            [Problem(str(folder), f"the folder {folder.parent} does not exist", "make that folder first")]
        )


def _given(given: Mapping[str, str]) -> dict[str, str]:
    """Answers given as options, all checked; raises BadInput with what is wrong in any of them."""
    answers: dict[str, str] = {}
    problems: list[Problem] = []
    try:
        wanted = asked(given)
    except Unclear:  # of the shop or its methods: told below, where the answer stands
        wanted = [q for q in QUESTIONS if q.number == 0]
    for question in QUESTIONS:
        answer = given.get(question.option, NOT_KNOWN).strip()
        if not answer:
            continue
        if question not in wanted and question.number > 0:
            where = f"--{question.option}"
            if not problems:
                mend = "leave it out; it is asked of a shop that makes its plates, with baths where it is about chemistry"
                problems.append(Problem(where, "means nothing for the way plates are made today", mend))
            continue
        found = unclear(question, {**answers, question.option: answer, **_rate(given, question)})
        if found:
            problems += found
            if question.number == 0 or question.option == "plates":
                break  # what follows can't be judged without it
        else:
            answers[question.option] = answer
    if problems:
        raise BadInput(dict.fromkeys(problems))
    return answers


def _rate(given: Mapping[str, str], question: Question) -> dict[str, str]:
    """A currency can be judged only with its rate."""
    rate = given.get("per-dollar", NOT_KNOWN)
    return {"per-dollar": rate} if question.option == "currency" and rate else {}


def _ask(answers: dict[str, str], given: Mapping[str, str]) -> None:
    """Ask what isn't given, one question after another; what can't be read is told and asked again."""
    say(
        wrapped(
            "Ten questions, in a few parts each. Press Enter where you don't know: a default is taken, and called one."
        )
    )
    number = -1
    for question in QUESTIONS:
        if given.get(question.option) or question not in asked(answers):
            continue
        if question.number != number:
            number = question.number
            say()
            say(wrapped(f"{number}. {TITLES[number]}" if number else TITLES[0]), bold=True)
        while True:
            answer = _prompt(question, answers)
            if not answer and question.option == "per-dollar":
                answer = UNKNOWN
            elif not answer:
                break
            # A currency is judged with its rate, which is asked next.
            tried = {**answers, question.option: answer}
            if question.option == "currency":
                tried.setdefault("per-dollar", "1")
            found = unclear(question, tried)
            if not found:
                answers[question.option] = answer
                if question.option == "per-dollar":
                    say(wrapped(_of_the_rate(answer, answers["currency"].upper())))
                break
            for problem in found:
                say(told(Problem("That can't be used", problem.what, problem.mend)))


def _of_the_rate(answer: str, currency: str) -> str:
    """What is made of a rate, said at once: one typed the wrong way round is seen, and one not known too."""
    if answer != UNKNOWN:
        return said_back(read_rate(answer, currency), currency)
    return (
        f"There is no default for this, since rates change. For now one dollar counts as one {currency}; put the "
        "right number in before you trust an answer. The shop's note says so."
    )


def _prompt(question: Question, answers: Mapping[str, str]) -> str:
    text = words(question, answers)
    also = f" One of: {', '.join(question.choices)}." if question.choices else ""
    shown = example(question, answers)
    say(wrapped(f"{text}{also} For example: {shown}"))
    answer: str = click.prompt("  ", default="", show_default=False, prompt_suffix="> ")
    return answer.strip()


def _writer(target: Path, text: str, answers: Mapping[str, str], tongue: Tongue | None) -> Writer:
    if target.name != WORKBOOK:
        return text_writer(text)
    from roi.workbook.write import write_input_book

    return lambda file: write_input_book(answers, file, tongue)


def _tell(target: Path, answers: Mapping[str, str], workbook: bool) -> None:
    wanted = [q for q in asked(answers) if q.number > 0]
    known = sum(q.option in answers for q in wanted)
    say()
    say(f"Written: {target}", bold=True)
    left = "a default is taken for every other, and called one wherever it is used."
    say(wrapped(f"{known} of {count(len(wanted), 'question')} answered; {left}"))
    if workbook:
        if "plates" not in answers:
            say(
                wrapped(
                    "Fill in Plates a month, or paste your job log, before anything else: that has no default."
                )
            )
        elif "runs" not in answers:
            say(
                wrapped(
                    "Fill in the shares of forms by run on Plates a month, or paste your job log, before anything else: "
                    "they have no default."
                )
            )
    elif missing := [
        what for name, what in (("plates", "plates a month"), ("runs", "run lengths")) if name not in answers
    ]:
        say(
            wrapped(
                f"An example stands in for {' and '.join(missing)}: put in your own before you trust an answer."
            )
        )
    if answers.get("per-dollar") == UNKNOWN:
        currency = answers["currency"].upper()
        how = (
            "make the workbook again with --per-dollar" if workbook else f"put it in as per_dollar in {FILE}"
        )
        say(wrapped(f"One US dollar counts as 1 {currency} until you say what it is worth: {how}."))
    say(f"Next: roi check {target}")
    say(f"      roi compare {target} -o {target.parent / 'decision.xlsx'}")


__all__ = ["at_terminal", "run", "BAD"]
