"""With how many decimals plates a month are said: none, but where the shop calls for fewer than ten.

A shop that makes a plate a year would else read of "0 plates a month", and of volumes "from 0 to 0".
"""

from __future__ import annotations

from math import floor, log10

from roi.model.study import Study

FEW = 10.0  # plates a month
MOST_DECIMALS = 6


def plates_a_month(study: Study) -> float:
    """Plates called for a month in year 1, at the best values."""
    share = study.scenario.inputs["work", "volume"]
    return float(sum(plates.values.sum() for plates in study.work.plates)) * share.best * share.factor / 12


def decimals(study: Study) -> int:
    """Decimals that show two digits of the shop's own plates a month."""
    return decimals_of(plates_a_month(study))


def decimals_of(own: float) -> int:
    """The same for a number of plates a month."""
    if own >= FEW:
        return 0
    return min(1 - floor(log10(own)), MOST_DECIMALS) if own > 0 else 0


__all__ = ["decimals", "decimals_of", "plates_a_month"]
