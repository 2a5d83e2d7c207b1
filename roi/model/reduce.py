"""A year's work reduced to classes and run bins, so that a workbook can carry it and still get plate sets exactly right.

A *class* holds forms alike in stock, flags, ruling and in which methods can serve them: all that decides plate life and
reach. A *bin* holds forms of one class whose gross impressions lie between two neighbouring whole multiples of the
effective plate lives (best, low and high of every method), so that the number of sets is the same for all of them at
each of those lives. Where a method prints short runs elsewhere, forms up to that length and longer ones stand in bins of
their own too, at its best, low and high, as do forms without impressions. Bins are never merged across such an edge.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from roi.scenario.scenario import Scenario
from roi.scenario.things import Method
from roi.scenario.worklog import WorkLog

Floats = NDArray[np.float64]
Whole = NDArray[np.intp]

MOST_RULINGS = 8  # distinct rulings kept as they are; beyond that they are grouped by the methods' limits


@dataclass(frozen=True)
class Reduced:
    """A year's work. c classes, b bins, s sizes, p presses, m methods; amounts are a year's.

    uncoated, tight, uv, abrasive, confined : shape (c,), 0 or 1
    ruling : (c,), lines per inch, 0 where unknown
    serves : (m, c), 1 where the method's largest format and flags let it make the plate
    forms, rush_forms : (c,), forms
    reprint_plates : (c, s), plates of reprint forms
    part : (c,), the part of the work whose forms the class holds, 0 where it isn't parted
    bin_class : (b,), position of the class, from 1
    good : (b,), good impressions of a form, mean
    bin_forms : (b,), forms
    colours : (b, 3), shares of forms in one, two, and three or more colours
    plates : (b, s), plates by size; press_plates, tight_plates, passes : (b, p)
    bin_rush : (b,), rush forms; bin_reprint_plates : (b, s), plates of reprint forms
    bin_press_forms : (b, p), forms; bin_press_impressions : (b, p), good impressions, every pass counted
    press_impressions : (p,), good impressions through each press, every pass counted; press_forms : (p, 3)
    jobs, good_total : a year's jobs, and good impressions of all forms
    """

    uncoated: Floats
    tight: Floats
    uv: Floats
    abrasive: Floats
    confined: Floats
    ruling: Floats
    serves: Floats
    forms: Floats
    rush_forms: Floats
    reprint_plates: Floats
    part: Floats
    bin_class: Whole
    good: Floats
    bin_forms: Floats
    colours: Floats
    plates: Floats
    press_plates: Floats
    tight_plates: Floats
    passes: Floats
    bin_rush: Floats
    bin_reprint_plates: Floats
    bin_press_forms: Floats
    bin_press_impressions: Floats
    press_impressions: Floats
    press_forms: Floats
    jobs: float
    good_total: float


@dataclass(frozen=True)
class Sorted:
    """Rows of the work sorted into classes and bins.

    classes : what rows of each class have in common;  which : each row's class, from 0
    bins : class, and interval of lives, of each bin;  member : each row's bin, from 0
    """

    classes: Floats
    which: Whole
    bins: Whole
    member: Whole


def sort_rows(scenario: Scenario, part: Whole | None = None) -> Sorted:
    """Put each row of the work into its class and run bin; rows of different parts, a number a row, stay apart."""
    work, methods = scenario.work, scenario.methods
    abrasive = work.abrasive | work.envelope
    fits = np.array([[m.takes(s) for s in scenario.sizes] for m in methods])  # (m, s)
    serves = fits[:, work.size] & ~np.array([_refused(m, work) for m in methods])
    ruling = _rulings(scenario)
    parted = np.zeros(len(work.weight)) if part is None else part
    keys = np.column_stack(
        [work.uncoated, work.tight, work.uv, abrasive, work.confined, ruling, serves.T.astype(float), parted]
    ).astype(float)
    classes, which = np.unique(keys, axis=0, return_inverse=True)
    which = which.reshape(-1)
    bins, member = np.unique(
        np.column_stack([which, *_intervals(scenario, classes, which)]), axis=0, return_inverse=True
    )
    return Sorted(classes, which, bins, member.reshape(-1))


def _intervals(scenario: Scenario, classes: Floats, which: Whole) -> tuple[Whole, ...]:
    """Between which lives, and which lengths printed elsewhere, each row's run lies; kept work stays where it was put."""
    work = scenario.work
    if work.bin is not None:
        return (work.bin,)
    gross = gross_impressions(scenario)
    interval = np.empty(len(gross), int)
    for c in range(len(classes)):
        mine = which == c
        edges = _edges(scenario, classes[c], float(gross[mine].max(initial=0)))
        interval[mine] = np.searchsorted(edges, gross[mine] * (1 - 1e-12), side="left")
    return interval, np.searchsorted(_short_runs(scenario), work.good * (1 - 1e-12), side="left")


def reduce_work(scenario: Scenario, part: Whole | None = None) -> Reduced:
    """Reduce the scenario's work to classes and bins; forms of different parts, a number a row of the work, stay apart."""
    work = scenario.work
    weight = work.weight * work.per_year
    rows = sort_rows(scenario, part)
    classes, which, bins, member = rows.classes, rows.which, rows.bins, rows.member

    def summed(index: Whole, amount: Floats, rows: int) -> Floats:
        return np.asarray(np.bincount(index, amount, rows), np.float64)

    def spread(amount: Floats, into: Whole, count: int, index: Whole, rows: int) -> Floats:
        return summed(index * count + into, amount, rows * count).reshape(rows, count)

    units = np.array([p.units for p in scenario.presses])[work.press]
    passes = -(-work.plates // units)
    colour = np.minimum(work.plates, 3) - 1
    n_sizes, n_presses = len(scenario.sizes), len(scenario.presses)
    forms = summed(member, weight, len(bins))
    plates = weight * work.plates
    named = len(set(work.job.tolist()) - {""})
    jobs = float(named * work.per_year if named else (jobs_of(work) * work.per_year).sum())
    uncoated, tight, uv, rough, confined, class_ruling, *class_serves, class_part = classes.T
    return Reduced(
        uncoated=uncoated,
        tight=tight,
        uv=uv,
        abrasive=rough,
        confined=confined,
        ruling=class_ruling,
        serves=np.array(class_serves),
        forms=summed(which, weight, len(classes)),
        rush_forms=summed(which, weight * work.rush, len(classes)),
        reprint_plates=spread(plates * work.reprint, work.size, n_sizes, which, len(classes)),
        part=class_part,
        bin_class=bins[:, 0] + 1,
        good=summed(member, weight * work.good, len(bins)) / forms,
        bin_forms=forms,
        colours=spread(weight, colour, 3, member, len(bins)) / forms[:, None],
        plates=spread(plates, work.size, n_sizes, member, len(bins)),
        press_plates=spread(plates, work.press, n_presses, member, len(bins)),
        tight_plates=spread(plates * work.tight, work.press, n_presses, member, len(bins)),
        passes=spread(weight * passes, work.press, n_presses, member, len(bins)),
        bin_rush=summed(member, weight * work.rush, len(bins)),
        bin_reprint_plates=spread(plates * work.reprint, work.size, n_sizes, member, len(bins)),
        bin_press_forms=spread(weight, work.press, n_presses, member, len(bins)),
        bin_press_impressions=spread(weight * work.good * passes, work.press, n_presses, member, len(bins)),
        press_impressions=summed(work.press, weight * work.good * passes, n_presses),
        press_forms=spread(weight, colour, 3, work.press, n_presses),
        jobs=jobs,
        good_total=float((weight * work.good).sum()),
    )


def jobs_of(work: WorkLog) -> Floats:
    """How many of the period's jobs each row stands for: forms of one job share it, and without job numbers each is one."""
    if work.jobs is not None:
        return work.jobs
    if not (work.job != "").any():
        return work.weight
    names = {name: i for i, name in enumerate(dict.fromkeys(work.job.tolist()))}
    number = np.array([names[name] for name in work.job.tolist()], np.intp)
    return np.where(work.job == "", 0.0, 1 / np.bincount(number)[number])


def gross_impressions(scenario: Scenario) -> Floats:
    """Gross impressions of each row of the work, at the best values: good x (1 + running waste) + make-ready sheets."""
    sheets = np.array([_best(scenario, "shop", f"sheets_{n}_colour") for n in ("one", "two", "four")])
    waste = _best(scenario, "shop", "running_waste")
    return scenario.work.good * (1 + waste) + sheets[np.minimum(scenario.work.plates, 3) - 1]


def effective_lives(
    scenario: Scenario, method: Method, *, uncoated: bool, tight: bool, uv: bool, abrasive: bool
) -> list[float]:
    """Best, low and high effective life of a method's plate for one class of forms, in impressions."""
    life = ("methods", method.id, "life")
    kind = "tight" if tight and scenario.has(*life, "tight") else "uncoated" if uncoated else "coated"
    factor = 1 + _best(scenario, "shop", "stretch")
    for flag, name in ((uv, "uv_factor"), (abrasive, "abrasive_factor")):
        if flag and scenario.has(*life, name):
            factor *= _best(scenario, *life, name)
    stated = scenario.stated(*life, kind)
    assert stated is not None, f"{method.id} has no life of plates"
    return [x * stated.factor * factor for x in (stated.best, stated.low, stated.high)]


def _edges(scenario: Scenario, row: Floats, most: float) -> Floats:
    """Whole multiples, up to `most`, of every effective life that a class meets."""
    uncoated, tight, uv, abrasive = (bool(x) for x in row[:4])
    lives = [
        life
        for method in scenario.methods
        if method.makes_plates
        for life in effective_lives(
            scenario, method, uncoated=uncoated, tight=tight, uv=uv, abrasive=abrasive
        )
    ]
    bought = scenario.inputs[("bought_in", "life")]
    stretch = 1 + _best(scenario, "shop", "stretch")
    lives += [x * bought.factor * stretch for x in (bought.best, bought.low, bought.high)]
    edges = {life * k for life in lives for k in range(1, int(most / life) + 2)}
    return np.array(sorted(edges))


def _short_runs(scenario: Scenario) -> Floats:
    """Good impressions a form up to which any method prints it elsewhere: best, low, high, and 0; empty where none does."""
    stated = [
        s
        for m in scenario.methods
        if (s := scenario.stated("methods", m.id, "elsewhere", "up_to")) is not None
    ]
    edges = {x * s.factor for s in stated for x in (s.best, s.low, s.high)}
    return np.array(sorted(edges | {0.0} if edges else edges))


def _refused(method: Method, work: WorkLog) -> NDArray[np.bool_]:
    refused = np.zeros(len(work.weight), bool)
    for flag in method.cannot_serve:
        refused |= getattr(work, flag)
    return refused


def _rulings(scenario: Scenario) -> Floats:
    """Rulings as logged; where there are many, the coarsest limit of any method that still takes them."""
    ruling = scenario.work.ruling
    if len(np.unique(ruling)) <= MOST_RULINGS:
        return ruling
    limits = sorted(
        {
            x * stated.factor
            for m in scenario.methods
            if (stated := scenario.stated("methods", m.id, "ruling_limit")) is not None
            for x in (stated.best, stated.low, stated.high)
        }
    )
    steps = np.array([0.0, *limits, max(float(ruling.max()), *limits) if limits else float(ruling.max())])
    return steps[np.searchsorted(steps, ruling, side="left")]


def _best(scenario: Scenario, *key: str) -> float:
    stated = scenario.stated(*key)
    assert stated is not None, f"{'.'.join(key)} is not stated"
    return stated.best * stated.factor
