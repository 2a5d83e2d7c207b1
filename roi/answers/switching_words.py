"""Switching values in sentences and as JSON.

The switching value is the value itself; the change needed stands beside it, under its own name. Inputs are in the unit people
see, percentages as such: 10 for 10 %.
"""

from __future__ import annotations

from typing import Any

from roi.answers.breakeven import inside
from roi.answers.searched import told_turning
from roi.answers.switching import FEW, Switch, SwitchingValues, could_turn
from roi.model.study import Study


def turning_points(study: Study, found: SwitchingValues, most: int = FEW) -> str:
    """One sentence for the verdict: which inputs within their own ranges could turn the answer, and where."""
    every = could_turn(found, len(found.inputs))
    view = "In cash" if found.view == "cash" else "At full cost"
    if not every:
        return f"{view} no input, within its own range, makes another method the cheapest."
    parts = [
        f"{each.stated.label} at {told_turning(each.stated, switch.told)} or "
        f"{'more' if switch.at > each.best else 'less'} ({_name(study, switch.after)})"
        for each, switch in every[:most]
    ]
    more = len(every) - len(parts)
    rest = f", and {more} more" if more else ""
    return f"{view} these, each alone and within its own range, turn the answer: {'; '.join(parts)}{rest}."


def sentences(study: Study, found: SwitchingValues) -> list[str]:
    """How many inputs switch the cheapest method, how many of them within their own range, and how many don't."""
    met, count = len(found.switching), len(found.inputs)
    inner = len(could_turn(found, count))
    view = "in cash" if found.view == "cash" else "at full cost"
    if found.cheapest is None:
        first = "No method can do the work as stated."
    else:
        first = f"{_name(study, found.cheapest, capital=True)} is the cheapest {view}."
    within = f", {inner or 'none'} of them within its own low and high" if met else ""
    said = f"Of {count} inputs, each searched alone, {met or 'none'} would change that{within}"
    said += f"; {count - met} {'does' if count - met == 1 else 'do'} not switch it." if met else "."
    none = len(found.unsearched)
    left = f"{none} further input{'s have' if none != 1 else ' has'} no range to search."
    return [first, said, *([left] if none else [])]


def _name(study: Study, method: str | None, *, capital: bool = False) -> str:
    if method is None:
        return "none can do the work"
    short = study.methods[method].method.short
    return short if capital else inside(short)


def as_json(study: Study, found: SwitchingValues) -> dict[str, Any]:
    """The result as a plain dictionary, unrounded.

    scenario, currency, view; cheapest : method id or None;
    inputs : [{key, label, unit, low, best, high, searched: [low, high], below, above}], where the last two are None or
        {switching_value, told, kind, before, after, change_needed_percent_of_best, change_needed_share_of_own_range,
        within_own_range, costs: [before, after]}; told : as people are told it, rounded away from best,
        which turns the answer when put back (at a tie `switching_value`, where both cost the same, need not);
    not_searched : keys of inputs without a range. A percentage is 10 for 10 %, a share 0.5 for half.
    """
    return {
        "scenario": study.scenario.name,
        "currency": study.scenario.currency,
        "view": found.view,
        "cheapest": found.cheapest,
        "inputs": [
            {
                "key": each.stated.key,
                "label": each.stated.label,
                "unit": each.stated.shown,
                "low": each.low,
                "best": each.best,
                "high": each.high,
                "searched": list(each.searched),
                "below": _plain(each.below),
                "above": _plain(each.above),
            }
            for each in found.inputs
        ],
        "not_searched": [stated.key for stated in found.unsearched],
    }


def _plain(switch: Switch | None) -> dict[str, Any] | None:
    if switch is None:
        return None
    return {
        "switching_value": switch.at,
        "told": switch.told,
        "kind": switch.kind,
        "before": switch.before,
        "after": switch.after,
        "change_needed_percent_of_best": switch.change_percent,
        "change_needed_share_of_own_range": switch.share_of_range,
        "within_own_range": switch.within,
        "costs": list(switch.costs),
    }


__all__ = ["as_json", "sentences", "turning_points"]
