"""One way to read "7 min", "3.20 USD/plate" or "13 in x 19 3/8 in", and to turn one unit into another.

The number is split from the unit by a pattern, and the unit is taken apart into words of a fixed list before pint sees
it: pint evaluates arithmetic in what it parses, and "9**9**9**9 m" would compute for ever.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache
from importlib import resources
from math import isfinite
from typing import TYPE_CHECKING

from roi.units.unit import Unit

if TYPE_CHECKING:
    import pint

_NUMBER = re.compile(
    r"\s*([+-]?(?:[1-9]\d{0,2}(?:,\d{3})+|\d+)(?:\.\d+)?(?:[eE][+-]?\d{1,3})?)(?:\s+(\d+/\d+))?\s*(.*)", re.S
)
_DECIMAL_COMMA = re.compile(r",\d")
_MONEY_SIGN = re.compile(r"[$€£¥]")
_SIGN_OF = {"$": "USD", "€": "EUR", "£": "GBP", "¥": "JPY"}
_SIZE = re.compile(r"\s+[x×]\s+|(?<=[a-z\d\"])\s*[x×]\s*(?=\d)", re.I)
_WORD = re.compile(r"[A-Za-z°%]+(?:[ _][A-Za-z]+)?[23]?|1")
LONGEST = 60  # characters of a unit
LONGEST_NUMBER = 200  # characters of a number with its unit: patterns may take the square of the length
SHORTEST_SIDE, LONGEST_SIDE = 0.05, 3.0  # metres, of a plate: beyond any press for sheets

# What people write, and the engine's symbol for it. Plurals of counts are added below.
_SYMBOLS = {
    "currency": "currency", "min": "min", "minute": "min", "minutes": "min", "mins": "min", "h": "h", "hr": "h",
    "hrs": "h", "hour": "h", "hours": "h", "s": "s", "sec": "s", "second": "s", "seconds": "s", "day": "day",
    "days": "day", "week": "week", "weeks": "week", "wk": "week", "month": "month", "months": "month", "mo": "month",
    "year": "year", "years": "year", "yr": "year", "yrs": "year", "L": "L", "l": "L", "litre": "L", "litres": "L",
    "liter": "L", "liters": "L", "mL": "mL", "ml": "mL", "gal": "gal", "gallon": "gal", "gallons": "gal", "qt": "qt",
    "quart": "qt", "quarts": "qt", "fl oz": "fl_oz", "fl_oz": "fl_oz", "m3": "m3", "cu ft": "ft3", "ft3": "ft3",
    "m2": "m2", "sqm": "m2", "sq m": "m2", "ft2": "ft2", "sq ft": "ft2", "sqft": "ft2", "in2": "in2", "sq in": "in2",
    "m": "m", "mm": "mm", "cm": "cm", "in": "in", "inch": "in", "inches": "in", "ft": "ft", "kg": "kg", "g": "g", "mg": "mg",
    "lb": "lb", "lbs": "lb", "pound": "lb", "pounds": "lb", "oz": "oz", "kW": "kW", "W": "W", "kWh": "kWh",
    "lpi": "lpi", "percent": "percent", "%": "percent", "1": "1",
}  # fmt: skip
COUNTS = (
    "plate", "form", "pass", "sheet", "impression", "job", "stop", "order", "pickup", "container", "trip", "change",
    "remake", "person", "unit", "box", "touch", "switch",
)  # fmt: skip
_SYMBOLS |= {c: c for c in COUNTS} | {f"{c}s": c for c in COUNTS}
_SYMBOLS |= {"passes": "pass", "boxes": "box", "switches": "switch", "touches": "touch", "people": "person"}
_SYMBOLS |= {"drum": "container", "drums": "container"}

# The engine's symbols as pint knows them.
_PINT = {
    "currency": "currency", "min": "minute", "h": "hour", "s": "second", "day": "day", "week": "week",
    "month": "month", "year": "year", "L": "liter", "mL": "milliliter_", "gal": "gallon", "qt": "quart",
    "fl_oz": "fluid_ounce", "m3": "cubic_meter", "ft3": "cubic_foot", "m2": "square_meter", "ft2": "square_foot",
    "in2": "square_inch", "m": "meter", "mm": "millimeter_", "cm": "centimeter_", "in": "inch", "ft": "foot",
    "kg": "kilogram", "g": "gram", "mg": "milligram_", "lb": "pound", "oz": "ounce", "kW": "kilowatt_", "W": "watt",
    "kWh": "(kilowatt_ * hour)", "lpi": "lpi", "percent": "percent", "1": "1", "pass": "pass_",
}  # fmt: skip

# How each symbol is shown to a reader; the currency shows its own code.
_LABELS = {
    "ft2": "sq ft", "in2": "sq in", "ft3": "cu ft", "fl_oz": "fl oz", "percent": "%", "m2": "m²", "m3": "m³",
}  # fmt: skip


class UnreadableQuantity(ValueError):
    """The text is not a number with a known unit; the message says what is and `mend` how to write it."""

    def __init__(self, message: str, mend: str = "") -> None:
        super().__init__(message)
        self.mend = mend


@dataclass(frozen=True)
class Stated:
    """A unit as somebody wrote it: factors of known symbols above and below the line."""

    above: tuple[str, ...]
    below: tuple[str, ...]

    def text(self, currency: str) -> str:
        """For readers: "USD/plate", "sq ft", "%"."""

        def shown(symbols: Iterable[str]) -> list[str]:
            return [currency if s == "currency" else _LABELS.get(s, s) for s in symbols if s != "1"]

        above = "·".join(shown(self.above)) or ("1" if self.below else "")
        return above + "".join(f"/{s}" for s in shown(self.below))

    @property
    def has_currency(self) -> bool:
        return "currency" in self.above + self.below


def split_number(text: str) -> tuple[float, str]:
    """The number that a text begins with and what follows it. "19 3/8 in" gives 19.375 and "in"."""
    if len(text) > LONGEST_NUMBER:
        what = f'"{text[:20]}..." is {len(text):,} characters long; {LONGEST_NUMBER} are the most'
        raise UnreadableQuantity(what, 'write it like "7 min" or "3.20 USD/plate"')
    found = _NUMBER.fullmatch(text)
    if not found:
        raise UnreadableQuantity(
            f'"{text[:60]}" does not begin with a number', 'write it like "7 min" or "3.20 USD/plate"'
        )
    if _DECIMAL_COMMA.match(found[3]):
        said = "write a decimal point, and a comma only between thousands"
        if not re.search("[.,]", found[1]) and not found[2]:
            said = f'write a decimal point: "{found[1]}.{found[3][1:41].strip()}"'
        raise UnreadableQuantity(f'"{text[:60]}" has a decimal comma', said)
    number = float(found[1].replace(",", ""))
    if found[2]:
        above, below = found[2].split("/")
        if int(below) == 0:
            raise UnreadableQuantity(f'"{text[:60]}" divides by zero', 'write the fraction like "19 3/8 in"')
        number += float(Fraction(int(above), int(below)))
    if not isfinite(number):
        raise UnreadableQuantity(f'"{text[:60]}" is too large', "write a number below 1e300")
    return number, found[3].strip()


def refuse_money_sign(text: str, currency: str, wanted: str) -> None:
    """Raise UnreadableQuantity for "$2.10" or "2.10 €/plate": signs stand for several currencies, codes for one.

    `wanted` is the unit as readers see it ("USD/plate"); it completes the text the message proposes.
    """
    sign = _MONEY_SIGN.search(text)
    if not sign:
        return
    number = re.search(r"[+-]?\d[\d.,]*", text.replace(sign[0], ""))
    below = text.partition("/")[2].strip() or wanted.partition("/")[2]
    figure = re.sub(r",(?=\d{1,2}$)", ".", number[0]) if number else "2.10"
    mend = f'write the code: "{figure} {currency}{"/" if below else ""}{below[:40]}"'
    if _SIGN_OF[sign[0]] != currency:
        mend += f", the figure in {currency}"
    raise UnreadableQuantity(f'"{text[:60]}" has the sign {sign[0]} instead of a currency code', mend)


def read_unit(text: str, currency: str) -> Stated:
    """Read a unit such as "USD/plate", "mL/m2", "sq ft", "/year" or "". Raises UnreadableQuantity."""
    if len(text) > LONGEST:
        raise UnreadableQuantity(f"the unit is {len(text)} characters long; {LONGEST} is the most")
    rest, below_line = (
        text.strip().replace("²", "2").replace("³", "3").replace(" per ", "/").replace("·", "*"),
        False,
    )
    if rest.startswith("/"):
        rest = "1" + rest
    above: list[str] = []
    below: list[str] = []
    while rest:
        found = _WORD.match(rest)
        if not found:
            raise UnreadableQuantity(
                f'"{text}" is not a unit', 'write factors joined by * and /, such as "mL/m2"'
            )
        (below if below_line else above).append(_symbol(found[0], text, currency))
        rest = rest[found.end() :].strip()
        if rest:
            if rest[0] not in "*/" or len(rest) == 1:
                raise UnreadableQuantity(
                    f'"{text}" is not a unit', 'write factors joined by * and /, such as "mL/m2"'
                )
            below_line, rest = rest[0] == "/", rest[1:].strip()
    return Stated(tuple(above), tuple(below))


def _symbol(word: str, text: str, currency: str) -> str:
    if word == currency:
        return "currency"
    if word in _SYMBOLS:
        return _SYMBOLS[word]
    if word in currencies():
        raise UnreadableQuantity(
            f'"{text}" is in {word}, the scenario in {currency}', f"convert it to {currency}"
        )
    known = [*_SYMBOLS, currency]
    near = [k for k in known if k.lower() == word.lower()] or difflib.get_close_matches(word, known, 1)
    mend = (
        f'was "{near[0]}" meant?'
        if near
        else f"write one such as mm, sq ft, L, kWh, min, plate or {currency}"
    )
    raise UnreadableQuantity(f'"{word}" is not a unit known here', mend)


def read_size(text: str, currency: str = "") -> tuple[float, float]:
    """Both sides, in metres, of "13 in x 19 3/8 in" or "400 x 510 mm", as written. Raises UnreadableQuantity.

    A side is from SHORTEST_SIDE to LONGEST_SIDE.
    """
    sides = _SIZE.split(text.strip()) if len(text) <= LONGEST_NUMBER else []
    if len(sides) != 2:
        raise UnreadableQuantity(
            f'"{text[:60]}" is not a size', 'write it like "13 in x 19 3/8 in" or "400 mm x 510 mm"'
        )
    numbers, units = zip(*(split_number(side) for side in sides), strict=True)
    last = units[1]
    if not last:
        raise UnreadableQuantity(f'"{text[:60]}" has no unit', 'write it like "13 in x 19 3/8 in"')
    metre = Unit.read("m")
    width, height = (
        n * factor(read_unit(u or last, currency), metre) for n, u in zip(numbers, units, strict=True)
    )
    if width <= 0 or height <= 0:
        raise UnreadableQuantity(f'"{text[:60]}" has a side that is not above zero')
    if min(width, height) < SHORTEST_SIDE or max(width, height) > LONGEST_SIDE:
        what = f'"{text[:60]}" is no size of a plate: a side is from {SHORTEST_SIDE * 1000:g} mm to {LONGEST_SIDE:g} m'
        raise UnreadableQuantity(what, _meant_size(numbers))
    return width, height


def _meant_size(numbers: Sequence[float]) -> str:
    """What may be meant by two numbers whose unit gives no plate's size."""
    fit = [
        unit
        for unit, metres in (("mm", 0.001), ("in", 0.0254), ("cm", 0.01))
        if all(SHORTEST_SIDE <= n * metres <= LONGEST_SIDE for n in numbers)
    ]
    if fit:
        return f'was {" or ".join(fit)} meant? "{numbers[0]:g} {fit[0]} x {numbers[1]:g} {fit[0]}"'
    return 'write it like "13 in x 19 3/8 in" or "400 mm x 510 mm"'


def factor(stated: Stated, wanted: Unit, currency: str = "currency") -> float:
    """What one stated unit is in the wanted one.

    A count, hour or year below the line may be left out where it goes without saying ("7 min" for min/plate), but never
    beside money: a price must say per what. Raises UnreadableQuantity when the two don't measure the same thing.
    """
    known = [s for s, p in wanted.powers if p == -1 and s in (*COUNTS, "year", "h", "day", "week")]
    goes_without_saying = [[], known, *([s] for s in known)] if not stated.has_currency else [[]]
    for left_out in goes_without_saying:
        found = _convert(_pint_text(stated.above, (*stated.below, *left_out)), _unit_text(wanted))
        if found is not None:
            return found
    shown = unit_label(wanted, currency) or "a bare number or %"
    given = stated.text(currency) or "a bare number"
    raise UnreadableQuantity(f"{given} where {shown} is wanted", f"write the number with a unit like {shown}")


def symbols_of(unit: Unit) -> Stated:
    """An engine unit as if stated."""
    above = tuple(s for s, p in unit.powers for _ in range(p))
    below = tuple(s for s, p in unit.powers for _ in range(-p))
    if "kW" in above and "h" in above:
        above = (*(s for s in above if s not in ("kW", "h")), "kWh")
    if "kW" in below and "h" in below:
        below = (*(s for s in below if s not in ("kW", "h")), "kWh")
    return Stated(above or ("1",), below)


@cache
def unit_label(unit: Unit, currency: str) -> str:
    """An engine unit for readers."""
    return symbols_of(unit).text(currency)


def _pint_text(above: Iterable[str], below: Iterable[str]) -> str:
    return " * ".join(_PINT.get(s, s) for s in above or ("1",)) + "".join(
        f" / {_PINT.get(s, s)}" for s in below
    )


def _unit_text(unit: Unit) -> str:
    stated = symbols_of(unit)
    return _pint_text(stated.above, stated.below)


@cache
def _convert(given: str, wanted: str) -> float | None:
    import pint

    registry = _registry()
    quantity = registry.Quantity(1.0, registry.Unit(given) if given.strip("1 ") else registry.dimensionless)
    try:
        return float(
            quantity.to(registry.Unit(wanted) if wanted.strip("1 ") else registry.dimensionless).magnitude
        )
    except pint.DimensionalityError:
        return None


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[float]:
    import pint

    return pint.UnitRegistry(str(resources.files("roi.units") / "definitions.txt"))


@lru_cache(maxsize=1)
def currencies() -> dict[str, int]:
    """ISO 4217 codes in use, with their number of decimals."""
    table: dict[str, int] = {}
    for line in (resources.files("roi.units") / "currencies.txt").read_text("utf-8").splitlines():
        words = line.split("#")[0].split()
        if words:
            table |= {code: int(words[0]) for code in words[1:]}
    return table
