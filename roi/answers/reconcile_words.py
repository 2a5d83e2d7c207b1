"""The ledger against the reckoning, in sentences and as JSON. What the ledger itself says was cleaned when it was read.

Money in the scenario's currency, a year's; differences are the books less the reckoning. A percentage is 10 for 10 %.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from roi.answers.reconcile import Closing, Part, Reconciliation, Untold, head_label, reconcile
from roi.engine.words import fixed
from roi.model.study import Study
from roi.scenario.ledger import COUNTED, INTERNAL, LEFT_OUT, OTHER_YEAR, UNMAPPED, Booked, Group
from roi.scenario.problems import Problem

SPREAD = (
    "The reckoning spreads over the years what comes once in several, such as a laser; the books of one year hold it whole "
    "or not at all."
)


def baseline(study: Study) -> str:
    """One plain sentence where the scenario's own ledger and its reckoning differ by more than the tolerance, else ""."""
    if study.scenario.books is None:
        return ""
    found = reconcile(study, study.scenario.books)
    return "" if found.reconciles else unexplained(found, study.scenario.currency)


def doubt(study: Study) -> list[Problem]:
    """The same as a likely mistake with its mend; empty where there is nothing to say."""
    text = baseline(study)
    if not text:
        return []
    mend = (
        f"roi reconcile {study.scenario.path.name} shows what differs and how far inputs would have to move"
    )
    return [Problem(f"{study.scenario.path.name}, ledger", text.rstrip("."), mend)]


def unexplained(found: Reconciliation, currency: str) -> str:
    """What the books show, what the reckoning says and the part not explained: of the whole, or of the part that differs most."""
    parts = {part.head: part for part in found.parts}
    worst = max((parts[head] for head in found.beyond), key=lambda p: abs(p.difference), default=None)
    if found.whole_beyond or worst is None:
        text = _set_against(found, currency, found.whole, _named([part.head for part in found.parts]))
        if worst is None or len(parts) < 2:
            return f"{text}."
        most = worst.difference / found.whole.difference > 0.5
        return f"{text}, {'most of it' if most else 'the largest difference in'} {_named([worst.head])}."
    text = _set_against(found, currency, worst, _named([worst.head]))
    others = len(found.beyond) - 1
    more = f"; so is part of {others} more" if others else ""
    return f"{text}{more}. In all they agree within {percent(found.tolerance)}."


def _set_against(found: Reconciliation, currency: str, part: Part, what: str) -> str:
    books = f"The books of {found.ledger.called}{', scaled to a year,' if found.factor != 1 else ''}"
    money = (
        f"{books} show {currency} {fixed(part.books, 0)} for {what}; this reckoning {fixed(part.model, 0)}"
    )
    amount = f"{currency} {fixed(abs(part.difference), 0)}"
    return f"{money}: {told_share(part) or amount} is not explained"


def told_share(part: Part) -> str:
    """The difference as a percentage of the books, without its sign: "16 %"; "all of it" where they show nothing.

    Empty above 100 %: of books that small a share says nothing, and the amount is told.
    """
    if part.share is None:
        return "all of it"
    return percent(part.share) if abs(part.share) <= 1 else ""


def percent(share: float) -> str:
    """A share as a whole percentage, without its sign; one decimal below a tenth part of a hundred."""
    size = abs(share) * 100
    return f"{fixed(size, 1 if 0 < size < 1 else 0)} %"


def _named(heads: Sequence[str]) -> str:
    """Heads in a sentence: "equipment, consumables (plates, chemistry) and waste disposal"."""
    names = []
    for family in dict.fromkeys(head.partition(".")[0] for head in heads):
        groups = [head.partition(".")[2].replace("_", " ") for head in heads if head.split(".")[0] == family]
        inner = [group or "the rest" for group in groups if group or len(groups) > 1]
        names.append(head_label(family).lower() + (f" ({', '.join(inner)})" if inner else ""))
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def outcome(found: Reconciliation, currency: str) -> str:
    """The answer in one sentence."""
    if not found.reconciles:
        return unexplained(found, currency)
    whole = found.whole
    return (
        f"It reconciles: the books of {found.ledger.called} show {currency} {fixed(whole.books, 0)}, this reckoning "
        f"{fixed(whole.model, 0)}; no part differs by more than {percent(found.tolerance)}."
    )


def how_read(found: Reconciliation) -> list[str]:
    """The year, its scaling, and what became of rows that aren't counted, in sentences."""
    ledger = found.ledger
    said = [f"The year is {ledger.first} to {ledger.last}, {ledger.year_said}."]
    if found.factor != 1:
        said.append(f"{ledger.days} days are scaled to a year: x {found.factor:.4g}.")
    if found.log_days:
        said.append(f"The job log is of {' to '.join(found.log_days)}: not of the same year as the books.")
    credits = [row for row in ledger.of(COUNTED) if row.amount < 0]
    if credits:
        said.append(f"{_rows(credits)} {_is(credits)} a credit and taken off: {_amount(credits)}.")
    for kind, words in (
        (INTERNAL, "internal, no cash, and left out"),
        (LEFT_OUT, "left out as stated"),
        (OTHER_YEAR, "of another year and left out"),
        (UNMAPPED, "mapped to nothing and not compared"),
    ):
        rows = ledger.of(kind)
        if rows:
            said.append(f"{_rows(rows)} {_is(rows)} {words}: {_amount(rows)}.")
    return [*said, *(f"{note[:1].upper()}{note[1:]}." for note in ledger.notes)]


def _rows(rows: Sequence[Booked]) -> str:
    return f"{len(rows):,} row{'' if len(rows) == 1 else 's'}"


def _is(rows: Sequence[Booked]) -> str:
    return "is" if len(rows) == 1 else "are"


def _amount(rows: Sequence[Booked]) -> str:
    return fixed(sum(row.amount for row in rows), 2)


def not_compared(each: Untold, currency: str) -> str:
    """A part of the running cost that isn't compared: "Labour, GBP 244 a year: wages are no invoices"."""
    return f"{each.label}, {currency} {fixed(each.model, 0)} a year: {each.why}"


def closing(each: Closing, currency: str) -> str:
    """What would close a part, or how far it stays away, in one sentence or two."""
    moved, share = each.joint.moved, each.joint.share
    if each.steps:
        return _stepped(each, currency)
    if not moved:
        return f"{each.label}: can't close. No input it rests on helps within its own range."
    count = len(moved)
    inputs = "the one input that helps" if count == 1 else f"the {count} inputs that help"
    if share is None:
        away = f"{currency} {fixed(abs(each.left), 0)} a year"
        which = "show more" if each.left > 0 else "show less"
        return f"{each.label}: can't close. With {inputs} at the end of their ranges the books still {which}, by {away}."
    part = "less than 1" if share < 0.01 else f"{share * 100:.3g}"
    text = f"{each.label}: closes with {inputs} moved {part} % of the way to the end of their ranges"
    if each.joint.fewest is not None and each.joint.fewest < count:
        first = "the first" if each.joint.fewest == 1 else f"the first {each.joint.fewest}"
        text += f", or with {first} at {'its end' if each.joint.fewest == 1 else 'their ends'}"
    return f"{text}."


def _stepped(each: Closing, currency: str) -> str:
    left, share = f"{currency} {fixed(abs(each.left), 0)} a year", each.joint.share
    begins = f"{each.label}: can't close. Costs come in steps, such as whole orders or plates,"
    if share is None:
        return (
            f"{begins} and no move of the inputs together leaves less than the {left} that is not explained."
        )
    part = "less than 1" if share < 0.01 else f"{share * 100:.3g}"
    inputs = (
        "the one input that helps"
        if len(each.joint.moved) == 1
        else f"the {len(each.joint.moved)} inputs that help"
    )
    which = "more" if each.left > 0 else "less"
    return (
        f"{begins} and pass over it: nearest is {inputs} moved {part} % of the way to the end of their ranges, where the books "
        f"show {which}, by {left}."
    )


def as_json(study: Study, found: Reconciliation, closed: Sequence[Closing]) -> dict[str, Any]:
    """The result as a plain dictionary, unrounded; the README and DEVELOPERS tell its keys."""
    ledger = found.ledger
    return {
        "scenario": study.scenario.name,
        "currency": study.scenario.currency,
        "method": study.scenario.current,
        "ledger": ledger.file,
        "year": {"from": str(ledger.first), "to": str(ledger.last), "days": ledger.days, "scaled_by": found.factor},
        "tolerance_percent": found.tolerance * 100,
        "reconciles": found.reconciles,
        "parts": [_part(part, part.head in found.beyond) for part in found.parts],
        "whole": _part(found.whole, found.whole_beyond),
        "not_compared": [{"label": u.label, "model": u.model, "why": u.why} for u in found.untold],
        "rows": {kind: len(ledger.of(kind)) for kind in (COUNTED, INTERNAL, LEFT_OUT, OTHER_YEAR, UNMAPPED)},
        "rows_read": ledger.rows_read,
        "rows_skipped": ledger.rows_skipped,
        "unmapped": [_group(group) for group in ledger.groups(UNMAPPED)],
        "left_out": [_group(group) for kind in (INTERNAL, LEFT_OUT) for group in ledger.groups(kind)],
        "other_year": [
            {"row": r.row, "date": str(r.day), "account": r.account, "supplier": r.supplier, "amount": r.amount, "why": r.why}
            for r in ledger.of(OTHER_YEAR)
        ],
        "doubts": [{"where": p.where, "what": p.what, "mend": p.mend} for p in ledger.doubts],
        "closings": [_closed(each) for each in closed],
    }  # fmt: skip


def _part(part: Part, beyond: bool) -> dict[str, Any]:
    return {
        "head": part.head or "all",
        "label": part.label,
        "books": part.books,
        "model": part.model,
        "unexplained": part.difference,
        "unexplained_percent": None if part.share is None else part.share * 100,
        "beyond_tolerance": beyond,
        "charges": part.charges,
        "credits": part.credits,
    }


def _group(group: Group) -> dict[str, Any]:
    return {"account": group.account, "supplier": group.supplier, "rows": group.rows, "amount": group.amount}


def _closed(each: Closing) -> dict[str, Any]:
    return {
        "head": each.head or "all",
        "closes": each.closes,
        "share": each.joint.share,
        "fewest": each.joint.fewest,
        "left": each.left,
        "inputs": [
            {
                "key": m.stated.key,
                "label": m.stated.label,
                "unit": m.stated.shown,
                "best": m.best,
                "value": m.at,
                "end": m.end,
            }
            for m in each.joint.moved
        ],
    }


__all__ = [
    "SPREAD", "as_json", "baseline", "closing", "doubt", "how_read", "not_compared", "outcome", "percent", "told_share",
    "unexplained",
]  # fmt: skip
