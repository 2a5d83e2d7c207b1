"""A machine bought in any year and replaced to the horizon: what the whole chain costs today, after tax, by year of its start.

By the conventions of `equipment` and `finance`: price grows, each one replaced fetches its resale share taxed as income,
every purchase is relieved by the tax schedule, what is left at the horizon is worth its residual value, taxed. Currency.
"""

from __future__ import annotations

from dataclasses import dataclass

from roi.engine.column import Column, Line
from roi.engine.expression import Expr
from roi.engine.operations import at_least, constant, larger, opposite, pick, smaller, up, when
from roi.model.sheet import Machine

_YEAR = constant(1, "year")


@dataclass(frozen=True)
class Money:
    """What chains are reckoned with on one column: blocks over years, and single lines of the horizon.

    bought : what 1 of price at year-0 money costs bought in a year, after tax, today
    fetched : what 1 of price at year-0 money brings sold in a year, after tax, today
    residual : what 1 of price at year-0 money left at the horizon brings, after tax, today
    """

    year: Line
    horizon: Line
    bought: Line
    fetched: Line
    residual: Line


def add_chain(column: Column, money: Money, machine: Machine, words: str, since: Line | None) -> Line:
    """The chain's present cost by the year in which it is begun; 0 from the horizon on.

    since : the year before which the first one isn't bought, since one is owned; None where it is bought at once. The one
    owned then fetches its resale share where it has a year left, but where `machine.sold` says what it does: that is
    left to the caller.
    """

    def line(label: str, unit: str, body: Expr) -> Line:
        return column.line(f"{words}, {label}", unit, body)

    price, life = line("price", "currency", machine.price), line("life in whole years", "year", machine.life)
    resale = None if machine.resale is None else line("resale share", "1", machine.resale)
    one: Expr = price * money.bought
    if resale is not None:
        one = price * (money.bought - resale * money.fetched)
    ended = at_least(money.year, money.horizon)
    sums = line("bought in the year, less what it replaces", "currency", when(ended, 0, one))
    # Each pass adds twice as many lives: after the last, every chain within the years written is whole.
    assert money.year.axis is not None
    lives, reached = life, 1
    while reached < len(money.year.axis):
        over = at_least(money.year + lives, money.horizon)
        later = (money.year + lives).per("year") + 1
        reached *= 2
        sums = line(f"{reached} lives on", "currency", sums + when(over, 0, pick(sums, later)))
        lives = line(f"years of {reached} lives", "year", lives + lives)
    first = money.year if since is None else line("first bought in year", "year", larger(money.year, since))
    start: Expr = sums + 0
    if since is not None:
        # Beyond the years written there is nothing to pick.
        start = when(at_least(first, money.horizon), 0, pick(sums, first.per("year") + 1))
    begun = line("from its first purchase on", "currency", start)
    due = first + life * larger(0, up((money.horizon - first) / life))
    following = line("next due after the horizon", "year", due)
    unused = line("share of life left", "1", smaller(1, (following - money.horizon) / life))
    share: Expr = unused if resale is None else resale + (1 - resale) * unused
    left = line("worth at the horizon", "currency", price * share * money.residual)
    whole: Expr = begun - left
    if resale is not None:
        # The first one of a chain replaces nothing.
        fetched = money.fetched if since is None else pick(money.fetched, first.per("year") + 1)
        nothing = at_least(first, money.horizon)
        if since is not None and machine.sold is None:
            there = line("replaces the one owned", "1", at_least(since, first) * at_least(since, _YEAR))
            nothing = opposite(opposite(nothing) * opposite(there))
        spared = line("not fetched by the first", "currency", when(nothing, 0, price * resale * fetched))
        whole = whole + spared
    return line("whole chain", "currency", whole * opposite(ended))


__all__ = ["Money", "add_chain"]
