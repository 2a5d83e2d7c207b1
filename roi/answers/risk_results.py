"""What is told of a study's draws: per method, per input, and of all together.

Money is in the scenario's currency, in cash and after tax. A saving is the current method's cost less a method's, positive
where the method is cheaper: `saving` as equivalent annual costs, currency a year; `saving_present` as present costs.
Regret and what knowing is worth are in present money, once. Methods go by their ids, in the study's order. `risk` fills
these in.
"""

from __future__ import annotations

from dataclasses import dataclass

from roi.engine.functions import Array
from roi.scenario.risk import RiskSettings

FIRM = 0.8  # chance of the best below which it is too close to call


@dataclass(frozen=True)
class Amounts:
    """An amount over the draws: its mean and standard error, and what it stays below in 10, 50 and 90 % of them."""

    mean: float
    error: float
    p10: float
    p50: float
    p90: float


@dataclass(frozen=True)
class MethodRisk:
    """One method over the draws.

    able : share of the draws in which it can do the work
    chance, chance_full : share in which it is the cheapest, in cash and at full cost, ties as in the comparison
    saving, saving_present : against the current method; None for the current one and where the two never can both
    saving_at_best : a year, with every input at its best; None for the current one and where not both can do the work
    regret, regret_error : expected, of choosing it: its present cost above that of the cheapest; None where it never can
    """

    id: str
    able: float
    chance: float
    chance_error: float
    chance_full: float
    chance_full_error: float
    saving: Amounts | None
    saving_present: Amounts | None
    saving_at_best: float | None
    regret: float | None
    regret_error: float | None


@dataclass(frozen=True)
class Known:
    """What knowing an input before choosing is worth; `group` is its group of prices, empty for none."""

    label: str
    keys: tuple[str, ...]
    group: str
    value: float
    error: float


@dataclass(frozen=True)
class Share:
    """An input's or a group's share of the variance, first order and total, with standard errors."""

    label: str
    keys: tuple[str, ...]
    first: float
    first_error: float
    total: float
    total_error: float


@dataclass(frozen=True)
class VarianceShares:
    """Shares of the variance of the challenger's saving a year, the largest total first; `rest` counts inputs taken as one."""

    shares: tuple[Share, ...]
    rest: int
    points: int
    evaluations: int


@dataclass(frozen=True)
class Risk:
    """Everything told about a study's draws.

    drawn : inputs drawn; held : labels of inputs that have a range and stay at their best
    best : the cheapest at the best values, None where none can do the work
    challenger : the cheapest method at the best values but for the current one, None where none ever can do the work
    always : methods that can do the work in every draw; choice : the cheapest of them on average, None where there is none
    none_able : share of the draws in which no method can do the work
    knowing_all, knowing_all_error : what knowing everything is worth; knowing : each input alone, most first
    savings : the challenger's saving a year in each draw where it is told, in ascending order
    shares : of the variance of that saving; only where both methods can do the work in every case looked at
    shares_barred : share of those cases in which one of the two can't, so that no shares are told; 0 otherwise
    """

    settings: RiskSettings
    drawn: int
    held: tuple[str, ...]
    best: str | None
    challenger: str | None
    always: tuple[str, ...]
    choice: str | None
    none_able: float
    methods: dict[str, MethodRisk]
    knowing_all: float
    knowing_all_error: float
    knowing: tuple[Known, ...]
    savings: Array
    shares: VarianceShares | None
    shares_barred: float = 0.0


@dataclass(frozen=True)
class Chance:
    """How likely the method cheapest at the best values is the cheapest over all draws.

    method : its id; cash, full : the chance in either view, 0 to 1; error : standard error of `cash`
    close : whether `cash` is below FIRM, so that it is too close to call; draws, seed : what it rests on
    """

    method: str
    cash: float
    full: float
    error: float
    close: bool
    draws: int
    seed: int


__all__ = ["FIRM", "Amounts", "Chance", "Known", "MethodRisk", "Risk", "Share", "VarianceShares"]
