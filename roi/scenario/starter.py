"""A scenario to start with, written from answers to the ten questions: TOML text in which every unknown is left out, visibly.

Answers are texts as typed. What is not answered stands as a comment with a blank, so that the default counts and shows as
one; plates a month and run lengths have no default, and an example stands in, said in the scenario's note. Nothing is
costed; whether the numbers can be is judged by reading the text as any scenario.
"""

from __future__ import annotations

import datetime as dt
import json
import re
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from roi.scenario.dollar_rate import UNKNOWN, NotARate, read_rate
from roi.scenario.files import SCHEMA
from roi.scenario.problems import BadInput, Problem
from roi.scenario.questions import IN_THE_QUOTE, METHODS, NOT_KNOWN, QUESTIONS, TITLES, Question
from roi.scenario.scenario import Scenario, read
from roi.scenario.summary import EXAMPLE_KEYS, RUNS
from roi.units.quantity import UnreadableQuantity, currencies, read_size, split_number

BLANK = "____"
FILE = "shop.toml"
# Taken where nothing is answered: what the shop is, and a month's work that only shows what an answer looks like.
STAND_INS = {
    "name": "My shop", "currency": "USD", "today": "polyester", "plates": "10 in x 15 in: 200; 13 in x 19 3/8 in: 200",
    "runs": "50 40 8 2 0",
}  # fmt: skip
_IN_MILLIMETRES = "254 mm x 381 mm: 200; 330 mm x 492 mm: 200"
PRESS_QUESTION = 8
_PRESS = ('label = "Press"', "# printing_units = 2 # colours in one pass; not answered: default")
_STATES = {"spare": 1, "overtime": 2, "sold out": 3}
_NOTE = "Not answered yet, and an example taken: {}."
_STOOD_IN = {"plates": "plates a month", "runs": "run lengths"}
_EXAMPLES = dict(zip(_STOOD_IN, EXAMPLE_KEYS, strict=True))
_WORDS = re.compile(r"\s*[;,]\s*|\s+")


class Unclear(Exception):
    """An answer that can't be read; `mend` says what to write."""

    def __init__(self, what: str, mend: str) -> None:
        super().__init__(what)
        self.mend = mend


@dataclass(frozen=True)
class Size:
    """A plate size as answered: an id, its sides as written, plates a month as written."""

    id: str
    format: str
    plates: str


def asked(answers: Mapping[str, str]) -> list[Question]:
    """The questions that make sense, given what has been answered of the shop and its methods."""
    facts = METHODS[_now(answers)]
    kept = []
    for question in QUESTIONS:
        if question.option == "per-dollar" and _answer(answers, "currency") in ("USD", NOT_KNOWN):
            continue
        if (question.only == "machine" and not facts.machine) or (
            question.only == "chemistry" and not facts.chemistry
        ):
            continue
        kept.append(question)
    return kept


def words(question: Question, answers: Mapping[str, str]) -> str:
    """The question as it is asked, in the words of the methods chosen."""
    return question.words.format(**_fill(answers))


def example(question: Question, answers: Mapping[str, str]) -> str:
    """An example answer, with as many parts as there are sizes."""
    if question.option == "quoted":
        return _quoted({**answers, "quoted": NOT_KNOWN})
    if question.option == "plates":
        return stand_in(answers, "plates")
    return question.example


def unclear(question: Question, answers: Mapping[str, str]) -> list[Problem]:
    """What is wrong with the answer to one question; answers to the questions before it must be good."""
    where = f"--{question.option} {json.dumps(_answer(answers, question.option), ensure_ascii=False)}"
    shop = {q.option for q in QUESTIONS if q.number == 0 or q.option == "plates"}
    alone = {name: text for name, text in answers.items() if name in shop or name == question.option}
    try:
        text = write(alone, today=dt.date(2026, 1, 1))
    except Unclear as wrong:
        return [Problem(where, str(wrong), wrong.mend)]
    try:
        checked(text)
    except BadInput as bad:
        return [Problem(where, p.what, p.mend) for p in bad.problems]
    return []


def checked(text: str) -> Scenario:
    """A starter's text read as the scenario it is. Raises BadInput."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / FILE
        path.write_text(text, encoding="utf-8")
        return read(path)


def write(answers: Mapping[str, str], *, today: dt.date) -> str:
    """The scenario's text. `today` is the date that answers bear. Raises Unclear for an answer that can't be read."""
    fill = _fill(answers)
    sizes = sizes_of(answers)
    stands_in = [what for name, what in _STOOD_IN.items() if not _answer(answers, name)]
    unknown_rate = fill["currency"] != "USD" and _answer(answers, "per-dollar") == UNKNOWN
    if unknown_rate:
        stands_in.append(f"what a US dollar is worth in {fill['currency']}, for the default prices")
    lines = [
        "# A shop as it answered the ten questions. A line that begins with # and holds a blank is not answered: its default",
        f"# counts and is called one. To answer it, put the number in place of {BLANK} and take the # away.",
        "# Then: roi check shop.toml, and roi compare shop.toml -o decision.xlsx",
        f"schema = {SCHEMA}",
        f"name = {_text(_or_stand_in(answers, 'name'))}",
        f"currency = {_text(fill['currency'])}",
    ]
    if fill["currency"] != "USD":
        mark = " # NOT ANSWERED: 1 stands in, put in what one US dollar is worth" if unknown_rate else ""
        lines.append(f"per_dollar = {_rate(answers)}{mark}")
    lines.append(f"current = {_text(fill['now'])}" + _default_mark(answers, "today"))
    if stands_in:
        lines.append(f"note = {_text(_NOTE.format(_joined(stands_in)))}")
    lines += ["", f"# 1. {TITLES[1]}.", "[sizes]", *(f"{s.id} = {_text(s.format)}" for s in sizes)]
    lines += ["", "[summary]"]
    plates = ", ".join(f"{s.id} = {s.plates}" for s in sizes)
    lines.append(f"plates_per_month = {{ {plates} }}" + _example_mark(answers, "plates"))
    lines += [f"# 2. {TITLES[2]}.", f"runs = {_runs(answers)}" + _example_mark(answers, "runs")]
    if examples := [key for option, key in _EXAMPLES.items() if not _answer(answers, option)]:
        lines.append(f"example = {json.dumps(examples)} # counts as one until you put in your own above")
    for question in QUESTIONS:
        if question.kind == "work":
            if question.option == "tight":
                lines.append("# 3. Shares in tight four-colour register, above 150 lpi, with UV ink.")
            lines.append(_line(question.key, _work_share(answers, question), '"' + BLANK + ' %"'))
    for number in range(4, len(TITLES)):
        lines += ["", f"# {number}. {TITLES[number]}.", *_group(number, answers, fill, sizes, today)]
    for method in dict.fromkeys((fill["now"], fill["quoted"], "bought_in")):
        if f"[methods.{method}" not in "\n".join(lines):
            lines += ["", f"[methods.{method}]"]
    lines += ["", f"# Shipped besides: {', '.join(m for m in METHODS if m not in (fill['now'], fill['quoted'], 'bought_in'))}; "
              "write [methods.NAME] to compare it too."]  # fmt: skip
    return "\n".join(lines) + "\n"


def sizes_of(answers: Mapping[str, str]) -> list[Size]:
    """The plate sizes answered: "10 in x 15 in: 220; large = 13 in x 19 3/8 in: 180". Raises Unclear."""
    found: list[Size] = []
    areas: list[float] = []
    names: list[str] = []
    mend = "write each size with its plates a month, like 10 in x 15 in: 220; 13 in x 19 3/8 in: 180"
    for part in filter(str.strip, _or_stand_in(answers, "plates").split(";")):
        parts = re.fullmatch(r"\s*(?:([A-Za-z][A-Za-z0-9_-]*)\s*=)?\s*([^:=]+?)\s*:\s*(.+?)\s*", part)
        if not parts:
            raise Unclear(f'"{part.strip()}" is not a size and a number', mend)
        try:
            sides = read_size(parts[2])
            plates, unit = split_number(parts[3])
        except UnreadableQuantity as wrong:
            raise Unclear(str(wrong), wrong.mend or mend) from None
        if plates < 0 or unit not in ("", "plates", "plate", "plates/month", "plate/month", "a month"):
            raise Unclear(f'"{parts[3]}" is not plates a month', mend)
        found.append(Size("", parts[2], f"{plates:g}"))
        areas.append(sides[0] * sides[1])
        names.append(parts[1] or "")
    if not found:
        raise Unclear("no size is stated", mend)
    ranks = {place: rank for rank, place in enumerate(sorted(range(len(found)), key=areas.__getitem__))}
    usual = {1: ("plate",), 2: ("small", "large"), 3: ("small", "medium", "large")}.get(len(found))
    ids = [name or (usual[ranks[i]] if usual else f"size_{i + 1}") for i, name in enumerate(names)]
    if len(set(ids)) < len(ids):
        raise Unclear("two sizes have one name", "give each its own, like small = 10 in x 15 in: 220")
    return [Size(name, size.format, size.plates) for name, size in zip(ids, found, strict=True)]


def tables(question: Question, answers: Mapping[str, str]) -> list[tuple[str, str]]:
    """Where an answer goes, as (table, key): one place, or one a size. Empty for questions of the shop and its work."""
    if not question.table:
        return []
    table = question.table.format(**_fill(answers))
    if question.kind == "each":
        return [(table, size.id) for size in sizes_of(answers)]
    return [(table, question.key)]


def _group(
    number: int, answers: Mapping[str, str], fill: Mapping[str, str], sizes: list[Size], today: dt.date
) -> list[str]:
    """The lines of one of the ten, by table."""
    by_table: dict[str, list[str]] = {"presses.press": list(_PRESS)} if number == PRESS_QUESTION else {}
    for question in asked(answers):
        if question.number != number or not question.table:
            continue
        table = question.table.format(**fill)
        lines = by_table.setdefault(table, [])
        unit = question.unit.format(**fill)
        answer = _answer(answers, question.option)
        values = _values(question, answer, unit, len(sizes))
        for (_, key), value in zip(tables(question, answers), values, strict=True):
            stated = None if value is None else _stated(value, question, today)
            blank = BLANK if question.kind == "state" else f'"{BLANK} {unit or "%"}"'
            lines.append(
                _line(key, stated, blank + " # 1 spare, 2 overtime, 3 sold out;" * (question.kind == "state"))
            )
        if question.option == "hands-on" and answer:
            for other in METHODS[fill["now"]].others:
                rest = f"methods.{fill['now']}.stations.{other}"
                by_table[rest] = [_line("hands_on", _stated('"0 min/plate"', question, today), "")]
        if question.option == "quote" and answer:
            nothing = _text(f"0 {unit}")
            lines += [_line(key, _stated(nothing, question, today), "") for key in IN_THE_QUOTE]
        elif question.option == "quote":
            # The price alone is not the quote: what it holds besides would be counted once more, at its default.
            ask = f'"{BLANK} {unit}" # put in 0 where the price above holds it;'
            lines += [_line(key, None, ask) for key in IN_THE_QUOTE]
    return [line for table, lines in by_table.items() for line in (f"[{table}]", *lines)]


def _values(question: Question, answer: str, unit: str, sizes: int) -> list[str | None]:
    """What an answer states: a TOML value for each place, None where it isn't known."""
    if question.kind == "each":
        if not answer:
            return [None] * sizes
        parts = [part.strip() for part in answer.split(";")]
        if len(parts) != sizes:
            what = f"{len(parts)} price{'' if len(parts) == 1 else 's'} for {sizes} size{'' if sizes == 1 else 's'}"
            raise Unclear(what, "write one for each, in the order of the sizes, with ; between: 1.35; 2.20")
        return [_amount(part, unit) if part and part != "-" else None for part in parts]
    if not answer:
        return [None]
    if question.kind == "state":
        found = next((n for name, n in _STATES.items() if name == answer.strip().lower()), None)
        if found is None:
            raise Unclear(
                f'"{answer}" is none of the choices',
                f"write {', '.join(_STATES)}, or nothing if you don't know",
            )
        return [str(found)]
    return [_text(_share(answer)) if question.kind == "share" else _amount(answer, unit)]


def _amount(answer: str, unit: str) -> str:
    """An amount with a unit: the one it names, else the one asked for."""
    try:
        _, named = split_number(answer.strip())
    except UnreadableQuantity as wrong:
        # A sign of money or a decimal comma is told better by the reader of scenarios.
        if re.search(r"\d", answer):
            return _text(answer.strip())
        raise Unclear(str(wrong), wrong.mend) from None
    return _text(answer.strip() if named else f"{answer.strip()} {unit}")


def _share(answer: str) -> str:
    text = answer.strip()
    if re.fullmatch(r"0?\.\d+", text):
        raise Unclear(
            f'"{text}" may be a share or per cent', f'write "{float(text) * 100:g} %" or "{float(text):g} %"'
        )
    return text if text.endswith("%") else f"{text} %"


def _work_share(answers: Mapping[str, str], question: Question) -> str | None:
    answer = _answer(answers, question.option)
    return _text(_share(answer)) if answer else None


def _runs(answers: Mapping[str, str]) -> str:
    answer = _or_stand_in(answers, "runs")
    parts = [part.rstrip("%") for part in _WORDS.split(answer.replace(" %", "%").strip()) if part]
    mend = f"write {len(RUNS)} numbers that add up to 100, like 48 40 9 3 0"
    if len(parts) != len(RUNS) or not all(re.fullmatch(r"\d+(\.\d+)?", part) for part in parts):
        raise Unclear(f'"{answer}" is not {len(RUNS)} numbers', mend)
    total = sum(map(float, parts))
    if abs(total - 100) > 0.5:
        raise Unclear(f"the shares add up to {total:g}", mend)
    return "{ " + ", ".join(f'{name} = "{part} %"' for name, part in zip(RUNS, parts, strict=True)) + " }"


def _rate(answers: Mapping[str, str]) -> str:
    try:
        return read_rate(_answer(answers, "per-dollar"), _answer(answers, "currency").upper())
    except NotARate as wrong:
        raise Unclear(str(wrong), wrong.mend) from None


def _joined(things: list[str]) -> str:
    return " and ".join([", ".join(things[:-1]), things[-1]] if len(things) > 1 else things)


def _stated(value: str, question: Question, today: dt.date) -> str:
    source = f"the shop's own answer to roi new, question {question.number}"
    return (
        f'{{ best = {value}, status = "{question.status}", source = "{source}", date = {today.isoformat()} }}'
    )


def _line(key: str, value: str | None, blank: str) -> str:
    if value is not None:
        return f"{key} = {value}"
    return f"# {key} = {blank}{'' if '#' in blank else ' #'} not answered: default"


def _fill(answers: Mapping[str, str]) -> dict[str, str]:
    now, quoted = _now(answers), _quoted(answers)
    facts, other = METHODS[now], METHODS[quoted]
    currency = _or_stand_in(answers, "currency").upper()
    if currency not in currencies():
        raise Unclear(f'"{currency}" is no ISO 4217 code', "write a code such as USD, EUR, GBP or CAD")
    return {
        "now": now, "quoted": quoted, "currency": currency, "now_machine": facts.machine, "quoted_machine": other.machine,
        "now_station": facts.station, "now_task": facts.task, "now_task_unit": facts.task_unit,
    }  # fmt: skip


def _now(answers: Mapping[str, str]) -> str:
    return _chosen(_or_stand_in(answers, "today"), tuple(METHODS))


def _quoted(answers: Mapping[str, str]) -> str:
    now, answer = _now(answers), _answer(answers, "quoted")
    if not answer:
        return "direct" if now != "direct" else "processed"
    chosen = _chosen(answer, tuple(name for name, facts in METHODS.items() if facts.machine))
    if chosen == now:
        raise Unclear(f"{chosen} is what is done today", "name the other method, or leave this out")
    return chosen


def _chosen(answer: str, choices: tuple[str, ...]) -> str:
    name = answer.strip().lower().replace(" ", "_").replace("-", "_")
    if name not in choices:
        raise Unclear(f'"{answer}" is none of the choices', f"write one of {', '.join(choices)}")
    return name


def _answer(answers: Mapping[str, str], option: str) -> str:
    return answers.get(option, NOT_KNOWN).strip()


def _or_stand_in(answers: Mapping[str, str], option: str) -> str:
    return _answer(answers, option) or stand_in(answers, option)


def stand_in(answers: Mapping[str, str], option: str) -> str:
    """What is taken where nothing is answered; sizes in the measures that go with the currency."""
    abroad = option == "plates" and _answer(answers, "currency").upper() not in ("", "USD")
    return _IN_MILLIMETRES if abroad else STAND_INS[option]


def _default_mark(answers: Mapping[str, str], option: str) -> str:
    return "" if _answer(answers, option) else " # not answered: taken until you say"


def _example_mark(answers: Mapping[str, str], option: str) -> str:
    return "" if _answer(answers, option) else " # NOT ANSWERED: an example stands in, put in your own"


def _text(text: str) -> str:
    # JSON escapes what TOML wants escaped, DEL apart.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


__all__ = [
    "BLANK", "FILE", "Unclear", "asked", "checked", "example", "sizes_of", "stand_in", "tables", "unclear", "words", "write",
]  # fmt: skip
