"""What one US dollar is worth in a shop's currency, read as people write it; it turns the shipped prices.

A number of that currency for a dollar. No default is known, since rates move: where the answer is "?", a one stands in, and
the starter says so. Nothing is turned here.
"""

from __future__ import annotations

import re

UNKNOWN = "?"
STANDS_IN = "1"
# In which every currency's rate is, with room: the least is gold's ounce, the most a currency of many noughts.
LEAST, MOST = 1e-4, 1e7

# Signs that stand for one currency alone, or for the one asked about.
_SIGNS = {"£": "GBP", "€": "EUR", "$": "USD"}
_NUMBER = r"\d+(?:[.,]\d+)?"


class NotARate(Exception):
    """An answer that is no rate; `mend` says what to write."""

    def __init__(self, what: str, mend: str) -> None:
        super().__init__(what)
        self.mend = mend


def read_rate(answer: str, currency: str) -> str:
    """The rate as a TOML number: of "0.79", "0,79", "£0.79", "0.79 GBP", "1 USD = 0.79 GBP" or "1 GBP = 1.27 USD".

    Raises NotARate, with what to write instead.
    """
    mend = f"write how many {currency} one US dollar is, like 0.79, or {UNKNOWN} if you don't know"
    text = answer.strip()
    if not text:
        raise NotARate("what one US dollar is worth has no default, since rates change", mend)
    if text == UNKNOWN:
        return STANDS_IN
    sides = [_amount(side, currency) for side in re.split(r"\s*=\s*|\s+is\s+", text, maxsplit=1)]
    if any(side is None for side in sides):
        raise NotARate(f'"{answer}" is not a number', mend)
    amounts = [side for side in sides if side is not None]
    if len(amounts) == 1:
        (number, named) = amounts[0]
        if named == "USD":
            other = f"if one {currency} is {number:g} dollars, write {1 / number:.4g}" if number else mend
            raise NotARate(f'"{answer}" is a number of dollars, not of {currency}', other)
        rate = number
    else:
        worth = {named or currency: number for number, named in amounts}
        if set(worth) != {"USD", currency} or not worth["USD"]:
            raise NotARate(f'"{answer}" does not set US dollars against {currency}', mend)
        rate = worth[currency] / worth["USD"]
    if not possible(rate):
        raise NotARate(f'"{answer}" can\'t be what a dollar is worth', mend)
    return f"{rate:.10g}" if len(amounts) > 1 or "," in text else re.sub(r"[^\d.]", "", text)


def possible(rate: float) -> bool:
    """Whether a dollar can be worth so much of a currency."""
    return LEAST <= rate <= MOST


def said_back(rate: str, currency: str) -> str:
    """What a rate comes to, so that one typed the wrong way round is seen."""
    return f"So 100 US dollars are {float(rate) * 100:,.6g} {currency}."


def _amount(text: str, currency: str) -> tuple[float, str] | None:
    """A number and the currency it names, "" where it names none; None where it is no such thing."""
    for sign, code in _SIGNS.items():
        text = text.replace(sign, f" {code} ")
    codes = [word.upper() for word in re.findall(r"[A-Za-z]+", text)]
    if len(codes) > 1 or (codes and codes[0] not in ("USD", currency)):
        return None
    rest = re.sub(r"[A-Za-z]+", " ", text).strip()
    if not re.fullmatch(_NUMBER, rest):
        return None
    return float(rest.replace(",", ".")), codes[0] if codes else ""


__all__ = ["STANDS_IN", "UNKNOWN", "NotARate", "possible", "read_rate", "said_back"]
