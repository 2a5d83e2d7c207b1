"""What the draws say: in sentences, as a histogram and cumulative curve, and as JSON.

Money in the scenario's currency; a share is told in per cent. Nothing here is reckoned anew.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import numpy as np

from roi.answers.risk_results import FIRM, Known, Risk
from roi.engine.functions import Array
from roi.engine.words import fixed
from roi.model.study import Study

BINS = 20
STEPS = np.linspace(0, 1, 21)  # shares of the draws at which the cumulative curve is told


def sentences(study: Study, found: Risk) -> list[str]:
    """The answer in plain words, the most important first."""
    said = [_chance(study, found), *_saving(study, found), *_choice(study, found), _knowing(study, found)]
    settings = found.settings
    shape = {"pert": "a PERT curve", "triangular": "a triangle"}[settings.shape]
    said.append(
        f"Drawn are {found.drawn} inputs at once, each from {shape} over its own range, {settings.draws:,} times "
        f"(seed {settings.seed}); in {fixed(settings.together * 100, 0)} % of the draws prices of one group stand equally high "
        "in their ranges."
    )
    if found.held:
        listed = ", ".join(found.held[:3]) + (", ..." if len(found.held) > 3 else "")
        said.append(
            f"Held at best though a range is stated, since they are choices or counts: {listed} ({len(found.held)})."
        )
    return said


def told_share(share: float, draws: int) -> str:
    """A share of the draws in words: never 100 % or 0 % where it is not quite so."""
    if share in (0.0, 1.0):
        return f"{'all' if share else 'none'} of the {draws:,} draws"
    if share > 0.995:
        return "more than 99 % of the draws"
    if share < 0.005:
        return "less than 1 % of the draws"
    return f"{fixed(share * 100, 0)} % of the draws"


def _told(share: float, error: float, draws: int) -> str:
    """A chance in words, with its standard error where the draws leave it unsure by more than half a per cent."""
    text = told_share(share, draws)
    return (
        text.replace(" %", f" % +- {fixed(error * 100, 0)} %")
        if error > 0.005 and text[0].isdigit()
        else text
    )


def _short(study: Study, name: str) -> str:
    return study.methods[name].method.short


def _chance(study: Study, found: Risk) -> str:
    if found.best is None:
        return (
            "No method can do this work at the best values, so there is no best whose chance could be told."
        )
    method, draws = found.methods[found.best], found.settings.draws
    first = "Too close to call: " if method.chance < FIRM else ""
    text = (
        f"{first}{_short(study, found.best)} is the cheapest in {_told(method.chance, method.chance_error, draws)} in cash, "
        f"in {_told(method.chance_full, method.chance_full_error, draws)} at full cost."
    )
    if found.none_able:
        text += f" In {told_share(found.none_able, draws)} no method can do the work."
    return text


def _saving(study: Study, found: Risk) -> list[str]:
    """What the challenger saves, and whether the best values stand to one side of the draws."""
    if found.challenger is None:
        return []
    method = found.methods[found.challenger]
    if method.saving is None:
        return []
    code, today = study.scenario.currency, _short(study, study.scenario.current)
    low, high = (fixed(x, 0) for x in (method.saving.p10, method.saving.p90))
    middle = fixed(abs(method.saving.p50), 0)
    does = f"saves {code} {middle} a year" if method.saving.p50 >= 0 else f"costs {code} {middle} a year more"
    minus = ", where a minus is a loss" if method.saving.p10 < 0 else ""
    said = [
        f"Against {today}, {_short(study, found.challenger)} {does} in the middle of the draws; in eight draws of ten its saving "
        f"lies between {low} and {high}{minus}."
    ]
    at_best = method.saving_at_best
    if at_best is not None and not method.saving.p10 <= at_best <= method.saving.p90:
        side = "less" if at_best < method.saving.p10 else "more"
        said.append(
            f"With every input at its best the saving would be {code} {fixed(at_best, 0)}, {side} than in nine draws of ten: "
            "some range lies to one side of its best. Look at those before trusting either figure."
        )
    return said


def _choice(study: Study, found: Risk) -> list[str]:
    if found.choice is None:
        return ["No method can do the work in every draw."]
    chosen, code = found.methods[found.choice], study.scenario.currency
    regret = fixed(chosen.regret or 0.0, 0)
    name = _short(study, found.choice)
    if len(found.always) == 1:
        return [
            f"{name} alone can do the work in every draw; whoever chooses it is off by {code} {regret} on average, in money of "
            "today over the years."
        ]
    able = (
        ""
        if len(found.always) == len(found.methods)
        else ", of the methods that can do the work in every draw"
    )
    other = "" if found.choice == found.best else ", another than at the best values"
    return [
        f"On average over the draws {name} costs least{able}{other}; whoever chooses it is off by {code} {regret} on average, in "
        "money of today over the years."
    ]


def _knowing(study: Study, found: Risk) -> str:
    code = study.scenario.currency
    if len(found.always) < 2:
        return "What finding out more is worth can't be told: no second method can do the work in every draw."
    if not found.knowing_all:
        return "Finding out more would not change the choice: no draw makes another of these methods cheaper."
    text = f"Knowing every input before choosing would be worth {code} {fixed(found.knowing_all, 0)} at most"
    for first in worth_telling(found, 1):
        return f"{text}; knowing {first.label} alone {code} {fixed(first.value, 0)}."
    return f"{text}; no single one alone is worth finding out."


def worth_telling(found: Risk, most: int) -> list[Known]:
    """The inputs most worth knowing, at most so many, whose worth stands out from the noise of the draws."""
    return [k for k in found.knowing if k.value >= 0.5 and k.value > 2 * k.error][:most]


def why_no_shares(study: Study, found: Risk) -> str:
    """Why it isn't told what the saving varies with, "" where nothing bars it."""
    if not found.shares_barred or found.challenger is None:
        return ""
    names = f"{_short(study, found.challenger)} or {_short(study, study.scenario.current)}"
    part = "less than 1" if found.shares_barred < 0.005 else fixed(found.shares_barred * 100, 0)
    return (
        f"What the saving varies with is not told: {names} can't do the work in {part} % of the cases looked at, and a saving "
        "that can't be had has no place among the others."
    )


def histogram(savings: Array, bins: int = BINS) -> tuple[Array, Array]:
    """Edges of equally wide bins from the least to the greatest saving, and the share of the draws in each."""
    counts, edges = np.histogram(savings, bins)
    return edges, counts / max(savings.size, 1)


def cumulative(savings: Array) -> Array:
    """The savings that the shares STEPS of the draws stay below."""
    return np.asarray(np.quantile(savings, STEPS))


def as_json(study: Study, found: Risk) -> dict[str, Any]:
    """The result as a plain dictionary, unrounded.

    scenario, currency, current; settings {draws, seed, shape, together}; drawn : count of inputs; held : labels; best,
    challenger, choice : ids or None; always : ids; none_able : share;
    methods : by id {able, chance, chance_error, chance_full, chance_full_error, saving, saving_present, saving_at_best,
        regret, regret_error}, where savings are None or {mean, error, p10, p50, p90}, currency a year and present currency;
    knowing_all, knowing_all_error, knowing : [{label, keys, group, value, error}], present currency;
    savings : {edges, shares, at, below} of the challenger, None without one;
    variance_barred : share of the cases in which one of the two methods can't do the work, for which no shares are told, else 0;
    variance : None or {shares : [{label, keys, first, first_error, total, total_error}], rest, points, evaluations}.
    """
    methods = {name: asdict(method) for name, method in found.methods.items()}
    for method in methods.values():
        del method["id"]
    savings = None
    if found.savings.size:
        edges, shares = histogram(found.savings)
        savings = {
            "edges": edges.tolist(),
            "shares": shares.tolist(),
            "at": cumulative(found.savings).tolist(),
            "below": STEPS.tolist(),
        }
    return {
        "scenario": study.scenario.name,
        "currency": study.scenario.currency,
        "current": study.scenario.current,
        "settings": asdict(found.settings),
        "drawn": found.drawn,
        "held": list(found.held),
        "best": found.best,
        "challenger": found.challenger,
        "always": list(found.always),
        "choice": found.choice,
        "none_able": found.none_able,
        "methods": methods,
        "knowing_all": found.knowing_all,
        "knowing_all_error": found.knowing_all_error,
        "knowing": [{**asdict(known), "keys": list(known.keys)} for known in found.knowing],
        "savings": savings,
        "variance_barred": found.shares_barred,
        "variance": None
        if found.shares is None
        else {
            "shares": [{**asdict(share), "keys": list(share.keys)} for share in found.shares.shares],
            "rest": found.shares.rest,
            "points": found.shares.points,
            "evaluations": found.shares.evaluations,
        },
    }


__all__ = [
    "BINS",
    "STEPS",
    "as_json",
    "cumulative",
    "histogram",
    "sentences",
    "told_share",
    "why_no_shares",
    "worth_telling",
]
