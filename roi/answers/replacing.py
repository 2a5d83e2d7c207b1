"""The best year to replace what is owned, in words: one sentence for each way to go on, and one for the best of them.

Years are counted from now; costs are present costs after tax. What is said can be no surer than the repairs and resale stated.
"""

from __future__ import annotations

from roi.engine.column import Column, Line
from roi.engine.evaluate import Values, extend
from roi.engine.operations import at_least, opposite
from roi.engine.words import Choice, Name, Number, Sentence, Words
from roi.model.replacement import Way
from roi.model.study import Study

BEST = "When to replace"


def best_years(study: Study, column: Column) -> dict[str, Sentence]:
    """Add to a column the lines that the sentences need, and build them by label: the best first, then each way.

    Empty where there is no sheet about replacing, since nothing that is owned has years left.
    """
    found = study.replacement
    if found is None:
        return {}
    column.heading("Figures about replacing what is owned")
    sentences = {BEST: _best(study, column)}
    for way in found.ways.values():
        sentence = _way(study, column, way)
        sentences[sentence.label] = sentence
    return sentences


def _best(study: Study, column: Column) -> Sentence:
    found = study.replacement
    assert found is not None
    flags = _flags(column, "best of all", found.best_year, found.best_from, found.best_to)
    code = study.scenario.currency
    return Sentence(
        BEST,
        (
            Choice(
                flags["now"],
                "Replace what is owned now and go on with ",
                "Keep what is owned, then go on with ",
            ),
            Name(study.comparison.rows["present"], found.best),
            Words(": "),
            *_when(flags, found.best_year, found.best_cost, found.best_from, found.best_to, code),
        ),
    )


def _way(study: Study, column: Column, way: Way) -> Sentence:
    flags = _flags(column, way.name, way.year, way.from_year, way.to_year)
    pieces = _when(flags, way.year, way.least, way.from_year, way.to_year, study.scenario.currency)
    return Sentence(f"{BEST}, by {way.name}", (Words(f"Replaced by {way.name}: "), *pieces))


def _flags(column: Column, words: str, year: Line, first: Line, last: Line) -> dict[str, Line]:
    """Whether the year is this one, and whether others are as good."""
    now = column.line(f"Replacing, {words}: now", "1", at_least(0, year))
    alone = column.line(f"Replacing, {words}: one year only", "1", at_least(first, last))
    return {"now": now, "several": column.line(f"Replacing, {words}: several years", "1", opposite(alone))}


def _when(
    flags: dict[str, Line], year: Line, cost: Line, first: Line, last: Line, code: str
) -> tuple[Number | Choice | Words, ...]:
    """Least in year 3: 181,815 USD in money of today. Within 1 % in years 2 to 4."""
    several = flags["several"]
    return (
        Number(year, 0, "least in year ", ":"),
        Number(cost, 0, " ", f" {code} in money of today."),
        Number(first, 0, " Within 1 % in years ", " to ", several),
        Number(last, 0, "", ".", several),
    )


def best_year(study: Study, values: Values) -> list[str]:
    """The same sentences with computed values."""
    column = Column("Words", "words")
    found = best_years(study, column)
    known = extend(values, [column])
    return [sentence.say(known) for sentence in found.values()]


__all__ = ["BEST", "best_year", "best_years"]
