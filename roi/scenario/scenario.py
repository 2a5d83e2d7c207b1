"""A shop, its methods and its work, read from a scenario file and checked: everything the reckoning starts from."""

from __future__ import annotations

import difflib
import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from roi.engine.expression import Input
from roi.scenario import catalogue
from roi.scenario.catalogue import PLAIN, TEXTS, drivers, entry_for, place
from roi.scenario.files import Key, Layers, Raw, inside, read_layers
from roi.scenario.joblog import WorkLog, read_log
from roi.scenario.problems import BadInput, Problem
from roi.scenario.stated import StatedInput, read_input
from roi.scenario.summary import read_summary
from roi.scenario.tax import TaxSchedule, read_schedule
from roi.units.quantity import UnreadableQuantity, currencies, read_size
from roi.units.unit import Unit

FLAGS = ("tight", "uv", "abrasive", "envelope", "confined")
# Sheets of the workbook that a method's sheet must not share its name with.
RESERVED = (
    "About",
    "Summary",
    "Words",
    "Inputs",
    "Units",
    "Work",
    "Shop",
    "Cash flow",
    "Comparison",
    "Sources",
    "Checks",
)
# What an item's measure is reckoned in.
_AMOUNTS = {
    "mL": "L",
    "gal": "L",
    "qt": "L",
    "fl oz": "L",
    "L": "L",
    "g": "kg",
    "lb": "kg",
    "oz": "kg",
    "kg": "kg",
}
_FORMAT_TOLERANCE = 0.0002  # metres: sizes in inches and millimetres round differently


@dataclass(frozen=True)
class Size:
    """A plate size; sides in metres, the short one first."""

    id: str
    label: str
    short: float
    long: float

    @property
    def area(self) -> float:
        """Square metres of one plate."""
        return self.short * self.long


@dataclass(frozen=True)
class Press:
    """A press: `units` printing units."""

    id: str
    label: str
    units: int


@dataclass(frozen=True)
class Method:
    """One way of making plates, as data; `largest` is (short, long) in metres or None for any size."""

    id: str
    label: str
    short: str
    largest: tuple[float, float] | None
    cannot_serve: tuple[str, ...]
    makes_plates: bool
    cautions: tuple[str, ...]

    def takes(self, size: Size) -> bool:
        """Whether a plate of this size fits the largest format, short side to short side."""
        if self.largest is None:
            return True
        return (
            size.short <= self.largest[0] + _FORMAT_TOLERANCE
            and size.long <= self.largest[1] + _FORMAT_TOLERANCE
        )


@dataclass(frozen=True)
class Scenario:
    """Everything stated and everything taken by default, read and checked."""

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
    raw: dict[Key, Raw]
    work: WorkLog
    work_source: str
    tax: TaxSchedule
    note: str = ""
    _engine: dict[Key, Input] = field(default_factory=dict, repr=False)

    def method(self, name: str) -> Method:
        """The method with this id."""
        return next(m for m in self.methods if m.id == name)

    def stated(self, *key: str) -> StatedInput | None:
        """A number as stated, or None where neither the shop nor a default states it."""
        return self.inputs.get(key)

    def has(self, *key: str) -> bool:
        """Whether a number is stated or has a default."""
        return key in self.inputs

    def input(self, *key: str) -> Input:
        """The engine's input for a key; the same object each time. KeyError when it isn't stated."""
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
    layers = read_layers(path)
    problems = layers.problems
    if problems:  # a file of another schema can't be judged key by key
        raise BadInput(problems)
    values = dict(layers.values)
    file = path.name
    currency = _text(values, ("currency",), file, problems)
    unknown_currency = currency not in currencies()
    if currency and currency not in currencies():
        near = difflib.get_close_matches(currency.upper(), currencies(), 1)
        mend = f'was "{near[0]}" meant?' if near else "use a code of ISO 4217, such as USD"
        problems.append(Problem(f"{file}, currency", f'"{currency}" is no ISO 4217 code', mend))
        currency = "USD"
    system = _text(values, ("units",), file, problems, default="us" if currency == "USD" else "metric")
    if system not in ("us", "metric"):
        problems.append(Problem(f"{file}, units", f'"{system}" is not known', 'write "us" or "metric"'))
        system = "metric"
    currency = currency or "USD"
    sizes, size_names = _sizes(layers, file, problems)
    presses = _presses(values, layers.presses, problems)
    _spread_press_defaults(values, presses)
    methods = _methods(values, layers.methods, file, problems)
    current = _text(values, ("current",), file, problems)
    if current and methods and current not in [m.id for m in methods]:
        near = difflib.get_close_matches(current, [m.id for m in methods], 1)
        mend = f'was "{near[0]}" meant?' if near else f"one of {', '.join(m.id for m in methods)}"
        problems.append(Problem(f"{file}, current", f'"{current}" is not among the methods', mend))
    if methods and len(methods) < 2:
        problems.append(
            Problem(f"{file}, methods", "there is nothing to compare", "name two methods or more")
        )
    labels = _labels(values, methods, sizes)
    inputs = _inputs(values, labels, currency, system, problems)
    _check_references(values, methods, inputs, sizes, size_names, file, problems)
    tax = read_schedule(values, file, problems)
    work, source = _work(layers, presses, size_names, file, problems)
    if unknown_currency:  # told once; every price in another currency than the stand-in follows from it
        problems = [p for p in problems if f"the scenario in {currency}" not in p.what]
    if problems or work is None:
        raise BadInput(problems)
    return Scenario(
        path=path,
        name=clean(values[("name",)].value) if ("name",) in values else path.stem,
        currency=currency,
        system=system,
        current=current,
        methods=methods,
        presses=presses,
        grades=tuple(dict.fromkeys(k[1] for k in values if k[0] == "grades" and len(k) > 2)),
        sizes=sizes,
        inputs=inputs,
        raw=values,
        work=work,
        work_source=source,
        tax=tax,
        note=clean(values[("note",)].value) if ("note",) in values else "",
    )


def clean(text: object) -> str:
    """A text from outside as one printable line of at most 250 characters."""
    return " ".join("".join(c if c.isprintable() else " " for c in str(text)).split())[:250]


def _text(
    values: dict[Key, Raw], key: Key, file: str, problems: list[Problem], default: str | None = None
) -> str:
    raw = values.get(key)
    if raw is None:
        if default is None:
            problems.append(Problem(f"{file}, {'.'.join(key)}", "is missing", f"write {key[-1]} = ..."))
        return default or ""
    if not isinstance(raw.value, str):
        problems.append(Problem(raw.at(key), f"{raw.value!r} is not a text", f'write {key[-1]} = "..."'))
        return default or ""
    return clean(raw.value)


def _sizes(layers: Layers, file: str, problems: list[Problem]) -> tuple[tuple[Size, ...], dict[str, str]]:
    """The sizes, and the label of every size named: one that can't be read is told once and keeps its name."""
    table, where, _ = layers.whole.get("sizes", ({}, f"{file}, sizes", Path()))
    found, names = [], {}
    for name, value in table.items():
        row = value if isinstance(value, dict) else {"format": value}
        names[name] = label = clean(row.get("label", name.replace("_", " ").capitalize()))
        try:
            width, height = read_size(str(row.get("format", "")))
        except UnreadableQuantity as wrong:
            problems.append(Problem(f"{where}.{name}", str(wrong), wrong.mend))
            continue
        short, long = sorted((width, height))
        found.append(Size(name, f"{label} ({clean(row['format'])})", short, long))
    if not table:
        problems.append(
            Problem(
                where, "no plate sizes are stated", 'write [sizes] with lines like small = "10 in x 15 in"'
            )
        )
    return tuple(found), names


def _presses(values: dict[Key, Raw], names: Iterable[str], problems: list[Problem]) -> tuple[Press, ...]:
    """The presses named, or one default press where none is; what they leave out is taken from press_defaults."""
    found = []
    for name in tuple(names) or ("press",):
        raw = values.get(("presses", name, "printing_units"), values[("press_defaults", "printing_units")])
        units = raw.value
        if not isinstance(units, int) or isinstance(units, bool) or not 1 <= units <= 12:
            where, what = (
                raw.at(("presses", name, "printing_units")),
                f"{units!r} is not a count of printing units",
            )
            problems.append(Problem(where, what, "state a whole number from 1 to 12"))
            units = 1
        label = values.get(("presses", name, "label"))
        found.append(Press(name, clean(label.value) if label else name.replace("_", " ").capitalize(), units))
    return tuple(found)


def _spread_press_defaults(values: dict[Key, Raw], presses: Iterable[Press]) -> None:
    defaults = {k[1]: values.pop(k) for k in list(values) if k[0] == "press_defaults" and len(k) == 2}
    for press in presses:
        for name, raw in defaults.items():
            values.setdefault(("presses", press.id, name), raw)


def _methods(
    values: dict[Key, Raw], names: Iterable[str], file: str, problems: list[Problem]
) -> tuple[Method, ...]:
    found: list[Method] = []
    for name in names:
        key = ("methods", name)
        label = _text(values, (*key, "label"), file, problems)
        short = _text(values, (*key, "short"), file, problems, default=label[:20])
        if not re.fullmatch(r"[A-Za-z][A-Za-z0-9 _-]{0,19}", short) or short in RESERVED:
            problems.append(
                Problem(
                    f"{file}, methods.{name}.short",
                    f'"{short}" can\'t name a sheet',
                    "use up to 20 plain letters, digits and spaces",
                )
            )
        elif short.lower() in (m.short.lower() for m in found):
            problems.append(
                Problem(
                    f"{file}, methods.{name}.short",
                    f'"{short}" names two methods',
                    "give one another `short`",
                )
            )
        largest = None
        if (*key, "largest_format") in values:
            raw = values[(*key, "largest_format")]
            try:
                sides = sorted(read_size(str(raw.value)))
                largest = (sides[0], sides[1])
            except UnreadableQuantity as wrong:
                problems.append(Problem(raw.at((*key, "largest_format")), str(wrong), wrong.mend))
        cannot = values.get((*key, "cannot_serve"), Raw([], "", True))
        unknown = (
            [f for f in cannot.value if f not in FLAGS] if isinstance(cannot.value, list) else [cannot.value]
        )
        if unknown:
            problems.append(
                Problem(
                    cannot.at((*key, "cannot_serve")), f"{unknown} not known", f"a list of {', '.join(FLAGS)}"
                )
            )
        makes = values.get((*key, "makes_plates"), Raw(True, "", True)).value
        if not isinstance(makes, bool):
            problems.append(
                Problem(f"{file}, methods.{name}.makes_plates", f"{makes!r} is not a switch", "true or false")
            )
        cautions = values.get((*key, "cautions"), Raw([], "", True))
        known = catalogue.load("cautions.toml")
        if not isinstance(cautions.value, list) or any(c not in known for c in cautions.value):
            listed = ", ".join(k for k in known if isinstance(known[k], dict))
            what = f"{cautions.value!r}: not all known"
            problems.append(Problem(cautions.at((*key, "cautions")), what, f"a list of {listed}"))
            cautions = Raw([], "", True)
        found.append(
            Method(
                id=name,
                label=label,
                short=short,
                largest=largest,
                cannot_serve=tuple(cannot.value) if not unknown else (),
                makes_plates=makes is True,
                cautions=tuple(cautions.value),
            )
        )
    return tuple(found)


def _labels(values: dict[Key, Raw], methods: Iterable[Method], sizes: Iterable[Size]) -> dict[Key, str]:
    """What the names in keys are called, for the labels of inputs."""
    labels: dict[Key, str] = {("methods", m.id): m.short for m in methods}
    for key, raw in values.items():
        if key[-1] == "label" and len(key) > 2 and (key[:-1] not in labels):
            labels[key[:-1]] = clean(raw.value)
    for size in sizes:
        labels |= {("bought_in", "price", size.id): size.label.split(" (")[0]}
        labels |= {("methods", m.id, "plates", "price", size.id): size.label.split(" (")[0] for m in methods}
    return labels


def _inputs(
    values: dict[Key, Raw], labels: dict[Key, str], currency: str, system: str, problems: list[Problem]
) -> dict[Key, StatedInput]:
    per_dollar = values.get(("per_dollar",))
    rate = per_dollar.value if per_dollar is not None else None
    amount = isinstance(rate, (int, float)) and not isinstance(rate, bool)
    if per_dollar is not None and rate is not None and not (amount and 0 < rate < 1e9):
        where, what = per_dollar.at(("per_dollar",)), f"{rate!r} is not an amount"
        mend = f"write a bare number, what one US dollar is in {currency}, like per_dollar = 0.79"
        problems.append(Problem(where, what, mend))
        rate = 1.0
    found: dict[Key, StatedInput] = {}
    in_dollars: list[str] = []
    for key, raw in values.items():
        entry = entry_for(key)
        if entry is None:
            _check_plain(key, raw, problems)
            continue
        fill = [
            labels.get(key[: i + 1], name.replace("_", " "))
            for i, (p, name) in enumerate(zip(entry.pattern, key, strict=True))
            if p == "*"
        ]
        # A method's or a shop's own names stand at {0} and {1} alike, whichever pattern it is.
        label = entry.label.format(*(fill if key[0] == "methods" else [*fill, *fill]))
        unit = _unit(entry.unit, key, values)
        if unit is None:
            continue
        stated = read_input(key, raw, entry, label[:1].upper() + label[1:], unit, currency, system, rate)
        if isinstance(stated, list):
            in_dollars += [p.where for p in stated if "in US dollars" in p.what]
            problems += [p for p in stated if "in US dollars" not in p.what]
        else:
            found[key] = stated
    if in_dollars:
        what = f"{len(in_dollars)} prices are still shipped defaults, in US dollars"
        first = ", ".join(w.split(", ", 1)[1] for w in in_dollars[:5])
        mend = f"write per_dollar = what one US dollar is in {currency}, or state them: {first}, ..."
        problems.append(Problem("per_dollar", what, mend))
    for label, count in Counter(i.label.lower() for i in found.values()).items():
        if count > 1:
            keys = [i.key for i in found.values() if i.label.lower() == label]
            problems.append(
                Problem(
                    ", ".join(keys),
                    f"{count} inputs are called '{label}'",
                    "give the things different labels",
                )
            )
    return found


def _unit(text: str, key: Key, values: dict[Key, Raw]) -> Unit | None:
    if "{" not in text:
        return Unit.read(text)
    driver = values.get((*key[:-1], "driver"))
    measure = values.get((*key[:-1], "measure"))
    if "{driver}" in text:
        if driver is None or not isinstance(driver.value, str) or driver.value not in drivers():
            return None  # said once by _check_references
        text = text.replace("{driver}", drivers()[driver.value]["unit"])
    if "{amount}" in text:
        if measure is None or not isinstance(measure.value, str):
            return None
        text = text.replace("{amount}", _AMOUNTS.get(measure.value, measure.value))
    try:
        return Unit.read(text)
    except ValueError:
        return None


def _check_plain(key: Key, raw: Raw, problems: list[Problem]) -> None:
    where = raw.at(key)
    if place(key, PLAIN) or any(p.where == where for p in problems):
        return
    if place(key, TEXTS):
        if not isinstance(raw.value, str):
            problems.append(Problem(where, f"{raw.value!r} is not a text", 'write "..."'))
        return
    if raw.value is False and len(key) > 2:
        return
    near = catalogue.near(key)
    mend = f'was "{near}" meant?' if near else catalogue.known_at(key)
    problems.append(Problem(where, "is not a key known here", mend))


def _check_references(
    values: dict[Key, Raw],
    methods: Iterable[Method],
    inputs: dict[Key, StatedInput],
    sizes: Iterable[Size],
    size_names: Iterable[str],
    file: str,
    problems: list[Problem],
) -> None:
    def one_of(key: Key, known: Iterable[str], what: str, *, needed: bool = True) -> None:
        raw, known = values.get(key), list(known)
        if raw is None:
            if needed:
                problems.append(
                    Problem(f"{file}, {'.'.join(key)}", "is missing", f"one of {', '.join(known)}")
                )
        elif raw.value not in known and not any(p.where == raw.at(key) for p in problems):
            near = difflib.get_close_matches(str(raw.value), known, 1)
            mend = f'was "{near[0]}" meant?' if near else f"one of {', '.join(known)}"
            problems.append(Problem(raw.at(key), f"{raw.value!r} is no {what}", mend))

    def names(*prefix: str) -> list[str]:
        return list(
            dict.fromkeys(
                k[len(prefix)] for k in values if k[: len(prefix)] == prefix and len(k) > len(prefix) + 1
            )
        )

    def needs(key: Key, what: str) -> None:
        if key not in inputs and not any(p.where.endswith(".".join(key)) for p in problems):
            problems.append(Problem(f"{file}, {'.'.join(key)}", "is missing", what))

    grades, growths = names("grades"), [k[1] for k in values if k[0] == "growth"] + ["general"]
    for m in methods:
        here = ("methods", m.id)
        for kind in ("stations", "tasks"):
            for name in names(*here, kind):
                one_of(
                    (*here, kind, name, "grade"),
                    grades,
                    "grade",
                    needed=kind == "tasks" or (*here, kind, name, "hands_on") in inputs,
                )
        for name in names(*here, "tasks"):
            one_of((*here, "tasks", name, "driver"), drivers(), "driver")
            needs((*here, "tasks", name, "minutes"), 'state it like "5 min/plate"')
        for name in names(*here, "items"):
            item = (*here, "items", name)
            one_of((*item, "driver"), drivers(), "driver")
            one_of((*item, "family"), catalogue.FAMILIES, "cost family")
            one_of((*item, "growth"), growths, "growth", needed=False)
            if (*item, "measure") in values:
                needs((*item, "rate"), "state how much is used for each of its driver")
                if (*item, "credit") not in inputs:
                    needs((*item, "price"), "state the price of its measure, or the credit it brings")
            else:
                needs((*item, "cost"), "state cost, or measure, rate and price")
        for name in names(*here, "baths"):
            for field_name in ("volume", "age_life", "price"):
                needs((*here, "baths", name, field_name), "a bath has a volume, an age_life and a price")
            if (*here, "baths", name, "leaves") in inputs or (*here, "baths", name, "to_stream") in values:
                one_of((*here, "baths", name, "to_stream"), names(*here, "streams"), "waste stream")
        for name in names(*here, "streams"):
            stream = (*here, "streams", name)
            if (*stream, "price") not in inputs:
                needs((*stream, "container"), "state a price a litre, or container and container_price")
                needs((*stream, "container_price"), "state a price a litre, or container and container_price")
            if (*stream, "pickup_fee") in inputs:
                needs((*stream, "pickup_capacity"), "state how much is taken at one pickup")
        for name in names(*here, "equipment"):
            for field_name in ("price", "life"):
                needs(
                    (*here, "equipment", name, field_name),
                    "equipment has a price (of its replacement, if owned) and a life",
                )
        if m.makes_plates:
            needs((*here, "ruling_limit"), 'state it like "175 lpi"')
            needs((*here, "life", "coated"), 'state it like "15000 impressions"')
            needs((*here, "life", "uncoated"), 'state it like "10000 impressions"')
            for size in sizes:
                if (
                    m.takes(size)
                    and (*here, "plates", "price", size.id) not in inputs
                    and (*here, "plates", "price_per_area") not in inputs
                ):
                    problems.append(
                        Problem(
                            f"{file}, methods.{m.id}.plates.price.{size.id}",
                            "this size has no price",
                            "state a price a plate, or plates.price_per_area",
                        )
                    )
    for size in sizes:
        if ("bought_in", "price", size.id) not in inputs and ("bought_in", "price_per_area") not in inputs:
            problems.append(
                Problem(
                    f"{file}, bought_in.price.{size.id}", "this size has no price", "state a price a plate"
                )
            )
    for key, raw in values.items():
        if "price" in key[:-1] and key[-1] not in size_names and entry_for(key) is not None:
            near = difflib.get_close_matches(key[-1], list(size_names), 1)
            mend = f'was "{near[0]}" meant?' if near else "state it under [sizes]"
            problems.append(Problem(raw.at(key), f'"{key[-1]}" is not a plate size of this shop', mend))


def _work(
    layers: Layers,
    presses: tuple[Press, ...],
    size_names: dict[str, str],
    file: str,
    problems: list[Problem],
) -> tuple[WorkLog | None, str]:
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
