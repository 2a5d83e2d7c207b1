"""A shop, its methods and its work, read from a scenario file and checked: everything the reckoning starts from."""

from __future__ import annotations

import difflib
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from roi.engine.expression import Input
from roi.scenario.bills import leave_out_catch_alls
from roi.scenario.budgeting import check_budget
from roi.scenario.claiming import check_claims
from roi.scenario.files import Key, Layers, Raw, inside, read_layers
from roi.scenario.joblog import WorkLog, read_log
from roi.scenario.ledger import Ledger, read_ledger
from roi.scenario.ledgerspec import LedgerSpec, read_ledger_spec
from roi.scenario.logspec import period_in
from roi.scenario.numbers import labels_of, read_inputs
from roi.scenario.owning import leave_out_purchases
from roi.scenario.plan import check_plan
from roi.scenario.problems import BadInput, Problem
from roi.scenario.references import check_references
from roi.scenario.risk import check_risk
from roi.scenario.same_as import NAME, let_go
from roi.scenario.stated import StatedInput
from roi.scenario.summary import read_summary
from roi.scenario.tax import TaxSchedule, read_schedule
from roi.scenario.things import (
    Method,
    Press,
    Size,
    clean,
    read_methods,
    read_presses,
    read_sizes,
    read_text,
    spread_press_defaults,
)
from roi.scenario.waste import NONE, WasteRules, check_codes, read_rules
from roi.scenario.words import spelled
from roi.units.quantity import currencies


@dataclass(frozen=True)
class Scenario:
    """Everything stated and everything taken by default, read and checked.

    same : keys of numbers that a method has from the one it is the same as, each with the key of that one's
    ledger : how its ledger is to be read, where [ledger] says so;  books : that ledger, where [ledger] names its file
    ledger_table : what [ledger] says, as it says it
    """

    path: Path
    name: str
    currency: str
    system: str
    current: str
    methods: tuple[Method, ...]
    presses: tuple[Press, ...]
    grades: tuple[str, ...]
    sizes: tuple[Size, ...]
    inputs: dict[Key, StatedInput]
    same: dict[Key, Key]
    raw: dict[Key, Raw]
    work: WorkLog
    work_source: str
    tax: TaxSchedule
    waste: WasteRules
    note: str = ""
    ledger: LedgerSpec | None = None
    books: Ledger | None = None
    ledger_table: dict[str, Any] = field(default_factory=dict)
    _engine: dict[Key, Input] = field(default_factory=dict, repr=False)

    def method(self, name: str) -> Method:
        """The method with this id."""
        return next(m for m in self.methods if m.id == name)

    def stated(self, *key: str) -> StatedInput | None:
        """A number as stated, or None where neither the shop nor a default states it."""
        return self.inputs.get(self.same.get(key, key))

    def has(self, *key: str) -> bool:
        """Whether a number is stated or has a default."""
        return self.same.get(key, key) in self.inputs

    def bases(self, method: str) -> tuple[str, ...]:
        """The methods that this one starts from (`same_as`), the nearest first; none for one that stands by itself."""
        base = self.text("methods", method, NAME)
        return (base, *self.bases(base)) if base else ()

    def input(self, *key: str) -> Input:
        """The engine's input for a key; the same object each time. KeyError when it isn't stated."""
        key = self.same.get(key, key)
        if key not in self._engine:
            self._engine[key] = self.inputs[key].as_input
        return self._engine[key]

    def names(self, *prefix: str) -> tuple[str, ...]:
        """The names directly below a key, in reading order: names("methods", "direct", "items")."""
        depth = len(prefix)
        return tuple(dict.fromkeys(k[depth] for k in self.raw if len(k) > depth and k[:depth] == prefix))

    def text(self, *key: str, default: str = "") -> str:
        """A text as stated."""
        raw = self.raw.get(key)
        return clean(raw.value) if raw is not None else default

    def plain(self, *key: str, default: Any = None) -> Any:
        """A plain value (a list, a switch, a whole number) as stated."""
        raw = self.raw.get(key)
        return default if raw is None else raw.value

    @cached_property
    def defaults(self) -> list[StatedInput]:
        """The numbers nobody has stated for this shop."""
        return [i for i in self.inputs.values() if i.default]


def read(path: Path) -> Scenario:
    """Read a scenario file. Raises BadInput with every problem found."""
    return assemble(read_layers(path), path)


def assemble(layers: Layers, path: Path) -> Scenario:
    """Check all that layers state and put it together; `path` is what it was read from. Raises BadInput as `read`."""
    problems = layers.problems
    if problems:  # a file of another schema can't be judged key by key
        raise BadInput(problems)
    values = dict(layers.values)
    file = path.name
    currency = read_text(values, ("currency",), file, problems)
    unknown_currency = currency not in currencies()
    if currency and currency not in currencies():
        near = difflib.get_close_matches(currency.upper(), currencies(), 1)
        mend = f'was "{near[0]}" meant?' if near else "use a code of ISO 4217, such as USD"
        problems.append(Problem(f"{file}, currency", f'"{currency}" is no ISO 4217 code', mend))
        currency = "USD"
    system = read_text(values, ("units",), file, problems, default="us" if currency == "USD" else "metric")
    if system not in ("us", "metric"):
        problems.append(Problem(f"{file}, units", f'"{system}" is not known', 'write "us" or "metric"'))
        system = "metric"
    currency = currency or "USD"
    sizes, size_names = read_sizes(layers, file, problems)
    presses = read_presses(values, layers.presses, problems)
    spread_press_defaults(values, presses)
    leave_out_purchases(values)
    leave_out_catch_alls(values)
    let_go(values)
    methods = read_methods(values, layers.methods, file, problems)
    current = read_text(values, ("current",), file, problems)
    if current and methods and current not in [m.id for m in methods]:
        near = difflib.get_close_matches(current, [m.id for m in methods], 1)
        mend = f'was "{near[0]}" meant?' if near else f"one of {', '.join(m.id for m in methods)}"
        problems.append(Problem(f"{file}, current", f'"{current}" is not among the methods', mend))
    if len(methods) < 2 and (methods or not problems):
        problems.append(
            Problem(f"{file}, methods", "there is nothing to compare", "name two methods or more")
        )
    labels = labels_of(values, methods, sizes)
    inputs = read_inputs(values, labels, currency, system, problems)
    same = {key: raw.same for key, raw in values.items() if raw.same in inputs}
    inputs |= {key: inputs[whose] for key, whose in same.items()}
    check_references(values, methods, inputs, sizes, size_names, file, problems)
    tax = read_schedule(values, file, problems)
    federal = "us" if system == "us" and currency == "USD" else NONE
    waste = read_rules(read_text(values, ("waste_rules",), file, problems, default=federal), file, problems)
    check_codes(values, waste, problems)
    check_plan(values, [m.id for m in methods], problems)
    check_risk(values, problems)
    check_budget(values, file, problems)
    check_claims(values, methods, current, currency, problems)
    work, source = _work(layers, presses, size_names, file, problems)
    ledger, books = _ledger(layers, year_begins(inputs), problems)
    if unknown_currency:  # told once; every price in another currency than the stand-in follows from it
        problems = [p for p in problems if f"the scenario in {currency}" not in p.what]
    if problems or work is None:
        raise BadInput(problems)
    return Scenario(
        path=path,
        name=clean(values[("name",)].value) if ("name",) in values else spelled(path.stem),
        currency=currency,
        system=system,
        current=current,
        methods=methods,
        presses=presses,
        grades=tuple(dict.fromkeys(k[1] for k in values if k[0] == "grades" and len(k) > 2)),
        sizes=sizes,
        inputs={key: stated for key, stated in inputs.items() if key not in same},
        same=same,
        raw=values,
        work=work,
        work_source=source,
        tax=tax,
        waste=waste,
        note=clean(values[("note",)].value) if ("note",) in values else "",
        ledger=ledger,
        books=books,
        ledger_table=layers.whole["ledger"][0] if "ledger" in layers.whole else {},
    )


def year_begins(inputs: dict[Key, StatedInput]) -> int:
    """The month with which the shop's year begins, 1 for January."""
    stated = inputs.get(("money", "year_begins"))
    return 1 if stated is None else round(stated.best)


def _ledger(layers: Layers, begins: int, problems: list[Problem]) -> tuple[LedgerSpec | None, Ledger | None]:
    if "ledger" not in layers.whole:
        return None, None
    spec, where, folder = layers.whole["ledger"]
    log, log_where, _ = layers.whole.get("log", ({}, "", folder))
    # What is wrong with the log's own period is told with the log.
    period = period_in(log, log_where, [])
    try:
        if "file" in spec:
            inside(folder, spec["file"], f"{where}.file")
        settings = read_ledger_spec(spec, folder, where, period)
        return settings, read_ledger(settings, begins=begins) if settings.path is not None else None
    except BadInput as bad:
        problems += bad.problems
        return None, None


def _work(
    layers: Layers,
    presses: tuple[Press, ...],
    size_names: dict[str, str],
    file: str,
    problems: list[Problem],
) -> tuple[WorkLog | None, str]:
    if layers.work is not None:
        return layers.work
    units = {p.id: p.units for p in presses}
    labels = {p.id: p.label for p in presses}
    ids = list(size_names)
    try:
        if "log" in layers.whole:
            spec, where, folder = layers.whole["log"]
            inside(folder, spec.get("file"), f"{where}.file")
            if not units or not ids:
                return None, ""
            return read_log(
                spec,
                folder,
                units,
                ids,
                where=where,
                press_labels=labels,
                size_labels=size_names,
            ), f"job log {clean(spec.get('file'))}"
        if "summary" in layers.whole:
            spec, where, _ = layers.whole["summary"]
            if not units or not ids:
                return None, ""
            return read_summary(spec, units, ids, where=where, press_labels=labels), "summary table"
    except BadInput as bad:
        problems += bad.problems
        return None, ""
    problems.append(
        Problem(f"{file}, log", "no work is stated", "write [log] with the job log's file, or [summary]")
    )
    return None, ""
