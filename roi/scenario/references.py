"""Whether what a scenario refers to is there: drivers, grades, streams, prices by size, what an item needs."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

from roi.scenario import catalogue
from roi.scenario.bills import check_bills, counts_as_water, priced_as_water
from roi.scenario.catalogue import drivers, entry_for
from roi.scenario.files import Key, Raw
from roi.scenario.owning import check_owning
from roi.scenario.problems import Problem
from roi.scenario.rooms import check_room
from roi.scenario.stated import StatedInput
from roi.scenario.things import Method, Size


def check_references(
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

    grades = names("grades")
    growths = [*(k[1] for k in values if k[0] == "growth" and len(k) > 1), "general"]
    steppable = [g for g in growths if g not in ("general", "volume")]
    for name in grades:
        for part, what in (("wage", '"23 USD/h"'), ("on_cost", '"25 %"'), ("cash_share", '"20 %"')):
            needs(("grades", name, part), f"state it like {what}")
    for name in names("price_steps"):
        step = ("price_steps", name)
        if name not in steppable:
            mend = f"one of {', '.join(steppable)}"
            problems.append(Problem(f"{file}, {'.'.join(step)}", "is no group of prices", mend))
        needs((*step, "change"), 'state it like "25 %"')
        needs((*step, "year"), 'state the first year it holds, like "3 year"')
    for m in methods:
        here = ("methods", m.id)
        together = {
            "agreement": {"minimum": '"400 m2/year"', "price": 'what a square metre short costs', "years": '"3 year"'},
            "loan": {"share": '"80 %"', "rate": '"8 %/year"', "term": '"5 year"'},
            "elsewhere": {"up_to": '"300 impression"', "price": '"0.06 USD/impression"'},
            "supplier": {
                "stops": '"3 year", or "0 year" if it goes on',
                "weeks": '"6 week"',
                "new_line": '"20000 USD"',
            },
        }  # fmt: skip
        if (*here, "elsewhere", "minutes") in inputs:
            needs(
                (*here, "elsewhere", "up_to"), 'state the longest run that goes there, like "300 impression"'
            )
        if (*here, "elsewhere", "grade") in values:
            one_of((*here, "elsewhere", "grade"), grades, "grade")
        change = (*here, "changeover")
        if (*change, "undo") in inputs:
            needs((*change, "undo_month"), 'state the month it is undone in, like "12 month"')
        if (*change, "learning_remakes") in inputs or (*change, "learning_minutes") in inputs:
            needs((*change, "learning"), 'state how long it takes to learn, like "3 month"')
        for kind, parts in together.items():
            if any((*here, kind, part) in inputs for part in parts):
                for part, what in parts.items():
                    needs((*here, kind, part), f"state it too, like {what}")
        for kind in ("stations", "tasks"):
            for name in names(*here, kind):
                one_of(
                    (*here, kind, name, "grade"),
                    grades,
                    "grade",
                    needed=kind == "tasks" or (*here, kind, name, "hands_on") in inputs,
                )
        for name in names(*here, "stations"):
            needs((*here, "stations", name, "fixed"), 'state its time a plate, like "2 min/plate"')
        if not names(*here, "baths"):
            for kind in ("tasks", "items"):
                for name in names(*here, kind):
                    counted = values.get((*here, kind, name, "driver"))
                    if counted is not None and counted.value == "bath change":
                        where = ".".join((*here, kind, name))
                        mend = f"leave it out: {kind}.{name} = false"
                        what = "is counted by bath change, and the method has no bath"
                        problems.append(Problem(f"{file}, {where}", what, mend))
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
                if (*item, "credit") not in inputs and not priced_as_water(values, inputs, item):
                    mend = "state the price of its measure, or the credit it brings"
                    if counts_as_water(values, item):
                        mend = "state shop.water (and shop.sewer), or the price of its measure"
                    needs((*item, "price"), mend)
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
            if (*here, "equipment", name, "rental") in values:
                continue
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
    check_bills(values, [m.id for m in methods], inputs, needs, one_of, grades, file, problems)
    check_room(values, methods, inputs, needs, problems)
    check_owning(values, inputs, needs, file, problems)
    for size in sizes:
        if ("bought_in", "price", size.id) not in inputs and ("bought_in", "price_per_area") not in inputs:
            problems.append(
                Problem(
                    f"{file}, bought_in.price.{size.id}", "this size has no price", "state a price a plate"
                )
            )
    for key, raw in values.items():
        if {"price", "pack"} & set(key[:-1]) and key[-1] not in size_names and entry_for(key) is not None:
            near = difflib.get_close_matches(key[-1], list(size_names), 1)
            mend = f'was "{near[0]}" meant?' if near else "state it under [sizes]"
            problems.append(Problem(raw.at(key), f'"{key[-1]}" is not a plate size of this shop', mend))
