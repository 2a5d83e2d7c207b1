"""The whole reckoning of a scenario as one book of columns: the shop, each method, the cash flow, the comparison."""

from __future__ import annotations

from dataclasses import dataclass

from roi.engine.column import Book
from roi.engine.evaluate import Values, evaluate
from roi.model.comparison import Comparison
from roi.model.method import method_sheet
from roi.model.replacement import Replacement, replaceable
from roi.model.resources import Resources
from roi.model.savings import CashFlow
from roi.model.sheet import MethodSheet
from roi.model.shop import Shop, shop_column
from roi.model.tables import WorkTables, work_tables
from roi.model.too_large import refuse_too_large
from roi.scenario.scenario import Scenario


@dataclass(frozen=True, eq=False)
class Study:
    """A scenario's columns, and the lines that answers and sheets refer to."""

    scenario: Scenario
    work: WorkTables
    shop: Shop
    methods: dict[str, MethodSheet]
    cash_flow: CashFlow
    comparison: Comparison
    resources: Resources
    replacement: Replacement | None
    book: Book

    def evaluate(self, changes: dict[str, float] | None = None) -> Values:
        """Every line's value; `changes` are {input key: value in the engine's unit}.

        Raises BadInput where what is stated comes to more than a workbook can hold exactly.
        """
        values = evaluate(self.book, changes or {})
        refuse_too_large(self.scenario, values)
        return values


def method_sheets(shop: Shop) -> dict[str, MethodSheet]:
    """Every method's column, in the scenario's order; the current one's is built first, since the others leave it."""
    scenario = shop.scenario
    old = method_sheet(shop, scenario.method(scenario.current), None)
    found = {scenario.current: old}
    for m in scenario.methods:  # each stands after the one it is the same as
        if m.id not in found:
            base = next((found[name] for name in scenario.bases(m.id) if name in found), None)
            found[m.id] = method_sheet(shop, m, old, base)
    return {m.id: found[m.id] for m in scenario.methods}


def build(scenario: Scenario) -> Study:
    """Write down every line of a scenario's reckoning, units checked."""
    work = work_tables(scenario)
    shop = shop_column(scenario, work)
    methods = method_sheets(shop)
    old = methods[scenario.current]
    cash_flow = CashFlow(shop, methods, scenario.current)
    comparison = Comparison(scenario, methods, cash_flow)
    resources = Resources(scenario, shop, methods, comparison.methods)
    # The old method first: what it costs to leave it is reckoned from its figures.
    others = [sheet.column for sheet in methods.values() if sheet is not old]
    columns = [shop.column, old.column, *others, cash_flow.column, comparison.column]
    columns.append(resources.column)
    replacement = Replacement(scenario, shop, methods, comparison) if replaceable(old) else None
    if replacement is not None:
        columns.append(replacement.column)
    return Study(
        scenario=scenario,
        work=work,
        shop=shop,
        methods=methods,
        cash_flow=cash_flow,
        comparison=comparison,
        resources=resources,
        replacement=replacement,
        book=Book(columns),
    )
