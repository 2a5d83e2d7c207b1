"""What a purchase saves in tax, worth today: the schedule's shares within the horizon, and what they leave, deducted there.

As `finance` has it year by year: bought in year t, the first share is relieved in t + 1, and the book value left at the
horizon is deducted in its year. Shares are of the cost, between 0 and 1; positive is tax saved.
"""

from __future__ import annotations

from dataclasses import dataclass

from roi.engine.column import Column, Line
from roi.engine.expression import Constant, Data, Expr
from roi.engine.operations import at_least, larger, pick, running, when
from roi.model.shop import Shop


@dataclass(frozen=True)
class Years:
    """Lines of the years as one column refers to them, its own or the shop's; the discount factor is a block."""

    discount: Line
    horizon: Line
    tax_rate: Line


@dataclass(frozen=True)
class Relief:
    """Blocks by the count of years since a purchase, from 0: share relieved so far, and that share discounted to the
    purchase. None where nothing is relieved before the horizon."""

    years: Years
    relieved: Line | None
    worth: Line | None

    def of_one(self, bought: Expr, discount: Expr, at_end: Expr) -> Expr:
        """Tax saved by 1 of capital bought in a year, in money of year 0.

        bought : year of the purchase;  discount : its discount factor;  at_end : that of the year what is left is deducted
        in, the horizon or the purchase's own where that is later
        """
        rate = self.years.tax_rate
        if self.relieved is None or self.worth is None:
            return rate * at_end
        place = larger(0, self.years.horizon - bought).per("year") + 1
        left = Constant(1) - pick(self.relieved, place)
        return rate * (discount * pick(self.worth, place) + left * at_end)


def add_relief(column: Column, shop: Shop, years: Years) -> Relief:
    """The blocks of a column from which what any purchase saves can be picked."""
    if shop.schedule is None:
        return Relief(years, None, None)
    assert shop.schedule.axis is not None
    count = len(shop.schedule.axis)
    # The schedule is stored last year first.
    places = [float(count + 1 - y) if 0 < y <= count else 0.0 for y in range(len(shop.years))]
    label = "Place in the tax schedule, 0 outside it"
    place = column.data(Data(f"{column.key}.schedule_place", label, "1", shop.years, places))
    share = column.line(
        "Share of cost relieved, years after purchase",
        "1",
        when(at_least(place, 1), pick(shop.schedule, place), 0),
    )
    relieved = column.line("Share relieved so far, years after purchase", "1", running(share))
    today = column.line("Share relieved, discounted to the purchase", "1", share * years.discount)
    worth = column.line("Share relieved so far, discounted to the purchase", "1", running(today))
    return Relief(years, relieved, worth)


__all__ = ["Relief", "Years", "add_relief"]
