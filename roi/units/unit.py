"""Units as products of named symbols: what a line is measured in, and what arithmetic makes of it.

A symbol is opaque ("min" and "h" differ, "plate" and "form" differ), so a conversion must be written down
as a factor with a unit of its own (60 min/h) and a count can't pass for another count. "kWh" is read as kW
times h.
Nothing here knows factors or spelling variants: those are in `quantity`.
"""

from __future__ import annotations

import re
from functools import cache

_FACTOR = re.compile(r"[A-Za-z_][A-Za-z_0-9]*|1")
_SAME = {"kWh": (("kW", 1), ("h", 1))}
# People read "kWh"; the algebra keeps kW and h apart so that kW x h needs no special case.
_READABLE = {"h*kW": "kWh", "h*kW/year": "kWh/year", "currency/h/kW": "currency/kWh", "h*kW/day": "kWh/day"}


class Unit:
    """A product of symbols with whole exponents, such as `Unit.read("currency/plate")`, never changed."""

    __slots__ = ("powers",)

    def __init__(self, powers: dict[str, int]) -> None:
        self.powers: tuple[tuple[str, int], ...] = tuple(sorted((s, p) for s, p in powers.items() if p))

    @staticmethod
    @cache
    def read(text: str) -> Unit:
        """Read "a*b/c/d"; each factor after a slash divides. ValueError when it isn't of that form."""
        powers: dict[str, int] = {}
        sign, rest = 1, text.strip()
        if not rest:
            raise ValueError("an empty text is not a unit: write 1 for a bare number")
        while rest:
            found = _FACTOR.match(rest)
            if not found:
                raise ValueError(f"'{text}' is not a unit of the form a*b/c")
            if found[0] != "1":
                for symbol, power in _SAME.get(found[0], ((found[0], 1),)):
                    powers[symbol] = powers.get(symbol, 0) + sign * power
            rest = rest[found.end() :].strip()
            if rest:
                if rest[0] not in "*/" or len(rest) == 1:
                    raise ValueError(f"'{text}' is not a unit of the form a*b/c")
                sign, rest = (1 if rest[0] == "*" else -1), rest[1:].strip()
        return Unit(powers)

    def __mul__(self, other: Unit) -> Unit:
        return _product(self, other)

    def __truediv__(self, other: Unit) -> Unit:
        return self * other**-1

    def __pow__(self, exponent: int) -> Unit:
        return Unit({symbol: power * exponent for symbol, power in self.powers})

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Unit) and self.powers == other.powers

    def __hash__(self) -> int:
        return hash(self.powers)

    def __str__(self) -> str:
        above = "*".join(s for s, p in self.powers for _ in range(p))
        below = "".join(f"/{s}" for s, p in self.powers for _ in range(-p))
        return _READABLE.get(above + below, (above or "1") + below)

    def __repr__(self) -> str:
        return f"Unit({str(self)!r})"

    @property
    def is_number(self) -> bool:
        """Whether this is a bare number (a share, a factor, a flag)."""
        return not self.powers

    def has(self, symbol: str) -> bool:
        """Whether the symbol occurs, above or below."""
        return any(s == symbol for s, _ in self.powers)


@cache  # of few units, over and over
def _product(one: Unit, other: Unit) -> Unit:
    powers = dict(one.powers)
    for symbol, power in other.powers:
        powers[symbol] = powers.get(symbol, 0) + power
    return Unit(powers)


NUMBER = Unit({})
