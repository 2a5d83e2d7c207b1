"""What the program makes of a mutant, and whether that is what it promises.

Read by the functions the commands call, in this process. Wrong is: anything raised but `BadInput`; a problem that doesn't say
what and where, or can't be printed; an accepted input whose results aren't finite, or that doesn't keep the mutant's claim.
"""

from __future__ import annotations

import json
import math
import traceback
import warnings
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

from click.testing import CliRunner

from roi.answers.compare import as_json
from roi.answers.differences import ALL_PARTS, differences
from roi.answers.what_changed import what_changed
from roi.cli import main
from roi.cli.reading import Progress, read_any, reckon, told
from roi.engine.evaluate import Values
from roi.model.study import Study, build
from roi.page.needs import need_libraries
from roi.scenario.files import read_layers
from roi.scenario.joblog import WorkLog, read_log
from roi.scenario.ledger import Ledger, read_ledger
from roi.scenario.ledgerspec import read_ledger_spec
from roi.scenario.logspec import period_in
from roi.scenario.problems import BadInput, Problem
from roi.workbook.read_language import read_language
from roi.workbook.read_template import read_template
from roi.workbook.template import Template
from roi.workbook.write import write_workbook
from tests.fuzz import bases, mutate_csv, mutate_toml, mutate_xlsx
from tests.fuzz.mutant import Base, Claim, Mutant, Operation, mutate
from tests.parity.recalculate import differences as recalculated
from tests.parity.recalculate import ironcalc_values
from tests.small_shop import LEAN

REFUSED, ACCEPTED, WRONG = "refused", "accepted", "wrong"
RATIO = 1e-6  # relative; decimals are cut at nine when a mutant is written
LEAST = 1e-6  # below this the cut shows
# Of the accepted: how many are written as a workbook, and how many of all go through the command line too.
WRITTEN, COMMANDS = 40, 50
# Of how many scenarios one is reckoned to the end, and of how many logs and ledgers one is read with its scenario.
RECKONED, TABLES = 6, 30
CHEAP = ("small", "full", "own method", "answered", "with a log")  # scenarios small enough to reckon each


@dataclass(frozen=True)
class Family:
    """A kind of input: its sound files, what can be done to them, how it is read, and the command that reads it."""

    bases: Callable[[], list[Base]]
    operations: dict[str, tuple[float, Operation]]
    share: float
    command: tuple[str, ...]


FAMILIES = {
    "scenario": Family(bases.scenarios, mutate_toml.OPERATIONS, 0.27, ("check", "{path}")),
    "job log, CSV": Family(bases.logs, mutate_csv.OPERATIONS, 0.26, ("check", "{path}")),
    "job log, XLSX": Family(bases.log_books, mutate_xlsx.OPERATIONS, 0.12, ("check", "{path}")),
    "ledger": Family(bases.ledgers, mutate_csv.OPERATIONS, 0.13, ("reconcile", "{path}")),
    "decision workbook": Family(bases.decisions, mutate_xlsx.OPERATIONS, 0.03, ("check", "{path}")),
    "input workbook": Family(bases.filled_in, mutate_xlsx.OPERATIONS, 0.03, ("check", "{path}")),
    "template": Family(bases.templates, mutate_toml.OPERATIONS, 0.08, ()),
    "language": Family(bases.languages, mutate_toml.OPERATIONS, 0.08, ()),
}


def made(family: str, seed: int, number: int) -> Mutant:
    """The mutant of this number."""
    return mutate(family, seed, number, FAMILIES[family].bases(), FAMILIES[family].operations)


@dataclass(frozen=True)
class Judged:
    """`outcome` is refused, accepted or wrong; `why` says what is wrong, or the first problem; `note` is counted too."""

    outcome: str
    why: str = ""
    note: str = ""


class _Broken(Exception):
    """The program doesn't do what it promises."""


class Judge:
    """Judges mutants in a folder of its own."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._sound: dict[tuple[str, str], tuple[Study, Values]] = {}
        self._sound_logs: dict[tuple[str, str], WorkLog | Ledger] = {}

    def judge(self, mutant: Mutant, number: int = 0) -> Judged:
        """`number` decides which of the dearer checks this mutant gets."""
        base = next(b for b in FAMILIES[mutant.family].bases() if b.name == mutant.base)
        path = self._laid_out(base, mutant)
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            # Whatever is raised is what is looked for, so here, and only here, everything is caught.
            try:
                try:
                    note = self._read(mutant, base, path, number)
                    judged = Judged(ACCEPTED, note=note)
                    if mutant.claim.refused:
                        raise _Broken("can't be read without losing something, and is accepted")
                except BadInput as bad:
                    judged = Judged(REFUSED, _sound_problems(bad.problems))
                    if mutant.claim.same:
                        raise _Broken(f"says what the base says, and is refused: {judged.why}") from None
                if number % COMMANDS == 0:
                    _commanded(mutant, path, judged.outcome, number // COMMANDS)
                return judged
            except _Broken as broken:
                return Judged(WRONG, str(broken))
            except Exception as wrong:
                frames = traceback.extract_tb(wrong.__traceback__)
                at = next((f for f in reversed(frames) if "/roi/" in f.filename), frames[-1])
                where = f"{at.filename.rpartition('/roi/')[2]}:{at.lineno}"
                return Judged(WRONG, f"{type(wrong).__name__} at {where}: {str(wrong)[:200]}")
            finally:
                self._put_back(base, path)

    def recalculated(self, mutant: Mutant) -> list[str]:
        """Where IronCalc comes to something else than what the workbook of an accepted mutant stores."""
        base = next(b for b in FAMILIES[mutant.family].bases() if b.name == mutant.base)
        path = self._laid_out(base, mutant)
        try:
            study, values = reckon(path, Progress())
            out = self.folder / "recalculated.xlsx"
            return recalculated(write_workbook(study, values, out, LEAN), ironcalc_values(out))
        finally:
            self._put_back(base, path)

    def _laid_out(self, base: Base, mutant: Mutant) -> Path:
        here = self.folder / f"{mutant.family}, {base.name}"
        if not here.is_dir():
            here.mkdir()
            for name, content in base.files.items():
                (here / name).write_bytes(content)
        (here / base.target).write_bytes(mutant.content)
        return here / base.main

    def _put_back(self, base: Base, path: Path) -> None:
        (path.parent / base.target).write_bytes(base.content)

    def _read(self, mutant: Mutant, base: Base, path: Path, number: int) -> str:
        if mutant.family == "template":
            look = read_template(path)
            if number % WRITTEN == 0:
                self._write(replace(look, sheets=LEAN.sheets) if number % (4 * WRITTEN) else look)
            return ""
        if mutant.family == "language":
            tongue = read_language(path)
            if number % WRITTEN == 0:
                self._write(replace(LEAN, tongue=tongue))
            return ""
        if mutant.family in ("job log, CSV", "job log, XLSX", "ledger"):
            return self._table(mutant, base, path) if number % TABLES else self._reckoned(path)
        # Comparing results takes ten times as long as comparing what was read, so that is for some.
        if number % RECKONED == 0:
            note = self._reckoned(path)
            if mutant.claim.same:
                _is_the_same(self._base(mutant, base, path), reckon(path, Progress()))
            return note
        study = build(read_any(path))
        if mutant.claim.key or mutant.claim.same:
            _differs_as_claimed(mutant.claim, self._base(mutant, base, path)[0], study)
        return _finite(study, study.evaluate()) if base.name in CHEAP else ""

    def _reckoned(self, path: Path) -> str:
        return _finite(*reckon(path, Progress()))

    def _base(self, mutant: Mutant, base: Base, path: Path) -> tuple[Study, Values]:
        held = self._sound.get((mutant.family, base.name))
        if held is None:
            changed = (path.parent / base.target).read_bytes()
            self._put_back(base, path)
            held = self._sound[mutant.family, base.name] = reckon(path, Progress())
            (path.parent / base.target).write_bytes(changed)
        return held

    def _table(self, mutant: Mutant, base: Base, path: Path) -> str:
        """The log or ledger by itself: most of a scenario's reading is the same for all of these mutants."""
        spec, where, folder = _layers(path).whole["ledger" if mutant.family == "ledger" else "log"]
        log, log_where, _ = _layers(path).whole["log"]
        work: WorkLog | Ledger
        if mutant.family == "ledger":
            work = read_ledger(read_ledger_spec(spec, folder, where, period_in(log, log_where, [])), begins=8)
            count, total = len(work.rows), sum(row.amount for row in work.rows)
        else:
            work = read_log(spec, folder, {"main": 2}, ["small"], where=where)
            count, total = len(set(work.row.tolist())), float(work.plates.sum())
        claim = mutant.claim
        if count + work.rows_skipped != work.rows_read:
            raise _Broken(
                f"{work.rows_read} rows read, {count} used and {work.rows_skipped} told as left out"
            )
        if claim.rows is not None and work.rows_read != claim.rows:
            raise _Broken(f"the file has {claim.rows} rows, {work.rows_read} were read")
        if work.rows_skipped and not work.skipped:
            raise _Broken(f"{work.rows_skipped} rows left out without a word")
        if (
            claim.total is not None
            and not work.rows_skipped
            and not math.isclose(total, claim.total, rel_tol=1e-12)
        ):
            raise _Broken(f"the file's numbers add up to {claim.total}, those read to {total}")
        return "rows left out" if work.rows_skipped else ""

    def _write(self, look: Template) -> None:
        path = self.folder / "shop.toml"
        path.write_bytes(bases.scenarios()[0].content)
        write_workbook(*_small(path), self.folder / "look.xlsx", look)


def _finite(study: Study, values: Values) -> str:
    """Which check of the figures fails, if one does. Raises _Broken where a result isn't finite."""
    found = as_json(study, values)
    try:
        json.dumps(found, allow_nan=False)
    except ValueError:
        raise _Broken(f"accepted, and a result is not finite: {_not_finite(found)[:3]}") from None
    failed = [check["name"] for check in found["checks"] if not check["ok"]]
    return f"check failed: {failed[0]}" if failed else ""


@lru_cache(maxsize=1)
def _small(path: Path) -> tuple[Study, Values]:
    return reckon(path, Progress())


@lru_cache(maxsize=8)
def _layers(path: Path) -> Any:
    return read_layers(path)


def _sound_problems(problems: list[Problem]) -> str:
    """The first problem in a line, once each is one that can be told."""
    if not problems:
        raise _Broken("refused without a problem")
    for problem in problems:
        if not problem.where.strip() or not problem.what.strip():
            raise _Broken(f"a problem that doesn't say where and what: {problem!r}")
        text = told(problem)
        text.encode()  # raises where it can't be printed
        odd = [c for c in text if (c < " " and c != "\n") or c in "\x7f\x9b\u202e"]
        if odd:
            raise _Broken(f"a problem with signs a terminal obeys, {odd[:3]!r}: {problem!r}"[:300])
        if len(text) > 6000:
            raise _Broken(f"a problem of {len(text):,} characters: {text[:150]!r}")
        if "fault of the program" in text:
            raise _Broken(text[:300])
    if len({(p.where, p.what) for p in problems}) < len(problems):
        return f"(told twice) {problems[0].where}: {problems[0].what}"[:160]
    return f"{problems[0].where}: {problems[0].what}"[:160]


def _is_the_same(sound: tuple[Study, Values], mutated: tuple[Study, Values]) -> None:
    """Raise _Broken unless nothing differs, of what is stated and of what comes of it."""
    changed = what_changed(sound, mutated)
    if changed.same:
        return
    said = [r.key for r in changed.inputs] + [t.label for t in changed.texts]
    said += [f"{r.method} {r.measure}" for r in changed.results]
    raise _Broken(f"says what the base says, and differs in {said[:5] or changed.verdicts}")


def _differs_as_claimed(claim: Claim, sound: Study, mutated: Study) -> None:
    """Raise _Broken unless the difference told is the one that was made, or none where none was."""
    found = differences([sound, mutated], ALL_PARTS)
    if claim.same:
        if said := [d.key for d in found.inputs] + [t.label for t in found.texts]:
            raise _Broken(f"says what the base says, and differs in {said[:5]}")
        return
    other = [d.key for d in found.inputs if d.key != claim.key and (d.in_all or not claim.new)]
    if other or (found.texts and not claim.new):
        raise _Broken(
            f"only {claim.key} was changed, and these differ: {other[:5]} {[t.label for t in found.texts][:3]}"
        )
    used = [claim.key in study.book.inputs for study in (sound, mutated)]
    mine = [d for d in found.inputs if d.key == claim.key]
    if claim.ratio == 1.0 or not any(used):
        return
    if not mine and claim.ratio is not None:
        raise _Broken(f"{claim.key} was changed, and no difference is told")
    if mine and mine[0].in_all and claim.ratio is not None:
        a, b = (one.best * one.factor for one in mine[0].stated if one is not None)
        if abs(a) > LEAST and not math.isclose(b / a, claim.ratio, rel_tol=RATIO):
            raise _Broken(f"{claim.key} was made {claim.ratio} times as much, and went from {a} to {b}")


# The commands that take a scenario, and how they may exit when it is refused and when it is accepted. Some ask for more than
# can be read, such as two methods, and refuse in words; a batch also finds the other scenarios of the folder.
_LEAN = 'schema = 1\n[workbook]\nsheets = [{ sheet = "Summary" }, { sheet = "Inputs" }]\n'
_COMMANDS: tuple[tuple[tuple[str, ...], set[int], set[int]], ...] = (
    (("check", "{path}"), {2}, {0, 1}),
    (("compare", "{path}", "-o", "{out}/out.xlsx", "--template", "{out}/lean.toml"), {2}, {0, 1}),
    (("breakeven", "{path}"), {2}, {0, 2}),
    (("budget", "{path}", "--year", "2027", "-o", "{out}/budget.xlsx"), {2}, {0, 1, 2}),
    (("batch", "{path.parent}", "--workers", "1"), {1, 2}, {0, 1}),
    (("diff", "{path}", "{path}"), {2}, {0}),
    (("brief", "{path}", "-o", "{out}/out.html"), {2}, {0}),
)


@lru_cache(maxsize=1)
def commands() -> tuple[tuple[tuple[str, ...], set[int], set[int]], ...]:
    """Those that can be run here: a page needs libraries, which take a second to load."""
    try:
        need_libraries()
    except BadInput:
        return tuple(one for one in _COMMANDS if one[0][0] != "brief")
    return _COMMANDS


def _commanded(mutant: Mutant, path: Path, outcome: str, turn: int) -> None:
    """The same through a command, another one each turn: it must say the same, and exit as it says it does."""
    words = FAMILIES[mutant.family].command
    if not words:
        return
    refused, accepted = {2}, {0, 1}
    if words[0] == "check":
        able = [one for one in commands() if one[0][0] != "batch" or path.suffix == ".toml"]
        words, refused, accepted = able[(turn - 1) % len(able)]
    out = path.parent.parent
    (out / "lean.toml").write_text(_LEAN, "utf-8")
    given = [word.format(path=path, out=out) for word in words]
    done = CliRunner().invoke(main, given, env={"COLUMNS": "80"})
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    unsaid = done.exit_code == 2 and "mend:" not in done.output
    fault = "Traceback" in done.output or "fault of the program" in done.output
    if fault or unsaid or done.exit_code not in (refused if outcome == REFUSED else accepted):
        raise _Broken(
            f"roi {words[0]} exits with {done.exit_code} where reading says {outcome}: {done.output[-200:]}"
        )


def _not_finite(found: Any, at: str = "") -> list[str]:
    if isinstance(found, dict):
        return [x for k, v in found.items() for x in _not_finite(v, f"{at}/{k}")]
    if isinstance(found, list):
        return [x for i, v in enumerate(found) for x in _not_finite(v, f"{at}/{i}")]
    return [at] if isinstance(found, float) and not math.isfinite(found) else []
