"""What would have to be true for a claim, in sentences and as JSON. Neither for the claim nor against it.

Money in the scenario's currency, in cash, after tax; inputs in the unit people see, percentages as such: 10 for 10 %.
"""

from __future__ import annotations

from typing import Any

from roi.answers.claims import Alone, Needed
from roi.answers.searched import told
from roi.engine.words import fixed
from roi.model.study import Study
from roi.units.quantity import currencies


def sentences(study: Study, found: Needed) -> list[str]:
    """The claim, whether it is so as stated, what single inputs would do, and what all together would."""
    short = study.methods[found.method].method.short
    met, count = len(found.met), len(found.alone)
    inner = sum(each.within for each in found.met)
    turn, turned = ("end it", "ceases to be so") if found.so else ("make it so", "is so")
    within = f", {inner or 'none'} of them within its own low and high" if met else ""
    if met:
        alone = f"Of {count} inputs, each moved alone, {met} would {turn}{within}"
        alone += f"; no value of the other {count - met} does." if count > met else "."
    else:
        alone = f"No value of any of {count} inputs alone would {turn}."
    stands = "so" if found.so else "not so"
    return [
        f"The claim: {short} {_verb(found)}{understood(study, found)}. As stated it is {stands}: {_now(study, found)}.",
        alone,
        *_together(found, turned),
    ]


def _verb(found: Needed) -> str:
    """The claim without the words that name the method."""
    text, who = found.claim.text, found.claim.who
    return text[len(who) :].strip() if who and text.lower().startswith(who.lower()) else text


def understood(study: Study, found: Needed) -> str:
    """The amount as it was read, in brackets; nothing for a claim without one."""
    amount, code = found.claim.amount, study.scenario.currency
    number = f"{amount:,.6f}".rstrip("0").rstrip(".")
    small = len(number.partition(".")[2])
    money = f"{code} {fixed(amount, max(small, currencies()[code])) if small else number}"
    read = {
        "payback": f"{number} year{'' if amount == 1 else 's'}",
        "saves": f"{money} a year",
        "per_plate": f"{money} a plate",
        "break_even": f"{number} plates a month",
    }
    return f" (understood as {read[found.claim.kind]})" if found.claim.kind in read else ""


def _now(study: Study, found: Needed) -> str:
    code, small = study.scenario.currency, currencies()[study.scenario.currency]
    figure, kind = found.figure, found.claim.kind
    if figure is None:
        unpaid = "it does not pay back within the years looked ahead"
        return unpaid if kind == "payback" else "it, or the method it is compared with, can't do the work"
    size = abs(figure)
    if kind == "payback":
        return f"it pays back in {fixed(figure, 1)} years"
    if kind == "saves":
        verb, more = ("saves", "") if figure >= 0 else ("costs", "more ")
        return f"it {verb} {code} {fixed(size, 0)} a year {more}over the years looked ahead"
    if kind == "cheapest":
        return f"it is {code} {fixed(size, 0)} a year {'ahead of' if figure >= 0 else 'dearer than'} the best of the others"
    if kind == "per_plate":
        return f"a plate costs {code} {fixed(figure, small)}"
    side = "below" if figure >= 0 else "above"
    return f"at that volume its present cost is {code} {fixed(size, 0)} {side} that of the method in use"


def _together(found: Needed, turned: str) -> list[str]:
    moved, share, fewest = found.joint.moved, found.joint.share, found.joint.fewest
    end = "that hurts" if found.so else "that helps"
    if not moved:
        return [f"No input {'hurts' if found.so else 'helps'} within its own range, so none together do."]
    if share is None:
        doing = "hurt" if found.so else "help"
        return [f"Not even all {len(moved)} inputs that {doing}, together at their ends {end}, do."]
    part = "less than 1" if share < 0.01 else f"{share * 100:.3g}"
    said = [
        f"Moved together, each the same part of the way from best to the end of its own range {end}, the claim {turned} "
        f"from {part} % of the way on."
    ]
    if fewest is not None:
        which = f"the {fewest} inputs that {'hurt' if found.so else 'help'} most at their ends"
        if fewest == 1:
            which = f"{moved[0].stated.label} alone at {told(moved[0].stated, moved[0].end)}"
        said.append(f"With {which}, and all others at best, it {turned} too.")
    said.append("This is a distance, not a chance: nothing says that such ends come together.")
    return said


def as_json(study: Study, found: Needed) -> dict[str, Any]:
    """The result as a plain dictionary, unrounded.

    scenario, currency, claim, kind, method, so, figure;
    inputs : [{key, label, unit, best, value, told, within_own_range, change_needed_percent_of_best,
        change_needed_share_of_own_range}], value None where none alone does, exact; told : as people are
        told it, rounded away from best;
    joint : {share, fewest, inputs: [{key, label, unit, best, value, end}]}. A percentage is 10 for 10 %, a share 0.5 for half.
    """
    return {
        "scenario": study.scenario.name,
        "currency": study.scenario.currency,
        "claim": found.claim.text,
        "kind": found.claim.kind,
        "method": found.method,
        "so": found.so,
        "figure": found.figure,
        "inputs": [_alone(each) for each in found.alone],
        "joint": {
            "share": found.joint.share,
            "fewest": found.joint.fewest,
            "inputs": [
                {
                    "key": each.stated.key,
                    "label": each.stated.label,
                    "unit": each.stated.shown,
                    "best": each.best,
                    "value": each.at,
                    "end": each.end,
                }
                for each in found.joint.moved
            ],
        },
    }


def _alone(each: Alone) -> dict[str, Any]:
    return {
        "key": each.stated.key,
        "label": each.stated.label,
        "unit": each.stated.shown,
        "best": each.best,
        "value": each.at,
        "told": each.told,
        "within_own_range": each.within,
        "change_needed_percent_of_best": each.change_percent,
        "change_needed_share_of_own_range": each.share_of_range,
    }


__all__ = ["as_json", "sentences"]
