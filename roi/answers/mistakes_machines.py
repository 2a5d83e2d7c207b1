"""Likely mistakes about machines, their lives, and what staying with today's method costs.

Each rule takes a case and gives problems; none changes a figure. Lives in years from the switch, shares as fractions.
Some rules go by what a scenario says about equipment and the reckoning makes no use of:

- bought = "new" or "used": which of them the price is for
- new_life: how long such a machine lasts when bought new
- support_left: years for which its maker still supports it
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from roi.answers.case import Case
from roi.answers.compare import horizon
from roi.model.equipment import CAPITALISED
from roi.scenario.files import Key, lineage, shipped_method, shipped_methods
from roi.scenario.problems import Problem
from roi.scenario.questions import IN_THE_QUOTE

OLD = 5.0  # years; a plate line older than this is hard to sell
MOST_LEFT = 0.20  # share of the price it may still fetch then
OWN = ("measured", "invoice", "estimate")  # statuses of what the shop says itself


def residual_too_high(case: Case) -> Iterator[Problem]:
    """A line five years old or more that is still worth above a fifth of its price."""
    for sheet in case.sheets:
        for name in sheet.names("equipment"):
            if sheet.has("equipment", name, "rental"):
                continue
            here, label = ("methods", sheet.method.id, "equipment", name), sheet.label("equipment", name)
            life = case.at(f"{sheet.column.key}.{label}, life in whole years")
            resale = case.best(*here, "resale") or 0.0
            unused = case.at(f"{sheet.column.key}.{label}, share of life left")
            share, age = resale + (1 - resale) * unused, life * (1 - unused)
            if resale > MOST_LEFT and life >= OLD:
                yield Problem(
                    case.where(*here, "resale"),
                    f"{resale:.0%} of the price after {life:.0f} years",
                    f"above {MOST_LEFT:.0%} after {OLD:.0f} years wants an offer in writing; else state less",
                )
            elif share > MOST_LEFT and age >= OLD:
                yield Problem(
                    case.where(*here, "life"),
                    f"at the horizon the line is {age:.0f} years old "
                    f"and still counted at {share:.0%} of its price",
                    "state a shorter life, or end the horizon with it: "
                    f"above {MOST_LEFT:.0%} after {OLD:.0f} years is rarely paid",
                )


def used_with_new_life(case: Case) -> Iterator[Problem]:
    """The price of a used machine with the life of a new one."""
    for sheet in case.sheets:
        for name in sheet.names("equipment"):
            here = ("methods", sheet.method.id, "equipment", name)
            life, new = case.stated(*here, "life"), case.best(*here, "new_life")
            if life is None or case.study.scenario.text(*here, "bought") != "used":
                continue
            years = life.best * life.factor
            if new is not None and years >= new:
                what = f"bought used, and to last {years:g} years, where a new one lasts {new:g}"
            elif new is None and life.default:
                what = f"bought used, with the {years:g} years of life shipped for a new one"
            else:
                continue
            # Where the life is a shipped one, the shop's own file is the place to mend.
            where = f"{case.study.scenario.path.name}, {life.key}" if life.default else life.where
            yield Problem(where, what, "state how long this one will last: its age is gone from its life")


def beyond_support(case: Case) -> Iterator[Problem]:
    """A machine counted on, within the horizon, for longer than its maker supports it."""
    years = horizon(case.study, case.values)
    for sheet in case.sheets:
        for name in sheet.names("equipment"):
            here = ("methods", sheet.method.id, "equipment", name)
            support = case.best(*here, "support_left")
            key = "years_left" if sheet.has("equipment", name, "years_left") else "life"
            in_use = min(case.best(*here, key) or 0.0, years)
            if support is not None and in_use > support:
                yield Problem(
                    case.where(*here, "support_left"),
                    f"support ends after {support:g} years, and the machine is counted on for {in_use:g}",
                    f"let {key} end with it, or look no further ahead; "
                    "unsupported years want repairs stated and parts at hand",
                )


def sellers_life(case: Case) -> Iterator[Problem]:
    """A life that is a seller's word beside prices of the shop's own."""
    for sheet in case.sheets:
        here = ("methods", sheet.method.id)
        sizes: list[Key] = [("plates", "price", size.id) for size in case.study.scenario.sizes]
        lives: list[Key] = [("life", work) for work in ("coated", "uncoated", "tight")]
        # What is meant, where its life stands, where its price does.
        things: list[tuple[str, list[Key], list[Key]]] = []
        if sheet.method.makes_plates:
            things.append(("plate", lives, [*sizes, ("plates", "price_per_area")]))
        for name in sheet.names("equipment"):
            unit = ("equipment", name)
            things.append((sheet.label(*unit), [(*unit, "life")], [(*unit, "price")]))
        for thing, claimed, priced in things:
            word = next((x for k in claimed if (x := case.stated(*here, *k)) and x.status == "quote"), None)
            own = next((x for k in priced if (x := case.stated(*here, *k)) and x.status in OWN), None)
            if word is not None and own is not None:
                yield Problem(
                    word.where,
                    f"{thing} life is a seller's word (quote), while the price is your own ({own.status})",
                    "state the life you have counted yourself, or take price and life from one quote "
                    "and give life a low end",
                )


def stay_without_replacement(case: Case) -> Iterator[Problem]:
    """A new machine against a worn-out one that is never replaced."""
    sheet, years = case.current, horizon(case.study, case.values)
    buyers = [s.method.short for s in case.sheets if s is not sheet and case.at(s.lines["first_cost"]) > 0]
    if not buyers or not sheet.method.makes_plates:
        return
    here = ("methods", sheet.method.id, "equipment")
    against = f"while {', '.join(buyers)} must be bought"
    names = sheet.names("equipment")
    if not names:
        yield Problem(
            f"{case.study.scenario.path.name}, {'.'.join(here)}",
            f"the current method has no machine to replace, {against}",
            "state the machine in use: price of its replacement, life, years_left",
        )
    for name in names:
        left = case.best(*here, name, "years_left")
        if left is not None and left >= years:
            yield Problem(
                case.where(*here, name, "years_left"),
                f"{left:g} years left: it is not replaced within the {years} year{'s' if years > 1 else ''}, {against}",
                "state how long it will really last and be supported, or look further ahead",
            )


def bought_again(case: Case) -> Iterator[Problem]:
    """Equipment of the current method that costs money in year 0, as if the shop did not own it."""
    sheet = case.current
    for name in sheet.names("equipment"):
        here = ("methods", sheet.method.id, "equipment", name)
        paid = sum(case.best(*here, key) or 0.0 for key in ("price", *CAPITALISED, "training"))
        owned = sheet.has("equipment", name, "years_left") or sheet.has("equipment", name, "rental")
        if not owned and paid > 0:
            yield Problem(
                case.where(*here, "years_left"),
                "today's machine is bought again in year 0",
                "state years_left, the years the one owned will last",
            )


def quote_and_defaults(case: Case) -> Iterator[Problem]:
    """A price of the shop's own, to which freight, installation and training are added from defaults."""
    for sheet in (s for s in case.sheets if s is not case.current):
        for name in sheet.names("equipment"):
            here = ("methods", sheet.method.id, "equipment", name)
            price, besides = case.stated(*here, "price"), [case.stated(*here, key) for key in IN_THE_QUOTE]
            added = sum(each.best for each in besides if each is not None)
            if (
                price is None
                or price.default
                or not added
                or any(each and not each.default for each in besides)
            ):
                continue
            yield Problem(
                price.where,
                f"to this price {case.study.scenario.currency} {added:,.0f} of defaults are added for freight, installation and "
                "training",
                "state 0 for each of them that the price holds, else what it costs",
            )


def stay_without_upkeep(case: Case) -> Iterator[Problem]:
    """The contract or repairs of the machine in use left out of "stay"."""
    sheet = case.current
    if sheet.has("last_year", "service"):
        return
    for name in sheet.names("equipment"):
        here = ("methods", sheet.method.id, "equipment", name)
        kept = ("contract", "repairs", "rental")  # a rental often has the upkeep in it
        if not any(case.best(*here, key) for key in kept):
            yield Problem(
                case.where(*here, "contract"),
                "the machine in use costs no contract and no repairs",
                "state contract or repairs, or last_year.service from the invoices",
            )


def stay_without_baths(case: Case) -> Iterator[Problem]:
    """Baths of the method in use left out of "stay", or filled for nothing."""
    sheet, scenario = case.current, case.study.scenario
    here, names = ("methods", sheet.method.id), sheet.names("baths")
    base = scenario.text(*here, "use", default=sheet.method.id)
    usual: Any = shipped_method(base).get("baths", {}) if base in shipped_methods() else {}
    missing = [bath["label"] for name, bath in usual.items() if name not in names]
    if missing and len(names) < len(usual):
        yield Problem(
            f"{scenario.path.name}, {'.'.join(here)}.baths",
            f"the method in use runs without {', '.join(missing)}, which its kind has: staying looks cheaper",
            "state the baths it has; a line that really has none is a method file of its own",
        )
    for name in names:
        if case.best(*here, "baths", name, "price") == 0 and not sheet.has("last_year", "chemistry"):
            yield Problem(
                case.where(*here, "baths", name, "price"),
                f"{sheet.label('baths', name)} of the method in use costs nothing: staying looks cheaper",
                "state its price, or last_year.chemistry from the invoices",
            )


def rival_on_shipped_figures(case: Case) -> Iterator[Problem]:
    """A rival that comes with the tool, based on what the method in use is, and not on what the shop says of that method."""
    sheet, scenario = case.current, case.study.scenario
    here, base = (
        ("methods", sheet.method.id),
        scenario.text("methods", sheet.method.id, "use", default=sheet.method.id),
    )
    own = [key for key, stated in scenario.inputs.items() if key[:2] == here and not stated.default]
    rivals = []
    for other in scenario.methods:
        file = scenario.text("methods", other.id, "use", default=other.id)
        if file in shipped_methods() and base in lineage(file)[1:] and not scenario.bases(other.id):
            rivals.append(other)
    if own and rivals:
        also = f" (so does {', '.join(m.short for m in rivals[1:])})" if rivals[1:] else ""
        yield Problem(
            f"{scenario.path.name}, methods.{rivals[0].id}.same_as",
            f"{rivals[0].short} runs on shipped figures where your own are stated for {sheet.method.short}, such as "
            f"{'.'.join(own[0][2:])}, and pays for leaving that method{also}",
            f'write same_as = "{sheet.method.id}": it then starts from what you state, and keeps what you own',
        )


def invoice_not_counted(case: Case) -> Iterator[Problem]:
    """An invoice that scales what isn't there: chemistry without a bath, disposal without a stream."""
    for sheet in case.sheets:
        for bill, things, thing in (("chemistry", "baths", "bath"), ("waste", "streams", "waste stream")):
            key = ("methods", sheet.method.id, "last_year", bill)
            if case.best(*key) and not sheet.names(things):
                yield Problem(
                    case.where(*key),
                    f"what was invoiced for {bill} is counted nowhere: {sheet.method.short} has no {thing}",
                    f"state the {thing} it is for, or an item of that cost",
                )
        key = ("methods", sheet.method.id, "last_year", "plates")
        if case.best(*key) and not sheet.method.makes_plates:
            yield Problem(
                case.where(*key),
                f"what was invoiced for plates is counted nowhere: {sheet.method.short} makes no plates",
                "state the prices of plates under bought_in.price, or leave it out",
            )
