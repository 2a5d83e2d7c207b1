"""Two methods over the volumes looked at: where the cheaper one changes, in words; as lines.

In cash, after tax. What is told is a band of volumes that were looked at; `breakeven` finds each crossing in between.
"""

from __future__ import annotations

from dataclasses import dataclass

from roi.answers.few import decimals
from roi.engine.cases import Reading
from roi.engine.column import Column, Line
from roi.engine.expression import Axis, Data, Expr
from roi.engine.operations import at, at_least, largest, opposite, smallest, steps, total, when
from roi.engine.words import Choice, Name, Number, Phrase, Sentence, Words
from roi.model.study import Study


@dataclass(frozen=True)
class Pair:
    """Two methods, the first and the second in the order of the scenario; flags are 0 or 1.

    difference : present cost of the first above the second, by volume
    changes : 1 for each step from one volume to the next over which the cheaper one changes
    count, crosses : how many such steps there are, and whether any
    below, above : the last volume before the first change and the first after the last, plates a month; meaningless
        where none changes
    """

    methods: tuple[str, str]
    difference: Line
    changes: Line
    count: Line
    crosses: Line
    below: Line
    above: Line
    sentence: Sentence


@dataclass(frozen=True)
class Grid:
    """The volumes: plates a month in each, the steps between them, and the least and the most."""

    plates: Line
    between: Axis
    least: Line
    most: Line


def pair(
    study: Study, column: Column, grid: Grid, methods: tuple[str, str], costs: tuple[Reading, Reading]
) -> Pair:
    """Add the lines of one pair; costs : present cost of each by volume."""
    names = list(study.methods)
    places = [names.index(m) for m in methods]
    first, second = (study.methods[m].method.short for m in methods)
    words = f"{first} and {second}"
    column.heading(words)

    def flag(label: str, body: Expr) -> Line:
        return column.line(f"{words}: {label}", "1", body)

    difference = column.line(
        f"{words}: present cost of the first above the second", "currency", costs[0] - costs[1]
    )
    less = flag("the first costs no more", at_least(0, difference))
    here, following = steps(less, grid.between)
    changes = flag("they change places", when(here, opposite(following), following))
    count = flag("changes of place", total(changes))
    v0, v1 = steps(grid.plates, grid.between)
    before = column.line(f"{words}: volume before a change", "plate/month", when(changes, v0, grid.most))
    after = column.line(f"{words}: volume after a change", "plate/month", when(changes, v1, 0))
    below = column.line(f"{words}: last volume before the first change", "plate/month", smallest(before))
    above = column.line(f"{words}: first volume after the last change", "plate/month", largest(after))
    crosses = flag("change places at all", at_least(count, 1))

    feasible = study.comparison.rows["feasible"]
    able = [flag(f"{short} can do the work", at_least(at(feasible, i), 1))
            for short, i in zip((first, second), places, strict=True)]  # fmt: skip
    both = flag("both can do the work", able[0] * able[1])
    several = flag("change places more than once", at_least(count, 2) * both)
    never = flag("never change places", opposite(crosses))
    told = flag("which costs less is told", both * opposite(several))
    axis = Axis("the two", ("first", "second"))
    data = Data(f"volumes.{words}", f"{words}: their positions", "1", axis, [i + 1 for i in places])
    place = column.data(data)
    less_first = at(less, 0)
    cheap = flag(
        "position of what costs less at the least volume", when(less_first, at(place, 0), at(place, 1))
    )
    dear = flag("position of what costs more there", when(less_first, at(place, 1), at(place, 0)))
    unable = flag("position of what can't do the work", when(able[0], at(place, 1), at(place, 0)))
    subject = flag("position of what else is told of", when(both, at(place, 0), unable))
    start = column.line(f"{words}: told from", "plate/month", when(never, grid.least, below))
    end = column.line(f"{words}: told to", "plate/month", when(never, grid.most, above))
    block, shown = study.comparison.rows["present"], decimals(study)
    sentence = Sentence(
        words,
        (
            Phrase(told, (Name(block, cheap), Words(" costs less than "), Name(block, dear))),
            Choice(never, " from ", " up to "),
            Number(start, shown),
            Choice(never, " to ", " plates a month, and more from "),
            Number(end, shown),
            Choice(never, " plates a month: all that was looked at.", " on."),
        ),
        told,
        (
            Name(block, subject),
            Choice(both, f" and {second} change places more than once, ", " can't do this work."),
            Phrase(both, (Number(below, shown, "between ", " and "), Number(above, shown, "", " plates a month."))),
        ),
    )  # fmt: skip
    return Pair(methods, difference, changes, count, crosses, below, above, sentence)


__all__ = ["Grid", "Pair", "pair"]
