"""A study with its values, and the look-ups that rules about them share."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from roi.answers.compare import one
from roi.engine.column import Line
from roi.engine.evaluate import Values
from roi.model.sheet import MethodSheet
from roi.model.study import Study
from roi.scenario.stated import StatedInput


@dataclass(frozen=True)
class Case:
    """A study, its values, and the look-ups that rules share."""

    study: Study
    values: Values

    @cached_property
    def lines(self) -> dict[str, Line]:
        """Every line by its key."""
        return {line.key: line for line in self.study.book.lines}

    @property
    def sheets(self) -> Iterator[MethodSheet]:
        """Every method's sheet."""
        return iter(self.study.methods.values())

    @property
    def current(self) -> MethodSheet:
        """The current method's sheet."""
        return self.study.methods[self.study.scenario.current]

    def at(self, line: Line | str, row: int = 0) -> float:
        """A line's value, by line or key; of a block, one row counted from 0."""
        return one(self.values, self.lines[line] if isinstance(line, str) else line, row)

    def stated(self, *key: str) -> StatedInput | None:
        """An input as stated."""
        return self.study.scenario.stated(*key)

    def best(self, *key: str) -> float | None:
        """An input's best value in the engine's unit, or None."""
        found = self.stated(*key)
        return None if found is None else found.best * found.factor

    def where(self, *key: str) -> str:
        """Where an input stands, or would stand."""
        found, raw = self.stated(*key), self.study.scenario.raw.get(key)
        if found is not None:
            return found.where
        return raw.at(key) if raw is not None else f"{self.study.scenario.path.name}, {'.'.join(key)}"

    @property
    def log(self) -> str:
        """Where the work is stated."""
        return f"{self.study.scenario.path.name}, {self.study.scenario.work_source}"
