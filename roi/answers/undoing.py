"""Whether the change can be undone, in words: what going back would cost in the month stated, or that it isn't stated.

Money in the scenario's currency, before tax. Said of the method that costs least, where that isn't the current one and the
current one can do the work.
"""

from __future__ import annotations

from roi.engine.column import Column, Line
from roi.engine.expression import Constant
from roi.engine.operations import at_least, gather, opposite, pick
from roi.engine.words import Choice, Number, Sentence
from roi.model.study import Study
from roi.units.unit import Unit

GOING_BACK = "Going back"
UNSTATED = "Going back, not stated"
_TEXT = "What going back would cost is not stated."


def going_back(study: Study, column: Column, change: Line) -> list[Sentence]:
    """Add to a column the lines that the sentences need, and build them.

    The first only where some method states `changeover.undo`, the second only where some challenger doesn't: a sentence that
    could never be said isn't there. `change` is 1 where another method than the current one is told to be cheaper.
    """
    rows, methods = study.comparison.rows, study.methods
    challengers = [sheet for sheet in methods.values() if sheet is not methods[study.scenario.current]]
    states = {name: Constant(int("undo_month" in sheet.lines)) for name, sheet in methods.items()}
    block = column.line(
        "What going back would cost is stated, by method",
        "1",
        gather(study.comparison.methods, list(states.values())),
    )
    stated = column.line(
        "What going back would cost is stated", "1", at_least(pick(block, rows["cheapest_at"]), 1)
    )
    found: list[Sentence] = []
    if any("undo_month" in sheet.lines for sheet in challengers):
        never = Constant(0, Unit.read("month"))
        months = [sheet.lines.get("undo_month", never) for sheet in methods.values()]
        by_method = column.line(
            "Month of going back, by method", "month", gather(study.comparison.methods, months)
        )
        month = column.line("Month of going back", "month", pick(by_method, rows["cheapest_at"]))
        cost = column.line("Cost of going back", "currency", pick(rows["undoing"], rows["cheapest_at"]))
        told = column.line("Going back is told", "1", change * stated)
        pieces = (
            Number(month, 0, "Going back in month ", " would cost ", told),
            Number(cost, 0, f"{study.scenario.currency} ", ", before tax.", told),
        )
        found.append(Sentence(GOING_BACK, pieces))
    if any("undo_month" not in sheet.lines for sheet in challengers):
        untold = column.line("That going back isn't stated is told", "1", change * opposite(stated))
        found.append(Sentence(UNSTATED, (Choice(untold, _TEXT),)))
    return found


__all__ = ["GOING_BACK", "UNSTATED", "going_back"]
