"""Forms that their press's method can't make: which are the costliest to buy in, and what making them elsewhere would save.

Money positive, in the scenario's currency a form, at today's prices, before tax, in cash: plates, rush surcharge, a delivery
of its own, and what the plate does to the press. Switching the press is left to `assigned`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from roi.answers.assigned import Assignment, Presses
from roi.model.parts import Parts
from roi.model.reduce import gross_impressions
from roi.scenario.narrow import narrowed
from roi.scenario.scenario import Scenario

Whole = NDArray[np.intp]

COSTLIEST = 10  # forms told


@dataclass(frozen=True)
class Far:
    """One form, or forms alike of a summary.

    row : its row of the log, None for a summary;  job : its job number, "" where none
    press, size : labels;  method : its press's method, that can't make it
    plates : of one set;  impressions : good ones;  forms : how many such a year
    buying : what buying in costs, None where it must not leave the building
    maker : the method that could make it at least cost, None where none can;  making : what that costs
    """

    row: int | None
    job: str
    press: str
    size: str
    method: str
    plates: int
    impressions: float
    ruling: float
    forms: float
    buying: float | None
    maker: str | None
    making: float | None

    @property
    def saves(self) -> float | None:
        """What making it saves against buying in; None where either can't be."""
        return None if self.buying is None or self.making is None else self.buying - self.making

    def as_json(self, *, names: bool) -> dict[str, Any]:
        """Unrounded, the job's number only where asked for."""
        told = {
            "row": self.row, "press": self.press, "size": self.size, "method": self.method, "plates": self.plates,
            "impressions": self.impressions, "ruling": self.ruling, "forms_a_year": self.forms,
            "buying_in": self.buying, "maker": self.maker, "making": self.making, "saves": self.saves,
        }  # fmt: skip
        return {"job": self.job, **told} if names else told


def farthest(presses: Presses, assignment: Assignment, most: int = COSTLIEST) -> tuple[Far, ...]:
    """The costliest forms that the method of their press can't make, the costliest to buy in first."""
    scenario, work = presses.scenario, presses.scenario.work
    out = np.zeros(len(work.weight), bool)
    method = {home.press: home.method for home in assignment.homes}
    for home in assignment.homes:
        for part in (*home.moved, *home.bought):
            out |= presses.part == part
    rows = np.flatnonzero(out)
    if not rows.size:
        return ()
    # A stable order: of two alike, the one that stands first in the log.
    rows = rows[np.argsort(-_supplier_price(scenario)[rows], kind="stable")]
    rows, count = _alike(scenario, rows)
    rows, count = rows[:most], count[:most]
    parts = Parts(narrowed(scenario, rows), np.arange(len(rows)), presses.parts.held)
    parts.need(frozenset([i]) for i in range(len(rows)))
    volume = scenario.inputs[("work", "volume")]
    found = []
    for i, row in enumerate(rows.tolist()):
        mine, one = method[int(work.press[row])], frozenset([i])
        share = float(work.weight[row] * work.per_year) * volume.best * volume.factor
        buying = None if work.confined[row] else parts.cost(mine, one).today / share
        able = [m for m, serves in zip(presses.methods, presses.served[:, row], strict=True) if serves]
        made = {m: parts.cost(m, one).today / share for m in able}
        maker = min(made, key=lambda m: made[m]) if made else None
        found.append(
            Far(
                row=None if work.row is None else int(work.row[row]),
                job=str(work.job[row]),
                press=scenario.presses[int(work.press[row])].label,
                size=scenario.sizes[int(work.size[row])].label,
                method=mine,
                plates=int(work.plates[row]),
                impressions=float(work.good[row]),
                ruling=float(work.ruling[row]),
                forms=float(count[i] * work.per_year),
                buying=buying,
                maker=maker,
                making=None if maker is None else made[maker],
            )
        )
    return tuple(sorted(found, key=lambda f: -(f.buying if f.buying is not None else np.inf)))


def _alike(scenario: Scenario, rows: Whole) -> tuple[Whole, NDArray[np.float64]]:
    """Rows with the weight each stands for: of a summary, rows that would be told alike are put together."""
    work = scenario.work
    if work.row is not None:
        return rows, work.weight[rows]
    keys = np.column_stack([work.press, work.size, work.plates, work.good, work.ruling, work.confined])[rows]
    _, first, which = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    weights = np.asarray(np.bincount(which.reshape(-1), work.weight[rows]), np.float64)
    order = np.argsort(first)
    return rows[first[order]], weights[order]


def _supplier_price(scenario: Scenario) -> NDArray[np.float64]:
    """What a supplier asks for the plates of each form of the work, rush surcharge included, at the best values."""
    work = scenario.work

    def best(*key: str) -> float | None:
        stated = scenario.stated(*key)
        return None if stated is None else stated.best * stated.factor

    by_area = best("bought_in", "price_per_area") or 0.0
    prices = []
    for size in scenario.sizes:
        price = best("bought_in", "price", size.id)
        prices.append(by_area * size.area if price is None else price)
    life = (best("bought_in", "life") or np.inf) * (1 + (best("shop", "stretch") or 0.0))
    sets = np.maximum(1, np.ceil(np.round(gross_impressions(scenario) / life, 9)))
    asked = np.array(prices)[work.size] * work.plates * sets + work.rush * (best("bought_in", "rush") or 0.0)
    return np.asarray(asked, np.float64)


__all__ = ["COSTLIEST", "Far", "farthest"]
