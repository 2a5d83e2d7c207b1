"""How firmly the verdict stands, in words: the chance, what alone would turn it and where, what to check first.

Only this program can draw and search, so these sentences are delivered as text and hold for the inputs as delivered.
"""

from __future__ import annotations

from roi.answers.cases import inputs_in_use
from roi.answers.confirming import to_confirm
from roi.answers.ranges import how_close as by_ranges
from roi.answers.ranges import try_ranges
from roi.answers.risk import chance_of_the_best, usual_risk
from roi.answers.risk_words import sentences
from roi.answers.switching import could_turn, switching_values
from roi.answers.switching_words import turning_points
from roi.model.study import Study

FIRST = 3  # inputs named


def too_close(study: Study) -> bool:
    """Whether the cheapest at the best values is the cheapest in fewer than four draws of five."""
    chance = chance_of_the_best(study)
    return chance is not None and chance.close


def how_sure(study: Study) -> str:
    """The chance that the method cheapest at the best values is the cheapest; "" where there is no choice to be sure of."""
    ranges = try_ranges(study)
    if not ranges.able or ranges.lead == float("inf"):
        return ""
    found = usual_risk(study)
    if not found.drawn:
        return "How sure that is can't be told: no input has a range to draw from."
    volume = study.scenario.input("work", "volume")
    stated = study.scenario.inputs[("work", "volume")]
    held = ", the year's work held" if volume.key in study.book.inputs and stated.low == stated.high else ""
    drawn = f"{found.drawn} inputs with a range drawn at once, {found.settings.draws:,} times{held}"
    return f"{sentences(study, found)[0]} ({drawn}.)"


def how_close(study: Study) -> str:
    """Which inputs alone, within their own ranges, would turn the answer, and where."""
    found = switching_values(study)
    return turning_points(study, found) if could_turn(found, 1) else by_ranges(try_ranges(study))


def what_to_check(study: Study) -> str:
    """How much rests on defaults and estimates, and what to confirm first."""
    found, used = to_confirm(study), inputs_in_use(study)
    if not found:
        return "Every input in use is measured, invoiced or quoted."
    defaults = sum(stated.default for stated in used)
    estimates = sum(stated.status == "estimate" for stated in used)
    named = "; ".join(f"{one.stated.label} ({one.way.kind.lower()})" for one in found[:FIRST])
    return f"Of {len(used)} inputs in use {defaults} are still at a default, {estimates} an estimate. To check first: {named}."


# By the name a template calls them.
DELIVERED = {"How sure": how_sure, "How close": how_close, "What to check": what_to_check}

__all__ = ["DELIVERED", "how_close", "how_sure", "too_close", "what_to_check"]
