"""How sure the answer is when every uncertain input is drawn from its range at once.

What is told, in which unit and sign, stands in `risk_results`. A method that can't do the work in a draw is never the
cheapest there; its saving and regret are told over the draws in which it can (and, for the saving, the current one too).
Worths are told for choosing among methods that always can, shares of the variance only where both methods of the saving can
in every case of the design: shares of savings that can't be carried out would say nothing about those told. Standard
errors are those of plain random draws, which the draws of a Latin hypercube do not exceed by more than a factor n / (n - 1)
in variance (A. B. Owen, Annals of Statistics 25 (4), 1997).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from roi.answers.draws import Factor
from roi.answers.knowing import Knowing, knowing_all
from roi.answers.risk_results import (
    FIRM,
    Amounts,
    Chance,
    Known,
    MethodRisk,
    Risk,
    Share,
    VarianceShares,
)
from roi.answers.shares import variance_shares
from roi.answers.uncertain import Judged, Uncertain
from roi.engine.evaluate import BLOCK
from roi.engine.functions import Array
from roi.model.study import Study
from roi.scenario.risk import RiskSettings, risk_settings

Progress = Callable[[int, int], None]
Flags = NDArray[np.bool_]

MOST_FACTORS = 20  # factors whose variance shares are told one by one; the rest count as one more
SHARE_POINTS = 1024  # n of the design n (d + 2)


def chance_of_the_best(study: Study) -> Chance | None:
    """The chance of the method cheapest at the best values, by the scenario's own settings; None where none can do the work.

    Draws are made once a study and kept, so that the words, the sheet and this tell the same.
    """
    found = usual_risk(study)
    if found.best is None:
        return None
    method, settings = found.methods[found.best], found.settings
    return Chance(
        method.id, method.chance, method.chance_full, method.chance_error, method.chance < FIRM, settings.draws, settings.seed
    )  # fmt: skip


@lru_cache(maxsize=2)
def usual_risk(study: Study) -> Risk:
    """The draws that the scenario's [risk] asks for, without variance shares; kept."""
    return risk(study, risk_settings(study.scenario))


def risk(
    study: Study,
    settings: RiskSettings,
    *,
    shares: int = 0,
    block: int = BLOCK,
    progress: Progress | None = None,
) -> Risk:
    """Draw, judge and tell.

    shares : n of the design for variance shares, 0 for none
    block : draws judged at a time, which results do not depend on
    progress : told (cases worked, cases in all), the second a little too large where few inputs have a range
    """
    return _Teller(Uncertain(study, settings), shares, block, progress).tell()


class _Teller:
    def __init__(self, uncertain: Uncertain, shares: int, block: int, progress: Progress | None) -> None:
        self.uncertain, self.points, self.block, self.progress = uncertain, shares, block, progress
        self.count = uncertain.settings.draws
        self.ids = list(uncertain.study.methods)
        self.today = self.ids.index(uncertain.study.scenario.current)
        self.whole = self.count + shares * (MOST_FACTORS + 3)

    def tell(self) -> Risk:
        uncertain, methods = self.uncertain, len(self.ids)
        best = uncertain.at_best()
        at_best = round(float(best.winner[0]))
        present, yearly = np.empty((methods, self.count)), np.empty((methods, self.count))
        able = np.empty((methods, self.count), bool)
        wins, wins_full = np.zeros(methods + 1), np.zeros(methods + 1)
        knowing = Knowing(len(uncertain.inputs), methods)
        for drawn in uncertain.judged(self.block):
            stop = drawn.start + drawn.winner.shape[0]
            part = slice(drawn.start, stop)
            present[:, part], yearly[:, part], able[:, part] = drawn.present, drawn.yearly, drawn.able
            for counts, winner in ((wins, drawn.winner), (wins_full, drawn.winner_full)):
                counts += np.bincount(np.rint(winner).astype(int), minlength=methods + 1)
            knowing.add(drawn.start, drawn.places, drawn.present)
            if self.progress is not None:
                self.progress(stop, self.whole)
        np.subtract(yearly[self.today], yearly, out=yearly)
        challenger = self._challenger(best.able[:, 0], best.present[:, 0], able)
        always = [i for i in range(methods) if able[i].all()]
        everything = knowing_all(present[always]) if len(always) > 1 else (0.0, 0.0)
        told = {
            name: self._method(i, best, wins, wins_full, able, present, yearly)
            for i, name in enumerate(self.ids)
        }
        told = self._with_regret(told, able, present)
        savings = np.empty(0)
        if challenger is not None:
            savings = np.sort(yearly[challenger][able[challenger] & able[self.today]])
        shares, barred = None, 0.0
        if self.points and challenger is not None:
            barred = 1 - float((able[challenger] & able[self.today]).mean())
            if not barred:
                shares, barred = self._shares(challenger, knowing)
        return Risk(
            settings=uncertain.settings,
            drawn=len(uncertain.inputs),
            held=tuple(s.label for s in uncertain.held),
            best=self.ids[at_best - 1] if at_best else None,
            challenger=None if challenger is None else self.ids[challenger],
            always=tuple(self.ids[i] for i in always),
            choice=self.ids[min(always, key=lambda i: present[i].mean())] if always else None,
            none_able=float(wins[0] / self.count),
            methods=told,
            knowing_all=everything[0],
            knowing_all_error=everything[1],
            knowing=self._known(knowing, always, everything[0]),
            savings=savings,
            shares=shares,
            shares_barred=barred,
        )

    def _challenger(self, able_at_best: Flags, cost_at_best: Array, able: Flags) -> int | None:
        others = [i for i in range(len(self.ids)) if i != self.today and able[i].any()]
        return min(others, key=lambda i: (not able_at_best[i], cost_at_best[i]), default=None)

    def _method(
        self, i: int, best: Judged, wins: Array, wins_full: Array, able: Flags, present: Array, yearly: Array
    ) -> MethodRisk:
        chance, chance_full = float(wins[i + 1] / self.count), float(wins_full[i + 1] / self.count)
        saving = saving_present = None
        both = able[i] & able[self.today]
        if i != self.today and both.any():
            saving = _amounts(yearly[i][both])
            saving_present = _amounts(present[self.today][both] - present[i][both])
        at_best = None
        if i != self.today and best.able[i, 0] and best.able[self.today, 0]:
            at_best = float(best.yearly[self.today, 0] - best.yearly[i, 0])
        return MethodRisk(
            self.ids[i], float(able[i].mean()), chance, _share_error(chance, self.count), chance_full,
            _share_error(chance_full, self.count), saving, saving_present, at_best, None, None,
        )  # fmt: skip

    def _with_regret(self, told: dict[str, MethodRisk], able: Flags, present: Array) -> dict[str, MethodRisk]:
        cheapest = np.where(able, present, np.inf).min(axis=0)
        found = {}
        for i, (name, method) in enumerate(told.items()):
            mine = able[i]
            if mine.any():
                regret = present[i][mine] - cheapest[mine]
                error = float(regret.std(ddof=1) / np.sqrt(regret.size)) if regret.size > 1 else 0.0
                method = MethodRisk(**{**vars(method), "regret": float(regret.mean()), "regret_error": error})
            found[name] = method
        return found

    def _known(self, knowing: Knowing, always: Sequence[int], everything: float) -> tuple[Known, ...]:
        """Each input's worth, not below nothing and not above that of knowing everything, which bound it."""
        inputs = self.uncertain.inputs
        if len(always) < 2 or not inputs:
            return ()
        worth = knowing.worth(self.uncertain.grid(), always)
        group_of = {m: g.name for g in self.uncertain.groups for m in g.members if len(g.members) > 1}
        as_one = {
            f.members[0]: f for f in self.uncertain.factors if len(f.members) > 1 and self._all_as_one
        }  # fmt: skip
        inside = {m for f in as_one.values() for m in f.members}
        found = []
        for i, stated in enumerate(inputs):
            if i in inside and i not in as_one:
                continue  # told by its group's first
            label = as_one[i].label if i in as_one else stated.label
            keys = tuple(inputs[m].key for m in as_one[i].members) if i in as_one else (stated.key,)
            value = min(max(float(worth.value[i]), 0.0), everything)
            found.append(Known(label, keys, group_of.get(i, ""), value, float(worth.error[i])))
        return tuple(sorted(found, key=lambda known: -known.value))

    @property
    def _all_as_one(self) -> bool:
        """Whether members of a group always stand at one place, so that knowing one is knowing all."""
        return self.uncertain.settings.together == 1

    def _shares(self, challenger: int, knowing: Knowing) -> tuple[VarianceShares | None, float]:
        """The shares, None where nothing varies or some case of the design can't be carried out; and the share of such."""
        uncertain, factors = self.uncertain, self.uncertain.factors
        weights = [0.0] * len(self.ids)
        weights[self.today], weights[challenger] = 1.0, -1.0
        if not factors:
            return None, 0.0
        moved = knowing.explained(uncertain.grid(), weights)
        # A group whose members push one way counts by its sum of spreads.
        size = {f: float(np.sqrt(moved[list(f.members)]).sum()) for f in factors}
        widest = sorted(factors, key=lambda f: -size[f])
        alone, rest = widest[:MOST_FACTORS], widest[MOST_FACTORS:]
        columns = [f.columns for f in alone]
        if rest:
            columns.append(tuple(c for f in rest for c in f.columns))
        saving = uncertain.saving(self.ids[challenger])
        found = variance_shares(
            saving, columns, uncertain.draws.columns, self.points,
            uncertain.settings.seed, block=self.block, progress=self._further,
        )  # fmt: skip
        if found is None or saving.barred:
            return None, saving.barred / saving.points
        count = sum(len(f.members) for f in rest)
        labels = [*((f.label, self._keys(f)) for f in alone), (f"All {count} other inputs together", ())]
        told = [
            Share(label, keys, *(float(x[i]) for x in (found.first, found.first_error, found.total, found.total_error)))
            for i, (label, keys) in enumerate(labels[: len(columns)])
        ]  # fmt: skip
        named, others = told[: len(alone)], told[len(alone) :]
        named.sort(key=lambda share: -share.total)
        return VarianceShares((*named, *others), count, self.points, found.evaluations), 0.0

    def _keys(self, factor: Factor) -> tuple[str, ...]:
        return tuple(self.uncertain.inputs[m].key for m in factor.members)

    def _further(self, done: int, _: int) -> None:
        if self.progress is not None:
            self.progress(self.count + done, self.whole)


def _amounts(values: Array) -> Amounts:
    low, middle, high = (float(x) for x in np.quantile(values, (0.1, 0.5, 0.9)))
    error = float(values.std(ddof=1) / np.sqrt(values.size)) if values.size > 1 else 0.0
    return Amounts(float(values.mean()), error, low, middle, high)


def _share_error(share: float, count: int) -> float:
    return float(np.sqrt(share * (1 - share) / count))


__all__ = ["MOST_FACTORS", "SHARE_POINTS", "chance_of_the_best", "risk", "usual_risk"]
