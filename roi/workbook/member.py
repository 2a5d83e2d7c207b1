"""One scenario among several in a workbook: what it is called there, and where its own sheets hold things."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from roi.model.study import Study
from roi.workbook.front import Front
from roi.workbook.placing import HEAD


@dataclass(frozen=True)
class Member:
    """A scenario of several.

    label : "A: name";  prefix : what its sheets' names begin with
    front : what its own sheets were written from
    changes : inputs changed since delivery, {key: value in the engine's unit}
    purposes : its sheets by their names in this workbook, and what each is for
    """

    study: Study
    label: str
    prefix: str
    front: Front
    changes: Mapping[str, float]
    purposes: dict[str, str]

    @property
    def currency(self) -> str:
        """Its own currency."""
        return self.study.scenario.currency

    def row_of(self, key: str) -> int:
        """The row of an input on its Inputs sheet."""
        inputs = self.study.book.inputs
        return self.front.places.cell(inputs[key])[1]

    def input_rows(self) -> tuple[int, int]:
        """The first row with an input on its Inputs sheet, and the last."""
        return HEAD + 2, HEAD + len(self.front.rows)
