"""Everything worked out for break-even and sensitivity: the cases, what is read from them, and the lines on top."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from roi.answers.cases import CaseSet, case_set
from roi.answers.ranges import Ranges
from roi.answers.ranked import Ranked, ranked
from roi.answers.stressed import Stressed, stressed
from roi.answers.volumes import Volumes, volumes
from roi.engine.cases import Cases, Trial, Worked, read
from roi.engine.column import Column
from roi.engine.evaluate import Values, extend
from roi.engine.words import Sentence
from roi.model.study import Study


@dataclass(frozen=True, eq=False)
class Workings:
    """The cases of a study and the columns built on them."""

    study: Study
    set: CaseSet
    volumes: Volumes | None
    ranked: Ranked | None
    stressed: Stressed | None
    cases: Cases

    @property
    def parts(self) -> list[Volumes | Ranked | Stressed]:
        """What is built on the cases."""
        return [part for part in (self.volumes, self.ranked, self.stressed) if part is not None]

    @property
    def columns(self) -> list[Column]:
        """The columns built on the cases."""
        return [part.column for part in self.parts]

    @property
    def sentences(self) -> list[Sentence]:
        """What these columns have to say."""
        return [said for part in self.parts for said in part.sentences]

    def evaluate(
        self, values: Values, changes: Mapping[str, float] = {}
    ) -> tuple[Values, dict[Trial, Worked]]:
        """Every line for one case, and every line of every trial.

        values : the study's own lines, with `changes` ({input key: value in the engine's unit}) made
        """
        known = extend(values, [self.set.column], changes)
        worked = self.cases.evaluate(known, changes)
        known |= {reading: read(reading, worked[reading.trial]) for reading in self.cases.readings}
        return extend(known, self.columns, changes), worked


def workings(
    study: Study,
    ranges: Ranges,
    *,
    break_even: bool = True,
    sensitivity: bool = True,
    stresses: bool = True,
) -> Workings:
    """Build the cases of a study and the lines of break-even, of sensitivity and of the stresses, or of some of them."""
    cases = case_set(study, ranges)
    against_volume = volumes(study, cases) if break_even else None
    by_range = ranked(study, cases) if sensitivity else None
    by_stress = stressed(study, cases.stresses) if stresses and cases.stresses else None
    parts = [part for part in (against_volume, by_range, by_stress) if part is not None]
    readings = [reading for part in parts for reading in part.readings]
    return Workings(
        study, cases, against_volume, by_range, by_stress, Cases(study.book, cases.trials, readings)
    )
