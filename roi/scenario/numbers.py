"""Every number of a scenario read against the catalogue: what it is called, its unit, its limits."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from roi.scenario import catalogue
from roi.scenario.catalogue import PLAIN, TEXTS, drivers, entry_for, place
from roi.scenario.dollar_rate import possible
from roi.scenario.files import Key, Raw
from roi.scenario.problems import Problem
from roi.scenario.stated import StatedInput, read_input
from roi.scenario.things import Method, Size, clean
from roi.units.unit import Unit

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


def labels_of(values: dict[Key, Raw], methods: Iterable[Method], sizes: Iterable[Size]) -> dict[Key, str]:
    """What the names in keys are called, for the labels of inputs."""
    labels: dict[Key, str] = {("methods", m.id): m.short for m in methods}
    labels |= {(table, "bought_in"): "plates bought in" for table in ("prices", "growth", "price_steps")}
    for key, raw in values.items():
        if key[-1] == "label" and len(key) > 2 and (key[:-1] not in labels):
            labels[key[:-1]] = clean(raw.value)
    for size in sizes:
        labels |= {("bought_in", "price", size.id): size.label.split(" (")[0]}
        for kind in ("price", "pack"):
            labels |= {("methods", m.id, "plates", kind, size.id): size.label.split(" (")[0] for m in methods}
    return labels


def read_inputs(
    values: dict[Key, Raw], labels: dict[Key, str], currency: str, system: str, problems: list[Problem]
) -> dict[Key, StatedInput]:
    per_dollar = values.get(("per_dollar",))
    rate = per_dollar.value if per_dollar is not None else None
    amount = isinstance(rate, (int, float)) and not isinstance(rate, bool)
    if per_dollar is not None and rate is not None and not (amount and possible(rate)):
        where = per_dollar.at(("per_dollar",))
        what = f"{rate!r} can't be what a dollar is worth" if amount else f"{rate!r} is not an amount"
        mend = f"write a bare number, what one US dollar is in {currency}, like per_dollar = 0.79"
        problems.append(Problem(where, what, mend))
        rate = 1.0
    found: dict[Key, StatedInput] = {}
    in_dollars: list[str] = []
    for key, raw in values.items():
        if raw.same:  # read, and told of, where it stands
            continue
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
    wrong = catalogue.refused(key, raw.value)
    if wrong is not None:
        problems.append(Problem(where, *wrong))
        return
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
