"""Tax schedules: what share of a purchase's cost is relieved in the first, second, ... year after it.

A schedule is a file of `roi/data/tax`; a new country is a new file. Its `kind` says what else it holds:

- "percentages": of cost, year by year, as a table of the law gives them; together 100
- "straight line": equal shares over `years`
- "reducing balance": `rates`, a share of what is left, year by year, the last one going on; with `switch = true` equal
  shares of what is left once they are more, so that nothing is left after `years`
- "first year": `share` of cost at once, and from the same year on the schedule `rest` for what that leaves
- "none"

Where a file has no `years` or `rates`, the scenario's money.tax_years and money.tax_rate_of_balance take their place.
What a balance leaves at the horizon, `model/finance` deducts there.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeGuard

from roi.scenario.catalogue import data_file, load
from roi.scenario.files import Key, Raw
from roi.scenario.problems import Problem
from roi.units.quantity import UnreadableQuantity, split_number

LONGEST = 40  # years; the longest horizon
_EXACT = 1e-9  # how far percentages may add up to something else than the whole
_KEYS = ("schema", "label", "country", "year", "kind", "source", "caution")
_KINDS: dict[str, tuple[str, ...]] = {
    "none": (),
    "percentages": ("percentages",),
    "straight line": ("years",),
    "reducing balance": ("rates", "switch", "years"),
    "first year": ("share", "rest"),
}


@dataclass(frozen=True)
class TaxSchedule:
    """`shares` of cost relieved in the first, second, ... year after purchase; empty where nothing is relieved."""

    id: str
    label: str
    shares: tuple[float, ...]
    source: str
    caution: str


def schedule_names() -> list[str]:
    """What money.tax_schedule may name, by the alphabet."""
    files = (f.name for f in data_file("tax").iterdir())
    return sorted(name.removesuffix(".toml") for name in files if name.endswith(".toml"))


def read_schedule(values: Mapping[Key, Raw], file: str, problems: list[Problem]) -> TaxSchedule:
    """The schedule that money.tax_schedule names; a straight line over 5 years where none is named."""
    raw = values.get(("money", "tax_schedule"), Raw("straight_line", file, True))
    if raw.value in schedule_names():
        return schedule_from(raw.value, load("tax", f"{raw.value}.toml"), values, file, problems)
    where = raw.at(("money", "tax_schedule"))
    if not any(p.where == where for p in problems):  # what is no text has been told
        problems.append(Problem(where, f"{raw.value!r} is not a schedule known here", _mend(str(raw.value))))
    return TaxSchedule("none", "", (), "", "")


def schedule_from(
    name: str, table: Mapping[str, object], values: Mapping[Key, Raw], file: str, problems: list[Problem]
) -> TaxSchedule:
    """The schedule that a file's table describes.

    values : the scenario's, for what the table leaves open; `file` is where they stand
    Faults of either are added to `problems`, and the schedule is then not to be used.
    """
    reading = _Reading(name, table, values, file, problems)
    shares, detail = reading.shares()
    label = f"{reading.text('label')}{detail}"
    year = table.get("year")
    if isinstance(year, int) and not isinstance(year, bool):
        label += f", as of {year}"
    elif year != "any":
        reading.tell("year", f"is {year!r}", 'write the year whose law it is, or "any"')
    return TaxSchedule(name, label, shares[:LONGEST], reading.text("source"), reading.text("caution"))


def _mend(name: str) -> str:
    """The known names near to an unknown one, or all of them."""
    near = [f'"{n}"' for n in difflib.get_close_matches(name, schedule_names(), 3)]
    return f"was {' or '.join(near)} meant?" if near else f"one of {', '.join(schedule_names())}"


@dataclass(frozen=True)
class _Reading:
    """A schedule's table beside the scenario's [money]; what is wrong in either goes to `problems`."""

    name: str
    table: Mapping[str, object]
    values: Mapping[Key, Raw]
    file: str
    problems: list[Problem]

    def shares(self) -> tuple[tuple[float, ...], str]:
        """Shares of cost by year, and what of them only the scenario says, for the label."""
        kind = self.table.get("kind")
        if not isinstance(kind, str) or kind not in _KINDS:
            self.tell("kind", f"is {kind!r}", f"one of {', '.join(_KINDS)}")
            return (), ""
        known = (*_KEYS, *_KINDS[kind])
        for key in self.table:
            if key not in known:
                self.tell(key, f"is not a key of a schedule of kind {kind!r}", f"known: {', '.join(known)}")
        match kind:
            case "percentages":
                return self._percentages(), ""
            case "straight line":
                return self._straight_line()
            case "reducing balance":
                return self._reducing_balance()
            case "first year":
                return self._first_year()
        return (), ""

    def text(self, key: str) -> str:
        """A text that every schedule must hold."""
        value = self.table.get(key)
        if not isinstance(value, str) or not value.strip():
            self.tell(key, "is missing", f'write {key} = "..."')
            return ""
        return value

    def tell(self, key: str, what: str, mend: str) -> None:
        """A fault of the file."""
        self.problems.append(Problem(self._here(key), what, mend))

    def _here(self, key: str) -> str:
        return f"roi/data/tax/{self.name}.toml, {key}"

    def _open(self, key: str, stated: str, unstated: object) -> tuple[object, str, bool]:
        """A value, where it stands, and whether the scenario says it: the file's own, else the scenario's money.`stated`."""
        if key in self.table:
            return self.table[key], self._here(key), False
        path = ("money", stated)
        raw = self.values.get(path, Raw(unstated, self.file, True))
        return raw.value, raw.at(path), True

    def _percentages(self) -> tuple[float, ...]:
        rows = self.table.get("percentages")
        if not isinstance(rows, list) or not all(_is_number(p) and 0 <= p <= 100 for p in rows):
            self.tell("percentages", f"{rows!r} is no list of numbers from 0 to 100", "write [50.0, 50.0]")
            return ()
        shares = tuple(float(p) / 100 for p in rows)
        if abs(sum(shares) - 1) > _EXACT:
            what = f"the percentages add up to {100 * sum(shares):.10g}, not 100"
            self.tell("percentages", what, "compare them with the source, year by year")
        return shares

    def _years(self) -> tuple[int, str]:
        """For how many years, 0 where that is at fault, and the words for a label where the scenario says it."""
        years, where, stated = self._open("years", "tax_years", 5)
        if not isinstance(years, int) or isinstance(years, bool) or not 1 <= years <= LONGEST:
            mend = f"state a whole number from 1 to {LONGEST}"
            self.problems.append(Problem(where, f"{years!r} is not a number of years", mend))
            return 0, ""
        return years, f", {years} years" if stated else ""

    def _straight_line(self) -> tuple[tuple[float, ...], str]:
        years, words = self._years()
        return (1 / years if years else 0.0,) * years, words

    def _reducing_balance(self) -> tuple[tuple[float, ...], str]:
        value, where, stated = self._open("rates", "tax_rate_of_balance", None)
        if value is None or value == []:
            what = f"{self.name} needs the share of the balance taken each year"
            self.problems.append(Problem(where, what, 'write it like "20 %"'))
            return (), ""
        rates = [self._share(rate, where) for rate in (value if isinstance(value, list) else [value])]
        switched = self.table.get("switch", False)
        if not isinstance(switched, bool):
            self.tell("switch", f"is {switched!r}", "write true or false")
        years, words = self._years() if switched is True else (0, "")
        left, shares = 1.0, []
        for year in range(years or LONGEST):
            taken = left * rates[min(year, len(rates) - 1)]
            shares.append(max(taken, left / (years - year)) if years else taken)
            left -= shares[-1]
        said = ", ".join(f"{100 * rate:g} %" for rate in rates)
        return tuple(s for s in shares if s > 0), (f", {said} a year" if stated else "") + words

    def _first_year(self) -> tuple[tuple[float, ...], str]:
        share, rest = self._share(self.table.get("share"), self._here("share")), self.table.get("rest")
        if rest not in schedule_names():
            self.tell("rest", f"{rest!r} is not a schedule known here", _mend(str(rest)))
            return (), ""
        table = load("tax", f"{rest}.toml")
        if table["kind"] in ("first year", "none"):
            self.tell("rest", f'"{rest}" is itself of kind {table["kind"]!r}', "name one of another kind")
            return (), ""
        after, words = _Reading(str(rest), table, self.values, self.file, self.problems).shares()
        following = [(1 - share) * s for s in after]
        return (share + sum(following[:1]), *following[1:]), words

    def _share(self, value: object, where: str) -> float:
        """A share written as 0.18 or "18 %"; 0 where it is none."""
        number: object = value
        if isinstance(value, str):
            try:
                amount, unit = split_number(value)
                number = {"%": amount / 100, "": amount}.get(unit)
            except UnreadableQuantity:
                number = None
        if _is_number(number) and 0 < number <= 1:
            return float(number)
        self.problems.append(
            Problem(where, f"{value!r} is no share above 0 and up to 1", 'write it like "18 %" or 0.18')
        )
        return 0.0


def _is_number(value: object) -> TypeGuard[int | float]:
    return isinstance(value, (int, float)) and not isinstance(value, bool)
