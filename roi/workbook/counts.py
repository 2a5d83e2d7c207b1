"""What the counts of inputs that a workbook tells are counts of, in sentences: they differ, since each asks something else.

All as delivered. A count is told only where a sheet tells it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from roi.answers.cases import by_effect
from roi.answers.confirming import to_confirm
from roi.answers.ranges import Ranges
from roi.answers.risk import usual_risk
from roi.answers.switching import switching_values
from roi.model.study import Study
from roi.scenario.stated import StatedInput


def counts(
    study: Study, rows: Sequence[StatedInput | str], ranges: Ranges, wants: Callable[[str], bool]
) -> Iterator[str]:
    """The sentences, from the count that holds all others on.

    rows : those of Inputs;  wants : whether a sheet is written
    """
    inputs = [row for row in rows if isinstance(row, StatedInput)]
    yield f"On Inputs stand {len(inputs)} inputs, {sum(row.default for row in inputs)} of them still at a default."
    yield (
        f"{len(to_confirm(study))} are unconfirmed: a default or an estimate, without what you choose yourself, such as the "
        "years looked ahead."
    )
    if wants("Sensitivity"):
        yield f"{len(by_effect(ranges))} have a range that moves the lead of the cheapest method: see Sensitivity."
    if wants("Switching"):
        found = switching_values(study)
        yield f"{len(found.inputs)} could be searched for a value that turns the answer: see Switching."
    if wants("Risk"):
        yield f"{usual_risk(study).drawn} have a range and are no choice or count, and are drawn at once: see Risk."


__all__ = ["counts"]
