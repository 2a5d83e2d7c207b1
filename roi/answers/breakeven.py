"""At which volume, price or other input one method becomes cheaper than another: figures, JSON and sentences.

Compared is the present cost after tax in cash; a method that can't do the work is never the cheaper. Values of the
quantity varied are in the unit people see; money is in the scenario's currency, costs positive. How steps are found is in
`engine.steps`.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

from roi.answers.few import decimals_of
from roi.engine.steps import SAMPLES, Trace, Turns
from roi.engine.words import fixed
from roi.model.study import Study
from roi.scenario.problems import BadInput, Problem
from roi.scenario.stated import StatedInput

VOLUME, RUN_LENGTH, HORIZON = "work.volume", "work.run_length", "money.horizon"
MONTHS = 12
TIMES = 4  # how many times over, or under, what is stated an input is looked at
SAME = "both cost the same"
NEAR = 1e-6  # of the shop's own value: a crossing nearer reads as the same figure
DIGITS = 4  # of a value in a sentence; more only where two would read the same


@dataclass(frozen=True)
class Quantity:
    """What is varied: an input, told in the unit people see.

    low, high, own : the range looked at and the shop's own value, in `unit`
    scale : what one `unit` is in the engine's unit of the input
    whole : only whole numbers are looked at
    """

    key: str
    label: str
    unit: str
    low: float
    high: float
    own: float
    scale: float
    whole: bool = False


@dataclass(frozen=True)
class Crossing:
    """A value at which the cheaper of two methods changes.

    at : in the quantity's unit; of a whole quantity, the first value at which `above` holds
    kind : "tie" where both cost the same to a cent, "jump" where a step passes one over the other, "stretch" where many steps
        pass one over the other time and again from `at` to `last`
    below, above : the method cheaper there, None where neither can do the work
    costs_below, costs_above : both present costs put back just below and just above, at a tie in it
    """

    at: float
    kind: str
    below: str | None
    above: str | None
    costs_below: tuple[float, float]
    costs_above: tuple[float, float]
    last: float | None = None


@dataclass(frozen=True)
class BreakEven:
    """Every crossing of two methods over the range of a quantity, in rising order.

    always : where there is no crossing, the method that is always the cheaper; None where neither can do the work,
        or where both cost the same and neither is the current method
    note : which of these, and which method can't do the work; "" where there is nothing to say
    never, partly : methods that can do the work nowhere in the range, and in a part of it only
    """

    between: tuple[str, str]
    quantity: Quantity
    crossings: tuple[Crossing, ...]
    always: str | None
    note: str
    never: tuple[str, ...] = ()
    partly: tuple[str, ...] = ()


def quantity(study: Study, by: str | None = None) -> Quantity:
    """What to vary and how far: plates a month, or an input by its dotted key. Raises BadInput.

    An input goes from a quarter to four times what is stated or, where it may be negative or is nought, as far as
    four times its own low and high lie from that; never less far than low and high, and within its limits.
    """
    stated = {i.key: i for i in study.scenario.inputs.values()}
    if by in (None, VOLUME):
        plates = float(study.evaluate()[study.shop.plates_called][0]) / MONTHS
        found, own = stated[VOLUME], stated[VOLUME].best
        low, high = _share(study, "least_volume") * own, _share(study, "most_volume") * own
        ends = (low * plates, high * plates, own * plates)
        return Quantity(VOLUME, "plates called for in year 1", "plates/month", *ends, found.factor / plates)
    where = f"--by {by}"
    if by not in study.book.inputs:
        raise BadInput([_unknown(study, where, by, stated)])
    found = stated[by]
    low, high = reach(study, found)
    if not low < high:
        mend = "state its low and high in the scenario"
        raise BadInput([Problem(where, f"is stated as {found.best:g}, without a range to look at", mend)])
    shown = 100 if found.percent else 1
    ends = (low * shown, high * shown, found.best * shown)
    return Quantity(by, found.label, found.shown, *ends, found.factor / shown, found.whole)


def _share(study: Study, name: str) -> float:
    return study.scenario.inputs[("work", name)].best


def reach(study: Study, found: StatedInput) -> tuple[float, float]:
    """In the unit stated, a percentage as a fraction."""
    best, least, most = found.best, found.least, found.most
    if found.key == RUN_LENGTH:
        return _share(study, "shortest_run") * best, _share(study, "longest_run") * best
    if found.whole:
        # No sheet has more years than these.
        last = float(len(study.shop.years) - 1)
        return least or 0.0, last if found.key == HORIZON else best if most is None else most
    if best > 0 and (least is None or least >= 0):
        low, high = best / TIMES, best * TIMES
    else:
        low, high = best - TIMES * (best - found.low), best + TIMES * (found.high - best)
    low, high = min(low, found.low), max(high, found.high)
    return low if least is None else max(low, least), high if most is None else min(high, most)


def _unknown(study: Study, where: str, by: str, stated: dict[str, StatedInput]) -> Problem:
    if by in stated:
        return Problem(where, "is stated, but no figure rests on it", "name an input that a method uses")
    keys = list(study.book.inputs)
    near = difflib.get_close_matches(by, keys, 5, cutoff=0.6) + [k for k in keys if by.strip() and by in k]
    listed = ", ".join(list(dict.fromkeys(near))[:5])
    mend = f"was one of these meant: {listed}?" if listed else 'write a key such as "grades.prepress.wage"'
    return Problem(where, "is no input of this scenario", mend)


def break_even(study: Study, by: str | None = None, samples: int = SAMPLES) -> list[BreakEven]:
    """Every crossing of each pair of methods, pairs in the scenario's order. Raises BadInput for a bad key.

    `samples` is how many points are looked at before steps are sought. Ties over a stretch go to the current method.
    """
    over = quantity(study, by)
    ids = list(study.methods)
    traced = Trace(
        study.book,
        [sheet.lines["present"] for sheet in study.methods.values()],
        over.key,
        over.low * over.scale,
        over.high * over.scale,
        able=[sheet.lines["feasible"] for sheet in study.methods.values()],
        also=[over.own * over.scale],
        samples=samples,
        whole=over.whole,
    )
    current = ids.index(study.scenario.current)
    return [
        _of_pair((ids[a], ids[b]), over, traced.turns(a, b, current if current in (a, b) else None))
        for a, b in combinations(range(len(ids)), 2)
    ]


def _of_pair(names: tuple[str, str], over: Quantity, found: Turns) -> BreakEven:
    def named(position: int | None) -> str | None:
        return None if position is None else names[position]

    crossings = tuple(
        Crossing(
            t.at / over.scale,
            t.kind,
            named(t.below),
            named(t.above),
            t.costs_below,
            t.costs_above,
            None if t.last is None else t.last / over.scale,
        )
        for t in found.turns
    )
    able = list(zip(names, found.able, found.everywhere, strict=True))
    never = tuple(name for name, some, _ in able if not some)
    partly = tuple(name for name, some, throughout in able if some and not throughout)
    notes = [f"{name} can't do the work" for name in never]
    notes += [f"{name} can do the work over a part of the range only" for name in partly]
    note = SAME if found.alike and not never else "; ".join(notes)
    return BreakEven(names, over, crossings, named(found.always), note, never, partly)


def as_json(found: Iterable[BreakEven]) -> dict[str, Any]:
    """The result as a plain dictionary, unrounded; `own` is the shop's own value, `key` the input varied."""
    return {
        "break_even": [
            {
                "between": list(pair.between),
                "quantity": pair.quantity.label,
                "key": pair.quantity.key,
                "unit": pair.quantity.unit,
                "range": [pair.quantity.low, pair.quantity.high],
                "own": pair.quantity.own,
                "crossings": [
                    {"at": c.at, "kind": c.kind, "below": c.below, "above": c.above}
                    | ({} if c.last is None else {"last": c.last})
                    for c in pair.crossings
                ],
                "always": pair.always,
                "note": pair.note or None,
            }
            for pair in found
        ]
    }


# --- in words ------------------------------------------------------------------------------------


def sentences(study: Study, found: Iterable[BreakEven]) -> list[str]:
    """One sentence a pair: who costs less where, every crossing in rising order, and the shop's own value."""
    return [_sentence(study, pair) for pair in found]


def _sentence(study: Study, pair: BreakEven) -> str:
    over = pair.quantity
    about = "" if over.key == VOLUME else f"{over.label}: "
    said = _several(study, pair) if pair.crossings else _always(study, pair)
    said = about + said if about else _capital(said)

    def names(ids: Iterable[str]) -> str:
        return " and ".join(inside(study.methods[name].method.short) for name in ids)

    if pair.crossings and pair.never:
        said += f"; {names(pair.never)} can't do the work"
    if pair.partly:
        said += f"; {names(pair.partly)} can do the work over a part of the range only"
    return said + "."


def _several(study: Study, pair: BreakEven) -> str:
    over = pair.quantity
    own, *places = told([over.own, *ends_of(pair.crossings)], over)
    short = {name: inside(sheet.method.short) for name, sheet in study.methods.items()}
    points: list[str] = []
    names = [short.get(pair.crossings[0].below or "")]
    for c, text in zip(pair.crossings, by_crossing(pair.crossings, places), strict=True):
        if c.last is None:
            points.append(f"a step at {text[0]}" if c.kind == "jump" and not over.whole else text[0])
        elif c.below == c.above:
            points += text
            names.append("either")
        else:
            points.append(f"somewhere between {text[0]} and {text[1]}")
        names.append(short.get(c.above or ""))
    points[0] = _with_unit(points[0], over)
    mine = (
        f"the shop's own volume is {own}"
        if over.key == VOLUME
        else f"as stated it is {_with_unit(own, over)}"
    )
    if len(points) == 1 and pair.crossings[0].last is None:
        first, last = names
        under = f"{first} costs less" if first else "neither can do the work"
        upper = last or "neither can do the work"
        if first is None:
            upper += " costs less"
        further = "from there on" if over.whole else "above it"
        gap = over.own - pair.crossings[0].at
        if not over.whole and abs(gap) <= NEAR * abs(over.own):
            mine += ", just " + ("above it" if gap > 0 else "below it")
        return f"below {points[0]} {under}, {further} {upper}; {mine}"
    verb = "costs less" if names[0] else "can do the work"
    parts = [
        f"{name or 'neither'} up to {point}" for name, point in zip(names[1:-1], points[1:], strict=True)
    ]
    parts.insert(0, f"{names[0] or 'neither'} {verb} up to {points[0]}")
    return f"{', '.join(parts)}, and {names[-1] or 'neither'} above; {mine}"


def _always(study: Study, pair: BreakEven) -> str:
    over = pair.quantity
    low, high = told([over.low, over.high], over)
    span = f"between {low} and {_with_unit(high, over)}"
    one, other = (inside(study.methods[name].method.short) for name in pair.between)
    if pair.note == SAME:
        return f"{one} and {other} cost the same {span}"
    if pair.always is None:
        return f"neither {one} nor {other} can do the work {span}"
    if pair.always == pair.between[1]:
        one, other = other, one
    if pair.never:
        return f"{one} alone can do the work {span}, {other} can't"
    return f"{one} always costs less than {other} {span}"


def ends_of(crossings: Iterable[Crossing]) -> list[float]:
    """Where each crossing is: one value, or of a stretch the first and the last."""
    return [x for c in crossings for x in (c.at, c.last) if x is not None]


def by_crossing(crossings: Iterable[Crossing], told_ends: Iterable[str]) -> list[list[str]]:
    """What was told of `ends_of` these crossings, put back with each."""
    left = iter(told_ends)
    return [[next(left) for x in (c.at, c.last) if x is not None] for c in crossings]


def _with_unit(text: str, over: Quantity) -> str:
    unit = "plates a month" if over.key == VOLUME else over.unit
    return f"{text} {'years' if unit == 'year' and text != '1' else unit}".strip()


def inside(name: str) -> str:
    """A name as it stands inside a sentence: "Used metal" becomes "used metal", "UV line" stays."""
    return name[:1].lower() + name[1:] if name[1:2].islower() else name


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def told(values: Sequence[float], over: Quantity) -> list[str]:
    """Values of the quantity for readers: plates whole if not few, others to four digits; more where two would read the same."""
    # A step lies a rounding away from the figure it is stated as: six digits tell whether two values differ.
    distinct = len({float(f"{x:.6g}") for x in values})
    few = decimals_of(over.own) if over.key == VOLUME else 0
    for digits in range(DIGITS, 16):
        decimals = digits - DIGITS + few
        texts = [fixed(x, decimals) if over.key == VOLUME else _digits(x, digits) for x in values]
        if len(set(texts)) >= distinct:
            break
    return texts


def _digits(x: float, digits: int) -> str:
    text = f"{x:.{digits}g}"
    return f"{float(text):,.0f}" if "e" in text or abs(x) >= 10.0 ** (digits - 1) else text


__all__ = [
    "HORIZON", "VOLUME", "BreakEven", "Crossing", "Quantity", "as_json", "break_even", "by_crossing", "ends_of", "inside",
    "quantity", "sentences", "told",
]  # fmt: skip
