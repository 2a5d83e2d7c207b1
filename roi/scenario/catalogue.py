"""Which keys a scenario may hold, and what each number is called, measured in and limited to; read from data files."""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib import resources
from importlib.resources.abc import Traversable

Path = tuple[str, ...]

# Texts a scenario may hold, by the same patterns as the numbers.
TEXTS: dict[str, tuple[str, ...]] = {
    "": ("name", "currency", "units", "current", "note", "based_on", "prepared_for", "waste_rules"),
    "money": ("tax_schedule",),
    "risk": ("shape",),
    "accounts": (
        "equipment",
        "consumables",
        "waste",
        "energy",
        "labour",
        "press",
        "room",
        "capital",
        "one_offs",
        "unrecovered_vat",
        "depreciation",
    ),
    "shop": ("tariff",),
    "grades.*": ("label",),
    "presses.*": ("label", "format"),
    "methods.*": ("use", "same_as", "label", "short", "largest_format", "note"),
    "methods.*.equipment.*": ("label", "bought"),
    "methods.*.stations.*": ("label", "grade"),
    "methods.*.items.*": ("label", "family", "growth", "driver", "measure", "counts_as"),
    "methods.*.plates": ("material",),
    "methods.*.baths.*": ("label", "to_stream"),
    "methods.*.streams.*": ("label", "hazardous", "code", "grade"),
    "methods.*.tasks.*": ("label", "driver", "grade"),
    "methods.*.elsewhere": ("label", "grade"),
}
# Plain numbers, lists and switches that are not inputs of the reckoning: fixed when a workbook is written.
PLAIN: dict[str, tuple[str, ...]] = {
    "": ("schema", "per_dollar", "claims"),
    "money": ("tax_years", "tax_rate_of_balance"),
    "shop": ("count_plate_overtime", "count_switches"),
    "grades.*": ("press_operator",),
    "presses.*": ("printing_units",),
    "bought_in": ("prices_with_vat",),
    "plan": ("owned",),
    "risk": ("draws", "seed", "together"),
    "methods.*": ("schema", "cannot_serve", "cautions", "makes_plates", "prices_with_vat"),
    "methods.*.items.*": ("recharge",),
    "methods.*.streams.*": ("hazardous",),
}
# What a text says or a switch may be, where the reckoning makes no use of it and rules about mistakes do.
CHOICES: dict[Path, tuple[object, ...]] = {
    ("shop", "tariff"): ("all-in", "energy-only"),
    ("risk", "shape"): ("pert", "triangular"),
    ("methods", "*", "items", "*", "counts_as"): ("water",),
    ("methods", "*", "plates", "material"): ("aluminium", "film"),
    ("methods", "*", "equipment", "*", "bought"): ("new", "used"),
    ("shop", "count_plate_overtime"): (True, False),
    ("shop", "count_switches"): (True, False),
    ("grades", "*", "press_operator"): (True, False),
    ("bought_in", "prices_with_vat"): (True, False),
    ("methods", "*", "prices_with_vat"): (True, False),
    ("methods", "*", "items", "*", "recharge"): (True, False),
}
# Tables with readers of their own, which the patterns don't show.
OTHER_TABLES = ("sizes", "log", "summary", "ledger", "press_defaults")
KEYS_SHOWN = 12
FAMILIES = ("equipment", "consumables", "waste", "energy", "labour", "press", "room")
STATUSES = ("measured", "invoice", "quote", "estimate", "default")


@dataclass(frozen=True)
class Entry:
    """One kind of number: label and unit may hold places to fill in."""

    pattern: Path
    label: str
    unit: str
    low: float | None
    high: float | None
    whole: bool
    bare: bool
    usual: tuple[float, float] | None


def data_file(*path: str) -> Traversable:
    """A file shipped with the package."""
    return resources.files("roi.data").joinpath(*path)


def load(*path: str) -> dict[str, object]:
    """A shipped TOML file as a dictionary."""
    return tomllib.loads(data_file(*path).read_text("utf-8"))


@lru_cache(maxsize=1)
def entries() -> tuple[Entry, ...]:
    """The whole catalogue, in its own order."""
    found = []
    for key, row in load("catalogue.toml").items():
        assert isinstance(row, Mapping)
        usual = row.get("usual")
        found.append(
            Entry(
                pattern=tuple(key.split(".")),
                label=row["label"],
                unit=row["unit"],
                low=row.get("min"),
                high=row.get("max"),
                whole=row.get("whole", False),
                bare=row.get("bare", False),
                usual=(usual[0], usual[1]) if usual else None,
            )
        )
    return tuple(found)


@lru_cache(maxsize=1)
def drivers() -> dict[str, dict[str, str]]:
    """What running costs may be counted by: {name: {"unit", "follows"}}."""
    return load("drivers.toml")  # type: ignore[return-value]


def fits(pattern: Iterable[str], path: Path) -> bool:
    """Whether a path is one of a pattern's, "*" standing for any one name."""
    pattern = tuple(pattern)
    if len(pattern) != len(path) or pattern[-1:] not in (path[-1:], ("*",)):  # nearly all
        return False
    return all(p in ("*", name) for p, name in zip(pattern, path, strict=True))


@cache
def entry_for(path: Path) -> Entry | None:
    """The catalogue's entry for a path, if it has one."""
    return next((e for e in entries() if fits(e.pattern, path)), None)


def place(path: Path, table: Mapping[str, tuple[str, ...]]) -> bool:
    """Whether a path is a text (TEXTS) or plain value (PLAIN) the scenario may hold."""
    return any(path[-1] in names and fits(_split(where), path[:-1]) for where, names in table.items())


def refused(path: Path, value: object) -> tuple[str, str] | None:
    """What is wrong with a value that only a few may take (CHOICES), and the mend; None where nothing is."""
    choices = next((c for pattern, c in CHOICES.items() if fits(pattern, path)), None)
    # 1 equals true, and is not what a switch is written as.
    if choices is None or any(value == c and type(value) is type(c) for c in choices):
        return None
    if choices[0] is True:
        return f"{value!r} is not a switch", "write true or false"
    said = [f'"{c}"' for c in choices]
    near = difflib.get_close_matches(str(value), [str(c) for c in choices], 1)
    return f"{value!r} is not known here", f'was "{near[0]}" meant?' if near else f"write {' or '.join(said)}"


def near(path: Path) -> str:
    """The known key nearest to a misspelt one, as a dotted path, or ""."""
    same_length = {
        ".".join(name if p == "*" else p for p, name in zip(pattern, path, strict=True))
        for pattern in _patterns()
        if len(pattern) == len(path)
    }
    found = difflib.get_close_matches(".".join(path), sorted(same_length), 1, cutoff=0.78)
    return found[0] if found else ""


def known_at(path: Path) -> str:
    """What may stand where an unknown key stands: "known in [shop]: pull_job, paper, ..."; 12 names at most.

    Where its table is unknown too, the names of the nearest table above that is known.
    """
    below = _names_below(path)
    if below and "*" in _names_below(path[:-1]):
        return f"{path[-1]} is a table; known in [{'.'.join(path)}]: {_listed(below)}"
    for depth in range(len(path) - 1, -1, -1):
        names = [name for name in _names_below(path[:depth]) if name != "*"]
        if names:
            where = f"in [{'.'.join(path[:depth])}]" if depth else "at the top of the file"
            return f"known {where}: {_listed(names)}"
    raise AssertionError("the top of a file has keys")


def _names_below(path: Path) -> list[str]:
    """The names that may follow a path, "*" among them where the shop chooses the name; empty for a key."""
    depth = len(path)
    names = [p[depth] for p in _patterns() if len(p) > depth and fits(p[:depth], path)]
    return list(dict.fromkeys([*names, *(OTHER_TABLES if not path else ())]))


def _listed(names: list[str]) -> str:
    return ", ".join(names[:KEYS_SHOWN]) + (", ..." if len(names) > KEYS_SHOWN else "")


@lru_cache(maxsize=1)
def _patterns() -> tuple[Path, ...]:
    """Every key a scenario may hold."""
    texts = [(*_split(where), n) for table in (TEXTS, PLAIN) for where, names in table.items() for n in names]
    return (*texts, *(e.pattern for e in entries()))


def _split(where: str) -> Path:
    return tuple(where.split(".")) if where else ()
