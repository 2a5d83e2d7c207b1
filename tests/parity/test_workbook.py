"""The demo's workbook recalculated by two programs that know nothing of the engine, at delivery and after changes.

Without the sheets of cases, which `test_cases` looks at.

IronCalc and LibreOffice are the outside references: stored results are stripped before either of them computes.
|a - b| <= 1e-9 x max(|a|, |b|) + 1e-6.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

import numpy as np
import pytest
from openpyxl.utils import get_column_letter

from roi.answers.checks import checks
from roi.answers.verdict import verdict
from roi.engine.column import Book
from roi.engine.evaluate import Program, extend
from roi.engine.expression import Leaf
from roi.engine.functions import Array
from roi.scenario.stated import StatedInput
from roi.workbook.inputs import lay_out_inputs
from roi.workbook.placing import Places
from roi.workbook.write import results_of
from tests.parity.recalculate import (
    IronCalcBook,
    differences,
    ironcalc_values,
    libreoffice_missing,
    libreoffice_values,
)
from tests.small_shop import LEAN


def changed(stated: StatedInput) -> float:
    """Another value the input may take, in the unit shown: the end of its range farther from best, or a tenth more."""
    far = max((stated.low, stated.high), key=lambda x: abs(x - stated.best))
    if far != stated.best:
        return far
    if stated.whole:
        return stated.best + 1 if stated.most is None or stated.best + 1 <= stated.most else stated.best - 1
    more = stated.best * 1.1 if stated.best else 0.1
    return more if stated.most is None or more <= stated.most else stated.best * 0.9


@pytest.fixture(scope="module")
def cells(demo) -> list[tuple[StatedInput, str]]:
    """Each input with its cell on the Inputs sheet."""
    places = Places()
    rows, _ = lay_out_inputs(demo.study.scenario, demo.study.book, places)
    return [(row, f"C{5 + i}") for i, row in enumerate(rows) if not isinstance(row, str)]


def test_ironcalc_gives_what_is_stored(demo) -> None:
    assert sum(len(sheet) for sheet in demo.results.values()) > 5000
    assert differences(demo.results, ironcalc_values(demo.path)) == []


def test_every_input_changed_alone_is_followed_and_moves_something(demo, cells) -> None:
    """One at a time; every formula cell compared. A dead input, or one the workbook doesn't follow, fails here."""
    book, lines = IronCalcBook(demo.path), _Lines(demo)
    dead, wrong, stepped = [], [], []
    titles = [sheet.method.short for sheet in demo.study.methods.values()]
    before = lines.results({})
    alone = lines.each({stated.key: changed(stated) * stated.factor for stated, _ in cells})
    for stated, cell in cells:
        value, after = changed(stated), alone[stated.key]
        book.set("Inputs", cell, value)
        book.evaluate()
        found = differences(after, book.values())
        if found:
            wrong.append(f"{stated.key} = {value}: {found[0]} and {len(found) - 1} more")
        if not lines.moved(before, after) and not _moves_farther_out(lines, before, stated):
            dead.append(stated.key)
        if any(_pickups_or_sets_moved(demo, after, before, title) for title in titles):
            stepped.append(stated.key)
        book.set("Inputs", cell, stated.best)
    assert wrong == []
    assert dead == [], "\n".join(dead)
    assert stepped, "no change crossed a step"


def test_a_change_that_turns_the_verdict_is_followed(demo, cells) -> None:
    """A dear contract makes used metal the dearer way: the words must follow in the recalculated workbook."""
    key = "methods.processed.equipment.setter.contract"
    stated, cell = next((s, c) for s, c in cells if s.key == key)
    after = results_of(demo.study, {key: 20000 * stated.factor}, LEAN)
    book = IronCalcBook(demo.path)
    book.set("Inputs", cell, 20000)
    book.evaluate()
    assert differences(after, book.values()) == []
    position = _cell(demo, demo.study.comparison.rows["cheapest_at"])
    assert after["Comparison"][position] != demo.results["Comparison"][position]
    assert str(book.value("Summary", "A4")).startswith("Stay as you are")


@pytest.mark.skipif(libreoffice_missing() is not None, reason=str(libreoffice_missing()))
def test_libreoffice_gives_what_is_stored_and_follows_twenty_changes(demo, cells) -> None:
    """Twenty inputs of as many different units as there are, ten to a book, all books in one batch."""
    by_unit: dict[str, tuple[StatedInput, str]] = {}
    for stated, cell in cells:
        by_unit.setdefault(stated.shown, (stated, cell))
    chosen = [*by_unit.values()][:20]
    assert len({stated.shown for stated, _ in chosen}) == 20
    tens = list(batched(chosen, 10))
    changes = [{}, *({("Inputs", cell): changed(stated) for stated, cell in ten} for ten in tens)]
    found = libreoffice_values([demo.path] * len(changes), changes)
    assert differences(demo.results, found[0]) == []
    for ten, values in zip(tens, found[1:], strict=True):
        keys = {stated.key: changed(stated) * stated.factor for stated, _ in ten}
        after = results_of(demo.study, keys, LEAN)
        assert differences(after, values) == [], keys


def batched(things: Sequence, count: int) -> Iterator[Sequence]:
    """`itertools.batched`, which Python 3.11 lacks."""
    return (things[i : i + count] for i in range(0, len(things), count))


class _Lines:
    """Every line's cells, so that a change's results need no workbook to be written again.

    fetched : cells that only fetch an input, which move whatever the input does
    """

    def __init__(self, demo) -> None:
        study = demo.study
        words, _ = verdict(study)
        self.further = [words, checks(study)[0]]
        self.study = study
        places = Places()
        for column in (*study.book.columns, *self.further):
            places.lay_out(column)
        self.cells = {
            line: [places.cell(line, i) for i in range(len(line.axis) if line.axis else 1)]
            for column in (*study.book.columns, *self.further)
            for line in column.lines
        }
        self.fetched = {
            (sheet, f"{get_column_letter(c)}{r}")
            for line, cells in self.cells.items()
            for sheet, r, c in cells
            if line.is_input
        }

    def moved(self, before: dict[str, dict[str, float]], after: dict[str, dict[str, float]]) -> bool:
        """Whether any worked cell differs, those apart that only fetch an input."""
        return any(
            not _same(before[sheet][cell], value)
            for sheet in after
            for cell, value in after[sheet].items()
            if (sheet, cell) not in self.fetched
        )

    def each(self, changes: dict[str, float]) -> dict[str, dict[str, dict[str, float]]]:
        """The results with each of the changes made alone, worked all at once."""
        book = Book([*self.study.book.columns, *self.further])
        best = {key: leaf.best for key, leaf in book.inputs.items()}
        keys = [*changes]
        cases = {k: np.where([k == key for key in keys], changes[k], best[k]) for k in keys if k in best}
        values = Program(book).run(cases)
        return {
            key: self._placed({line: v[..., min(i, v.shape[-1] - 1)] for line, v in values.items()})
            for i, key in enumerate(keys)
        }

    def results(self, changes: dict[str, float]) -> dict[str, dict[str, float]]:
        return self._placed(extend(self.study.evaluate(changes), self.further))

    def _placed(self, values: Mapping[Leaf, Array]) -> dict[str, dict[str, float]]:
        found: dict[str, dict[str, float]] = {}
        for line, cells in self.cells.items():
            for (sheet, r, c), value in zip(cells, values[line].reshape(len(cells), -1)[:, 0], strict=True):
                found.setdefault(sheet, {})[f"{get_column_letter(c)}{r}"] = float(value)
        return found


# What matters only beside another number: the successor of an owned unit is installed and trained for at the switch
# only where the owned one has no year left.
_BESIDE = {"methods.polyester.equipment.line.years_left": 0.0}


def _moves_farther_out(lines: _Lines, before: dict[str, dict[str, float]], stated: StatedInput) -> bool:
    """Whether a change beyond the stated range moves something: some inputs only matter past a threshold."""
    values = [stated.least, stated.most, stated.best * 10, stated.best / 10]
    changes = [{stated.key: v * stated.factor} for v in values if v is not None and _allowed(stated, v)]
    if any(lines.moved(before, lines.results(change)) for change in changes):
        return True
    beside = lines.results(_BESIDE)
    return any(lines.moved(beside, lines.results({**change, **_BESIDE})) for change in changes)


def _allowed(stated: StatedInput, value: float) -> bool:
    return (stated.least is None or value >= stated.least) and (stated.most is None or value <= stated.most)


def _same(a: float | str, b: float | str) -> bool:
    return (
        a == b
        if isinstance(a, str) or isinstance(b, str)
        else math.isclose(a, b, rel_tol=1e-12, abs_tol=1e-9)
    )


def _cell(demo, line) -> str:
    places = Places()
    places.lay_out(line.column)
    _, row, column = places.cell(line)
    return f"{chr(64 + column)}{row}"


def _pickups_or_sets_moved(demo, after, before, title: str) -> bool:
    """Whether a whole count (a result of rounding up) differs by one or more."""
    sheet = next(s for s in demo.study.methods.values() if s.method.short == title)
    lines = [sheet.lines["sets"], *(x for x in sheet.column.lines if x.label.endswith("pickups for volume"))]
    places = Places()
    places.lay_out(sheet.column)
    spots = [places.cell(x, i)[1] for x in lines for i in range(len(x.axis))]
    return any(abs(after[title][f"C{r}"] - before[title][f"C{r}"]) >= 1 for r in spots)
