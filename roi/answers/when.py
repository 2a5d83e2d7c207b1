"""When in year 1 to change, in words: for each challenger the months the old method runs on at the least present cost.

Only where the shop states how many months it does; the costs themselves are lines of the challengers' sheets.
"""

from __future__ import annotations

from roi.engine.column import Column
from roi.engine.operations import at_least, constant, opposite
from roi.engine.words import Choice, Number, Sentence
from roi.model.study import Study


def when_to_change(study: Study, column: Column) -> dict[str, Sentence]:
    """Add to a column the lines that the sentences speak of, and build them; by challenger's id, empty where not asked."""
    asked = {name: sheet for name, sheet in study.methods.items() if "when.cost" in sheet.lines}
    if not asked:
        return {}
    column.heading("Figures about when to change")
    code = study.scenario.currency
    found: dict[str, Sentence] = {}
    for name, sheet in asked.items():
        short, lines = sheet.method.short, sheet.lines
        months = column.line(
            f"{short}, months of the old method at the least cost",
            "month",
            (lines["when.place"] - 1).during("month"),
        )
        later = column.line(
            f"{short}, a later change costs less", "1", at_least(months, constant(1, "month"))
        )
        at_once = column.line(f"{short}, changing at once costs least", "1", opposite(later))
        found[name] = Sentence(
            f"When to change, {short}",
            (
                Number(lines["when.least"], 0, f"{short}: least present cost {code} "),
                Choice(at_once, ", when changed at once.", ", when the old method runs "),
                Number(months, 0, "", " of year 1's 12 months.", later),
                Choice(lines["when.stay"], " Staying costs less in every month."),
            ),
        )
    return found


__all__ = ["when_to_change"]
