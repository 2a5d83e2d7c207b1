"""The things a shop has: plate sizes, presses, methods; and texts from outside made into one printable line."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from roi.scenario import catalogue
from roi.scenario.files import Key, Layers, Raw
from roi.scenario.problems import Problem
from roi.units.quantity import UnreadableQuantity, read_size

FLAGS = ("tight", "uv", "abrasive", "envelope", "confined")
CASES = " cases"  # ends the name of a sheet on which another sheet's lines are worked for further cases
# Sheets of the workbook that a method's sheet must not share its name with.
RESERVED = (
    "About",
    "Summary",
    "Break-even",
    "Sensitivity",
    "Switching",
    "To check",
    "Claims",
    "Mixed plan",
    "Capacity",
    "When to change",
    "Words",
    "Inputs",
    "Units",
    "Work",
    "Shop",
    "Cash flow",
    "Comparison",
    "Resources",
    "Replacement",
    "Sources and cautions",
    "Cases",
    "Volumes",
    "Ranges",
    "Risk",
    "Stresses",
    "Stressed",
    "Changes",
    "Checks",
    "Scenario",
    "Forms",
    "Job log",
    "Log columns",
    "Plates a month",
)

_FORMAT_TOLERANCE = 0.0002  # metres: sizes in inches and millimetres round differently


@dataclass(frozen=True)
class Size:
    """A plate size; sides in metres, the short one first; `name` and `format` as stated."""

    id: str
    label: str
    short: float
    long: float
    name: str = ""
    format: str = ""

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


def clean(text: object) -> str:
    """A text from outside as one printable line of at most 250 characters."""
    return " ".join("".join(c if c.isprintable() else " " for c in str(text)).split())[:250]


def read_text(
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


def read_sizes(layers: Layers, file: str, problems: list[Problem]) -> tuple[tuple[Size, ...], dict[str, str]]:
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
        format_ = clean(row["format"])
        found.append(Size(name, f"{label} ({format_})", short, long, label, format_))
    if not table:
        problems.append(
            Problem(
                where, "no plate sizes are stated", 'write [sizes] with lines like small = "10 in x 15 in"'
            )
        )
    return tuple(found), names


def read_presses(values: dict[Key, Raw], names: Iterable[str], problems: list[Problem]) -> tuple[Press, ...]:
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


def spread_press_defaults(values: dict[Key, Raw], presses: Iterable[Press]) -> None:
    defaults = {k[1]: values.pop(k) for k in list(values) if k[0] == "press_defaults" and len(k) == 2}
    for press in presses:
        for name, raw in defaults.items():
            values.setdefault(("presses", press.id, name), raw)


def read_methods(
    values: dict[Key, Raw], names: Iterable[str], file: str, problems: list[Problem]
) -> tuple[Method, ...]:
    found: list[Method] = []
    for name in names:
        key = ("methods", name)
        label = read_text(values, (*key, "label"), file, problems)
        short = read_text(values, (*key, "short"), file, problems, default=label[:20])
        if (
            not re.fullmatch(r"[A-Za-z][A-Za-z0-9 _-]{0,19}", short)
            or short in RESERVED
            or short.endswith(CASES)
        ):
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
