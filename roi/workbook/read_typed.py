"""Numbers that a cell holds as text, as people type them: "£1,900", "1 900", "1.900,00", "48 %".

Taken is what can mean one thing only, in the workbook's own currency and the row's own unit; a share in per cent becomes a
fraction. For all else `said` says what is wrong and what to type. Which cell it is in is left to `read_cells`.
"""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

from roi.units.quantity import currencies

SIGNS = {
    "$": ("USD", "CAD", "AUD", "NZD", "MXN", "SGD", "HKD"),
    "€": ("EUR",),
    "£": ("GBP",),
    "¥": ("JPY", "CNY"),
}
_POINT_DECIMAL = ("$", "£")  # where these signs are used, a comma stands between thousands
_SPACES = re.compile(r"[\s\u00a0\u2007\u202f'\u2019]+")
_FIGURE = re.compile(r"\d+(?:[.,]\d+)*|\d{1,3}(?:[ ]\d{3})+(?:[.,]\d+)?")
_MARKS = "".join(SIGNS)
_MINUS = ("-", "\u2212")


class Unclear(Exception):
    """A text that is no number, or could be two; `mend` says what to type."""

    def __init__(self, what: str, mend: str) -> None:
        super().__init__(what)
        self.mend = mend


def read_typed(text: str, unit: str, currency: str) -> float:
    """The number a text means in a row of this unit ("USD/plate", "%", "" where it is bare). Raises Unclear."""
    share = unit.startswith("%")
    alone = text.strip()
    if unit and alone.casefold().endswith(unit.casefold()):
        alone = alone[: -len(unit)].strip() + "%" * share
    rest, sign = _without_money(alone, text, unit, currency)
    per_cent = rest.endswith("%")
    if per_cent and not share:
        raise Unclear(f"{text!r} is in per cent", _alone(unit))
    rest = rest.removesuffix("%").strip()
    negative = rest[:1] in _MINUS
    figure = _SPACES.sub(" ", rest[negative:].strip())
    if not _FIGURE.fullmatch(figure):
        raise Unclear(f"{text!r} is text, not a number", _alone(unit, digits=bool(re.search(r"\d", text))))
    number = _value(figure, text, sign in _POINT_DECIMAL or (not sign and currency in _point_currencies()))
    if share and not per_cent and number > 1:
        raise Unclear(f"{text!r} is text, and may be a share or per cent", per_cent_mend(number))
    number = number / 100 if per_cent else number
    return -number if negative else number


def said(value: Any, unit: str, shown: str) -> tuple[str, str]:
    """What is wrong with a cell without a number or a text, and what to type; `shown` is its value as text."""
    if value == "":
        return "is empty, or holds a formula without a stored result", f"type the number.{_beside(unit)}"
    if isinstance(value, (dt.date, dt.datetime)):
        return (
            f"{shown} is a date, not a number",
            f"set the cell's format to a number and type it.{_beside(unit)}",
        )
    if isinstance(value, str) and value.startswith("#"):
        return f"{value} is an error, not a number", f"type the number.{_beside(unit)}"
    return f"{shown!r} is text, not a number", _alone(unit)


def per_cent_mend(number: float) -> str:
    """What to type for a share that was typed as a whole number."""
    return f"type {number:.6g} % or {number / 100:.6g}"


def _point_currencies() -> tuple[str, ...]:
    return tuple(code for sign in _POINT_DECIMAL for code in SIGNS[sign])


def _without_money(rest: str, text: str, unit: str, currency: str) -> tuple[str, str]:
    """What is left without a sign or code of the workbook's own currency, and the sign that stood there."""
    sign = next((mark for mark in rest if mark in _MARKS), "")
    code = re.match(r"([A-Z]{3})\b|.*\b([A-Z]{3})$", rest)
    named = (code[1] or code[2]) if code else ""
    if not sign and named not in currencies():
        return rest, ""
    of_money = bool(currency) and currency in unit
    if not of_money:
        raise Unclear(f"{text!r} is an amount of money", _alone(unit))
    if (sign and currency not in SIGNS[sign]) or (named in currencies() and named != currency):
        raise Unclear(f"{text!r} is not in {currency}", f"type the amount in {currency}, digits alone")
    return rest.replace(sign, "", 1).replace(named if named in currencies() else "", "", 1).strip(), sign


def _value(figure: str, text: str, comma_between_thousands: bool) -> float:
    """Digits with marks as a number. Raises Unclear where a mark may stand between thousands or before decimals."""
    marks = re.sub(r"[0-9 ]", "", figure)
    spaced = " " in figure
    bare = figure.replace(" ", "")
    if not marks:
        return float(bare)
    last = marks[-1]
    whole, _, decimals = bare.rpartition(last)
    between = set(marks[:-1])
    if len(between) > 1 or (between == {last} and spaced):
        raise Unclear(f"{text!r} is no number", "type the digits, with this program's own decimal mark only")
    if between == {last} or (between and last not in between):
        grouped = bare if between == {last} else whole
        groups = re.split(r"[.,]", grouped)
        if not (1 <= len(groups[0]) <= 3 and all(len(group) == 3 for group in groups[1:])):
            raise Unclear(
                f"{text!r} is no number", "type the digits, with this program's own decimal mark only"
            )
        if between == {last}:
            return float("".join(groups))
        return float(f"{''.join(groups)}.{decimals}")
    thousands = len(decimals) == 3 and 1 <= len(whole) <= 3 and not whole.startswith("0") and not spaced
    if thousands and last == "," and comma_between_thousands:
        return float(whole + decimals)
    if thousands:
        mend = f"type {whole}{decimals}, or {float(f'{whole}.{decimals}'):g} with this program's own decimal mark"
        raise Unclear(f"{text!r} may be {whole}{decimals} or {whole} and a part", mend)
    return float(f"{whole}.{decimals}")


def _beside(unit: str) -> str:
    return f" The unit, {unit}, stands beside it." if unit else ""


def _alone(unit: str, *, digits: bool = False) -> str:
    also = " Write digits and this program's own decimal mark only." if digits else ""
    return f"type the number alone.{also}{_beside(unit)}"


__all__ = ["Unclear", "per_cent_mend", "read_typed", "said"]
