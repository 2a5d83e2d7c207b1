"""Whether what is said of owning, renting, leasing and leaving goes together: contradictions by file and key, with the mend.

A machine is owned (`years_left`), rented (`rental`) or bought at the switch (`price` alone). No amounts are judged here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from roi.scenario.files import Key, Raw
from roi.scenario.problems import Problem
from roi.scenario.stated import StatedInput

# What is said of a machine that is bought, and means nothing of one that is rented.
OF_A_PURCHASE = ("price", "life", "resale", "new_life")
OF_ONE_OWNED = ("tax_book", "tax_years_left", "resale_now", "resale_fall", "repair_growth")
PARTS_OF_DUES = (("leaving", "lease_payment"), ("leaving", "notice_cost"))
MONTHS = 12.0

Needs = Callable[[Key, str], None]


def leave_out_purchases(values: dict[Key, Raw]) -> None:
    """Take out the shipped price and life of every machine that the shop says it rents."""
    for key in [k for k in values if _of_machine(k) and k[-1] == "rental"]:
        for name in OF_A_PURCHASE:
            raw = values.get((*key[:-1], name))
            if raw is not None and raw.default:
                del values[(*key[:-1], name)]


def check_owning(
    values: Mapping[Key, Raw],
    inputs: Mapping[Key, StatedInput],
    needs: Needs,
    file: str,
    problems: list[Problem],
) -> None:
    """Add what contradicts itself to `problems`; `file` is named for a key that stands nowhere."""
    for machine in dict.fromkeys(k[:-1] for k in inputs if _of_machine(k)):
        _machine(values, inputs, machine, needs, problems)
    current = values.get(("current",))
    method = str(current.value) if current is not None else ""
    rented = [k for k in inputs if _of_machine(k) and k[-1] == "rental_left" and k[1] == method]
    _leaving(values, inputs, method, rented, needs, problems)
    for name in dict.fromkeys(k[1] for k in inputs if k[0] == "methods" and "lease" in k[2:3]):
        _lease(values, inputs, ("methods", name, "lease"), needs, problems)
    for key in [k for k in inputs if k[0] == "methods" and k[2:] == ("agreement", "share_due")]:
        needs((*key[:-1], "minimum"), "state the agreement it is a share of")


def _of_machine(key: Key) -> bool:
    return len(key) == 5 and key[0] == "methods" and key[2] == "equipment"


def _machine(
    values: Mapping[Key, Raw],
    inputs: Mapping[Key, StatedInput],
    machine: Key,
    needs: Needs,
    problems: list[Problem],
) -> None:
    def has(name: str) -> bool:
        return (*machine, name) in inputs

    def tell(name: str, what: str, mend: str) -> None:
        key = (*machine, name)
        problems.append(Problem(values[key].at(key), what, mend))

    if has("rental"):
        for name in (*OF_A_PURCHASE, "years_left", *OF_ONE_OWNED):
            if has(name):
                what = f"stands beside rental: a rented machine has no {name.replace('_', ' ')}"
                tell(name, what, "take out rental if the machine is bought or owned, else this")
        return
    if has("rental_left"):
        tell("rental_left", "months of a rental, and no rental is stated", 'state rental = "300 USD/month"')
    said = [name for name in OF_ONE_OWNED if has(name)]
    if said and not has("years_left"):
        what = "is said of a machine that is owned, and no years_left says that it is"
        tell(said[0], what, 'state years_left = "4 year" (0 = must be replaced now), or take this out')
    if has("tax_book"):
        needs(
            (*machine, "tax_years_left"), 'state over how many years it is still written off, like "3 year"'
        )
    if has("repair_growth") and not has("repairs"):
        tell(
            "repair_growth", "there are no repairs to rise", 'state repairs = "600 USD/year", those of year 1'
        )
    if has("resale_fall") and not has("resale_now"):
        tell("resale_fall", "there is no resale to fall", "state resale_now, what a buyer would pay today")


def _leaving(
    values: Mapping[Key, Raw],
    inputs: Mapping[Key, StatedInput],
    method: str,
    rented: list[Key],
    needs: Needs,
    problems: list[Problem],
) -> None:
    """What is due on leaving stands in parts or as one sum; a sale as one sum or by machine."""
    for one, other, what in (
        ("lease_payment", "lease_months", 'state the months still due, like "18 month"'),
        ("lease_months", "lease_payment", 'state the payment, like "400 USD/month"'),
        ("notice", "notice_cost", "state what a month of notice costs"),
        ("notice_cost", "notice", 'state how long the notice is, like "3 month"'),
    ):
        if ("leaving", one) in inputs:
            needs(("leaving", other), what)
    lease = ("leaving", "lease_payment")
    paid = [k for k in inputs if _of_machine(k) and k[-1] == "rental" and k[1] == method]
    if lease in inputs and rented and len(rented) == len(paid):
        what = f"counted twice: {', '.join('.'.join(k) for k in rented)} says what the machine's rental still demands"
        problems.append(Problem(values[lease].at(lease), what, "state the one or the other"))
    elif lease in inputs and not paid:
        what = "is paid by whoever stays too, and no rental of the current method says so"
        name = next((k[3] for k in inputs if _of_machine(k) and k[1] == method), "NAME")
        mend = f'state methods.{method}.equipment.{name}.rental = "400 USD/month", or the machine it is for'
        problems.append(Problem(values[lease].at(lease), what, mend))
    share = ("leaving", "lease_share_due")
    if share in inputs and not rented:
        needs(("leaving", "lease_payment"), "state the lease it is a share of")
    dues = ("leaving", "dues")
    agreed = ("methods", method, "agreement", "share_due")
    parts = [".".join(k) for k in (*PARTS_OF_DUES, agreed, *rented) if k in inputs]
    if dues in inputs and parts:
        what = f"one sum of what is due on leaving, beside its parts {', '.join(parts)}"
        problems.append(Problem(values[dues].at(dues), what, "state the one or the other"))
    sale = ("leaving", "sale")
    by_machine = [k for k in inputs if _of_machine(k) and k[-1] == "resale_now" and k[1] == method]
    if sale in inputs and by_machine:
        what = f"one sum for what is sold, beside {', '.join('.'.join(k) for k in by_machine)}"
        problems.append(Problem(values[sale].at(sale), what, "state the one or the other"))


def _lease(
    values: Mapping[Key, Raw],
    inputs: Mapping[Key, StatedInput],
    lease: Key,
    needs: Needs,
    problems: list[Problem],
) -> None:
    needs((*lease, "payment"), 'state it too, like "350 USD/month"')
    needs((*lease, "term"), 'state it too, like "5 year"')
    payment = (*lease, "payment")
    priced = [k[:-1] for k in inputs if _of_machine(k) and k[1] == lease[1] and k[-1] == "price"]
    if payment in inputs and all((*machine, "years_left") in inputs for machine in priced):
        mend = "state rental for a machine paid by the month, leaving.lease_payment for what the old one still owes"
        what = "a lease, and no machine is bought at the switch that it could pay for"
        problems.append(Problem(values[payment].at(payment), what, mend))
    key = (*lease, "advance")
    advance, term = inputs.get(key), inputs.get((*lease, "term"))
    if advance is None or term is None:
        return
    months = term.best * term.factor * MONTHS
    if advance.best * advance.factor > months:
        what = f"more payments in advance than the {months:g} months of the lease"
        problems.append(Problem(values[key].at(key), what, "state fewer months, or a longer term"))


__all__ = ["check_owning", "leave_out_purchases"]
