"""What each method uses up and leaves in year 1: a year, a plate called for and a thousand good impressions.

Plates, square metres, litres, cubic metres of water, kilograms of plate material and waste, kilowatt-hours, hours of staff and
press, sheets of paper. Carbon dioxide only where the shop states a factor, since it differs from grid to grid. Rows are not
to be added: used plates sold as scrap are part of the material purchased, spent baths part of the chemistry used.
"""

from __future__ import annotations

from roi.engine.column import Column, Line
from roi.engine.expression import Axis, Constant, Data, Expr
from roi.engine.operations import at, at_least, constant, gather, opposite, when
from roi.model.sheet import MethodSheet, Used, add
from roi.model.shop import Shop
from roi.scenario.scenario import Scenario
from roi.units.unit import Unit

THOUSAND = constant(1000, "impression/thousand")
ELECTRICITY = "Electricity"


class Resources:
    """The Resources sheet, methods along the columns.

    amounts : a year's amount by label and unit, a block over methods; a method that uses none has 0
    """

    def __init__(self, scenario: Scenario, shop: Shop, sheets: dict[str, MethodSheet], methods: Axis) -> None:
        self.shop, self.sheets, self.methods = shop, sheets, methods
        self.column = Column(
            "Resources", "resources", across=True, note="What each method uses up and leaves in year 1."
        )
        self.amounts: dict[tuple[str, Unit], Line] = {}
        c = self.column
        c.heading("Work")
        self.work = c.line("Work of year 1 against the log", "1", at(shop.volume, 1))
        self.plates = c.line("Plates called for in year 1", "plate/year", shop.plates_called * self.work)
        self.good = c.line("Good impressions of year 1", "impression/year", shop.good * self.work)
        worked = {name: self._worked(sheet) for name, sheet in sheets.items()}
        keys = {key: None for mine in worked.values() for key in mine}
        nothing = self._nothing(
            [unit for (label, unit) in keys if any((label, unit) not in m for m in worked.values())]
        )
        c.heading(
            "A year",
            "Rows overlap: scrap sold is part of the material purchased, waste of the chemistry used.",
        )
        for key in keys:
            label, unit = key
            parts = [mine[key] if key in mine else nothing[unit] for mine in worked.values()]
            self.amounts[key] = c.line(label, str(unit), gather(methods, parts))
        self._carbon(scenario)
        self.draining: Line | None = None
        self.class_draining: Line | None = None
        self.classes = self._hazardous(scenario)
        c.heading("A plate called for")
        for (label, unit), amount in self.amounts.items():
            a_plate = unit / Unit.read("plate/year")
            c.line(f"{label}, a plate", str(a_plate), amount / self.plates)
        c.heading("A thousand good impressions")
        for (label, unit), amount in self.amounts.items():
            a_thousand = unit / Unit.read("thousand/year")
            share = when(at_least(0, self.good), 0, amount / self.good * THOUSAND)
            c.line(f"{label}, a thousand impressions", str(a_thousand), share)

    def _worked(self, sheet: MethodSheet) -> dict[tuple[str, Unit], Line]:
        """The amounts of year 1 as lines on the method's own sheet, by label and unit."""
        column = sheet.column
        column.heading("Resources of year 1", "What the Resources sheet shows side by side.")
        work = column.line("Work of year 1 against the log", "1", at(self.shop.volume, 1))
        plates: list[Used] = []
        for name, words in (("imaged_sizes", "Plates imaged"), ("bought_sizes", "Plates bought in")):
            block = sheet.lines[name]
            assert block.axis is not None
            for i, size in enumerate(block.axis.labels):
                one = column.line(f"{words} of one size, {size}", "plate/year", at(block, i))
                plates.append(Used(f"{words}, {size}", "work", one))
        groups: dict[tuple[str, Unit], list[Expr]] = {}
        for used in [*plates, Used("Area imaged", "work", sheet.lines["area"]), *sheet.used]:
            amount = at(used.amount, 1) if used.follows == "year" else used.amount + 0
            if used.follows == "work":
                amount = used.amount * work
            groups.setdefault((used.label, used.amount.unit), []).append(amount)
        return {
            (label, unit): column.line(f"{label}, in year 1", str(unit), add(parts))
            for (label, unit), parts in groups.items()
        }

    def _nothing(self, units: list[Unit]) -> dict[Unit, Line]:
        """What stands for a method that uses none, by unit."""
        if units:
            self.column.heading("Nothing", "Stands below where a method uses none.")
        return {u: self.column.line(f"None, in {u}", str(u), Constant(0, u)) for u in dict.fromkeys(units)}

    def _hazardous(self, scenario: Scenario) -> Line | None:
        """Waste that may be hazardous, a month, with the shop's other, against the classes of the rules that are named."""
        c, rules = self.column, scenario.waste
        drains = scenario.has("leaving", "drain_volume")
        if drains and not rules.levels:
            c.heading("Old tanks drained once")
            drained = c.input(scenario.input("leaving", "drain_volume"))
            weight = drained * c.input(scenario.input("shop", "waste_density"))
            self.draining = c.line(
                "Waste of old tanks drained", "kg", weight, note="no class: no rules on waste are named"
            )
        if not rules.levels or not (drains or any(sheet.hazardous for sheet in self.sheets.values())):
            return None
        c.heading("Waste that may be hazardous, a month", f"{rules.label}: {rules.source}. {rules.caution}")
        density = c.input(scenario.input("shop", "waste_density"))
        other = c.input(scenario.input("shop", "other_hazardous"))
        found = [self._litres_of(sheet) for sheet in self.sheets.values()]
        parts: list[Line] = [line for line in found if line is not None]
        if len(parts) < len(found):
            none = c.line("None that may be hazardous", "L/year", Constant(0, Unit.read("L/year")))
            parts = [none if line is None else line for line in found]
        litres = c.line("Litres that may be hazardous", "L/year", gather(self.methods, parts))
        mass = c.line("From making plates", "kg/month", litres * density / constant(12, "month/year"))
        whole = c.line("With the shop's other hazardous waste", "kg/month", mass + other)
        axis = Axis("classes of generator", tuple(level.name for level in rules.levels))
        # On the shop's sheet, which has no columns of methods that they could be taken for.
        self.shop.column.heading("Classes of waste that may be hazardous", rules.label)
        limits = self.shop.column.data(
            Data("shop.waste_limits", "Limit of the class", "kg/month", axis, [x.limit for x in rules.levels])
        )
        ends = [c.line(f"Limit, {x.name}", "kg/month", at(limits, i)) for i, x in enumerate(rules.levels)]

        def class_of(label: str, kilograms: Line) -> Line:
            met = [
                at_least(kilograms, end) if level.counts_itself else opposite(at_least(end, kilograms))
                for level, end in zip(rules.levels, ends, strict=True)
            ]
            return c.line(label, "1", add(met), note=f"0 none, {names}; the authority decides")

        names = ", ".join(f"{i} {level.name}" for i, level in enumerate(rules.levels, 1))
        classes = class_of("Class if the test says hazardous", whole)
        if drains:
            c.heading("The month in which old tanks are drained", rules.draining)
            tanks = c.input(scenario.input("leaving", "drain_volume")) * density
            old = at(whole, list(self.sheets).index(scenario.current))
            self.draining = c.line(
                "Waste of that month, drained tanks and today's method",
                "kg/month",
                tanks.per("month") + old,
                note="with the shop's other hazardous waste",
            )
            self.class_draining = class_of("Class that month reaches", self.draining)
        return classes

    def _litres_of(self, sheet: MethodSheet) -> Line | None:
        """A method's litres of year 1 that may be hazardous, on its own sheet; None where it leaves none."""
        if not sheet.hazardous:
            return None
        return sheet.column.line(
            "Waste that may be hazardous, in year 1", "L/year", add([at(x, 1) for x in sheet.hazardous]) + 0
        )

    def _carbon(self, scenario: Scenario) -> None:
        """Carbon dioxide of the electricity, at the factor stated."""
        if not scenario.has("shop", "co2e_electricity"):
            return
        kwh = [line for (label, _), line in self.amounts.items() if label.startswith(ELECTRICITY)]
        if kwh:
            factor = self.column.input(scenario.input("shop", "co2e_electricity"))
            body = add(kwh) * factor
            self.amounts["Carbon dioxide equivalent of electricity", body.unit] = self.column.line(
                "Carbon dioxide equivalent of electricity", str(body.unit), body
            )


__all__ = ["Resources"]
