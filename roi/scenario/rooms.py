"""Statements about the room, its orders and its backup that contradict one another or lack what they rest on.

Each problem names the file, the key and the mend. Limits of single numbers are the catalogue's: a shift of 2 h at least and
a warm-up of 100 min at most leave something of every shift.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from roi.scenario.files import Key, Raw
from roi.scenario.problems import Problem
from roi.scenario.stated import StatedInput
from roi.scenario.things import Method

BACKUP = ("resale", "yearly", "price")
_BY_ORDER = {
    "minimum_order": "a least order wants the orders placed a year",
    "pack": "packs come by the order",
    "freight": "freight is paid by the order",
    "hazardous_freight": "freight is paid by the order",
}
_MINUTES = 60.0  # an hour
_CHEMISTRY = "chemistry_freight"  # the item by which shipped methods pay for it


def check_room(
    values: dict[Key, Raw],
    methods: Iterable[Method],
    inputs: dict[Key, StatedInput],
    needs: Callable[[Key, str], None],
    problems: list[Problem],
) -> None:
    """Add what is wrong; `needs` tells that a key is missing."""
    for m in methods:
        here = ("methods", m.id)
        _stations(here, values, inputs, needs, problems)
        _orders(here, values, inputs, needs, problems)
        _backup(m, inputs, needs, problems)


def _stations(
    here: Key,
    values: dict[Key, Raw],
    inputs: dict[Key, StatedInput],
    needs: Callable[[Key, str], None],
    problems: list[Problem],
) -> None:
    names = dict.fromkeys(k[3] for k in values if k[:3] == (*here, "stations") and len(k) > 4)
    for name in names:
        station = (*here, "stations", name)
        if (*station, "unit_price") in inputs:
            needs((*station, "unit_life"), 'state how long one more unit lasts, like "5 year"')
        if (*station, "unit_life") in inputs:
            needs((*station, "unit_price"), "state what one more unit costs")
        on, warm = inputs.get((*station, "hours_on")), inputs.get((*station, "warm_up_time"))
        if on is None or warm is None:
            continue
        hours, minutes = on.best * on.factor, warm.best * warm.factor
        if 0 < hours * _MINUTES <= minutes:
            problems.append(
                Problem(
                    on.where,
                    f"switched on for {hours:g} h a day, and warms up for {minutes:g} min of it ({warm.key})",
                    "state the hours it is on, warming up included, or a shorter warm_up_time",
                )
            )


def _orders(
    here: Key,
    values: dict[Key, Raw],
    inputs: dict[Key, StatedInput],
    needs: Callable[[Key, str], None],
    problems: list[Problem],
) -> None:
    plates, orders = (*here, "plates"), (*here, "plates", "orders")
    stated = dict.fromkeys(k[3] for k in inputs if k[:3] == plates)
    for name, why in _BY_ORDER.items():
        if name in stated:
            needs(orders, f'state orders, like "12 order/year": {why}')
    for key, raw in values.items():
        if key[:2] == here and key[-1] == "driver" and len(key) == 5 and raw.value == "order":
            needs(orders, f'state orders, like "12 order/year": {".".join(key[2:4])} is counted by them')
    doubled = inputs.get((*here, "items", _CHEMISTRY, "cost"))
    hazardous = inputs.get((*plates, "hazardous_freight"))
    if doubled is not None and hazardous is not None:
        problems.append(
            Problem(
                hazardous.where,
                f"freight of chemistry is counted twice: {doubled.key} holds it too",
                f"leave one out: items.{_CHEMISTRY} = false",
            )
        )


def _backup(
    method: Method,
    inputs: dict[Key, StatedInput],
    needs: Callable[[Key, str], None],
    problems: list[Problem],
) -> None:
    here = ("methods", method.id)
    key = next((k for name in BACKUP if (k := (*here, "backup", name)) in inputs), None)
    if key is None:
        return
    if method.makes_plates:
        needs(
            (*here, "downtime", "days"),
            'state the days the line is down, like "3 day/year": the backup serves those',
        )
        return
    problems.append(
        Problem(
            inputs[key].where,
            "the method makes no plates here, so there is no line to back up",
            "leave backup out, or state it of the method that has the line",
        )
    )


__all__ = ["check_room"]
