"""Speed of switching values, of what to check next and of claims, on the demo: `python -m tests.benchmarks.switching`.

Nothing is asserted. All on one core.
"""

from __future__ import annotations

import time
from collections.abc import Callable

from roi.answers import confirming
from roi.answers.claims import needed, read
from roi.answers.switching import switching_values
from roi.model.study import Study, build
from roi.scenario.scenario import read as read_scenario
from tests.benchmarks.one_core import keep_to_one_core
from tests.benchmarks.risk import DEMO
from tests.benchmarks.risk import median as median_of


def report(study: Study, median: Callable[[Callable[[], object]], float]) -> None:
    """Print every figure; `median` gives the median seconds of a piece of work."""

    def switching(view: str) -> object:
        switching_values.cache_clear()
        return switching_values(study, view)

    def checking() -> object:
        confirming._losses.cache_clear()
        confirming._what_bars.cache_clear()
        return confirming.to_confirm(study)

    count = len(switching_values(study).inputs)
    for view in ("cash", "full"):
        took = median(lambda view=view: switching(view))  # type: ignore[misc]
        print(f"all switching values of {count} inputs, {view}: {took:.2f} s (expected 1)")
    print(f"what to check next: {median(checking):.2f} s")
    start = time.perf_counter()
    for text in ("pays back in 18 months", "is the cheapest"):
        needed(study, read(text, study.scenario.currency))
    print(f"a claim: {(time.perf_counter() - start) / 2:.2f} s")


def main() -> None:
    """Print every figure."""
    keep_to_one_core()
    report(build(read_scenario(DEMO)), lambda work: median_of(work, 5))


if __name__ == "__main__":
    main()
