"""The methods side by side: feasible or not, every measure, and which is cheapest in either view.

Ties within 0.01 go to the current method. A method that is not feasible never wins.
"""

from __future__ import annotations

from roi.engine.column import Column, Line
from roi.engine.expression import Axis, Constant, Data, Expr
from roi.engine.operations import (
    at,
    at_least,
    gather,
    largest,
    opposite,
    pick,
    product_sum,
    second_smallest,
    smallest,
    smallest_at,
    total,
    when,
)
from roi.model.savings import CashFlow, Savings
from roi.model.sheet import LABELS, MethodSheet
from roi.scenario.scenario import Scenario
from roi.units.unit import Unit

# Parts that a chart of running costs shows, small families together: six at most.
FAMILIES = ("consumables", "press", "labour", "equipment", "waste", "other")
TIE = 0.01  # currency: a difference smaller than this is none


class Comparison:
    """The Comparison sheet, methods along the columns."""

    def __init__(self, scenario: Scenario, sheets: dict[str, MethodSheet], cash_flow: CashFlow) -> None:
        self.methods = Axis("methods", tuple(s.method.short for s in sheets.values()), as_written=True)
        self.column = Column("Comparison", "comparison", across=True, note="Every measure of every method.")
        self.rows: dict[str, Line] = {}
        self._sheets, self._current, self._annuity = sheets, scenario.current, cash_flow.shop.annuity
        self._volume = cash_flow.shop.volume
        self._measures()
        self._against_current(cash_flow)
        self._cheapest()

    def _row(self, key: str, label: str, unit: str, name: str | None = None) -> Line:
        lines = [sheet.lines[name or key] for sheet in self._sheets.values()]
        self.rows[key] = self.column.line(label, unit, gather(self.methods, lines))
        return self.rows[key]

    def _made(self, key: str, label: str, unit: str) -> Line:
        """Amounts of year 1: those of the log's year times its share."""
        log = self.column.line(
            f"{label}, at the log's volume",
            unit,
            gather(self.methods, [s.lines[key] for s in self._sheets.values()]),
        )
        self.rows[key] = self.column.line(label, unit, log * self._work)
        return self.rows[key]

    def _measures(self) -> None:
        c = self.column
        c.heading("What each method costs", "After tax where not said otherwise.")
        self._row("feasible", "Feasible (1) or not (0)", "1")
        self._row("first_cost", "First cost, before tax", "currency")
        self._row("running_1", "Running cost of year 1, before tax", "currency")
        for family, label in LABELS.items():
            lines = [sheet.families[family] for sheet in self._sheets.values()]
            first_year = [at(line, 1) for line in lines]
            self.rows[f"family.{family}"] = c.line(
                label, "currency", gather(self.methods, first_year), note="part of the running cost of year 1"
            )
        small = self.rows["family.energy"] + self.rows["family.room"]
        self.rows["family.other"] = c.line("Energy, room and administration", "currency", small)
        self.rows["least_running_at"] = c.line(
            "Position of the lowest running cost", "1", smallest_at(self.rows["running_1"])
        )
        for view, words in (("", ""), ("_full", ", full cost")):
            self._row(f"present{view}", f"Present cost{words}", "currency")
            self._row(f"equivalent{view}", f"Equivalent annual cost{words}", "currency/year")
            self._row(f"per_plate{view}", f"Cost of a plate called for{words}", "currency/plate")
            self._row(f"per_thousand{view}", f"Cost of 1,000 good impressions{words}", "currency/thousand")
            self._row(f"per_job{view}", f"Cost of a job{words}", "currency/job")
        self._row(
            "own_life", "Equivalent annual cost over own life, in money of today, before tax", "currency/year"
        )
        self._row("running_today", "Running cost of year 1 at today's prices, before tax", "currency")
        if any("undoing" in sheet.lines for sheet in self._sheets.values()):
            stays = c.line("Nothing to undo, or not stated", "currency", Constant(0).during("currency"))
            undone = [sheet.lines.get("undoing", stays) for sheet in self._sheets.values()]
            self.rows["undoing"] = c.line(
                "Cost of undoing the change, before tax", "currency", gather(self.methods, undone)
            )
        if any("financing" in sheet.lines for sheet in self._sheets.values()):
            none = c.line("Without a loan", "currency", Constant(0).during("currency"))
            worth = [sheet.lines.get("financing", none) for sheet in self._sheets.values()]
            self.rows["financing"] = c.line(
                "Financing by a loan, net present value", "currency", gather(self.methods, worth),
                note="not in the costs above",
            )  # fmt: skip
        self._ways_to_pay()
        c.heading("What each method makes", "In year 1.")
        self._work = c.line("Work of year 1 against the log", "1", at(self._volume, 1))
        self._made("imaged", "Plates imaged", "plate/year")
        self._made("bought", "Plates bought in", "plate/year")
        self._made("area", "Area imaged", "m2/year")
        self._made("all_stops", "Stops within runs", "stop/year")
        self._made("press_hours", "Press hours lost", "h/year")
        self._made("out_forms", "Forms out of reach", "form/year")
        self._row("barred", "Forms that may not leave and can't be made", "form/year")

    def _ways_to_pay(self) -> None:
        """Rows of leases and ways to pay, each where some method has any."""
        c, sheets = self.column, self._sheets.values()
        for key, nothing, label, unit, note in (
            ("lease_financing", "Without a lease", "Financing by a lease, net present value", "currency",
             "not in the costs above"),
            ("pay_way", "Nothing to choose from", "Cheapest way to pay", "1", "1 cash, 2 loan, 3 lease; 0 no choice stated"),
            ("undoing_leased", "Not leased, or no undoing stated", "Cost of undoing the change if leased, before tax",
             "currency", ""),
        ):  # fmt: skip
            if any(key in sheet.lines for sheet in sheets):
                none = c.line(nothing, unit, Constant(0, Unit.read(unit)))
                each = [sheet.lines.get(key, none) for sheet in sheets]
                self.rows[key] = c.line(label, unit, gather(self.methods, each), note=note)

    def _against_current(self, cash_flow: CashFlow) -> None:
        """Measures against the current method; it saves nothing against itself."""
        for view, words in (("cash", ""), ("full", ", full cost")):
            self.column.heading(f"Against the current method{words}")
            for name, label, unit in _SAVINGS:
                parts: list[Expr] = []
                for method in self._sheets:
                    if method == self._current:
                        parts.append(Constant(0, Unit.read(unit)))
                    else:
                        savings: Savings = cash_flow.savings[method][view]
                        parts.append(getattr(savings, name))
                key = f"{name}.{view}"
                self.rows[key] = self.column.line(f"{label}{words}", unit, gather(self.methods, parts))

    def _cheapest(self) -> None:
        c = self.column
        c.heading("Cheapest", f"Ties within {TIE} go to the current method.")
        head_start = [TIE if m == self._current else 0.0 for m in self._sheets]
        tie = c.data(
            Data(
                "comparison.tie",
                "Head start of the current method in a tie",
                "currency",
                self.methods,
                head_start,
            )
        )
        is_current = [1.0 if m == self._current else 0.0 for m in self._sheets]
        current = c.data(
            Data("comparison.current", "Current method", "1", self.methods, is_current, flag=True)
        )
        places = c.data(
            Data("comparison.places", "Position", "1", self.methods, range(1, len(self.methods) + 1))
        )
        feasible = c.line("Can be chosen", "1", at_least(self.rows["feasible"], 1))
        self.number_feasible = c.line("Methods that can be chosen", "1", total(feasible))
        self.current_feasible = c.line(
            "The current method can do the work", "1", at_least(product_sum(feasible, current), 1)
        )
        several = c.line("There is a choice", "1", at_least(self.number_feasible, 2))
        self.rows["leads"] = c.line("Can be chosen, and has a rival", "1", feasible * several)
        for view, words in (("", ""), ("_full", ", full cost")):
            cost = self.rows[f"present{view}"]
            worst = c.line(f"Dearest of all{words}", "currency", largest(cost))
            barred = worst + Constant(1).during("currency")
            judged = c.line(f"Present cost as judged{words}", "currency", when(feasible, cost - tie, barred))
            position = c.line(f"Position of the cheapest{words}", "1", smallest_at(judged))
            best = c.line(f"Present cost of the cheapest{words}", "currency", pick(cost, position))
            own = c.line(f"Present cost of the current method{words}", "currency", product_sum(cost, current))
            saving = c.line(
                f"Saving of the cheapest against the current method{words}", "currency", own - best
            )
            runner_up = c.line(
                f"Present cost of the second cheapest{words}", "currency", second_smallest(judged)
            )
            # What can't do the work is nobody's rival.
            lead = c.line(
                f"Lead over the second cheapest{words}",
                "currency",
                when(several, runner_up - smallest(judged), 0),
            )
            stays = c.line(
                f"The current method is the cheapest{words}", "1", at_least(pick(current, position), 1)
            )
            self.rows[f"chosen{view}"] = chosen = c.line(
                f"Is the cheapest{words}", "1", at_least(position, places) * at_least(places, position)
            )
            rival = when(chosen, runner_up, smallest(judged))
            ahead = c.line(
                f"Ahead of the best of the others{words}", "currency", when(several, rival - judged, 0)
            )
            self.rows[f"ahead{view}"] = c.line(
                f"Ahead of the best of the others{words}, a year",
                "currency/year",
                (ahead / self._annuity).per("year"),
                note="negative: so much dearer",
            )
            able = at_least(self.number_feasible, 1)
            self.rows[f"winner{view}"] = c.line(
                f"Position of the cheapest that can be chosen, 0 for none{words}",
                "1",
                when(able, position, 0),
            )
            self.rows |= {
                f"cheapest_at{view}": position, f"saving{view}": saving, f"lead{view}": lead, f"stays{view}": stays,
                f"best{view}": best, f"own{view}": own,
            }  # fmt: skip
        gap = self.rows["cheapest_at"] - self.rows["cheapest_at_full"]
        agree = at_least(gap, 0) * at_least(0, gap)
        self.rows["views_agree"] = c.line("Both views name the same method", "1", agree)
        self.rows["views_differ"] = c.line(
            "The views name different methods", "1", opposite(self.rows["views_agree"])
        )


_SAVINGS = (
    ("npv", "Net present value of savings", "currency"),
    ("irr", "Internal rate of return", "1/year"),
    ("has_irr", "Has one internal rate (1)", "1"),
    ("saves_first", "Saves first or costs nothing at first (1)", "1"),
    ("several_rates", "Several rates (1)", "1"),
    ("never_returned", "Never returned (1)", "1"),
    ("mirr", "Modified rate of return", "1"),
    ("has_mirr", "Has a modified rate (1)", "1"),
    ("ratio", "Savings-to-investment ratio", "1"),
    ("has_ratio", "Has a savings-to-investment ratio (1)", "1"),
    ("payback", "Simple payback", "year"),
    ("has_payback", "Pays back within the years looked ahead (1)", "1"),
    ("no_outlay", "Nothing to pay back (1)", "1"),
    ("discounted_payback", "Discounted payback", "year"),
    ("has_discounted_payback", "Pays back discounted (1)", "1"),
)
