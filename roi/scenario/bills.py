"""What is stated about waste, cooling, water and plate material must hold together; contradictions are named with their mend.

Holds no figures: keys, whether they are there, and what an item that is water is priced by.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from roi.scenario.files import Key, Raw
from roi.scenario.problems import Problem
from roi.scenario.stated import StatedInput

WATER = "water"
_VOLUMES = ("L", "mL", "m3", "gal", "qt", "fl oz")


def counts_as_water(values: Mapping[Key, Raw], item: Key) -> bool:
    """Whether an item says that it is water."""
    raw = values.get((*item, "counts_as"))
    return raw is not None and raw.value == WATER


def priced_as_water(values: Mapping[Key, Raw], inputs: Mapping[Key, StatedInput], item: Key) -> bool:
    """Whether an item of water is priced by the shop's water and sewer: where they are stated and it states no price."""
    own = inputs.get((*item, "price"))
    shop = any(("shop", key) in inputs for key in ("water", "sewer"))
    return counts_as_water(values, item) and shop and (own is None or own.default)


def leave_out_catch_alls(values: dict[Key, Raw]) -> None:
    """Take out the shipped yearly sum of a stream's tests and papers where the shop states any of them by itself."""
    for key in [
        k for k in values if len(k) == 5 and k[2] == "streams" and k[-1] == "yearly" and values[k].default
    ]:
        parts = (values.get((*key[:-1], name)) for name in ("registration", "tests", "manifest"))
        if any(raw is not None and not raw.default for raw in parts):
            del values[key]


def check_bills(
    values: Mapping[Key, Raw],
    methods: Iterable[str],
    inputs: Mapping[Key, StatedInput],
    needs: Callable[[Key, str], None],
    one_of: Callable[..., None],
    grades: Iterable[str],
    file: str,
    problems: list[Problem],
) -> None:
    """Check every method; `needs` names a key that is missing, `one_of` a name that isn't known."""
    cooling = {"cooling_share": '"60 %"', "cooling_cop": "cooling_cop = 3"}
    if any(("shop", name) in inputs for name in cooling):
        for name, like in cooling.items():
            needs(("shop", name), f"cooling needs both its share and its COP: state it like {like}")
    items = [key[:4] for key in values if len(key) == 5 and key[0] == "methods" and key[4] == "counts_as"]
    water = [item for item in items if counts_as_water(values, item)]
    for item in water:
        measure = values.get((*item, "measure"))
        if measure is None or measure.value not in _VOLUMES:
            where = f"{file}, {'.'.join(item)}.measure"
            problems.append(Problem(where, "water has no volume", 'state measure = "L" or "m3", and a rate'))
    for key in (("shop", "water"), ("shop", "sewer")):
        if key in inputs and not water:
            what = "prices nothing: no method here has an item that is water"
            mend = 'give the item of rinse water counts_as = "water", or leave this out'
            problems.append(Problem(inputs[key].where, what, mend))
    for method in methods:
        here = ("methods", method)
        plates = (*here, "plates")
        if (*plates, "mass") in inputs and (*plates, "material") not in values:
            mend = 'write material = "aluminium" or "film"'
            problems.append(Problem(f"{file}, {'.'.join(plates)}.material", "is missing", mend))
        if (*plates, "material") in values:
            needs((*plates, "mass"), 'state what a square metre weighs, like "0.41 kg/m2"')
        streams = [k[3] for k in values if k[:3] == (*here, "streams") and len(k) > 4]
        for name in dict.fromkeys(streams):
            _check_stream((*here, "streams", name), inputs, needs, one_of, grades)


def _check_stream(
    stream: Key,
    inputs: Mapping[Key, StatedInput],
    needs: Callable[[Key, str], None],
    one_of: Callable[..., None],
    grades: Iterable[str],
) -> None:
    def has(*keys: str) -> bool:
        return any((*stream, key) in inputs for key in keys)

    if has("manifest", "pickup_hours"):
        needs(
            (*stream, "pickup_capacity"), "pickups are counted by it: state how much is taken at one pickup"
        )
    if has("hours", "pickup_hours"):
        one_of((*stream, "grade"), grades, "grade")
    if has("silver_credit", "silver_recovered"):
        needs((*stream, "silver"), 'a credit for silver needs the silver in the waste, like "300 mg/L"')
        needs((*stream, "silver_recovered"), 'state the share of the silver that is paid for, like "90 %"')
        needs((*stream, "silver_credit"), 'state what is paid for it, like "0.50 USD/g"')
