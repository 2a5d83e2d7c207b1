"""Claims in plain words, such as "pays back in 18 months": what is understood, and whether those a scenario states are.

Amounts are years, currency a year, currency a plate or plates a month. Numbers have commas only between thousands (5,000) and a
point before decimals (6.50); what another country would read otherwise (6,50 or 5.000) is refused. Whether a claim is so is
left to `roi/answers`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from roi.scenario.files import Key, Raw
from roi.scenario.problems import BadInput, Problem
from roi.scenario.things import Method

MONTHS = 12
MOST = 1e15  # as of any number that a scenario states
_NUMBER = r"(?P<number>\d(?:[\d.,]*\d)?)"
_PLAIN = re.compile(r"\d+(?:\.\d+)?|\d{1,3}(?:,\d{3})+(?:\.\d+)?")
_EITHER = re.compile(r"[1-9]\d{0,2}\.\d{3}")  # thousands in one country, decimals in another
_FROM_NOUGHT = re.compile(r"0(?:,\d{3})+")
_MONEY = rf"(?:(?P<before>[A-Z]{{3}})\s+)?{_NUMBER}(?:\s+(?P<after>[A-Z]{{3}}))?"
_SPAN = r"(?P<unit>month|year)"
_EACH = r"\s+(?:a|per|each|every)\s+"
_WHO = r"(?:(?P<who>.+?)\s+)??"
# kind, what is understood, and how it is told to somebody whose claim is not.
_GRAMMAR = (
    ("payback", rf"{_WHO}pays?\s+(?:itself\s+)?back\s+(?:with)?in\s+{_NUMBER}\s+{_SPAN}s?", "pays back in 18 months"),
    ("saves", rf"{_WHO}saves?\s+(?:at\s+least\s+)?{_MONEY}{_EACH}year", "saves 5,000 a year"),
    ("cheapest", rf"{_WHO}(?:is|are)\s+(?:the\s+)?cheapest", "is the cheapest"),
    ("per_plate", rf"{_WHO}costs?\s+(?:no\s+more\s+than|at\s+most)\s+{_MONEY}{_EACH}plate", "costs no more than 6.50 a plate"),
    ("break_even", rf"{_WHO}breaks?\s+even\s+(?:at|by|from)\s+{_NUMBER}\s+plates?{_EACH}month",
     "breaks even at 400 plates a month"),
)  # fmt: skip
EXAMPLES = tuple(example for _, _, example in _GRAMMAR)
_SIGNS = "$€£¥"


@dataclass(frozen=True)
class Claim:
    """A claim as understood.

    kind : "payback", "saves", "cheapest", "per_plate" or "break_even"
    amount : years, currency a year, nought, currency a plate, or plates a month
    who : the words that name the method, "" where none do
    """

    text: str
    kind: str
    amount: float
    who: str


def read(text: str, currency: str) -> Claim:
    """Read a claim. Raises BadInput for one that is not understood, with what is, and for another currency."""
    said = " ".join(text.split()).rstrip(".!")
    where = f'claim "{said[:80]}"'
    if any(sign in said for sign in _SIGNS):
        what, mend = (
            "has a money sign, and signs stand for several currencies",
            f"write the code: 5,000 {currency}",
        )
        raise BadInput([Problem(where, what, mend)])
    for kind, pattern, _ in _GRAMMAR:
        found = re.fullmatch(pattern, said, re.IGNORECASE)
        if found is None:
            continue
        parts = found.groupdict()
        for code in (parts.get("before"), parts.get("after")):
            if code is not None and code.upper() != currency:
                what = f"is in {code.upper()}, the scenario in {currency}"
                raise BadInput([Problem(where, what, f"write the amount in {currency}")])
        amount = _amount(parts["number"], where) if parts.get("number") else 0.0
        if amount >= MOST:
            raise BadInput(
                [Problem(where, "has a number too large to reckon with", "write one of 15 digits or fewer")]
            )
        if not amount and kind in ("payback", "break_even"):
            what = "is about nought, which no method could be held to"
            raise BadInput([Problem(where, what, "write an amount above 0")])
        if kind == "payback" and parts["unit"].lower() == "month":
            amount /= MONTHS
        return Claim(said, kind, amount, " ".join((parts["who"] or "").split()))
    raise BadInput(
        [Problem(where, "is not understood", f"write it like one of these: {'; '.join(EXAMPLES)}")]
    )


def _amount(number: str, where: str) -> float:
    """A number as written, commas between thousands only. Raises BadInput for one that could be read in two ways."""
    if _PLAIN.fullmatch(number) and not _EITHER.fullmatch(number) and not _FROM_NOUGHT.fullmatch(number):
        return float(number.replace(",", ""))
    bare = number.replace(",", "").replace(".", "")
    *_, last = re.split(r"[.,]", number)
    as_decimals = f"{bare[: -len(last)]}.{last}"
    once, nought = sum(number.count(mark) for mark in ".,") == 1, number.startswith("0")
    if once and len(last) == 3 and not nought:
        decimals = as_decimals.rstrip("0").rstrip(".")
        # Three decimals would be refused again.
        mend = f"write {bare} or {decimals}{'0' if _EITHER.fullmatch(decimals) else ''}"
    elif len(last) == 3 and not nought:
        mend = f"write {bare}"
    else:
        mend = f"write {as_decimals}"
    what = f"has the number {number}, which could be read in two ways: commas stand between thousands, a point before decimals"
    raise BadInput([Problem(where, what, mend)])


def check_claims(
    values: Mapping[Key, Raw],
    methods: Sequence[Method],
    current: str,
    currency: str,
    problems: list[Problem],
) -> None:
    """A problem for each claim stated that is not understood, or is about a method it can't be about."""
    raw = values.get(("claims",))
    if raw is None:
        return
    where, texts = raw.at(("claims",)), raw.value
    if not isinstance(texts, list) or any(not isinstance(text, str) for text in texts):
        what, mend = "is not a list of texts", f'write claims = ["{EXAMPLES[0]}", "{EXAMPLES[2]}"]'
        problems.append(Problem(where, what, mend))
        return
    for text in texts:
        try:
            named(methods, current, read(text, currency))
        except BadInput as bad:
            problems += [Problem(f"{where}, {p.where}", p.what, p.mend) for p in bad.problems]


def named(methods: Sequence[Method], current: str, claim: Claim, method: str | None = None) -> str | None:
    """The id of the method a claim is about: the one given, else the one it names; None where none is.

    Raises BadInput for a method not known, for two, and for one that would be compared with itself.
    """
    where = f'claim "{claim.text[:80]}"'
    asked = [name for name in (method, claim.who) if name]
    found = [_named(methods, name) for name in asked]
    if None in found:
        unknown = asked[found.index(None)]
        short = ", ".join(f"{one.id} ({one.short})" for one in methods)
        raise BadInput([Problem(where, f'"{unknown[:40]}" is no method of this scenario', f"one of {short}")])
    if len(set(found)) > 1:
        raise BadInput([Problem(where, f"names {found[1]}, and --method {found[0]}", "name one of them")])
    if found and found[0] == current and claim.kind in ("payback", "saves", "break_even"):
        what = f"is about {current}, the method in use, which such a claim is compared with"
        raise BadInput([Problem(where, what, "name another method")])
    return found[0] if found else None


def _named(methods: Sequence[Method], words: str) -> str | None:
    said = re.sub(r"^(the|a)\s+", "", words.strip().lower())
    for one in methods:
        name = one.id.lower()
        if said in (name, name.replace("_", " "), one.short.lower(), one.label.lower()):
            return one.id
    return None


__all__ = ["EXAMPLES", "Claim", "check_claims", "named", "read"]
