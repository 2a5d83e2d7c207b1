"""Faults in a scenario file: keys gone, doubled, renamed, of another type, numbers huge or in other units; harmless rewriting."""

from __future__ import annotations

import copy
import datetime as dt
import re
import tomllib
from collections.abc import Callable
from random import Random
from typing import Any

from roi.scenario.catalogue import PLAIN, TEXTS, entries, entry_for
from tests.fuzz import mutate_bytes
from tests.fuzz.mutant import NOTHING, Base, Change, Claim, Operation
from tests.fuzz.toml_text import dumps

Path = tuple[str, ...]
Tree = dict[str, Any]
OTHER_READERS = ("sizes", "log", "summary", "ledger")
_NUMBER = re.compile(r"(-?\d+(?:\.\d+)?)( .*)?")
# What one of the first is in the second: exact definitions of the international yard and pound, the US gallon and the day.
CONVERSIONS = {
    ("min", "h"): 60, ("h", "min"): 1 / 60, ("min", "s"): 1 / 60, ("L", "mL"): 1e-3, ("mL", "L"): 1e3, ("L",
    "gal"): 3.785411784,
    ("kg", "lb"): 0.45359237, ("kg", "g"): 1e-3, ("m2", "sq ft"): 0.09290304, ("m2", "sqft"): 0.09290304,
    ("mL", "fl oz"): 29.5735295625,
    ("kWh", "kWh"): 1,
}  # fmt: skip
HUGE = (
    "1e308",
    "1e15",
    "999999999999999",
    "1e14",
    "-1e14",
    "1e-14",
    "0.000000000001",
    "0",
    "-1",
    "123456789",
    "1e999",
)
ODD_VALUES = (
    0, 1, -1, 2**63, -(2**70), 10**30, 1.5, 1e308, float("nan"), float("inf"), float("-inf"), -0.0, True,
    False, "", [], {}, [[]], [1, "a"],
    {"best": 1}, {"best": []}, {"best": {}}, {"best": "1", "low": {}}, {"best": "1", "date": []}, [{}],
    {"": 1}, {"a": {"b": {"c": 1}}},
    dt.date(2025, 2, 28), dt.datetime(2025, 1, 1, 12), dt.time(12),
)  # fmt: skip


def _paths(tree: Any, within: Path = ()) -> list[Path]:
    """Every key in the tree, tables and what they hold."""
    found = []
    for name, value in tree.items():
        found.append((*within, name))
        if isinstance(value, dict):
            found += _paths(value, (*within, name))
    return found


def _at(tree: Tree, path: Path) -> Any:
    here: Any = tree
    for name in path:
        here = here[name]
    return here


def _on_tree(change: Callable[[Random, Tree, Base], Claim | None]) -> Operation:
    """An operation on the parsed file, written out again."""

    def operate(draw: Random, base: Base) -> Change:
        tree = copy.deepcopy(tomllib.loads(base.content.decode()))
        claim = change(draw, tree, base)
        return None if claim is None else (dumps(tree).encode("utf-8", "surrogatepass"), claim)

    return operate


def key_gone(draw: Random, tree: Tree, base: Base) -> Claim:
    path = draw.choice(_paths(tree))
    del _at(tree, path[:-1])[path[-1]]
    return NOTHING


def key_renamed(draw: Random, tree: Tree, base: Base) -> Claim:
    path = draw.choice(_paths(tree))
    table = _at(tree, path[:-1])
    name = list(path[-1])
    place = draw.randrange(len(name) + 1)
    other = draw.choice(["", "x", "_", ".", " ", "é", "\n", '"'])
    wanted = draw.choice(
        ["".join([*name[:place], other, *name[place + 1 :]]), draw.choice(mutate_bytes.ODD_TEXTS)]
    )
    table[wanted] = table.pop(path[-1])
    return NOTHING


def values_swapped(draw: Random, tree: Tree, base: Base) -> Claim | None:
    a, b = draw.sample(_paths(tree), 2)
    if a[: len(b)] == b or b[: len(a)] == a:
        return None
    one, other = _at(tree, a), _at(tree, b)
    _at(tree, a[:-1])[a[-1]], _at(tree, b[:-1])[b[-1]] = other, one
    return NOTHING


def moved(draw: Random, tree: Tree, base: Base) -> Claim | None:
    """A key stands in another table."""
    a, b = draw.sample(_paths(tree), 2)
    table = _at(tree, b)
    if not isinstance(table, dict) or b[: len(a)] == a:
        return None
    table[a[-1]] = _at(tree, a[:-1]).pop(a[-1])
    return NOTHING


def other_type(draw: Random, tree: Tree, base: Base) -> Claim:
    path = draw.choice(_paths(tree))
    _at(tree, path[:-1])[path[-1]] = copy.deepcopy(draw.choice(ODD_VALUES))
    return NOTHING


def odd_text(draw: Random, tree: Tree, base: Base) -> Claim:
    path = draw.choice(_paths(tree))
    value = _at(tree, path)
    odd = draw.choice(mutate_bytes.ODD_TEXTS)
    if isinstance(value, str) and draw.random() < 0.5:
        place = draw.randrange(len(value) + 1)
        odd = value[:place] + odd + value[place:]
    _at(tree, path[:-1])[path[-1]] = odd
    return NOTHING


def unknown_key(draw: Random, tree: Tree, base: Base) -> Claim:
    tables = [(), *(p for p in _paths(tree) if isinstance(_at(tree, p), dict))]
    name = draw.choice(["x", "best", "unit", "label", "price", "file", "0", "use", "same_as", "low", "", "é"])
    _at(tree, draw.choice(tables))[name] = copy.deepcopy(
        draw.choice([*ODD_VALUES, *mutate_bytes.ODD_TEXTS, "1 USD"])
    )
    return NOTHING


def deep(draw: Random, tree: Tree, base: Base) -> Claim:
    value: Any = "1"
    for _ in range(draw.choice([3, 8, 11, 12, 13, 40])):
        value = {"a": value} if draw.random() < 0.7 else [value]
    path = draw.choice(_paths(tree))
    _at(tree, path[:-1])[path[-1]] = value
    return NOTHING


def many(draw: Random, tree: Tree, base: Base) -> Claim:
    """Many presses, sizes, methods, or very many keys that mean nothing."""
    table = draw.choice(["presses", "sizes", "methods", "grades", "x"])
    number = draw.choice([12, 12, 300]) if table != "methods" else 12
    for i in range(number):
        tree.setdefault(table, {})
        if not isinstance(tree[table], dict):
            break
        tree[table][f"n{i}"] = {
            "presses": {"label": f"Press {i}", "printing_units": i % 5},
            "sizes": f"{300 + i} mm x {400 + i} mm",
            "methods": {"use": "direct", "label": f"M {i}", "short": f"M {i}"},
            "grades": {"label": f"G {i}", "wage": "20 USD/h"},
            "x": i,
        }[table]
    return NOTHING


def _numbers(tree: Tree) -> list[tuple[Path, Path, str]]:
    """(where the text stands, the input's key, the text) of every number that the catalogue knows."""
    found = []
    for path in _paths(tree):
        value = _at(tree, path)
        key = path[:-1] if path[-1] == "best" else path
        if (
            isinstance(value, str)
            and path[0] not in OTHER_READERS
            and entry_for(key)
            and _NUMBER.fullmatch(value)
        ):
            found.append((path, key, value))
    return found


def number_changed(draw: Random, tree: Tree, base: Base) -> Claim | None:
    found = _numbers(tree)
    if not found:
        return None
    path, key, text = draw.choice(found)
    parts = _NUMBER.fullmatch(text)
    assert parts is not None
    by = draw.choice([0.5, 0.9, 0.99, 1.01, 1.1, 2, 3, 10])
    new = float(f"{float(parts[1]) * by:.9g}")
    if new == float(parts[1]):
        return None
    _at(tree, path[:-1])[path[-1]] = f"{new:.9f}" + (parts[2] or "")
    return Claim(key=".".join(key), ratio=new / float(parts[1]) if float(parts[1]) else None)


def unit_changed(draw: Random, tree: Tree, base: Base) -> Claim | None:
    """A number keeps its figure and gets another unit of the same kind: its value must follow."""
    found = []
    for path, key, text in _numbers(tree):
        parts = _NUMBER.fullmatch(text)
        assert parts is not None
        above, slash, below = (parts[2] or "").strip().partition("/")
        for (one, other), times in CONVERSIONS.items():
            if above == one:
                found.append((path, key, f"{parts[1]} {other}{slash}{below}", float(times), float(parts[1])))
            if below == one:
                found.append((path, key, f"{parts[1]} {above}/{other}", 1 / times, float(parts[1])))
    if not found:
        return None
    path, key, text, times, number = draw.choice(found)
    _at(tree, path[:-1])[path[-1]] = text
    return Claim(key=".".join(key), ratio=times if number else None)


def wrong_unit(draw: Random, tree: Tree, base: Base) -> Claim | None:
    found = _numbers(tree)
    if not found:
        return None
    path, _, text = draw.choice(found)
    number = _NUMBER.fullmatch(text)
    assert number is not None
    unit = draw.choice(
        ["", "USD", "EUR/plate", "min", "%", "m2/m2", "kg*kg/kg", "lpi", "$", "USD/plate/plate", "1/1",
        "/", "*", "plate per USD", "µm",
         "MIN", "Usd/plate", "m³", "sq  ft", "year2", "2"]
    )  # fmt: skip
    _at(tree, path[:-1])[path[-1]] = f"{number[1]} {unit}".strip()
    return NOTHING


def huge_number(draw: Random, tree: Tree, base: Base) -> Claim | None:
    found = _numbers(tree)
    if not found:
        return None
    path, _, text = draw.choice(found)
    number = _NUMBER.fullmatch(text)
    assert number is not None
    _at(tree, path[:-1])[path[-1]] = draw.choice(HUGE) + (number[2] or "")
    return NOTHING


def size_far(draw: Random, tree: Tree, base: Base) -> Claim | None:
    """A plate size with a side that is huge, tiny, nothing or below."""
    sizes = tree.get("sizes")
    named = [name for name, said in sizes.items() if isinstance(said, str)] if isinstance(sizes, dict) else []
    if not named:
        return None
    name = draw.choice(named)
    sides = list(re.finditer(r"\d+(?:\.\d+)?", sizes[name]))
    if not sides:
        return None
    side = draw.choice(sides)
    sizes[name] = sizes[name][: side.start()] + draw.choice(HUGE) + sizes[name][side.end() :]
    return NOTHING


def range_changed(draw: Random, tree: Tree, base: Base) -> Claim | None:
    """A low, high, status, source, date or how sure: the best value stays."""
    tables = [
        p for p in _paths(tree) if isinstance(_at(tree, p), dict) and "best" in _at(tree, p) and entry_for(p)
    ]
    if not tables:
        return None
    path = draw.choice(tables)
    what = draw.choice(["low", "high", "status", "source", "date", "sure", "note", "by", "valid_until"])
    best = str(_at(tree, path)["best"])
    number = _NUMBER.fullmatch(best)
    times = {"low": draw.choice([0.5, 0.9, 2]), "high": draw.choice([0.5, 1.1, 2])}.get(what, 1.0)
    scaled = f"{float(number[1]) * times:.9f}{number[2] or ''}" if number else best
    _at(tree, path)[what] = {
        "low": scaled,
        "high": scaled,
        "status": draw.choice(["measured", "quote", "guess", "default", 7]),
        "source": draw.choice(mutate_bytes.ODD_TEXTS),
        "date": draw.choice(["2026-01-01", dt.date(2026, 1, 1), "1.1.2026", "2026-13-01", 2026]),
        "sure": draw.choice(["sure", "guess", "very", 1]),
        "note": draw.choice(mutate_bytes.ODD_TEXTS),
        "by": draw.choice(mutate_bytes.ODD_TEXTS),
        "valid_until": draw.choice(["2026-01-01", dt.date(2020, 1, 1), "soon"]),
    }[what]
    return Claim(key=".".join(path), ratio=1.0)


def number_stated(draw: Random, tree: Tree, base: Base) -> Claim | None:
    """A key of the catalogue that the file doesn't state."""
    entry = draw.choice(entries())
    if "{" in entry.unit:
        return None
    key = _filled(draw, tree, entry.pattern)
    here = _table_of(tree, key)
    if here is None:
        return None
    currency = str(tree.get("currency", "USD"))
    low, high = entry.low or 0, entry.high if entry.high is not None else 50
    number = round(draw.uniform(low, min(high, low + 50)), 0 if entry.whole else 3)
    unit = entry.unit.replace("currency", currency)
    here[key[-1]] = number if unit == "1" else f"{number:.3f} {unit}".replace(".000 ", " ")
    return Claim(key=".".join(key), new=True)


# Words that texts of a scenario may be, and some that they may not.
WORDS = (
    "plate imaged", "bath change", "work day", "order", "consumables", "waste", "chemistry", "general",
    "prepress", "spent", "developer",
    "direct", "polyester", "film", "pert", "all-in", "aluminium", "used", "mL", "kg", "1", "line", "x",
    "small", "400 mm x 510 mm",
)  # fmt: skip


def text_stated(draw: Random, tree: Tree, base: Base) -> Claim | None:
    """A text, list or switch that the file doesn't state."""
    tables = [
        (*(where.split(".") if where else ()), name)
        for table in (TEXTS, PLAIN)
        for where, names in table.items()
        for name in names
    ]
    key = _filled(draw, tree, draw.choice(tables))
    here = _table_of(tree, key)
    if here is None:
        return None
    here[key[-1]] = draw.choice([*WORDS, *WORDS, True, False, 1, 7, [], ["direct"], ["coated"], [["a", "b"]]])
    return NOTHING


def _filled(draw: Random, tree: Tree, pattern: Path) -> Path:
    """A key of a pattern: names that are there, or that shipped methods have, or a new one; empty where none fits."""
    key: Path = ()
    for part in pattern:
        below = [part] if part != "*" else [*_below(tree, key), *(["new"] if draw.random() < 0.2 else [])]
        if not below:
            return ()
        key = (*key, draw.choice(below))
    return key


def _table_of(tree: Tree, key: Path) -> Tree | None:
    """The table that a key is to stand in, made where it isn't there; None where the key is there or can't be."""
    here: Any = tree if key else None
    for name in key[:-1]:
        here = here.setdefault(name, {}) if isinstance(here, dict) else None
    return here if isinstance(here, dict) and key[-1] not in here else None


# What the shipped methods hold, for keys below a name that the file itself doesn't state.
_SHIPPED_NAMES = {
    "equipment": ("line", "setter", "imager", "processor"), "tasks": ("daily", "weekly"), "items": ("ink",
    "gum"),
    "baths": ("developer", "gum", "activator"), "streams": ("developer", "spent"), "stations": ("imager",
    "line"),
}  # fmt: skip


def _below(tree: Tree, key: Path) -> list[str]:
    names = [str(x) for x in _SHIPPED_NAMES.get(key[-1], ())]
    here: Any = tree
    for name in key:
        here = here.get(name, {}) if isinstance(here, dict) else {}
    return [*names, *here] if isinstance(here, dict) else names


def key_doubled(draw: Random, base: Base) -> Change:
    """A key stands twice in its table: no TOML."""
    lines = base.content.split(b"\n")
    places = [i for i, line in enumerate(lines) if b"=" in line and not line.startswith(b"#")]
    place = draw.choice(places)
    lines.insert(place + 1, lines[place])
    return b"\n".join(lines), NOTHING


def rewritten(draw: Random, base: Base) -> Change:
    """The same said in another order and form."""
    tree = tomllib.loads(base.content.decode())
    text = dumps(tree, draw)
    assert tomllib.loads(text) == tree, "our own writer is wrong"
    return text.encode(), Claim(same=True)


def several(draw: Random, base: Base) -> Change:
    """Two to six faults at once."""
    tree = tomllib.loads(base.content.decode())
    faults = (
        key_gone,
        key_renamed,
        other_type,
        odd_text,
        unknown_key,
        values_swapped,
        wrong_unit,
        huge_number,
        moved,
    )
    for _ in range(draw.randrange(2, 7)):
        if _paths(tree):
            draw.choice(faults)(draw, tree, base)
        if len(_paths(tree)) < 2:
            break
    return dumps(tree).encode("utf-8", "surrogatepass"), NOTHING


OPERATIONS: dict[str, tuple[float, Operation]] = {
    "key gone": (8, _on_tree(key_gone)),
    "key renamed": (6, _on_tree(key_renamed)),
    "key doubled": (2, key_doubled),
    "values swapped": (5, _on_tree(values_swapped)),
    "key moved": (5, _on_tree(moved)),
    "another type": (10, _on_tree(other_type)),
    "odd text": (10, _on_tree(odd_text)),
    "unknown key": (6, _on_tree(unknown_key)),
    "nested deep": (2, _on_tree(deep)),
    "many of a thing": (1, _on_tree(many)),
    "number changed": (12, _on_tree(number_changed)),
    "unit of the same kind": (6, _on_tree(unit_changed)),
    "unit of another kind": (5, _on_tree(wrong_unit)),
    "huge or tiny number": (8, _on_tree(huge_number)),
    "size huge, tiny": (3, _on_tree(size_far)),
    "range, status or date": (5, _on_tree(range_changed)),
    "number stated anew": (14, _on_tree(number_stated)),
    "text stated anew": (6, _on_tree(text_stated)),
    "rewritten, same meaning": (5, rewritten),
    "several at once": (8, several),
    **{f"text: {name}": (weight, work) for name, (weight, work) in mutate_bytes.OPERATIONS.items()},
}
