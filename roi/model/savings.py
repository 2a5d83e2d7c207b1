"""What each method saves against the current one, year by year, and the measures of that saving, in both views.

Savings positive. Rates of return, paybacks and MIRR count whole years, whatever the mid-year option does to present costs.
"""

from __future__ import annotations

from dataclasses import dataclass

from roi.engine.column import Column, Line
from roi.engine.expression import Constant, Expr
from roi.engine.operations import (
    at,
    at_least,
    compound,
    internal_rate,
    larger,
    largest,
    opposite,
    pick,
    product_sum,
    root,
    running,
    smaller,
    total,
    when,
)
from roi.model.sheet import MethodSheet
from roi.model.shop import Shop


@dataclass(frozen=True)
class Savings:
    """Measures of one method against the current one in one view; each `has_` or flag line says whether it exists."""

    flows: Line
    cumulative: Line
    npv: Line
    irr: Line
    has_irr: Line
    saves_first: Line
    several_rates: Line
    never_returned: Line
    mirr: Line
    has_mirr: Line
    ratio_top: Line
    ratio_base: Line
    ratio: Line
    has_ratio: Line
    payback: Line
    has_payback: Line
    no_outlay: Line
    discounted_payback: Line
    has_discounted_payback: Line


class CashFlow:
    """The Cash flow sheet: every method's flows and what they save, years along the columns."""

    def __init__(self, shop: Shop, sheets: dict[str, MethodSheet], current: str) -> None:
        self.shop, self.sheets, self.current = shop, sheets, current
        self.column = Column(
            "Cash flow", "cash_flow", across=True, note="Money by year; costs negative, savings positive."
        )
        self._fetch_shop()
        self.flows: dict[str, dict[str, Line]] = {name: self._fetch(sheet) for name, sheet in sheets.items()}
        self.column.heading(
            "Present cost so far", "What each method has cost up to a year, in money of today."
        )
        self.cumulative = {name: self._cumulative(name) for name in sheets}
        self.savings: dict[str, dict[str, Savings]] = {}
        for name in sheets:
            if name != current:
                self.savings[name] = {
                    "cash": self._savings(name, "cash"),
                    "full": self._savings(name, "full"),
                }

    def _fetch_shop(self) -> None:
        c, shop = self.column, self.shop
        c.heading("Years")
        self.year = c.line("Year", "year", shop.year)
        self.discount = c.line("Discount factor", "1", shop.discount)
        self.in_horizon = c.line("Within the years looked ahead", "1", shop.in_horizon)
        self.horizon = c.line("Years looked ahead", "year", shop.horizon)
        self.rate = c.line("Nominal discount rate", "1/year", shop.rate)
        self.growth_to_horizon = c.line(
            "Growth of money to the horizon", "1", compound(self.rate, self.horizon)
        )

    def _fetch(self, sheet: MethodSheet) -> dict[str, Line]:
        c, short = self.column, sheet.method.short
        c.heading(sheet.method.label)
        named = {
            "before": "flow before tax",
            "after": "flow after tax",
            "after_full": "flow after tax, full cost",
            "end_value": "end value after tax",
        }
        return {
            key: c.line(f"{short}, {words}", "currency", sheet.lines[key]) for key, words in named.items()
        }

    def _cumulative(self, name: str) -> Line:
        short = self.sheets[name].method.short
        worth = self.column.line(
            f"{short}, flow in money of today", "currency", self.flows[name]["after"] * self.discount
        )
        return self.column.line(f"{short}, present cost so far", "currency", 0 - running(worth))

    def _savings(self, name: str, view: str) -> Savings:
        c, short = self.column, self.sheets[name].method.short
        this, that = self.sheets[name].lines, self.sheets[self.current].lines
        words = f"{short} against {self.sheets[self.current].method.short}" + (
            ", full cost" if view == "full" else ""
        )
        key = "_full" if view == "full" else ""
        c.heading(words)
        saved = c.line(
            f"{words}: savings",
            "currency",
            self.flows[name][f"after{key}"] - self.flows[self.current][f"after{key}"],
        )
        so_far = c.line(f"{words}: savings so far", "currency", running(saved))
        npv = c.line(f"{words}: net present value", "currency", that[f"present{key}"] - this[f"present{key}"])
        ratio_top = c.line(
            f"{words}: running savings, present value", "currency", that[f"ran{key}"] - this[f"ran{key}"]
        )
        ratio_base = c.line(
            f"{words}: extra investment, present value", "currency", this["invested"] - that["invested"]
        )
        has_ratio = c.line(f"{words}: extra investment above zero", "1", opposite(at_least(0, ratio_base)))
        ratio = c.line(
            f"{words}: savings-to-investment ratio",
            "1",
            when(has_ratio, ratio_top / ratio_base, 0),
            source="10 CFR 436.21: savings-to-investment ratio",
        )
        rate, has_rate, first, several, never = self._rate_of_return(words, saved)
        mirr, has_mirr = self._modified(words, saved)
        ends = c.line(
            f"{words}: end values",
            "currency",
            self.flows[name]["end_value"] - self.flows[self.current]["end_value"],
        )
        payback, has_payback, no_outlay = self._payback(words, "payback", saved, so_far, ends)
        discounted = c.line(f"{words}: savings, discounted", "currency", saved * self.discount)
        discounted_far = c.line(f"{words}: discounted savings so far", "currency", running(discounted))
        discounted_ends = c.line(f"{words}: end values, discounted", "currency", ends * self.discount)
        late, has_late, _ = self._payback(
            words, "discounted payback", discounted, discounted_far, discounted_ends
        )
        return Savings(
            flows=saved,
            cumulative=so_far,
            npv=npv,
            irr=rate,
            has_irr=has_rate,
            saves_first=first,
            several_rates=several,
            never_returned=never,
            mirr=mirr,
            has_mirr=has_mirr,
            ratio_top=ratio_top,
            ratio_base=ratio_base,
            ratio=ratio,
            has_ratio=has_ratio,
            payback=payback,
            has_payback=has_payback,
            no_outlay=no_outlay,
            discounted_payback=late,
            has_discounted_payback=has_late,
        )

    def _rate_of_return(self, words: str, saved: Line) -> tuple[Line, Line, Line, Line, Line]:
        """The internal rate where it is the only one: year 0 negative, one change of sign, the sum above zero."""
        c = self.column
        gain = c.line(f"{words}: a gain", "1", opposite(at_least(0, saved)))
        gained = c.line(f"{words}: a gain so far", "1", at_least(running(gain), 1))
        relapse = c.line(f"{words}: a loss after a gain", "1", gained * opposite(at_least(saved, 0)))
        outlay = c.line(f"{words}: costs first", "1", opposite(at_least(at(saved, 0), 0)))
        saves_first = c.line(f"{words}: saves first or costs nothing", "1", opposite(outlay))
        several = c.line(f"{words}: several rates", "1", at_least(total(relapse), 1) * outlay)
        back = c.line(f"{words}: undiscounted sum", "currency", total(saved))
        never = c.line(f"{words}: never returned", "1", at_least(0, back) * outlay * opposite(several))
        has = c.line(f"{words}: has one rate of return", "1", outlay * opposite(several) * opposite(never))
        # The average gain a year on the outlay: near enough for any program's search.
        safe = c.line(
            f"{words}: outlay to divide by",
            "currency",
            when(has, 0 - at(saved, 0), back * 0 + constant_one()),
        )
        guess = c.line(
            f"{words}: first guess of the rate", "1/year", when(has, back / safe, 0) / self.horizon
        )
        irr = c.line(f"{words}: internal rate of return", "1/year", when(has, internal_rate(saved, guess), 0))
        return irr, has, saves_first, several, never

    def _modified(self, words: str, saved: Line) -> tuple[Line, Line]:
        """Modified rate of return, both rates the discount rate, by explicit lines: trailing years of nothing can't shift it."""
        c = self.column
        out = c.line(f"{words}: years that cost", "currency", smaller(saved, 0))
        back = c.line(f"{words}: years that save", "currency", larger(saved, 0))
        put_in = c.line(
            f"{words}: present value of years that cost", "currency", 0 - product_sum(out, self.discount)
        )
        got = product_sum(back, self.discount) * self.growth_to_horizon
        taken_out = c.line(f"{words}: value at the horizon of years that save", "currency", got)
        has = c.line(
            f"{words}: both years that cost and that save",
            "1",
            opposite(at_least(0, put_in)) * opposite(at_least(0, taken_out)),
        )
        grown = root(taken_out / put_in, self.horizon.per("year"))
        mirr = c.line(f"{words}: modified rate of return", "1", when(has, grown - 1, 0))
        return mirr, has

    def _payback(
        self, words: str, name: str, saved: Line, so_far: Line, ends: Line
    ) -> tuple[Line, Line, Line]:
        """The last time the cumulative turns zero or more and stays so, within the year by proportion.

        End values count at the end of the last year only, so they don't shorten the part of a year.
        """
        c = self.column
        below = c.line(
            f"{words}: {name}, still below zero", "1", self.in_horizon * opposite(at_least(so_far, 0))
        )
        last_year = c.line(f"{words}: {name}, years still below", "year", below * self.year)
        last = c.line(f"{words}: {name}, last year below", "year", largest(last_year))
        never_below = c.line(f"{words}: {name}, never below zero", "1", at_least(0, total(below)))
        has = c.line(f"{words}: {name} reached", "1", opposite(at_least(last, self.horizon)))
        short = c.line(f"{words}: {name}, shortfall", "currency", 0 - pick(so_far, last.per("year") + 1))
        without_end = c.line(f"{words}: {name}, savings without end values", "currency", saved - ends)
        turn = pick(without_end, last.per("year") + 2)
        flow = c.line(f"{words}: {name}, flow of the year it turns", "currency", when(has, turn, 0))
        part = c.line(
            f"{words}: {name}, part of that year", "1", when(at_least(short, flow), 1, short / flow)
        )
        years = when(never_below, 0, last + part.during("year"))
        payback = c.line(f"{words}: {name}", "year", years)
        return payback, c.line(f"{words}: {name} exists", "1", has), never_below


def constant_one() -> Expr:
    """One unit of money, to divide by where nothing is divided."""
    return Constant(1).during("currency")
