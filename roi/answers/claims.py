"""Claims in plain words, such as "pays back in 18 months", and what would have to be true for one to be so.

A claim is about one method in cash, after tax; paybacks, savings and break-even are against the method in use. For each
input alone the value nearest to best is sought at which the claim becomes so or, where it is so as stated, ceases to be.
Inputs are in the unit people see, percentages as such: 10 for 10 %. How inputs move together is in `joint`.

Numbers in a claim have commas only between thousands (5,000) and a point before decimals (6.50). What another country would
read otherwise (6,50 or 5.000) is refused, and the amount is told as it was understood.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np

from roi.answers.goals import Goal, goal
from roi.answers.joint import Joint, joint
from roi.answers.searched import searched, shown, turning
from roi.engine.evaluate import Program
from roi.engine.switches import Search
from roi.model.study import Study
from roi.scenario.problems import BadInput, Problem
from roi.scenario.stated import StatedInput

MONTHS = 12
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


@dataclass(frozen=True)
class Alone:
    """An input and the value at which, it alone being moved, the claim becomes so (or ceases to be); None for no value.

    within : whether that lies within its own low and high; told : `at` rounded away from best to as few digits as do it
        when put back, which is what people are told
    change_percent : the change in per cent of best, None where best is nought; share_of_range : of low to high
    """

    stated: StatedInput
    best: float
    at: float | None
    within: bool
    change_percent: float | None
    share_of_range: float | None
    told: float | None = None


@dataclass(frozen=True)
class Needed:
    """What would have to be true.

    so : whether the claim is so at the best values; then `alone` and `joint` tell where it ceases to be
    figure : the figure the claim speaks of at best (payback in years, savings or lead in currency a year, cost a plate, or how
        much less the method's present cost is at the volume claimed); None where there is none
    alone : those with a value first, the least share of their own range first
    """

    claim: Claim
    method: str
    so: bool
    figure: float | None
    alone: tuple[Alone, ...]
    joint: Joint

    @property
    def met(self) -> list[Alone]:
        """The inputs that alone could do it, however far they go."""
        return [each for each in self.alone if each.at is not None]


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


def stated_claims(study: Study) -> list[Claim]:
    """The claims that a scenario states, read. Raises BadInput with every one that is not understood."""
    scenario = study.scenario
    texts = scenario.plain("claims", default=[])
    where = f"{scenario.path.name}, claims"
    if not isinstance(texts, list) or any(not isinstance(text, str) for text in texts):
        what, mend = "is not a list of texts", f'write claims = ["{EXAMPLES[0]}", "{EXAMPLES[2]}"]'
        raise BadInput([Problem(where, what, mend)])
    found, problems = [], []
    for text in texts:
        try:
            claim = read(text, scenario.currency)
            whose(study, claim)
            found.append(claim)
        except BadInput as bad:
            problems += bad.problems
    if problems:
        raise BadInput([Problem(f"{where}, {p.where}", p.what, p.mend) for p in problems])
    return found


def whose(study: Study, claim: Claim, method: str | None = None) -> str:
    """The method a claim is about: the one given, else the one it names, else the cheapest but for the current one.

    Raises BadInput for a method not known, for two, and for one that would be compared with itself.
    """
    where, ids = f'claim "{claim.text[:80]}"', list(study.methods)
    asked = [name for name in (method, claim.who) if name]
    found = [_named(study, name) for name in asked]
    if None in found:
        unknown = asked[found.index(None)]
        short = ", ".join(f"{name} ({study.methods[name].method.short})" for name in ids)
        raise BadInput([Problem(where, f'"{unknown[:40]}" is no method of this scenario', f"one of {short}")])
    if len(set(found)) > 1:
        raise BadInput([Problem(where, f"names {found[1]}, and --method {found[0]}", "name one of them")])
    current = study.scenario.current
    if found and found[0] == current and claim.kind in ("payback", "saves", "break_even"):
        what = f"is about {current}, the method in use, which such a claim is compared with"
        raise BadInput([Problem(where, what, "name another method")])
    if found and found[0] is not None:
        return found[0]
    lines = {name: study.methods[name].lines for name in ids if name != current}
    values = study.evaluate()
    cost = {
        name: (float(values[each["feasible"]][0]) != 1, float(values[each["present"]][0]))
        for name, each in lines.items()
    }
    return min(cost, key=lambda name: cost[name])


def _named(study: Study, words: str) -> str | None:
    said = re.sub(r"^(the|a)\s+", "", words.strip().lower())
    for name, sheet in study.methods.items():
        if said in (
            name.lower(),
            name.lower().replace("_", " "),
            sheet.method.short.lower(),
            sheet.method.label.lower(),
        ):
            return name
    return None  # fmt: skip


def needed(study: Study, claim: Claim, method: str | None = None) -> Needed:
    """What would have to be true for a claim to be so. Raises BadInput as `whose` does."""
    name = whose(study, claim, method)
    wanted = goal(study, claim.kind, claim.amount, name)
    found = Program(study.book, wanted.lines).run({k: np.array([v]) for k, v in wanted.held.items()})
    so, figure = bool(wanted.holds(found)[0]), float(wanted.figure(found).flat[0])
    return Needed(
        claim=claim,
        method=name,
        so=so,
        figure=figure if np.isfinite(figure) else None,
        alone=tuple(sorted(_alone(study, wanted, so), key=_rank)),
        joint=joint(study, wanted, so),
    )


def _alone(study: Study, wanted: Goal, so: bool) -> list[Alone]:
    inputs, ranges = searched(study, without=tuple(wanted.held))
    search = Search(
        study.book, wanted.lines, ranges, lambda values: [wanted.holds(values).astype(np.int64)], wanted.held
    )
    nearest: dict[int, float] = {}
    for change in search.changes():
        best = ranges[change.place].best
        known = nearest.get(change.place)
        if known is None or abs(change.beyond - best) < abs(known - best):
            nearest[change.place] = change.beyond
    found = []
    places = np.array(sorted(nearest), np.int64)
    beyond = [nearest[int(place)] for place in places]
    turned = np.full(len(places), not so, np.int64)
    judged = turning(inputs, ranges, places, beyond, turned, lambda place, x: search.judged(place, x)[0])
    told = dict(zip(places.tolist(), judged, strict=True))
    for place, (stated, each) in enumerate(zip(inputs, ranges, strict=True)):
        at = nearest.get(place)
        if at is None:
            found.append(Alone(stated, shown(stated, each.best), None, False, None, None))
            continue
        moved = at - each.best
        percent = moved / abs(each.best) * 100 if each.best else None
        share = abs(moved) / (each.high - each.low) if each.high > each.low else None
        within = each.low <= at <= each.high
        found.append(
            Alone(stated, shown(stated, each.best), shown(stated, at), within, percent, share, told[place])
        )
    return found


def _rank(each: Alone) -> tuple[bool, float, float]:
    share = np.inf if each.share_of_range is None else each.share_of_range
    return (each.at is None, share, abs(each.change_percent) if each.change_percent is not None else np.inf)


__all__ = ["EXAMPLES", "Alone", "Claim", "Needed", "needed", "read", "stated_claims", "whose"]
